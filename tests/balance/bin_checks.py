"""What must hold of any bin at any time: closed books and possible values."""

import numpy as np

from slowfire.column.ledger import Books
from slowfire.column.positions import (
    ACCLIMATION,
    CARBON_DIOXIDE,
    HEAD_CARBON_DIOXIDE,
    HEAD_HUMIDITY,
    HEAD_OXYGEN,
    HEAD_TEMPERATURE,
    N_EXTENSIVE,
    OXYGEN,
    TEMPERATURE,
    TUB_WATER,
)
from slowfire.column.simulate import Column
from slowfire.constants import OXYGEN_IN_AIR

MASSES = (
    "rapid",
    "slow",
    "resistant",
    "wood",
    "ash",
    "nitrogen",
    "water",
    "phosphorus",
    "potassium",
)


def check_books(result: Books) -> None:
    """Tolerances of the process model: 1e-12 for matter, 1e-9 for oxygen, 1e-6 for energy."""
    for name in MASSES:
        assert getattr(result, name) < 1e-12, f"{name}: {result}"
    assert result.oxygen < 1e-9, result
    assert result.energy < 1e-6, result


def check_bounds(column: Column) -> None:
    """What can never be, whatever was done to the bin."""
    rows = column.state[: column.layers]
    around = column.bin_state
    assert np.isfinite(rows).all()
    assert np.isfinite(around).all()
    assert np.isfinite(column.ledger).all()
    assert (rows[:, :N_EXTENSIVE] >= 0.0).all(), "a mass or volume is negative"
    richest = OXYGEN_IN_AIR * (1.0 + 1e-12)
    assert (rows[:, OXYGEN] >= 0.0).all()
    assert (rows[:, OXYGEN] <= richest).all()
    assert 0.0 <= around[HEAD_OXYGEN] <= richest
    assert (rows[:, CARBON_DIOXIDE] >= 0.0).all()
    assert (rows[:, CARBON_DIOXIDE] <= 1.0).all()
    assert 0.0 <= around[HEAD_CARBON_DIOXIDE] <= 1.0
    assert around[HEAD_HUMIDITY] >= 0.0
    assert around[TUB_WATER] >= 0.0
    assert (rows[:, ACCLIMATION] >= 0.0).all()
    assert (rows[:, ACCLIMATION] <= 1.0).all()
    # loads are never above 60 C nor air below -45 C, and nothing here boils
    assert (rows[:, TEMPERATURE] > -50.0).all()
    assert (rows[:, TEMPERATURE] < 100.0).all()
    assert -50.0 < around[HEAD_TEMPERATURE] < 100.0
    for layer in column.section().layers:
        assert 0.0 <= layer.moisture_content_wet_basis <= 1.0
        assert 0.0 < layer.free_air_space < 1.0
        assert layer.thickness > 0.0
        assert 0.0 <= layer.worms <= 1.0
        # half the span below the mean is the edge: it cannot be much colder than the air
        assert layer.temperature_edge_celsius > -60.0
        assert layer.temperature_centre_celsius < 110.0
