"""Starting from a bin that is already part-full: spin up under the habit that filled it."""

from collections.abc import Sequence
from dataclasses import dataclass

from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    ADDED_HOUR,
    BOTTLE_CAPACITY,
    HOUR,
    LAST_EVENT_HOUR,
    REVERSED_HOURS,
    TUB_WATER,
)
from slowfire.column.simulate import DEFAULT_STEP, EVENT_STEP, Air, Column
from slowfire.errors import InvalidInput, check_range
from slowfire.materials.feedstock import Portion
from slowfire.vessel import Vessel, inside_volume

STIR_DEPTH = 0.12  # a hand fork stirs the newest layer in [m]
LONGEST_SPIN_UP = 730.0  # [day]
LEVEL_TOLERANCE = 0.01  # [m]


@dataclass(frozen=True)
class Habit:
    """How a bin has been fed.

    Attributes
    ----------
    load : tuple of Portion
        What one load usually holds.
    days_between : float
        0.5-60 [day].
    vent_opening : float
        Of the lid vent, 0-0.5 [m].
    stirred : bool
        Whether the newest layer is stirred in.
    """

    load: tuple[Portion, ...]
    days_between: float
    vent_opening: float = 0.0015
    stirred: bool = True

    def __post_init__(self) -> None:
        if not self.load:
            raise InvalidInput("A habit needs at least one material in the usual load.")
        check_range("Days between loads", self.days_between, 0.5, 60.0, "days")
        check_range("Vent opening", self.vent_opening, 0.0, 0.5, "m")


def _fed(
    vessel: Vessel,
    air: Air,
    parameters: Parameters,
    habit: Habit,
    target_height: float,
    days: float,
    bed: Sequence[Portion],
    steps: tuple[float, float],
) -> Column:
    """Run the habit for `days`, digging out at the base whenever the stack passes the level."""
    column = Column(vessel, air, parameters, *steps)
    column.set_vent(habit.vent_opening)
    if bed:
        column.load(bed)
        for i in range(column.layers):
            column.state[i, ADDED_HOUR] = -24.0 * days
    loads = max(round(days / habit.days_between), 1)
    for _ in range(loads):
        column.load(habit.load)
        if habit.stirred:
            column.stir(STIR_DEPTH)
        column.run_to(column.hour + 24.0 * habit.days_between)
        above = column.section().fill_height - target_height
        if above > LEVEL_TOLERANCE:
            column.dig_out(litres=1000.0 * above * vessel.base_area)
    return column


def spin_up(
    vessel: Vessel,
    air: Air,
    parameters: Parameters,
    habit: Habit,
    level_below_rim: float,
    days: float,
    old_material: Portion,
    time_step: float = DEFAULT_STEP,
    event_step: float = EVENT_STEP,
) -> Column:
    """Build the likely inside of a part-full bin that has no log.

    The habit is run from a bed of old material chosen so that the stack ends at the level seen;
    when feeding alone passes the level, the surplus is dug out at the base on the way. The heat
    history starts at zero, since nobody measured it.

    Parameters
    ----------
    vessel : Vessel
        The container.
    air : Air
        Weather before the stock-take, from its first hour on; its last hour holds.
    parameters : Parameters
        The parameter set.
    habit : Habit
        The usual load and how often.
    level_below_rim : float
        From the rim down to the surface, 0 to the bin's height [m].
    days : float
        For how long it has been fed, 1-730 [day].
    old_material : Portion
        One portion of half-finished compost, the stuff of the bed.
    time_step, event_step : float
        Steps of the run, and after an event [s].

    Returns
    -------
    Column
        At hour 0, with empty books.

    Raises
    ------
    InvalidInput
        If a value is outside its range.

    Notes
    -----
    Our own way, a likely inside and not a measured one. It aims within 0.01 m of the level seen and
    ends lower where four sizes of bed do not reach it or the bed would fill the bin.

    Examples
    --------
    >>> from slowfire.column.parameters import default_parameters
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.materials.library import load_library
    >>> from slowfire.vessel import box
    >>> find = load_library().find
    >>> habit = Habit((Portion.from_mass(find("peelings"), 2.0),), days_between=3.5)
    >>> old = Portion.from_mass(find("compost"), 20.0)
    >>> air = constant_air(12.0)
    >>> column = spin_up(box(0.5, 0.5, 0.9), air, default_parameters(), habit, 0.5, 14.0, old)
    >>> column.hour, round(column.section().fill_below_rim, 1)
    (0.0, 0.5)
    """
    check_range("Level below the rim", level_below_rim, 0.0, vessel.height, "m")
    check_range("Days since feeding began", days, 1.0, LONGEST_SPIN_UP, "days")
    target = vessel.height - level_below_rim
    steps = (time_step, event_step)
    column = _fed(vessel, air, parameters, habit, target, days, (), steps)
    bed_volume = 0.0
    for _ in range(4):
        missing = target - column.section().fill_height
        if missing <= LEVEL_TOLERANCE:
            break
        bed_volume += missing * vessel.base_area / 0.9
        bed_volume = min(bed_volume, inside_volume(vessel))
        share = bed_volume * 1000.0 / old_material.litres
        bed = (
            Portion(
                old_material.feedstock,
                old_material.mass * share,
                old_material.litres * share,
                old_material.packing,
            ),
        )
        column = _fed(vessel, air, parameters, habit, target, days, bed, steps)
    column.state[: column.layers, ADDED_HOUR] -= column.hour
    column.bin_state[LAST_EVENT_HOUR] -= column.hour
    column.bin_state[HOUR] = 0.0
    column.bin_state[REVERSED_HOURS] = 0.0
    column.bin_state[BOTTLE_CAPACITY] = 0.0
    column.bin_state[TUB_WATER : TUB_WATER + 4] = 0.0
    column.history[:] = 0.0
    column.ledger[:] = 0.0
    return column


def with_weather(column: Column, air: Air) -> Column:
    """Give a bin the weather that begins at its hour 0.

    Parameters
    ----------
    column : Column
        A bin at hour 0.
    air : Air
        Weather from now on.

    Returns
    -------
    Column
        The same bin, copied.

    Notes
    -----
    Exact: nothing but the weather differs. The air under the lid stays as warm as it was.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> autumn = Column(box(0.5, 0.5, 0.9), constant_air(12.0))
    >>> with_weather(autumn, constant_air(-5.0)).air.temperature_celsius(0.0)
    -5.0
    """
    twin = column.copy()
    twin.air = air
    return twin
