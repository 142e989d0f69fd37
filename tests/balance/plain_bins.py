"""A foam-walled bin of 240 L and what is tipped into it."""

from slowfire.column.simulate import Column
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, Vessel, box

FOOD = "food_waste_household_mixed"
PAPER = "office_paper_shredded"
BARK = "bark_chips_fine"


def litres(word: str, volume: float) -> Portion:
    """A loosely tipped volume of a material."""
    stuff = load_library().find(word)
    return Portion(stuff, volume * stuff.bulk_density / 1000.0, volume, "loose")


def foam_bin(**changed: object) -> Vessel:
    """Fittings may be changed by name."""
    fittings = {"wall": (("eps", 0.06),), "lid": (("eps", 0.03),), "vent_slot_length": 0.3}
    return box(0.5, 0.5, 0.96, Fittings(**(fittings | changed)))


def feed(column: Column, volume: float, temperature_celsius: float = 15.0) -> None:
    """Some litres of kitchen waste with paper and bark."""
    column.load(
        [litres(FOOD, volume), litres(PAPER, 0.6 * volume), litres(BARK, 0.15 * volume)],
        temperature_celsius=temperature_celsius,
    )


def fed(column: Column, days: int, volume: float = 6.0) -> Column:
    """Fed and stirred every third day, dug out when full."""
    for _ in range(days // 3):
        if column.room_litres() < 2.0 * volume:
            column.dig_out(litres=60.0)
        feed(column, volume)
        column.stir(0.12)
        column.run_to(column.hour + 72.0)
    return column
