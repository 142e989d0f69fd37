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


@jit
def vapour_step_with_head(
    layers: int,
    air_humidity: float,
    head_humidity: float,
    coming: float,
    leaving: float,
    skin_humidity: float,
    drip_rate: float,
    time_step: float,
    work: np.ndarray,
) -> tuple[float, float, float]:
    """Water of every layer together with the head-space, which stores no vapour.

    `head_humidity` is the last one; `coming` is the vapour [kg/s] that enters with outside air,
    `leaving` the gas [kg/s] that takes vapour away, to the top layer too. Returns the humidity of
    the head-space, what drips from the lid [kg/s], and how the first follows the top layer's [-].
    """
    n = layers
    leaving += 1e-30
    if n == 0:
        return coming / leaving, 0.0, 0.0
    vapour_system(n, air_humidity, time_step, work)
    top = n - 1
    rising = max(work[FLOW, n], 0.0) + work[VAPOUR_LINK, n]
    back = work[FROM_ABOVE, top]
    diagonal = work[DIAGONAL, top]
    right = work[RIGHT, top]
    per_water = time_step * work[SCRATCH_C, top]
    wetted = drip_rate > 0.0 and head_humidity > skin_humidity
    drip = 0.0
    share = 0.0
    for _ in range(2):
        rate = drip_rate if wetted else 0.0
        share = rising / (leaving + rate)
        rest = (coming + rate * skin_humidity) / (leaving + rate)
        work[DIAGONAL, top] = diagonal - (back + rate) * share * per_water
        work[RIGHT, top] = right + time_step * (back * rest + rate * (rest - skin_humidity))
        solve_neighbours(work, n, DIAGONAL, LOWER, UPPER, RIGHT, WATER_NEW, INVERSE)
        humidity_over(n, work)
        head_humidity = rest + share * work[HUMIDITY, top]
        # whether the lid drips was a guess: if it was wrong, once more the other way
        drips = drip_rate > 0.0 and head_humidity > skin_humidity
        drip = rate * max(head_humidity - skin_humidity, 0.0)
        if drips == wetted:
            break
        wetted = drips
    return head_humidity, drip, share
