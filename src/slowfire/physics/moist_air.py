"""Moist air and the gas in the pores: pressure, humidity, enthalpy, density, diffusion."""

import numpy as np

from slowfire.constants import (
    GAS_CONSTANT,
    HEAT_CAPACITY_DRY_AIR,
    HEAT_CAPACITY_VAPOUR,
    LATENT_HEAT_EVAPORATION,
    MOLAR_MASS_CARBON_DIOXIDE,
    MOLAR_MASS_INERT,
    MOLAR_MASS_OXYGEN,
    MOLAR_MASS_WATER,
    ZERO_CELSIUS,
)


def saturation_pressure(temperature_celsius):
    """Vapour pressure over water (Buck 1996)."""
    t = temperature_celsius
    return 611.21 * np.exp((18.678 - t / 234.5) * (t / (257.14 + t)))


def saturation_pressure_slope(temperature_celsius):
    """Derivative of saturation_pressure [Pa/K]."""
    t = temperature_celsius
    d = 257.14 + t
    p = 611.21 * np.exp((18.678 - t / 234.5) * (t / d))
    return p * ((18.678 - t / 234.5) * 257.14 / (d * d) - t / (234.5 * d))


def humidity_ratio(vapour_pressure, pressure):
    """kg water vapour per kg dry air."""
    return 0.62198 * vapour_pressure / (pressure - vapour_pressure)


def enthalpy_moist_air(temperature_celsius, humidity_ratio):
    """J per kg dry air, zero for dry air and liquid water at 0 C."""
    t = temperature_celsius
    return HEAT_CAPACITY_DRY_AIR * t + humidity_ratio * (
        LATENT_HEAT_EVAPORATION + HEAT_CAPACITY_VAPOUR * t
    )


def gas_density(temperature_celsius, vapour_pressure, oxygen, carbon_dioxide, pressure):
    """Density of pore gas; oxygen and carbon dioxide as volume fraction of the dry gas."""
    dry_molar_mass = (
        MOLAR_MASS_INERT
        + (MOLAR_MASS_OXYGEN - MOLAR_MASS_INERT) * oxygen
        + (MOLAR_MASS_CARBON_DIOXIDE - MOLAR_MASS_INERT) * carbon_dioxide
    )
    return (
        (pressure - vapour_pressure) * dry_molar_mass + vapour_pressure * MOLAR_MASS_WATER
    ) / (GAS_CONSTANT * (temperature_celsius + ZERO_CELSIUS))


def oxygen_diffusivity(temperature_celsius):
    """m2/s in free air."""
    return 1.78e-5 * ((temperature_celsius + ZERO_CELSIUS) / ZERO_CELSIUS) ** 1.75


def vapour_diffusivity(temperature_celsius):
    """m2/s in free air."""
    return 2.26e-5 * ((temperature_celsius + ZERO_CELSIUS) / ZERO_CELSIUS) ** 1.81


def air_viscosity(temperature_celsius):
    """Pa*s (Sutherland)."""
    kelvin = temperature_celsius + ZERO_CELSIUS
    return 1.716e-5 * (kelvin / ZERO_CELSIUS) ** 1.5 * (ZERO_CELSIUS + 110.4) / (kelvin + 110.4)


def water_activity(water_per_dry_mass):
    """1 - exp(-5.1 r)."""
    return 1.0 - np.exp(-5.1 * water_per_dry_mass)
