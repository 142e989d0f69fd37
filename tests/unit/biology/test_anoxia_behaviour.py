"""Airless cores of clods: units, limits, directions."""

import numpy as np
import pytest

from slowfire.biology.anoxia import aired_share, airless_share, critical_clod_radius


def test_the_critical_radius_solves_the_sphere():
    demand, oxygen, celsius = 0.004, 0.18, 25.0
    radius = critical_clod_radius(demand, oxygen, celsius, 0.5)
    # concentration at the centre of a sphere of that radius: c_s - q r^2 / (6 D) = 0
    surface = oxygen * 1.27
    assert surface - demand * radius**2 / (6.0 * 0.5 * 2.1e-9) == pytest.approx(0.0, abs=1e-6)


def test_less_oxygen_and_more_demand_leave_smaller_clods_aired():
    demands = np.array([1e-4, 1e-3, 1e-2])
    assert (np.diff(critical_clod_radius(demands, 0.2, 40.0)) < 0.0).all()
    oxygen = np.array([0.0, 0.05, 0.2])
    assert (np.diff(critical_clod_radius(0.001, oxygen, 40.0)) > 0.0).all()
    assert critical_clod_radius(0.001, 0.0, 40.0) == 0.0


def test_the_share_runs_from_none_to_all():
    radius = np.array([1e-5, 1e-3, 1e-1])
    share = airless_share(radius, 1e-3)
    assert share == pytest.approx([0.0, 0.5, 1.0], abs=1e-5)
    assert airless_share(1e-3, 0.0) == 1.0


@pytest.mark.parametrize("shape", [3.0, 6.0, 10.0])
def test_a_narrower_spread_makes_a_steeper_rise(shape):
    rise = np.log10(airless_share(4e-5, 2e-3, shape) / airless_share(2e-5, 2e-3, shape))
    assert rise == pytest.approx(shape * np.log10(2.0), rel=1e-3)


def shell(radius: float, critical: float) -> float:
    """Share of a sphere outside its airless core, from the cubic of steady diffusion."""
    if radius <= critical:
        return 1.0
    low, high = 0.0, 1.0
    for _ in range(60):
        core = 0.5 * (low + high)
        # 1 - 3 c^2 + 2 c^3 falls from 1 to 0; it equals (r_c / r)^2 at the edge of the core
        if 1.0 - 3.0 * core**2 + 2.0 * core**3 > (critical / radius) ** 2:
            low = core
        else:
            high = core
    return 1.0 - low**3


@pytest.mark.parametrize(("radius", "tolerance"), [(20e-3, 0.01), (4e-3, 0.03), (2e-3, 0.03)])
def test_the_aired_share_follows_the_sphere_with_an_airless_core(radius, tolerance):
    assert aired_share(radius, 1e-3) == pytest.approx(shell(radius, 1e-3), abs=tolerance)


def test_small_clods_are_aired_whole_and_large_ones_hardly():
    radius = np.array([1e-5, 1e-3, 1e-1])
    share = aired_share(radius, 1e-3)
    assert (np.diff(share) < 0.0).all()
    assert share[0] == pytest.approx(1.0, abs=1e-3)
    # where the core just closes the smooth join is low by a tenth
    assert share[1] == pytest.approx(1.0, abs=0.1)
    assert share[2] == pytest.approx(np.sqrt(3.0) * 0.01, rel=0.01)
