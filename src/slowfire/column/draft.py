"""Geometry of the stack and the draft of air through it.

Work arrays are rows of one array, one column a layer; the head-space follows the top layer.
"""

import numpy as np

from slowfire.column.compiled import inline, jit, scalar
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
from slowfire.column.tridiagonal import solve_neighbours
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
MIDDLE = 46  # temperature at the middle of the step, looked ahead [C]
WET = 47  # factor of moisture [-]
AIRY = 48  # share of wet clods that oxygen reaches [-]
PH = 49  # [-]
WARMTH = 50  # factor of temperature and acids, mean over the section [-]
OFFSET = 51  # outer point of the section less its mean [K]
TEMPERATURE_OLD = 52  # at the start of the step [C]
WATER_OLD = 53  # [kg]
OUT = 54  # gas leaving a layer through all faces [kg/s]
FROM_BELOW = 55  # gas entering through the lower face, draft and exchange [kg/s]
FROM_ABOVE = 56  # through the upper face [kg/s]
FROM_OUTSIDE = 57  # outside air entering through side and base [kg/s]
ENTHALPY = 58  # of the gas of a layer [J/kg]
ENTHALPY_SLOPE = 59  # the same by temperature [J/(kg*K)]
SATURATED_SLOPE = 60  # [1/K]
WALL = 61  # conductance through the wall [W/K]
WALL_SIDE = 62  # temperature the mean loses heat to through the wall [C]
DIAGONAL = 63  # the system being solved
LOWER = 64
UPPER = 65
RIGHT = 66
SOLUTION = 67
INVERSE = 68
EATEN = LOWER  # nitrogen eaten of each pool, in four rows while no system is solved [kg]
HEATED = 69  # change of temperature to where the fluxes of the last step were taken [K]
NODE_LINK = 70  # conductance of a face to the draft [kg/(s*Pa)]
DRIVE = 71  # buoyancy across a face [Pa]
SOFT = 72  # dry mass of the soft part [kg]
COARSE = 73  # loose volume of the bulking wood [m^3]
SOLID = 74  # volume without pores [m^3]
FRESH = 75  # loose dry density of the soft part [kg/m^3]
WEIGHT = 76  # by plan area [Pa]
REACHED = 77  # degrees of the heat history exceeded, at centre and edge [-]
WAITING = 79  # time spent so, not yet written, at centre and edge [h]
CORE_DEMAND = 81  # oxygen asked for where it does not reach [kg/s]
SHARE_RISE = 82  # of oxygen in the last step [-]
N_WORK = 83

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


@inline
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


@inline
def water_held(state: np.ndarray, layer: int, parameters: Parameters) -> float:
    """Water the solids of a layer hold against gravity [kg]."""
    return (
        parameters.hold_rapid * state[layer, RAPID]
        + parameters.hold_slow * (state[layer, SLOW] + state[layer, RESISTANT])
        + parameters.hold_wood * state[layer, WOOD]
        + parameters.hold_ash * state[layer, ASH]
    )


@jit
def masses(
    state: np.ndarray,
    layers: int,
    parameters: Parameters,
    gravity: float,
    work: np.ndarray,
) -> None:
    """What a layer weighs, holds and fills without its pores, and how densely it lies unloaded.

    `gravity` is that on a square metre of the plan [1/(s^2*m)].
    """
    p = parameters
    # pores inside chips hold water or still air, so a chip counts as a whole piece
    chip = 1000.0 / p.wood_piece_density - 1000.0 / 1600.0
    soft = work[SOFT]
    coarse = work[COARSE]
    solid = work[SOLID]
    fresh = work[FRESH]
    weight = work[WEIGHT]
    dry = work[DRY]
    moisture = work[MOISTURE]
    held = work[SCRATCH_A]
    inside = work[SCRATCH_B]
    added = work[SCRATCH_C]
    loose = work[SCRATCH_D]
    for i in range(layers):
        organic = state[i, RAPID] + state[i, SLOW] + state[i, RESISTANT]
        wood = state[i, WOOD]
        ash = state[i, ASH]
        soft[i] = organic + ash
        dry[i] = soft[i] + wood
        solid[i] = organic / 1600.0 + wood / p.wood_piece_density + ash / 2500.0
    for i in range(layers):
        weight[i] = dry[i] + state[i, WATER]
        moisture[i] = state[i, WATER]
    for i in range(layers):
        held[i] = water_held(state, i, p)
    for i in range(layers):
        inside[i] = state[i, WOOD]
        loosened = state[i, LOOSE_WOOD] * inside[i] / state[i, ADDED_WOOD]
        coarse[i] = loosened if state[i, ADDED_WOOD] > 0.0 else 0.0
    for i in range(layers):
        added[i] = state[i, ADDED_SOFT]
        loose[i] = state[i, LOOSE_SOFT]
        fresh[i] = state[i, SLUMPED]
    # short loops over few rows each, which the compiler turns into vectors
    for i in range(layers):
        water = moisture[i] * p.hold_wood * inside[i] / max(held[i], 1e-300)
        inside[i] = moisture[i] - min(water, inside[i] * chip)
    for i in range(layers):
        solid[i] += inside[i] / 1000.0
    activity = work[ACTIVITY]
    for i in range(layers):
        activity[i] = _water_activity(moisture[i] / max(dry[i], 1e-300))
    for i in range(layers):
        moisture[i] /= max(weight[i], 1e-300)
        weight[i] *= gravity
    for i in range(layers):
        # nothing soft has no volume
        loose[i] = min(added[i] / loose[i], p.packed_density) if loose[i] > 0.0 else 0.0
    for i in range(layers):
        left = min(soft[i] / added[i], 1.0) if added[i] > 0.0 else 1.0
        density = _decayed(loose[i], max(p.humus_density, loose[i]), left)
        # wet tissue and paper lose their stiffness and slump towards the density of crumb
        fresh[i] = density + max(p.humus_density - density, 0.0) * p.slump * fresh[i]
    for i in range(layers):
        soft[i] = soft[i] if loose[i] > 0.0 else 0.0


@jit
def geometry(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    work: np.ndarray,
) -> None:
    """Thickness, air space and water activity of every layer.

    How much the walls carry depends on how high the layers are: this starts from the heights of
    the last step, or from none in a fresh work array and then goes round until they agree.
    """
    p = parameters
    mean_area = 0.5 * (vessel.base_area + vessel.top_area)
    mean_perimeter = 0.5 * (vessel.base_perimeter + vessel.top_perimeter)
    friction = p.wall_friction * p.lateral_pressure_ratio * mean_perimeter / mean_area / mean_area
    if vessel.side_open >= 1.0:
        friction = 0.0
    masses(state, layers, p, GRAVITY / mean_area, work)
    soft = work[SOFT]
    coarse = work[COARSE]
    solid = work[SOLID]
    fresh = work[FRESH]
    weight = work[WEIGHT]
    volume = work[VOLUME]
    settled = work[SCRATCH_A]
    free = work[SCRATCH_B]
    relief = work[SCRATCH_C]
    load = work[SCRATCH_D]
    for i in range(layers):
        settled[i] = state[i, SETTLED]
        work[TEMPERATURE_OLD, i] = state[i, TEMPERATURE]
    for i in range(layers):
        share = coarse[i] / (coarse[i] + soft[i] / max(fresh[i], 1e-300) + 1e-12)
        # chips that touch each other bear part of what lies above
        free[i] = 1.0 - p.coarse_support * min(1.0, 2.0 * share)
    rounds = 1 if layers > 0 and volume[0] > 0.0 else 6
    for _ in range(rounds):
        for i in range(layers):
            relief[i] = 1.0 / (1.0 + friction * volume[i])
        overburden = 0.0
        for k in range(layers):
            i = layers - 1 - k
            load[i] = (overburden + 0.5 * weight[i]) * free[i]
            overburden = (overburden + weight[i]) * relief[i]
        for i in range(layers):
            packed = _loaded(load[i], fresh[i], max(p.packed_density, fresh[i]), p.compressibility)
            density = fresh[i] + (packed - fresh[i]) * settled[i]
            volume[i] = soft[i] / max(density, 1e-300)
        for i in range(layers):
            mixed = _mixed(volume[i], coarse[i], p.coarse_voids, p.coarse_filling)
            volume[i] = max(mixed, solid[i] / 0.9, 1e-7)
    air_space = work[AIR_SPACE]
    bulk = work[BULK]
    frozen = work[FROZEN]
    temperature = work[TEMPERATURE_OLD]
    for i in range(layers):
        air_space[i] = 1.0 - solid[i] / volume[i]
    for i in range(layers):
        bulk[i] = weight[i] * mean_area / GRAVITY / volume[i]
    for i in range(layers):
        frozen[i] = _frozen_share(temperature[i])
    heights(layers, bin_state, vessel, work)


@jit
def heights(layers: int, bin_state: np.ndarray, vessel: Vessel, work: np.ndarray) -> None:
    """Thickness, plan and side area of every layer from its volume."""
    volume = work[VOLUME]
    thickness = work[THICKNESS]
    area = work[AREA]
    side = work[SIDE]
    radius = work[RADIUS]
    tops = work[SCRATCH_A]
    below = 0.0
    for i in range(layers):
        below += volume[i]
        tops[i] = below
    if abs(vessel.top_area - vessel.base_area) < 1e-9 * vessel.base_area:
        for i in range(layers):
            tops[i] /= vessel.base_area
    else:
        for i in range(layers):
            tops[i] = height_of_volume(vessel, tops[i])
    if layers > 0:
        thickness[0] = max(tops[0], 1e-6)
    for i in range(1, layers):
        thickness[i] = max(tops[i] - tops[i - 1], 1e-6)
    for i in range(layers):
        area[i] = volume[i] / thickness[i]
    slope = (vessel.top_perimeter - vessel.base_perimeter) / vessel.height
    for i in range(layers):
        # the perimeter, at mid-height
        middle = min(tops[i] - 0.5 * thickness[i], vessel.height)
        radius[i] = vessel.base_perimeter + slope * middle
    for i in range(layers):
        side[i] = radius[i] * thickness[i]
    for i in range(layers):
        radius[i] = 2.0 * area[i] / radius[i]
    bin_state[FILL_HEIGHT] = tops[layers - 1] if layers > 0 else 0.0


@jit
def resistances(
    state: np.ndarray,
    layers: int,
    vessel: Vessel,
    parameters: Parameters,
    work: np.ndarray,
) -> None:
    """Density of the gas, resistance of half of every layer [Pa*s/kg] and ease of its side."""
    n = layers
    p = parameters
    middle = work[MIDDLE]
    vapour = work[SCRATCH_A]
    oxygen = work[SCRATCH_B]
    carbon_dioxide = work[SCRATCH_C]
    half = work[SCRATCH_D]
    density = work[DENSITY]
    activity = work[ACTIVITY]
    for i in range(n):
        # looked ahead to the middle of the step
        middle[i] = 1.5 * state[i, TEMPERATURE] - 0.5 * state[i, TEMPERATURE_BEFORE]
    for i in range(n):
        oxygen[i] = state[i, OXYGEN]
        carbon_dioxide[i] = state[i, CARBON_DIOXIDE]
        half[i] = state[i, CHANNELS]
    for i in range(n):
        vapour[i] = activity[i] * _saturation_pressure(min(middle[i], 99.0))
    for i in range(n):
        density[i] = _gas_density(
            middle[i], vapour[i], oxygen[i], carbon_dioxide[i], STANDARD_PRESSURE
        )
    air_space = work[AIR_SPACE]
    frozen = work[FROZEN]
    mobility = work[SCRATCH_A]
    for i in range(n):
        mobility[i] = (1.0 + (p.channel_factor - 1.0) * half[i]) * _kozeny_carman(
            air_space[i], p.particle_diameter, p.permeability_cap
        )
    for i in range(n):
        # ice plugs the pores little by little
        liquid = 1.0 - frozen[i]
        mobility[i] *= max(liquid * liquid * liquid, 1e-3)
    for i in range(n):
        mobility[i] *= density[i] / _viscosity(middle[i])
    thickness = work[THICKNESS]
    area = work[AREA]
    for i in range(n):
        half[i] = 0.5 * thickness[i] / (mobility[i] * area[i])
    side_flow = work[SIDE_FLOW]
    if vessel.side_open > 0.0:
        side = work[SIDE]
        radius = work[RADIUS]
        for i in range(n):
            # lateral way from the middle to the open side, about half the radius
            way = 0.5 * radius[i] + 1e-6
            side_flow[i] = vessel.side_open * mobility[i] * side[i] / way
    else:
        for i in range(n):
            side_flow[i] = 0.0


@jit
def network(layers: int, outside: float, work: np.ndarray) -> float:
    """Conductance and drive of every inner face, and the rows of the nodes between them.

    Node i is layer i, the last one the head-space. Returns the drive at the base [Pa].
    """
    n = layers
    half = work[SCRATCH_D]
    lift = work[SCRATCH_A]
    density = work[DENSITY]
    thickness = work[THICKNESS]
    link = work[NODE_LINK]  # through the face below a node
    drive = work[DRIVE]
    diagonal = work[DIAGONAL]
    upper = work[UPPER]
    right = work[RIGHT]
    side = work[SIDE_FLOW]
    for i in range(n):
        lift[i] = 0.5 * GRAVITY * (outside - density[i]) * thickness[i]
    half[n] = 0.0
    lift[n] = 0.0
    for i in range(1, n + 1):
        link[i] = 1.0 / (half[i - 1] + half[i])
    for i in range(1, n + 1):
        drive[i] = lift[i - 1] + lift[i]
    link[0] = 0.0
    for i in range(n):
        upper[i] = link[i + 1]
    for i in range(n):
        diagonal[i] = link[i] + link[i + 1] + side[i] + LEAST_LEAK
    for i in range(1, n):
        right[i] = link[i] * drive[i] - link[i + 1] * drive[i + 1]
    return lift[0]


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
    resistances(state, n, vessel, parameters, work)
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
    links = work[NODE_LINK]
    drives = work[DRIVE]
    side_and_up = 0.0
    if n > 0:
        base_drive = network(n, outside, work)
        side_and_up = work[DIAGONAL, 0]
    # without open sides the faces are one way in series
    resistance = 0.0
    drive = base_drive + top_drive
    for i in range(1, n + 1):
        resistance += work[SCRATCH_D, i - 1] + work[SCRATCH_D, i]
        drive += drives[i]
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
            open_ends = inlet_conductance + vent_conductance
            in_series = vessel.side_open <= 0.0 and open_ends > 1e3 * LEAST_LEAK
            if in_series:
                both = inlet_conductance * vent_conductance
                vent_flow = (drive * both + forced * vent_conductance) / (
                    open_ends + resistance * both
                )
                base_flow = vent_flow - forced
            else:
                work[DIAGONAL, 0] = side_and_up + inlet_conductance
                work[RIGHT, 0] = forced - links[1] * drives[1] + inlet_conductance * base_drive
                work[DIAGONAL, n] = links[n] + vent_conductance + LEAST_LEAK
                work[RIGHT, n] = links[n] * drives[n] - vent_conductance * top_drive
                solve_neighbours(work, n + 1, DIAGONAL, NODE_LINK, UPPER, RIGHT, PRESSURE, INVERSE)
                base_flow = inlet_conductance * (base_drive - work[PRESSURE, 0])
                vent_flow = (work[PRESSURE, n] + top_drive) * vent_conductance
        # geometric mean of old and new drop keeps the substitution from swinging
        new_vent = (vent_flow / max(vent_conductance, 1e-30)) ** 2
        new_inlet = (base_flow / max(orifice, 1e-30)) ** 2
        vent_dp = np.sqrt(np.sqrt(new_vent + 1e-12) * max(vent_dp, 1e-6))
        inlet_dp = np.sqrt(np.sqrt(new_inlet + 1e-12) * max(inlet_dp, 1e-6))
    pressure = work[PRESSURE]
    side_flow = work[SIDE_FLOW]
    for i in range(n):
        side_flow[i] *= -pressure[i]
    if n == 0:
        work[FLOW, 0] = base_flow + forced
    else:
        # carry continuity upward exactly, so that what enters a layer also leaves it
        work[FLOW, 0] = base_flow + forced
        for i in range(n):
            work[FLOW, i + 1] = work[FLOW, i] + work[SIDE_FLOW, i]
    bin_state[BASE_FLOW] = work[FLOW, 0]
    bin_state[VENT_FLOW] = work[FLOW, n]
