"""The books of a run: what went in, came out and is still there, and by how much they differ."""

from dataclasses import dataclass, fields

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.column import kernel
from slowfire.column.positions import (
    ASH,
    GAS_MOLES,
    HEAD_GAS_MOLES,
    HEAD_OXYGEN,
    HEAD_TEMPERATURE,
    L_AMMONIA_OUT,
    L_DENITRIFIED,
    L_HEAT_BASE,
    L_HEAT_BIOLOGY,
    L_HEAT_BOTTLE,
    L_HEAT_DUG,
    L_HEAT_GAS,
    L_HEAT_LID,
    L_HEAT_LIQUID,
    L_HEAT_LOADED,
    L_HEAT_OPENED,
    L_HEAT_WALL,
    L_LIQUID_OUT,
    L_NITROGEN_DUG,
    L_NITROGEN_LIQUID,
    L_NITROGEN_LOADED,
    L_OXYGEN_DRAFT,
    L_OXYGEN_OPENED,
    L_OXYGEN_USED,
    L_PHOSPHORUS_LOADED,
    L_PHOSPHORUS_OUT,
    L_POOL_DUG,
    L_POOL_LOADED,
    L_POOL_LOST,
    L_POTASSIUM_LOADED,
    L_POTASSIUM_OUT,
    L_VAPOUR_OUT,
    L_WATER_DUG,
    L_WATER_IN,
    L_WATER_LOADED,
    L_WATER_MADE,
    N_AMMONIACAL,
    N_LEDGER,
    N_NITRATE,
    N_RAPID,
    OXYGEN,
    PHOSPHORUS,
    POTASSIUM,
    RAPID,
    RESISTANT,
    SLOW,
    WATER,
    WOOD,
)
from slowfire.column.simulate import Column
from slowfire.constants import MOLAR_MASS_OXYGEN

# Entry of the ledger and its sign: +1 adds to what is stored, -1 takes from it.
Flows = tuple[tuple[int, float], ...]


def _pool(position: int) -> Flows:
    return (
        (L_POOL_LOADED + position, 1.0),
        (L_POOL_DUG + position, -1.0),
        (L_POOL_LOST + position, -1.0),
    )


FLOWS: dict[str, Flows] = {
    "rapid": _pool(RAPID),
    "slow": _pool(SLOW),
    "resistant": _pool(RESISTANT),
    "wood": _pool(WOOD),
    "ash": _pool(ASH),
    "nitrogen": (
        (L_NITROGEN_LOADED, 1.0),
        (L_NITROGEN_DUG, -1.0),
        (L_NITROGEN_LIQUID, -1.0),
        (L_AMMONIA_OUT, -1.0),
        (L_DENITRIFIED, -1.0),
    ),
    "water": (
        (L_WATER_LOADED, 1.0),
        (L_WATER_IN, 1.0),
        (L_WATER_MADE, 1.0),
        (L_VAPOUR_OUT, -1.0),
        (L_LIQUID_OUT, -1.0),
        (L_WATER_DUG, -1.0),
    ),
    "phosphorus": ((L_PHOSPHORUS_LOADED, 1.0), (L_PHOSPHORUS_OUT, -1.0)),
    "potassium": ((L_POTASSIUM_LOADED, 1.0), (L_POTASSIUM_OUT, -1.0)),
    "oxygen": (
        (L_OXYGEN_OPENED, 1.0),
        (L_OXYGEN_DRAFT, 1.0),
        (L_OXYGEN_USED, -1.0),
    ),
    "energy": (
        (L_HEAT_BIOLOGY, 1.0),
        (L_HEAT_LOADED, 1.0),
        (L_HEAT_BOTTLE, 1.0),
        (L_HEAT_OPENED, 1.0),
        (L_HEAT_WALL, -1.0),
        (L_HEAT_LID, -1.0),
        (L_HEAT_BASE, -1.0),
        (L_HEAT_GAS, -1.0),
        (L_HEAT_LIQUID, -1.0),
        (L_HEAT_DUG, -1.0),
    ),
}

# A gram or a kilojoule: the vapour and heat of air that only passes through are booked net.
SMALLEST = {name: 1e3 if name == "energy" else 1e-3 for name in FLOWS}


@dataclass(frozen=True)
class Books:
    """By how much each balance misses, relative to all that moved [-].

    Attributes
    ----------
    rapid, slow, resistant, wood, ash : float
        Dry matter of the five pools.
    nitrogen, water, phosphorus, potassium : float
        In the layers, against what was loaded, made, dug out, drained and carried off.
    oxygen : float
        In the pores and the head-space, against draft, opening and use.
    energy : float
        Of layers and head-space.
    """

    rapid: float
    slow: float
    resistant: float
    wood: float
    ash: float
    nitrogen: float
    water: float
    phosphorus: float
    potassium: float
    oxygen: float
    energy: float

    @property
    def worst(self) -> str:
        """Name of the balance that misses most."""
        return max((field.name for field in fields(self)), key=lambda name: getattr(self, name))

    @property
    def balance_error_relative(self) -> float:
        """The largest of all the errors [-]."""
        return float(getattr(self, self.worst))


def stored(column: Column) -> dict[str, float]:
    """What a bin holds of everything that is balanced.

    Parameters
    ----------
    column : Column
        A bin in any state.

    Returns
    -------
    dict of str to float
        Masses [kg] and energy [J] by the names of `Books`.

    Notes
    -----
    Exact sums over the layers; oxygen in the pores and under the lid as of the last step; energy
    above dry solids and liquid water at 0 degC. Liquid in the tub has left the bin.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.materials.feedstock import Portion
    >>> from slowfire.materials.library import load_library
    >>> from slowfire.vessel import box
    >>> column = Column(box(0.5, 0.5, 0.9), constant_air(12.0))
    >>> number = column.load([Portion.from_mass(load_library().find("peelings"), 2.0)])
    >>> round(stored(column)["water"], 3)
    1.7
    """
    rows: FloatArray = column.state[: column.layers]
    around = column.bin_state
    gas = float((rows[:, GAS_MOLES] * rows[:, OXYGEN]).sum())
    head = float(around[HEAD_GAS_MOLES] * around[HEAD_OXYGEN])
    nitrogen = [*range(N_RAPID, N_RAPID + 4), N_AMMONIACAL, N_NITRATE]
    warmth = kernel.sensible_heat(
        column.state, column.layers, column.parameters.heat_capacity_solids
    )
    head_warmth = (
        column.parameters.head_capacity * column.vessel.top_area * around[HEAD_TEMPERATURE]
    )
    return {
        "rapid": float(rows[:, RAPID].sum()),
        "slow": float(rows[:, SLOW].sum()),
        "resistant": float(rows[:, RESISTANT].sum()),
        "wood": float(rows[:, WOOD].sum()),
        "ash": float(rows[:, ASH].sum()),
        "nitrogen": float(rows[:, nitrogen].sum()),
        "water": float(rows[:, WATER].sum()),
        "phosphorus": float(rows[:, PHOSPHORUS].sum()),
        "potassium": float(rows[:, POTASSIUM].sum()),
        "oxygen": (gas + head) * MOLAR_MASS_OXYGEN,
        "energy": float(warmth + head_warmth),
    }


def books(column_before: Column | None, column: Column) -> Books:
    """Balance what came and went against what is stored.

    ::

        e = |S_1 - S_0 - sum(s_j F_j)| / (|S_0| + sum |F_j|)

    with S_0 and S_1 what is stored before and after, F_j the flows the run has booked and s_j
    their signs.

    Parameters
    ----------
    column_before : Column or None
        The bin at the start of the time looked at; None for a new, empty one.
    column : Column
        The same bin later.

    Returns
    -------
    Books
        What each balance misses.

    Notes
    -----
    Exact but for rounding. Throughput counts as at least a gram or a kilojoule, so that an empty
    bin with air passing through it closes. A new bin has its head-space at the temperature of
    the first hour of its weather, which counts as stored before.

    Examples
    --------
    >>> from slowfire.column.simulate import Column, constant_air
    >>> from slowfire.vessel import box
    >>> empty = Column(box(0.5, 0.5, 0.9), constant_air(12.0))
    >>> books(None, empty).balance_error_relative
    0.0
    """
    start = column_before
    if start is None:
        start = Column(column.vessel, column.air, column.parameters)
    before = stored(start)
    after = stored(column)
    moved = column.ledger - start.ledger
    errors = {}
    for name, flows in FLOWS.items():
        signs = np.zeros(N_LEDGER)
        for position, sign in flows:
            signs[position] = sign
        throughput = abs(before[name]) + float(np.abs(signs * moved).sum())
        defect = abs(after[name] - before[name] - float((signs * moved).sum()))
        errors[name] = defect / max(throughput, SMALLEST[name])
    return Books(**errors)
