"""Books: every entry counted once, with its sign, and a wrong entry seen."""

from dataclasses import fields

import numpy as np
import pytest

from slowfire.column import positions
from slowfire.column.ledger import FLOWS, Books, books, stored
from slowfire.column.simulate import Column, constant_air
from slowfire.constants import HEAT_CAPACITY_WATER
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import box

# Entries that are made for reading and take part in no balance of their own.
INDICATIVE = {
    "L_MASS_LOADED",
    "L_MASS_DUG",
    "L_OXYGEN_DEFECT",
    "L_CARBON_DIOXIDE",
    "L_METHANE",
    "L_NITROUS_OXIDE",
}


def litres(word: str, volume: float) -> Portion:
    stuff = load_library().find(word)
    return Portion(stuff, volume * stuff.bulk_density / 1000.0, volume, "loose")


@pytest.fixture(name="column")
def ten_days() -> Column:
    column = Column(box(0.5, 0.5, 0.9), constant_air(12.0))
    for _ in range(3):
        column.load(
            [litres("food_waste_household_mixed", 8.0), litres("office_paper_shredded", 6.0)]
        )
        column.run_to(column.hour + 80.0)
    column.dig_out(litres=5.0)
    return column


def test_every_entry_of_the_ledger_is_in_one_balance():
    used = [position for flows in FLOWS.values() for position, _ in flows]
    assert len(used) == len(set(used))
    named = {
        name: value
        for name, value in vars(positions).items()
        if name.startswith("L_") and name not in INDICATIVE
    }
    missing = {name for name, value in named.items() if value not in used}
    assert not missing


def test_names_of_books_and_flows_agree():
    assert [field.name for field in fields(Books)] == list(FLOWS)
    empty = Column(box(0.5, 0.5, 0.9), constant_air(12.0))
    assert list(stored(empty)) == list(FLOWS)


def test_signs_are_plus_or_minus_one():
    assert {sign for flows in FLOWS.values() for _, sign in flows} == {1.0, -1.0}


@pytest.mark.parametrize("name", list(FLOWS))
def test_a_wrong_entry_is_seen(column: Column, name: str):
    assert books(None, column).balance_error_relative < 1e-9
    for position, _ in FLOWS[name]:
        wrong = column.copy()
        moved = sum(abs(column.ledger[entry]) for entry, _ in FLOWS[name])
        wrong.ledger[position] += 1e-4 * max(moved, 1e-2)
        result = books(None, wrong)
        assert getattr(result, name) > 1e-5, position
        assert result.worst == name


@pytest.mark.parametrize("name", list(FLOWS))
def test_what_vanished_is_seen(column: Column, name: str):
    """A thousandth of all that is stored goes, and the balance misses by about as much."""
    lost = column.copy()
    rows = lost.state[: lost.layers]
    share = {
        "rapid": positions.RAPID,
        "slow": positions.SLOW,
        "resistant": positions.RESISTANT,
        "ash": positions.ASH,
        "nitrogen": positions.N_RAPID,
        "water": positions.WATER,
        "phosphorus": positions.PHOSPHORUS,
        "potassium": positions.POTASSIUM,
        "oxygen": positions.OXYGEN,
        "energy": positions.TEMPERATURE,
    }.get(name)
    if share is None:
        # there is no wood in this bin: a gram of it out of nothing
        rows[0, positions.WOOD] += 1e-3
    else:
        rows[:, share] *= 0.999
    # the pores hold little oxygen of all that passes through them
    assert getattr(books(None, lost), name) > (1e-7 if name == "oxygen" else 1e-6)


def test_from_a_moment_on(column: Column):
    before = column.copy()
    before.ledger[positions.L_WATER_IN] += 5.0
    column.ledger[positions.L_WATER_IN] += 5.0
    column.run_to(column.hour + 24.0)
    assert books(before, column).balance_error_relative < 1e-9
    assert books(None, column).worst == "water"


def test_worst_is_the_largest():
    values = dict.fromkeys(FLOWS, 0.0) | {"oxygen": 3e-3, "ash": 1e-3}
    result = Books(**values)
    assert result.worst == "oxygen"
    assert result.balance_error_relative == 3e-3


def test_stored_energy_is_that_of_wet_matter_and_head_space():
    column = Column(box(0.5, 0.5, 0.9), constant_air(0.0))
    row = np.zeros(positions.N_STATE)
    row[positions.ASH] = 2.0
    row[positions.ADDED_SOFT] = 2.0
    row[positions.LOOSE_SOFT] = 0.002
    row[positions.WATER] = 3.0
    row[positions.TEMPERATURE] = 50.0
    column.load_row(row)
    solids = column.parameters.heat_capacity_solids
    expected = 50.0 * (2.0 * solids + 3.0 * HEAT_CAPACITY_WATER)
    assert stored(column)["energy"] == pytest.approx(expected, rel=1e-12)
    column.bin_state[positions.HEAD_TEMPERATURE] = 10.0
    head = 10.0 * column.parameters.head_capacity * 0.25
    assert stored(column)["energy"] == pytest.approx(expected + head, rel=1e-12)
