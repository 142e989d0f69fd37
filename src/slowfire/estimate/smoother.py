"""An ensemble smoother on arrays: unknowns moved towards observations by their covariances."""

from collections.abc import Callable

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput


def smoother_update(
    unknowns: FloatArray,
    predicted: FloatArray,
    observed: FloatArray,
    error_spread: FloatArray,
    inflation: float,
    draws: np.random.Generator,
    taper: FloatArray | None = None,
) -> FloatArray:
    """One update of an ensemble by perturbed observations.

    ::

        x_j <- x_j + (t C_xy) (C_yy + a R)^-1 (d + sqrt(a) e_j - y_j)

    with x the unknowns, y what each member predicts, d the observations, R the diagonal of their
    error variances, e_j drawn from N(0, R), a the inflation, C sample covariances and t the taper,
    element by element.

    Parameters
    ----------
    unknowns : ndarray, shape (unknowns, members)
        Unbounded values of each member, each row on a scale of its own [-].
    predicted : ndarray, shape (observations, members)
        What each member predicts, each row on a scale of its own [-].
    observed : ndarray, shape (observations,)
        What was observed, on the scale of its row [-].
    error_spread : ndarray, shape (observations,)
        Standard deviation of each observation's error on the same scale, above 0 [-].
    inflation : float
        1 for a single update; with k updates their inverses add up to 1 [-].
    draws : Generator
        Random numbers for the perturbations.
    taper : ndarray, shape (unknowns, observations), optional
        How far an observation may move an unknown, 0 to 1; everywhere 1 if left out [-].

    Returns
    -------
    ndarray, shape (unknowns, members)
        Updated values; the arguments stay as they are [-].

    Raises
    ------
    InvalidInput
        If shapes do not fit, a spread is not positive, or a value is not finite.

    Notes
    -----
    Exact for linear predictions and Gaussian unknowns as the ensemble grows. Observations are
    scaled by their spread first, so that their units do not matter. Without a taper, chance
    correlations of a small ensemble narrow unknowns that no observation sees.

    Examples
    --------
    >>> draws = np.random.default_rng(1)
    >>> x = draws.normal(0.0, 1.0, (1, 4000))
    >>> y = smoother_update(x, x, np.array([2.0]), np.array([1.0]), 1.0, draws)
    >>> bool(abs(y.mean() - 1.0) < 0.1 and abs(y.var() - 0.5) < 0.05)
    True

    References
    ----------
    emerick2013
    """
    members = unknowns.shape[1]
    if predicted.shape != (observed.size, members) or error_spread.shape != observed.shape:
        raise InvalidInput(
            f"Predictions of shape {predicted.shape} do not fit {observed.size} observations of "
            f"{members} members."
        )
    if members < 2 or not (error_spread > 0.0).all():
        raise InvalidInput("An update needs two members or more and a positive error spread.")
    if not (np.isfinite(predicted).all() and np.isfinite(unknowns).all()):
        raise InvalidInput("An update needs finite unknowns and predictions; drop the member.")
    scaled = predicted / error_spread[:, None]
    deviations = (scaled - scaled.mean(axis=1, keepdims=True)) / np.sqrt(members - 1)
    spread = (unknowns - unknowns.mean(axis=1, keepdims=True)) / np.sqrt(members - 1)
    noise = draws.normal(0.0, 1.0, scaled.shape)
    noise -= noise.mean(axis=1, keepdims=True)
    innovation = (observed / error_spread)[:, None] + np.sqrt(inflation) * noise - scaled
    covariance = deviations @ deviations.T + inflation * np.eye(observed.size)
    weights = np.linalg.solve(covariance, innovation)
    gain = spread @ deviations.T
    if taper is not None:
        gain = gain * taper
    moved: FloatArray = unknowns + gain @ weights
    return moved


def smooth(
    unknowns: FloatArray,
    predict: Callable[[FloatArray], FloatArray],
    observed: FloatArray,
    error_spread: FloatArray,
    updates: int,
    seed: int,
) -> FloatArray:
    """Several updates with equally inflated errors (multiple data assimilation).

    Parameters
    ----------
    unknowns : ndarray, shape (unknowns, members)
        Draws from the prior, each row on a scale of its own [-].
    predict : callable
        Takes such an array and returns predictions, shape (observations, members).
    observed, error_spread : ndarray, shape (observations,)
        Observations and the standard deviation of their errors [-].
    updates : int
        How many, 1 or more; more follow a bent model better [-].
    seed : int
        Of the perturbations [-].

    Returns
    -------
    ndarray, shape (unknowns, members)
        Draws from the posterior [-].

    Raises
    ------
    InvalidInput
        As `smoother_update`, and if `updates` is below 1.

    Notes
    -----
    As `smoother_update`; every update costs one prediction of the whole ensemble.

    Examples
    --------
    >>> draws = np.random.default_rng(1)
    >>> x = draws.normal(0.0, 1.0, (1, 4000))
    >>> y = smooth(x, lambda v: v, np.array([2.0]), np.array([1.0]), 4, 2)
    >>> bool(abs(y.mean() - 1.0) < 0.1 and abs(y.var() - 0.5) < 0.05)
    True

    References
    ----------
    emerick2013
    """
    if updates < 1:
        raise InvalidInput(f"Updates is {updates}; allowed is 1 or more.")
    draws = np.random.default_rng(seed)
    for _ in range(updates):
        unknowns = smoother_update(
            unknowns, predict(unknowns), observed, error_spread, float(updates), draws
        )
    return unknowns
