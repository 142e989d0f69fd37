"""Readings of one thermometer, and how long they show that it was hot."""

from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput, check_range

PLACES = ("centre", "edge")
LONGEST_GAP_HOURS = 24.0  # one reading a day is the least the trade asks for
# Readings on working days are accepted for soft rules, so a weekend may break a run.
SOFT_BREAK_HOURS = 72.0
SAME_HOUR = 1e-9  # rounding of hours [h]

Spell = tuple[float, float]


@dataclass(frozen=True, eq=False)
class TemperatureRecord:
    """Readings of one thermometer that stayed in one spot.

    Attributes
    ----------
    position : str
        What the spot is called.
    place : str
        centre or edge of the cross-section.
    height : float
        Above the floor [m].
    hours : ndarray, shape (readings,)
        When, rising [h].
    celsius : ndarray, shape (readings,)
        What was read [degC].
    """

    position: str
    place: str
    height: float
    hours: FloatArray
    celsius: FloatArray

    def __post_init__(self) -> None:
        hours = np.asarray(self.hours, dtype=np.float64)
        celsius = np.asarray(self.celsius, dtype=np.float64)
        if self.place not in PLACES:
            raise InvalidInput(f"The place is '{self.place}'; allowed is {' or '.join(PLACES)}.")
        check_range("Height of the thermometer", self.height, 0.0, 5.0, "m")
        if hours.ndim != 1 or hours.shape != celsius.shape or hours.size == 0:
            raise InvalidInput(
                f"{self.position}: {hours.size} times and {celsius.size} readings; give one time "
                "for each reading and at least one of them."
            )
        if not np.isfinite(hours).all() or (np.diff(hours) <= 0.0).any():
            raise InvalidInput(
                f"{self.position}: the times of readings must rise; sort them and leave "
                "doubles out."
            )
        if not ((celsius >= -60.0) & (celsius <= 120.0)).all():
            raise InvalidInput(
                f"{self.position}: a reading lies outside -60 to 120 °C; is it in °F?"
            )
        object.__setattr__(self, "hours", hours)
        object.__setattr__(self, "celsius", celsius)

    @property
    def hottest(self) -> float:
        """Highest reading [degC]."""
        return float(self.celsius.max())


@dataclass(frozen=True)
class HotTime:
    """How long readings show a temperature inside a band.

    Attributes
    ----------
    spells : tuple of (float, float)
        Begin and end of each unbroken stretch [h].
    total_hours : float
        All of them added up [h].
    longest_hours : float
        The longest alone [h].
    longest_gap_hours : float
        Between any two readings that follow one another, and from the last to the end [h].
    unmeasured_hours : float
        In gaps longer than allowed; none of it counts as hot [h].
    hottest_celsius : float
        Highest reading [degC].
    """

    spells: tuple[Spell, ...]
    total_hours: float
    longest_hours: float
    longest_gap_hours: float
    unmeasured_hours: float
    hottest_celsius: float


def hot_time(
    record: TemperatureRecord,
    limit_celsius: float,
    *,
    upper_celsius: float = np.inf,
    longest_gap_hours: float = LONGEST_GAP_HOURS,
    since_hour: float = -np.inf,
    until_hour: float | None = None,
) -> HotTime:
    """Stretches of a record between whose ends every reading lies inside a band.

    ::

        H = sum of (t_k+1 - t_k) over all k with both readings inside and t_k+1 - t_k <= g

    with t_k the times of readings and g the longest gap allowed [h].

    Parameters
    ----------
    record : TemperatureRecord
        Readings of one spot.
    limit_celsius : float
        Lower end of the band, itself inside [degC], usually 40 to 70.
    upper_celsius : float
        Upper end, itself inside [degC]; endless if there is none.
    longest_gap_hours : float
        Longest time from one reading to the next over which heat may be believed [h], 0.1 to 168.
    since_hour : float
        Readings before it do not count: what lay there was not this, or was mixed since [h].
    until_hour : float or None
        End of the time looked at, the last reading if None [h].

    Returns
    -------
    HotTime
        Nothing at all if no reading lies in that time.

    Raises
    ------
    InvalidInput
        If the gap is out of range.

    Notes
    -----
    Ours, on the safe side: a stretch that begins or ends below the limit counts as cold from end to
    end, and unmeasured time is not hot. One reading a day is the least the trade asks for; a
    dip between two readings is not seen.

    Examples
    --------
    >>> days = TemperatureRecord("probe", "centre", 0.4, [0, 24, 48, 72], [56, 60, 61, 55])
    >>> hot_time(days, 55.0).longest_hours
    72.0
    >>> hot_time(days, 60.0).total_hours
    24.0
    """
    check_range("Longest gap allowed", longest_gap_hours, 0.1, 168.0, "h")
    end = float(record.hours[-1]) if until_hour is None else until_hour
    kept = (record.hours >= since_hour - SAME_HOUR) & (record.hours <= end + SAME_HOUR)
    hours, celsius = record.hours[kept], record.celsius[kept]
    if hours.size == 0:
        return HotTime((), 0.0, 0.0, 0.0, 0.0, -np.inf)
    begin = max(since_hour, hours[0]) if np.isfinite(since_hour) else hours[0]
    steps = np.diff(hours)
    inside = (celsius >= limit_celsius) & (celsius <= upper_celsius)
    near = steps <= longest_gap_hours + SAME_HOUR
    spells: list[Spell] = []
    for k in np.flatnonzero(inside[:-1] & inside[1:] & near):
        start, stop = float(hours[k]), float(hours[k + 1])
        if spells and spells[-1][1] == start:
            start = spells.pop()[0]
        spells.append((start, stop))
    lengths = [b - a for a, b in spells]
    gaps = [*steps, max(end - hours[-1], 0.0), max(hours[0] - begin, 0.0)]
    return HotTime(
        tuple(spells),
        sum(lengths),
        max(lengths, default=0.0),
        float(max(gaps)),
        float(sum(gap for gap in gaps if gap > longest_gap_hours + SAME_HOUR)),
        float(celsius.max()),
    )


def joined_spells(
    spells: tuple[Spell, ...], longest_break_hours: float = SOFT_BREAK_HOURS
) -> tuple[tuple[Spell, float], ...]:
    """Join stretches across short breaks, for rules that ask to be as unbroken as can be.

    Parameters
    ----------
    spells : tuple of (float, float)
        Begin and end of each, rising [h].
    longest_break_hours : float
        Longest break that does not start the count anew [h], 0 to 168.

    Returns
    -------
    tuple of ((float, float), float)
        Begin and end of each joined stretch, and the hours inside it that were hot [h].

    Raises
    ------
    InvalidInput
        If the break is out of range.

    Notes
    -----
    Ours: a soft rule is met by hours added up, but only within one hot phase. The break itself
    never counts. Readings on working days being accepted, a break may be as long as a weekend.

    Examples
    --------
    >>> joined_spells(((0.0, 90.0), (160.0, 300.0), (500.0, 510.0)))
    (((0.0, 300.0), 230.0), ((500.0, 510.0), 10.0))
    """
    check_range("Longest break", longest_break_hours, 0.0, 168.0, "h")
    found: list[tuple[Spell, float]] = []
    for start, stop in spells:
        if found and start - found[-1][0][1] <= longest_break_hours + SAME_HOUR:
            (first, _), hot = found[-1]
            found[-1] = ((first, stop), hot + stop - start)
        else:
            found.append(((start, stop), stop - start))
    return tuple(found)
