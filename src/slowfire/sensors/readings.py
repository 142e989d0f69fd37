"""From many values to few readings: quarter-hour means, and the one that stands for three hours."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid5

from slowfire.kinds import Reading
from slowfire.quantities import Position, Temperature
from slowfire.records import Entry
from slowfire.sensors.measurement import moment

QUARTER = 900_000  # [ms]
HOUR = 3_600_000
WINDOW = 3 * HOUR  # at most one reading of a thermometer in so long
PEAK = 2.0  # a turn this much above or below both ends of a window is itself read [K]
# Ids of readings from sensors are made in this space; it must never change.
SENSOR_SPACE = UUID("0b8d3c1e-6a52-4f0e-9d47-51c2a7e0f986")


@dataclass(frozen=True)
class Quarter:
    """What was kept of a quarter of an hour.

    Attributes
    ----------
    begin : int
        Since the beginning of 1970 [ms].
    mean, low, high : float
        Of the values kept [degC].
    count : int
        How many [-].
    """

    begin: int
    mean: float
    low: float
    high: float
    count: int


@dataclass(frozen=True)
class Source:
    """A probe, and which thermometer of which bin it is.

    Attributes
    ----------
    device, channel : str
        The probe.
    bin, thermometer : str
        Names in the journal.
    position : Position or None
        Where its tip sits, if it is not where the thermometer usually does.
    spot : str or None
        Such as centre or lid.
    """

    device: str
    channel: str
    bin: str
    thermometer: str
    position: Position | None = None
    spot: str | None = None


def window_of(begin: int) -> int:
    """Begin of the three hours that a time lies in [ms].

    Examples
    --------
    >>> window_of(5 * HOUR) == 3 * HOUR
    True
    """
    return begin // WINDOW * WINDOW


def window_reading(quarters: Sequence[Quarter]) -> tuple[datetime, float] | None:
    """Choose what stands for three hours: the middle, or the turn if there is one.

    Parameters
    ----------
    quarters : sequence of Quarter
        Those of one window, rising [-].

    Returns
    -------
    tuple of datetime and float, or None
        Middle of a quarter-hour and its mean in Celsius to a tenth; None if nothing was kept.

    Examples
    --------
    >>> found = window_reading([Quarter(k * QUARTER, 40.0, 40.0, 40.0, 15) for k in range(12)])
    >>> found[0].isoformat(), found[1]
    ('1970-01-01T01:22:30+00:00', 40.0)
    """
    if not quarters:
        return None
    begin = window_of(quarters[0].begin)
    middle = begin + WINDOW // 2 - QUARTER // 2
    chosen = min(quarters, key=lambda one: (abs(one.begin - middle), one.begin))
    ends = (quarters[0].mean, quarters[-1].mean)
    for extreme, above in (
        (max(quarters, key=lambda one: (one.mean, -one.begin)), 1.0),
        (min(quarters, key=lambda one: (one.mean, one.begin)), -1.0),
    ):
        if all(above * (extreme.mean - end) >= PEAK for end in ends):
            chosen = extreme
            break
    return moment(chosen.begin + QUARTER // 2), round(chosen.mean, 1) + 0.0


def said(source: Source, found: tuple[datetime, float]) -> str:
    """What the entry of a window says, as one text to compare."""
    where = (
        "" if source.position is None else f"{source.position.distance} {source.position.origin}"
    )
    when, celsius = found
    return "|".join(
        (source.bin, source.thermometer, when.isoformat(), f"{celsius:.1f}", where,
         source.spot or "")
    )  # fmt: skip


def reading_entry(
    source: Source,
    window: int,
    found: tuple[datetime, float],
    after: UUID | None = None,
    corrects: UUID | None = None,
    recorded: datetime | None = None,
) -> Entry:
    """Make the journal's entry of one window; its id follows from what it says.

    Parameters
    ----------
    source : Source
        The probe [-].
    window : int
        Begin of the three hours, since the beginning of 1970 [ms].
    found : tuple of datetime and float
        As `window_reading` gives it [-].
    after : UUID or None
        What was written last of this window, so that the same reading can be written again [-].
    corrects : UUID or None
        The entry this one replaces [-].
    recorded : datetime or None
        The present [-].

    Returns
    -------
    Entry
        Made twice, it is the same.
    """
    when, celsius = found
    reading = Reading(source.thermometer, Temperature(celsius, "C"), source.position, source.spot)
    content = (
        source.device, source.channel, str(window), said(source, found), str(after or ""),
        str(corrects or ""),
    )  # fmt: skip
    probe = source.device if source.channel == "1" else f"{source.device}, {source.channel}"
    return Entry(
        uuid5(SENSOR_SPACE, "\x1f".join(content)),
        source.bin,
        when,
        reading,
        recorded,
        note=f"by sensor {probe}, mean of a quarter of an hour",
        corrects=corrects,
    )


def withdrawal(entry: UUID, bin_name: str, when: datetime, recorded: datetime) -> Entry:
    """Take back the entry of a window of which nothing is left; its id follows from that one's."""
    own_id = uuid5(SENSOR_SPACE, f"without\x1f{entry}")
    return Entry(own_id, bin_name, when, None, recorded, corrects=entry, retracts=True)
