"""Functions the kernel computes itself, against the library's."""

import numpy as np
import pytest

from slowfire.column.compiled import exponential, logarithm, one_less, scalar
from slowfire.column.tridiagonal import solve_neighbours
from slowfire.physics import moist_air

EDGES = [-700.0, -1e-300, 0.0, 1e-300, 1e-17, 0.34657359, 0.5, 1.0, 699.0]


@pytest.mark.parametrize("power", [*EDGES, *np.linspace(-40.0, 40.0, 161)])
def test_exponential(power: float):
    assert exponential(power) == pytest.approx(np.exp(power), rel=5e-16)
    assert one_less(power) == pytest.approx(np.expm1(power), rel=5e-16, abs=5e-16)


def test_exponential_far_out_is_next_to_nothing_or_very_much():
    assert 0.0 <= exponential(-1e9) < 1e-300
    assert exponential(1e9) > 1e300


@pytest.mark.parametrize("number", np.concatenate([np.logspace(-12, 12, 97), [0.999, 1.001]]))
def test_logarithm(number: float):
    assert logarithm(number) == pytest.approx(np.log(number), rel=1e-15, abs=1e-15)
    assert exponential(logarithm(number)) == pytest.approx(number, rel=1e-14)


def test_logarithm_of_one_is_nothing():
    assert logarithm(1.0) == 0.0


@pytest.mark.parametrize("celsius", [-20.0, 0.0, 15.0, 55.0, 80.0])
def test_a_compiled_leaf_equals_the_plain_one(celsius: float):
    for leaf in (moist_air.saturation_pressure_in_air, moist_air.vapour_diffusivity):
        assert scalar(leaf)(celsius) == pytest.approx(float(leaf(celsius)), rel=2e-15)


@pytest.mark.parametrize("nodes", [1, 2, 3, 4, 5, 50, 51])
def test_neighbours_against_a_full_matrix(nodes: int):
    draws = np.random.default_rng(nodes)
    work = draws.random((6, nodes + 2))
    work[0] += 2.0
    matrix = np.diag(work[0, :nodes])
    matrix -= np.diag(work[1, 1:nodes], -1) + np.diag(work[2, : nodes - 1], 1)
    expected = np.linalg.solve(matrix, work[3, :nodes])
    before = work.copy()
    solve_neighbours(work, nodes, 0, 1, 2, 3, 4, 5)
    np.testing.assert_allclose(work[4, :nodes], expected, rtol=1e-12)
    np.testing.assert_array_equal(work[:4], before[:4])
