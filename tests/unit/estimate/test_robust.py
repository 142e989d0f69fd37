"""Observations that do not fit must neither wreck an estimate nor be lost unseen."""

import numpy as np
import pytest
from scipy.stats import t as student

from slowfire.errors import InvalidInput
from slowfire.estimate.robust import reweighted_spread, set_aside, standard_innovations
from slowfire.estimate.smoother import smoother_update

MEMBERS = 4000
DRAWS = np.random.default_rng(2)


def ensemble(means: list[float], spread: float = 3.0) -> np.ndarray:
    """The same member is warm in every row."""
    normal = DRAWS.normal(0.0, 1.0, MEMBERS)
    normal = (normal - normal.mean()) / normal.std(ddof=1)
    return np.array(means)[:, None] + spread * normal


def updated(observed: np.ndarray, predicted: np.ndarray, spread: np.ndarray) -> float:
    draws = np.random.default_rng(4)
    after = smoother_update(predicted[:1], predicted, observed, spread, 1.0, draws)
    return float(after.mean())


def test_innovations_of_a_fitting_ensemble_are_standard_normal():
    truth = DRAWS.normal(0.0, 3.0, 4000)
    observed = truth + DRAWS.normal(0.0, 4.0, 4000)
    predicted = DRAWS.normal(0.0, 3.0, (4000, 300))
    r = standard_innovations(observed, predicted, np.full(4000, 4.0))
    assert abs(r.mean()) < 0.06
    assert r.std() == pytest.approx(1.0, abs=0.05)


def test_fitting_observations_keep_their_spread():
    predicted = ensemble([40.0, 40.0])
    spread = np.array([1.5, 2.0])
    assert reweighted_spread(np.array([41.0, 37.0]), predicted, spread) == pytest.approx(spread)


def test_weights_are_those_of_the_student_distribution():
    # the weight of reweighted least squares is -(d log density / dr) / r, scaled to 1 at r = 1
    predicted = ensemble([0.0])
    for v in (3.0, 4.0, 10.0):
        for off in (6.0, 15.0, 40.0):
            error = np.array([4.0])
            r = off / 5.0
            step = 1e-5
            slope = (student.logpdf(r + step, v) - student.logpdf(r - step, v)) / (2.0 * step)
            wider = reweighted_spread(np.array([off]), predicted, error, v)
            total = 25.0 / (-slope / r)
            assert wider[0] == pytest.approx(np.sqrt(total - 9.0), rel=1e-4)


def test_thirty_kelvin_off_does_not_wreck_an_estimate():
    predicted = ensemble([45.0] * 3)
    good = np.array([47.0, 46.5, 47.5])
    bad = np.array([47.0, 77.0, 47.5])
    error = np.full(3, 1.5)
    clean = updated(good, predicted, error)
    plain = updated(bad, predicted, error)
    wary = updated(bad, predicted, reweighted_spread(bad, predicted, error))
    assert abs(plain - clean) > 5.0
    assert abs(wary - clean) < 1.0


def test_the_pull_of_one_reading_is_bounded_and_falls_off():
    predicted = ensemble([45.0])
    error = np.array([1.5])
    pulls = []
    for off in (2.0, 6.7, 15.0, 30.0, 60.0):
        observed = np.array([45.0 + off])
        pulls.append(updated(observed, predicted, reweighted_spread(observed, predicted, error)))
    moved = np.array(pulls) - 45.0
    bound = 1.25 * 9.0 / np.sqrt(9.0 + 1.5**2)
    assert moved.max() <= bound + 0.05
    assert moved[1] > moved[2] > moved[3] > moved[4] > 0.0


def aside(values: list[float], hours: list[float], groups: list[str]) -> list[bool]:
    n = len(values)
    got = set_aside(
        np.array(values),
        ensemble([45.0] * n),
        np.full(n, 1.5),
        np.array(hours),
        groups,
        np.full(n, 4.0),
    )
    return got.tolist()


def test_a_lone_outlier_is_set_aside():
    assert aside([46.0, 76.0, 44.0, 47.0], [0, 24, 48, 72], ["probe"] * 4) == [
        False,
        True,
        False,
        False,
    ]
    assert aside([15.0], [0.0], ["probe"]) == [True]


def test_a_run_of_readings_on_one_side_stays():
    # the ensemble is wrong, not every one of them
    assert aside([62.0, 66.0, 65.0, 64.0], [0, 48, 96, 144], ["probe"] * 4) == [False] * 4


def test_other_thermometers_and_other_months_lend_no_support():
    assert aside([66.0, 66.0, 66.0], [0, 24, 48], ["a", "b", "c"]) == [True] * 3
    assert aside([66.0, 46.0, 44.0, 66.0], [0, 24, 48, 2000], ["a"] * 4) == [
        True,
        False,
        False,
        True,
    ]


def test_readings_that_contradict_each_other_do_not_support_each_other():
    assert aside([75.0, 15.0, 46.0], [0, 24, 48], ["a"] * 3) == [True, True, False]


@pytest.mark.parametrize(
    "make",
    [
        lambda: reweighted_spread(np.ones(2), np.ones((3, 5)), np.ones(2)),
        lambda: reweighted_spread(np.ones(2), np.ones((2, 1)), np.ones(2)),
        lambda: reweighted_spread(np.ones(2), np.ones((2, 5)), np.zeros(2)),
        lambda: reweighted_spread(np.ones(2), np.ones((2, 5)), np.ones(2), 0.0),
        lambda: set_aside(
            np.ones(2), np.ones((2, 5)), np.ones(2), np.ones(1), ["a", "b"], np.ones(2)
        ),
        lambda: set_aside(np.ones(2), np.ones((2, 5)), np.ones(2), np.ones(2), ["a"], np.ones(2)),
        lambda: set_aside(
            np.ones(2), np.ones((2, 5)), np.ones(2), np.ones(2), ["a", "b"], np.zeros(2)
        ),
    ],
)
def test_shapes_that_do_not_fit_are_refused(make):
    with pytest.raises(InvalidInput):
        make()
