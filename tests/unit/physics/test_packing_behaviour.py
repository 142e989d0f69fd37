"""Packing: bounds, limits, monotony."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from slowfire.physics.packing import (
    free_air_space,
    mixed_volume,
    overburden_janssen,
    overburden_pressure,
    soft_density_decayed,
    soft_density_loaded,
    solids_specific_volume,
    wall_pressure_janssen,
)

volume = st.floats(0.0, 0.1)
share = st.floats(0.0, 1.0)


@given(st.floats(10.0, 1200.0), share, share)
def test_free_air_space_is_what_solids_and_water_leave(bulk_density, dry_matter, volatile):
    solids = bulk_density * dry_matter * solids_specific_volume(volatile)
    water = bulk_density * (1.0 - dry_matter) / 1000.0
    assert free_air_space(bulk_density, dry_matter, volatile) == pytest.approx(
        1.0 - solids - water, abs=1e-12
    )


def test_load_packs_between_loose_and_pressed():
    loads = np.linspace(0.0, 2e5, 100)
    density = soft_density_loaded(loads, 80.0, 250.0, 5e-5)
    assert density[0] == 80.0
    assert np.all(np.diff(density) > 0.0)
    assert density[-1] == pytest.approx(250.0, rel=1e-3)


def test_decay_packs_toward_crumb():
    left = np.linspace(1.2, 0.0, 100)
    density = soft_density_decayed(80.0, 250.0, left)
    assert density[0] == 80.0
    assert density[-1] == 250.0
    assert np.all(np.diff(density) >= 0.0)


@given(volume, volume, st.floats(0.3, 0.8), share)
def test_mixture_lies_between_the_larger_part_and_the_sum(fine, coarse, voids, filling):
    mixed = mixed_volume(fine, coarse, voids, filling)
    room = voids * coarse
    assert mixed <= fine + coarse + 1e-15
    assert mixed >= fine + coarse - filling * min(fine, room) - 1e-15
    assert mixed >= max(fine, coarse) - 1e-15


@given(volume, volume, st.floats(0.3, 0.8), share, st.floats(0.0, 0.01))
def test_mixture_grows_with_either_part(fine, coarse, voids, filling, more):
    before = mixed_volume(fine, coarse, voids, filling)
    assert mixed_volume(fine + more, coarse, voids, filling) >= before - 1e-15
    assert mixed_volume(fine, coarse + more, voids, filling) >= before - 1e-15


def test_mixture_ends():
    assert mixed_volume(0.0, 0.0, 0.5, 0.7) == 0.0
    assert mixed_volume(0.02, 0.0, 0.5, 0.7) == pytest.approx(0.02)
    assert mixed_volume(0.0, 0.03, 0.5, 0.7) == pytest.approx(0.03)
    # very much fine material fills the reachable share of the voids
    flooded = mixed_volume(1e6, 0.03, 0.5, 0.7) - 1e6
    assert flooded == pytest.approx(0.03 * (1.0 - 0.7 * 0.5), rel=1e-4)


def test_janssen_deep_limit():
    deep = wall_pressure_janssen(1e6, 500.0, 0.125, 0.5, 0.4)
    assert deep == pytest.approx(500.0 * 9.80665 * 0.125 / 0.5, rel=1e-12)


def test_janssen_shallow_limit():
    """Near the surface the side pressure is its share of the plain weight."""
    shallow = wall_pressure_janssen(1e-6, 500.0, 0.125, 0.5, 0.4)
    assert shallow == pytest.approx(0.4 * 500.0 * 9.80665 * 1e-6, rel=1e-5)
    assert overburden_janssen(1e-6, 500.0, 0.125, 0.5, 0.4) == pytest.approx(
        overburden_pressure(500.0, 1e-6), rel=1e-5
    )


def test_janssen_solves_the_balance_of_a_slice():
    """d sigma/dz = rho g - mu K sigma / r, integrated numerically."""
    weight, radius, friction, ratio = 450.0 * 9.80665, 0.14, 0.45, 0.5
    result = solve_ivp(
        lambda _, sigma: weight - friction * ratio * sigma / radius, (0.0, 1.1), [0.0],
        rtol=1e-9, atol=1e-9,
    )  # fmt: skip
    sigma = float(result.y[0, -1])
    assert overburden_janssen(1.1, 450.0, radius, friction, ratio) == pytest.approx(sigma, rel=1e-6)
    assert wall_pressure_janssen(1.1, 450.0, radius, friction, ratio) == pytest.approx(
        ratio * sigma, rel=1e-6
    )


@given(st.floats(0.0, 2.0), st.floats(0.05, 0.5))
def test_walls_never_add_weight(depth, radius):
    assert overburden_janssen(depth, 500.0, radius, 0.5, 0.4) <= (
        overburden_pressure(500.0, depth) * (1.0 + 1e-12)
    )
