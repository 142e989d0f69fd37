"""Bins whose inside is set by hand, so that what they should predict is known."""

import numpy as np

from slowfire.column.positions import CENTRE_MINUS_EDGE, OXYGEN, TEMPERATURE, WATER
from slowfire.column.simulate import Air, Column, constant_air
from slowfire.estimate.glimpse import Glimpse, glimpse
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, Vessel, box


def filled(air: Air | None = None, vessel: Vessel | None = None, loads: int = 8) -> Column:
    """A bin of some layers, all at 12 C, without heat of its own yet."""
    library = load_library()
    column = Column(vessel or box(0.5, 0.5, 0.96), air or constant_air(12.0))
    for _ in range(loads):
        column.load(
            [
                Portion.from_mass(library.find("food waste"), 6.0),
                Portion.from_mass(library.find("shredded paper"), 0.5, "loose"),
            ]
        )
    return column


def line(column: Column, at_floor: float, at_top: float, across: float = 0.0) -> Glimpse:
    """Set temperature to a straight line between the floor and the top of the stack."""
    seen = glimpse(column)
    height = seen.middles / seen.fill_height
    column.state[: column.layers, TEMPERATURE] = at_floor + (at_top - at_floor) * height
    column.state[: column.layers, CENTRE_MINUS_EDGE] = across
    return glimpse(column)


def even(column: Column, celsius: float, oxygen: float | None = None) -> Glimpse:
    """One temperature throughout, and one content of oxygen if it is given."""
    column.state[: column.layers, TEMPERATURE] = celsius
    column.state[: column.layers, CENTRE_MINUS_EDGE] = 0.0
    if oxygen is not None:
        column.state[: column.layers, OXYGEN] = oxygen
    return glimpse(column)


def wetted(column: Column, moisture: float) -> Glimpse:
    """The same moisture, wet basis, in every layer."""
    dry = glimpse(column).dry_mass
    column.state[: column.layers, WATER] = dry * moisture / (1.0 - moisture)
    return glimpse(column)


def sunny(celsius: float, level: float, walls: float, wind: float = 0.0) -> Air:
    """Weather that never changes, with sun."""
    return Air(np.array([[celsius, 0.6, wind, 0.0, level, walls]]))


def shaded_box(**fittings: float) -> Vessel:
    """A bin of usual size with chosen fittings."""
    return box(0.5, 0.5, 0.96, Fittings(**fittings))
