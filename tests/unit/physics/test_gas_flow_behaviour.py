"""Flow through beds and openings: signs, limits, agreement with one another."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowfire.physics.gas_flow import (
    draft_pressure,
    effective_diffusivity_millington,
    effective_diffusivity_penman,
    orifice_conductance,
    orifice_flow,
    permeability_kozeny_carman,
    pressure_gradient_ergun,
    velocity_darcy,
    wind_pressure,
)

air_space = st.floats(0.05, 0.9)
velocity = st.floats(-0.05, 0.05)


def test_permeability_rises_to_the_cap():
    spaces = np.linspace(0.02, 0.95, 94)
    free = permeability_kozeny_carman(spaces, 0.002, np.inf)
    assert np.all(np.diff(free) > 0.0)
    capped = permeability_kozeny_carman(spaces, 0.002, 1e-8)
    np.testing.assert_array_equal(capped, np.minimum(free, 1e-8))
    assert permeability_kozeny_carman(0.0, 0.002, 1e-8) == 0.0


@given(velocity, air_space)
def test_ergun_changes_sign_with_the_flow(v, e):
    forward = pressure_gradient_ergun(v, e, 0.002, 1.1, 1.9e-5)
    backward = pressure_gradient_ergun(-v, e, 0.002, 1.1, 1.9e-5)
    assert forward == -backward
    assert forward * v >= 0.0


@given(air_space)
def test_slow_ergun_is_darcy_with_150_for_180(e):
    v = 1e-9
    gradient = pressure_gradient_ergun(v, e, 0.002, 1.1, 1.9e-5)
    permeability = permeability_kozeny_carman(e, 0.002, np.inf)
    assert velocity_darcy(gradient, permeability, 1.9e-5) == pytest.approx(
        v * 150.0 / 180.0, rel=1e-4
    )


@given(st.floats(-5.0, 5.0))
def test_orifice_changes_sign_with_the_pressure(dp):
    flow = orifice_flow(dp, 0.001, 0.6, 1.2)
    assert flow == -orifice_flow(-dp, 0.001, 0.6, 1.2)
    assert flow * dp >= 0.0


@given(st.floats(0.1, 10.0))
def test_orifice_conductance_agrees_beyond_the_rounding(dp):
    flow = orifice_flow(dp, 0.001, 0.6, 1.2)
    assert dp * orifice_conductance(dp, 0.001, 0.6, 1.2) == pytest.approx(flow, rel=0.0026)


def test_orifice_conductance_is_finite_at_rest():
    at_rest = orifice_conductance(0.0, 0.001, 0.6, 1.2)
    assert np.isfinite(at_rest)
    assert at_rest >= orifice_conductance(0.005, 0.001, 0.6, 1.2)


def test_diffusivities_rise_with_air_space():
    spaces = np.linspace(0.05, 0.8, 76)
    assert np.all(np.diff(effective_diffusivity_penman(spaces, 2e-5)) > 0.0)
    assert np.all(np.diff(effective_diffusivity_millington(spaces, 0.8, 2e-5)) > 0.0)
    assert effective_diffusivity_penman(1.0, 2e-5) == 2e-5
    assert effective_diffusivity_millington(1.0, 1.0, 2e-5) == 2e-5


def test_draft_reverses_when_the_bed_is_colder():
    assert draft_pressure(1.25, 1.05, 1.0) > 0.0
    assert draft_pressure(1.15, 1.25, 1.0) < 0.0
    assert draft_pressure(1.2, 1.2, 1.0) == 0.0


def test_wind_pressure_goes_with_the_square():
    assert wind_pressure(4.0, 0.5, 1.2) == pytest.approx(4.0 * wind_pressure(2.0, 0.5, 1.2))
    assert wind_pressure(2.0, -0.3, 1.2) < 0.0
