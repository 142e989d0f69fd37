"""Enthalpy of wet solids with freezing, and the temperature that belongs to it."""

from slowfire.column.compiled import inline
from slowfire.constants import (
    HEAT_CAPACITY_ICE,
    HEAT_CAPACITY_WATER,
    LATENT_HEAT_FUSION,
)

FREEZING_SPAN = 2.0  # ice forms between -2 and 0 C [K]


@inline
def water_enthalpy(temperature: float) -> float:
    """Enthalpy of the water in a layer [J/kg], zero at 0 C; freezing spread over -2 to 0 C."""
    if temperature >= 0.0:
        return HEAT_CAPACITY_WATER * temperature
    if temperature >= -FREEZING_SPAN:
        return (HEAT_CAPACITY_ICE + LATENT_HEAT_FUSION / FREEZING_SPAN) * temperature
    return HEAT_CAPACITY_ICE * temperature - LATENT_HEAT_FUSION


@inline
def water_enthalpy_slope(temperature: float) -> float:
    """Apparent heat capacity of the water in a layer [J/(kg*K)]."""
    if temperature >= 0.0:
        return HEAT_CAPACITY_WATER
    if temperature >= -FREEZING_SPAN:
        return HEAT_CAPACITY_ICE + LATENT_HEAT_FUSION / FREEZING_SPAN
    return HEAT_CAPACITY_ICE


@inline
def temperature_of_enthalpy(enthalpy: float, solids: float, water_mass: float) -> float:
    """Temperature [C] of solids [J/K] and water [kg] that hold an enthalpy [J]."""
    if solids + water_mass <= 0.0:
        return 0.0
    if enthalpy >= 0.0:
        return enthalpy / (solids + HEAT_CAPACITY_WATER * water_mass)
    frozen = HEAT_CAPACITY_ICE + LATENT_HEAT_FUSION / FREEZING_SPAN
    span = -FREEZING_SPAN * (solids + frozen * water_mass)
    if enthalpy >= span:
        return enthalpy / (solids + frozen * water_mass)
    return (enthalpy + LATENT_HEAT_FUSION * water_mass) / (solids + HEAT_CAPACITY_ICE * water_mass)
