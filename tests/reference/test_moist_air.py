"""Moist air against two independent property packages and worked psychrometric values.

CoolProp (bell2014) treats humid air as a real gas; psychrolib follows ashrae2017 with the vapour
pressure of hylandwexler1983. Tolerance 0.8 % unless a printed value sets its own.
"""

import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI

from slowfire.constants import (
    CARBON_DIOXIDE_IN_AIR,
    OXYGEN_IN_AIR,
    STANDARD_PRESSURE,
    ZERO_CELSIUS,
)
from slowfire.physics.moist_air import (
    air_viscosity,
    enhancement_factor_buck,
    enthalpy_moist_air,
    gas_density,
    humidity_ratio,
    oxygen_diffusivity,
    saturation_pressure,
    saturation_pressure_in_air,
    vapour_diffusivity,
    water_activity,
)

PACKAGE_TOLERANCE = 0.008
TEMPERATURES = [0.1, 5.0, 10.0, 20.0, 30.0, 40.0, 50.0, 55.0, 60.0, 65.0, 70.0, 75.0, 80.0]
HUMIDITIES = [1.0, 0.75, 0.3]

psychrolib.SetUnitSystem(psychrolib.SI)


def real_gas(name: str, celsius: float, humidity: float) -> float:
    """A property of humid air from CoolProp at standard pressure."""
    return HAPropsSI(name, "T", celsius + ZERO_CELSIUS, "P", STANDARD_PRESSURE, "R", humidity)


def outside_air_density(celsius: float, vapour_pressure: float) -> float:
    return gas_density(
        celsius, vapour_pressure, OXYGEN_IN_AIR, CARBON_DIOXIDE_IN_AIR, STANDARD_PRESSURE
    )


@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_saturation_pressure_over_pure_water_coolprop(celsius):
    expected = PropsSI("P", "T", celsius + ZERO_CELSIUS, "Q", 0, "Water")
    assert saturation_pressure(celsius) == pytest.approx(expected, rel=0.001)


@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_saturation_pressure_psychrolib(celsius):
    expected = psychrolib.GetSatVapPres(celsius)
    assert saturation_pressure(celsius) == pytest.approx(expected, rel=0.001)


@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_saturation_pressure_under_air_coolprop(celsius):
    expected = real_gas("P_w", celsius, 1.0)
    plain = saturation_pressure(celsius)
    assert plain == pytest.approx(expected, rel=PACKAGE_TOLERANCE)
    enhanced = plain * enhancement_factor_buck(celsius, STANDARD_PRESSURE)
    assert enhanced == pytest.approx(expected, rel=0.003)


# Without the enhancement factor the vapour pressure is 0.6 % low, which toward boiling becomes
# more than 0.8 % of the humidity ratio (1.1 % at 80 degC, saturated).


@pytest.mark.parametrize("humidity", HUMIDITIES)
@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_humidity_ratio_coolprop(celsius, humidity):
    vapour = humidity * saturation_pressure_in_air(celsius)
    expected = real_gas("W", celsius, humidity)
    assert humidity_ratio(vapour, STANDARD_PRESSURE) == pytest.approx(
        expected, rel=PACKAGE_TOLERANCE
    )


@pytest.mark.parametrize("humidity", HUMIDITIES)
@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_humidity_ratio_with_enhancement_coolprop(celsius, humidity):
    vapour = (
        humidity
        * saturation_pressure(celsius)
        * enhancement_factor_buck(celsius, STANDARD_PRESSURE)
    )
    expected = real_gas("W", celsius, humidity)
    assert humidity_ratio(vapour, STANDARD_PRESSURE) == pytest.approx(
        expected, rel=PACKAGE_TOLERANCE
    )


@pytest.mark.parametrize("humidity", HUMIDITIES)
@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_humidity_ratio_psychrolib(celsius, humidity):
    expected = psychrolib.GetHumRatioFromRelHum(celsius, humidity, STANDARD_PRESSURE)
    vapour = humidity * saturation_pressure(celsius)
    assert humidity_ratio(vapour, STANDARD_PRESSURE) == pytest.approx(expected, rel=0.002)


@pytest.mark.parametrize("humidity", HUMIDITIES)
@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_enthalpy_coolprop(celsius, humidity):
    """Same zero as ours: dry air, and liquid water, at 0 degC."""
    ratio = real_gas("W", celsius, humidity)
    expected = real_gas("H", celsius, humidity)
    assert enthalpy_moist_air(celsius, ratio) == pytest.approx(expected, rel=PACKAGE_TOLERANCE)


@pytest.mark.parametrize("humidity", HUMIDITIES)
@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_enthalpy_psychrolib(celsius, humidity):
    ratio = psychrolib.GetHumRatioFromRelHum(celsius, humidity, STANDARD_PRESSURE)
    expected = psychrolib.GetMoistAirEnthalpy(celsius, ratio)
    assert enthalpy_moist_air(celsius, ratio) == pytest.approx(expected, rel=PACKAGE_TOLERANCE)


@pytest.mark.parametrize("humidity", HUMIDITIES)
@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_gas_density_coolprop(celsius, humidity):
    expected = 1.0 / real_gas("Vha", celsius, humidity)
    density = outside_air_density(celsius, humidity * saturation_pressure_in_air(celsius))
    assert density == pytest.approx(expected, rel=PACKAGE_TOLERANCE)


@pytest.mark.parametrize("humidity", HUMIDITIES)
@pytest.mark.parametrize("celsius", TEMPERATURES)
def test_gas_density_psychrolib(celsius, humidity):
    ratio = psychrolib.GetHumRatioFromRelHum(celsius, humidity, STANDARD_PRESSURE)
    expected = psychrolib.GetMoistAirDensity(celsius, ratio, STANDARD_PRESSURE)
    density = outside_air_density(celsius, humidity * saturation_pressure(celsius))
    assert density == pytest.approx(expected, rel=0.001)


# Worked psychrometry for air warmed from 10 degC, 75 % humidity, to saturated: rise of enthalpy
# [kJ/kg dry air] and of water [kg/kg dry air], by plain vapour pressure; half of the last digit.
@pytest.mark.parametrize(
    ("celsius", "enthalpy_kj", "water"),
    [
        (30.0, 75, 0.021),
        (45.0, 189, 0.059),
        (55.0, 329, 0.109),
        pytest.param(
            65.0,
            579,
            0.200,
            marks=pytest.mark.xfail(
                strict=True,
                reason="plain vapour pressure gives 576 and 0.198, that under air 581 and 0.200: "
                "the printed row fits a Magnus formula (17.62, 243.12), 0.4 % above pure water",
            ),
        ),
    ],
)
def test_warming_from_ten_degrees_to_saturation(celsius, enthalpy_kj, water):
    cold = humidity_ratio(0.75 * saturation_pressure(10.0), STANDARD_PRESSURE)
    hot = humidity_ratio(saturation_pressure(celsius), STANDARD_PRESSURE)
    rise = enthalpy_moist_air(celsius, hot) - enthalpy_moist_air(10.0, cold)
    assert rise / 1000.0 == pytest.approx(enthalpy_kj, abs=0.5)
    assert hot - cold == pytest.approx(water, abs=0.0005)


# Fuller-type power law with exponent 1.75, "standard", printed values [1e-5 m^2/s].
@pytest.mark.parametrize(("celsius", "printed"), [(25.0, 2.07), (55.0, 2.45)])
def test_oxygen_diffusivity_printed(celsius, printed):
    assert 1e5 * oxygen_diffusivity(celsius) == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize("celsius", [10.0, 25.0, 40.0, 55.0, 70.0])
def test_vapour_diffusivity_marrero(celsius):
    """marrero1972: D p = 1.87e-10 T^2.072 [m^2*atm/s], 282 to 450 K, to 5 %; from memory."""
    expected = 1.87e-10 * (celsius + ZERO_CELSIUS) ** 2.072
    assert vapour_diffusivity(celsius) == pytest.approx(expected, rel=0.05)


@pytest.mark.parametrize("celsius", [-20.0, 0.0, 20.0, 40.0, 60.0, 80.0])
def test_air_viscosity_coolprop(celsius):
    expected = PropsSI("V", "T", celsius + ZERO_CELSIUS, "P", STANDARD_PRESSURE, "Air")
    assert air_viscosity(celsius) == pytest.approx(expected, rel=PACKAGE_TOLERANCE)


def test_water_activity_at_thirty_per_cent():
    """contreras2021, abstract: 0.88 to 0.9 at 30 % moisture, orange peel."""
    assert 0.88 <= water_activity(0.30 / 0.70) <= 0.90
