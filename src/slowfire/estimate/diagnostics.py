"""What an estimate has learned, how well it fits, and which reading would tell most."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtri

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput
from slowfire.estimate.condition import DISCREPANCY, Conditioned
from slowfire.estimate.follow import TOGETHER_HOURS
from slowfire.estimate.glimpse import Glimpse
from slowfire.estimate.looks import HAND_REACH, SQUEEZE_WIDTH
from slowfire.estimate.member import instrument_values
from slowfire.estimate.observe import IMPLIED, NORMAL_95, Observed, fill_level
from slowfire.estimate.readings import Instrument, Place, lid_dial, probe
from slowfire.units import UnitSystem, format_length

THERMOMETERS = ("lid", "probe", "infrared")
# Ours.
DISCREPANCY_KELVIN = 1.8  # of the model at its best, which no reading takes away
WORTH = 0.15  # of its width, that a reading must take off a band
CANDIDATE_DEPTHS = (0.15, 0.30, 0.45, 0.60, 0.80)  # [m]
FLOOR_MARGIN = 0.05  # a probe that touches the floor reads the floor [m]
CLASS_WIDTH = 0.04  # of a squeeze class, as a standard deviation of moisture [-]
CONFIDENCE = 0.99  # of the test whether an estimate still fits
LAST_VISITS = 3
LOOSE, GONE = 1.5, 3.0  # mean square of what is left, by that expected


@dataclass(frozen=True, eq=False)
class Expected:
    """What an ensemble expected of readings before they moved it.

    Attributes
    ----------
    places : ndarray, shape (readings,)
        Which observation of the record each is.
    hours, low, high : ndarray, shape (readings,)
        When, and the 90 % interval, error included, each on its scale [h], [-].
    """

    places: NDArray[np.int64]
    hours: FloatArray
    low: FloatArray
    high: FloatArray

    @staticmethod
    def none() -> "Expected":
        """Nothing read yet."""
        return Expected(np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0), np.zeros(0))

    def followed_by(self, later: "Expected", since: float) -> "Expected":
        """Both, without what is older than `since` [h]."""
        hours = np.concatenate([self.hours, later.hours])
        kept = hours >= since

        def both(name: str) -> np.ndarray:
            return np.concatenate([getattr(self, name), getattr(later, name)])[kept]

        return Expected(both("places"), hours[kept], both("low"), both("high"))

    def arrays(self) -> dict[str, np.ndarray]:
        """All of it by name, to be kept."""
        return {
            "expected_places": self.places,
            "expected_hours": self.hours,
            "expected_low": self.low,
            "expected_high": self.high,
        }

    @staticmethod
    def of_arrays(arrays: Mapping[str, np.ndarray]) -> "Expected":
        """The inverse of `arrays`."""
        return Expected(
            *(arrays[f"expected_{name}"] for name in ("places", "hours", "low", "high"))
        )


def error_spreads(found: Conditioned) -> FloatArray:
    """Error spread of each observation of a window, before any was weighed down.

    Parameters
    ----------
    found : Conditioned
        An estimate.

    Returns
    -------
    ndarray, shape (observations,)
        Standard deviations, each on the scale of its observation [-].

    Notes
    -----
    Ours: what is weighed down has a wider spread than its fellows of one thermometer, so the
    narrowest of them counts, but no less than error and model leave.

    Examples
    --------
    >>> nothing = np.empty((0, 2))
    >>> none = np.empty(0)
    >>> empty = Conditioned(None, (), nothing, nothing, none, nothing, none, nothing, {})
    >>> error_spreads(empty).size
    0
    """
    own = np.array(
        [np.hypot(one.error_spread, DISCREPANCY.get(one.kind, 0.0)) for one in found.observed]
    )
    groups = np.array([one.group for one in found.observed])
    for name in set(groups.tolist()):
        same = groups == name
        own[same] = np.maximum(own[same], found.spread[same].min())
    return own


def expected_before(found: Conditioned, first: int) -> Expected:
    """What an estimate expected of the readings of its window before they moved it.

    ::

        low, high = m -+ 1.645 sqrt(s^2 + R)

    with m and s the mean and the standard deviation of what members predict and R the variance of
    the error.

    Parameters
    ----------
    found : Conditioned
        An estimate.
    first : int
        Place of its first observation in the record [-].

    Returns
    -------
    Expected

    Notes
    -----
    Exact for a Gaussian ensemble.

    Examples
    --------
    >>> nothing = np.empty((0, 2))
    >>> none = np.empty(0)
    >>> empty = Conditioned(None, (), nothing, nothing, none, nothing, none, nothing, {})
    >>> expected_before(empty, 0).places.size
    0
    """
    count = len(found.observed)
    if count == 0:
        return Expected.none()
    middle = found.before.mean(axis=1)
    wide = NORMAL_95 * np.hypot(found.before.std(axis=1, ddof=1), error_spreads(found))
    hours = np.array([one.hour for one in found.observed])
    return Expected(first + np.arange(count), hours, middle - wide, middle + wide)


@dataclass(frozen=True)
class Fit:
    """How well an estimate fits what was read.

    Attributes
    ----------
    used, aside : int
        Things read or seen in the window, and those of them left out [-].
    misfit_kelvin : float
        Root mean square of readings in bin and lid less their middle estimate; NaN without [K].
    words : str
        fits, fits loosely, no longer fits, or nothing to fit.
    basis : str
        from readings, from looks or from assumptions.
    surprising : bool
        Whether the last visits lie beyond what the estimate allowed for, with 99 % confidence.
    """

    used: int
    aside: int
    misfit_kelvin: float
    words: str
    basis: str
    surprising: bool


def is_surprising(observed: FloatArray, predicted: FloatArray, error_spread: FloatArray) -> bool:
    """Whether observations lie farther from an ensemble than it and their errors allow.

    ::

        T^2 = d' (C + R)^-1 d,   F = T^2 (m - n) / (n (m - 1))

    with d observations less ensemble means, C the sample covariance of m members, R the error
    variances and n the number of observations; F beyond its 99th percentile for n and m - n
    degrees of freedom surprises.

    Parameters
    ----------
    observed : ndarray, shape (observations,)
        What was observed, each on its scale [-].
    predicted : ndarray, shape (observations, members)
        What each member predicted [-].
    error_spread : ndarray, shape (observations,)
        Standard deviation of each error, above 0 [-].

    Returns
    -------
    bool
        False without observations, or with as many as members.

    Notes
    -----
    Hotelling's test, in the limit of many members chi-square with n degrees of freedom. Exact for
    Gaussian ensembles where C alone counts; since R is known, it errs towards no surprise.

    Examples
    --------
    >>> y = np.random.default_rng(1).normal(20.0, 1.0, (2, 60))
    >>> one = np.ones(2)
    >>> is_surprising(np.array([21.0, 19.0]), y, one), is_surprising(25.0 * one, y, one)
    (False, True)
    """
    count, members = predicted.shape
    if count == 0 or members <= count + 1:
        return False
    if observed.shape != (count,) or error_spread.shape != (count,):
        raise InvalidInput(
            f"{observed.size} observations do not fit predictions of shape {predicted.shape}."
        )
    apart = observed - predicted.mean(axis=1)
    total = np.atleast_2d(np.cov(predicted)) + np.diag(error_spread**2)
    squared = float(apart @ np.linalg.solve(total, apart))
    ratio = squared * (members - count) / (count * (members - 1))
    return bool(ratio > fdtri(count, members - count, CONFIDENCE))


def fit_of(found: Conditioned) -> Fit:
    """Judge how well an estimate fits what was read in its window.

    Parameters
    ----------
    found : Conditioned
        An estimate.

    Returns
    -------
    Fit

    Notes
    -----
    Ours: it no longer fits if what is left, squared, is three times what errors allow, or half as
    much again after visits that surprised it; loosely if either of these holds. What was set aside
    is asked about instead.

    Examples
    --------
    >>> nothing = np.empty((0, 2))
    >>> none = np.empty(0)
    >>> empty = Conditioned(None, (), nothing, nothing, none, nothing, none, nothing, {})
    >>> fit_of(empty).words
    'nothing to fit'
    """
    aside = np.asarray(found.aside, dtype=bool)
    warm = np.array([one.kind in THERMOMETERS for one in found.observed], dtype=bool) & ~aside
    # what follows from a reading is not one
    read = np.array([one.kind not in IMPLIED for one in found.observed], dtype=bool)
    used, out = int((read & ~aside).sum()), int((read & aside).sum())
    if not warm.any():
        basis = "from looks" if used else "from assumptions"
        return Fit(used, out, float("nan"), "nothing to fit", basis, False)
    observed = np.array([one.value for one in found.observed])
    spread = error_spreads(found)
    left = (observed - np.median(found.after, axis=1))[warm]
    squared = float(np.mean((left / spread[warm]) ** 2))
    hours = np.array([one.hour for one in found.observed])
    last = warm & (hours >= _visits_ago(hours[warm], LAST_VISITS))
    surprising = is_surprising(observed[last], found.before[last], spread[last])
    if squared > GONE or (surprising and squared > LOOSE):
        words = "no longer fits"
    elif surprising or squared > LOOSE:
        words = "fits loosely"
    else:
        words = "fits"
    misfit = float(np.sqrt(np.mean(left**2)))
    return Fit(used, out, misfit, words, "from readings", surprising)


def _visits_ago(hours: FloatArray, count: int) -> float:
    """Hour at which the last visits but so many begin."""
    starts: list[float] = []
    for hour in np.unique(hours):
        if not starts or hour - starts[-1] > TOGETHER_HOURS:
            starts.append(float(hour))
    return starts[-min(count, len(starts))]


@dataclass(frozen=True)
class Candidate:
    """A reading that could be taken now.

    Attributes
    ----------
    what, where : str
        In words.
    observed : Observed or None
        With any value; None for a squeezed handful, which tells moisture in classes.
    """

    what: str
    where: str
    observed: Observed | None


def reading_candidates(
    hour: float,
    fill_high: float,
    instrument: Instrument | None,
    lid_instrument: Instrument | None,
    system: UnitSystem = "metric",
) -> tuple[Candidate, ...]:
    """Readings that could be taken now.

    Parameters
    ----------
    hour : float
        The present hour of the run [h].
    fill_high : float
        Height of the stack [m], 0 to 3.
    instrument : Instrument or None
        A probe; one like those of most kitchens if None.
    lid_instrument : Instrument or None
        The dial in the lid, None if there is none.
    system : str
        metric or us, for the words.

    Returns
    -------
    tuple of Candidate
        Probes at depths that the stack has, the lid, a handful, the level.

    Notes
    -----
    Ours.

    Examples
    --------
    >>> [one.where for one in reading_candidates(9.0, 0.4, None, None)][:2]
    ['15 cm below the surface, in the middle', '30 cm below the surface, in the middle']
    """
    tool = instrument or Instrument("probe")
    named = "a probe" if instrument is None else f"the {instrument.name}"
    found = [
        Candidate(
            named,
            f"{format_length(depth, system)} below the surface, in the middle",
            probe(hour, 20.0, tool, Place(depth=depth, spot="centre")),
        )
        for depth in CANDIDATE_DEPTHS
        if depth <= fill_high - FLOOR_MARGIN
    ]
    if lid_instrument is not None:
        dial = lid_dial(hour, 20.0, lid_instrument)
        found.append(Candidate(f"the {lid_instrument.name}", "in the lid", dial))
    if fill_high > HAND_REACH:
        found.append(Candidate("a squeezed handful", "from under the surface", None))
        level = fill_level(hour, 0.3)
        found.append(Candidate("the level", "from the rim down to the surface", level))
    return tuple(found)


def candidate_values(
    candidate: Candidate,
    seen: Sequence[Glimpse],
    unknowns: Mapping[str, FloatArray],
) -> tuple[FloatArray, float]:
    """What members predict for a reading that was not taken, and how far off it would be.

    Parameters
    ----------
    candidate : Candidate
        The reading.
    seen : sequence of Glimpse
        Every member now.
    unknowns : mapping of str to ndarray, shape (members,)
        By name [-].

    Returns
    -------
    tuple of (ndarray, shape (members,), float)
        Predictions and the standard deviation of the error, on the scale of the reading [-].

    Notes
    -----
    Ours: the error holds that of the model at that place and what is not known of a thermometer
    that has never been read.

    Examples
    --------
    >>> from slowfire.column.simulate import Column, constant_air
    >>> from slowfire.estimate.glimpse import glimpse
    >>> from slowfire.vessel import box
    >>> empty = glimpse(Column(box(0.5, 0.5, 0.9), constant_air(12.0)))
    >>> level = Candidate("the level", "", fill_level(9.0, 0.3))
    >>> candidate_values(level, [empty], {})
    (array([0.9]), 0.04)
    """
    one = candidate.observed
    if one is None:
        moist = [
            0.5
            if each.empty
            else float(each.near_surface(HAND_REACH) @ each.moisture_content_wet_basis)
            for each in seen
        ]
        return np.array(moist), float(np.hypot(SQUEEZE_WIDTH, CLASS_WIDTH))
    values = []
    for member, each in enumerate(seen):
        own = {name: float(unknown[member]) for name, unknown in unknowns.items()}
        values.append(one.predict(each, instrument_values([one], own)))
    spread = float(np.hypot(one.error_spread, DISCREPANCY.get(one.kind, 0.0)))
    if one.blur is not None:
        spread = float(np.hypot(spread, np.median([one.blur(each) for each in seen])))
    for unknown in one.unknowns:
        if unknown.name not in unknowns and unknown.unit == "K":
            spread = float(np.hypot(spread, unknown.high / NORMAL_95))
    return np.array(values), spread


def narrowed_spread(
    hottest: FloatArray, predicted: FloatArray, error_spread: float
) -> tuple[float, float]:
    """Spread of a temperature now, and what a reading would leave of it.

    ::

        s'^2 = s^2 (1 - r^2 v / (v + R)) + q^2

    with s^2 and v the variances of temperature and prediction, r their correlation less what
    chance gives it, R the error variance and q the model's own error.

    Parameters
    ----------
    hottest : ndarray, shape (members,)
        The temperature to be known [degC].
    predicted : ndarray, shape (members,)
        What each member predicts for the reading, on its scale [-].
    error_spread : float
        Standard deviation of the reading's error, above 0 [-].

    Returns
    -------
    tuple of float
        Standard deviations, before and after [K].

    Notes
    -----
    Exact for a Gaussian ensemble with r known; from m members r^2 is taken as
    (r^2 (m - 1) - 1)/(m - 2), which is unbiased where there is no correlation.

    Examples
    --------
    >>> x = np.linspace(30.0, 60.0, 50)
    >>> [round(one, 1) for one in narrowed_spread(x, x, 1.0)]
    [9.1, 2.1]
    """
    members = hottest.size
    if members < 4:
        raise InvalidInput(f"Members is {members}; allowed is 4 or more.")
    floor = DISCREPANCY_KELVIN**2
    variance, told = float(hottest.var(ddof=1)), float(predicted.var(ddof=1))
    if variance <= 1e-12 or told <= 1e-18:
        return float(np.sqrt(variance + floor)), float(np.sqrt(variance + floor))
    squared = float(np.cov(hottest, predicted)[0, 1]) ** 2 / (variance * told)
    squared = max((squared * (members - 1) - 1.0) / (members - 2), 0.0)
    left = variance * (1.0 - squared * told / (told + error_spread**2))
    return float(np.sqrt(variance + floor)), float(np.sqrt(left + floor))


@dataclass(frozen=True)
class Advised:
    """The reading that would tell most.

    Attributes
    ----------
    what, where, why : str
        In words.
    narrows_percent : float
        By how much of its width the band would be narrower [percent].
    """

    what: str
    where: str
    why: str
    narrows_percent: float


def best_reading(
    candidates: Sequence[Candidate],
    seen: Sequence[Glimpse],
    unknowns: Mapping[str, FloatArray],
    hottest: FloatArray,
    later: FloatArray,
    system: UnitSystem = "metric",
) -> Advised | None:
    """Name the reading that narrows most what is to be known, if any narrows it by 15 %.

    Parameters
    ----------
    candidates : sequence of Candidate
        Readings that could be taken now.
    seen : sequence of Glimpse
        Every member now.
    unknowns : mapping of str to ndarray, shape (members,)
        By name [-].
    hottest, later : ndarray, shape (members,)
        Centre of the hottest layer now, and in three days [degC].
    system : str
        metric or us, for the words.

    Returns
    -------
    Advised or None
        None if no reading is needed.

    Notes
    -----
    Ours: the earlier of two candidates counts where they are equal.

    Examples
    --------
    >>> best_reading((), (), {}, np.zeros(4), np.zeros(4)) is None
    True
    """
    best: Advised | None = None
    targets = (
        ("would narrow the hottest layer", hottest),
        ("would narrow the hottest layer in three days", later),
    )
    for candidate in candidates:
        values, spread = candidate_values(candidate, seen, unknowns)
        for words, target in targets:
            before, after = narrowed_spread(target, values, spread)
            share = 1.0 - after / before
            if share <= WORTH or (best and 100.0 * share <= best.narrows_percent + 1e-9):
                continue
            best = Advised(
                candidate.what,
                candidate.where,
                f"{words} from {_plus_minus(before, after, system)}",
                100.0 * share,
            )
    return best


def _plus_minus(before: float, after: float, system: UnitSystem) -> str:
    """Half widths of two bands, to a tenth where whole degrees would not differ."""
    per, unit = (1.8, "°F") if system == "us" else (1.0, "°C")
    wide, narrow = (per * NORMAL_95 * one for one in (before, after))
    digits = 0 if round(wide) != round(narrow) else 1
    return f"±{wide:.{digits}f} to ±{narrow:.{digits}f} {unit}"
