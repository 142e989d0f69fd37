"""What crosses every face in a step, applied to water and heat and written into the books."""

import numpy as np

from slowfire.column.compiled import exponential, jit, scalar
from slowfire.column.draft import (
    CONDUCTANCE,
    DRY,
    ENERGY,
    ENERGY_NET,
    ENTHALPY,
    FLOW,
    FROM_ABOVE,
    FROM_BELOW,
    HEAT,
    HUMIDITY,
    RADIAL,
    SCRATCH_A,
    SCRATCH_B,
    SIDE,
    SIDE_FLOW,
    SKEW,
    TAU,
    TEMPERATURE_NEW,
    VAPOUR_LINK,
    VAPOUR_NET,
    WALL,
    WALL_SIDE,
    WATER_OLD,
)
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    BOTTLE_CAPACITY,
    BOTTLE_TEMPERATURE,
    CENTRE_MINUS_EDGE,
    HEAD_HUMIDITY,
    HEAD_TEMPERATURE,
    HEAD_TEMPERATURE_BEFORE,
    L_HEAT_BASE,
    L_HEAT_BOTTLE,
    L_HEAT_GAS,
    L_HEAT_LID,
    L_HEAT_WALL,
    L_VAPOUR_OUT,
    WATER,
)
from slowfire.constants import HEAT_CAPACITY_WATER
from slowfire.physics import moist_air
from slowfire.vessel import Vessel

_enthalpy = scalar(moist_air.enthalpy_moist_air)


@jit
def settle_sections(
    state: np.ndarray,
    layers: int,
    parameters: Parameters,
    air_temperature: float,
    air_enthalpy: float,
    wall_outside: float,
    wall_resistance: float,
    time_step: float,
    work: np.ndarray,
) -> None:
    """Centre minus edge of every layer at the end of the step."""
    n = layers
    solids = parameters.heat_capacity_solids
    temperature = work[TEMPERATURE_NEW]
    enthalpy = work[ENTHALPY]
    side_flow = work[SIDE_FLOW]
    side = work[SIDE]
    pull = work[SCRATCH_A]
    for i in range(n):
        # air drawn in at the side cools the edge first, towards but never below the air
        warmed = max(enthalpy[i] - air_enthalpy, 0.0)
        drawn = max(side_flow[i], 0.0) * warmed / max(temperature[i] - air_temperature, 0.5)
        pull[i] = 1.0 / wall_resistance + drawn / side[i]
    bed = work[RADIAL]
    for i in range(n):
        pull[i] *= bed[i]
    # heat made unevenly across the section: a centre past its best makes less and falls back
    uneven = work[SCRATCH_B]
    made = work[HEAT]
    skew = work[SKEW]
    dry = work[DRY]
    water = work[WATER_OLD]
    tau = work[TAU]
    for i in range(n):
        capacity = solids * dry[i] + HEAT_CAPACITY_WATER * water[i]
        uneven[i] = made[i] * skew[i] * tau[i] / max(capacity, 1e-9)
    # exact relaxation towards the parabola that this edge and that heat would keep
    for i in range(n):
        driven = 2.0 * pull[i] * (temperature[i] - wall_outside) + uneven[i]
        uneven[i] = driven / (1.0 + pull[i])
    for i in range(n):
        pull[i] = exponential(-(1.0 + pull[i]) * time_step / tau[i])
    for i in range(n):
        settled = uneven[i]
        state[i, CENTRE_MINUS_EDGE] = settled + (state[i, CENTRE_MINUS_EDGE] - settled) * pull[i]


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
    temperature = work[TEMPERATURE_NEW]
    humidity = work[HUMIDITY]
    enthalpy = work[ENTHALPY]
    for i in range(n):
        enthalpy[i] = _enthalpy(temperature[i], humidity[i])
    # the head-space stores no vapour: what reaches it and does not drip leaves it
    flow_top = work[FLOW, n]
    inside = exchange_flow + max(-flow_top, 0.0)
    out = exchange_flow + max(flow_top, 0.0)
    head_humidity = air_humidity
    if n > 0:
        coming = inside * air_humidity
        coming += (max(flow_top, 0.0) + work[VAPOUR_LINK, n]) * humidity[n - 1]
        leaving = exchange_flow + abs(flow_top) + work[VAPOUR_LINK, n]
        head_humidity = (coming - drip) / (leaving + 1e-30)
    head_enthalpy = _enthalpy(head, head_humidity)

    # up through the lower face of every layer; the last goes to the head-space
    energy = work[SCRATCH_A]
    vapour = work[SCRATCH_B]
    rise = work[FROM_BELOW]
    fall = work[FROM_ABOVE]
    conductance = work[CONDUCTANCE]
    for i in range(1, n):
        energy[i] = rise[i] * enthalpy[i - 1] - fall[i - 1] * enthalpy[i]
    for i in range(1, n):
        energy[i] += conductance[i] * (temperature[i - 1] - temperature[i])
    for i in range(1, n):
        vapour[i] = rise[i] * humidity[i - 1] - fall[i - 1] * humidity[i]
    base_flow = work[FLOW, 0]
    up_enthalpy = enthalpy[0] if n > 0 else head_enthalpy
    up_humidity = humidity[0] if n > 0 else head_humidity
    energy[0] = max(base_flow, 0.0) * air_enthalpy - max(-base_flow, 0.0) * up_enthalpy
    vapour[0] = max(base_flow, 0.0) * air_humidity - max(-base_flow, 0.0) * up_humidity
    gas_heat = -energy[0]
    vapour_out = -vapour[0]
    if n > 0:
        rising = max(flow_top, 0.0) + work[VAPOUR_LINK, n]
        energy[n] = rising * enthalpy[n - 1] - fall[n - 1] * head_enthalpy
        vapour[n] = rising * humidity[n - 1] - fall[n - 1] * head_humidity
    head_net = energy[n]
    net = work[ENERGY_NET]
    vapour_net = work[VAPOUR_NET]
    made = work[HEAT]
    for i in range(n):
        net[i] = made[i] + energy[i] - energy[i + 1]
    for i in range(n):
        vapour_net[i] = vapour[i] - vapour[i + 1]
    # side and wall
    side_flow = work[SIDE_FLOW]
    wall = work[WALL]
    towards = work[WALL_SIDE]
    if vessel.side_open > 0.0:
        for i in range(n):
            energy[i] = (
                max(side_flow[i], 0.0) * air_enthalpy - max(-side_flow[i], 0.0) * enthalpy[i]
            )
            vapour[i] = (
                max(side_flow[i], 0.0) * air_humidity - max(-side_flow[i], 0.0) * humidity[i]
            )
            net[i] += energy[i]
            vapour_net[i] += vapour[i]
            gas_heat -= energy[i]
            vapour_out -= vapour[i]
    wall_heat = 0.0
    for i in range(n):
        energy[i] = wall[i] * (temperature[i] - towards[i])
        wall_heat += energy[i]
    for i in range(n):
        net[i] -= energy[i]
    settle_sections(
        state,
        n,
        p,
        air_temperature,
        air_enthalpy,
        wall_outside,
        wall_resistance,
        time_step,
        work,
    )
    base_heat = 0.0
    bottle_heat = 0.0
    if n > 0:
        base_heat = base_conductance * (temperature[0] - air_temperature)
        net[0] -= base_heat
        if bottle_layer >= 0:
            bottle_heat = bottle_conductance * (
                bin_state[BOTTLE_TEMPERATURE] - temperature[bottle_layer]
            )
            net[bottle_layer] += bottle_heat
            bin_state[BOTTLE_TEMPERATURE] -= bottle_heat * time_step / bin_state[BOTTLE_CAPACITY]
        drip_heat = drip * HEAT_CAPACITY_WATER * max(head, 0.0)
        net[n - 1] += drip_heat
        vapour_net[n - 1] += drip
        head_net -= drip_heat
    gone = out * head_enthalpy - inside * air_enthalpy
    head_net -= gone
    gas_heat += gone
    if n > 0:
        # an empty bin passes on what it is given, to the last digit
        vapour_out += out * head_humidity - inside * air_humidity
    else:
        vapour_out = 0.0
    # what the iteration leaves open at the head-space is booked with the heat through the lid
    stored = p.head_capacity * vessel.top_area * (head - bin_state[HEAD_TEMPERATURE])
    lid_heat = head_net - stored / time_step
    bin_state[HEAD_TEMPERATURE_BEFORE] = bin_state[HEAD_TEMPERATURE]
    bin_state[HEAD_TEMPERATURE] = head
    bin_state[HEAD_HUMIDITY] = head_humidity
    for i in range(n):
        work[ENERGY, i] += net[i] * time_step
        state[i, WATER] += vapour_net[i] * time_step
    ledger[L_HEAT_WALL] += wall_heat * time_step
    ledger[L_HEAT_LID] += lid_heat * time_step
    ledger[L_HEAT_BASE] += base_heat * time_step
    ledger[L_HEAT_GAS] += gas_heat * time_step
    ledger[L_HEAT_BOTTLE] += bottle_heat * time_step
    ledger[L_VAPOUR_OUT] += vapour_out * time_step
