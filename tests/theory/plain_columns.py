"""Columns stripped to one process: dry stone dust, no air, no biology, no vapour."""

import numpy as np

from slowfire.column.draft import N_WORK, geometry
from slowfire.column.parameters import Parameters, default_parameters
from slowfire.column.positions import (
    ADDED_SOFT,
    ASH,
    INLET_SHARE,
    LOOSE_SOFT,
    N_STATE,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
    VENT_OPENING,
    WATER,
)
from slowfire.column.simulate import Air, Column
from slowfire.vessel import Fittings, Vessel, box

PERFECT = 1e9  # resistance of a wall that lets nothing through [m^2*K/W]


def dry_air(temperature_celsius: float, wind_speed: float = 0.0) -> Air:
    """Still air without any vapour, day and night."""
    return Air(np.array([[temperature_celsius, 0.0, wind_speed, 0.0, 0.0]]))


def dust(mass: float, volume: float, temperature_celsius: float, water: float = 0.0) -> np.ndarray:
    """A load of mineral matter: nothing in it decays."""
    row = np.zeros(N_STATE)
    row[ASH] = mass
    row[ADDED_SOFT] = mass
    row[LOOSE_SOFT] = volume
    row[WATER] = water
    row[TEMPERATURE] = temperature_celsius
    return row


def parameters(**changed: float) -> Parameters:
    """The default set with values for a thought experiment, outside the usual ranges too."""
    return default_parameters()._replace(**changed)


def sealed_box(**changed: float) -> Vessel:
    """A quarter of a square metre, 1 m high, without openings worth the name."""
    vessel = box(0.5, 0.5, 1.0, Fittings(vent_slot_length=0.0, inlet_area=0.0, sun_share=0.0))
    return vessel._replace(**({"lid_leak_area": 1e-9, "lid_exchange": 0.0} | changed))


def sealed(column: Column) -> Column:
    """Shut vent and inlet."""
    column.bin_state[VENT_OPENING] = 0.0
    column.bin_state[INLET_SHARE] = 0.0
    return column


def stack(column: Column, rows: list[np.ndarray]) -> Column:
    """Set the layers as they are, base first, without the splitting of a load."""
    for i, row in enumerate(rows):
        column.state[i] = row
        column.state[i, TEMPERATURE_BEFORE] = row[TEMPERATURE]
    column.layers = len(rows)
    return column


def measured(column: Column) -> np.ndarray:
    """The work array with the geometry of the stack filled in."""
    work = np.zeros((N_WORK, column.layers + 2))
    geometry(column.state, column.layers, column.bin_state, column.vessel, column.parameters, work)
    return work
