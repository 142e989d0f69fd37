"""One member of the ensemble run through a window of the record."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.column.contents import Load
from slowfire.column.positions import (
    ACIDS,
    ADDED_SOFT,
    N_EXTENSIVE,
    N_RAPID,
    RAPID,
    SLOW,
    TEMPERATURE,
    TEMPERATURE_BEFORE,
    WATER,
)
from slowfire.column.simulate import Air, Column
from slowfire.estimate.glimpse import Glimpse, glimpse
from slowfire.estimate.observe import Observed
from slowfire.estimate.plan import Event, Plan
from slowfire.estimate.priors import (
    Setting,
    dug_amount,
    load_dry,
    load_mass,
    setting_of,
    unwritten_share,
)

BLOCK_HOURS = 84.0  # weather that was not measured is off by blocks of half a week [h]
BLOCK_SHARE = 0.85  # spread of such a block's mean over that of a day's [-]
# What may have gone astray since the checkpoint: standard deviations, ours.
STRAYED = {
    "fuel_top": 0.2,  # of the logarithm of what still burns, in the upper half
    "fuel_low": 0.2,
    "water_top": 0.10,  # of the logarithm of water
    "water_low": 0.10,
    "warm_top": 1.5,  # [K]
    "warm_low": 1.5,
    "bulk": 0.10,  # of the logarithm of all there is
}
WATCHED = 6  # values looked at beside those at heights
UNSEEN = 2.0  # times as much for a bin whose past nobody wrote down


@dataclass(frozen=True)
class Gap:
    """A time at which a usual load may have gone in unwritten, and the chance of it."""

    hour: float
    load: Load
    chance: float

    @property
    def name(self) -> str:
        """Of its unknown."""
        return f"unwritten {self.hour:.2f}"


@dataclass(frozen=True)
class Window:
    """A stretch of the record with what is unknown of it alone.

    Attributes
    ----------
    begin, end : float
        From the checkpoint to the last reading that counts [h].
    events : tuple of Event
        From `begin` on, as far as the run goes.
    observed : tuple of Observed
        From `begin` to `end`.
    gaps : tuple of Gap
        Loads that may have gone in unwritten.
    strayed : float
        Times the usual spread of what may have gone astray before `begin` [-].
    """

    begin: float
    end: float
    events: tuple[Event, ...]
    observed: tuple[Observed, ...]
    gaps: tuple[Gap, ...] = ()
    strayed: float = 1.0

    def names(self, measured_until: float) -> dict[str, float]:
        """Unknowns of the window alone, each with the hour from which it counts."""
        found = dict.fromkeys(STRAYED, self.begin)
        for event in self.events:
            if event.load is not None and event.hour <= self.end:
                found[mass_name(event.hour)] = event.hour
                found[dry_name(event.hour)] = event.hour
            if event.guessed is not None and event.hour <= self.end:
                found[amount_name(event.hour)] = event.hour
        for gap in self.gaps:
            found[gap.name] = gap.hour
        for hour in self.blocks(measured_until):
            found[block_name(hour)] = hour - 0.5 * BLOCK_HOURS
        return found

    def blocks(self, measured_until: float) -> FloatArray:
        """Middles of the blocks of weather that was not measured [h]."""
        first = np.floor(max(self.begin, measured_until) / BLOCK_HOURS)
        last = np.floor(self.end / BLOCK_HOURS)
        if last < first:
            return np.empty(0)
        return (np.arange(first, last + 1.0) + 0.5) * BLOCK_HOURS


def mass_name(hour: float) -> str:
    """Name the unknown mass of a load.

    Parameters
    ----------
    hour : float
        When it went in [h].

    Returns
    -------
    str
        Under which members carry it.

    Notes
    -----
    Ours. Loads of one time share it.

    Examples
    --------
    >>> mass_name(72.0)
    'mass 72.00'
    """
    return f"mass {hour:.2f}"


def dry_name(hour: float) -> str:
    """Name the unknown dryness of a load.

    Parameters
    ----------
    hour : float
        When it went in [h].

    Returns
    -------
    str
        Under which members carry it.

    Notes
    -----
    Ours. Loads of one time share it.

    Examples
    --------
    >>> dry_name(72.0)
    'dry 72.00'
    """
    return f"dry {hour:.2f}"


def amount_name(hour: float) -> str:
    """Name the unknown amount of a job, such as litres dug out.

    Parameters
    ----------
    hour : float
        When it was done [h].

    Returns
    -------
    str
        Under which members carry it.

    Notes
    -----
    Ours. Jobs of one time share it.

    Examples
    --------
    >>> amount_name(72.0)
    'amount 72.00'
    """
    return f"amount {hour:.2f}"


def block_name(hour: float) -> str:
    """Name the unknown departure of a block of weather.

    Parameters
    ----------
    hour : float
        Of its middle [h].

    Returns
    -------
    str
        Under which members carry it.

    Notes
    -----
    Ours. Blocks begin at fixed hours of the record, whatever the window.

    Examples
    --------
    >>> block_name(42.0)
    'weather 42.0'
    """
    return f"weather {hour:.1f}"


@dataclass(frozen=True, eq=False)
class Passage:
    """What a member went through.

    Attributes
    ----------
    column : Column
        At the end of the run.
    kept : tuple of Column
        At the hours asked for, as described.
    predicted, blurs : ndarray, shape (observations,)
        What it would have shown where its keeper measured, and how unsure that place is [-].
    tips : ndarray, shape (observations,)
        Height above the floor of what was measured, NaN where it has no place in the bed [m].
    watched : ndarray, shape (hours, 6 + heights), or (hours, 6 + 4 heights) with profiles
        Hottest layer's centre, air under the lid, lowest oxygen, air outside, height of the
        hottest and of the surface, and the centre at each height, NaN above the stack, at the hours
        watched [degC, degC, -, degC, m, m, degC].
    """

    column: Column
    kept: tuple[Column, ...]
    predicted: FloatArray
    blurs: FloatArray
    tips: FloatArray
    watched: FloatArray


def member_air(
    plan: Plan, window: Window, setting: Setting, normals: Mapping[str, float], until: float
) -> Air:
    """Give the weather of one member: the record's, off by what nobody measured.

    Parameters
    ----------
    plan : Plan
        The record.
    window : Window
        Which stretch.
    setting : Setting
        Of the member, for how its yard differs from the place.
    normals : mapping of str to float
        Every unknown of this member by name [-].
    until : float
        Where the run ends [h].

    Returns
    -------
    Air
        With other temperatures from the window on.

    Notes
    -----
    Ours. Where nothing was measured the air departs on straight lines between the middles of
    blocks of half a week; after the window that fades within days.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> plan = Plan(box(0.5, 0.5, 0.9), None, (), (), constant_air(12.0))
    >>> setting = setting_of({"ambient_offset": 1.6449}, 0)
    >>> air = member_air(plan, Window(0.0, 9.0, (), ()), setting, {}, 9.0)
    >>> round(air.temperature_celsius(0.0), 2)
    14.0
    """
    table = plan.air.table.copy()
    first = max(int(window.begin) - 1, 0)
    last = min(int(until) + 3, table.shape[0])
    hours = np.arange(first, last, dtype=np.float64)
    offset = np.full(hours.size, setting.factors["ambient_offset"])
    middles = window.blocks(plan.measured_until)
    if middles.size:
        spread = BLOCK_SHARE * plan.day_to_day_kelvin
        values = spread * np.array([normals.get(block_name(hour), 0.0) for hour in middles])
        drawn = np.interp(hours, middles, values)
        # past what is known the last block fades, as anomalies do
        drawn *= np.exp(-np.maximum(hours - max(window.end, plan.measured_until), 0.0) / 72.0)
        offset += np.where(hours > plan.measured_until, drawn, 0.0)
    table[first:last, 0] = np.clip(table[first:last, 0] + offset, -60.0, 60.0)
    return Air(table)


def stray(column: Column, normals: Mapping[str, float], times: float) -> None:
    """Change what may have gone astray before the window began.

    Parameters
    ----------
    column : Column
        Changed in place: what still burns, water and warmth, in its upper and its lower half.
    normals : mapping of str to float
        By the names of STRAYED; 0 where left out [-].
    times : float
        Times the usual spread [-].

    Returns
    -------
    None
        The bin itself is changed.

    Notes
    -----
    Ours. Masses change by factors, so that none falls below 0, and nitrogen with its pool;
    cellulose by the square root of the factor of sugar. The books of the run do not hold what is
    changed here.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> stray(Column(box(0.5, 0.5, 0.9), constant_air(12.0)), {"warm_top": 1.0}, 1.0)
    """
    n = column.layers
    if n == 0:
        return
    upper = np.arange(n) >= n // 2

    def of(name: str) -> FloatArray:
        top = times * STRAYED[f"{name}_top"] * normals.get(f"{name}_top", 0.0)
        low = times * STRAYED[f"{name}_low"] * normals.get(f"{name}_low", 0.0)
        return np.where(upper, top, low)

    rows = column.state[:n]
    fuel = np.exp(of("fuel"))
    before = rows[:, RAPID] + rows[:, SLOW]
    for place in (RAPID, N_RAPID, ACIDS):
        rows[:, place] *= fuel
    # cellulose strays less than sugar
    rows[:, SLOW] *= np.sqrt(fuel)
    rows[:, N_RAPID + 1] *= np.sqrt(fuel)
    rows[:, ADDED_SOFT] += np.maximum(rows[:, RAPID] + rows[:, SLOW] - before, 0.0)
    rows[:, WATER] *= np.exp(of("water"))
    rows[:, :N_EXTENSIVE] *= np.exp(times * STRAYED["bulk"] * normals.get("bulk", 0.0))
    warmer = of("warm")
    rows[:, TEMPERATURE] += warmer
    rows[:, TEMPERATURE_BEFORE] += warmer


def run_member(
    plan: Plan,
    window: Window,
    start: Column,
    normals: Mapping[str, float],
    member: int,
    until: float,
    watch_hours: Sequence[float] = (),
    heights: Sequence[float] = (),
    keep_hours: Sequence[float] = (),
    profiles: bool = False,
) -> Passage:
    """Run one member from the checkpoint through the window and on.

    Parameters
    ----------
    plan : Plan
        The record.
    window : Window
        Which stretch.
    start : Column
        The member at the checkpoint; it stays as it is.
    normals : mapping of str to float
        Every unknown of this member by name [-].
    member : int
        Its number, which picks what no reading moves [-].
    until : float
        Where the run ends [h].
    watch_hours : sequence of float
        Rising hours at which to look, from the checkpoint to `until` [h].
    heights : sequence of float
        Above the floor, to look at [m].
    keep_hours : sequence of float
        At which the bin itself is kept [h].
    profiles : bool
        Whether moisture, oxygen and air space at the heights are looked at too.

    Returns
    -------
    Passage

    Notes
    -----
    Exact but for the steps of the column: at one hour what was read comes before what was done. A
    change of the bin is told of the bin as described, and the member's factors are put on again.

    Examples
    --------
    >>> from slowfire.column.simulate import constant_air
    >>> from slowfire.vessel import box
    >>> plan = Plan(box(0.5, 0.5, 0.9), None, (), (), constant_air(12.0))
    >>> start = Column(plan.vessel, plan.air)
    >>> run_member(plan, Window(0.0, 24.0, (), ()), start, {}, 0, 24.0).column.hour
    24.0
    """
    setting = setting_of(normals, member)
    column = start.copy()
    column.parameters = setting.parameters
    column.air = member_air(plan, window, setting, normals, until)
    described = start.vessel
    column.vessel = setting.vessel(described)
    stray(column, normals, window.strayed)
    instruments = instrument_values(window.observed, normals)
    todo: list[tuple[float, int, int]] = []
    todo += [(one.hour, 0, k) for k, one in enumerate(window.observed)]
    todo += [(hour, 1, k) for k, hour in enumerate(watch_hours)]
    todo += [(hour, 2, k) for k, hour in enumerate(keep_hours)]
    todo += [(one.hour, 3, k) for k, one in enumerate(window.gaps)]
    todo += [(one.hour, 4, k) for k, one in enumerate(window.events) if one.hour <= until]
    todo.sort()
    predicted = np.empty(len(window.observed))
    blurs = np.zeros(len(window.observed))
    tips = np.full(len(window.observed), np.nan)
    watched = np.empty((len(watch_hours), WATCHED + (4 if profiles else 1) * len(heights)))
    kept: list[Column] = []
    seen: Glimpse | None = None
    for hour, kind, k in todo:
        if hour > column.hour:
            column.run_to(hour)
            seen = None
        if kind <= 1:
            seen = seen or glimpse(column)
            if kind == 0:
                one = window.observed[k]
                predicted[k] = one.predict(seen, instruments)
                blurs[k] = 0.0 if one.blur is None else one.blur(seen)
                if one.tip_height is not None:
                    tips[k] = one.tip_height(seen)
            else:
                watched[k] = _watch(seen, heights, profiles)
            continue
        if kind == 2:
            twin = column.copy()
            twin.vessel = described
            kept.append(twin)
            continue
        seen = None
        if kind == 3:
            gap = window.gaps[k]
            share = unwritten_share(normals.get(gap.name, -3.0), gap.chance)
            if share > 0.02:
                _tip(column, setting, gap.load, share, 1.0)
            continue
        event = window.events[k]
        if event.load is not None:
            mass = load_mass(normals.get(mass_name(event.hour), 0.0))
            dry = load_dry(normals.get(dry_name(event.hour), 0.0))
            _tip(column, setting, event.load, mass, dry)
            continue
        # a change of the bin is told of the bin as described
        column.vessel = described
        if event.guessed is not None:
            event.guessed(column, dug_amount(normals.get(amount_name(event.hour), 0.0)))
        else:
            event.apply(column)
        described = column.vessel
        column.vessel = setting.vessel(described)
    column.run_to(max(until, column.hour))
    # the next window starts from the bin as described
    column.vessel = described
    return Passage(column, tuple(kept), predicted, blurs, tips, watched)


def instrument_values(
    observed: Sequence[Observed], normals: Mapping[str, float]
) -> dict[str, float]:
    """Turn what a member carries of thermometers into their units.

    Parameters
    ----------
    observed : sequence of Observed
        What was read, with the unknowns of each [-].
    normals : mapping of str to float
        Every unknown of this member by name [-].

    Returns
    -------
    dict of str to float
        Biases and the like by name [mixed], in the unit of each `Unknown`.

    Notes
    -----
    Exact. What the member does not carry is left out; readings then take its median.

    Examples
    --------
    >>> from slowfire.estimate.readings import Instrument, ice_water_check
    >>> check = ice_water_check(0.0, 1.0, Instrument("dial"))
    >>> round(instrument_values([check], {"bias dial": 1.6449})["bias dial"], 2)
    1.64
    """
    return {
        one.name: one.at(normals[one.name])
        for seen in observed
        for one in seen.unknowns
        if one.name in normals
    }


def _tip(column: Column, setting: Setting, load: Load, mass: float, dry: float) -> None:
    f = setting.factors
    air = column.air.temperature_celsius(column.hour)
    column.load_row(
        load.row(setting.parameters, air, f["wet_mass"] * mass, f["dryness"] * dry, f["warmth"])
    )


def _watch(seen: Glimpse, heights: Sequence[float], profiles: bool) -> list[float]:
    centres = seen.mean + 0.5 * seen.centre_minus_edge
    place = 0 if seen.empty else int(centres.argmax())
    hottest = seen.lid_celsius if seen.empty else float(centres[place])
    hot_height = 0.0 if seen.empty else float(seen.middles[place])
    oxygen = 0.2095 if seen.empty else float(seen.oxygen.min())
    at = seen.down(heights, centres)
    if profiles:
        for values in (seen.moisture_content_wet_basis, seen.oxygen, seen.free_air_space):
            at += seen.down(heights, values)
    return [
        hottest, seen.lid_celsius, oxygen, seen.air_celsius, hot_height, seen.fill_height, *at
    ]  # fmt: skip
