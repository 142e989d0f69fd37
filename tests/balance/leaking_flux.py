"""The 50-step run with one flux broken on purpose; prints the errors of its books as JSON.

Needs NUMBA_DISABLE_JIT=1, so that a function of the kernel can be replaced.
"""

import json
import sys
from dataclasses import asdict

import fifty_steps
import numpy as np

from slowfire.column import heat_water, kernel
from slowfire.column.draft import ENERGY
from slowfire.column.ledger import books
from slowfire.column.positions import ASH, N_NITRATE, OXYGEN, RAPID, WATER
from slowfire.column.simulate import Column

GRAM = 1e-3


def lose(state: np.ndarray, column: int, amount: float) -> None:
    """Let the base layer lose something nobody books."""
    state[0, column] -= min(amount, state[0, column])


def break_flux(which: str) -> None:
    """Wrap one function of the kernel so that a little vanishes in each step."""
    if which in ("water", "energy"):
        finish = heat_water.finish_fluxes

        def leaking_finish(state, layers, *rest):
            finish(state, layers, *rest)
            if which == "water":
                lose(state, WATER, GRAM)
            else:
                rest[-2][ENERGY, 0] -= 100.0

        heat_water.finish_fluxes = leaking_finish
    elif which == "oxygen":
        solve = kernel.oxygen_step

        def leaking_oxygen(state, *rest):
            sweeps = solve(state, *rest)
            state[0, OXYGEN] *= 0.99
            return sweeps

        kernel.oxygen_step = leaking_oxygen
    elif which in ("rapid", "nitrogen", "ash"):
        advance = kernel.advance_pools
        column = {"rapid": RAPID, "nitrogen": N_NITRATE, "ash": ASH}[which]

        def leaking_pools(state, *rest):
            advance(state, *rest)
            state[0, column] -= 1e-6

        kernel.advance_pools = leaking_pools
    elif which != "none":
        sys.exit(f"no flux called {which}")


if __name__ == "__main__":
    break_flux(sys.argv[1])
    end: Column = fifty_steps.run()
    print(json.dumps(asdict(books(None, end))))
