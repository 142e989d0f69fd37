"""Water held and drained."""

import numpy as np


def drained_share(time_step, time_constant):
    """Share of surplus water that drains in one step."""
    return 1.0 - np.exp(-time_step / time_constant)


def surplus_water(water, capacity):
    """Water above what the solids hold [kg]."""
    return np.maximum(water - capacity, 0.0)


def vapour_exchange(free_air_space, vapour_diffusivity, density, area, distance, enhancement):
    """Two-way exchange flow of moist gas, kg/s."""
    return enhancement * free_air_space * vapour_diffusivity * density * area / distance
