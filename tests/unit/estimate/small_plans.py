"""Records of a few days of a small bin, and what a known bin would have shown in them."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from slowfire.column.contents import Load
from slowfire.column.simulate import Air, Column
from slowfire.estimate.condition import EVENT_STEP, STEP
from slowfire.estimate.member import Passage, Window, run_member
from slowfire.estimate.observe import Observed
from slowfire.estimate.plan import Event, Plan
from slowfire.estimate.priors import setting_of
from slowfire.estimate.readings import Instrument, Place, lid_dial, probe
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, Vessel, box

FOAM = Fittings(wall=(("eps", 0.05),), lid=(("eps", 0.05),), base=(("eps", 0.05),))
LONG_PROBE = Instrument("long probe", 0.1)
DIAL = Instrument("dial", 1.0)


def foam_box() -> Vessel:
    """A usual bin of a quarter of a square metre, foam all round."""
    return box(0.5, 0.5, 0.9, FOAM)


def spring_air(days: float = 21.0) -> Air:
    """Days of 4 to 14 C."""
    hours = np.arange(24.0 * days + 2.0)
    day = -np.cos(2.0 * np.pi * (hours - 4.0) / 24.0)
    columns = [9.0 + 5.0 * day, np.full(hours.size, 0.75), np.full(hours.size, 1.5)]
    return Air(np.column_stack([*columns, np.zeros((hours.size, 3))]))


def caddy(food: float = 8.0, paper: float = 1.0) -> Load:
    """Food and loose paper, by wet mass [kg]."""
    find = load_library().find
    return Load(
        (
            Portion.from_mass(find("food waste"), food),
            Portion.from_mass(find("shredded paper"), paper, "loose"),
        )
    )


def unused(column: Column) -> None:
    """What an event of a load never calls."""
    raise AssertionError("a load is tipped in by the member, with its own factors")


def fed(hour: float, load: Load | None = None) -> Event:
    """A load at an hour."""
    return Event(hour, unused, load or caddy())


def plan_of_loads(
    hours: Sequence[float] = (0.0, 24.0, 72.0, 120.0),
    observed: Sequence[Observed] = (),
    air: Air | None = None,
    **more: object,
) -> Plan:
    """The foam box fed at some hours."""
    events = tuple(fed(hour) for hour in hours)
    weather = air or spring_air()
    plan = Plan(foam_box(), None, events, tuple(observed), weather, weather.table.shape[0])
    return replace(plan, **more)


def at_depth(hour: float, celsius: float = 0.0, depth: float = 0.15) -> Observed:
    """A wire in the middle of the bed."""
    return probe(hour, celsius, LONG_PROBE, Place(depth=depth, spot="centre"))


def in_lid(hour: float, celsius: float = 0.0) -> Observed:
    """A dial in the lid."""
    return lid_dial(hour, celsius, DIAL)


def empty_bin(plan: Plan, normals: Mapping[str, float], member: int = 0) -> Column:
    """The start of one member."""
    return Column(plan.vessel, plan.air, setting_of(normals, member).parameters, STEP, EVENT_STEP)


def passed(
    plan: Plan,
    normals: Mapping[str, float],
    end: float,
    member: int = 0,
    watch_hours: Sequence[float] = (),
    **more: object,
) -> Passage:
    """One member from the first hour to the end, with nothing gone astray."""
    events = tuple(one for one in plan.events if one.hour <= end)
    observed = tuple(one for one in plan.observed if one.hour <= end)
    window = replace(Window(0.0, end, events, observed, strayed=0.0), **more)
    start = empty_bin(plan, normals, member)
    return run_member(plan, window, start, normals, member, end, watch_hours)


def as_read(
    plan: Plan, normals: Mapping[str, float], member: int, noise: Sequence[float] | None = None
) -> Plan:
    """The same record with the values that a bin of these normals would have shown."""
    end = max(one.hour for one in plan.observed)
    shown = passed(plan, normals, end, member).predicted
    errors = np.zeros(shown.size) if noise is None else np.asarray(noise)
    return replace(
        plan,
        observed=tuple(
            replace(one, value=float(value + error))
            for one, value, error in zip(plan.observed, shown, errors, strict=True)
        ),
    )
