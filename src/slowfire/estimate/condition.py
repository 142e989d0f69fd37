"""An ensemble of bins moved towards what was read in a window, and followed from window to window.

Multiple data assimilation: the window is run, all unknowns are moved, and it is run again.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.column.contents import Load
from slowfire.column.simulate import Column
from slowfire.column.stocktake import spin_up, with_weather
from slowfire.errors import InvalidInput
from slowfire.estimate.member import UNSEEN, Gap, Passage, Window, run_member
from slowfire.estimate.moves import (
    FEWEST_CHOSEN,
    FEWEST_TOLD,
    confidence,
    likelier,
    relaxed,
    time_taper,
)
from slowfire.estimate.observe import IMPLIED, Observed
from slowfire.estimate.plan import Begin, Event, Plan
from slowfire.estimate.priors import (
    MISSING,
    draw_normals,
    global_names,
    load_dry,
    load_mass,
    setting_of,
)
from slowfire.estimate.robust import reweighted_spread, set_aside, standard_innovations
from slowfire.estimate.smoother import smoother_update
from slowfire.materials.feedstock import Portion

Call = Callable[[], Passage]
RunMany = Callable[[Sequence[Call]], Sequence[Passage]]
DISCREPANCY = {"lid": 1.5, "probe": 1.8, "infrared": 2.0}  # of the model at its best [K]
FARTHEST = 3.5  # standard deviations that an unknown may be moved to
GAP_FACTOR = 1.45  # of the usual time between loads, from which one may be missing
LONGEST_SPIN_UP_DAYS = 90.0
STUCK_READINGS = 4
SAME_VALUE = 0.05  # [K]
ALONE_FAR, ALONE_NEAR = (
    3.0,
    1.5,
)  # mean standard innovations of a probe that is off, of one that fits
# Steps that stay within 0.2 K rms of the finest: small beside the model's own error.
STEP, EVENT_STEP = 1800.0, 600.0  # [s]


@dataclass(frozen=True, eq=False)
class Ensemble:
    """Bins that may be the one looked at, each as likely as the other.

    Attributes
    ----------
    hour : float
        Of the record [h].
    columns : tuple of Column
        As described by their keeper, each with its own inside.
    normals : dict of ndarray, shape (members,)
        Unknowns that hold on, by name [-].
    strayed : float
        Times the usual spread of what may have gone astray so far [-].
    """

    hour: float
    columns: tuple[Column, ...]
    normals: dict[str, FloatArray]
    strayed: float = 1.0

    @property
    def members(self) -> int:
        """How many [-]."""
        return len(self.columns)


@dataclass(frozen=True, eq=False)
class Conditioned:
    """An ensemble moved towards what was read, and how well it fits.

    Attributes
    ----------
    ensemble : Ensemble
        At the end of the run.
    observed : tuple of Observed
        What was read in the window.
    before, after : ndarray, shape (observations, members)
        Predictions before the first update and after the last [-].
    spread : ndarray, shape (observations,)
        Error spread each was given at the end [-].
    tips : ndarray, shape (observations, members)
        Height above the floor of what was measured, NaN without a place in the bed [m].
    aside : ndarray, shape (observations,)
        Whether it was set aside.
    watched : ndarray, shape (members, hours, values)
        As `Passage.watched`, of the last run.
    local : dict of ndarray, shape (members,)
        Unknowns of the window alone [-].
    kept : tuple of Ensemble
        At the hours asked for.
    """

    ensemble: Ensemble
    observed: tuple[Observed, ...]
    before: FloatArray
    after: FloatArray
    spread: FloatArray
    tips: FloatArray
    aside: np.ndarray
    watched: FloatArray
    local: dict[str, FloatArray]
    kept: tuple[Ensemble, ...] = ()


def in_turn(calls: Sequence[Call]) -> list[Passage]:
    """Run calls one after the other.

    Parameters
    ----------
    calls : sequence of callable
        Each takes nothing.

    Returns
    -------
    list
        What they return, in their order.

    Notes
    -----
    Exact: any other way to run them must return the same.

    Examples
    --------
    >>> in_turn([lambda: 1, lambda: 2])
    [1, 2]
    """
    return [call() for call in calls]


def begin_ensemble(
    plan: Plan, members: int, seed: int, run_many: Callable[..., Sequence[Column]]
) -> Ensemble:
    """Draw bins before anything is read.

    Parameters
    ----------
    plan : Plan
        The record.
    members : int
        2 or more [-].
    seed : int
        Of the draws [-].
    run_many : callable
        Runs a list of calls, in threads if it likes, and returns their results in order.

    Returns
    -------
    Ensemble
        At hour 0.

    Raises
    ------
    InvalidInput
        If there are fewer than two members.

    Notes
    -----
    Ours. A bin that was running before is spun up for each member under its own version of the
    habit, for up to 90 days; what lies below is taken as half-finished.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> plan = Plan(box(0.5, 0.5, 0.9), None, (), (), constant_air(12.0))
    >>> begin_ensemble(plan, 3, 1, in_turn).members
    3
    """
    normals = draw_normals(global_names(), members, seed)
    habit = draw_normals(("habit mass", "habit dry"), members, seed + 1)

    def start(member: int) -> Callable[[], Column]:
        own = {name: float(values[member]) for name, values in normals.items()}

        def call() -> Column:
            setting = setting_of(own, member)
            if plan.begin is None:
                return Column(plan.vessel, plan.air, setting.parameters, STEP, EVENT_STEP)
            mass = load_mass(habit["habit mass"][member]) * setting.factors["wet_mass"]
            dry = load_dry(habit["habit dry"][member]) * setting.factors["dryness"]
            begun = _own_habit(plan.begin, mass, dry)
            column = spin_up(
                setting.vessel(plan.vessel),
                begun.air,
                setting.parameters,
                begun.habit,
                begun.level_below_rim,
                begun.days,
                begun.old_material,
                STEP,
                EVENT_STEP,
            )
            column = with_weather(column, plan.air)
            column.vessel = plan.vessel
            return column

        return call

    columns = tuple(run_many([start(member) for member in range(members)]))
    return Ensemble(0.0, columns, normals, 1.0 if plan.begin is None else UNSEEN)


def _own_habit(begin: Begin, mass: float, dry: float) -> Begin:
    """The habit as a member has it: more or less of it, wetter or drier."""

    def own(one: Portion) -> Portion:
        stuff = one.feedstock
        moisture = 1.0 - min(dry * stuff.dry_matter, 0.95)
        return replace(
            one,
            mass=mass * one.mass,
            litres=mass * one.litres,
            feedstock=replace(stuff, moisture_content_wet_basis=moisture),
        )

    habit = replace(begin.habit, load=tuple(own(one) for one in begin.habit.load))
    return replace(begin, habit=habit, days=min(begin.days, LONGEST_SPIN_UP_DAYS))


def window_of(plan: Plan, ensemble: Ensemble, end: float, until: float) -> Window:
    """Cut a stretch out of the record, with loads that may be missing.

    Parameters
    ----------
    plan : Plan
        The record.
    ensemble : Ensemble
        At the checkpoint.
    end, until : float
        The last reading that counts, and where the run ends [h].

    Returns
    -------
    Window

    Notes
    -----
    Ours: what was done or read at the hour of a checkpoint after hour 0 has been run and used.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> plan = Plan(box(0.5, 0.5, 0.9), None, (), (), constant_air(12.0))
    >>> window_of(plan, begin_ensemble(plan, 2, 1, in_turn), 24.0, 48.0).end
    24.0
    """
    begin = ensemble.hour
    # what was done at the hour of the checkpoint itself has been run
    first = begin if begin > 0.0 else -1.0
    events = tuple(one for one in plan.events if first < one.hour <= until)
    observed = tuple(one for one in plan.observed if first < one.hour <= end)
    known = [one for one in plan.events if one.load is not None and one.hour <= end]
    gaps = missing_loads(known, begin, end, plan.absences)
    return Window(begin, end, events, observed, gaps, ensemble.strayed)


def missing_loads(
    loads: Sequence[Event],
    begin: float,
    end: float,
    absences: Sequence[tuple[float, float]] = (),
) -> tuple[Gap, ...]:
    """Where a usual load may have gone in unwritten.

    Parameters
    ----------
    loads : sequence of Event
        Loads written up to `end`, by hour.
    begin, end : float
        Of the window [h].
    absences : sequence of tuple of float
        From when to when nothing was fed [h].

    Returns
    -------
    tuple of Gap
        As many as a gap longer than usual has room for; each has a chance of MISSING, and of a
        half where the gap is twice the usual one or more.

    Notes
    -----
    Ours: common practice, no source. Silence does not mean that nothing was fed.

    Examples
    --------
    >>> missing_loads([], 0.0, 240.0)
    ()
    """
    if len(loads) < 4:
        return ()
    hours = np.array([one.hour for one in loads])
    usual = float(np.median(np.diff(hours)))
    masses = [one.load.mass for one in loads if one.load is not None]
    middle = loads[int(np.argsort(masses)[len(masses) // 2])].load
    if middle is None or usual <= 0.0:
        return ()
    plain = Load(middle.portions, days_in_caddy=middle.days_in_caddy)
    found = []
    for before, after in zip(hours, [*hours[1:], end], strict=True):
        gap = float(after - before)
        if gap < GAP_FACTOR * usual:
            continue
        # one in the middle of a gap of two, more in a long silence
        count = max(round(gap / usual) - 1, 1)
        sure = min(max((gap / usual - GAP_FACTOR) / (2.0 - GAP_FACTOR), 0.0), 1.0)
        for k in range(count):
            hour = float(before + gap * (k + 1.0) / (count + 1.0))
            if begin < hour < end and not any(low <= hour <= high for low, high in absences):
                found.append(Gap(hour, plain, MISSING + (0.5 - MISSING) * sure))
    return tuple(found)


def condition(
    plan: Plan,
    start: Ensemble,
    end: float,
    seed: int,
    run_many: RunMany = in_turn,
    until: float | None = None,
    updates: int = 2,
    watch_hours: Sequence[float] = (),
    heights: Sequence[float] = (),
    keep_hours: Sequence[float] = (),
    profiles: bool = False,
) -> Conditioned:
    """Move an ensemble towards what was read between its checkpoint and `end`.

    Parameters
    ----------
    plan : Plan
        The record.
    start : Ensemble
        At the checkpoint; it stays as it is.
    end : float
        The last reading that counts [h].
    seed : int
        Of the draws [-].
    run_many : callable
        Runs a list of calls, in threads if it likes, and returns their results in order.
    until : float or None
        Where the last run ends, `end` unless given [h].
    updates : int
        1 or more [-].
    watch_hours : sequence of float
        As in `run_member` [h].
    heights : sequence of float
        As in `run_member` [m].
    keep_hours : sequence of float
        As in `run_member` [h].
    profiles : bool
        As in `run_member`.

    Returns
    -------
    Conditioned

    Raises
    ------
    InvalidInput
        If `end` lies before the checkpoint or there are no updates.

    Notes
    -----
    Unknowns of one load or one stretch of weather are moved by readings after them only, ever
    less with time; those of the whole record as far as their correlation outweighs chance. Readings
    far from the whole ensemble are set aside, others weighed down. The model's own error is part of
    each spread.

    References
    ----------
    emerick2013

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> plan = Plan(box(0.5, 0.5, 0.9), None, (), (), constant_air(12.0))
    >>> condition(plan, begin_ensemble(plan, 2, 1, in_turn), 24.0, 1).ensemble.hour
    24.0
    """
    until = end if until is None else until
    if not start.hour <= end <= until or updates < 1:
        raise InvalidInput(
            f"An estimate runs from hour {start.hour:g} to {end:g} and {until:g} with {updates} "
            "updates; allowed is forward, with one update or more."
        )
    window = window_of(plan, start, end, until)
    members = start.members
    draws = np.random.default_rng([seed, int(end), 5])
    local_from = window.names(plan.measured_until)
    normals = dict(start.normals)
    normals |= draw_normals(tuple(local_from), members, int(draws.integers(1, 2**31)))
    fresh = tuple(
        dict.fromkeys(
            one.name for seen in window.observed for one in seen.unknowns if one.name not in normals
        )
    )
    normals |= draw_normals(fresh, members, int(draws.integers(1, 2**31)))
    names = tuple(normals)
    unknowns = np.array([normals[name] for name in names])
    prior = {name: start.normals[name] for name in start.normals}

    def own_of(values: FloatArray, member: int) -> dict[str, float]:
        return dict(zip(names, values[:, member].tolist(), strict=True))

    def run(values: FloatArray) -> list[Passage]:
        def one(member: int) -> Call:
            return lambda: run_member(
                plan,
                window,
                start.columns[member],
                own_of(values, member),
                member,
                until,
                watch_hours,
                heights,
                keep_hours,
                profiles,
            )

        return list(run_many([one(member) for member in range(members)]))

    def shown(values: FloatArray) -> tuple[FloatArray, FloatArray]:
        def one(member: int) -> Call:
            def call() -> Passage:
                begun, own = start.columns[member], own_of(values, member)
                # the bin at the end is let go: another lot of them would fill the memory
                return replace(run_member(plan, window, begun, own, member, end), column=begun)

            return call

        done = run_many([one(member) for member in range(members)])
        return np.array([one.predicted for one in done]).T, np.array([one.blurs for one in done]).T

    count = len(window.observed)
    observed = np.array([one.value for one in window.observed])
    before = np.empty((0, members))
    spread = np.empty(0)
    aside = np.zeros(count, dtype=bool)
    if count:
        hours = np.array([one.hour for one in window.observed])
        limits = np.array([one.robust_limit for one in window.observed])
        near = time_taper(names, local_from, hours)
        for update in range(updates):
            predicted, blurs = shown(unknowns)
            given = _spreads(window.observed, blurs)
            if update == 0:
                before = predicted
                groups = [one.group for one in window.observed]
                aside = set_aside(observed, predicted, given, hours, groups, limits)
                aside |= broken(plan.observed, window.observed, predicted, given)
            use = ~aside
            spread = reweighted_spread(observed, predicted, given)
            if not use.any():
                break
            taper = near[:, use] * confidence(unknowns, predicted[use])
            unknowns = smoother_update(
                unknowns,
                predicted[use],
                observed[use],
                spread[use],
                float(updates),
                draws,
                taper,
            )
            unknowns = np.clip(unknowns, -FARTHEST, FARTHEST)
    passages = run(unknowns)
    told = ~aside & np.array([one.kind not in IMPLIED for one in window.observed], dtype=bool)
    if members >= FEWEST_CHOSEN and told.sum() >= FEWEST_TOLD:
        chosen = likelier(passages, observed, spread, ~aside, draws)
        passages = [passages[k] for k in chosen]
        unknowns = unknowns[:, chosen]
    after = np.array([one.predicted for one in passages]).T if count else before
    tips = np.array([one.tips for one in passages]).T if count else before
    moved = dict(zip(names, unknowns, strict=True))
    kept = {name: relaxed(moved[name], prior.get(name)) for name in names if name not in local_from}
    return Conditioned(
        Ensemble(until, tuple(one.column for one in passages), kept),
        window.observed,
        before,
        after,
        spread,
        tips,
        aside,
        np.array([one.watched for one in passages]),
        {name: moved[name] for name in local_from},
        tuple(
            Ensemble(hour, tuple(one.kept[k] for one in passages), kept)
            for k, hour in enumerate(keep_hours)
        ),
    )


def broken(
    record: Sequence[Observed],
    window: Sequence[Observed],
    predicted: FloatArray,
    error_spread: FloatArray,
) -> np.ndarray:
    """Which readings come from a probe that has stuck, or that stands alone against another.

    Parameters
    ----------
    record : sequence of Observed
        All there is, for what a probe showed before the window.
    window : sequence of Observed
        What is to be used.
    predicted : ndarray, shape (observations, members)
        Of the window, before the first update [-].
    error_spread : ndarray, shape (observations,)
        Of each [-].

    Returns
    -------
    ndarray, shape (observations,)
        True where not to be used [-].

    Notes
    -----
    Ours. A probe read to tenths that shows one value four times running has stuck. One whose
    readings all lie far off on one side, while another probe fits, is off.

    Examples
    --------
    >>> broken([], [], np.empty((0, 3)), np.empty(0)).size
    0
    """
    out = np.zeros(len(window), dtype=bool)
    if not window:
        return out
    values = np.array([one.value for one in window])
    innovations = standard_innovations(values, predicted, error_spread)
    probes = sorted({one.group for one in window if one.kind == "probe"})
    last = window[-1].hour
    means = {}
    for group in probes:
        ours = [one for one in record if one.group == group and one.hour <= last]
        own = np.array([one.group == group for one in window])
        run = 1
        while run < len(ours) and abs(ours[-run - 1].value - ours[-1].value) < SAME_VALUE:
            run += 1
        if run >= STUCK_READINGS and abs(2.0 * ours[-1].value % 1.0) > 0.01:
            since = ours[-run].hour
            out |= own & np.array([one.hour > since for one in window])
            continue
        far = innovations[own]
        if far.size >= 3 and (far.min() > 0.0 or far.max() < 0.0):
            means[group] = float(np.abs(far).mean())
        else:
            means[group] = 0.0
    for group, far_off in means.items():
        others = [mean for name, mean in means.items() if name != group]
        if far_off > ALONE_FAR and others and min(others) < ALONE_NEAR:
            out |= np.array([one.group == group for one in window])
    return out


def _spreads(observed: Sequence[Observed], blurs: FloatArray) -> FloatArray:
    own = np.array([one.error_spread for one in observed])
    model = np.array([DISCREPANCY.get(one.kind, 0.0) for one in observed])
    return np.asarray(np.sqrt(own**2 + np.median(blurs, axis=1) ** 2 + model**2))
