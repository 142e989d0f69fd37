"""Systems in which every node knows only its two neighbours."""

import numpy as np

from slowfire.column.compiled import jit


@jit
def solve_neighbours(
    work: np.ndarray,
    nodes: int,
    diagonal: int,
    lower: int,
    upper: int,
    right: int,
    solution: int,
    scratch: int,
) -> None:
    """Solve d x_i - l x_(i-1) - u x_(i+1) = r; the arguments name rows of `work`.

    Eliminates from both ends towards the middle: two short chains of divisions run side by side
    where one long one would be waited for. Only `solution` and `scratch` are written.
    """
    middle = nodes // 2
    above = nodes - 1 - middle
    # of the node before: 1 over what is left of its diagonal, and its value so far
    low = 0.0
    low_value = 0.0
    high = 0.0
    high_value = 0.0
    for k in range(above):
        i = k
        j = nodes - 1 - k
        into = work[lower, i] if k > 0 else 0.0
        pair = into * work[upper, i - 1] if k > 0 else 0.0
        low = 1.0 / (work[diagonal, i] - pair * low)
        low_value = work[right, i] * low + into * low * low_value
        work[scratch, i] = work[upper, i] * low
        work[solution, i] = low_value
        into = work[upper, j] if k > 0 else 0.0
        pair = into * work[lower, j + 1] if k > 0 else 0.0
        high = 1.0 / (work[diagonal, j] - pair * high)
        high_value = work[right, j] * high + into * high * high_value
        work[scratch, j] = work[lower, j] * high
        work[solution, j] = high_value
    if middle > above:
        i = middle - 1
        into = work[lower, i] if i > 0 else 0.0
        pair = into * work[upper, i - 1] if i > 0 else 0.0
        low = 1.0 / (work[diagonal, i] - pair * low)
        low_value = work[right, i] * low + into * low * low_value
        work[scratch, i] = work[upper, i] * low
        work[solution, i] = low_value
    value = work[right, middle]
    remaining = work[diagonal, middle]
    if middle > 0:
        value += work[lower, middle] * low_value
        remaining -= work[lower, middle] * work[scratch, middle - 1]
    if above > 0:
        value += work[upper, middle] * high_value
        remaining -= work[upper, middle] * work[scratch, middle + 1]
    value /= remaining
    work[solution, middle] = value
    low_value = value
    high_value = value
    for k in range(above):
        i = middle - 1 - k
        j = middle + 1 + k
        low_value = work[solution, i] + work[scratch, i] * low_value
        high_value = work[solution, j] + work[scratch, j] * high_value
        work[solution, i] = low_value
        work[solution, j] = high_value
    if middle > above:
        work[solution, 0] += work[scratch, 0] * low_value
