"""Water of every layer after evaporation and condensation, and the humidity over it."""

import numpy as np

from slowfire.column.compiled import jit
from slowfire.column.draft import (
    DIAGONAL,
    FLOW,
    FROM_ABOVE,
    FROM_BELOW,
    FROM_OUTSIDE,
    GIVING,
    HUMIDITY,
    INVERSE,
    LOWER,
    OUT,
    RIGHT,
    SATURATED,
    SCRATCH_C,
    SIDE_FLOW,
    UPPER,
    VAPOUR_LINK,
    WATER_NEW,
    WATER_OLD,
)
from slowfire.column.tridiagonal import solve_neighbours


@jit
def gas_ways(layers: int, work: np.ndarray) -> None:
    """Gas that leaves and enters every layer, by draft and by exchange [kg/s]."""
    n = layers
    flow = work[FLOW]
    side = work[SIDE_FLOW]
    link = work[VAPOUR_LINK]
    out = work[OUT]
    below = work[FROM_BELOW]
    above = work[FROM_ABOVE]
    outside = work[FROM_OUTSIDE]
    link[0] = 0.0
    for i in range(n):
        below[i] = max(flow[i], 0.0) + link[i]
    for i in range(n):
        above[i] = max(-flow[i + 1], 0.0) + link[i + 1]
    for i in range(n):
        out[i] = max(-flow[i], 0.0) + max(flow[i + 1], 0.0) + link[i] + link[i + 1]
    for i in range(n):
        out[i] += max(-side[i], 0.0)
    for i in range(n):
        outside[i] = max(side[i], 0.0)
    if n > 0:
        outside[0] += below[0]
        below[0] = 0.0


@jit
def vapour_system(layers: int, air_humidity: float, time_step: float, work: np.ndarray) -> None:
    """The balance of water of every layer, implicit, so that none can turn negative.

    Its top entry is left open: nothing comes from the head-space yet.
    """
    n = layers
    per_water = work[SCRATCH_C]
    saturated = work[SATURATED]
    old = work[WATER_OLD]
    giving = work[GIVING]
    diagonal = work[DIAGONAL]
    lower = work[LOWER]
    upper = work[UPPER]
    right = work[RIGHT]
    out = work[OUT]
    below = work[FROM_BELOW]
    above = work[FROM_ABOVE]
    outside = work[FROM_OUTSIDE]
    for i in range(n):
        # humidity per kg of water, secant through the origin
        per_water[i] = saturated[i] / max(old[i], 1e-12)
    for i in range(n):
        giving[i] = 1.0 + time_step * out[i] * per_water[i]
    for i in range(n):
        diagonal[i] = giving[i]
    for i in range(1, n):
        lower[i] = time_step * below[i] * per_water[i - 1]
    for i in range(n - 1):
        upper[i] = time_step * above[i] * per_water[i + 1]
    for i in range(n):
        right[i] = old[i] + time_step * outside[i] * air_humidity


@jit
def humidity_over(layers: int, work: np.ndarray) -> None:
    """Humidity over the water found."""
    humidity = work[HUMIDITY]
    per_water = work[SCRATCH_C]
    water = work[WATER_NEW]
    for i in range(layers):
        humidity[i] = per_water[i] * water[i]


@jit
def vapour_step(
    layers: int,
    air_humidity: float,
    head_humidity: float,
    drip: float,
    time_step: float,
    work: np.ndarray,
) -> None:
    """Water of every layer after a step, under a head-space that stays as it is."""
    n = layers
    if n == 0:
        return
    vapour_system(n, air_humidity, time_step, work)
    work[RIGHT, n - 1] += time_step * (work[FROM_ABOVE, n - 1] * head_humidity + drip)
    solve_neighbours(work, n, DIAGONAL, LOWER, UPPER, RIGHT, WATER_NEW, INVERSE)
    humidity_over(n, work)
