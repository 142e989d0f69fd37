"""Heat and vapour of the stack and the head-space, solved together.

A backward-Euler step of 0.55 dt is extrapolated to dt by the fluxes it finds, so that what
leaves one layer enters the next and the books close whatever the iteration leaves open.
"""

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
    ENERGY_NET,
    FLOW,
    GIVING,
    HEAT,
    HEAT_LINK,
    HUMIDITY,
    MOISTURE,
    RADIAL,
    RADIUS,
    SATURATED,
    SCRATCH_A,
    SCRATCH_B,
    SCRATCH_C,
    SCRATCH_D,
    SIDE,
    SIDE_FLOW,
    SKEW,
    TAU,
    TEMPERATURE_NEW,
    THICKNESS,
    VAPOUR_LINK,
    VAPOUR_NET,
    WALL_FLUX,
    WATER_NEW,
)
from slowfire.column.enthalpy import FREEZING_SPAN, water_enthalpy, water_enthalpy_slope
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    BOTTLE_CAPACITY,
    BOTTLE_LAYER,
    BOTTLE_TEMPERATURE,
    CENTRE_MINUS_EDGE,
    COVER_RESISTANCE,
    FILL_HEIGHT,
    HEAD_HUMIDITY,
    HEAD_TEMPERATURE,
    HEAD_TEMPERATURE_BEFORE,
    L_HEAT_BASE,
    L_HEAT_BOTTLE,
    L_HEAT_GAS,
    L_HEAT_LID,
    L_HEAT_WALL,
    L_VAPOUR_OUT,
    LAYER_NUMBER,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
    WATER,
)
from slowfire.column.vapour import vapour_solve
from slowfire.constants import (
    HEAT_CAPACITY_DRY_AIR,
    HEAT_CAPACITY_VAPOUR,
    HEAT_CAPACITY_WATER,
    LATENT_HEAT_EVAPORATION,
    STANDARD_PRESSURE,
)
from slowfire.physics import heat, moist_air, water
from slowfire.vessel import Vessel

IMPLICITNESS = 0.55
SWEEPS = 30  # more than freezing ever needed
HOTTEST = 99.0  # vapour pressure is not followed to boiling [C]
DRIP_EXCHANGE = 0.004  # mass transfer to the lid [kg/(s*m^2)], Lewis relation at 4 W/(m^2*K)

_saturation_pressure = scalar(moist_air.saturation_pressure_in_air)
_saturation_slope = scalar(moist_air.saturation_pressure_in_air_slope)
_humidity_ratio = scalar(moist_air.humidity_ratio)
_enthalpy = scalar(moist_air.enthalpy_moist_air)
_vapour_diffusivity = scalar(moist_air.vapour_diffusivity)
_vapour_exchange = scalar(water.vapour_exchange)
_conductivity = scalar(heat.conductivity_compost)
_film = scalar(heat.outer_film_coefficient)
_sol_air = scalar(heat.sol_air_temperature)
_time_constant = scalar(heat.cross_section_time_constant)


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
        air_temperature, irradiance * vessel.sun_share, vessel.absorptance, film
    )
    lid_outside = _sol_air(
        air_temperature, irradiance * min(2.0 * vessel.sun_share, 1.0), vessel.absorptance, film
    )
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

    top_area = vessel.top_area
    for i in range(n):
        row = state[i]
        t = row[TEMPERATURE]
        conductivity = p.conductivity_factor * _conductivity(work[MOISTURE, i], work[BULK, i])
        hot = min(max(t, -20.0), HOTTEST)
        pressure = _saturation_pressure(hot)
        density = 353.0 / (t + 273.15)
        slope = (
            0.62198
            * STANDARD_PRESSURE
            / (STANDARD_PRESSURE - pressure) ** 2
            * _saturation_slope(hot)
        )
        exchange = _vapour_exchange(
            work[AIR_SPACE, i],
            _vapour_diffusivity(t),
            density,
            work[AREA, i],
            0.5 * work[THICKNESS, i],
            p.vapour_enhancement,
        )
        work[SCRATCH_D, i] = exchange
        work[HEAT_LINK, i] = conductivity * work[AREA, i] / (0.5 * work[THICKNESS, i])
        # vapour carries heat across the section as well
        carried = (
            p.vapour_enhancement
            * work[AIR_SPACE, i]
            * _vapour_diffusivity(t)
            * density
            * slope
            * work[ACTIVITY, i]
            * LATENT_HEAT_EVAPORATION
        )
        radial = conductivity + carried
        capacity = (
            p.heat_capacity_solids * work[DRY, i] + water_enthalpy_slope(t) * row[WATER]
        ) / (work[AREA, i] * work[THICKNESS, i])
        work[RADIAL, i] = work[RADIUS, i] / (4.0 * radial)
        work[TAU, i] = _time_constant(work[RADIUS, i], radial / max(capacity, 1.0))
        work[TEMPERATURE_NEW, i] = t + IMPLICITNESS * (t - row[TEMPERATURE_BEFORE])
        work[WATER_NEW, i] = row[WATER]
        work[ENERGY, i] = p.heat_capacity_solids * work[DRY, i] * t + row[WATER] * water_enthalpy(t)
        work[VAPOUR_NET, i] = 0.0
        top_area = work[AREA, i]
    for i in range(1, n):
        a = work[SCRATCH_D, i - 1]
        b = work[SCRATCH_D, i]
        work[VAPOUR_LINK, i] = a * b / (a + b + 1e-30)
        a = work[HEAT_LINK, i - 1]
        b = work[HEAT_LINK, i]
        work[CONDUCTANCE, i] = a * b / (a + b)
    top_exchange = p.head_exchange * top_area / HEAT_CAPACITY_DRY_AIR
    if n > 0:
        # to the head-space: half a layer in series with the surface film
        inner = work[HEAT_LINK, n - 1]
        surface = p.head_exchange * top_area
        sensible = inner * surface / (inner + surface)
        top_exchange *= sensible / surface
        work[VAPOUR_LINK, n] = top_exchange
    head_capacity = p.head_capacity * vessel.top_area
    head_old = bin_state[HEAD_TEMPERATURE]
    head = head_old
    head_humidity = bin_state[HEAD_HUMIDITY]
    flow_top = work[FLOW, n]
    base_conductance = 0.0
    if n > 0:
        base_conductance = work[AREA, 0] / (
            vessel.base_resistance + work[AREA, 0] / work[HEAT_LINK, 0]
        )
    bottle_conductance = 0.0
    bottle_layer = -1
    if bin_state[BOTTLE_CAPACITY] > 0.0:
        for i in range(n):
            if state[i, LAYER_NUMBER] == bin_state[BOTTLE_LAYER]:
                bottle_layer = i
        if bottle_layer < 0 and n > 0:
            bottle_layer = n - 1
        share = p.bottle_conductance * time_step / bin_state[BOTTLE_CAPACITY]
        bottle_conductance = bin_state[BOTTLE_CAPACITY] * -np.expm1(-share) / time_step

    iterations = 0
    drip = 0.0
    for sweep in range(SWEEPS):
        iterations = sweep + 1
        last = sweep == SWEEPS - 1
        for i in range(n):
            t = min(max(work[TEMPERATURE_NEW, i], -40.0), HOTTEST)
            pressure = work[ACTIVITY, i] * _saturation_pressure(t)
            work[SATURATED, i] = _humidity_ratio(pressure, STANDARD_PRESSURE)
        # water given off and taken up at these temperatures, so that a nearly dry layer
        # cannot promise vapour it does not have
        vapour_solve(state, n, air_humidity, head_humidity, drip, theta, work)
        for i in range(n):
            t = min(max(work[TEMPERATURE_NEW, i], -40.0), HOTTEST)
            pressure = work[ACTIVITY, i] * _saturation_pressure(t)
            # slope of the humidity ratio with temperature, less what drying takes back
            work[SCRATCH_C, i] = (
                0.62198
                * STANDARD_PRESSURE
                / (STANDARD_PRESSURE - pressure) ** 2
                * work[ACTIVITY, i]
                * _saturation_slope(t)
                * work[WATER_NEW, i]
                / max(state[i, WATER], 1e-12)
                / work[GIVING, i]
            )
        # head-space humidity: everything that reaches it leaves it or drips back
        coming = exchange_flow * air_humidity
        leaving = exchange_flow
        if flow_top > 0.0:
            leaving += flow_top
            coming += flow_top * (work[HUMIDITY, n - 1] if n > 0 else air_humidity)
        else:
            leaving -= flow_top
            coming -= flow_top * air_humidity
        if n > 0:
            leaving += top_exchange
            coming += top_exchange * work[HUMIDITY, n - 1]
        head_humidity = coming / (leaving + 1e-30)
        skin = head - (head - lid_outside) * (1.0 / p.lid_film) / (
            min(lid_resistance, wall_resistance) + 1.0 / p.lid_film
        )
        skin_humidity = _humidity_ratio(
            _saturation_pressure(min(max(skin, -40.0), HOTTEST)), STANDARD_PRESSURE
        )
        drip = 0.0
        head_slope = 0.0
        if vessel.lidded > 0.0 and n > 0 and head_humidity > skin_humidity:
            rate = DRIP_EXCHANGE * (vessel.top_area + bare)
            head_humidity = (coming + rate * skin_humidity) / (leaving + rate)
            drip = rate * (head_humidity - skin_humidity)
            # a wetted lid ties humidity to the temperature of the head-space
            skin_pressure = _saturation_pressure(min(max(skin, -40.0), HOTTEST))
            head_slope = (
                LATENT_HEAT_EVAPORATION
                * rate
                / (leaving + rate)
                * 0.62198
                * STANDARD_PRESSURE
                / (STANDARD_PRESSURE - skin_pressure) ** 2
                * _saturation_slope(min(max(skin, -40.0), HOTTEST))
            )
        # residual and Jacobian
        change = 0.0
        for i in range(n + 1):
            if i < n:
                t = work[TEMPERATURE_NEW, i]
                x = work[HUMIDITY, i]
                own = _enthalpy(t, x)
                own_slope = (
                    HEAT_CAPACITY_DRY_AIR
                    + HEAT_CAPACITY_VAPOUR * x
                    + (LATENT_HEAT_EVAPORATION + HEAT_CAPACITY_VAPOUR * t) * work[SCRATCH_C, i]
                )
            else:
                t = head
                x = head_humidity
                own = _enthalpy(t, x)
                own_slope = HEAT_CAPACITY_DRY_AIR + HEAT_CAPACITY_VAPOUR * x + head_slope
            net = 0.0
            diagonal = 0.0
            lower = 0.0
            upper = 0.0
            # face below
            below_flow = work[FLOW, i]
            if i > 0:
                tb = work[TEMPERATURE_NEW, i - 1]
                xb = work[HUMIDITY, i - 1]
                below = _enthalpy(tb, xb)
                below_slope = (
                    HEAT_CAPACITY_DRY_AIR
                    + HEAT_CAPACITY_VAPOUR * xb
                    + (LATENT_HEAT_EVAPORATION + HEAT_CAPACITY_VAPOUR * tb) * work[SCRATCH_C, i - 1]
                )
                link = work[VAPOUR_LINK, i]
                conduct = work[CONDUCTANCE, i] if i < n else 0.0
                inward = max(below_flow, 0.0) + link
                outward = max(-below_flow, 0.0) + link
                net += inward * below - outward * own + conduct * (tb - t)
                diagonal += outward * own_slope + conduct
                lower = inward * below_slope + conduct
            else:
                inward = max(below_flow, 0.0)
                outward = max(-below_flow, 0.0)
                net += inward * air_enthalpy - outward * own
                diagonal += outward * own_slope
            if i < n:
                # face above
                above_flow = work[FLOW, i + 1]
                link = work[VAPOUR_LINK, i + 1]
                if i + 1 < n:
                    ta = work[TEMPERATURE_NEW, i + 1]
                    xa = work[HUMIDITY, i + 1]
                    conduct = work[CONDUCTANCE, i + 1]
                    above_slope = (
                        HEAT_CAPACITY_DRY_AIR
                        + HEAT_CAPACITY_VAPOUR * xa
                        + (LATENT_HEAT_EVAPORATION + HEAT_CAPACITY_VAPOUR * ta)
                        * work[SCRATCH_C, i + 1]
                    )
                else:
                    ta = head
                    xa = head_humidity
                    conduct = 0.0
                    above_slope = HEAT_CAPACITY_DRY_AIR + HEAT_CAPACITY_VAPOUR * xa + head_slope
                above = _enthalpy(ta, xa)
                inward = max(-above_flow, 0.0) + link
                outward = max(above_flow, 0.0) + link
                net += inward * above - outward * own + conduct * (ta - t)
                diagonal += outward * own_slope + conduct
                upper = inward * above_slope + conduct
                # side entry
                side = work[SIDE_FLOW, i]
                net += max(side, 0.0) * air_enthalpy - max(-side, 0.0) * own
                diagonal += max(-side, 0.0) * own_slope
                # wall, through the part of the section between mean and edge
                b = theta / work[TAU, i]
                resistance = wall_resistance + b * work[RADIAL, i] / (1.0 + b)
                half = 0.5 * state[i, CENTRE_MINUS_EDGE] / (1.0 + b)
                flux = (t - wall_outside - half) / resistance
                work[WALL_FLUX, i] = flux
                net -= flux * work[SIDE, i]
                diagonal += work[SIDE, i] / resistance
                if i == 0:
                    net -= base_conductance * (t - air_temperature)
                    diagonal += base_conductance
                if i == bottle_layer:
                    net += bottle_conductance * (bin_state[BOTTLE_TEMPERATURE] - t)
                    diagonal += bottle_conductance
                net += work[HEAT, i]
                if i == n - 1:
                    net += drip * HEAT_CAPACITY_WATER * max(head, 0.0)
                capacity = p.heat_capacity_solids * work[DRY, i]
                wet = state[i, WATER] + theta * work[VAPOUR_NET, i]
                residual = (capacity * t + wet * water_enthalpy(t) - work[ENERGY, i]) / theta - net
                diagonal += (capacity + wet * water_enthalpy_slope(t)) / theta
            else:
                leak = exchange_flow + max(flow_top, 0.0)
                inside = exchange_flow + max(-flow_top, 0.0)
                net += inside * air_enthalpy - leak * own
                diagonal += leak * own_slope
                net -= lid_conductance * (head - lid_outside)
                diagonal += lid_conductance
                net -= drip * HEAT_CAPACITY_WATER * max(head, 0.0)
                # the light head-space is taken at the end of the step, fully implicit
                residual = head_capacity * (head - head_old) / time_step - net
                diagonal += head_capacity / time_step
            work[ENERGY_NET, i] = net
            # Thomas elimination of  diagonal dT_i - lower dT_below - upper dT_above = -residual
            right = -residual
            if i > 0:
                factor = lower / work[SCRATCH_A, i - 1]
                diagonal -= factor * work[SCRATCH_D, i - 1]
                right += factor * work[SCRATCH_B, i - 1]
            work[SCRATCH_A, i] = diagonal
            work[SCRATCH_B, i] = right
            work[SCRATCH_D, i] = upper
        if last:
            break
        step = 0.0
        # water follows temperature one sweep behind, which can make the iterates swing
        damping = 1.0 if sweep < 8 else 0.5
        for j in range(n + 1):
            i = n - j
            step = (work[SCRATCH_B, i] + (work[SCRATCH_D, i] * step if j > 0 else 0.0)) / work[
                SCRATCH_A, i
            ]
            change = max(change, abs(step))
            if i < n:
                t = work[TEMPERATURE_NEW, i]
                work[TEMPERATURE_NEW, i] = within_kinks(t, t + damping * step)
            else:
                head += damping * step
        if change < 1e-3 and sweep > 0:
            break
    # fluxes at the accepted iterate: water at the full step, energy with the same humidity
    vapour_solve(state, n, air_humidity, head_humidity, drip, time_step, work)
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


@jit
def finish_fluxes(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    air_temperature: float,
    air_humidity: float,
    air_enthalpy: float,
    wall_outside: float,
    wall_resistance: float,
    base_conductance: float,
    bottle_conductance: float,
    bottle_layer: int,
    exchange_flow: float,
    head: float,
    drip: float,
    time_step: float,
    work: np.ndarray,
    ledger: np.ndarray,
) -> None:
    """Apply the fluxes found, face by face, to water and enthalpy, and write the books."""
    n = layers
    p = parameters
    theta = IMPLICITNESS * time_step
    # the head-space stores no vapour: what reaches it and does not drip leaves it
    flow_top = work[FLOW, n]
    coming = (exchange_flow + max(-flow_top, 0.0)) * air_humidity
    leaving = exchange_flow + abs(flow_top)
    if n > 0:
        coming += (max(flow_top, 0.0) + work[VAPOUR_LINK, n]) * work[HUMIDITY, n - 1]
        leaving += work[VAPOUR_LINK, n]
    else:
        coming += max(flow_top, 0.0) * air_humidity
    head_humidity = (coming - drip) / (leaving + 1e-30)
    head_enthalpy = _enthalpy(head, head_humidity)
    for i in range(n):
        work[ENERGY_NET, i] = work[HEAT, i]
        work[VAPOUR_NET, i] = 0.0
    head_net = 0.0
    gas_heat = 0.0
    vapour_out = 0.0
    for i in range(n + 1):
        flow = work[FLOW, i]
        if i == 0:
            down = air_enthalpy
            down_humidity = air_humidity
            link = 0.0
            conduct = 0.0
        else:
            down = _enthalpy(work[TEMPERATURE_NEW, i - 1], work[HUMIDITY, i - 1])
            down_humidity = work[HUMIDITY, i - 1]
            link = work[VAPOUR_LINK, i]
            conduct = work[CONDUCTANCE, i] if i < n else 0.0
        if i < n:
            up = _enthalpy(work[TEMPERATURE_NEW, i], work[HUMIDITY, i])
            up_humidity = work[HUMIDITY, i]
        else:
            up = head_enthalpy
            up_humidity = head_humidity
        rise = max(flow, 0.0) + link
        fall = max(-flow, 0.0) + link
        energy = rise * down - fall * up
        vapour = rise * down_humidity - fall * up_humidity
        if conduct > 0.0:
            energy += conduct * (work[TEMPERATURE_NEW, i - 1] - work[TEMPERATURE_NEW, i])
        if i > 0:
            work[ENERGY_NET, i - 1] -= energy
            work[VAPOUR_NET, i - 1] -= vapour
        else:
            gas_heat -= energy
            vapour_out -= vapour
        if i < n:
            work[ENERGY_NET, i] += energy
            work[VAPOUR_NET, i] += vapour
        else:
            head_net += energy
    wall_heat = 0.0
    for i in range(n):
        t = work[TEMPERATURE_NEW, i]
        side = work[SIDE_FLOW, i]
        inward = max(side, 0.0)
        outward = max(-side, 0.0)
        own = _enthalpy(t, work[HUMIDITY, i])
        energy = inward * air_enthalpy - outward * own
        vapour = inward * air_humidity - outward * work[HUMIDITY, i]
        b = theta / work[TAU, i]
        resistance = wall_resistance + b * work[RADIAL, i] / (1.0 + b)
        half = 0.5 * state[i, CENTRE_MINUS_EDGE] / (1.0 + b)
        flux = (t - wall_outside - half) / resistance
        work[WALL_FLUX, i] = flux
        work[ENERGY_NET, i] += energy - flux * work[SIDE, i]
        work[VAPOUR_NET, i] += vapour
        wall_heat += flux * work[SIDE, i]
        gas_heat -= energy
        vapour_out -= vapour
        # air drawn in at the side cools the edge first, towards but never below the air
        drawn = inward * max(own - air_enthalpy, 0.0) / max(t - air_temperature, 0.5)
        edge = 1.0 / wall_resistance + drawn / work[SIDE, i]
        # exact relaxation towards the parabola that this edge, and heat made unevenly across the
        # section, would keep: a centre past its best makes less and falls back
        pull = work[RADIAL, i] * edge
        capacity = p.heat_capacity_solids * work[DRY, i] + HEAT_CAPACITY_WATER * state[i, WATER]
        uneven = work[HEAT, i] * work[SKEW, i] / max(capacity, 1e-9)
        settled = (2.0 * pull * (t - wall_outside) + uneven * work[TAU, i]) / (1.0 + pull)
        state[i, CENTRE_MINUS_EDGE] = settled + (state[i, CENTRE_MINUS_EDGE] - settled) * np.exp(
            -(1.0 + pull) * time_step / work[TAU, i]
        )
    base_heat = 0.0
    bottle_heat = 0.0
    if n > 0:
        base_heat = base_conductance * (work[TEMPERATURE_NEW, 0] - air_temperature)
        work[ENERGY_NET, 0] -= base_heat
        if bottle_layer >= 0:
            bottle_heat = bottle_conductance * (
                bin_state[BOTTLE_TEMPERATURE] - work[TEMPERATURE_NEW, bottle_layer]
            )
            work[ENERGY_NET, bottle_layer] += bottle_heat
            bin_state[BOTTLE_TEMPERATURE] -= bottle_heat * time_step / bin_state[BOTTLE_CAPACITY]
        drip_heat = drip * HEAT_CAPACITY_WATER * max(head, 0.0)
        work[ENERGY_NET, n - 1] += drip_heat
        work[VAPOUR_NET, n - 1] += drip
        head_net -= drip_heat
    out = exchange_flow + max(flow_top, 0.0)
    inside = exchange_flow + max(-flow_top, 0.0)
    gone = out * head_enthalpy - inside * air_enthalpy
    head_net -= gone
    gas_heat += gone
    vapour_out += out * head_humidity - inside * air_humidity
    # what the iteration leaves open at the head-space is booked with the heat through the lid
    stored = p.head_capacity * vessel.top_area * (head - bin_state[HEAD_TEMPERATURE])
    lid_heat = head_net - stored / time_step
    bin_state[HEAD_TEMPERATURE_BEFORE] = bin_state[HEAD_TEMPERATURE]
    bin_state[HEAD_TEMPERATURE] = head
    bin_state[HEAD_HUMIDITY] = head_humidity
    for i in range(n):
        work[ENERGY, i] += work[ENERGY_NET, i] * time_step
        state[i, WATER] += work[VAPOUR_NET, i] * time_step
    ledger[L_HEAT_WALL] += wall_heat * time_step
    ledger[L_HEAT_LID] += lid_heat * time_step
    ledger[L_HEAT_BASE] += base_heat * time_step
    ledger[L_HEAT_GAS] += gas_heat * time_step
    ledger[L_HEAT_BOTTLE] += bottle_heat * time_step
    ledger[L_VAPOUR_OUT] += vapour_out * time_step
