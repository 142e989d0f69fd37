"""What an estimate is made from: a bin's record as events, observations and weather."""

from collections.abc import Callable
from dataclasses import dataclass

from slowfire.column.contents import Load
from slowfire.column.simulate import Air, Column
from slowfire.column.stocktake import Habit
from slowfire.estimate.observe import Observed
from slowfire.materials.feedstock import Portion
from slowfire.vessel import Vessel


@dataclass(frozen=True)
class Event:
    """Something done to the bin.

    `load` is what went in, and then `apply` is not called; nor is it where `guessed` does the job
    of so many times the amount written.
    """

    hour: float
    apply: Callable[[Column], None]
    load: Load | None = None
    guessed: Callable[[Column, float], None] | None = None


@dataclass(frozen=True)
class Begin:
    """How a bin that was already running stood at hour 0.

    Attributes
    ----------
    habit : Habit
        How it was fed before.
    level_below_rim : float
        [m].
    days : float
        For how long [day].
    old_material : Portion
        The stuff below what was fed.
    air : Air
        Weather of those days, ending at hour 0.
    """

    habit: Habit
    level_below_rim: float
    days: float
    old_material: Portion
    air: Air


@dataclass(frozen=True)
class Plan:
    """One bin's record as an ensemble needs it.

    Attributes
    ----------
    vessel : Vessel
        As described.
    begin : Begin or None
        None for a bin that began empty.
    events : tuple of Event
        By hour.
    observed : tuple of Observed
        By hour; a reading is taken before what is done at the same hour.
    air : Air
        Hour by hour from 0.
    measured_until : float
        Hour up to which the air's temperature was measured; below 0 if nowhere [h].
    day_to_day_kelvin : float
        Standard deviation of a day's mean about the usual year's [K].
    absences : tuple of tuple of float
        From when to when nothing was fed, as written [h].
    """

    vessel: Vessel
    begin: Begin | None
    events: tuple[Event, ...]
    observed: tuple[Observed, ...]
    air: Air
    measured_until: float = -1.0
    day_to_day_kelvin: float = 3.5
    absences: tuple[tuple[float, float], ...] = ()
