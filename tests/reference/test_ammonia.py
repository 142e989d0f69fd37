"""Ammonia in water and gas."""

import math

import pytest

from slowfire.biology.nitrogen import ammonia_gas_water_ratio, ammonia_pka
from slowfire.constants import GAS_CONSTANT, ZERO_CELSIUS


# emerson1975 (from memory), tolerance half of the last digit printed
@pytest.mark.parametrize(("celsius", "printed"), [(25.0, 9.25), (55.0, 8.41)])
def test_pka_emerson(celsius, printed):
    assert ammonia_pka(celsius) == pytest.approx(printed, abs=0.005)


def test_solubility_sander():
    """sander2023, table for ammonia, evaluated entries: 5.9e-1 mol/(m^3*Pa) at 298.15 K."""
    solubility = 1.0 / (ammonia_gas_water_ratio(25.0) * GAS_CONSTANT * 298.15)
    assert solubility == pytest.approx(0.59, abs=0.005)


def test_solubility_falls_with_temperature_sander():
    """sander2023, same entries: d ln H / d(1/T) is 4200 K; printed to hundreds."""
    cold, warm = 20.0, 30.0

    def log_solubility(t):
        return -math.log(ammonia_gas_water_ratio(t) * (t + ZERO_CELSIUS))

    slope = (log_solubility(cold) - log_solubility(warm)) / (
        1.0 / (cold + ZERO_CELSIUS) - 1.0 / (warm + ZERO_CELSIUS)
    )
    assert slope == pytest.approx(4200.0, abs=50.0)


@pytest.mark.parametrize("celsius", [0.0, 10.0, 20.0, 30.0, 40.0])
def test_solubility_clegg(celsius):
    """clegg1989, abstract: ln K = -8.09694 + 3917.507/T - 0.00314 T [mol/(kg*atm)], 273-313 K.

    Water at 1000 kg/m^3. The two sources differ by 2 to 4 %, hence 5 %.
    """
    kelvin = celsius + ZERO_CELSIUS
    molal = math.exp(-8.09694 + 3917.507 / kelvin - 0.00314 * kelvin)
    solubility = molal * 1000.0 / 101325.0
    ratio = 1.0 / (solubility * GAS_CONSTANT * kelvin)
    assert ammonia_gas_water_ratio(celsius) == pytest.approx(ratio, rel=0.05)
