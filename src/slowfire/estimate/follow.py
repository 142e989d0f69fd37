"""A record followed from reading to reading, and run on into the days ahead."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.column.contents import Load
from slowfire.column.simulate import Air
from slowfire.estimate.condition import Conditioned, Ensemble, RunMany, condition, in_turn
from slowfire.estimate.member import Passage, Window, dry_name, mass_name, run_member
from slowfire.estimate.plan import Event, Plan
from slowfire.estimate.priors import draw_normals

LAG_HOURS = 24.0 * 6.0  # readings of so long still move what went in
LONGEST_WINDOW_HOURS = 24.0 * 10.0
TOGETHER_HOURS = 6.0  # readings of one visit make one estimate
LOOKED_BACK_LOADS = 12  # from which the habit is told


@dataclass(frozen=True)
class Stage:
    """An estimate that holds from one visit to the next.

    Attributes
    ----------
    hour, until : float
        From the last reading that counts to the next [h].
    conditioned : Conditioned
        Run on to `until`.
    watch_hours : ndarray, shape (hours,)
        Hours watched, from `back_hours` before `hour` on, before `until` [h].
    """

    hour: float
    until: float
    conditioned: Conditioned
    watch_hours: FloatArray


def visits(plan: Plan, end: float) -> list[float]:
    """Hours at which something was read, those of one visit taken together [h].

    Parameters
    ----------
    plan : Plan
        The record.
    end : float
        Up to which [h].

    Returns
    -------
    list of float
        The last hour of each visit.

    Notes
    -----
    Ours: a visit lasts up to TOGETHER_HOURS from its first reading.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> plan = Plan(box(0.5, 0.5, 0.9), None, (), (), constant_air(12.0))
    >>> visits(plan, 240.0)
    []
    """
    hours: list[float] = []
    begun = -np.inf
    for hour in sorted({one.hour for one in plan.observed if one.hour <= end}):
        # counted from the first reading of a visit, or those of a logger would all be one
        if hour - begun < TOGETHER_HOURS:
            hours[-1] = hour
        else:
            hours.append(hour)
            begun = hour
    return hours


def checkpoint_before(
    plan: Plan,
    start: Ensemble,
    hour: float,
    seed: int,
    run_many: RunMany = in_turn,
    updates: int = 2,
) -> Ensemble:
    """Bring a checkpoint so near to an hour that its window is short enough.

    Parameters
    ----------
    plan : Plan
        The record.
    start : Ensemble
        A checkpoint at or before the hour.
    hour : float
        Of the estimate to come [h].
    seed : int
        Of the draws [-].
    run_many : callable
        Runs a list of calls and returns their results in order.
    updates : int
        Of each window on the way [-].

    Returns
    -------
    Ensemble
        Moved by nothing read after it.

    Notes
    -----
    Ours: windows of up to LONGEST_WINDOW_HOURS, moved on so that what was read within LAG_HOURS
    before the hour is still to come. Where nothing was read one run reaches to the first reading.

    Examples
    --------
    >>> from slowfire.estimate.condition import begin_ensemble
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> plan = Plan(box(0.5, 0.5, 0.9), None, (), (), constant_air(12.0))
    >>> start = begin_ensemble(plan, 2, 1, in_turn)
    >>> checkpoint_before(plan, start, 48.0, 1) is start
    True
    """
    while hour - start.hour > LONGEST_WINDOW_HOURS:
        goal = max(min(hour - LAG_HOURS, start.hour + LONGEST_WINDOW_HOURS), start.hour + 24.0)
        nothing_read = not any(start.hour < one.hour <= hour for one in plan.observed)
        first = next((one.hour for one in plan.observed if one.hour > start.hour), hour)
        if nothing_read or first - 48.0 > goal:
            # nothing to be moved by: one run to where readings begin
            goal = max(goal, min(first - 48.0, hour - LAG_HOURS))
        start = condition(plan, start, goal, seed, run_many, updates=updates).ensemble
    return start


def follow(
    plan: Plan,
    start: Ensemble,
    watch_hours: FloatArray,
    seed: int,
    run_many: RunMany = in_turn,
    heights: Sequence[float] = (),
    updates: int = 2,
    keep_hours: Sequence[float] = (),
    back_hours: float = 0.0,
    profiles: bool = False,
) -> Iterator[tuple[Stage, Ensemble]]:
    """Give the estimates a keeper would have had, each from what was known by then.

    Parameters
    ----------
    plan : Plan
        The record.
    start : Ensemble
        At hour 0.
    watch_hours : ndarray, shape (hours,)
        Rising hours to look at [h].
    seed : int
        Of the draws [-].
    run_many : callable
        Runs a list of calls and returns their results in order.
    heights : sequence of float
        Above the floor, to look at [m].
    updates : int
        Of each estimate [-].
    keep_hours : sequence of float
        Hours at which the ensemble itself is kept, in `Conditioned.kept` [h].
    back_hours : float
        How far each stage also looks back over what its readings tell of the past, at most to its
        checkpoint [h].
    profiles : bool
        As in `run_member`.

    Returns
    -------
    iterator of (Stage, Ensemble)
        One stage for each visit after the first hour watched, with the checkpoint it ran from.

    Notes
    -----
    Ours: nothing read after a stage's hour has a part in it.

    Examples
    --------
    >>> from slowfire.estimate.condition import begin_ensemble
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> plan = Plan(box(0.5, 0.5, 0.9), None, (), (), constant_air(12.0))
    >>> start = begin_ensemble(plan, 2, 1, in_turn)
    >>> [stage.hour for stage, _ in follow(plan, start, np.array([24.0, 30.0]), 1)]
    [24.0]
    """
    last = float(watch_hours[-1])
    begin = float(watch_hours[0])
    moments = visits(plan, last)
    known = [hour for hour in moments if hour < begin]
    stages = [known[-1] if known else min(begin, last), *(h for h in moments if h >= begin)]
    checkpoint = start
    for k, hour in enumerate(stages):
        until = stages[k + 1] if k + 1 < len(stages) else last + 1.0
        checkpoint = checkpoint_before(plan, checkpoint, hour, seed, run_many, updates)
        since = hour - back_hours if back_hours <= 0.0 else max(hour - back_hours, checkpoint.hour)
        seen = watch_hours[(watch_hours >= since) & (watch_hours < until)]
        found = condition(
            plan,
            checkpoint,
            hour,
            seed,
            run_many,
            until=until,
            updates=updates,
            watch_hours=seen.tolist(),
            heights=heights,
            keep_hours=[one for one in keep_hours if hour <= one < until],
            profiles=profiles,
        )
        yield Stage(hour, until, found, seen), checkpoint


def usual_loads(plan: Plan, now: float, until: float) -> tuple[Event, ...]:
    """Loads to come, if the keeper goes on as before.

    Parameters
    ----------
    plan : Plan
        The record.
    now, until : float
        From when to when [h].

    Returns
    -------
    tuple of Event
        Loads of the last weeks again, in their order, at the usual time apart; none without
        three loads before.

    Notes
    -----
    Ours: common practice, no source. What rained in or was warm comes not again.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> plan = Plan(box(0.5, 0.5, 0.9), None, (), (), constant_air(12.0))
    >>> usual_loads(plan, 240.0, 480.0)
    ()
    """
    before = [one for one in plan.events if one.load is not None and one.hour <= now]
    before = before[-LOOKED_BACK_LOADS:]
    if len(before) < 3:
        return ()
    usual = max(float(np.median(np.diff([one.hour for one in before]))), 12.0)
    hour = max(before[-1].hour + usual, now + 1.0)
    coming: list[Event] = []
    while hour <= until:
        again = before[len(coming) % len(before)]
        load = again.load
        if load is not None:
            coming.append(Event(hour, again.apply, Load(load.portions)))
        hour += usual
    return tuple(coming)


def run_ahead(
    plan: Plan,
    ensemble: Ensemble,
    tables: FloatArray | None,
    until: float,
    seed: int,
    run_many: RunMany = in_turn,
    watch_hours: Sequence[float] = (),
    heights: Sequence[float] = (),
    coming: Sequence[Event] | None = None,
    profiles: bool = False,
) -> list[Passage]:
    """Run an ensemble on, each member under weather of its own.

    Parameters
    ----------
    plan : Plan
        The record.
    ensemble : Ensemble
        At its hour; it stays as it is.
    tables : sequence of ndarray, shape (hours, 6), or None
        Weather of each member from the whole hour before the ensemble's on, with the columns and
        units of `column.simulate.Air` [mixed]; None for that of the plan.
    until : float
        Where it ends [h].
    seed : int
        Of the loads to come [-].
    run_many : callable
        Runs a list of calls and returns their results in order.
    watch_hours : sequence of float
        As in `run_member` [h].
    heights : sequence of float
        As in `run_member` [m].
    coming : sequence of Event or None
        What will be done; the usual loads unless given.
    profiles : bool
        As in `run_member`.

    Returns
    -------
    list of Passage
        One for each member; its column ends with the plan's weather again.

    Notes
    -----
    Ours: nothing is read on the way, so no member is moved.

    Examples
    --------
    >>> from slowfire.estimate.condition import begin_ensemble
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> plan = Plan(box(0.5, 0.5, 0.9), None, (), (), constant_air(12.0))
    >>> start = begin_ensemble(plan, 2, 1, in_turn)
    >>> [one.column.hour for one in run_ahead(plan, start, None, 6.0, 1)]
    [6.0, 6.0]
    """
    now = ensemble.hour
    events = usual_loads(plan, now, until) if coming is None else tuple(coming)
    names = [name for one in events for name in (mass_name(one.hour), dry_name(one.hour))]
    drawn = draw_normals(tuple(names), ensemble.members, seed)
    window = Window(now, now, events, ())

    def one(member: int) -> Callable[[], Passage]:
        own = {name: float(values[member]) for name, values in ensemble.normals.items()}
        own |= {name: float(values[member]) for name, values in drawn.items()}
        start = ensemble.columns[member]

        def run() -> Passage:
            ours = plan
            if tables is not None:
                # joined only now: a year by the hour for every member would fill the memory
                table = np.vstack([plan.air.table[: int(now)], tables[member]])
                ours = replace(plan, air=Air(table), measured_until=float(table.shape[0]))
            done = run_member(
                ours, window, start, own, member, until, watch_hours, heights, profiles=profiles
            )
            done.column.air = plan.air
            return done

        return run

    return list(run_many([one(member) for member in range(ensemble.members)]))
