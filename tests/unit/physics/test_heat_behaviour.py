"""Heat: profile of a cross-section, walls, freezing."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import jn_zeros

from slowfire.physics.heat import (
    centre_minus_edge_after,
    conductivity_compost,
    cross_section_time_constant,
    frozen_share,
    outer_film_coefficient,
    share_hotter,
    sol_air_temperature,
    specific_heat_compost,
    thermal_transmittance,
    wall_heat_flux,
    wall_resistance,
)


def share_by_rings(mean, difference, limit, rings=200_000):
    """Area share hotter than `limit`, by counting thin rings of a parabola in the radius."""
    edges = np.linspace(0.0, 1.0, rings + 1)
    middle = 0.5 * (edges[1:] + edges[:-1])
    area = edges[1:] ** 2 - edges[:-1] ** 2
    centre = mean + 0.5 * difference
    temperature = centre - difference * middle**2
    assert np.sum(temperature * area) == pytest.approx(mean, abs=1e-6)
    return float(np.sum(area[temperature > limit]))


@pytest.mark.parametrize("difference", [-30.0, -5.0, -0.01, 0.01, 5.0, 30.0])
@pytest.mark.parametrize("limit", [38.0, 46.0, 49.999, 50.001, 53.0, 64.0, 66.0])
def test_share_hotter_by_integration(difference, limit):
    expected = share_by_rings(50.0, difference, limit)
    assert share_hotter(50.0, difference, limit) == pytest.approx(expected, abs=2e-5)


def test_share_hotter_of_an_even_section():
    assert share_hotter(60.0, 0.0, 55.0) == 1.0
    assert share_hotter(50.0, 0.0, 55.0) == 0.0


@given(st.floats(-5.0, 80.0), st.floats(-40.0, 40.0), st.floats(30.0, 80.0))
def test_share_hotter_bounds_and_mirror(mean, difference, limit):
    share = share_hotter(mean, difference, limit)
    assert 0.0 <= share <= 1.0
    assert share == share_hotter(mean, -difference, limit)
    assert share_hotter(mean + 1.0, difference, limit) >= share
    assert share_hotter(mean, difference, limit + 1.0) <= share


def test_time_constant_is_the_first_bessel_mode():
    zero = float(jn_zeros(0, 1)[0])
    assert cross_section_time_constant(0.3, 1.5e-7) == pytest.approx(
        0.3**2 / (zero**2 * 1.5e-7), rel=1e-6
    )


def test_long_step_gives_the_steady_cylinder():
    """Even heating s [W/m^3]: q = s r/2, centre - edge = s r^2/(4k), mean half-way between."""
    radius, conductivity, wall, source, outside = 0.3, 0.35, 1.35, 60.0, 10.0
    flux = 0.5 * source * radius
    edge = outside + flux * wall
    difference = source * radius**2 / (4.0 * conductivity)
    mean = edge + 0.5 * difference
    bed = radius / (4.0 * conductivity)
    value = wall_heat_flux(mean, outside, 0.0, 1e12, bed, wall)
    assert value == pytest.approx(flux, rel=1e-9)
    assert centre_minus_edge_after(0.0, value, 1e12, bed) == pytest.approx(difference, rel=1e-9)


@given(
    st.floats(-5.0, 80.0),
    st.floats(-20.0, 40.0),
    st.floats(-10.0, 40.0),
    st.floats(1e-4, 10.0),
    st.floats(0.05, 1.0),
    st.floats(0.05, 3.0),
)
def test_flux_fits_the_edge_after_the_step(mean, outside, before, ratio, bed, wall):
    """Both leaves solve the same pair of equations: q R_w = T - delta/2 - T_o after the step."""
    flux = wall_heat_flux(mean, outside, before, ratio, bed, wall)
    after = centre_minus_edge_after(before, flux, ratio, bed)
    assert flux * wall == pytest.approx(mean - 0.5 * after - outside, abs=1e-9)
    # backward step of tau d(delta)/dt = 2 q R_r - delta
    assert after - before == pytest.approx(ratio * (2.0 * flux * bed - after), abs=1e-8)


def test_no_step_leaves_the_profile():
    assert centre_minus_edge_after(7.0, 50.0, 0.0, 0.3) == 7.0
    assert wall_heat_flux(50.0, 10.0, 8.0, 0.0, 0.3, 1.2) == pytest.approx(
        (50.0 - 4.0 - 10.0) / 1.2
    )


def test_profile_follows_a_finite_volume_cylinder():
    """A cylinder at 60 degC set against 10 degC air: mean and edge of 100 rings in small steps.

    The parabola is only an idea of the true profile: 10 % of the heat lost in the first day.
    """
    radius, conductivity, capacity, wall = 0.25, 0.35, 2.0e6, 1.35
    rings = 100
    edges = np.linspace(0.0, radius, rings + 1)
    area = np.pi * (edges[1:] ** 2 - edges[:-1] ** 2)
    middle = 0.5 * (edges[1:] + edges[:-1])
    between = 2.0 * np.pi * edges[1:-1] * conductivity / np.diff(middle)
    rim = 2.0 * np.pi * radius / (wall + (radius - middle[-1]) / conductivity)
    temperature = np.full(rings, 60.0)
    step, hours = 10.0, 24
    for _ in range(int(hours * 3600 / step)):
        flow = between * (temperature[:-1] - temperature[1:])
        change = np.zeros(rings)
        change[:-1] -= flow
        change[1:] += flow
        change[-1] -= rim * (temperature[-1] - 10.0)
        temperature = temperature + step * change / (capacity * area)
    true_mean = float(np.sum(temperature * area) / np.sum(area))

    mean, difference, coarse = 60.0, 0.0, 900.0
    tau = cross_section_time_constant(radius, conductivity / capacity)
    bed = radius / (4.0 * conductivity)
    for _ in range(int(hours * 3600 / coarse)):
        flux = wall_heat_flux(mean, 10.0, difference, coarse / tau, bed, wall)
        difference = centre_minus_edge_after(difference, flux, coarse / tau, bed)
        mean -= coarse * flux * 2.0 / (radius * capacity)
    assert mean < 60.0
    assert 60.0 - mean == pytest.approx(60.0 - true_mean, rel=0.10)


def test_conductivity_is_linear_and_rising():
    assert conductivity_compost(0.6, 500.0) > conductivity_compost(0.3, 500.0)
    step = conductivity_compost(0.5, 400.0) - conductivity_compost(0.5, 300.0)
    assert conductivity_compost(0.5, 900.0) - conductivity_compost(0.5, 800.0) == pytest.approx(
        step
    )


def test_specific_heat_ends():
    assert specific_heat_compost(0.0, 1200.0) == 1200.0
    assert specific_heat_compost(1.0, 1200.0) == 4186.0


def test_freezing_is_spread_over_two_degrees():
    np.testing.assert_allclose(
        frozen_share(np.array([5.0, 0.0, -0.5, -2.0, -20.0])), [0.0, 0.0, 0.25, 1.0, 1.0]
    )


def test_walls_in_a_row_add_up():
    both = wall_resistance(0.05, 0.037) + wall_resistance(0.02, 0.13)
    assert thermal_transmittance(0.0, 0.0, both) == pytest.approx(1.0 / both)
    assert thermal_transmittance(0.13, 0.04, both) < thermal_transmittance(0.0, 0.04, both)


def test_films_and_sun():
    assert outer_film_coefficient(5.0, 10.0, 0.9) > outer_film_coefficient(1.0, 10.0, 0.9)
    assert outer_film_coefficient(0.0, 10.0, 0.0) == 4.0
    assert sol_air_temperature(15.0, 0.0, 0.6, 20.0) == 15.0
    assert sol_air_temperature(15.0, 400.0, 0.6, 20.0) == pytest.approx(27.0)
