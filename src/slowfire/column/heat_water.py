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
    GAINED,
    GIVING,
    HEAT,
    HEAT_LINK,
    HEATED,
    HUMIDITY,
    LATENT_ABOVE,
    LATENT_BELOW,
    LATENT_OUT,
    LOWER,
    OUT,
    RIGHT,
    SATURATED,
    SATURATED_SLOPE,
    SCRATCH_A,
    SCRATCH_B,
    SOLUTION,
    TEMPERATURE_NEW,
    TEMPERATURE_OLD,
    UPPER,
    VAPOUR_LINK,
    VAPOUR_LOWER,
    VAPOUR_RIGHT,
    VAPOUR_SOLUTION,
    VAPOUR_UPPER,
    WALL,
    WALL_SIDE,
    WARMING,
    WATER_HEAT,
    WATER_NEW,
    WATER_OLD,
)
from slowfire.column.enthalpy import FREEZING_SPAN, water_enthalpy, water_enthalpy_slope
from slowfire.column.fluxes import finish_fluxes
from slowfire.column.links import HOTTEST, heat_links
from slowfire.column.pairs import solve_pairs
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
)
from slowfire.column.vapour import gas_ways, vapour_step
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
DRIP_EXCHANGE = 0.004  # mass transfer to the lid [kg/(s*m^2)], Lewis relation at 4 W/(m^2*K)
CLOSE = 0.02  # change of a sweep after which no other is needed: the next would be 1e-5 [K]

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
        steep = 0.62198 * STANDARD_PRESSURE * pressure * _steepness(t)
        slope[i] = steep / dry_part / dry_part


@jit
def vapour_rows(
    layers: int,
    air_humidity: float,
    head_humidity: float,
    drip: float,
    theta: float,
    work: np.ndarray,
) -> None:
    """Water of every layer at the humidities of the iterate, what they miss, and the tangent.

    The humidity over a layer falls with the share of its water it has given off, so that a nearly
    dry one cannot promise vapour it does not have.
    """
    n = layers
    humidity = work[HUMIDITY]
    saturated = work[SATURATED]
    slope = work[SATURATED_SLOPE]
    old = work[WATER_OLD]
    water = work[WATER_NEW]
    out = work[OUT]
    below = work[FROM_BELOW]
    above = work[FROM_ABOVE]
    outside = work[FROM_OUTSIDE]
    giving = work[GIVING]
    warming = work[WARMING]
    lower = work[VAPOUR_LOWER]
    upper = work[VAPOUR_UPPER]
    right = work[VAPOUR_RIGHT]
    gained = work[SCRATCH_A]
    for i in range(n):
        gained[i] = outside[i] * air_humidity - out[i] * humidity[i]
    for i in range(1, n):
        gained[i] += below[i] * humidity[i - 1]
    for i in range(n - 1):
        gained[i] += above[i] * humidity[i + 1]
    if n > 0:
        gained[n - 1] += above[n - 1] * head_humidity + drip
    share = work[SCRATCH_B]
    for i in range(n):
        share[i] = 1.0 / max(old[i], 1e-12)
        water[i] = old[i] + theta * gained[i]
    for i in range(n):
        right[i] = saturated[i] * share[i] * water[i] - humidity[i]
        warming[i] = slope[i] * share[i] * water[i]
    for i in range(n):
        share[i] *= theta * saturated[i]
    for i in range(n):
        giving[i] = 1.0 + out[i] * share[i]
    for i in range(n):
        lower[i] = below[i] * share[i]
        upper[i] = above[i] * share[i]


@jit
def heat_rows(
    layers: int, parameters: Parameters, air_enthalpy: float, theta: float, work: np.ndarray
) -> None:
    """Residual of the heat balance of every layer and its tangent; the head-space is left out."""
    n = layers
    solids = parameters.heat_capacity_solids / theta
    temperature = work[TEMPERATURE_NEW]
    humidity = work[HUMIDITY]
    water = work[WATER_NEW]
    enthalpy = work[ENTHALPY]
    slope = work[ENTHALPY_SLOPE]
    held = work[WATER_HEAT]
    latent = work[SCRATCH_A]
    for i in range(n):
        enthalpy[i] = _enthalpy(temperature[i], humidity[i])
        slope[i] = HEAT_CAPACITY_DRY_AIR + HEAT_CAPACITY_VAPOUR * humidity[i]
    for i in range(n):
        latent[i] = LATENT_HEAT_EVAPORATION + HEAT_CAPACITY_VAPOUR * temperature[i]
        held[i] = water_enthalpy(temperature[i])
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
    latent_out = work[LATENT_OUT]
    latent_below = work[LATENT_BELOW]
    latent_above = work[LATENT_ABOVE]
    for i in range(n):
        diagonal[i] = out[i] * slope[i] + conductance[i] + conductance[i + 1] + wall[i]
    for i in range(n):
        diagonal[i] += solids * dry[i] + water[i] * water_enthalpy_slope(temperature[i]) / theta
    # water that leaves as vapour takes its warmth out of the layer's balance
    for i in range(n):
        latent_out[i] = out[i] * (latent[i] - held[i])
    for i in range(1, n):
        lower[i] = below[i] * slope[i - 1] + conductance[i]
        latent_below[i] = below[i] * (latent[i - 1] - held[i])
    for i in range(n - 1):
        upper[i] = above[i] * slope[i + 1] + conductance[i + 1]
        latent_above[i] = above[i] * (latent[i + 1] - held[i])
    for i in range(n):
        right[i] = outside[i] * air_enthalpy - out[i] * enthalpy[i] + made[i]
    for i in range(n):
        right[i] -= wall[i] * (temperature[i] - towards[i])
    for i in range(n):
        stored = water[i] * held[i] - energy[i]
        right[i] -= solids * dry[i] * temperature[i] + stored / theta
    for i in range(1, n):
        right[i] += below[i] * enthalpy[i - 1]
        right[i] += conductance[i] * (temperature[i - 1] - temperature[i])
    for i in range(n - 1):
        right[i] += above[i] * enthalpy[i + 1]
        right[i] += conductance[i + 1] * (temperature[i + 1] - temperature[i])


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
    theta = IMPLICITNESS * time_step
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
    leaving = exchange_flow + abs(flow_top) + top_exchange + 1e-30
    from_base = max(flow_top, 0.0) if n == 0 else 0.0
    drip_rate = vessel.lidded * DRIP_EXCHANGE * (vessel.top_area + bare)
    cooled = 1.0 / (p.lid_film * min(lid_resistance, wall_resistance) + 1.0)

    iterations = 0
    drip = 0.0
    head_humidity = bin_state[HEAD_HUMIDITY]
    wetted = False
    temperature = work[TEMPERATURE_NEW]
    humidity = work[HUMIDITY]
    saturated = work[SATURATED]
    slope = work[SATURATED_SLOPE]
    step = work[SOLUTION]
    humidity_step = work[VAPOUR_SOLUTION]
    gained = work[GAINED]
    coming = (inside + from_base) * air_humidity
    top = n - 1
    for sweep in range(SWEEPS):
        iterations = sweep + 1
        saturate(n, work)
        # the skin of the lid, on which vapour condenses
        skin = min(max(head - (head - lid_outside) * cooled, -40.0), HOTTEST)
        skin_pressure = _saturation_pressure(skin)
        skin_humidity = _humidity_ratio(skin_pressure, STANDARD_PRESSURE)
        skin_slope = skin_pressure * _steepness(skin) * (1.0 - cooled)
        skin_slope *= 0.62198 * STANDARD_PRESSURE / (STANDARD_PRESSURE - skin_pressure) ** 2
        if sweep == 0:
            wetted = n > 0 and drip_rate > 0.0 and head_humidity > skin_humidity
            for i in range(n):
                humidity[i] = saturated[i] * (1.0 + gained[i])
        rate = drip_rate if wetted else 0.0
        drip = rate * (head_humidity - skin_humidity)
        vapour_rows(n, air_humidity, head_humidity, drip, theta, work)
        heat_rows(n, p, air_enthalpy, theta, work)
        # the light head-space is taken at the end of the step, fully implicit; it stores no vapour
        head_enthalpy = _enthalpy(head, head_humidity)
        latent = LATENT_HEAT_EVAPORATION + HEAT_CAPACITY_VAPOUR * head
        head_slope = HEAT_CAPACITY_DRY_AIR + HEAT_CAPACITY_VAPOUR * head_humidity
        # warmth of what drips, by its mass and as the head-space warms
        warm = HEAT_CAPACITY_WATER * max(head, 0.0)
        drip_slope = (drip * HEAT_CAPACITY_WATER if head > 0.0 else 0.0) - rate * skin_slope * warm
        net = (inside + from_base) * air_enthalpy - leaving * head_enthalpy
        net -= lid_conductance * (head - lid_outside) + drip * warm
        net -= head_storage * (head - head_old)
        missing = coming + rate * skin_humidity - (leaving + rate) * head_humidity
        # of the head-space, in the terms of `solve_pairs`
        to_heat = leaving * head_slope + lid_conductance + head_storage + drip_slope
        to_latent = leaving * latent + rate * warm
        to_warming = rate * skin_slope
        to_giving = leaving + rate
        heat_by_top = 0.0
        latent_by_top = 0.0
        if n > 0:
            net += rising * work[ENTHALPY, top]
            missing += rising * humidity[top]
            heat_by_top = rising * work[ENTHALPY_SLOPE, top]
            latent_by_top = rising * work[SCRATCH_A, top]
        one = 1.0 / (to_heat * to_giving + to_latent * to_warming)
        head_step = (to_giving * net - to_latent * missing) * one
        head_rise = (to_warming * net + to_heat * missing) * one
        if n > 0:
            # how the head-space follows the top layer, and the top layer with it in turn
            heat_by_heat = to_giving * heat_by_top * one
            heat_by_vapour = (to_giving * latent_by_top - to_latent * rising) * one
            vapour_by_heat = to_warming * heat_by_top * one
            vapour_by_vapour = (to_warming * latent_by_top + to_heat * rising) * one
            held = work[WATER_HEAT, top]
            from_heat = falling * head_slope + drip_slope + rate * skin_slope * held
            from_vapour = falling * latent + rate * warm - (falling + rate) * held
            work[RIGHT, top] += falling * head_enthalpy + drip * warm
            work[RIGHT, top] += from_heat * head_step + from_vapour * head_rise
            work[DIAGONAL, top] -= from_heat * heat_by_heat + from_vapour * vapour_by_heat
            work[LATENT_OUT, top] -= from_heat * heat_by_vapour + from_vapour * vapour_by_vapour
            from_heat = -work[SCRATCH_B, top] * rate * skin_slope
            from_vapour = work[SCRATCH_B, top] * (falling + rate)
            work[VAPOUR_RIGHT, top] += from_heat * head_step + from_vapour * head_rise
            work[WARMING, top] += from_heat * heat_by_heat + from_vapour * vapour_by_heat
            work[GIVING, top] -= from_heat * heat_by_vapour + from_vapour * vapour_by_vapour
            work[RIGHT, 0] -= base_conductance * (temperature[0] - air_temperature)
            work[DIAGONAL, 0] += base_conductance
            if bottle_layer >= 0:
                warmer = bin_state[BOTTLE_TEMPERATURE] - temperature[bottle_layer]
                work[RIGHT, bottle_layer] += bottle_conductance * warmer
                work[DIAGONAL, bottle_layer] += bottle_conductance
            solve_pairs(work, n)
            head_step += heat_by_heat * step[top] + heat_by_vapour * humidity_step[top]
            head_rise += vapour_by_heat * step[top] + vapour_by_vapour * humidity_step[top]
        # freezing makes the iterates swing
        damping = 1.0 if sweep < 8 else 0.5
        change = abs(head_step)
        for i in range(n):
            change = max(change, abs(step[i]))
        head += damping * head_step
        head_humidity = max(head_humidity + damping * head_rise, 0.0)
        for i in range(n):
            humidity[i] = max(humidity[i] + damping * humidity_step[i], 0.0)
        kinked = False
        for i in range(n):
            t = temperature[i]
            new = t + damping * step[i]
            temperature[i] = within_kinks(t, new)
            kinked |= temperature[i] != new
        # whether the lid drips was a guess: if it was wrong, once more the other way
        skin_humidity += damping * skin_slope * head_step
        drips = n > 0 and drip_rate > 0.0 and head_humidity > skin_humidity
        drip = rate * max(head_humidity - skin_humidity, 0.0)
        if change < CLOSE and not kinked and (drips == wetted or sweep > 3):
            break
        wetted = drips
    # humidity at the temperatures found, one short step along its tangent
    heated = work[HEATED]
    old = work[TEMPERATURE_OLD]
    for i in range(n):
        heated[i] = temperature[i] - old[i]
    for i in range(n):
        saturated[i] = max(saturated[i] + slope[i] * step[i], 0.0)
    # fluxes at the accepted iterate: water at the full step, energy with the same humidity
    vapour_step(n, air_humidity, head_humidity, drip, time_step, work)
    water = work[WATER_NEW]
    before = work[WATER_OLD]
    for i in range(n):
        gained[i] = IMPLICITNESS * (water[i] / max(before[i], 1e-12) - 1.0)
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
