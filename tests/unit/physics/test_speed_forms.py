"""Forms that cost less, against the formulas they stand for."""

import numpy as np
import pytest

from slowfire.physics import moist_air, packing

CELSIUS = np.linspace(-40.0, 99.0, 140)
KELVIN_RATIO = (CELSIUS + 273.15) / 273.15


def test_steepness_times_pressure_is_the_slope():
    np.testing.assert_allclose(
        moist_air.saturation_pressure_in_air(CELSIUS)
        * moist_air.saturation_pressure_in_air_steepness(CELSIUS),
        moist_air.saturation_pressure_in_air_slope(CELSIUS),
        rtol=1e-13,
    )


def test_powers_by_roots_and_logarithms():
    np.testing.assert_allclose(
        moist_air.oxygen_diffusivity(CELSIUS), 1.78e-5 * KELVIN_RATIO**1.75, rtol=1e-14
    )
    np.testing.assert_allclose(
        moist_air.vapour_diffusivity(CELSIUS), 2.178e-5 * KELVIN_RATIO**1.81, rtol=1e-14
    )
    kelvin = CELSIUS + 273.15
    np.testing.assert_allclose(
        moist_air.air_viscosity(CELSIUS),
        1.716e-5 * KELVIN_RATIO**1.5 * (273.15 + 110.4) / (kelvin + 110.4),
        rtol=1e-14,
    )


@pytest.mark.parametrize("left", [0.0, 0.3, 1.0, 1.2])
def test_density_of_decayed_stuff(left: float):
    expected = 80.0 + 170.0 * max(1.0 - left, 0.0) ** 1.5
    assert packing.soft_density_decayed(80.0, 250.0, left) == pytest.approx(expected, rel=1e-14)
