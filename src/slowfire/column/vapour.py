"""Water of every layer after evaporation and condensation."""

import numpy as np

from slowfire.column.compiled import jit
from slowfire.column.draft import (
    FLOW,
    GIVING,
    HUMIDITY,
    SATURATED,
    SCRATCH_A,
    SCRATCH_B,
    SCRATCH_C,
    SCRATCH_D,
    SIDE_FLOW,
    VAPOUR_LINK,
    VAPOUR_NET,
    WATER_NEW,
)
from slowfire.column.positions import WATER


@jit
def vapour_solve(
    state: np.ndarray,
    layers: int,
    air_humidity: float,
    head_humidity: float,
    drip: float,
    time_step: float,
    work: np.ndarray,
) -> None:
    """Water of every layer after evaporation, implicit, so that it cannot turn negative."""
    n = layers
    for i in range(n):
        # humidity per kg of water, secant through the origin
        work[SCRATCH_C, i] = work[SATURATED, i] / max(state[i, WATER], 1e-12)
    for i in range(n):
        low = work[FLOW, i]
        high = work[FLOW, i + 1]
        side = work[SIDE_FLOW, i]
        link_low = work[VAPOUR_LINK, i] if i > 0 else 0.0
        link_high = work[VAPOUR_LINK, i + 1]
        out = max(-low, 0.0) + max(high, 0.0) + max(-side, 0.0) + link_low + link_high
        source = max(side, 0.0) * air_humidity
        lower = 0.0
        if i == 0:
            source += max(low, 0.0) * air_humidity
        else:
            lower = (max(low, 0.0) + link_low) * work[SCRATCH_C, i - 1]
        upper = 0.0
        if i == n - 1:
            source += (max(-high, 0.0) + link_high) * head_humidity + drip
        else:
            upper = (max(-high, 0.0) + link_high) * work[SCRATCH_C, i + 1]
        diagonal = 1.0 + time_step * out * work[SCRATCH_C, i]
        work[GIVING, i] = diagonal
        right = state[i, WATER] + time_step * source
        if i > 0:
            factor = time_step * lower / work[SCRATCH_A, i - 1]
            diagonal -= factor * work[SCRATCH_D, i - 1]
            right += factor * work[SCRATCH_B, i - 1]
        work[SCRATCH_A, i] = diagonal
        work[SCRATCH_B, i] = right
        work[SCRATCH_D, i] = time_step * upper
    value = 0.0
    for j in range(n):
        i = n - 1 - j
        value = (work[SCRATCH_B, i] + (work[SCRATCH_D, i] * value if j > 0 else 0.0)) / work[
            SCRATCH_A, i
        ]
        work[WATER_NEW, i] = value
        work[VAPOUR_NET, i] = (value - state[i, WATER]) / time_step
        work[HUMIDITY, i] = work[SCRATCH_C, i] * value
