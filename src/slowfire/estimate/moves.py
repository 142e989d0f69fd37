"""How members of an ensemble are moved and chosen: by when, how surely, and which of them."""

from collections.abc import Sequence

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.estimate.member import Passage

KEPT_SPREAD = 0.4  # of the spread lost in a window that comes back: bins change
FEWEST_CHOSEN = 8  # with fewer members nobody is left out
FEWEST_TOLD = 4  # with fewer readings and looks of a window nobody is left out either
EFFECTIVE = 0.5  # of the members that stay in effect when the likelier are chosen [-]
CONFIDENCE = 0.3  # members that a correlation must outweigh
FORGETS_HOURS = 30.0 * 24.0  # what went in long ago is told no longer by a reading of today
WEATHER_FORGETS_HOURS = 10.0 * 24.0


def likelier(
    passages: Sequence[Passage],
    observed: FloatArray,
    error_spread: FloatArray,
    use: np.ndarray,
    draws: np.random.Generator,
) -> list[int]:
    """Choose members anew, those that fit more often.

    ::

        w = exp(-a J / 2),   J = sum(((d - y) / s)^2)

    with y what a member predicts, d what was read, s its spread, and a, 1 or less, such that the
    effective number of members stays EFFECTIVE of all.

    Parameters
    ----------
    passages : sequence of Passage
        Of the last run.
    observed, error_spread : ndarray, shape (observations,)
        What was read and its error spread, on its own scale [-].
    use : ndarray, shape (observations,)
        Which of them count [-].
    draws : Generator
        Source of chance.

    Returns
    -------
    list of int
        Places of the members chosen, as many as there were.

    Notes
    -----
    Moving unknowns along straight lines leaves members that did not get there, such as those that
    went cold while the bin is hot. Systematic resampling; equal weights afterwards.

    Examples
    --------
    >>> likelier([], np.empty(0), np.empty(0), np.empty(0, dtype=bool), np.random.default_rng(1))
    []

    References
    ----------
    douc2005
    """
    members = len(passages)
    if members == 0:
        return []
    predicted = np.array([one.predicted for one in passages]).T
    off = (observed[use, None] - predicted[use]) / error_spread[use, None]
    misfit = (off**2).sum(axis=0)
    misfit -= misfit.min()
    power = 1.0
    weights = np.full(members, 1.0 / members)
    for _ in range(60):
        weights = np.exp(-0.5 * power * misfit)
        weights /= weights.sum()
        if 1.0 / (weights**2).sum() >= EFFECTIVE * members:
            break
        power *= 0.85
    points = (np.arange(members) + draws.random()) / members
    return [int(k) for k in np.searchsorted(np.cumsum(weights), points).clip(0, members - 1)]


def relaxed(unbounded: FloatArray, unbounded_before: FloatArray | None) -> FloatArray:
    """Give back part of the spread that a window took: what holds today may change.

    Parameters
    ----------
    unbounded : ndarray, shape (members,)
        An unknown after a window [-].
    unbounded_before : ndarray, shape (members,), or None
        The same before it [-]; None for what was new.

    Returns
    -------
    ndarray, shape (members,)
        With the same mean [-].

    Notes
    -----
    Ours: KEPT_SPREAD of the spread lost comes back.

    Examples
    --------
    >>> relaxed(np.array([-1.0, 1.0]), np.array([-2.0, 2.0])).tolist()
    [-1.4, 1.4]
    """
    spread = float(unbounded.std())
    if unbounded_before is None or spread <= 1e-9:
        return unbounded
    wider = 1.0 + KEPT_SPREAD * max(float(unbounded_before.std()) - spread, 0.0) / spread
    return np.asarray(unbounded.mean() + (unbounded - unbounded.mean()) * wider)


def time_taper(names: Sequence[str], local_from: dict[str, float], hours: FloatArray) -> FloatArray:
    """How far a reading may move an unknown, by when each counts.

    Parameters
    ----------
    names : sequence of str
        Of the unknowns.
    local_from : mapping of str to float
        Hour from which each unknown of the window alone counts [h].
    hours : ndarray, shape (observations,)
        Of the readings [h].

    Returns
    -------
    ndarray, shape (unknowns, observations)
        0 for readings before it, 1 at its hour, ever less after [-].

    Notes
    -----
    Ours: unknowns of the whole record are moved by all.

    Examples
    --------
    >>> time_taper(("a", "load"), {"load": 5.0}, np.array([0.0, 5.0])).tolist()
    [[1.0, 1.0], [0.0, 1.0]]
    """
    near = np.ones((len(names), hours.size))
    for k, name in enumerate(names):
        if name in local_from:
            since = hours - local_from[name]
            memory = WEATHER_FORGETS_HOURS if name.startswith("weather") else FORGETS_HOURS
            near[k] = np.where(since >= 0.0, np.exp(-np.maximum(since, 0.0) / memory), 0.0)
    return near


def confidence(unknowns: FloatArray, predicted: FloatArray) -> FloatArray:
    """How far each correlation outweighs what chance makes of so many members.

    ::

        c = r^2 / (r^2 + CONFIDENCE / n)

    with r the correlation of an unknown with a prediction and n the members [-].

    Parameters
    ----------
    unknowns : ndarray, shape (unknowns, members)
        What is moved [-].
    predicted : ndarray, shape (observations, members)
        What it is moved by [-].

    Returns
    -------
    ndarray, shape (unknowns, observations)
        0 to 1 [-].

    Notes
    -----
    Ours: a shrinkage, so that chance moves little and nothing is cut off.

    Examples
    --------
    >>> both = np.array([[-1.0, 0.0, 1.0]])
    >>> confidence(both, both).round(2).tolist()
    [[0.91]]
    """
    members = unknowns.shape[1]
    x = unknowns - unknowns.mean(axis=1, keepdims=True)
    y = predicted - predicted.mean(axis=1, keepdims=True)
    scale = np.outer(np.sqrt((x**2).sum(axis=1)), np.sqrt((y**2).sum(axis=1)))
    squared = ((x @ y.T) / np.maximum(scale, 1e-12)) ** 2
    return np.asarray(squared / (squared + CONFIDENCE / members))
