"""Rate factors: bounds, ends, monotony."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowfire.biology.kinetics import (
    acid_factor_sundberg,
    acidity_ph,
    degradable_share_chandler,
    free_air_space_factor_haug,
    moisture_factor_haug,
    nitrogen_factor,
    oxygen_factor_monod,
    oxygen_half_saturation_richard,
    temperature_factor_haug,
    temperature_factor_rosso,
)

anywhere = st.floats(-40.0, 120.0)
GROUPS = [(-4.0, 37.0, 48.0), (2.5, 58.0, 70.5), (5.0, 58.6, 71.6)]


@pytest.mark.parametrize("group", GROUPS)
@given(t=anywhere)
def test_rosso_stays_between_nothing_and_one(group, t):
    assert 0.0 <= temperature_factor_rosso(t, *group) <= 1.0 + 1e-12


@pytest.mark.parametrize("group", GROUPS)
def test_rosso_cardinal_points(group):
    low, best, high = group
    assert temperature_factor_rosso(low, *group) == 0.0
    assert temperature_factor_rosso(high, *group) == 0.0
    assert temperature_factor_rosso(low - 20.0, *group) == 0.0
    assert temperature_factor_rosso(high + 20.0, *group) == 0.0
    assert temperature_factor_rosso(best, *group) == pytest.approx(1.0, rel=1e-12)
    rising = temperature_factor_rosso(np.linspace(low, best, 200), *group)
    falling = temperature_factor_rosso(np.linspace(best, high, 200), *group)
    assert np.all(np.diff(rising) > 0.0)
    assert np.all(np.diff(falling) < 0.0)


@given(anywhere)
def test_haug_stays_between_nothing_and_one(t):
    assert 0.0 <= temperature_factor_haug(t) <= 1.0 + 1e-7


def test_haug_largest_value_is_one():
    curve = temperature_factor_haug(np.linspace(60.0, 80.0, 200_001))
    assert curve.max() == pytest.approx(1.0, abs=1e-7)


@pytest.mark.parametrize(
    "function",
    [
        moisture_factor_haug,
        free_air_space_factor_haug,
        lambda x: oxygen_factor_monod(x, 0.006),
        lambda x: nitrogen_factor(x, 0.002),
    ],
)
def test_more_is_never_slower(function):
    curve = function(np.linspace(0.0, 1.0, 201))
    assert np.all(np.diff(curve) > 0.0)
    assert np.all((curve >= 0.0) & (curve <= 1.0))


def test_no_oxygen_no_rate():
    assert oxygen_factor_monod(0.0, 0.006) == 0.0
    assert nitrogen_factor(0.0, 0.002) == 0.0


@given(st.floats(-5.0, 80.0), st.floats(0.0, 1.0))
def test_half_saturation_keeps_its_floor(t, moisture):
    assert oxygen_half_saturation_richard(t, moisture) >= 0.002


@given(st.floats(0.0, 0.2))
def test_ph_between_its_ends(acid):
    assert 4.4 <= acidity_ph(acid, 8.0, 4.4, 0.005) <= 8.0


def test_ph_ends():
    assert acidity_ph(0.0, 8.0, 4.4, 0.005) == 8.0
    assert acidity_ph(1e9, 8.0, 4.4, 0.005) == pytest.approx(4.4)


@given(st.floats(-5.0, 80.0), st.floats(3.5, 9.0))
def test_acid_factor_bounds(t, ph):
    value = acid_factor_sundberg(t, ph)
    assert 0.05 - 1e-12 <= value <= 1.0
    assert acid_factor_sundberg(t + 1.0, ph) <= value + 1e-12
    assert acid_factor_sundberg(t, ph + 0.1) >= value - 1e-12


def test_acid_factor_has_no_kink():
    """Smooth steps: no slope at either end of a band, so no jump of the slope."""
    for t in (38.0, 42.0):
        step = 1e-5
        slope = (acid_factor_sundberg(t + step, 5.0) - acid_factor_sundberg(t - step, 5.0)) / step
        assert abs(slope) < 1e-4


def test_degradable_share_ends():
    assert degradable_share_chandler(0.0) == 0.83
    assert degradable_share_chandler(40.0) == 0.0
