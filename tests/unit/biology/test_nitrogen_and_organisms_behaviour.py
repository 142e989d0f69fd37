"""Ammonia and organisms: bounds, agreement of the combined leaf with its parts."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowfire.biology.nitrogen import (
    ammonia_gas_water_ratio,
    ammonia_in_gas,
    ammonia_pka,
    free_ammonia_fraction,
    nitrification_factor,
)
from slowfire.biology.organisms import fly_larvae_survive, worm_suitability

celsius = st.floats(-5.0, 80.0)


@given(celsius)
def test_half_is_ammonia_at_the_pka(t):
    assert free_ammonia_fraction(t, ammonia_pka(t)) == pytest.approx(0.5, abs=1e-12)


@given(celsius, st.floats(3.5, 10.0))
def test_more_ammonia_when_hot_and_sweet(t, ph):
    here = free_ammonia_fraction(t, ph)
    assert 0.0 < here < 1.0
    assert free_ammonia_fraction(t + 1.0, ph) > here
    assert free_ammonia_fraction(t, ph + 0.1) > here


def test_gas_takes_more_when_hot():
    assert np.all(np.diff(ammonia_gas_water_ratio(np.linspace(-5.0, 80.0, 86))) > 0.0)


@given(celsius, st.floats(4.0, 9.5), st.floats(0.0, 0.05), st.floats(0.1, 30.0))
def test_ammonia_in_gas_is_its_parts(t, ph, nitrogen, water):
    expected = (
        ammonia_gas_water_ratio(t) * free_ammonia_fraction(t, ph) * nitrogen / (water / 1000.0)
    )
    assert ammonia_in_gas(nitrogen, water, t, ph) == pytest.approx(expected, rel=1e-12)


def test_nitrifiers_stop_in_the_heat():
    curve = nitrification_factor(np.array([0.0, 5.0, 28.0, 36.0, 39.0, 42.0, 60.0]))
    np.testing.assert_allclose(curve, [0.0, 0.0, 1.0, 1.0, 0.5, 0.0, 0.0])


@given(celsius, st.floats(0.0, 1.0), st.floats(0.0, 0.21), st.floats(0.0, 0.01))
def test_suitability_bounds(t, moisture, oxygen, ammonia):
    assert 0.0 <= worm_suitability(t, moisture, oxygen, ammonia) <= 1.0
    assert 0.0 <= fly_larvae_survive(t) <= 1.0


def test_worms_leave_airless_and_soaked_material():
    assert worm_suitability(20.0, 0.75, 0.005, 0.0) == 0.0
    assert worm_suitability(20.0, 0.97, 0.18, 0.0) == 0.0
    assert worm_suitability(20.0, 0.75, 0.03, 0.0) == pytest.approx(0.5)
