"""An ensemble told in few numbers: bands, slices of the stack, chances."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.column.positions import ADDED_HOUR
from slowfire.column.simulate import Column
from slowfire.errors import InvalidInput, check_range
from slowfire.estimate.glimpse import Glimpse, glimpse

BAND_PERCENT = (5.0, 50.0, 95.0)
SLICE = 0.05  # thickness of a slice of the stack in the middle of the ensemble [m]
LEAST_FILL = 0.005  # a lower stack counts as none [m]
# Ours: a bin whose heat has gone out for want of air, not for cold or for want of food.
COLD_KELVIN = 15.0  # the hottest layer less than that above the mean air of a day [K]
AIRLESS_OXYGEN = 0.02  # in some layer, volume fraction [-]
SETTLED_SHARE = 0.9  # of the hours of a week: stirring lets air in and changes nothing
WEEK_HOURS, DAY_HOURS = 168, 24


def band(predicted: FloatArray) -> FloatArray:
    """Low, middle and high of an ensemble: the 5th, 50th and 95th percentile.

    Parameters
    ----------
    predicted : ndarray, shape (members, ...)
        Of each member, in any unit; NaN where a member has nothing [-].

    Returns
    -------
    ndarray, shape (3, ...)
        In the same unit; NaN where no member has anything [-].

    Notes
    -----
    Exact: straight lines between the sorted values.

    Examples
    --------
    >>> band(np.arange(101.0)).tolist()
    [5.0, 50.0, 95.0]
    """
    empty = np.isnan(predicted).all(axis=0)
    told = np.nanpercentile(np.where(empty, 0.0, predicted), BAND_PERCENT, axis=0)
    return np.asarray(np.where(empty, np.nan, told))


@dataclass(frozen=True, eq=False)
class Slices:
    """The stack in slices of even height, base first, each the same share of a member's own fill.

    Attributes
    ----------
    edges : ndarray, shape (slices + 1,)
        Heights above the floor, of the stack in the middle of the ensemble [m].
    age_days : ndarray, shape (members, slices)
        Since it was added, by thickness [day].
    centre_celsius, edge_celsius : ndarray, shape (members, slices)
        [degC]
    moisture_content_wet_basis, oxygen : ndarray, shape (members, slices)
        Shares [-].
    """

    edges: FloatArray
    age_days: FloatArray
    centre_celsius: FloatArray
    edge_celsius: FloatArray
    moisture_content_wet_basis: FloatArray
    oxygen: FloatArray

    @property
    def count(self) -> int:
        """How many."""
        return self.edges.size - 1


def slices(columns: Sequence[Column], thickness: float = SLICE) -> Slices:
    """Cut every bin of an ensemble into as many slices as its middle stack has of a thickness.

    ::

        z_k = k F_m / n,   n = F / d

    with F_m the fill of a member, F that in the middle of the ensemble, d the thickness of a slice
    and n their number.

    Parameters
    ----------
    columns : sequence of Column
        Bins of an ensemble at one hour.
    thickness : float
        Of a slice [m], 0.01 to 1.

    Returns
    -------
    Slices
        None of them if most bins are empty; NaN for a bin that is.

    Notes
    -----
    Ours: members stack different layers to different heights, so shares of the fill are what can
    be compared. Temperatures and gas are means by thickness, moisture by mass.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> slices([Column(box(0.5, 0.5, 0.9), constant_air(12.0))]).count
    0
    """
    check_range("Thickness of a slice", thickness, 0.01, 1.0, "m")
    seen = [glimpse(one) for one in columns]
    fill = float(np.median([one.fill_height for one in seen])) if seen else 0.0
    count = max(round(fill / thickness), 1) if fill >= LEAST_FILL else 0
    found = np.full((5, len(seen), count), np.nan)
    for m, (column, one) in enumerate(zip(columns, seen, strict=True)):
        if one.empty or one.fill_height < LEAST_FILL:
            continue
        age = (column.hour - column.state[: column.layers, ADDED_HOUR]) / 24.0
        for k in range(count):
            found[:, m, k] = _slice(one, age, k / count, (k + 1) / count)
    return Slices(np.linspace(0.0, fill if count else 0.0, count + 1), *found)


def _slice(seen: Glimpse, age: FloatArray, low: float, high: float) -> FloatArray:
    share = seen.shares_between(low * seen.fill_height, high * seen.fill_height)
    mean = float(share @ seen.mean)
    half = 0.5 * float(share @ seen.centre_minus_edge)
    by_height = share / np.maximum(seen.thickness, 1e-9)
    water = float(by_height @ seen.water)
    dry = float(by_height @ seen.dry_mass)
    moisture = water / max(water + dry, 1e-12)
    return np.array(
        [float(share @ age), mean + half, mean - half, moisture, float(share @ seen.oxygen)]
    )


def cold_airless_share(
    hours: FloatArray, hottest: FloatArray, air_celsius: FloatArray, oxygen: FloatArray
) -> FloatArray:
    """Share of an ensemble that has been cold and airless for a week.

    An hour counts as cold with the hottest layer less than 15 K above the mean air of the day that
    ends there, as airless with less than 2 % oxygen in some layer. A bin is both if nine in ten
    hours of the week that ends there were both.

    Parameters
    ----------
    hours : ndarray, shape (hours,)
        Rising, no more than a few hours apart [h].
    hottest, air_celsius : ndarray, shape (members, hours)
        Centre of the hottest layer, and the air outside [degC].
    oxygen : ndarray, shape (members, hours)
        The lowest of all layers, by volume [-].

    Returns
    -------
    ndarray, shape (hours,)
        0 to 1; NaN before a week has been looked at [-].

    Raises
    ------
    InvalidInput
        If shapes do not fit or hours do not rise.

    Notes
    -----
    Ours. Values lie on straight lines between the hours given.

    Examples
    --------
    >>> week = np.arange(0.0, 193.0, 3.0)
    >>> flat = np.ones((1, week.size))
    >>> share = cold_airless_share(week, 14.0 * flat, 12.0 * flat, 0.001 * flat)
    >>> bool(np.isnan(share[0])), float(share[-1])
    (True, 1.0)
    """
    if hottest.shape != (hottest.shape[0], hours.size) or not (np.diff(hours) > 0.0).all():
        raise InvalidInput(
            f"{hours.size} hours do not fit values of shape {hottest.shape}; give rising hours, "
            "one for each value."
        )
    if hours.size < 2 or hours[-1] - hours[0] < WEEK_HOURS:
        return np.full(hours.shape, np.nan)
    hourly = np.arange(hours[0], hours[-1] + 0.5)
    share = np.zeros(hourly.size - WEEK_HOURS + 1)
    for values in zip(hottest, air_celsius, oxygen, strict=True):
        warm, outside, gas = (np.interp(hourly, hours, one) for one in values)
        both = (warm < _trailing_mean(outside, DAY_HOURS) + COLD_KELVIN) & (gas < AIRLESS_OXYGEN)
        share += _trailing_mean(both.astype(np.float64), WEEK_HOURS)[WEEK_HOURS - 1 :] >= (
            SETTLED_SHARE - 1e-9
        )
    ends = hourly[WEEK_HOURS - 1 :]
    return np.asarray(
        np.where(hours >= ends[0], np.interp(hours, ends, share / hottest.shape[0]), np.nan)
    )


def _trailing_mean(hourly: FloatArray, count: int) -> FloatArray:
    sums = np.concatenate([[0.0], np.cumsum(hourly)])
    ends = np.arange(1, hourly.size + 1)
    begins = np.maximum(ends - count, 0)
    return np.asarray((sums[ends] - sums[begins]) / (ends - begins))
