"""Oxygen, carbon dioxide and ammonia in the pore gas, implicit in time and upwind in space."""

import numpy as np

from slowfire.biology import kinetics, nitrogen
from slowfire.column.compiled import exponential, jit, scalar
from slowfire.column.draft import (
    AIR_SPACE,
    AREA,
    DEMAND,
    DIAGONAL,
    DRY,
    FLOW,
    GAS_LINK,
    INVERSE,
    LOWER,
    OXYGEN_TERM,
    RIGHT,
    SCRATCH_A,
    SCRATCH_B,
    SCRATCH_C,
    SCRATCH_D,
    SHARE_RISE,
    SIDE_FLOW,
    SOLUTION,
    TEMPERATURE_OLD,
    THICKNESS,
    UPPER,
    VOLUME,
)
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    ACIDS,
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
from slowfire.column.tridiagonal import solve_neighbours
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

MOLES_PER_VOLUME = STANDARD_PRESSURE / (GAS_CONSTANT * (30.0 + ZERO_CELSIUS))  # [mol/m^3]
# Rows of the array `column`, a node each.
SHARE = 0  # iterate [-]
SHARE_OLD = 1  # before the step [-]
MOLES_RATE = 2  # gas held, by the step [mol/s]
INFLOW = 3  # outside air that enters [mol/s]
PH = 4
# The error of a sweep is the square of the one before: this change leaves 1e-11.
CLOSE = 3e-6
LN_10 = 2.302585092994046

_oxygen_diffusivity = scalar(moist_air.oxygen_diffusivity)
_effective = scalar(gas_flow.effective_diffusivity_penman)
_ammonia_pka = scalar(nitrogen.ammonia_pka)
_ph = scalar(kinetics.acidity_ph)
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
    half = work[SCRATCH_D]
    air_space = work[AIR_SPACE]
    area = work[AREA]
    thickness = work[THICKNESS]
    volume = work[VOLUME]
    moles = work[SCRATCH_C]
    link = work[GAS_LINK]
    # short loops over few rows each, which the compiler turns into vectors
    for i in range(n):
        half[i] = state[i, TEMPERATURE]
    for i in range(n):
        half[i] = _effective(air_space[i], _oxygen_diffusivity(half[i]))
    for i in range(n):
        half[i] *= 2.0 * MOLES_PER_VOLUME * area[i] / thickness[i]
    for i in range(n):
        moles[i] = MOLES_PER_VOLUME * air_space[i] * volume[i]
    opened = 0.0
    for i in range(n):
        opened += (moles[i] - state[i, GAS_MOLES]) * state[i, OXYGEN]
        state[i, GAS_MOLES] = moles[i]
    head_volume = max(vessel.height - bin_state[FILL_HEIGHT], 0.02) * vessel.top_area
    head_moles = MOLES_PER_VOLUME * head_volume
    opened += (head_moles - bin_state[HEAD_GAS_MOLES]) * bin_state[HEAD_OXYGEN]
    ledger[L_OXYGEN_OPENED] += opened * MOLAR_MASS_OXYGEN
    bin_state[HEAD_GAS_MOLES] = head_moles
    if n > 0:
        link[0] = 0.0
        for i in range(1, n):
            a = half[i - 1]
            b = half[i]
            link[i] = a * b / (a + b + 1e-30)
        link[n] = half[n - 1]


@jit
def _transport(layers: int, exchange: float, work: np.ndarray, column: np.ndarray) -> None:
    """Coefficients of the linear part [mol/s]: A diagonal, B to the node above, C below.

    And the outside air that enters every node.
    """
    n = layers
    per_mass = 1.0 / MOLAR_MASS_DRY_AIR
    flow = work[FLOW]
    side = work[SIDE_FLOW]
    link = work[GAS_LINK]
    out = work[SCRATCH_A]
    up = work[SCRATCH_B]
    down = work[SCRATCH_C]
    inflow = column[INFLOW]
    for i in range(n):
        out[i] = per_mass * (max(flow[i + 1], 0.0) + max(-flow[i], 0.0) + max(-side[i], 0.0))
    for i in range(n):
        out[i] += link[i] + link[i + 1]
    for i in range(n):
        up[i] = per_mass * max(-flow[i + 1], 0.0) + link[i + 1]
    for i in range(n):
        down[i] = per_mass * max(flow[i], 0.0) + link[i]
    for i in range(n):
        inflow[i] = per_mass * max(side[i], 0.0)
    top = per_mass * flow[n]
    out[n] = abs(top) + exchange
    up[n] = 0.0
    down[n] = 0.0
    inflow[n] = exchange + max(-top, 0.0)
    if n > 0:
        out[n] += link[n]
        down[n] = max(top, 0.0) + link[n]
        down[0] = 0.0
    inflow[0] += per_mass * max(flow[0], 0.0)


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
    `column` is scratch that the other gases go on with, shape (5, nodes).
    """
    n = layers
    _transport(n, exchange_flow / MOLAR_MASS_DRY_AIR, work, column)
    k = half_saturation
    old = column[SHARE_OLD]
    share = column[SHARE]
    moles = column[MOLES_RATE]
    out = work[SCRATCH_A]
    up = work[SCRATCH_B]
    down = work[SCRATCH_C]
    inflow = column[INFLOW]
    demand = work[DEMAND]
    term = work[OXYGEN_TERM]
    diagonal = work[DIAGONAL]
    right = work[RIGHT]
    found = work[SOLUTION]
    for i in range(n):
        old[i] = state[i, OXYGEN]
        moles[i] = state[i, GAS_MOLES] / time_step
    old[n] = bin_state[HEAD_OXYGEN]
    moles[n] = bin_state[HEAD_GAS_MOLES] / time_step
    # the change of the last step is the best guess of that of this one, while it is small
    rise = work[SHARE_RISE]
    for i in range(n + 1):
        share[i] = old[i] + (rise[i] if abs(rise[i]) < 0.1 * old[i] else 0.0)
    iterations = 0
    for sweep in range(40):
        iterations = sweep + 1
        for i in range(n):
            term[i] = 1.0 / (share[i] + k)
        for i in range(n):
            slope = demand[i] * k * term[i] * term[i] / MOLAR_MASS_OXYGEN
            diagonal[i] = moles[i] + out[i] + slope
        for i in range(n):
            reached = share[i] * term[i]
            right[i] = moles[i] * old[i] - demand[i] * reached * reached / MOLAR_MASS_OXYGEN
        diagonal[n] = moles[n] + out[n]
        right[n] = moles[n] * old[n]
        for i in range(n + 1):
            right[i] += inflow[i] * OXYGEN_IN_AIR
        solve_neighbours(work, n + 1, DIAGONAL, SCRATCH_C, SCRATCH_B, RIGHT, SOLUTION, INVERSE)
        worst = 0.0
        for i in range(n + 1):
            value = max(found[i], 0.0)
            worst = max(worst, abs(value - share[i]) / (value + 1e-6))
        for i in range(n + 1):
            share[i] = max(found[i], 0.0)
        if worst < CLOSE:
            break
    gain = work[RIGHT]
    for i in range(n + 1):
        gain[i] = inflow[i] * OXYGEN_IN_AIR - out[i] * share[i]
    for i in range(n):
        gain[i] += up[i] * share[i + 1]
    for i in range(1, n + 1):
        gain[i] += down[i] * share[i - 1]
    draft_in = 0.0
    for i in range(n + 1):
        draft_in += gain[i]
    for i in range(n):
        term[i] = share[i] / (share[i] + k)
    for i in range(n):
        gain[i] -= demand[i] * term[i] / MOLAR_MASS_OXYGEN
    defect = 0.0
    for i in range(n + 1):
        defect += abs(gain[i] - moles[i] * (share[i] - old[i]))
    ledger[L_OXYGEN_DRAFT] += draft_in * time_step * MOLAR_MASS_OXYGEN
    ledger[L_OXYGEN_DEFECT] += defect * time_step * MOLAR_MASS_OXYGEN
    for i in range(n + 1):
        rise[i] = share[i] - old[i]
    for i in range(n):
        state[i, OXYGEN] = share[i]
    bin_state[HEAD_OXYGEN] = share[n]
    return iterations


@jit
def carbon_dioxide_step(
    state: np.ndarray,
    layers: int,
    bin_state: np.ndarray,
    made: np.ndarray,
    work: np.ndarray,
    column: np.ndarray,
) -> None:
    """Carry carbon dioxide with the same flows; the transport coefficients are still in place."""
    n = layers
    moles = column[MOLES_RATE]
    out = work[SCRATCH_A]
    inflow = column[INFLOW]
    old = column[SHARE_OLD]
    diagonal = work[DIAGONAL]
    right = work[RIGHT]
    found = work[SOLUTION]
    for i in range(n):
        old[i] = state[i, CARBON_DIOXIDE]
    old[n] = bin_state[HEAD_CARBON_DIOXIDE]
    for i in range(n + 1):
        diagonal[i] = moles[i] + out[i]
    for i in range(n + 1):
        right[i] = moles[i] * old[i] + inflow[i] * CARBON_DIOXIDE_IN_AIR
    for i in range(n):
        right[i] += made[i] / MOLAR_MASS_CARBON_DIOXIDE
    solve_neighbours(work, n + 1, DIAGONAL, SCRATCH_C, SCRATCH_B, RIGHT, SOLUTION, INVERSE)
    for i in range(n):
        state[i, CARBON_DIOXIDE] = found[i]
    bin_state[HEAD_CARBON_DIOXIDE] = found[n]


@jit
def ammonia_step(
    state: np.ndarray,
    layers: int,
    parameters: Parameters,
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
    p = parameters
    ph = column[PH]
    temperature = work[TEMPERATURE_OLD]
    water = column[SHARE]
    old = work[RIGHT]
    for i in range(n):
        temperature[i] = state[i, TEMPERATURE]
        water[i] = state[i, WATER]
        old[i] = state[i, N_AMMONIACAL]
        ph[i] = state[i, ACIDS]
    dry = work[DRY]
    for i in range(n):
        # both divided by the dry mass in the formula
        ph[i] = _ph(ph[i], p.ph_base, p.ph_acid, p.acid_half * (dry[i] + 1e-12))
    free = column[SHARE_OLD]
    for i in range(n):
        # the share of ammonia, as `free_ammonia_fraction`
        free[i] = 1.0 / (1.0 + exponential(LN_10 * (_ammonia_pka(temperature[i]) - ph[i])))
    carried = work[SCRATCH_D]
    for i in range(n):
        carried[i] = _henry(temperature[i])
    for i in range(n):
        # kg N per mol of gas, for each kg of ammoniacal N in the layer; and in one step
        kilograms = 1000.0 * p.ammonia_mobile * time_step / MOLES_PER_VOLUME
        carried[i] *= kilograms * free[i] / max(water[i], 1e-6)
    out = work[SCRATCH_A]
    up = work[SCRATCH_B]
    down = work[SCRATCH_C]
    diagonal = work[DIAGONAL]
    lower = work[LOWER]
    upper = work[UPPER]
    found = work[SOLUTION]
    # what comes back from the head-space by diffusion or reversed draft
    returned = up[n - 1] * down[n] / (out[n] + 1e-30)
    for i in range(n):
        diagonal[i] = 1.0 + out[i] * carried[i]
    diagonal[n - 1] -= returned * carried[n - 1]
    for i in range(1, n):
        lower[i] = down[i] * carried[i - 1]
    for i in range(n - 1):
        upper[i] = up[i] * carried[i + 1]
    solve_neighbours(work, n, DIAGONAL, LOWER, UPPER, RIGHT, SOLUTION, INVERSE)
    gone = 0.0
    for i in range(n):
        gone += old[i] - found[i]
        state[i, N_AMMONIACAL] = found[i]
    ledger[L_AMMONIA_OUT] += gone
