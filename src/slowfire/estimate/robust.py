"""Observations that do not fit: weighed down while estimating, and named, to be asked about."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput, check_range

FREEDOM = 4.0  # of the Student distribution taken for errors; a usual choice
SUPPORT = 0.5  # of the limit, from which a neighbour on the same side lends support; ours
WITHIN_HOURS = 336.0  # neighbours lie within two weeks; ours


def _checked(
    observed: FloatArray, predicted: FloatArray, error_spread: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Variance of the ensemble, and of an innovation."""
    if predicted.ndim != 2 or predicted.shape[0] != observed.size or predicted.shape[1] < 2:
        raise InvalidInput(
            f"Predictions of shape {predicted.shape} do not fit {observed.size} observations of "
            "two members or more."
        )
    if error_spread.shape != observed.shape or not (error_spread > 0.0).all():
        raise InvalidInput("Every observation needs a positive error spread.")
    ensemble = np.var(predicted, axis=1, ddof=1)
    return ensemble, ensemble + error_spread**2


def standard_innovations(
    observed: FloatArray, predicted: FloatArray, error_spread: FloatArray
) -> FloatArray:
    """How far each observation lies from the ensemble, by what both allow.

    ::

        r = (d - mean y) / sqrt(s^2 + R)

    with d the observation, y what members predict, s^2 their variance and R that of the error.

    Parameters
    ----------
    observed : ndarray, shape (observations,)
        What was observed, on the scale of its row [-].
    predicted : ndarray, shape (observations, members)
        What each member predicts, on the same scale [-].
    error_spread : ndarray, shape (observations,)
        Standard deviation of each error, above 0 [-].

    Returns
    -------
    ndarray, shape (observations,)
        Innovations in standard deviations [-].

    Raises
    ------
    InvalidInput
        If shapes do not fit or a spread is not positive.

    Notes
    -----
    Exact for Gaussian ensembles, where it is a standard normal number if all is well.

    Examples
    --------
    >>> y = np.array([[19.0, 20.0, 21.0]])
    >>> float(standard_innovations(np.array([22.0]), y, np.array([1.0])).round(2)[0])
    1.41
    """
    _, total = _checked(observed, predicted, error_spread)
    innovations: FloatArray = (observed - predicted.mean(axis=1)) / np.sqrt(total)
    return innovations


def reweighted_spread(
    observed: FloatArray,
    predicted: FloatArray,
    error_spread: FloatArray,
    freedom: float = FREEDOM,
) -> FloatArray:
    """Error spreads, made wider for observations far from what the ensemble and error allow.

    ::

        w = min[1, (v + 1) / (v + r^2)],   R' = (s^2 + R) / w - s^2

    with r from `standard_innovations`, v the degrees of freedom, s^2 the variance of the ensemble
    and R that of the error.

    Parameters
    ----------
    observed : ndarray, shape (observations,)
        What was observed, on the scale of its row [-].
    predicted : ndarray, shape (observations, members)
        What each member predicts, on the same scale [-].
    error_spread : ndarray, shape (observations,)
        Standard deviation of each error, above 0 [-].
    freedom : float
        Degrees of freedom [-], 2 (wary) to 30 (nearly Gaussian).

    Returns
    -------
    ndarray, shape (observations,)
        Spreads for the update, none below that given [-].

    Raises
    ------
    InvalidInput
        If shapes do not fit, a spread is not positive or `freedom` is outside 1 to 1000.

    Notes
    -----
    The weights of a Student distribution, put on the innovation as a whole, as the first step of
    reweighted least squares would; the cap at 1 is Huber's, so that good fits are not overrated.
    One such observation by itself moves the mean by at most (v + 1) / (2 sqrt v) times
    s^2/sqrt(s^2 + R), 1.25 times with v = 4, and less the farther off it is. Taken anew before
    each update, it lets back in what the ensemble has come to agree with.

    Examples
    --------
    >>> y = np.array([[19.0, 20.0, 21.0]] * 2)
    >>> reweighted_spread(np.array([20.5, 50.0]), y, np.array([1.0, 1.0])).round(1).tolist()
    [1.0, 13.4]

    References
    ----------
    lange1989, huber1964
    """
    check_range("Degrees of freedom", freedom, 1.0, 1000.0)
    ensemble, total = _checked(observed, predicted, error_spread)
    squared = standard_innovations(observed, predicted, error_spread) ** 2
    weight = np.minimum((freedom + 1.0) / (freedom + squared), 1.0)
    wider: FloatArray = np.sqrt(np.maximum(total / weight - ensemble, error_spread**2))
    return wider


def set_aside(
    observed: FloatArray,
    predicted: FloatArray,
    error_spread: FloatArray,
    hours: FloatArray,
    groups: Sequence[str],
    limits: FloatArray,
) -> NDArray[np.bool_]:
    """Name the observations to leave out and ask about: far off, and alone with it.

    ::

        aside where |r| > limit, unless as many neighbours or more stand on its side as do not

    with r from `standard_innovations`. Neighbours are the two or more others of its group within
    two weeks; one stands on its side with r beyond half the limit of the same sign.

    Parameters
    ----------
    observed : ndarray, shape (observations,)
        What was observed, on the scale of its row [-].
    predicted : ndarray, shape (observations, members)
        What each member predicts, on the same scale [-].
    error_spread : ndarray, shape (observations,)
        Standard deviation of each error, above 0 [-].
    hours : ndarray, shape (observations,)
        When [h].
    groups : sequence of str
        Thermometer or kind of look of each.
    limits : ndarray, shape (observations,)
        Standard deviations allowed, above 0, usually 4 to 5 [-].

    Returns
    -------
    ndarray, shape (observations,)
        True where set aside [-].

    Raises
    ------
    InvalidInput
        If shapes do not fit, or a spread or limit is not positive.

    Notes
    -----
    Ours. Where several readings in a row disagree with the ensemble it is the ensemble that is
    wrong, so they stay, weighed by `reweighted_spread`. Two stand alone when they are a fortnight
    apart from all others. Judge with the ensemble before any update, which is widest.

    Examples
    --------
    >>> y = np.array([[19.0, 20.0, 21.0]] * 3)
    >>> set_aside(
    ...     np.array([20.0, 50.0, 21.0]), y, np.ones(3), np.array([0.0, 24.0, 48.0]),
    ...     ["probe"] * 3, np.full(3, 4.0),
    ... ).tolist()
    [False, True, False]
    """
    if hours.shape != observed.shape or limits.shape != observed.shape:
        raise InvalidInput("Hours and limits must be as many as the observations.")
    if len(groups) != observed.size or not (limits > 0.0).all():
        raise InvalidInput("Every observation needs a group and a limit above 0.")
    far = standard_innovations(observed, predicted, error_spread) / limits
    named = np.array(groups)
    aside = np.zeros(observed.size, dtype=bool)
    for i in np.flatnonzero(np.abs(far) > 1.0):
        near = (named == named[i]) & (np.abs(hours - hours[i]) <= WITHIN_HOURS)
        near[i] = False
        support = near & (np.sign(far[i]) * far > SUPPORT)
        aside[i] = near.sum() < 2 or 2 * support.sum() < near.sum()
    return aside
