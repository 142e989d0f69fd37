"""Where each probe reading was taken, told by the material that lay there then."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slowfire.column.positions import ADDED_HOUR
from slowfire.column.simulate import Column
from slowfire.errors import SlowfireError
from slowfire.estimate.glimpse import glimpse
from slowfire.hygiene.record import TemperatureRecord
from slowfire.journal import Journal
from slowfire.kinds import Reading
from slowfire.services.replay import replay_bin
from slowfire.timeline import Observation

EDGES = ("edge", "corner")
TWICE = 1.0 / 60.0  # readings closer than a minute are one [h]


@dataclass(frozen=True)
class Spot:
    """One probe reading and the material it stood in.

    Attributes
    ----------
    thermometer, place : str
        Which, and centre or edge.
    hour : float
        When, by the record [h].
    celsius : float
        Its error taken off [degC].
    added_hours : tuple of (float, float)
        When the material from 10 cm below the tip to 10 cm above it was loaded [h].
    """

    thermometer: str
    place: str
    hour: float
    celsius: float
    added_hours: tuple[float, float]


def spots_of(journal: Journal, bin_name: str, until: float, reach: float) -> tuple[Spot, ...]:
    """Probe readings of a bin, each with the loads that lay around the tip as it was taken.

    Parameters
    ----------
    journal : Journal
        As read [-].
    bin_name : str
        Which bin [-].
    until : float
        Later readings are left out, by the record [h].
    reach : float
        So far above and below the tip it speaks for what lies there [m].

    Returns
    -------
    tuple of Spot
        By time; none if the bin cannot be run.

    Notes
    -----
    Ours: one bin of the shipped parameters is run through what was written, only to tell which
    material lay where; what was read is taken as it is.
    """
    seen: list[tuple[float, tuple[float, ...], tuple[float, ...]]] = []

    def watch(hour: float, column: Column) -> None:
        if seen and seen[-1][0] == hour:
            return
        look = glimpse(column)
        added = tuple(float(one) for one in column.state[: column.layers, ADDED_HOUR])
        seen.append((hour, tuple(look.middles.tolist()), added))

    try:
        replayed = replay_bin(journal, bin_name, watch=watch)
    except SlowfireError:
        return ()
    at = {hour: (middles, added) for hour, middles, added in seen}
    found = []
    for one in replayed.timeline.observations:
        if not isinstance(one.payload, Reading) or one.hour > until or one.hour not in at:
            continue
        spot = _spot(journal, one, *at[one.hour], reach)
        if spot is not None:
            found.append(spot)
    return tuple(sorted(found, key=lambda spot: spot.hour))


def _spot(
    journal: Journal,
    one: Observation,
    middles: Sequence[float],
    added: Sequence[float],
    reach: float,
) -> Spot | None:
    reading = one.payload
    if not isinstance(reading, Reading) or not middles:
        return None
    thermometer = journal.site.thermometer_named(reading.thermometer)
    if thermometer.kind != "probe" or reading.spot in ("lid", "door"):
        return None
    top = 2.0 * middles[-1] - (middles[-2] if len(middles) > 1 else 0.0)
    if reading.position is not None:
        distance = reading.position.distance.metres
        height = distance if reading.position.origin == "base" else top - distance
    elif thermometer.depth_cm is not None:
        height = top - thermometer.depth_cm / 100.0
    else:
        return None
    near = [
        hour for middle, hour in zip(middles, added, strict=True) if abs(middle - height) <= reach
    ]
    if not near:
        return None
    return Spot(
        thermometer.name,
        "edge" if reading.spot in EDGES else "centre",
        one.hour,
        reading.temperature.temperature_celsius - thermometer.bias_kelvin,
        (min(near), max(near)),
    )


def records_of(
    spots: Sequence[Spot], added_low: float, added_high: float, height: float
) -> tuple[TemperatureRecord, ...]:
    """Readings that were taken in the material of one layer, thermometer by thermometer.

    Parameters
    ----------
    spots : sequence of Spot
        By time [-].
    added_low, added_high : float
        When the material of the layer was loaded, from and to [h].
    height : float
        Where it lies now above the floor [m].

    Returns
    -------
    tuple of TemperatureRecord
    """
    found: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for one in spots:
        low, high = one.added_hours
        if high >= added_low - TWICE and low <= added_high + TWICE:
            rows = found.setdefault((one.thermometer, one.place), [])
            if not rows or one.hour - rows[-1][0] > TWICE:
                rows.append((one.hour, one.celsius))
    return tuple(
        TemperatureRecord(
            name if place == "centre" else f"{name}, {place}",
            place,
            height,
            np.array([row[0] for row in rows]),
            np.array([row[1] for row in rows]),
        )
        for (name, place), rows in found.items()
    )
