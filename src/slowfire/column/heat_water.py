"""Heat and vapour of the stack and the head-space, solved together.

A backward-Euler step of 0.55 dt is extrapolated to dt by the fluxes it finds, so that what
leaves one layer enters the next and the books close whatever the iteration leaves open.
"""

import numpy as np

from slowfire.column.compiled import jit, one_less, scalar
from slowfire.column.draft import (
    ACTIVITY,
    AREA,
    CONDUCTANCE,
    DIAGONAL,
    DRY,
    ENERGY,
    ENTHALPY,
    ENTHALPY_SLOPE,
    FLOW,
    FROM_ABOVE,
    FROM_BELOW,
    FROM_OUTSIDE,
    GIVING,
    HEAT,
    HEAT_LINK,
    HEATED,
    HUMIDITY,
    INVERSE,
    LOWER,
    OUT,
    RIGHT,
    SATURATED,
    SATURATED_SLOPE,
    SCRATCH_A,
    SOLUTION,
    TEMPERATURE_NEW,
    TEMPERATURE_OLD,
    THICKNESS,
    UPPER,
    VAPOUR_LINK,
    WALL,
    WALL_SIDE,
    WATER_NEW,
    WATER_OLD,
)
from slowfire.column.enthalpy import FREEZING_SPAN, water_enthalpy, water_enthalpy_slope
from slowfire.column.fluxes import finish_fluxes
from slowfire.column.links import HOTTEST, heat_links
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    BOTTLE_CAPACITY,
    BOTTLE_LAYER,
    BOTTLE_TEMPERATURE,
    COVER_RESISTANCE,
    FILL_HEIGHT,
    HEAD_HUMIDITY,
    HEAD_TEMPERATURE,
    HEAD_TEMPERATURE_BEFORE,
    LAYER_NUMBER,
    TEMPERATURE,
)
from slowfire.column.tridiagonal import solve_neighbours
from slowfire.column.vapour import gas_ways, vapour_step, vapour_step_with_head
from slowfire.constants import (
    HEAT_CAPACITY_DRY_AIR,
    HEAT_CAPACITY_VAPOUR,
    HEAT_CAPACITY_WATER,
    LATENT_HEAT_EVAPORATION,
    STANDARD_PRESSURE,
)
from slowfire.physics import heat, moist_air
from slowfire.vessel import Vessel

IMPLICITNESS = 0.55
SWEEPS = 30  # more than freezing ever needed
THIN = 0.008  # a layer that may freeze through within a step [m]
DRIP_EXCHANGE = 0.004  # mass transfer to the lid [kg/(s*m^2)], Lewis relation at 4 W/(m^2*K)
CLOSE = 1e-3  # change of a sweep after which no other is needed: the next would be 0.03 of it [K]

_saturation_pressure = scalar(moist_air.saturation_pressure_in_air)
_steepness = scalar(moist_air.saturation_pressure_in_air_steepness)
_humidity_ratio = scalar(moist_air.humidity_ratio)
_enthalpy = scalar(moist_air.enthalpy_moist_air)
_film = scalar(heat.outer_film_coefficient)
_sol_air = scalar(heat.sol_air_temperature)


@jit
def within_kinks(old: float, new: float) -> float:
    """Stop a step at the first kink of the enthalpy of water it would cross, just beyond it."""
    if old > 0.0 > new:
        return -1e-9
    if old < -FREEZING_SPAN < new:
        return -FREEZING_SPAN + 1e-9
    if new < -FREEZING_SPAN < old:
        return -FREEZING_SPAN - 1e-9
    if old < 0.0 < new:
        return 1e-9
    return new


@jit
def saturate(layers: int, work: np.ndarray) -> None:
    """Humidity ratio of gas in equilibrium with every layer, and its change with temperature."""
    new = work[TEMPERATURE_NEW]
    activity = work[ACTIVITY]
    saturated = work[SATURATED]
    slope = work[SATURATED_SLOPE]
    for i in range(layers):
        t = min(max(new[i], -40.0), HOTTEST)
        pressure = activity[i] * _saturation_pressure(t)
        dry_part = STANDARD_PRESSURE - pressure
        saturated[i] = _humidity_ratio(pressure, STANDARD_PRESSURE)
        slope[i] = 0.62198 * STANDARD_PRESSURE / (dry_part * dry_part) * pressure * _steepness(t)


@jit
def stack_system(
    layers: int, parameters: Parameters, air_enthalpy: float, theta: float, work: np.ndarray
) -> None:
    """Residual of the heat balance of every layer and its tangent; the head-space is left out."""
    n = layers
    solids = parameters.heat_capacity_solids / theta
    temperature = work[TEMPERATURE_NEW]
    humidity = work[HUMIDITY]
    water = work[WATER_NEW]
    water_old = work[WATER_OLD]
    enthalpy = work[ENTHALPY]
    slope = work[ENTHALPY_SLOPE]
    humidity_slope = work[SATURATED_SLOPE]
    giving = work[GIVING]
    change = work[SCRATCH_A]
    for i in range(n):
        # of the humidity with temperature, less what drying takes back
        change[i] = humidity_slope[i] * water[i] / (max(water_old[i], 1e-12) * giving[i])
    for i in range(n):
        enthalpy[i] = _enthalpy(temperature[i], humidity[i])
    for i in range(n):
        slope[i] = (
            HEAT_CAPACITY_DRY_AIR
            + HEAT_CAPACITY_VAPOUR * humidity[i]
            + (LATENT_HEAT_EVAPORATION + HEAT_CAPACITY_VAPOUR * temperature[i]) * change[i]
        )
    below = work[FROM_BELOW]
    above = work[FROM_ABOVE]
    outside = work[FROM_OUTSIDE]
    out = work[OUT]
    conductance = work[CONDUCTANCE]
    wall = work[WALL]
    towards = work[WALL_SIDE]
    energy = work[ENERGY]
    dry = work[DRY]
    made = work[HEAT]
    diagonal = work[DIAGONAL]
    lower = work[LOWER]
    upper = work[UPPER]
    right = work[RIGHT]
    for i in range(n):
        diagonal[i] = out[i] * slope[i] + conductance[i] + conductance[i + 1] + wall[i]
    for i in range(n):
        diagonal[i] += solids * dry[i] + water[i] * water_enthalpy_slope(temperature[i]) / theta
    for i in range(1, n):
        lower[i] = below[i] * slope[i - 1] + conductance[i]
    for i in range(n - 1):
        upper[i] = above[i] * slope[i + 1] + conductance[i + 1]
    for i in range(n):
        right[i] = outside[i] * air_enthalpy - out[i] * enthalpy[i] + made[i]
    for i in range(n):
        right[i] -= wall[i] * (temperature[i] - towards[i])
    for i in range(n):
        held = water[i] * water_enthalpy(temperature[i]) - energy[i]
        right[i] -= solids * dry[i] * temperature[i] + held / theta
    for i in range(1, n):
        right[i] += below[i] * enthalpy[i - 1]
    for i in range(1, n):
        right[i] += conductance[i] * (temperature[i - 1] - temperature[i])
    for i in range(n - 1):
        right[i] += above[i] * enthalpy[i + 1]
    for i in range(n - 1):
        right[i] += conductance[i + 1] * (temperature[i + 1] - temperature[i])


@jit
def implicit_share(state: np.ndarray, layers: int, around: float, work: np.ndarray) -> float:
    """How implicit a step must be: wholly where a thin wet layer may freeze through.

    What is extrapolated past freezing would fall into ice, which holds little heat.
    """
    thickness = work[THICKNESS]
    for i in range(layers):
        t = state[i, TEMPERATURE]
        coldest = around
        if i > 0:
            coldest = min(coldest, state[i - 1, TEMPERATURE])
        if i < layers - 1:
            coldest = min(coldest, state[i + 1, TEMPERATURE])
        if thickness[i] < THIN and coldest < -FREEZING_SPAN < t + FREEZING_SPAN:
            return 1.0
    return IMPLICITNESS


@jit
def heat_vapour_step(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    air_temperature: float,
    air_humidity: float,
    wind_speed: float,
    irradiance: float,
    wall_irradiance: float,
    exchange_flow: float,
    time_step: float,
    work: np.ndarray,
    ledger: np.ndarray,
) -> int:
    """Advance temperatures, water and the head-space by one step; returns the iterations used.

    On return ENERGY holds the enthalpy of every layer; drainage goes on from there.
    """
    n = layers
    p = parameters
    theta = implicit_share(state, n, air_temperature, work) * time_step
    film = _film(wind_speed * vessel.wind_share, air_temperature, vessel.emissivity)
    wall_outside = _sol_air(
        air_temperature, wall_irradiance * vessel.sun_share, vessel.absorptance, film
    )
    lid_outside = _sol_air(air_temperature, irradiance * vessel.sun_share, vessel.absorptance, film)
    wall_resistance = vessel.wall_resistance + bin_state[COVER_RESISTANCE] + 1.0 / film
    lid_resistance = vessel.lid_resistance + bin_state[COVER_RESISTANCE] + 1.0 / film
    # the walls around the head-space lose heat as the lid does
    bare = max(vessel.height - bin_state[FILL_HEIGHT], 0.0) * vessel.top_perimeter
    bare_conductance = vessel.lidded * bare / (wall_resistance + 1.0 / p.lid_film)
    roof_conductance = vessel.top_area / (lid_resistance + 1.0 / p.lid_film)
    lid_conductance = roof_conductance + bare_conductance
    lid_outside = (
        roof_conductance * lid_outside + bare_conductance * wall_outside
    ) / lid_conductance
    air_enthalpy = _enthalpy(air_temperature, air_humidity)

    heat_links(state, n, p, wall_outside, wall_resistance, theta, work)
    top_area = work[AREA, n - 1] if n > 0 else vessel.top_area
    top_exchange = p.head_exchange * top_area / HEAT_CAPACITY_DRY_AIR
    base_conductance = 0.0
    if n > 0:
        # to the head-space: half a layer in series with the surface film
        inner = work[HEAT_LINK, n - 1]
        top_exchange *= inner / (inner + p.head_exchange * top_area)
        base_conductance = work[AREA, 0] / (
            vessel.base_resistance + work[AREA, 0] / work[HEAT_LINK, 0]
        )
    else:
        top_exchange = 0.0
    work[VAPOUR_LINK, n] = top_exchange
    gas_ways(n, work)
    head_storage = p.head_capacity * vessel.top_area / time_step
    head_old = bin_state[HEAD_TEMPERATURE]
    head = 2.0 * head_old - bin_state[HEAD_TEMPERATURE_BEFORE]
    bottle_conductance = 0.0
    bottle_layer = -1
    if bin_state[BOTTLE_CAPACITY] > 0.0:
        for i in range(n):
            if state[i, LAYER_NUMBER] == bin_state[BOTTLE_LAYER]:
                bottle_layer = i
        if bottle_layer < 0 and n > 0:
            bottle_layer = n - 1
        share = p.bottle_conductance * time_step / bin_state[BOTTLE_CAPACITY]
        bottle_conductance = bin_state[BOTTLE_CAPACITY] * -one_less(-share) / time_step

    # gas through the head-space: outside air coming in, all that leaves it, to the outside only
    flow_top = work[FLOW, n]
    inside = exchange_flow + max(-flow_top, 0.0)
    rising = max(flow_top, 0.0) + top_exchange
    falling = max(-flow_top, 0.0) + top_exchange
    leak = exchange_flow + max(flow_top, 0.0)
    leaving = exchange_flow + abs(flow_top) + top_exchange
    from_base = max(flow_top, 0.0) if n == 0 else 0.0
    drip_rate = vessel.lidded * DRIP_EXCHANGE * (vessel.top_area + bare)
    cooled = 1.0 / (p.lid_film * min(lid_resistance, wall_resistance) + 1.0)

    iterations = 0
    drip = 0.0
    head_humidity = bin_state[HEAD_HUMIDITY]
    temperature = work[TEMPERATURE_NEW]
    step = work[SOLUTION]
    for sweep in range(SWEEPS):
        iterations = sweep + 1
        saturate(n, work)
        # the skin of the lid, on which vapour condenses
        skin = min(max(head - (head - lid_outside) * cooled, -40.0), HOTTEST)
        skin_pressure = _saturation_pressure(skin)
        skin_humidity = _humidity_ratio(skin_pressure, STANDARD_PRESSURE)
        # water given off and taken up at these temperatures, so that a nearly dry layer
        # cannot promise vapour it does not have
        head_humidity, drip, share = vapour_step_with_head(
            n,
            air_humidity,
            head_humidity,
            (inside + from_base) * air_humidity,
            leaving,
            skin_humidity,
            drip_rate,
            theta,
            work,
        )
        stack_system(n, p, air_enthalpy, theta, work)
        head_enthalpy = _enthalpy(head, head_humidity)
        latent = LATENT_HEAT_EVAPORATION + HEAT_CAPACITY_VAPOUR * head
        # a wetted lid ties humidity to the temperature of the head-space
        head_slope = HEAT_CAPACITY_DRY_AIR + HEAT_CAPACITY_VAPOUR * head_humidity
        if drip > 0.0:
            skin_slope = skin_pressure * _steepness(skin)
            skin_slope *= 0.62198 * STANDARD_PRESSURE / (STANDARD_PRESSURE - skin_pressure) ** 2
            head_slope += latent * drip_rate / (leaving + drip_rate) * skin_slope * (1.0 - cooled)
        drip_heat = drip * HEAT_CAPACITY_WATER * max(head, 0.0)
        net = (inside + from_base) * air_enthalpy - (leak + falling) * head_enthalpy
        net -= lid_conductance * (head - lid_outside) + drip_heat
        # the light head-space is taken at the end of the step, fully implicit
        net -= head_storage * (head - head_old)
        work[DIAGONAL, n] = (leak + falling) * head_slope + lid_conductance + head_storage
        work[LOWER, n] = 0.0
        if n > 0:
            top = n - 1
            net += rising * work[ENTHALPY, top]
            # and to that of the top layer
            tied = latent * share * work[SCRATCH_A, top]
            work[LOWER, n] = rising * work[ENTHALPY_SLOPE, top] - (leak + falling) * tied
            work[UPPER, top] = falling * head_slope
            work[DIAGONAL, top] -= falling * tied
            work[RIGHT, top] += falling * head_enthalpy + drip_heat
            work[RIGHT, 0] -= base_conductance * (temperature[0] - air_temperature)
            work[DIAGONAL, 0] += base_conductance
            if bottle_layer >= 0:
                warmer = bin_state[BOTTLE_TEMPERATURE] - temperature[bottle_layer]
                work[RIGHT, bottle_layer] += bottle_conductance * warmer
                work[DIAGONAL, bottle_layer] += bottle_conductance
        work[RIGHT, n] = net
        solve_neighbours(work, n + 1, DIAGONAL, LOWER, UPPER, RIGHT, SOLUTION, INVERSE)
        # freezing makes the iterates swing
        damping = 1.0 if sweep < 8 else 0.5
        change = abs(step[n])
        for i in range(n):
            change = max(change, abs(step[i]))
        head += damping * step[n]
        kinked = False
        for i in range(n):
            t = temperature[i]
            new = t + damping * step[i]
            temperature[i] = within_kinks(t, new)
            kinked |= temperature[i] != new
        if change < CLOSE and not kinked:
            break
    # humidity at the temperatures found, one short step along its tangent
    saturated = work[SATURATED]
    slope = work[SATURATED_SLOPE]
    heated = work[HEATED]
    old = work[TEMPERATURE_OLD]
    for i in range(n):
        heated[i] = temperature[i] - old[i]
    for i in range(n):
        saturated[i] = max(saturated[i] + slope[i] * step[i], 0.0)
    # fluxes at the accepted iterate: water at the full step, energy with the same humidity
    vapour_step(n, air_humidity, head_humidity, drip, time_step, work)
    finish_fluxes(
        state,
        n,
        bin_state,
        vessel,
        p,
        air_temperature,
        air_humidity,
        air_enthalpy,
        wall_outside,
        wall_resistance,
        base_conductance,
        bottle_conductance,
        bottle_layer,
        exchange_flow,
        head,
        drip,
        time_step,
        work,
        ledger,
    )
    return iterations
