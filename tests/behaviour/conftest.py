"""Bins used by the behaviour tests: 240 L, 60 mm foam, 12 C air, two loads a week."""

from collections.abc import Callable
from functools import lru_cache

import pytest

from slowfire.column.simulate import Column, constant_air
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, Vessel, box

FOOD = "food_waste_household_mixed"
PAPER = "office_paper_shredded"
BARK = "bark_chips_fine"


def litres(word: str, volume: float) -> Portion:
    stuff = load_library().find(word)
    return Portion(stuff, volume * stuff.bulk_density / 1000.0, volume, "loose")


def foam_bin(lid_fit: str = "usual") -> Vessel:
    return box(
        0.5,
        0.5,
        0.96,
        Fittings(
            wall=(("eps", 0.06),), lid=(("eps", 0.03),), vent_slot_length=0.3, lid_fit=lid_fit
        ),
    )


@lru_cache(maxsize=32)
def fed(
    week_kilograms: float,
    paper: float = 0.5,
    chips: float = 0.15,
    weeks: int = 26,
    vent: float = 0.0015,
    air: float = 12.0,
    lid_fit: str = "usual",
) -> Column:
    """A bin fed twice a week; paper and chips in caddies per caddy of food."""
    column = Column(foam_bin(lid_fit), constant_air(air))
    column.set_vent(vent)
    food = litres(FOOD, 1.0)
    volume = week_kilograms / 2.0 / food.mass
    hottest = []
    for _ in range(2 * weeks):
        load = [litres(FOOD, volume)]
        if paper > 0.0:
            load.append(litres(PAPER, paper * volume))
        if chips > 0.0:
            load.append(litres(BARK, chips * volume))
        if column.room_litres() < 2.0 * volume:
            column.dig_out(litres=60.0)
        column.load(load, temperature_celsius=15.0)
        column.stir(0.12)
        column.run_to(column.hour + 84.0)
        hottest.append(column.section().hottest_celsius)
    HOTTEST[id(column)] = hottest
    return column


# Hottest layer at the end of every half week, by identity of the (cached) bin.
HOTTEST: dict[int, list[float]] = {}


@pytest.fixture(name="fed")
def fed_fixture() -> Callable[..., Column]:
    return fed


@pytest.fixture(name="portion")
def portion_fixture() -> Callable[[str, float], Portion]:
    return litres


@pytest.fixture(name="hottest")
def hottest_fixture() -> Callable[[Column], list[float]]:
    return lambda column: HOTTEST[id(column)]
