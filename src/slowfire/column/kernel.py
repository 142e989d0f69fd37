"""One time step of the whole column, and many of them in a row, compiled.

Order of a step: geometry, draft, rates, oxygen, pools, heat and vapour, drainage.
"""

import numpy as np

from slowfire.column.compiled import exponential, jit, one_less, scalar
from slowfire.column.draft import (
    CORE_DEMAND,
    DRY,
    ENERGY,
    HEATED,
    MOISTURE,
    N_WORK,
    OXYGEN_TERM,
    REACHED,
    SCRATCH_D,
    TEMPERATURE_OLD,
    WAITING,
    draft,
    geometry,
)
from slowfire.column.drainage import drain_step, settle_temperatures, wick_step
from slowfire.column.enthalpy import temperature_of_enthalpy, water_enthalpy
from slowfire.column.gas import ammonia_step, carbon_dioxide_step, gas_links, oxygen_step
from slowfire.column.heat_water import IMPLICITNESS, heat_vapour_step
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    ASH,
    CENTRE,
    CENTRE_MINUS_EDGE,
    CHANNELS,
    CURRENT,
    DEGREE_LOW,
    DRY_HOURS,
    HEAD_TEMPERATURE,
    HEAD_TEMPERATURE_BEFORE,
    HOUR,
    L_CARBON_DIOXIDE,
    L_DENITRIFIED,
    L_HEAT_BIOLOGY,
    L_HEAT_LOADED,
    L_METHANE,
    L_NITROUS_OXIDE,
    L_OXYGEN_USED,
    L_POOL_LOST,
    L_WATER_IN,
    L_WATER_MADE,
    LAST_STEP,
    LONGEST,
    N_DEGREES,
    N_STATE,
    RAPID,
    RESISTANT,
    REVERSED_HOURS,
    ROOFED,
    SETTLED,
    SLOW,
    SLUMPED,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
    TOTAL,
    TUB_WATER,
    VENT_FLOW,
    VENT_OPENING,
    WATER,
    WOOD,
)
from slowfire.column.rates import advance_pools, potential_rates
from slowfire.constants import STANDARD_PRESSURE
from slowfire.physics import moist_air
from slowfire.vessel import Vessel

HOUR_SECONDS = 3600.0
N_COLUMN = 5
STILL_AIR = 0.2  # wind that would pump as much as buoyancy does [m/s]

_saturation_pressure = scalar(moist_air.saturation_pressure_in_air)
_humidity_ratio = scalar(moist_air.humidity_ratio)


@jit
def dry_mass(row: np.ndarray) -> float:
    """Dry mass of a layer [kg]."""
    return row[RAPID] + row[SLOW] + row[RESISTANT] + row[WOOD] + row[ASH]


@jit
def layer_enthalpy(row: np.ndarray, heat_capacity_solids: float) -> float:
    """Enthalpy of one layer above solids and liquid water at 0 C [J]."""
    return heat_capacity_solids * dry_mass(row) * row[TEMPERATURE] + row[WATER] * water_enthalpy(
        row[TEMPERATURE]
    )


@jit
def sensible_heat(state: np.ndarray, layers: int, heat_capacity_solids: float) -> float:
    """Enthalpy of all layers above solids and liquid water at 0 C [J]."""
    total = 0.0
    for i in range(layers):
        total += layer_enthalpy(state[i], heat_capacity_solids)
    return total


@jit
def warmths(
    state: np.ndarray,
    layers: int,
    heat_capacity_solids: float,
    dry: np.ndarray,
    enthalpy: np.ndarray,
) -> None:
    """Dry mass [kg] and enthalpy [J] of every layer."""
    for i in range(layers):
        dry[i] = state[i, RAPID] + state[i, SLOW] + state[i, RESISTANT] + state[i, WOOD]
    for i in range(layers):
        dry[i] += state[i, ASH]
        solids = heat_capacity_solids * dry[i] * state[i, TEMPERATURE]
        enthalpy[i] = solids + state[i, WATER] * water_enthalpy(state[i, TEMPERATURE])


@jit
def lid_exchange_flow(
    vessel: Vessel, parameters: Parameters, vent_opening: float, wind_speed: float
) -> float:
    """Two-way exchange of air between head-space and outside [kg/s].

    Gusts pump air through any opening; in still air its own buoyancy moves a little.
    """
    opening = vessel.vent_slot_length * vent_opening + vessel.lid_leak_area
    gusts = STILL_AIR + wind_speed * vessel.wind_share
    return vessel.lid_exchange * vessel.top_area + parameters.vent_exchange * opening * gusts


@jit
def write_heat(history: np.ndarray, layer: int, place: int, reached: int, hours: float) -> None:
    """Add hours at a temperature to the history of one place; `reached` degrees were exceeded."""
    for degree in range(reached):
        history[layer, place, degree, TOTAL] += hours
        run = history[layer, place, degree, CURRENT] + hours
        history[layer, place, degree, CURRENT] = run
        if run > history[layer, place, degree, LONGEST]:
            history[layer, place, degree, LONGEST] = run
    # runs are nested: once one is zero, all hotter ones are
    degree = reached
    while degree < N_DEGREES and history[layer, place, degree, CURRENT] > 0.0:
        history[layer, place, degree, CURRENT] = 0.0
        degree += 1


@jit
def record_heat(
    state: np.ndarray,
    layers: int,
    history: np.ndarray,
    work: np.ndarray,
    too_dry: float,
    hours: float,
) -> None:
    """Add one step to the heat history of every layer, at its centre and at its edge.

    Steps that reach the same degree are gathered in the work array and written together.
    """
    for place in range(2):
        side = 0.5 if place == CENTRE else -0.5
        reached = work[REACHED + place]
        waiting = work[WAITING + place]
        for i in range(layers):
            t = state[i, TEMPERATURE] + side * state[i, CENTRE_MINUS_EDGE]
            degrees = min(max(np.floor(t) - (DEGREE_LOW - 1.0), 0.0), float(N_DEGREES))
            if degrees != reached[i]:
                if waiting[i] > 0.0:
                    write_heat(history, i, place, int(reached[i]), waiting[i])
                reached[i] = degrees
                waiting[i] = 0.0
            waiting[i] += hours
    for i in range(layers):
        warm = max(work[REACHED, i], work[REACHED + 1, i]) > 0.0
        if warm and work[MOISTURE, i] < too_dry:
            state[i, DRY_HOURS] += hours


@jit
def write_waiting_heat(layers: int, history: np.ndarray, work: np.ndarray) -> None:
    """Write what `record_heat` has gathered."""
    for place in range(2):
        for i in range(layers):
            reached = int(work[REACHED + place, i])
            write_heat(history, i, place, reached, work[WAITING + place, i])
            work[WAITING + place, i] = 0.0


@jit
def step(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    history: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    yields: np.ndarray,
    air: np.ndarray,
    time_step: float,
    work: np.ndarray,
    column: np.ndarray,
    totals: np.ndarray,
    ledger: np.ndarray,
) -> None:
    """Advance one bin by `time_step`.

    `air` holds temperature, humidity, wind, rain, sun on the level and on walls.
    """
    n = layers
    p = parameters
    days = time_step / 86400.0
    temperature = air[0]
    vapour_pressure = air[1] * _saturation_pressure(temperature)
    humidity = _humidity_ratio(vapour_pressure, STANDARD_PRESSURE)
    exchange = lid_exchange_flow(vessel, p, bin_state[VENT_OPENING], air[2])

    rain = air[3] / HOUR_SECONDS  # kg/(s*m^2)
    if rain > 0.0 and bin_state[ROOFED] < 1.0:
        bin_state[TUB_WATER] += rain * vessel.tub_rain_area * time_step
        share = vessel.rain_share
        if vessel.lidded > 0.0:
            # an open lid lets rain in as its slot grows past a hand's breadth
            share = max(share, min(1.0, max(bin_state[VENT_OPENING] - 0.02, 0.0) / 0.2))
        caught = rain * share * vessel.top_area * time_step
        if vessel.side_open >= 1.0:
            caught = rain * share * vessel.base_area * time_step
        if n > 0 and caught > 0.0:
            top = state[n - 1]
            solids = p.heat_capacity_solids * dry_mass(top)
            warmth = caught * water_enthalpy(max(temperature, 0.0))
            held = layer_enthalpy(top, p.heat_capacity_solids)
            top[WATER] += caught
            top[TEMPERATURE] = temperature_of_enthalpy(held + warmth, solids, top[WATER])
            ledger[L_WATER_IN] += caught
            ledger[L_HEAT_LOADED] += warmth

    geometry(state, n, bin_state, vessel, p, work)
    draft(state, n, bin_state, vessel, p, temperature, vapour_pressure, air[2], work)
    potential_rates(state, n, p, yields[0], time_step, work)
    gas_links(state, n, bin_state, vessel, work, ledger)
    oxygen_step(
        state, n, bin_state, p.oxygen_half_saturation, exchange, time_step, work, column, ledger
    )
    totals[:] = 0.0
    before = work[ENERGY]
    warmths(state, n, p.heat_capacity_solids, work[DRY], before)
    advance_pools(
        state,
        n,
        p,
        yields,
        time_step,
        work[OXYGEN_TERM],
        work,
        totals,
    )
    ledger[L_OXYGEN_USED] += totals[0]
    ledger[L_CARBON_DIOXIDE] += totals[1]
    ledger[L_WATER_MADE] += totals[2]
    # products take over the warmth of what they are made from; the difference is booked here
    after = work[TEMPERATURE_OLD]
    warmths(state, n, p.heat_capacity_solids, work[DRY], after)
    converted = 0.0
    for i in range(n):
        converted += after[i] - before[i]
    ledger[L_HEAT_BIOLOGY] += totals[3] + converted
    for pool in range(4):
        ledger[L_POOL_LOST + pool] += totals[4 + pool]
    ledger[L_NITROUS_OXIDE] += p.nitrous_oxide_share * totals[8]
    ledger[L_DENITRIFIED] += totals[9]
    ledger[L_METHANE] += p.methane_share * work[CORE_DEMAND, :n].sum() * time_step
    carbon_dioxide_step(state, n, bin_state, work[SCRATCH_D], work, column)
    ammonia_step(state, n, p, time_step, work, column, ledger)
    heat_vapour_step(
        state,
        n,
        bin_state,
        vessel,
        p,
        temperature,
        humidity,
        air[2],
        air[4],
        air[5],
        exchange,
        time_step,
        work,
        ledger,
    )
    drain_step(state, n, bin_state, p, time_step, work, ledger)
    wick_step(state, n, p, time_step, work)
    settle_temperatures(state, n, p, work)
    settling = -one_less(-days / p.settling_time)
    kept = exponential(-days / p.channel_time)
    moisture = work[MOISTURE]
    for i in range(n):
        state[i, SETTLED] += (1.0 - state[i, SETTLED]) * settling
        # wet matter slumps; drying does not lift it again
        wetness = min(max((moisture[i] - 0.35) / 0.35, 0.0), 1.0)
        state[i, SLUMPED] += max(wetness - state[i, SLUMPED], 0.0) * settling
        state[i, CHANNELS] *= kept
    if bin_state[VENT_FLOW] < 0.0:
        bin_state[REVERSED_HOURS] += time_step / HOUR_SECONDS
    record_heat(state, n, history, work, p.too_dry, time_step / HOUR_SECONDS)


@jit
def advance(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    history: np.ndarray,
    vessel: Vessel,
    parameters: Parameters,
    yields: np.ndarray,
    ambient: np.ndarray,
    hours: float,
    time_step: float,
    ledger: np.ndarray,
) -> None:
    """Run one bin for `hours` at a fixed step, interpolating the hourly weather.

    `ambient` has shape (hours of weather, 6), from hour 0 of the run; past its end the last hour
    holds.
    """
    work = np.zeros((N_WORK, layers + 2))
    column = np.zeros((N_COLUMN, layers + 2))
    totals = np.zeros(10)
    air = np.zeros(6)
    steps = max(int(np.ceil(hours * HOUR_SECONDS / time_step - 1e-9)), 1)
    exact = hours * HOUR_SECONDS / steps
    start = bin_state[HOUR]
    if bin_state[LAST_STEP] > 0.0:
        # what is looked ahead by belongs to a step of the length now used
        ratio = exact / bin_state[LAST_STEP]
        for i in range(layers):
            rise = state[i, TEMPERATURE] - state[i, TEMPERATURE_BEFORE]
            state[i, TEMPERATURE_BEFORE] = state[i, TEMPERATURE] - ratio * rise
        rise = bin_state[HEAD_TEMPERATURE] - bin_state[HEAD_TEMPERATURE_BEFORE]
        bin_state[HEAD_TEMPERATURE_BEFORE] = bin_state[HEAD_TEMPERATURE] - ratio * rise
    bin_state[LAST_STEP] = exact
    for i in range(layers):
        rise = state[i, TEMPERATURE] - state[i, TEMPERATURE_BEFORE]
        work[HEATED, i] = IMPLICITNESS * rise
    # laid out by quantity instead of by layer, so that loops over layers can become vectors
    turned = np.empty((N_STATE, layers))
    for j in range(N_STATE):
        for i in range(layers):
            turned[j, i] = state[i, j]
    inside = turned.T
    last = ambient.shape[0] - 1
    for k in range(steps):
        middle = start + (k + 0.5) * exact / HOUR_SECONDS
        low = min(max(int(middle), 0), last)
        high = min(low + 1, last)
        part = min(max(middle - low, 0.0), 1.0)
        for j in range(6):
            air[j] = ambient[low, j] + part * (ambient[high, j] - ambient[low, j])
        air[3] = ambient[low, 3]
        step(
            inside,
            layers,
            bin_state,
            history,
            vessel,
            parameters,
            yields,
            air,
            exact,
            work,
            column,
            totals,
            ledger,
        )
    write_waiting_heat(layers, history, work)
    for j in range(N_STATE):
        for i in range(layers):
            state[i, j] = turned[j, i]
    bin_state[HOUR] = start + hours
