"""A few grams tipped onto a warm bin join what lies there; they heat and cool within seconds."""

import numpy as np
import pytest

from slowfire.column.simulate import Column, constant_air
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, box

FOOD = load_library().find("food_waste_household_mixed")
CHIPS = load_library().find("bark_chips_fine")


@pytest.mark.parametrize("grams", [1.0, 5.0, 20.0, 60.0])
@pytest.mark.parametrize("step", [720.0, 1800.0, 3600.0])
def test_a_few_grams_change_next_to_nothing(grams, step):
    fittings = Fittings(wall=(("eps", 0.05),), vent_slot_length=0.3)
    bins = []
    for extra in (0.0, grams / 1000.0):
        column = Column(box(0.5, 0.5, 0.8, fittings), constant_air(8.0), time_step=step)
        for day in range(6):
            column.run_to(24.0 * 2 * day)
            column.load((Portion(FOOD, 4.0, 9.5), Portion(CHIPS, 0.8, 3.0)))
        column.run_to(300.0)
        layers = column.layers
        if extra:
            column.load((Portion(FOOD, extra, 2.4 * extra),))
        else:
            column.open_lid()
        assert column.layers == layers
        column.run_to(348.0)
        bins.append(column)
    plain, sprinkled = (one.section() for one in bins)
    assert np.isfinite(bins[1].state[: bins[1].layers]).all()
    for one, other in zip(plain.layers, sprinkled.layers, strict=True):
        assert other.temperature_centre_celsius == pytest.approx(
            one.temperature_centre_celsius, abs=0.6
        )
