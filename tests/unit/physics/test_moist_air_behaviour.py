"""Moist air: slopes, limits, monotony."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowfire.physics.moist_air import (
    air_viscosity,
    enhancement_factor_buck,
    enthalpy_moist_air,
    gas_density,
    humidity_ratio,
    oxygen_diffusivity,
    saturation_pressure,
    saturation_pressure_in_air,
    saturation_pressure_in_air_slope,
    saturation_pressure_slope,
    vapour_diffusivity,
    water_activity,
)

celsius = st.floats(-20.0, 80.0)


@given(celsius)
def test_slope_is_the_derivative(t):
    step = 1e-3
    numeric = (saturation_pressure(t + step) - saturation_pressure(t - step)) / (2.0 * step)
    assert saturation_pressure_slope(t) == pytest.approx(numeric, rel=1e-6)


@pytest.mark.parametrize(
    "function",
    [saturation_pressure, saturation_pressure_slope, oxygen_diffusivity, vapour_diffusivity,
     air_viscosity],
)  # fmt: skip
def test_rises_with_temperature(function):
    assert np.all(np.diff(function(np.linspace(-20.0, 80.0, 101))) > 0.0)


def test_water_boils_at_a_hundred_degrees():
    assert saturation_pressure(100.0) == pytest.approx(101325.0, rel=0.002)


def test_dry_air_holds_no_vapour():
    assert humidity_ratio(0.0, 101325.0) == 0.0
    assert enthalpy_moist_air(0.0, 0.0) == 0.0


def test_enthalpy_rises_with_heat_and_vapour():
    assert enthalpy_moist_air(41.0, 0.02) > enthalpy_moist_air(40.0, 0.02)
    assert enthalpy_moist_air(40.0, 0.03) > enthalpy_moist_air(40.0, 0.02)


@given(celsius, st.floats(0.0, 0.2095))
def test_vapour_lightens_and_burning_weighs_the_gas(t, burnt):
    vapour = saturation_pressure(t)
    dry = gas_density(t, 0.0, 0.2095, 0.0004, 101325.0)
    wet = gas_density(t, vapour, 0.2095, 0.0004, 101325.0)
    spent = gas_density(t, vapour, 0.2095 - burnt, 0.0004 + burnt, 101325.0)
    assert wet < dry
    assert spent >= wet


def test_enhancement_vanishes_without_air():
    assert enhancement_factor_buck(20.0, 0.0) == pytest.approx(1.0, abs=0.001)
    assert enhancement_factor_buck(60.0, 101325.0) > enhancement_factor_buck(20.0, 101325.0)


def test_water_activity_limits():
    wetness = np.linspace(0.0, 6.0, 61)
    activity = water_activity(wetness)
    assert activity[0] == 0.0
    assert activity[-1] == pytest.approx(1.0, abs=1e-6)
    assert np.all(np.diff(activity) > 0.0)


@pytest.mark.parametrize("t", [0.0, 20.0, 55.0, 80.0])
def test_pressure_under_air_is_the_plain_one_times_the_enhancement(t):
    plain = saturation_pressure(t) * enhancement_factor_buck(t, 101325.0)
    assert saturation_pressure_in_air(t) == pytest.approx(plain, rel=1e-6)
    step = 1e-3
    numeric = (saturation_pressure_in_air(t + step) - saturation_pressure_in_air(t - step)) / (
        2.0 * step
    )
    assert saturation_pressure_in_air_slope(t) == pytest.approx(numeric, rel=1e-6)
