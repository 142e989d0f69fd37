"""What heat and vapour have to pass on their way through the stack, at the start of a step."""

import numpy as np

from slowfire.column.compiled import jit, scalar
from slowfire.column.draft import (
    ACTIVITY,
    AIR_SPACE,
    AREA,
    BULK,
    CONDUCTANCE,
    DRY,
    ENERGY,
    HEAT_LINK,
    HEATED,
    MOISTURE,
    RADIAL,
    RADIUS,
    SCRATCH_A,
    SCRATCH_B,
    SCRATCH_C,
    SCRATCH_D,
    SIDE,
    TAU,
    TEMPERATURE_NEW,
    TEMPERATURE_OLD,
    THICKNESS,
    VAPOUR_LINK,
    WALL,
    WALL_SIDE,
    WATER_OLD,
)
from slowfire.column.enthalpy import water_enthalpy, water_enthalpy_slope
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    CENTRE_MINUS_EDGE,
    TEMPERATURE,
    WATER,
)
from slowfire.constants import LATENT_HEAT_EVAPORATION, STANDARD_PRESSURE
from slowfire.physics import heat, moist_air, water

HOTTEST = 99.0  # vapour pressure is not followed to boiling [C]

_saturation_pressure = scalar(moist_air.saturation_pressure_in_air)
_steepness = scalar(moist_air.saturation_pressure_in_air_steepness)
_vapour_diffusivity = scalar(moist_air.vapour_diffusivity)
_vapour_exchange = scalar(water.vapour_exchange)
_conductivity = scalar(heat.conductivity_compost)
_time_constant = scalar(heat.cross_section_time_constant)


@jit
def heat_links(
    state: np.ndarray,
    layers: int,
    parameters: Parameters,
    wall_outside: float,
    wall_resistance: float,
    theta: float,
    work: np.ndarray,
) -> None:
    """Conductances through faces and walls, time constants, and temperatures to start from.

    `theta` is the implicit part of the step [s].
    """
    n = layers
    p = parameters
    solids = p.heat_capacity_solids
    old = work[TEMPERATURE_OLD]
    water_old = work[WATER_OLD]
    half_difference = work[SCRATCH_B]
    new = work[TEMPERATURE_NEW]
    heated = work[HEATED]
    for i in range(n):
        old[i] = state[i, TEMPERATURE]
        # where the last step went is the best guess of where this one will go
        new[i] = old[i] + heated[i]
    for i in range(n):
        water_old[i] = state[i, WATER]
        half_difference[i] = 0.5 * state[i, CENTRE_MINUS_EDGE]
    # short loops over few rows each, which the compiler turns into vectors
    area = work[AREA]
    thickness = work[THICKNESS]
    dry = work[DRY]
    energy = work[ENERGY]
    for i in range(n):
        energy[i] = solids * dry[i] * old[i] + water_old[i] * water_enthalpy(old[i])
    conductivity = work[SCRATCH_A]
    moisture = work[MOISTURE]
    bulk = work[BULK]
    for i in range(n):
        conductivity[i] = p.conductivity_factor * _conductivity(moisture[i], bulk[i])
    # gas exchanged through a cube of a metre that carries as much vapour as diffusion would
    unit = work[SCRATCH_C]
    air_space = work[AIR_SPACE]
    for i in range(n):
        unit[i] = _vapour_exchange(
            air_space[i],
            _vapour_diffusivity(old[i]),
            353.0 / (old[i] + 273.15),
            1.0,
            1.0,
            p.vapour_enhancement,
        )
    activity = work[ACTIVITY]
    radial = work[SCRATCH_D]
    for i in range(n):
        t = min(max(old[i], -20.0), HOTTEST)
        pressure = _saturation_pressure(t)
        dry_part = STANDARD_PRESSURE - pressure
        slope = 0.62198 * STANDARD_PRESSURE / (dry_part * dry_part) * pressure * _steepness(t)
        # vapour carries heat across the section as well
        radial[i] = conductivity[i] + unit[i] * slope * activity[i] * LATENT_HEAT_EVAPORATION
    tau = work[TAU]
    radius = work[RADIUS]
    for i in range(n):
        # heat capacity by volume
        capacity = solids * dry[i] + water_enthalpy_slope(old[i]) * water_old[i]
        capacity = max(capacity / (area[i] * thickness[i]), 1.0)
        tau[i] = _time_constant(radius[i], radial[i] / capacity)
    bed = work[RADIAL]
    for i in range(n):
        bed[i] = radius[i] / (4.0 * radial[i])
    # wall, through the part of the section between mean and edge
    wall = work[WALL]
    side = work[SIDE]
    for i in range(n):
        b = theta / tau[i]
        wall[i] = side[i] / (wall_resistance + b * bed[i] / (1.0 + b))
    towards = work[WALL_SIDE]
    for i in range(n):
        towards[i] = wall_outside + half_difference[i] / (1.0 + theta / tau[i])
    heat_half = work[HEAT_LINK]
    vapour_half = work[SCRATCH_D]
    for i in range(n):
        heat_half[i] = conductivity[i] * area[i] / (0.5 * thickness[i])
    for i in range(n):
        vapour_half[i] = unit[i] * area[i] / (0.5 * thickness[i])
    link = work[VAPOUR_LINK]
    conductance = work[CONDUCTANCE]
    for i in range(1, n):
        a = vapour_half[i - 1]
        b = vapour_half[i]
        link[i] = a * b / (a + b + 1e-30)
    for i in range(1, n):
        a = heat_half[i - 1]
        b = heat_half[i]
        conductance[i] = a * b / (a + b)
    conductance[0] = 0.0
    conductance[n] = 0.0
