"""From a written record and its weather to the plan of an estimate."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from slowfire import records as r
from slowfire.arrays import FloatArray
from slowfire.column.simulate import Air
from slowfire.estimate.plan import Begin, Event, Plan
from slowfire.timeline import Timeline, bin_timeline
from slowfire.timeline_observed import bin_implied, bin_observed
from slowfire.weather import Ambient, site_sun_on_walls, site_weather
from slowfire.weather.ahead import draw_members
from slowfire.weather.forecast import Forecast
from slowfire.weather.usual import LOOK_BACK_HOURS, UsualWeather, usual_weather

TABLE_NAMES = frozenset(
    ("temperature_celsius", "relative_humidity", "wind_speed", "rain_rate", "irradiance")
)
EARLIER_HOURS = 24.0 * 90.0  # before a stock-take


def hourly_air(site: r.Site, table: Ambient | None, start: datetime, hours: float) -> Air:
    """Weather from a time on: measured while the table lasts, of the usual year besides.

    Parameters
    ----------
    site : Site
        The place [-].
    table : Ambient or None
        Weather that was measured, with its own start [-].
    start : datetime
        Of hour 0 [-].
    hours : float
        How long [h].

    Returns
    -------
    Air
    """
    # adding hours to a local time, or taking two of one zone from each other, ignores clock changes
    start = start.astimezone(UTC)
    still = site
    if site.weather is not None and table is not None and site.weather.kind == "file":
        still = replace(site, weather=replace(site.weather, kind="grid", file=None))
    usual = site_weather(still, start, hours + 1.0)
    wanted = np.arange(int(np.ceil(hours)) + 1, dtype=np.float64)
    held = np.clip(wanted, float(usual.hours[0]), float(usual.hours[-1]))
    columns = [np.asarray(one, dtype=np.float64).copy() for one in usual.at(held)]
    walls = np.interp(held, usual.hours, site_sun_on_walls(site, usual, start))
    if table is not None and table.start is not None:
        own = wanted + (start - table.start).total_seconds() / 3600.0
        known = (own >= table.hours[0]) & (own <= table.hours[-1])
        for column, measured in zip(columns, table.at(own[known]), strict=True):
            column[known] = measured
        walls[known] = np.interp(own[known], table.hours, site_sun_on_walls(site, table, start))
    return Air(np.column_stack([*columns, walls]))


def plan_of(
    site: r.Site,
    entries: Sequence[r.Entry],
    bin_name: str,
    table: Ambient | None,
    hours: float,
    timeline: Timeline | None = None,
) -> tuple[Plan, datetime]:
    """Gather what an estimate of one bin is made from.

    Parameters
    ----------
    site : Site
        The place [-].
    entries : sequence of Entry
        In force, by time [-].
    bin_name : str
        Which bin [-].
    table : Ambient or None
        Weather that was measured [-].
    hours : float
        How far the weather of the plan must reach [h].
    timeline : Timeline or None
        Made from the entries unless given [-].

    Returns
    -------
    tuple of (Plan, datetime)
        The plan, and the time of its hour 0.

    Raises
    ------
    SlowfireError
        As `bin_timeline` and `bin_observed`.
    """
    timeline = timeline or bin_timeline(site, entries, bin_name, fill_silence=False)
    observed = sorted(
        (
            *bin_observed(site, bin_name, timeline, entries),
            *bin_implied(site, bin_name, timeline, entries),
        ),
        key=lambda one: one.hour,
    )
    begin = None
    if timeline.stocktake is not None:
        begun = timeline.stocktake
        days = min(24.0 * begun.days, EARLIER_HOURS)
        before = hourly_air(site, table, timeline.start - timedelta(hours=days), days)
        begin = Begin(begun.habit, begun.level_below_rim, begun.days, begun.old_material, before)
    measured_until = -1.0
    if table is not None and table.start is not None:
        shift = (table.start - timeline.start).total_seconds() / 3600.0
        measured_until = shift + float(table.hours[-1])
    usual = usual_weather(site, timeline.start, 24.0, timeline.start)
    plan = Plan(
        timeline.vessel,
        begin,
        tuple(Event(act.hour, act.apply, act.load, act.guessed) for act in timeline.acts),
        tuple(observed),
        hourly_air(site, table, timeline.start, hours + 24.0),
        measured_until,
        usual.spread.day_to_day_kelvin,
        timeline.absences,
    )
    return plan, timeline.start


def weather_to_come(
    site: r.Site,
    table: Ambient | None,
    start: datetime,
    issued: float,
    hours: float,
    members: int,
    seed: int,
    forecast: Forecast | None = None,
) -> FloatArray:
    """Weather of each member from the whole hour before `issued` on.

    Parameters
    ----------
    site : Site
        The place [-].
    table : Ambient or None
        Weather that was measured; nothing after `issued` is used [-].
    start : datetime
        Of hour 0 [-].
    issued : float
        The present, by the record [h].
    hours : float
        How long [h].
    members, seed : int
        Of the ensemble [-].
    forecast : Forecast or None
        A fetched one [-].

    Returns
    -------
    ndarray, shape (members, hours, 6)
        As `column.simulate.Air` takes it [mixed].
    """
    start = start.astimezone(UTC)
    first = start + timedelta(hours=int(issued))
    now = start + timedelta(hours=issued)
    length = hours + 3.0
    known = None
    if table is not None and table.start is not None:
        known = table_until(table, (now - table.start).total_seconds() / 3600.0)
    if table is None or table.start is None or known is None:
        usual = usual_weather(site, first, length, now)
        return draw_members(usual, members, seed, now, forecast).tables
    begin = (first - table.start).total_seconds() / 3600.0
    before = int(max(min(begin, LOOK_BACK_HOURS), 0.0))
    early = usual_weather(site, first - timedelta(hours=before), length + before, now)
    usual = UsualWeather(
        early.normal,
        before,
        early.latitude_degrees,
        early.longitude_degrees,
        early.spread,
        early.place_kelvin,
        early.drawn,
        known,
        TABLE_NAMES,
    )
    return draw_members(usual, members, seed, now, forecast).tables


def table_until(table: Ambient, hour: float) -> Ambient | None:
    """A table of weather up to an hour of its own; None where that leaves less than two rows."""
    keep = table.hours <= hour + 1e-9
    if np.count_nonzero(keep) < 2:
        return None
    return replace(
        table, hours=table.hours[keep], **{name: getattr(table, name)[keep] for name in TABLE_NAMES}
    )
