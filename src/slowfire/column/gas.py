"""Oxygen, carbon dioxide and ammonia in the pore gas, implicit in time and upwind in space."""

import numpy as np

from slowfire.biology import nitrogen
from slowfire.column.compiled import jit, scalar
from slowfire.column.draft import (
    AIR_SPACE,
    AREA,
    DEMAND,
    FLOW,
    GAS_LINK,
    OXYGEN_TERM,
    SCRATCH_A,
    SCRATCH_B,
    SCRATCH_C,
    SCRATCH_D,
    SIDE_FLOW,
    THICKNESS,
    VOLUME,
)
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    CARBON_DIOXIDE,
    FILL_HEIGHT,
    GAS_MOLES,
    HEAD_CARBON_DIOXIDE,
    HEAD_GAS_MOLES,
    HEAD_OXYGEN,
    L_AMMONIA_OUT,
    L_OXYGEN_DEFECT,
    L_OXYGEN_DRAFT,
    L_OXYGEN_OPENED,
    N_AMMONIACAL,
    OXYGEN,
    TEMPERATURE,
    WATER,
)
from slowfire.constants import (
    CARBON_DIOXIDE_IN_AIR,
    GAS_CONSTANT,
    MOLAR_MASS_CARBON_DIOXIDE,
    MOLAR_MASS_DRY_AIR,
    MOLAR_MASS_OXYGEN,
    OXYGEN_IN_AIR,
    STANDARD_PRESSURE,
    ZERO_CELSIUS,
)
from slowfire.physics import gas_flow, moist_air
from slowfire.vessel import Vessel

_oxygen_diffusivity = scalar(moist_air.oxygen_diffusivity)
_effective = scalar(gas_flow.effective_diffusivity_penman)
_free_ammonia = scalar(nitrogen.free_ammonia_fraction)
_henry = scalar(nitrogen.ammonia_gas_water_ratio)


@jit
def gas_links(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    vessel: Vessel,
    work: np.ndarray,
    ledger: np.ndarray,
) -> None:
    """Diffusive links [mol/s] through every face, and gas that settling presses out or draws in."""
    n = layers
    moles_per_volume = STANDARD_PRESSURE / (GAS_CONSTANT * (30.0 + ZERO_CELSIUS))
    for i in range(n):
        diffusivity = _effective(work[AIR_SPACE, i], _oxygen_diffusivity(state[i, TEMPERATURE]))
        work[SCRATCH_D, i] = (
            moles_per_volume * diffusivity * work[AREA, i] / (0.5 * work[THICKNESS, i])
        )
        moles = moles_per_volume * work[AIR_SPACE, i] * work[VOLUME, i]
        change = moles - state[i, GAS_MOLES]
        ledger[L_OXYGEN_OPENED] += change * state[i, OXYGEN] * MOLAR_MASS_OXYGEN
        state[i, GAS_MOLES] = moles
    head_volume = max(vessel.height - bin_state[FILL_HEIGHT], 0.02) * vessel.top_area
    moles = moles_per_volume * head_volume
    change = moles - bin_state[HEAD_GAS_MOLES]
    ledger[L_OXYGEN_OPENED] += change * bin_state[HEAD_OXYGEN] * MOLAR_MASS_OXYGEN
    bin_state[HEAD_GAS_MOLES] = moles
    if n > 0:
        work[GAS_LINK, 0] = 0.0
        for i in range(1, n):
            a = work[SCRATCH_D, i - 1]
            b = work[SCRATCH_D, i]
            work[GAS_LINK, i] = a * b / (a + b + 1e-30)
        work[GAS_LINK, n] = work[SCRATCH_D, n - 1]


@jit
def _transport(layers: int, exchange: float, head_moles: float, work: np.ndarray) -> None:
    """Coefficients of the linear part: A diagonal, B to the node above, C to the node below."""
    n = layers
    for i in range(n + 1):
        up = work[FLOW, i + 1] / MOLAR_MASS_DRY_AIR if i < n else work[FLOW, n] / MOLAR_MASS_DRY_AIR
        low = work[FLOW, i] / MOLAR_MASS_DRY_AIR
        if i < n:
            side = work[SIDE_FLOW, i] / MOLAR_MASS_DRY_AIR
            out = max(up, 0.0) + max(-low, 0.0) + max(-side, 0.0)
            work[SCRATCH_A, i] = out + work[GAS_LINK, i] + work[GAS_LINK, i + 1]
            work[SCRATCH_B, i] = max(-up, 0.0) + work[GAS_LINK, i + 1]
            work[SCRATCH_C, i] = max(low, 0.0) + work[GAS_LINK, i]
            if i == 0:
                work[SCRATCH_C, 0] = 0.0
        else:
            work[SCRATCH_A, n] = (
                max(up, 0.0) + exchange + max(-low, 0.0) + (work[GAS_LINK, n] if n > 0 else 0.0)
            )
            if n == 0:
                work[SCRATCH_A, 0] = max(up, 0.0) + exchange + max(-low, 0.0)
            work[SCRATCH_B, n] = 0.0
            work[SCRATCH_C, n] = (max(low, 0.0) + work[GAS_LINK, n]) if n > 0 else 0.0


@jit
def _inflow(node: int, layers: int, exchange: float, work: np.ndarray) -> float:
    """Outside air entering a node [mol/s]."""
    flow = 0.0
    if node < layers:
        flow += max(work[SIDE_FLOW, node], 0.0)
    else:
        flow += exchange * MOLAR_MASS_DRY_AIR + max(-work[FLOW, layers], 0.0)
    if node == 0:
        flow += max(work[FLOW, 0], 0.0)
    return flow / MOLAR_MASS_DRY_AIR


@jit
def oxygen_step(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    half_saturation: float,
    exchange_flow: float,
    time_step: float,
    work: np.ndarray,
    column: np.ndarray,
    ledger: np.ndarray,
) -> int:
    """Solve oxygen in every layer and the head-space against the Monod sink by Newton's method.

    The sink is concave, so its tangent lies above it and the iterates stay positive once clamped
    at zero. Returns the number of iterations; leaves the Monod term reached in the work array.
    `column` is scratch, shape (4, nodes).
    """
    n = layers
    exchange = exchange_flow / MOLAR_MASS_DRY_AIR
    _transport(n, exchange, bin_state[HEAD_GAS_MOLES], work)
    k = half_saturation
    for i in range(n):
        column[0, i] = state[i, OXYGEN]
    column[0, n] = bin_state[HEAD_OXYGEN]
    iterations = 0
    for sweep in range(40):
        iterations = sweep + 1
        for i in range(n + 1):
            moles = state[i, GAS_MOLES] if i < n else bin_state[HEAD_GAS_MOLES]
            old = state[i, OXYGEN] if i < n else bin_state[HEAD_OXYGEN]
            storage = moles / time_step
            y = column[0, i]
            slope = 0.0
            constant = 0.0
            if i < n:
                demand = work[DEMAND, i] / MOLAR_MASS_OXYGEN
                slope = demand * k / ((y + k) * (y + k))
                constant = demand * y / (y + k) - slope * y
            right = storage * old + _inflow(i, n, exchange, work) * OXYGEN_IN_AIR - constant
            diagonal = storage + work[SCRATCH_A, i] + slope
            if i > 0:
                factor = work[SCRATCH_C, i] / column[1, i - 1]
                diagonal -= factor * work[SCRATCH_B, i - 1]
                right += factor * column[2, i - 1]
            column[1, i] = diagonal
            column[2, i] = right
        worst = 0.0
        upper = 0.0
        for j in range(n + 1):
            i = n - j
            value = column[2, i]
            if i < n:
                value += work[SCRATCH_B, i] * upper
            value = max(value / column[1, i], 0.0)
            worst = max(worst, abs(value - column[0, i]) / (value + 1e-6))
            column[0, i] = value
            upper = value
        if worst < 1e-13:
            break
    defect = 0.0
    draft_in = 0.0
    for i in range(n + 1):
        moles = state[i, GAS_MOLES] if i < n else bin_state[HEAD_GAS_MOLES]
        old = state[i, OXYGEN] if i < n else bin_state[HEAD_OXYGEN]
        y = column[0, i]
        gain = _inflow(i, n, exchange, work) * OXYGEN_IN_AIR - work[SCRATCH_A, i] * y
        if i < n:
            gain += work[SCRATCH_B, i] * column[0, i + 1]
        if i > 0:
            gain += work[SCRATCH_C, i] * column[0, i - 1]
        use = 0.0
        if i < n:
            term = y / (y + k)
            work[OXYGEN_TERM, i] = term
            use = work[DEMAND, i] / MOLAR_MASS_OXYGEN * term
        draft_in += gain
        defect += abs(gain - use - moles * (y - old) / time_step)
    ledger[L_OXYGEN_DRAFT] += draft_in * time_step * MOLAR_MASS_OXYGEN
    ledger[L_OXYGEN_DEFECT] += defect * time_step * MOLAR_MASS_OXYGEN
    for i in range(n):
        state[i, OXYGEN] = column[0, i]
    bin_state[HEAD_OXYGEN] = column[0, n]
    return iterations


@jit
def carbon_dioxide_step(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    exchange_flow: float,
    time_step: float,
    made: np.ndarray,
    work: np.ndarray,
    column: np.ndarray,
) -> None:
    """Carry carbon dioxide with the same flows; the transport coefficients are still in place."""
    n = layers
    exchange = exchange_flow / MOLAR_MASS_DRY_AIR
    for i in range(n + 1):
        moles = state[i, GAS_MOLES] if i < n else bin_state[HEAD_GAS_MOLES]
        old = state[i, CARBON_DIOXIDE] if i < n else bin_state[HEAD_CARBON_DIOXIDE]
        right = moles / time_step * old + (_inflow(i, n, exchange, work) * CARBON_DIOXIDE_IN_AIR)
        if i < n:
            right += made[i] / MOLAR_MASS_CARBON_DIOXIDE
        diagonal = moles / time_step + work[SCRATCH_A, i]
        if i > 0:
            factor = work[SCRATCH_C, i] / column[1, i - 1]
            diagonal -= factor * work[SCRATCH_B, i - 1]
            right += factor * column[2, i - 1]
        column[1, i] = diagonal
        column[2, i] = right
    upper = 0.0
    for j in range(n + 1):
        i = n - j
        value = column[2, i]
        if i < n:
            value += work[SCRATCH_B, i] * upper
        value /= column[1, i]
        upper = value
        if i < n:
            state[i, CARBON_DIOXIDE] = value
        else:
            bin_state[HEAD_CARBON_DIOXIDE] = value


@jit
def ammonia_step(
    state: np.ndarray,
    layers: int,
    parameters: Parameters,
    ph: np.ndarray,
    time_step: float,
    work: np.ndarray,
    column: np.ndarray,
    ledger: np.ndarray,
) -> None:
    """Ammonia moves with the gas, in equilibrium with the water of each layer it meets.

    Implicit in the ammoniacal nitrogen of the layers; the head-space passes it on at once.
    """
    n = layers
    if n == 0:
        return
    moles_per_volume = STANDARD_PRESSURE / (GAS_CONSTANT * (30.0 + ZERO_CELSIUS))
    for i in range(n):
        t = state[i, TEMPERATURE]
        water = max(state[i, WATER], 1e-6) / 1000.0
        # kg N per mol of gas, for each kg of ammoniacal N in the layer
        column[0, i] = (
            parameters.ammonia_mobile
            * _free_ammonia(t, ph[i])
            * _henry(t)
            / water
            / moles_per_volume
        )
    # what comes back from the head-space by diffusion or reversed draft
    returned = work[SCRATCH_B, n - 1] * work[SCRATCH_C, n] / (work[SCRATCH_A, n] + 1e-30)
    for i in range(n):
        out = work[SCRATCH_A, i]
        if i == n - 1:
            out -= returned
        diagonal = 1.0 + time_step * out * column[0, i]
        right = state[i, N_AMMONIACAL]
        if i > 0:
            lower = time_step * work[SCRATCH_C, i] * column[0, i - 1]
            upper = time_step * work[SCRATCH_B, i - 1] * column[0, i]
            factor = lower / column[1, i - 1]
            diagonal -= factor * upper
            right += factor * column[2, i - 1]
        column[1, i] = diagonal
        column[2, i] = right
    before = 0.0
    after = 0.0
    upper_value = 0.0
    for j in range(n):
        i = n - 1 - j
        value = column[2, i]
        if j > 0:
            value += time_step * work[SCRATCH_B, i] * column[0, i + 1] * upper_value
        value /= column[1, i]
        before += state[i, N_AMMONIACAL]
        upper_value = value
        column[3, i] = value
    for i in range(n):
        after += column[3, i]
        state[i, N_AMMONIACAL] = column[3, i]
    ledger[L_AMMONIA_OUT] += before - after
