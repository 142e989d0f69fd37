"""What the model leaves over at readings, carried to nearby hours and heights.

No model is right. What remains between a member and its readings after all unknowns were moved is
taken as a smooth field over time and height, which widens where nobody measured.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import expit, logit, ndtri

from slowfire.arrays import FloatArray
from slowfire.constants import OXYGEN_IN_AIR
from slowfire.estimate.condition import DISCREPANCY, Conditioned

# Ours, set by the twin trials.
FIELD_KELVIN = 4.0  # of the bed
LID_KELVIN = 2.0  # of the air under the lid
REACH_HOURS = 120.0  # in which the field forgets
REACH_METRES = 0.15  # over which it differs
# Of the logarithm of the odds: with them nine in ten of the truths lie inside the range told.
WATER_LOGITS = 0.2  # of the water in a layer
OXYGEN_LOGITS = 2.0  # of oxygen in the pores, as a share of that in fresh air
LEAST_SHARE = 1e-9
WAVES = 64  # of which a smooth curve over the height is made


@dataclass(frozen=True, eq=False)
class Leftover:
    """What members leave over at readings of one kind.

    Attributes
    ----------
    hours : ndarray, shape (readings,)
        When [h].
    tips : ndarray, shape (readings, members)
        Height above the floor; 0 for the lid [m].
    values : ndarray, shape (readings, members)
        Reading less prediction [K].
    spread : ndarray, shape (readings,)
        Standard deviation of what is wrong with each reading itself [K].
    kelvin : float
        Standard deviation of the field [K].
    """

    hours: FloatArray
    tips: FloatArray
    values: FloatArray
    spread: FloatArray
    kelvin: float


def leftovers(found: Conditioned, kind: str) -> Leftover:
    """Gather what an ensemble leaves over at its probes or at its lid.

    Parameters
    ----------
    found : Conditioned
        After the last update.
    kind : str
        probe or lid [-].

    Returns
    -------
    Leftover
        Without readings that were set aside.

    Notes
    -----
    Ours. The spread of a reading is what it was given, robust weight included, less that of the
    model.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.estimate.condition import begin_ensemble, condition, in_turn
    >>> from slowfire.estimate.plan import Plan
    >>> from slowfire.vessel import box
    >>> plan = Plan(box(0.5, 0.5, 0.9), None, (), (), constant_air(12.0))
    >>> found = condition(plan, begin_ensemble(plan, 2, 1, in_turn), 24.0, 1)
    >>> leftovers(found, "probe").values.shape
    (0, 2)
    """
    use = [
        k for k, one in enumerate(found.observed) if one.kind == kind and not bool(found.aside[k])
    ]
    members = found.ensemble.members
    kelvin = FIELD_KELVIN if kind == "probe" else LID_KELVIN
    if not use:
        none = np.empty((0, members))
        return Leftover(np.empty(0), none, none, np.empty(0), kelvin)
    values = np.array([one.value for one in found.observed])[use, None] - found.after[use]
    model = DISCREPANCY.get(kind, 0.0)
    own = np.sqrt(np.maximum(found.spread[use] ** 2 - model**2, 0.25))
    tips = found.tips[use] if kind == "probe" else np.zeros((len(use), members))
    return Leftover(np.array([found.observed[k].hour for k in use]), tips, values, own, kelvin)


def correction(
    left: Leftover, hours: FloatArray, heights: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """What to add to each member at some hours and heights, and what stays unsure.

    ::

        m = k (K + R)^-1 r,   v = s^2 - k (K + R)^-1 k^T
        K_ij = s^2 exp(-|t_i - t_j| / T) exp(-(z_i - z_j)^2 / (2 L^2))

    with r what is left over, R the variances of the readings, s the standard deviation of the
    field, T and L how far it reaches in time and height.

    Parameters
    ----------
    left : Leftover
        What members leave over.
    hours : ndarray, shape (hours,)
        Where to [h].
    heights : ndarray, shape (members, hours)
        Height above the floor [m].

    Returns
    -------
    tuple of ndarray, shape (members, hours)
        Mean and standard deviation of the field [K].

    Notes
    -----
    Exact for a Gaussian field of that covariance. Its reach and size are ours.

    References
    ----------
    rasmussen2006

    Examples
    --------
    >>> left = Leftover(np.array([0.0]), np.zeros((1, 3)), np.full((1, 3), 2.0), np.ones(1), 3.0)
    >>> mean, deviation = correction(left, np.array([0.0, 1e4]), np.zeros((3, 2)))
    >>> mean[0].round(2).tolist(), deviation[0].round(2).tolist()
    ([1.8, 0.0], [0.95, 3.0])
    """
    members = heights.shape[0]
    mean = np.zeros(heights.shape)
    deviation = np.full(heights.shape, left.kelvin)
    if left.hours.size == 0:
        return mean, deviation
    size = left.kelvin**2
    apart = np.exp(-np.abs(left.hours[:, None] - left.hours[None, :]) / REACH_HOURS)
    near = np.exp(-np.abs(hours[:, None] - left.hours[None, :]) / REACH_HOURS)
    noise = np.diag(left.spread**2)
    for member in range(members):
        tips = left.tips[:, member]
        between = (tips[:, None] - tips[None, :]) / REACH_METRES
        covariance = size * apart * np.exp(-0.5 * between**2) + noise
        off = (heights[member][:, None] - tips[None, :]) / REACH_METRES
        cross = size * near * np.exp(-0.5 * off**2)
        weights = np.linalg.solve(covariance, cross.T)
        mean[member] = left.values[:, member] @ weights
        lost = np.einsum("hr,rh->h", cross, weights)
        deviation[member] = np.sqrt(np.maximum(size - lost, 0.01 * size))
    return mean, deviation


def corrected(
    values: FloatArray, left: Leftover, hours: FloatArray, heights: FloatArray, seed: int
) -> FloatArray:
    """Temperatures with the field added to each member: its mean, and a draw of what is unsure.

    Parameters
    ----------
    values : ndarray, shape (members, hours)
        Temperatures of each member [degC].
    left : Leftover
        What members leave over.
    hours : ndarray, shape (hours,)
        Of the values [h].
    heights : ndarray, shape (members, hours)
        Of the values, above the floor [m].
    seed : int
        Which member gets which draw [-].

    Returns
    -------
    ndarray, shape (members, hours)
        [degC].

    Notes
    -----
    Ours. The draws are the even quantiles of a normal distribution in a drawn order, the same
    along time, so that they widen without shaking.

    Examples
    --------
    >>> left = Leftover(np.array([0.0]), np.zeros((1, 3)), np.full((1, 3), 2.0), np.ones(1), 3.0)
    >>> found = corrected(np.full((3, 1), 40.0), left, np.zeros(1), np.zeros((3, 1)), 1)
    >>> round(float(np.median(found)), 2)
    41.8
    """
    mean, deviation = correction(left, hours, heights)
    drawn = even_draws(values.shape[0], seed, 11)
    return np.asarray(values + mean + drawn[:, None] * deviation)


def corrected_hottest(
    values: FloatArray,
    hot_heights: FloatArray,
    bed_celsius: FloatArray,
    heights: Sequence[float],
    left: Leftover,
    hours: FloatArray,
    seed: int,
) -> FloatArray:
    """Hottest temperatures with the field added to the whole bed before the hottest is taken.

    ::

        H = max_z (T(z) + m(z) + d(z) g(z))

    with m and d the field's mean and standard deviation, and g a smooth curve of each member over
    the height, normal at every height [-].

    Parameters
    ----------
    values : ndarray, shape (members, hours)
        Centre of the hottest layer of each member [degC].
    hot_heights : ndarray, shape (members, hours)
        Height of that layer above the floor [m].
    bed_celsius : ndarray, shape (members, hours, heights)
        Temperatures in the centre; NaN above the stack [degC].
    heights : sequence of float
        Rising, above the floor; none leaves the hottest layer where the member has it [m].
    left : Leftover
        What members leave over.
    hours : ndarray, shape (hours,)
        Of the values [h].
    seed : int
        Which member gets which curve [-].

    Returns
    -------
    ndarray, shape (members, hours)
        [degC].

    Notes
    -----
    Ours. Adding what is unsure to the hottest layer alone would tell the bed too cold: where the
    model is off, another layer may be the hottest. Curves are sums of waves whose lengths follow
    the field's reach (rahimi2007); over the members they are the even quantiles of a normal
    distribution at each height, and the same along time.

    References
    ----------
    rahimi2007, rasmussen2006

    Examples
    --------
    >>> left = Leftover(np.empty(0), np.empty((0, 9)), np.empty((0, 9)), np.empty(0), 4.0)
    >>> even = np.full((9, 1, 8), 40.0)
    >>> grid = np.linspace(0.1, 0.8, 8).tolist()
    >>> spot = np.full((9, 1), 0.4)
    >>> found = corrected_hottest(even[:, :, 0], spot, even, grid, left, np.zeros(1), 1)
    >>> bool(np.median(found) > 41.0)
    True
    """
    members, count = values.shape
    if not len(heights):
        return corrected(values, left, hours, hot_heights, seed)
    at = np.asarray(heights, dtype=np.float64)
    curves = _curves(members, at, seed)
    there = np.array(
        [np.interp(hot, at, curve) for hot, curve in zip(hot_heights, curves, strict=True)]
    )
    # the hottest layer and every height in one go: the field is solved once for each member
    places = np.repeat(at, count)
    all_heights = np.hstack([hot_heights, np.tile(places, (members, 1))])
    mean, deviation = correction(left, np.tile(hours, at.size + 1), all_heights)
    plain = np.hstack([values, np.moveaxis(bed_celsius, 2, 1).reshape(members, -1)])
    drawn = np.hstack([there, np.repeat(curves, count, axis=1)])
    told = (plain + mean + drawn * deviation).reshape(members, at.size + 1, count)
    return np.asarray(np.fmax.reduce(told, axis=1))


def even_draws(members: int, seed: int, stream: int) -> FloatArray:
    """Even quantiles of a normal distribution, one for each member, in a drawn order.

    Parameters
    ----------
    members : int
        How many, at least 1 [-].
    seed, stream : int
        Which member gets which; streams keep errors of different things apart [-].

    Returns
    -------
    ndarray, shape (members,)
        Of mean 0 and variance about 1 [-].

    Notes
    -----
    Ours: the middles of shares of equal chance, so that few members hold the whole width.

    Examples
    --------
    >>> np.sort(even_draws(4, 1, 11)).round(2).tolist()
    [-1.15, -0.32, 0.32, 1.15]
    """
    quantiles = ndtri((np.arange(members) + 0.5) / members)
    order = np.random.default_rng([seed, stream]).permutation(members)
    return np.asarray(quantiles[order])


def told_water(shares: FloatArray, seed: int) -> FloatArray:
    """Water contents of the members with the model's own error added.

    Parameters
    ----------
    shares : ndarray, shape (members, ...)
        Water by mass, wet basis [-]; NaN where a member has nothing.
    seed : int
        Which member gets which error [-].

    Returns
    -------
    ndarray, shape (members, ...)
        Above 0 and below 1, with the same median [-].

    Notes
    -----
    Ours. Nothing at the bin reads water, so an ensemble that fits its thermometers agrees on a
    water content that need not be right. The errors are the even quantiles of a normal distribution
    in a drawn order, on the scale of the logarithm of the odds, the same along time and height.

    Examples
    --------
    >>> told = told_water(np.full((40, 1), 0.6), 1)
    >>> np.percentile(told, [5, 50, 95]).round(2).tolist()
    [0.52, 0.6, 0.67]
    """
    return _odds_widened(shares, WATER_LOGITS, seed, 14)


def told_oxygen(shares: FloatArray, seed: int) -> FloatArray:
    """Oxygen of the members with the model's own error added.

    Parameters
    ----------
    shares : ndarray, shape (members, ...)
        Oxygen by volume, such as the lowest of all layers [-]; NaN where a member has nothing.
    seed : int
        Which member gets which error [-].

    Returns
    -------
    ndarray, shape (members, ...)
        Above 0 and below that of fresh air, with the same median [-].

    Notes
    -----
    Ours, as `told_water`. Oxygen is the small rest of what comes in less what is burnt, and a
    thermometer tells little of it: where it is neither near that of fresh air nor gone, nobody
    knows it better than within a factor of some tens.

    Examples
    --------
    >>> told = told_oxygen(np.full((40, 1), 0.02), 1)
    >>> np.percentile(told, [5, 50, 95]).round(3).tolist()
    [0.001, 0.02, 0.146]
    """
    return OXYGEN_IN_AIR * _odds_widened(shares / OXYGEN_IN_AIR, OXYGEN_LOGITS, seed, 13)


def _odds_widened(shares: FloatArray, logits: float, seed: int, stream: int) -> FloatArray:
    odds = logit(np.clip(shares, LEAST_SHARE, 1.0 - LEAST_SHARE))
    drawn = even_draws(shares.shape[0], seed, stream)
    wide = odds + logits * drawn.reshape((-1,) + (1,) * (shares.ndim - 1))
    # chance would shift the middle; heights above all stacks stay NaN
    known = np.isfinite(odds).any(axis=0)
    shift = np.zeros(known.shape)
    shift[known] = np.nanmedian(odds[:, known], axis=0) - np.nanmedian(wide[:, known], axis=0)
    return np.asarray(expit(wide + shift))


def _curves(members: int, heights: FloatArray, seed: int) -> FloatArray:
    """Smooth curves over the height, shape (members, heights), normal at each height [-]."""
    draws = np.random.default_rng([seed, 12])
    waves = draws.normal(0.0, 1.0 / REACH_METRES, (members, WAVES))
    phases = draws.uniform(0.0, 2.0 * np.pi, (members, WAVES))
    angles = waves[:, None, :] * heights[None, :, None] + phases[:, None, :]
    ranks = np.argsort(np.argsort(np.cos(angles).sum(axis=2), axis=0), axis=0)
    return np.asarray(ndtri((ranks + 0.5) / members))
