"""A run of 50 steps with most kinds of act; prints its end as JSON when run by itself."""

import json

import numpy as np

from slowfire.column.positions import N_BIN, N_STATE
from slowfire.column.simulate import Column, constant_air
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, box

STEP = 900.0


def litres(word: str, volume: float) -> Portion:
    stuff = load_library().find(word)
    return Portion(stuff, volume * stuff.bulk_density / 1000.0, volume, "loose")


def run() -> Column:
    """Load twice, stir, water, bottle, a frozen night; 50 steps in all."""
    air = constant_air(-4.0, rain=1.0, wind_speed=3.0, irradiance=50.0)
    bin_ = box(0.4, 0.4, 0.7, Fittings(wall=(("eps", 0.03),), side_open=0.02))
    column = Column(bin_, air, time_step=STEP, event_step=STEP)
    column.load(
        [litres("food_waste_household_mixed", 12.0), litres("office_paper_shredded", 6.0)],
        temperature_celsius=30.0,
    )
    column.run_to(5.0)
    column.load([litres("bark_chips_fine", 4.0)], temperature_celsius=-5.0)
    column.stir(0.1, 0.5)
    column.water(3.0)
    column.place_bottle(1.0, 70.0)
    column.run_to(12.5)
    return column


def as_lists(column: Column) -> dict[str, list[float]]:
    """State, bin and books as plain numbers."""
    rows = column.state[: column.layers]
    assert rows.shape[1] == N_STATE
    assert column.bin_state.size == N_BIN
    return {
        "state": np.ravel(rows).tolist(),
        "bin": column.bin_state.tolist(),
        "ledger": column.ledger.tolist(),
    }


if __name__ == "__main__":
    print(json.dumps(as_lists(run())))
