"""Water sinking to the base and creeping between layers; temperatures at the end of a step."""

import numpy as np

from slowfire.column.compiled import jit, one_less, scalar
from slowfire.column.draft import (
    AREA,
    DRY,
    ENERGY,
    FROZEN,
    HELD,
    SCRATCH_A,
    SCRATCH_B,
    SCRATCH_C,
    SCRATCH_D,
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
    held = work[HELD]
    for i in range(layers):
        held[i] = water_held(state, i, p)
    for k in range(layers):
        i = layers - 1 - k
        row = state[i]
        surplus = _surplus(row[WATER], held[i])
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
    held = work[HELD]
    volume = work[VOLUME]
    area = work[AREA]
    thickness = work[THICKNESS]
    frozen = work[FROZEN]
    dry = work[DRY]
    energy = work[ENERGY]
    ease = work[SCRATCH_A]
    share = work[SCRATCH_B]
    for i in range(1, layers):
        ease[i] = 1.0 / max(held[i - 1], 1e-300) + 1.0 / max(held[i], 1e-300)
    for i in range(1, layers):
        # area over distance, and water held by volume
        share[i] = (area[i] + area[i - 1]) / (thickness[i] + thickness[i - 1])
    for i in range(1, layers):
        share[i] *= (held[i - 1] + held[i]) / (volume[i] + volume[i - 1])
    for i in range(1, layers):
        share[i] *= (1.0 - frozen[i]) * (1.0 - frozen[i - 1])
    for i in range(1, layers):
        moving = -one_less(-p.water_diffusivity * time_step * share[i] * ease[i])
        share[i] = moving / ease[i]
    fill = work[SCRATCH_C]
    solids = work[SCRATCH_D]
    for i in range(layers):
        fill[i] = 1.0 / max(held[i], 1e-300)
        solids[i] = p.heat_capacity_solids * dry[i]
    low_water = state[0, WATER] if layers > 0 else 0.0
    low_energy = energy[0]
    for i in range(1, layers):
        high_water = state[i, WATER]
        high_energy = energy[i]
        if held[i - 1] > 0.0 and held[i] > 0.0:
            moved = (high_water * fill[i] - low_water * fill[i - 1]) * share[i]
            if moved > 0.0:
                t = temperature_of_enthalpy(high_energy, solids[i], high_water)
            else:
                t = temperature_of_enthalpy(low_energy, solids[i - 1], low_water)
            warmth = moved * water_enthalpy(t)
            high_water -= moved
            low_water += moved
            high_energy -= warmth
            low_energy += warmth
        state[i - 1, WATER] = low_water
        energy[i - 1] = low_energy
        low_water = high_water
        low_energy = high_energy
    if layers > 0:
        state[layers - 1, WATER] = low_water
        energy[layers - 1] = low_energy


@jit
def settle_temperatures(
    state: np.ndarray, layers: int, parameters: Parameters, work: np.ndarray
) -> None:
    """Turn the enthalpy of every layer back into its temperature, remembering the last one."""
    energy = work[ENERGY]
    dry = work[DRY]
    for i in range(layers):
        state[i, TEMPERATURE_BEFORE] = state[i, TEMPERATURE]
        state[i, TEMPERATURE] = temperature_of_enthalpy(
            energy[i], parameters.heat_capacity_solids * dry[i], state[i, WATER]
        )
