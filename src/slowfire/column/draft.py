"""Geometry of the stack and the draft of air through it.

Work arrays are rows of one array, one column a layer; the head-space follows the top layer.
"""

import numpy as np

from slowfire.column.compiled import jit, scalar
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    ADDED_SOFT,
    ADDED_WOOD,
    ASH,
    BASE_FLOW,
    CARBON_DIOXIDE,
    CHANNELS,
    FILL_HEIGHT,
    FORCED_FLOW,
    HEAD_CARBON_DIOXIDE,
    HEAD_HUMIDITY,
    HEAD_OXYGEN,
    HEAD_TEMPERATURE,
    HEAD_TEMPERATURE_BEFORE,
    INLET_SHARE,
    LOOSE_SOFT,
    LOOSE_WOOD,
    OXYGEN,
    RAPID,
    RESISTANT,
    SETTLED,
    SLOW,
    SLUMPED,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
    VENT_FLOW,
    VENT_OPENING,
    WATER,
    WOOD,
)
from slowfire.constants import (
    CARBON_DIOXIDE_IN_AIR,
    GRAVITY,
    OXYGEN_IN_AIR,
    STANDARD_PRESSURE,
)
from slowfire.physics import gas_flow, heat, moist_air, packing
from slowfire.vessel import Vessel

# Rows of the work array.
THICKNESS = 0  # [m]
AREA = 1  # plan area at mid-height [m^2]
SIDE = 2  # side area [m^2]
AIR_SPACE = 3  # free air space [-]
VOLUME = 4  # [m^3]
BULK = 5  # wet mass per volume [kg/m^3]
MOISTURE = 6  # wet basis [-]
DRY = 7  # dry mass [kg]
ACTIVITY = 8  # of water [-]
DENSITY = 9  # of the pore gas [kg/m^3]
FLOW = 10  # dry air through the lower face of a layer, up positive [kg/s]; [n]: to head-space
SIDE_FLOW = 11  # dry air in through the side, positive in [kg/s]
PRESSURE = 12  # reduced, against outside at the same height [Pa]
SCRATCH_A = 13
SCRATCH_B = 14
SCRATCH_C = 15
SCRATCH_D = 16
RATE_RAPID = 17  # potential rates at full oxygen [kg/s]
RATE_SLOW = 18
RATE_RESISTANT = 19
RATE_WOOD = 20
DEMAND = 37  # potential oxygen use [kg/s]
GROWTH = 22  # f_T f_M of acclimation [-]
OXYGEN_TERM = 23  # Monod factor reached [-]
HEAT = 24  # of biology [W]
VAPOUR_LINK = 25  # two-way exchange through the lower face [kg/s]
CONDUCTANCE = 26  # heat, through the lower face [W/K]
SATURATED = 27  # humidity ratio of gas in equilibrium [kg/kg]
TEMPERATURE_NEW = 28  # iterate [C]
WATER_NEW = 29  # iterate [kg]
ENERGY = 30  # enthalpy of the layer [J]
HUMIDITY = 31  # humidity ratio used in the fluxes [kg/kg]
WALL_FLUX = 32  # out [W/m^2]
RADIUS = 33  # equivalent [m]
TAU = 34  # of centre minus edge [s]
RADIAL = 35  # r/(4 k) [m^2*K/W]
VAPOUR_NET = 36  # vapour into the layer [kg/s]
NITRIFICATION = 21  # follows the rates of the pools; potential rate [kg N/s]
HELD = 38  # water the solids hold [kg]
FROZEN = 39  # share of the water that is ice [-]
GAS_LINK = 40  # diffusion of oxygen through the lower face [mol/s]
ENERGY_NET = 41  # [W]
HEAT_LINK = 43  # conductance of the lower half [W/K]
GIVING = 44  # 1 plus the share of its water a layer would give off in a step [-]
SKEW = 45  # heat made at the centre less at the edge, by that of the mean [-]
N_WORK = 46

LEAST_LEAK = 1e-12  # keeps the network of a bin without any opening solvable [kg/(s*Pa)]

_saturation_pressure = scalar(moist_air.saturation_pressure_in_air)
_gas_density = scalar(moist_air.gas_density)
_viscosity = scalar(moist_air.air_viscosity)
_water_activity = scalar(moist_air.water_activity)
_loaded = scalar(packing.soft_density_loaded)
_decayed = scalar(packing.soft_density_decayed)
_mixed = scalar(packing.mixed_volume)
_kozeny_carman = scalar(gas_flow.permeability_kozeny_carman)
_orifice = scalar(gas_flow.orifice_conductance)
_wind = scalar(gas_flow.wind_pressure)
_frozen_share = scalar(heat.frozen_share)


@jit
def height_of_volume(vessel: Vessel, volume: float) -> float:
    """Height above the floor that a volume fills; above the rim it goes on with the top area."""
    a = np.sqrt(vessel.base_area)
    b = (np.sqrt(vessel.top_area) - a) / vessel.height
    if abs(b) < 1e-9:
        return volume / vessel.base_area
    rim = ((a + b * vessel.height) ** 3 - a**3) / (3.0 * b)
    if volume > rim:
        return vessel.height + (volume - rim) / vessel.top_area
    return ((3.0 * b * volume + a**3) ** (1.0 / 3.0) - a) / b


@jit
def volume_of_height(vessel: Vessel, height: float) -> float:
    """Volume below a height; the inverse of `height_of_volume`."""
    a = np.sqrt(vessel.base_area)
    b = (np.sqrt(vessel.top_area) - a) / vessel.height
    if abs(b) < 1e-9:
        return vessel.base_area * height
    if height > vessel.height:
        rim = ((a + b * vessel.height) ** 3 - a**3) / (3.0 * b)
        return rim + (height - vessel.height) * vessel.top_area
    return ((a + b * height) ** 3 - a**3) / (3.0 * b)


@jit
def water_held(row: np.ndarray, parameters: Parameters) -> float:
    """Water the solids of a layer hold against gravity [kg]."""
    return (
        parameters.hold_rapid * row[RAPID]
        + parameters.hold_slow * (row[SLOW] + row[RESISTANT])
        + parameters.hold_wood * row[WOOD]
        + parameters.hold_ash * row[ASH]
    )


@jit
def geometry(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    work: np.ndarray,
) -> None:
    """Thickness, air space and water activity of every layer, from the top down then up."""
    mean_area = 0.5 * (vessel.base_area + vessel.top_area)
    mean_perimeter = 0.5 * (vessel.base_perimeter + vessel.top_perimeter)
    friction = parameters.wall_friction * parameters.lateral_pressure_ratio
    if vessel.side_open >= 1.0:
        friction = 0.0
    overburden = 0.0
    for k in range(layers):
        i = layers - 1 - k
        row = state[i]
        soft = row[RAPID] + row[SLOW] + row[RESISTANT] + row[ASH]
        wood = row[WOOD]
        dry = soft + wood
        water = row[WATER]
        soft_volume = 0.0
        wood_volume = 0.0
        mass = dry + water
        if row[LOOSE_WOOD] > 0.0 and row[ADDED_WOOD] > 0.0:
            wood_volume = row[LOOSE_WOOD] * wood / row[ADDED_WOOD]
        if row[LOOSE_SOFT] > 0.0 and row[ADDED_SOFT] > 0.0:
            loose = min(row[ADDED_SOFT] / row[LOOSE_SOFT], parameters.packed_density)
            fresh = _decayed(
                loose,
                max(parameters.humus_density, loose),
                min(soft / row[ADDED_SOFT], 1.0),
            )
            # wet tissue and paper lose their stiffness and slump towards the density of crumb
            if parameters.humus_density > fresh:
                fresh += (parameters.humus_density - fresh) * parameters.slump * row[SLUMPED]
            guess = soft / fresh
            share = wood_volume / (wood_volume + guess + 1e-12)
            borne = parameters.coarse_support * min(1.0, 2.0 * share)
            load = (overburden + 0.5 * mass * GRAVITY / mean_area) * (1.0 - borne)
            packed = _loaded(
                load, fresh, max(parameters.packed_density, fresh), parameters.compressibility
            )
            density = fresh + (packed - fresh) * row[SETTLED]
            soft_volume = soft / density
        volume = _mixed(
            soft_volume, wood_volume, parameters.coarse_voids, parameters.coarse_filling
        )
        # pores inside chips hold water or still air, so a chip counts as a whole piece
        held = water_held(row, parameters)
        inside = water * parameters.hold_wood * wood / max(held, 1e-300)
        inside = min(inside, wood * (1000.0 / parameters.wood_piece_density - 1000.0 / 1600.0))
        solid = (
            (row[RAPID] + row[SLOW] + row[RESISTANT]) / 1600.0
            + wood / parameters.wood_piece_density
            + row[ASH] / 2500.0
            + (water - inside) / 1000.0
        )
        volume = max(volume, solid / 0.9)
        volume = max(volume, 1e-7)
        work[VOLUME, i] = volume
        work[AIR_SPACE, i] = 1.0 - solid / volume
        work[BULK, i] = mass / volume
        work[MOISTURE, i] = water / mass if mass > 0.0 else 0.0
        work[DRY, i] = dry
        work[ACTIVITY, i] = _water_activity(water / dry) if dry > 0.0 else 1.0
        thickness = volume / mean_area
        overburden = (overburden + mass * GRAVITY / mean_area) / (
            1.0 + friction * mean_perimeter / mean_area * thickness
        )
        work[FROZEN, i] = _frozen_share(row[TEMPERATURE])
    below = 0.0
    height = 0.0
    slope = (vessel.top_perimeter - vessel.base_perimeter) / vessel.height
    for i in range(layers):
        below += work[VOLUME, i]
        top = height_of_volume(vessel, below)
        thickness = max(top - height, 1e-6)
        work[THICKNESS, i] = thickness
        area = work[VOLUME, i] / thickness
        work[AREA, i] = area
        middle = min(0.5 * (top + height), vessel.height)
        perimeter = vessel.base_perimeter + slope * middle
        work[SIDE, i] = perimeter * thickness
        work[RADIUS, i] = 2.0 * area / perimeter
        height = top
    bin_state[FILL_HEIGHT] = height


@jit
def draft(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    air_temperature: float,
    air_vapour_pressure: float,
    wind_speed: float,
    work: np.ndarray,
) -> None:
    """Signed flow of dry air through every face, from a network of pressures.

    Layers and head-space are nodes; buoyancy, wind and blown air drive, bed and openings resist.
    """
    n = layers
    outside = _gas_density(
        air_temperature,
        air_vapour_pressure,
        OXYGEN_IN_AIR,
        CARBON_DIOXIDE_IN_AIR,
        STANDARD_PRESSURE,
    )
    head_humidity = bin_state[HEAD_HUMIDITY]
    head_vapour = STANDARD_PRESSURE * head_humidity / (0.62198 + head_humidity)
    head = _gas_density(
        # at the middle of this step, as the air outside: else the draft lags a step behind
        2.0 * bin_state[HEAD_TEMPERATURE] - bin_state[HEAD_TEMPERATURE_BEFORE],
        head_vapour,
        bin_state[HEAD_OXYGEN],
        bin_state[HEAD_CARBON_DIOXIDE],
        STANDARD_PRESSURE,
    )
    for i in range(n):
        t = 1.5 * state[i, TEMPERATURE] - 0.5 * state[i, TEMPERATURE_BEFORE]
        vapour = work[ACTIVITY, i] * _saturation_pressure(min(t, 99.0))
        density = _gas_density(
            t, vapour, state[i, OXYGEN], state[i, CARBON_DIOXIDE], STANDARD_PRESSURE
        )
        work[DENSITY, i] = density
        gain = 1.0 + (parameters.channel_factor - 1.0) * state[i, CHANNELS]
        permeability = gain * _kozeny_carman(
            work[AIR_SPACE, i], parameters.particle_diameter, parameters.permeability_cap
        )
        if work[FROZEN, i] > 0.0:
            # ice plugs the pores little by little
            permeability *= max((1.0 - work[FROZEN, i]) ** 3, 1e-3)
        mobility = density * permeability / _viscosity(t)
        # resistance of half a layer [Pa*s/kg]
        work[SCRATCH_D, i] = 0.5 * work[THICKNESS, i] / (mobility * work[AREA, i])
        # lateral way from the middle to the open side, about half the radius
        work[SIDE_FLOW, i] = (
            vessel.side_open * mobility * work[SIDE, i] / (0.5 * work[RADIUS, i] + 1e-6)
        )
    speed = wind_speed * vessel.wind_share
    suction = -_wind(speed, parameters.vent_wind_coefficient, outside)
    vent_area = vessel.vent_slot_length * bin_state[VENT_OPENING] + vessel.lid_leak_area
    inlet_area = vessel.inlet_area * bin_state[INLET_SHARE]
    head_height = max(vessel.height - bin_state[FILL_HEIGHT], 0.0)
    top_drive = GRAVITY * (outside - head) * head_height - suction
    vent_dp = bin_state[VENT_FLOW]
    # warm start: flows of the last step give the pressure drop across the openings
    vent_dp = (vent_dp / (parameters.discharge_coefficient * max(vent_area, 1e-9))) ** 2 / (
        2.0 * outside
    )
    inlet_dp = (
        bin_state[BASE_FLOW] / (parameters.discharge_coefficient * max(inlet_area, 1e-9))
    ) ** 2 / (2.0 * outside)
    vent_dp = min(vent_dp, 20.0)
    inlet_dp = min(inlet_dp, 20.0)
    forced = bin_state[FORCED_FLOW]
    base_drive = 0.0
    inlet_conductance = 0.0
    vent_conductance = 0.0
    for _ in range(3):
        vent_conductance = _orifice(vent_dp, vent_area, parameters.discharge_coefficient, outside)
        orifice = _orifice(inlet_dp, inlet_area, parameters.discharge_coefficient, outside)
        if n == 0:
            inlet_conductance = orifice
            work[PRESSURE, 0] = -(top_drive * vent_conductance - forced) / (
                vent_conductance + inlet_conductance + LEAST_LEAK
            )
            base_flow = -work[PRESSURE, 0] * inlet_conductance
            vent_flow = (work[PRESSURE, 0] + top_drive) * vent_conductance
        else:
            inlet_conductance = orifice / (1.0 + orifice * work[SCRATCH_D, 0])
            base_drive = GRAVITY * (outside - work[DENSITY, 0]) * 0.5 * work[THICKNESS, 0]
            # Thomas elimination from the base up: A diagonal, C upper, B right side
            for i in range(n + 1):
                lower = 0.0
                drive = 0.0
                if i == 0:
                    lower = inlet_conductance
                    drive = base_drive
                else:
                    upper_half = work[SCRATCH_D, i] if i < n else 0.0
                    lower = 1.0 / (work[SCRATCH_D, i - 1] + upper_half)
                    drive = (
                        GRAVITY * (outside - work[DENSITY, i - 1]) * 0.5 * work[THICKNESS, i - 1]
                    )
                    if i < n:
                        drive += GRAVITY * (outside - work[DENSITY, i]) * 0.5 * work[THICKNESS, i]
                work[FLOW, i] = drive  # drive of the face below node i
                work[HEAT_LINK, i] = lower
            for i in range(n + 1):
                up = work[HEAT_LINK, i + 1] if i < n else vent_conductance
                up_drive = work[FLOW, i + 1] if i < n else top_drive
                side = work[SIDE_FLOW, i] if i < n else 0.0
                right = work[HEAT_LINK, i] * work[FLOW, i] - up * up_drive
                if i == 0:
                    right += forced
                diagonal = work[HEAT_LINK, i] + up + side + LEAST_LEAK
                off = 0.0
                if i > 0:
                    off = work[HEAT_LINK, i]
                    factor = off / work[SCRATCH_A, i - 1]
                    diagonal -= factor * off
                    right += factor * work[SCRATCH_B, i - 1]
                work[SCRATCH_A, i] = diagonal
                work[SCRATCH_B, i] = right
            work[PRESSURE, n] = work[SCRATCH_B, n] / work[SCRATCH_A, n]
            for k in range(n):
                i = n - 1 - k
                work[PRESSURE, i] = (
                    work[SCRATCH_B, i] + work[HEAT_LINK, i + 1] * work[PRESSURE, i + 1]
                ) / work[SCRATCH_A, i]
            base_flow = inlet_conductance * (base_drive - work[PRESSURE, 0])
            vent_flow = (work[PRESSURE, n] + top_drive) * vent_conductance
        # geometric mean of old and new drop keeps the substitution from swinging
        new_vent = (vent_flow / max(vent_conductance, 1e-30)) ** 2
        new_inlet = (base_flow / max(orifice, 1e-30)) ** 2
        vent_dp = np.sqrt(np.sqrt(new_vent + 1e-12) * max(vent_dp, 1e-6))
        inlet_dp = np.sqrt(np.sqrt(new_inlet + 1e-12) * max(inlet_dp, 1e-6))
    for i in range(n):
        lower = work[HEAT_LINK, i]
        above = work[PRESSURE, i - 1] if i > 0 else 0.0
        work[SIDE_FLOW, i] = -work[PRESSURE, i] * work[SIDE_FLOW, i]
        work[FLOW, i] = lower * (above - work[PRESSURE, i] + work[FLOW, i])
    if n == 0:
        work[FLOW, 0] = base_flow + forced
    else:
        # carry continuity upward exactly, so that what enters a layer also leaves it
        work[FLOW, 0] += forced
        for i in range(n):
            work[FLOW, i + 1] = work[FLOW, i] + work[SIDE_FLOW, i]
    bin_state[BASE_FLOW] = work[FLOW, 0]
    bin_state[VENT_FLOW] = work[FLOW, n]
