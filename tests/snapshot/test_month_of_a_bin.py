"""ALARM, not evidence: our own output of a 30-day run, kept to notice when results change.

The numbers below were made by this code and prove nothing about compost. When a change of
the model is meant, run `python tests/snapshot/test_month_of_a_bin.py` and paste its output;
say so in the changelog under results that change.
"""

import numpy as np
import pytest

from slowfire.column.positions import L_HEAT_BIOLOGY, L_LIQUID_OUT, L_VAPOUR_OUT, WATER
from slowfire.column.simulate import Column, constant_air
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, box

OWN_OUTPUT: dict[str, float] = {
    "hottest_mean_celsius": 32.74,
    "hottest_last_celsius": 39.07,
    "lid_celsius": 28.02,
    "fill_height": 0.1319,
    "dry_mass": 5.432,
    "water": 14.06,
    "heat_megajoule": 95.88,
    "vapour": 9.797,
    "liquid": 0,
}


def litres(word: str, volume: float) -> Portion:
    stuff = load_library().find(word)
    return Portion(stuff, volume * stuff.bulk_density / 1000.0, volume, "loose")


def month() -> dict[str, float]:
    """Two loads a week into a foam bin in 12 C air, stirred in."""
    vessel = box(
        0.5,
        0.5,
        0.96,
        Fittings(wall=(("eps", 0.06),), lid=(("eps", 0.03),), vent_slot_length=0.3),
    )
    column = Column(vessel, constant_air(12.0))
    hottest = []
    for day in range(30):
        if day % 7 in (0, 3):
            column.load(
                [
                    litres("food_waste_household_mixed", 7.0),
                    litres("office_paper_shredded", 4.0),
                    litres("bark_chips_fine", 1.0),
                ],
                temperature_celsius=15.0,
            )
            column.stir(0.12)
        column.run_to(24.0 * (day + 1))
        hottest.append(column.section().hottest_celsius)
    rows = column.state[: column.layers]
    section = column.section()
    return {
        "hottest_mean_celsius": float(np.mean(hottest)),
        "hottest_last_celsius": hottest[-1],
        "lid_celsius": section.lid_celsius,
        "fill_height": section.fill_height,
        "dry_mass": float(rows[:, :5].sum()),
        "water": float(rows[:, WATER].sum()),
        "heat_megajoule": float(column.ledger[L_HEAT_BIOLOGY]) / 1e6,
        "vapour": float(column.ledger[L_VAPOUR_OUT]),
        "liquid": float(column.ledger[L_LIQUID_OUT]),
    }


@pytest.mark.parametrize("name", list(OWN_OUTPUT))
def test_month_is_as_it_was(name: str):
    """Platforms differ in the last digits; a change of the model shows in the first three."""
    got = month()[name]
    kelvin = name.endswith("celsius")
    close = pytest.approx(
        OWN_OUTPUT[name], rel=0.0 if kelvin else 0.01, abs=0.2 if kelvin else 5e-3
    )
    assert got == close, f"{name} was {OWN_OUTPUT[name]:g}, is {got:g}: is this change meant?"


if __name__ == "__main__":
    for key, value in month().items():
        print(f'    "{key}": {value:.4g},')
