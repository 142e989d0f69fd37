"""Water sinking to the base and creeping between layers; temperatures at the end of a step."""

import numpy as np

from slowfire.column.compiled import jit, scalar
from slowfire.column.draft import (
    AREA,
    DRY,
    ENERGY,
    FROZEN,
    HELD,
    THICKNESS,
    VOLUME,
    water_held,
)
from slowfire.column.enthalpy import temperature_of_enthalpy, water_enthalpy
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    L_HEAT_LIQUID,
    L_LIQUID_OUT,
    L_NITROGEN_LIQUID,
    L_PHOSPHORUS_OUT,
    L_POTASSIUM_OUT,
    N_AMMONIACAL,
    N_NITRATE,
    PHOSPHORUS,
    POTASSIUM,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
    TUB_NITROGEN,
    TUB_PHOSPHORUS,
    TUB_POTASSIUM,
    TUB_WATER,
    WATER,
)
from slowfire.physics import water

_surplus = scalar(water.surplus_water)
_drained = scalar(water.drained_share)


@jit
def drain_step(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    parameters: Parameters,
    time_step: float,
    work: np.ndarray,
    ledger: np.ndarray,
) -> None:
    """Surplus water sinks from layer to layer and leaves at the base with what it dissolves."""
    p = parameters
    share = _drained(time_step, p.drain_time * 86400.0)
    for k in range(layers):
        i = layers - 1 - k
        row = state[i]
        held = water_held(row, p)
        work[HELD, i] = held
        surplus = _surplus(row[WATER], held)
        if surplus <= 0.0:
            continue
        sinking = surplus * share * (1.0 - work[FROZEN, i])
        part = sinking / row[WATER]
        solids = p.heat_capacity_solids * work[DRY, i]
        t = temperature_of_enthalpy(work[ENERGY, i], solids, row[WATER])
        warmth = sinking * water_enthalpy(t)
        ammonia = p.ammonia_in_liquid * part * row[N_AMMONIACAL]
        nitrate = p.ammonia_in_liquid * part * row[N_NITRATE]
        phosphorus = p.phosphorus_in_liquid * part * row[PHOSPHORUS]
        potassium = p.potassium_in_liquid * part * row[POTASSIUM]
        row[WATER] -= sinking
        row[N_AMMONIACAL] -= ammonia
        row[N_NITRATE] -= nitrate
        row[PHOSPHORUS] -= phosphorus
        row[POTASSIUM] -= potassium
        work[ENERGY, i] -= warmth
        if i > 0:
            below = state[i - 1]
            below[WATER] += sinking
            below[N_AMMONIACAL] += ammonia
            below[N_NITRATE] += nitrate
            below[PHOSPHORUS] += phosphorus
            below[POTASSIUM] += potassium
            work[ENERGY, i - 1] += warmth
        else:
            bin_state[TUB_WATER] += sinking
            bin_state[TUB_NITROGEN] += ammonia + nitrate
            bin_state[TUB_PHOSPHORUS] += phosphorus
            bin_state[TUB_POTASSIUM] += potassium
            ledger[L_LIQUID_OUT] += sinking
            ledger[L_NITROGEN_LIQUID] += ammonia + nitrate
            ledger[L_PHOSPHORUS_OUT] += phosphorus
            ledger[L_POTASSIUM_OUT] += potassium
            ledger[L_HEAT_LIQUID] += warmth


@jit
def wick_step(
    state: np.ndarray, layers: int, parameters: Parameters, time_step: float, work: np.ndarray
) -> None:
    """Water creeps from wetter to drier layers that touch, by how full each is of what it holds.

    The exact relaxation of each pair in turn, so that a step of any length overshoots nothing.
    """
    p = parameters
    for i in range(1, layers):
        held_low = work[HELD, i - 1]
        held_high = work[HELD, i]
        liquid = (1.0 - work[FROZEN, i]) * (1.0 - work[FROZEN, i - 1])
        if held_low <= 0.0 or held_high <= 0.0 or liquid <= 0.0:
            continue
        low = state[i - 1]
        high = state[i]
        fuller = high[WATER] / held_high - low[WATER] / held_low
        area = 0.5 * (work[AREA, i] + work[AREA, i - 1])
        distance = 0.5 * (work[THICKNESS, i] + work[THICKNESS, i - 1])
        density = (held_low + held_high) / (work[VOLUME, i] + work[VOLUME, i - 1])
        conductance = liquid * p.water_diffusivity * area / distance * density
        ease = 1.0 / held_low + 1.0 / held_high
        moved = fuller / ease * -np.expm1(-conductance * ease * time_step)
        donor = i if moved > 0.0 else i - 1
        solids = p.heat_capacity_solids * work[DRY, donor]
        t = temperature_of_enthalpy(work[ENERGY, donor], solids, state[donor, WATER])
        warmth = moved * water_enthalpy(t)
        high[WATER] -= moved
        low[WATER] += moved
        work[ENERGY, i] -= warmth
        work[ENERGY, i - 1] += warmth


@jit
def settle_temperatures(
    state: np.ndarray, layers: int, parameters: Parameters, work: np.ndarray
) -> None:
    """Turn the enthalpy of every layer back into its temperature, remembering the last one."""
    for i in range(layers):
        row = state[i]
        row[TEMPERATURE_BEFORE] = row[TEMPERATURE]
        row[TEMPERATURE] = temperature_of_enthalpy(
            work[ENERGY, i], parameters.heat_capacity_solids * work[DRY, i], row[WATER]
        )
