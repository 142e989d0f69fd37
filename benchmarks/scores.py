"""Scores of an estimate against a known truth: arrays in, numbers out.

Hours are those of one record, temperatures in degC. Members stand in rows: (members, hours).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput

LEVEL = 0.9  # of the interval scored
PEAK_KELVIN, PEAK_HOURS = 2.0, 8.0
RISE_KELVIN, FALL_KELVIN = 2.0, 1.0  # what makes a peak of a batch
SHORTEST_BATCH = 24.0  # loads nearer to one another are one batch [h]
WEEK_HOURS = 168.0
# A bin fed wet stuff alone settles 8 to 16 K above the air with no oxygen at its wettest, a healthy
# one of the same feed at 25 K or more (the column at its fitted values)
COLD_KELVIN, AIRLESS_OXYGEN = 15.0, 0.02
COLD_SHARE = 0.9  # of the hours of a week; stirring lets air in for a while
CLASSES = 10  # of a stated probability

BoolArray = NDArray[np.bool_]


def root_mean_square(errors: FloatArray) -> float:
    """Root of the mean square of what is finite; NaN where nothing is.

    Examples
    --------
    >>> root_mean_square(np.array([3.0, -4.0, 0.0, 0.0, np.nan]))
    2.5
    """
    known = errors[np.isfinite(errors)]
    return float(np.sqrt(np.mean(known**2))) if known.size else float("nan")


def inside_share(truth: FloatArray, members: FloatArray, level: float = LEVEL) -> float:
    """Share of hours at which the truth lies in the members' central interval.

    Parameters
    ----------
    truth : ndarray, shape (hours,)
        What is so.
    members : ndarray, shape (members, hours)
        Draws of the estimate, each as likely as the other.
    level : float
        Share of draws that the interval holds, above 0 to below 1 [-].

    Returns
    -------
    float
        0 to 1 [-]; NaN without finite hours.

    Examples
    --------
    >>> draws = np.arange(101.0)[:, None] * np.ones(3)
    >>> round(inside_share(np.array([4.0, 50.0, 96.0]), draws), 3)
    0.333
    """
    _check_members(truth, members)
    known = np.isfinite(truth) & np.isfinite(members).all(axis=0)
    if not known.any():
        return float("nan")
    half = 50.0 * (1.0 - level)
    low, high = np.percentile(members[:, known], [half, 100.0 - half], axis=0)
    return float(np.mean((low <= truth[known]) & (truth[known] <= high)))


def inside_shares_below_top(truth: FloatArray, members: FloatArray) -> tuple[float, float]:
    """RMS error of the median and share inside, where truth and most members are in the stack.

    Parameters
    ----------
    truth : ndarray, shape (hours,)
        Temperature at a height; NaN while the stack ends below it [degC].
    members : ndarray, shape (members, hours)
        The same in each member; NaN likewise [degC].

    Returns
    -------
    tuple of float
        RMS error [K] and share inside [-]; NaN where the height is never in the stack.
    """
    _check_members(truth, members)
    enough = np.isfinite(members).sum(axis=0) >= max(0.5 * members.shape[0], 1.0)
    known = np.isfinite(truth) & enough
    if not known.any():
        return float("nan"), float("nan")
    half = 50.0 * (1.0 - LEVEL)
    low, middle, high = np.nanpercentile(members[:, known], [half, 50.0, 100.0 - half], axis=0)
    inside = np.mean((low <= truth[known]) & (truth[known] <= high))
    return root_mean_square(middle - truth[known]), float(inside)


def _check_members(truth: FloatArray, members: FloatArray) -> None:
    if members.ndim != 2 or members.shape[1:] != truth.shape or members.shape[0] < 1:
        raise InvalidInput(
            f"Members of shape {members.shape} do not fit {truth.size} hours of truth; allowed is "
            "(members, hours) with one member or more."
        )


@dataclass(frozen=True)
class Peak:
    """The true peak of a batch: when, how hot, and from when to when the batch lasts."""

    hour: float
    celsius: float
    begin: float
    end: float


def true_peaks(
    hours: FloatArray,
    hottest: FloatArray,
    load_hours: Sequence[float],
    begin: float,
    end: float,
) -> list[Peak]:
    """Find the batches that have a peak.

    A batch lasts from a true load, written down or not, to the next; loads within 24 h of its
    first are part of it, and the last ends with the season. It has a peak if its hottest hour is
    2 K or more above its start and 1 K or more above its end, so that neither a heap that only
    cools nor one whose peak the next load cut short counts.

    Parameters
    ----------
    hours, hottest : ndarray, shape (hours,)
        The truth, hourly [h], [degC].
    load_hours : sequence of float
        When something went in, in order [h].
    begin, end : float
        Of the season [h].

    Returns
    -------
    list of Peak
        In order of time.
    """
    starts: list[float] = []
    for hour in load_hours:
        if begin <= hour < end and (not starts or hour - starts[-1] >= SHORTEST_BATCH):
            starts.append(hour)
    found = []
    for first, last in zip(starts, [*starts[1:], end], strict=True):
        span = np.flatnonzero((hours >= first) & (hours <= last))
        if span.size < 3:
            continue
        values = hottest[span]
        top = int(np.argmax(values))
        rises = values[top] - values[0] >= RISE_KELVIN
        if rises and values[top] - values[-1] >= FALL_KELVIN:
            found.append(Peak(float(hours[span[top]]), float(values[top]), first, last))
    return found


def peaks_met(peaks: Sequence[Peak], hours: FloatArray, median: FloatArray) -> int:
    """Count the peaks that an estimate has within 2 K and 8 h, in the same batch.

    Parameters
    ----------
    peaks : sequence of Peak
        The true ones.
    hours, median : ndarray, shape (hours,)
        The estimate's median, every few hours [h], [degC].

    Returns
    -------
    int
        How many.
    """
    met = 0
    for peak in peaks:
        span = np.flatnonzero((hours >= peak.begin) & (hours <= peak.end))
        if not span.size:
            continue
        top = span[int(np.argmax(median[span]))]
        close = abs(median[top] - peak.celsius) <= PEAK_KELVIN
        met += int(close and abs(hours[top] - peak.hour) <= PEAK_HOURS)
    return met


def lid_at_its_word(
    reading_hours: FloatArray, readings: FloatArray, hours: FloatArray, hottest: FloatArray
) -> tuple[float, BoolArray]:
    """Error of somebody who takes the last lid reading for the heat of the heap.

    Parameters
    ----------
    reading_hours, readings : ndarray, shape (readings,)
        Of the lid dial, in order [h], [degC].
    hours, hottest : ndarray, shape (hours,)
        The truth at the hours scored [h], [degC].

    Returns
    -------
    tuple of (float, ndarray)
        RMS error [K], and which hours have a reading before them, shape (hours,).

    Examples
    --------
    >>> hours, hottest = np.array([0.0, 9.0]), np.array([3.0, 50.0])
    >>> lid_at_its_word(np.array([5.0]), np.array([20.0]), hours, hottest)[0]
    30.0
    """
    last = np.searchsorted(reading_hours, hours, side="right") - 1
    known = last >= 0
    if not known.any():
        return float("nan"), known
    return root_mean_square(readings[last[known]] - hottest[known]), known


@dataclass(frozen=True)
class ForecastErrors:
    """Errors of forecasts, pooled over all issues and hours ahead [K].

    `week` over hours 1 to 168 ahead, `seventh_day` over the last 24 of them; `persistence` holds
    the estimate's own median of the hour of issue, `true_persistence` the truth of that hour, which
    nobody at the bin knows. `inside` is the share inside the 90 % interval, `issues` how many.
    """

    week: float
    seventh_day: float
    persistence: float
    persistence_seventh_day: float
    true_persistence: float
    inside: float
    issues: int


def forecast_errors(
    issues: Sequence[tuple[float, FloatArray, FloatArray, float]],
    hours: FloatArray,
    hottest: FloatArray,
) -> ForecastErrors:
    """Score forecasts of the hottest layer for the week after their issue.

    Parameters
    ----------
    issues : sequence of tuple
        Hour of issue [h], hours forecast [h], members' hottest (members, hours) [degC], and the
        estimate's median at the hour of issue [degC].
    hours, hottest : ndarray, shape (hours,)
        The truth, hourly [h], [degC].

    Returns
    -------
    ForecastErrors
        NaN without issues.
    """
    kinds: dict[str, list[FloatArray]] = {
        name: [] for name in ("week", "seventh", "held", "held_seventh", "true_held", "inside")
    }
    half = 50.0 * (1.0 - LEVEL)
    for issued, ahead, members, now in issues:
        truth = np.interp(ahead, hours, hottest)
        _check_members(truth, members)
        week = (ahead > issued) & (ahead <= issued + WEEK_HOURS) & (ahead <= hours[-1])
        seventh = week & (ahead > issued + WEEK_HOURS - 24.0)
        low, middle, high = np.percentile(members, [half, 50.0, 100.0 - half], axis=0)
        true_now = float(np.interp(issued, hours, hottest))
        kinds["week"].append((middle - truth)[week])
        kinds["seventh"].append((middle - truth)[seventh])
        kinds["held"].append((now - truth)[week])
        kinds["held_seventh"].append((now - truth)[seventh])
        kinds["true_held"].append((true_now - truth)[week])
        kinds["inside"].append(((low <= truth) & (truth <= high))[week].astype(np.float64))
    if not issues:
        none = float("nan")
        return ForecastErrors(none, none, none, none, none, none, 0)
    pooled = {name: np.concatenate(parts) for name, parts in kinds.items()}
    return ForecastErrors(
        root_mean_square(pooled["week"]),
        root_mean_square(pooled["seventh"]),
        root_mean_square(pooled["held"]),
        root_mean_square(pooled["held_seventh"]),
        root_mean_square(pooled["true_held"]),
        float(np.mean(pooled["inside"])) if pooled["inside"].size else float("nan"),
        len(issues),
    )


def daily_mean(hourly: FloatArray) -> FloatArray:
    """Mean of the 24 hours that end at each hour; of what there is in the first.

    Examples
    --------
    >>> daily_mean(np.array([1.0, 3.0, 5.0])).tolist()
    [1.0, 2.0, 3.0]
    """
    return _trailing_mean(hourly, 24)


def _trailing_mean(hourly: FloatArray, count: int) -> FloatArray:
    sums = np.concatenate([[0.0], np.cumsum(hourly)])
    ends = np.arange(1, hourly.size + 1)
    begins = np.maximum(ends - count, 0)
    return np.asarray((sums[ends] - sums[begins]) / (ends - begins))


def cold_and_airless(
    hours: FloatArray, hottest: FloatArray, air: FloatArray, lowest_oxygen: FloatArray
) -> BoolArray:
    """Whether a bin has been cold and airless for a week.

    Cold and airless is an hour with the hottest layer less than 15 K above the mean air of the last
    day and less than 2 % oxygen in some layer. The bin is so at an hour if it was at nine in ten
    hours of the week that ends there: stirring lets air in for some hours and changes nothing.

    Parameters
    ----------
    hours : ndarray, shape (hours,)
        Hourly, from the start of the run [h].
    hottest, air : ndarray, shape (hours,)
        Hottest centre, and air outside as a mean of the last day [degC].
    lowest_oxygen : ndarray, shape (hours,)
        Lowest of all layers, volume fraction [-].

    Returns
    -------
    ndarray, shape (hours,)
        False in the first week [-].
    """
    if hours.size > 1 and not np.allclose(np.diff(hours), 1.0):
        raise InvalidInput("Cold and airless is judged by hourly values; give every hour once.")
    now = (hottest < air + COLD_KELVIN) & (lowest_oxygen < AIRLESS_OXYGEN)
    share = _trailing_mean(now.astype(np.float64), int(WEEK_HOURS))
    return np.asarray((share >= COLD_SHARE) & (hours >= hours[0] + WEEK_HOURS - 1.0))


@dataclass(frozen=True)
class Reliability:
    """Stated probabilities against what happened, in ten classes of 0.1.

    Sums, so that those of many bins add up: `count` of statements, `stated` the sum of their
    probabilities, `happened` how often it was so, `squares` the sum of squared differences.
    """

    count: tuple[float, ...]
    stated: tuple[float, ...]
    happened: tuple[float, ...]
    squares: float

    @property
    def brier_score(self) -> float:
        """Mean squared difference of statement and outcome, 0 best; NaN without statements."""
        total = sum(self.count)
        return self.squares / total if total else float("nan")

    @property
    def base_rate(self) -> float:
        """How often it was so; NaN without statements."""
        total = sum(self.count)
        return sum(self.happened) / total if total else float("nan")

    @property
    def skill(self) -> float:
        """Share by which the Brier score beats that of always stating the base rate."""
        rate = self.base_rate
        never_right = rate * (1.0 - rate)
        return 1.0 - self.brier_score / never_right if never_right > 0.0 else float("nan")

    @property
    def mean_gap(self) -> float:
        """Mean distance of stated and observed shares over the classes, weighted by count."""
        total = sum(self.count)
        gaps = [abs(a - b) for a, b in zip(self.stated, self.happened, strict=True)]
        return sum(gaps) / total if total else float("nan")

    @property
    def gap_in_all(self) -> float:
        """Mean of what was stated less how often it was so; NaN without statements."""
        total = sum(self.count)
        return (sum(self.stated) - sum(self.happened)) / total if total else float("nan")


def reliability(probabilities: FloatArray, outcomes: BoolArray) -> Reliability:
    """Sort stated probabilities into classes and count what happened.

    Parameters
    ----------
    probabilities : ndarray, shape (statements,)
        0 to 1; NaN where none was stated [-].
    outcomes : ndarray, shape (statements,)
        Whether it was so [-].

    Returns
    -------
    Reliability

    Raises
    ------
    InvalidInput
        If a probability lies outside 0 to 1.

    Examples
    --------
    >>> table = reliability(np.array([0.05, 0.95, 0.95]), np.array([False, True, False]))
    >>> table.count[0], table.count[9], table.happened[9]
    (1.0, 2.0, 1.0)
    """
    known = np.isfinite(probabilities)
    stated, happened = probabilities[known], outcomes[known].astype(np.float64)
    if stated.size and not (stated.min() >= 0.0 and stated.max() <= 1.0):
        raise InvalidInput("A stated probability lies outside 0 to 1; give a share of members.")
    classes = np.minimum((stated * CLASSES).astype(np.int64), CLASSES - 1)

    def sums(values: FloatArray) -> tuple[float, ...]:
        return tuple(np.bincount(classes, values, CLASSES).tolist())

    return Reliability(
        sums(np.ones_like(stated)),
        sums(stated),
        sums(happened),
        float(np.sum((stated - happened) ** 2)),
    )


def pooled(tables: Sequence[Reliability]) -> Reliability:
    """Add up the tables of several bins."""

    def together(rows: list[tuple[float, ...]]) -> tuple[float, ...]:
        return tuple(np.sum(rows, axis=0).tolist()) if rows else (0.0,) * CLASSES

    return Reliability(
        together([one.count for one in tables]),
        together([one.stated for one in tables]),
        together([one.happened for one in tables]),
        float(sum(one.squares for one in tables)),
    )
