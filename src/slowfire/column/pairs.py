"""The system of heat and vapour: every layer has a temperature and a humidity to be found."""

import numpy as np

from slowfire.column.compiled import jit
from slowfire.column.draft import (
    DIAGONAL,
    ELIMINATED,
    GIVING,
    LATENT_ABOVE,
    LATENT_BELOW,
    LATENT_OUT,
    LOWER,
    RIGHT,
    SOLUTION,
    UPPER,
    VAPOUR_LOWER,
    VAPOUR_RIGHT,
    VAPOUR_SOLUTION,
    VAPOUR_UPPER,
    WARMING,
)


@jit
def solve_pairs(work: np.ndarray, nodes: int) -> None:
    """Solve for the change of temperature t and of humidity x of every layer.

    ::

        d t_i + e x_i - l t_(i-1) - m x_(i-1) - u t_(i+1) - v x_(i+1) = r
        g x_i - w t_i - j x_(i-1) - k x_(i+1) = s

    Eliminates pairs from both ends towards the middle, as `solve_neighbours` does single values.
    """
    diagonal = work[DIAGONAL]
    latent = work[LATENT_OUT]
    warming = work[WARMING]
    giving = work[GIVING]
    lower = work[LOWER]
    lower_latent = work[LATENT_BELOW]
    lower_vapour = work[VAPOUR_LOWER]
    upper = work[UPPER]
    upper_latent = work[LATENT_ABOVE]
    upper_vapour = work[VAPOUR_UPPER]
    right = work[RIGHT]
    right_vapour = work[VAPOUR_RIGHT]
    t = work[SOLUTION]
    x = work[VAPOUR_SOLUTION]
    # by what t and x of a node follow those of the next one
    tt = work[ELIMINATED]
    tx = work[ELIMINATED + 1]
    xt = work[ELIMINATED + 2]
    xx = work[ELIMINATED + 3]
    middle = nodes // 2
    # of the node before, from below: the four shares and the two values; the same from above
    a = b = c = d = y = z = 0.0
    e = f = g = h = v = w = 0.0
    for k in range(middle):
        i = k
        l1 = lower[i] if k > 0 else 0.0
        l2 = lower_latent[i] if k > 0 else 0.0
        l3 = lower_vapour[i] if k > 0 else 0.0
        p = diagonal[i] - (l1 * a + l2 * c)
        q = latent[i] - (l1 * b + l2 * d)
        r = warming[i] + l3 * c
        s = giving[i] - l3 * d
        heat = right[i] + (l1 * y + l2 * z)
        vapour = right_vapour[i] + l3 * z
        one = 1.0 / (p * s + q * r)
        a = s * upper[i] * one
        b = (s * upper_latent[i] - q * upper_vapour[i]) * one
        c = r * upper[i] * one
        d = (r * upper_latent[i] + p * upper_vapour[i]) * one
        y = (s * heat - q * vapour) * one
        z = (r * heat + p * vapour) * one
        tt[i], tx[i], xt[i], xx[i] = a, b, c, d
        t[i], x[i] = y, z
        j = nodes - 1 - k
        if j == middle:
            continue
        u1 = upper[j] if k > 0 else 0.0
        u2 = upper_latent[j] if k > 0 else 0.0
        u3 = upper_vapour[j] if k > 0 else 0.0
        p = diagonal[j] - (u1 * e + u2 * g)
        q = latent[j] - (u1 * f + u2 * h)
        r = warming[j] + u3 * g
        s = giving[j] - u3 * h
        heat = right[j] + (u1 * v + u2 * w)
        vapour = right_vapour[j] + u3 * w
        one = 1.0 / (p * s + q * r)
        e = s * lower[j] * one
        f = (s * lower_latent[j] - q * lower_vapour[j]) * one
        g = r * lower[j] * one
        h = (r * lower_latent[j] + p * lower_vapour[j]) * one
        v = (s * heat - q * vapour) * one
        w = (r * heat + p * vapour) * one
        tt[j], tx[j], xt[j], xx[j] = e, f, g, h
        t[j], x[j] = v, w
    # the middle, between what both sides leave
    i = middle
    p, q, r, s = diagonal[i], latent[i], warming[i], giving[i]
    heat = right[i]
    vapour = right_vapour[i]
    if i > 0:
        p -= lower[i] * a + lower_latent[i] * c
        q -= lower[i] * b + lower_latent[i] * d
        r += lower_vapour[i] * c
        s -= lower_vapour[i] * d
        heat += lower[i] * y + lower_latent[i] * z
        vapour += lower_vapour[i] * z
    if i < nodes - 1:
        p -= upper[i] * e + upper_latent[i] * g
        q -= upper[i] * f + upper_latent[i] * h
        r += upper_vapour[i] * g
        s -= upper_vapour[i] * h
        heat += upper[i] * v + upper_latent[i] * w
        vapour += upper_vapour[i] * w
    one = 1.0 / (p * s + q * r)
    y = (s * heat - q * vapour) * one
    z = (r * heat + p * vapour) * one
    t[i], x[i] = y, z
    v, w = y, z
    for k in range(middle):
        i = middle - 1 - k
        y, z = t[i] + (tt[i] * y + tx[i] * z), x[i] + (xt[i] * y + xx[i] * z)
        t[i], x[i] = y, z
        j = middle + 1 + k
        if j < nodes:
            v, w = t[j] + (tt[j] * v + tx[j] * w), x[j] + (xt[j] * v + xx[j] * w)
            t[j], x[j] = v, w
