"""Questions about several readings together: two values, stuck, drifting, two probes apart."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.estimate.typed import Question, Typed, temperature_difference
from slowfire.units import UnitSystem

# Ours, set so that a bin in good order raises none.
AT_ONCE = 1.0 / 60.0  # readings of one minute [h]
AT_ONCE_ERROR = 1.0  # apart [K]
PAIR_HOURS = 3.0  # two probes read together [h]
PAIR_DEPTH = 0.06  # at about one depth [m]
PAIR_ERROR = 3.0  # a common limit for two probes side by side (common practice, no source) [K]
PAIRS = 3
STUCK_READINGS = 4
STUCK_HOURS = 72.0
STUCK_MOVE = 8.0  # of the middle of the band meanwhile [K]
DRIFT_READINGS = 6
DRIFT_HOURS = 240.0
DRIFT_ERROR = 8.0  # between earlier and later readings [K]
DRIFT_SCATTERS = 3.0  # and so many times their scatter [-]


def two_values(readings: Sequence[Typed]) -> tuple[Question, ...]:
    """Two values of one thermometer at one place within a minute.

    Parameters
    ----------
    readings : sequence of Typed
        Any, in any order.

    Returns
    -------
    tuple of Question

    Notes
    -----
    Ours: more than 1 K apart; less is two glances at one scale.

    Examples
    --------
    >>> typed = [Typed(5.0, "4 May", "dial", "lid", value, "C") for value in (20.0, 26.0)]
    >>> two_values(typed)[0].words
    'The dial has two values for one minute of 4 May: 20 °C and 26 °C. Which is right?'
    """
    found = []
    for i, one in enumerate(readings):
        for j in range(i + 1, len(readings)):
            other = readings[j]
            same = (one.thermometer, one.depth, one.height, one.spot) == (
                other.thermometer,
                other.depth,
                other.height,
                other.spot,
            )
            at_once = abs(one.hour - other.hour) <= AT_ONCE
            if same and at_once and abs(one.celsius - other.celsius) > AT_ONCE_ERROR:
                found.append(
                    Question(
                        other.hour,
                        "two-values",
                        f"The {one.thermometer} has two values for one minute of {one.day}: "
                        f"{one.shown} and {other.shown}. Which is right?",
                        (other.shown, one.shown, "both, at different places", "leave both out"),
                        (i, j),
                    )
                )
    return tuple(found)


def _of_each(readings: Sequence[Typed]) -> list[list[int]]:
    """Places of the readings of each thermometer in the list, by time."""
    groups: dict[str, list[int]] = {}
    for i, one in enumerate(readings):
        groups.setdefault(one.thermometer, []).append(i)
    return [sorted(group, key=lambda i: readings[i].hour) for group in groups.values()]


def stuck(readings: Sequence[Typed], low: FloatArray, high: FloatArray) -> tuple[Question, ...]:
    """Thermometers that show one value while what they should show moves.

    Parameters
    ----------
    readings : sequence of Typed
        Any.
    low, high : ndarray, shape (readings,)
        5th and 95th percentile of what the ensemble expects there [degC].

    Returns
    -------
    tuple of Question
        One for each thermometer, about the whole run of equal values.

    Notes
    -----
    Ours: four equal values in a row over three days or more, while the middle of the band moves by
    more than 8 K.

    Examples
    --------
    >>> typed = [Typed(48.0 * k, f"{k + 1} May", "dial", "lid", 30.0, "C") for k in range(4)]
    >>> middle = np.array([20.0, 25.0, 30.0, 35.0])
    >>> stuck(typed, middle - 3.0, middle + 3.0)[0].words
    'The dial has read 30 °C each time from 1 May to 4 May. Does it still move?'
    """
    middle = 0.5 * (low + high)
    found = []
    for group in _of_each(readings):
        runs: list[list[int]] = [group[:1]]
        for i, j in pairwise(group):
            if abs(readings[i].celsius - readings[j].celsius) < 0.05:
                runs[-1].append(j)
            else:
                runs.append([j])
        for run in runs:
            first, last = readings[run[0]], readings[run[-1]]
            if (
                len(run) >= STUCK_READINGS
                and last.hour - first.hour >= STUCK_HOURS
                and float(np.ptp(middle[run])) > STUCK_MOVE
            ):
                found.append(
                    Question(
                        last.hour,
                        "stuck",
                        f"The {first.thermometer} has read {first.shown} each time from "
                        f"{first.day} to {last.day}. Does it still move?",
                        ("no, it is stuck", "yes, it moves", "not sure"),
                        tuple(run),
                    )
                )
    return tuple(found)


def drifting(
    readings: Sequence[Typed], low: FloatArray, high: FloatArray, system: UnitSystem = "metric"
) -> tuple[Question, ...]:
    """Thermometers that have come to read higher or lower than they used to.

    ::

        e = t - (low + high) / 2,   step = mean e after - mean e before

    with the readings split in time where the squares about the two means are least.

    Parameters
    ----------
    readings : sequence of Typed
        Any.
    low, high : ndarray, shape (readings,)
        5th and 95th percentile of what the ensemble expects there [degC].
    system : str
        metric or us, for the words.

    Returns
    -------
    tuple of Question
        One for each thermometer, about the readings after the step.

    Notes
    -----
    Ours: six readings over ten days or more, two or more on each side, a step of more than 8 K and
    three times the scatter about the two means. A sudden step and a steady drift both show. What
    another thermometer read meanwhile is taken off, since a bin that went its own way moves both.

    Examples
    --------
    >>> typed = [
    ...     Typed(48.0 * k, f"{k + 1} May", "probe", "probe", 40.0 + 15.0 * (k > 3), "C")
    ...     for k in range(8)
    ... ]
    >>> drifting(typed, np.full(8, 37.0), np.full(8, 43.0))[0].about
    (4, 5, 6, 7)
    """
    off = np.array([one.celsius for one in readings]) - 0.5 * (low + high)
    hours = np.array([one.hour for one in readings])
    found = []
    for group in _of_each(readings):
        if len(group) < DRIFT_READINGS or hours[group[-1]] - hours[group[0]] < DRIFT_HOURS:
            continue
        own = off[group]
        split = min(range(2, len(group) - 1), key=lambda k: _squares(own[:k]) + _squares(own[k:]))
        step = float(own[split:].mean() - own[:split].mean())
        step -= _step_elsewhere(readings, off, group, hours[group[split]])
        scatter = float(np.sqrt((_squares(own[:split]) + _squares(own[split:])) / (len(group) - 2)))
        if abs(step) <= DRIFT_ERROR or abs(step) <= DRIFT_SCATTERS * scatter:
            continue
        after = readings[group[split]]
        way = "higher" if step > 0.0 else "lower"
        much = temperature_difference(abs(step), system)
        found.append(
            Question(
                readings[group[-1]].hour,
                "drift",
                f"Since {after.day} the {after.thermometer} has read about {much} {way} than "
                "before, against what was expected. Was it moved, or is it failing? It should "
                "read 0 °C (32 °F) in ice water.",
                ("it was moved", "it may be failing", "nothing changed"),
                tuple(group[split:]),
            )
        )
    return tuple(found)


def _squares(values: FloatArray) -> float:
    return float(((values - values.mean()) ** 2).sum())


def _step_elsewhere(
    readings: Sequence[Typed], off: FloatArray, group: Sequence[int], hour: float
) -> float:
    """The same step as seen by the other thermometers in bed or lid, 0 if they are too few."""
    own = readings[group[0]].thermometer
    first, last = readings[group[0]].hour, readings[group[-1]].hour
    others = [
        i
        for i, one in enumerate(readings)
        if one.thermometer != own and one.kind in ("lid", "probe") and first <= one.hour <= last
    ]
    before = [off[i] for i in others if readings[i].hour < hour]
    after = [off[i] for i in others if readings[i].hour >= hour]
    if len(before) < 2 or len(after) < 2:
        return 0.0
    return float(np.median(after) - np.median(before))


def two_probes(readings: Sequence[Typed], system: UnitSystem = "metric") -> tuple[Question, ...]:
    """Two probes side by side that keep disagreeing.

    Parameters
    ----------
    readings : sequence of Typed
        Any.
    system : str
        metric or us, for the words.

    Returns
    -------
    tuple of Question
        One for each pair of probes, about all their readings side by side.

    Notes
    -----
    More than 3 K apart the same way at three times or more, and never the other way: common
    practice, no source. Side by side is within 3 hours and 6 cm of depth; ours.

    Examples
    --------
    >>> typed = [
    ...     Typed(24.0 * k, f"{k + 1} May", name, "probe", value, "C", depth=0.3)
    ...     for k in range(3)
    ...     for name, value in (("long probe", 50.0), ("short probe", 44.0))
    ... ]
    >>> two_probes(typed)[0].kind
    'two-probes'
    """
    probes = [i for i, one in enumerate(readings) if one.kind == "probe"]
    names = sorted({readings[i].thermometer for i in probes})
    found = []
    for k, first in enumerate(names):
        for second in names[k + 1 :]:
            pairs = [
                (i, j)
                for i in probes
                for j in probes
                if readings[i].thermometer == first
                and readings[j].thermometer == second
                and _side_by_side(readings[i], readings[j])
            ]
            apart = np.array([readings[i].celsius - readings[j].celsius for i, j in pairs])
            if len(pairs) < PAIRS or not (np.abs(apart) > PAIR_ERROR).sum() >= PAIRS:
                continue
            if not ((apart > 0.0).all() or (apart < 0.0).all()):
                continue
            places = sorted({i for pair in pairs for i in pair})
            much = temperature_difference(float(np.median(np.abs(apart))), system)
            higher, lower = (first, second) if apart[0] > 0.0 else (second, first)
            found.append(
                Question(
                    max(readings[i].hour for i in places),
                    "two-probes",
                    f"At one depth the {higher} reads about {much} higher than the {lower}, time "
                    "after time. Swap their places once: does the difference go with the probe? "
                    "In ice water both should read 0 °C (32 °F).",
                    ("it goes with the probe", "it stays with the place", "not tried"),
                    tuple(places),
                )
            )
    return tuple(found)


def _side_by_side(one: Typed, other: Typed) -> bool:
    if abs(one.hour - other.hour) > PAIR_HOURS or one.spot != other.spot:
        return False
    for a, b in ((one.depth, other.depth), (one.height, other.height)):
        if a is not None and b is not None:
            return abs(a - b) <= PAIR_DEPTH
    return False
