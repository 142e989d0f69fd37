"""The ensemble smoother against the exact Gaussian posterior."""

import numpy as np
import pytest

from slowfire.errors import InvalidInput
from slowfire.estimate.smoother import smooth, smoother_update

RNG = np.random.default_rng(11)
UNKNOWNS, OBSERVATIONS, MEMBERS = 3, 5, 40_000
MAP = RNG.normal(0.0, 1.0, (OBSERVATIONS, UNKNOWNS))
PRIOR_MEAN = np.array([1.0, -2.0, 0.5])
PRIOR_COVARIANCE = np.array([[1.0, 0.3, 0.0], [0.3, 2.0, -0.4], [0.0, -0.4, 0.5]])
SPREAD = np.array([0.5, 1.0, 0.3, 2.0, 0.8])
OBSERVED = RNG.normal(0.0, 2.0, OBSERVATIONS)


def exact() -> tuple[np.ndarray, np.ndarray]:
    precision = np.linalg.inv(PRIOR_COVARIANCE) + MAP.T @ np.diag(SPREAD**-2.0) @ MAP
    covariance = np.linalg.inv(precision)
    mean = covariance @ (
        np.linalg.inv(PRIOR_COVARIANCE) @ PRIOR_MEAN + MAP.T @ (OBSERVED / SPREAD**2)
    )
    return mean, covariance


def prior(members: int = MEMBERS) -> np.ndarray:
    draws = np.random.default_rng(5)
    return draws.multivariate_normal(PRIOR_MEAN, PRIOR_COVARIANCE, members).T


@pytest.mark.parametrize("updates", [1, 2, 4])
def test_linear_problems_end_in_the_exact_posterior(updates):
    mean, covariance = exact()
    after = smooth(prior(), lambda x: MAP @ x, OBSERVED, SPREAD, updates, seed=3)
    sampling = 5.0 * np.sqrt(np.diag(covariance) * updates / MEMBERS)
    assert (np.abs(after.mean(axis=1) - mean) < sampling).all()
    assert np.cov(after) == pytest.approx(covariance, abs=0.04 * covariance.max())


def test_the_units_of_observations_do_not_matter():
    x = prior(200)
    scale = np.array([1.0, 1e3, 1e-4, 7.0, 60.0])
    plain = smooth(x, lambda v: MAP @ v, OBSERVED, SPREAD, 2, seed=3)
    scaled = smooth(
        x, lambda v: scale[:, None] * (MAP @ v), scale * OBSERVED, scale * SPREAD, 2, seed=3
    )
    assert scaled == pytest.approx(plain, rel=1e-9)


def test_the_units_of_unknowns_do_not_matter():
    x = prior(200)
    scale = np.array([10.0, 0.1, 1e5])[:, None]
    plain = smooth(x, lambda v: MAP @ v, OBSERVED, SPREAD, 2, seed=3)
    scaled = smooth(scale * x, lambda v: MAP @ (v / scale), OBSERVED, SPREAD, 2, seed=3)
    assert scaled / scale == pytest.approx(plain, rel=1e-9)


def test_a_taper_of_ones_changes_nothing_and_one_of_noughts_everything():
    x = prior(60)
    y = MAP @ x
    arguments = (x, y, OBSERVED, SPREAD, 1.0)
    free = smoother_update(*arguments, np.random.default_rng(4))
    ones = np.ones((UNKNOWNS, OBSERVATIONS))
    same = smoother_update(*arguments, np.random.default_rng(4), taper=ones)
    assert same == pytest.approx(free, rel=1e-12)
    ones[1] = 0.0
    held = smoother_update(*arguments, np.random.default_rng(4), taper=ones)
    assert (held[1] == x[1]).all()
    assert held[0] == pytest.approx(free[0], rel=1e-12)


def test_an_unseen_unknown_keeps_its_spread_when_chance_is_tapered_away():
    draws = np.random.default_rng(8)
    x = draws.normal(0.0, 1.0, (2, 40))
    seen = x[:1] + 0.0 * x[1:]
    # twenty observations of the first unknown alone
    y = np.repeat(seen, 20, axis=0)
    taper = np.vstack([np.ones(20), np.zeros(20)])
    after = smoother_update(x, y, np.zeros(20), np.ones(20), 1.0, draws, taper)
    assert after[1].std() == x[1].std()
    assert after[0].std() < 0.5 * x[0].std()


def test_arguments_are_left_as_they_are():
    x = prior(50)
    y = MAP @ x
    arguments = [x, y, OBSERVED.copy(), SPREAD.copy()]
    before = [one.copy() for one in arguments]
    smoother_update(*arguments, 1.0, np.random.default_rng(0))
    for one, old in zip(arguments, before, strict=True):
        assert (one == old).all()


def test_a_seed_gives_the_same_answer():
    x = prior(50)
    one, two = (smooth(x, lambda v: MAP @ v, OBSERVED, SPREAD, 2, seed=9) for _ in range(2))
    assert (one == two).all()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"observed": OBSERVED[:3]}, "do not fit"),
        ({"error_spread": np.zeros(OBSERVATIONS)}, "positive error spread"),
        ({"predicted": np.full((OBSERVATIONS, 50), np.nan)}, "finite"),
    ],
)
def test_bad_arrays_are_refused(change, words):
    x = prior(50)
    arguments = {
        "unknowns": x,
        "predicted": MAP @ x,
        "observed": OBSERVED,
        "error_spread": SPREAD,
        "inflation": 1.0,
        "draws": np.random.default_rng(0),
    }
    with pytest.raises(InvalidInput, match=words):
        smoother_update(**(arguments | change))


def test_no_update_is_refused():
    with pytest.raises(InvalidInput, match="1 or more"):
        smooth(prior(10), lambda v: MAP @ v, OBSERVED, SPREAD, 0, seed=1)
