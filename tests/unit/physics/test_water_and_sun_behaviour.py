"""Drainage, vapour exchange, sun on walls."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowfire.physics.sun import diffuse_share_erbs, wall_irradiance
from slowfire.physics.water import drained_share, surplus_water, vapour_exchange


@given(st.floats(1.0, 1e5), st.floats(100.0, 1e6))
def test_two_half_steps_drain_as_one(step, constant):
    half = drained_share(0.5 * step, constant)
    assert 1.0 - (1.0 - half) ** 2 == pytest.approx(drained_share(step, constant), abs=1e-12)


def test_drained_share_ends():
    assert drained_share(0.0, 86400.0) == 0.0
    assert drained_share(1e9, 86400.0) == 1.0


@given(st.floats(0.0, 50.0), st.floats(0.0, 50.0))
def test_surplus_is_never_negative(water, capacity):
    surplus = surplus_water(water, capacity)
    assert surplus >= 0.0
    assert water - surplus <= capacity + 1e-12 or surplus == 0.0


def test_vapour_exchange_in_proportion():
    one = vapour_exchange(0.4, 3e-5, 1.0, 0.2, 0.05, 1.2)
    assert vapour_exchange(0.2, 3e-5, 1.0, 0.2, 0.05, 1.2) == pytest.approx(one / 2.0)
    assert vapour_exchange(0.4, 3e-5, 1.0, 0.2, 0.10, 1.2) == pytest.approx(one / 2.0)
    assert vapour_exchange(0.0, 3e-5, 1.0, 0.2, 0.05, 1.2) == 0.0


def test_no_light_no_sun_on_walls():
    assert wall_irradiance(0.0, 0.3, 0.5, 0.2) == 0.0


def test_overcast_walls_see_half_the_sky_and_half_the_ground():
    assert wall_irradiance(100.0, 1.0, 0.5, 0.2) == pytest.approx(60.0)


@given(st.floats(0.08, 0.98), st.floats(0.0, 0.9))
def test_a_lower_sun_lights_walls_more(height, diffuse_share):
    assert wall_irradiance(300.0, diffuse_share, height - 0.01, 0.2) > wall_irradiance(
        300.0, diffuse_share, height, 0.2
    )


def test_diffuse_share_has_no_jump():
    for clearness, width in ((0.22, 0.005), (0.8, 0.005)):
        below = diffuse_share_erbs(clearness - 1e-9)
        above = diffuse_share_erbs(clearness + 1e-9)
        assert abs(below - above) < width
