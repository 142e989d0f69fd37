"""Ammonia and nitrification."""

import numpy as np

from slowfire.constants import ZERO_CELSIUS


def ammonia_pka(temperature_celsius):
    """0.0902 + 2729.9/T (Emerson 1975)."""
    return 0.0902 + 2729.9 / (temperature_celsius + ZERO_CELSIUS)


def free_ammonia_fraction(temperature_celsius, ph):
    """Share of ammoniacal nitrogen present as NH3."""
    pka = 0.0902 + 2729.9 / (temperature_celsius + ZERO_CELSIUS)
    return 1.0 / (1.0 + 10.0 ** (pka - ph))


def ammonia_gas_water_ratio(temperature_celsius):
    """Dimensionless Henry constant, concentration in gas over concentration in water."""
    kelvin = temperature_celsius + ZERO_CELSIUS
    return np.exp(-4200.0 * (1.0 / kelvin - 1.0 / 298.15)) * 6.6e-4


def nitrification_factor(temperature_celsius):
    """1 below 36 C falling to 0 at 42 C, rising from 5 C to 28 C."""
    cool = np.minimum(np.maximum((temperature_celsius - 5.0) / 23.0, 0.0), 1.0)
    hot = np.minimum(np.maximum((42.0 - temperature_celsius) / 6.0, 0.0), 1.0)
    return cool * hot
