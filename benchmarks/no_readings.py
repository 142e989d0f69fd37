"""The reference of the twin trials: one run of the model through the record, no reading used.

Whatever an estimate gains from readings, it gains over this. One run has no spread: its intervals
hold nothing, and its probabilities are 0 or 1.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from benchmarks.scores import WEEK_HOURS, cold_and_airless, daily_mean
from benchmarks.twin_trial import SCORED_HEIGHTS, EstimateSeries, Forecast, issue_hours
from slowfire import records as r
from slowfire.arrays import FloatArray
from slowfire.column.draft import N_WORK, THICKNESS, geometry
from slowfire.column.parameters import Parameters, default_parameters
from slowfire.column.positions import CENTRE_MINUS_EDGE, HEAD_TEMPERATURE, OXYGEN, TEMPERATURE
from slowfire.column.simulate import Air, Column
from slowfire.column.stocktake import spin_up, with_weather
from slowfire.timeline import Act, Timeline, bin_timeline
from slowfire.vessel import Vessel
from slowfire.weather import Ambient, site_sun_on_walls, site_weather

AHEAD_EVERY = 3.0  # of a forecast [h]


def hourly_air(site: r.Site, table: Ambient | None, start: datetime, hours: float) -> Air:
    """Weather from a time on: of the table while it lasts, of the site's usual year besides."""
    usual = site_weather(site, start, hours + 1.0)
    wanted = np.arange(int(hours) + 1, dtype=np.float64)
    columns = [np.asarray(one, dtype=np.float64) for one in usual.at(wanted)]
    walls = np.interp(wanted, usual.hours, site_sun_on_walls(site, usual, start))
    if table is not None and table.start is not None:
        own = wanted + (start - table.start).total_seconds() / 3600.0
        known = (own >= table.hours[0]) & (own <= table.hours[-1])
        for column, measured in zip(columns, table.at(own[known]), strict=True):
            column[known] = measured
        walls[known] = np.interp(own[known], table.hours, site_sun_on_walls(site, table, start))
    return Air(np.column_stack([*columns, walls]))


def started(
    site: r.Site,
    timeline: Timeline,
    table: Ambient | None,
    hours: float,
    parameters: Parameters,
) -> Column:
    """The bin at the start of its record, with the weather of the record."""
    air = hourly_air(site, table, timeline.start, hours)
    begun = timeline.stocktake
    if begun is None:
        return Column(timeline.vessel, air, parameters)
    before = timeline.start - timedelta(days=begun.days)
    column = spin_up(
        timeline.vessel,
        hourly_air(site, table, before, 24.0 * begun.days),
        parameters,
        begun.habit,
        begun.level_below_rim,
        begun.days,
        begun.old_material,
    )
    return with_weather(column, air)


def _profile(column: Column) -> FloatArray:
    """Temperatures in the centre at the heights scored; NaN above the stack [degC]."""
    n = column.layers
    heights = np.array(SCORED_HEIGHTS)
    if n == 0:
        return np.full(heights.size, np.nan)
    work = np.zeros((N_WORK, n + 2))
    geometry(column.state, n, column.bin_state.copy(), column.vessel, column.parameters, work)
    tops = np.cumsum(work[THICKNESS, :n])
    centres = column.state[:n, TEMPERATURE] + 0.5 * column.state[:n, CENTRE_MINUS_EDGE]
    found = np.interp(heights, tops - 0.5 * work[THICKNESS, :n], centres)
    return np.asarray(np.where(heights <= tops[-1], found, np.nan))


def _hottest(column: Column) -> float:
    state = column.state[: column.layers]
    if not column.layers:
        return float(column.bin_state[HEAD_TEMPERATURE])
    return float(np.max(state[:, TEMPERATURE] + 0.5 * state[:, CENTRE_MINUS_EDGE]))


def _lowest_oxygen(column: Column) -> float:
    return float(column.state[: column.layers, OXYGEN].min()) if column.layers else 0.21


def _run(column: Column, acts: Sequence[Act], until: float) -> None:
    """Run on to an hour through what happens before it."""
    for act in acts:
        if column.hour - 1e-9 <= act.hour < until:
            column.run_to(max(act.hour, column.hour))
            act.apply(column)
    column.run_to(max(until, column.hour))


def _week_ahead(column: Column, acts: Sequence[Act], usual: Air) -> Forecast:
    """Run a copy on for a week that is fed as the last one was, in usual weather."""
    issued = column.hour
    twin = column.copy()
    twin.air = usual
    again = [
        Act(act.hour + WEEK_HOURS, act.words, act.apply)
        for act in acts
        if issued - WEEK_HOURS <= act.hour < issued
    ]
    hourly = issued + np.arange(1.0, WEEK_HOURS + 1.0)
    hottest, oxygen = np.empty(hourly.size), np.empty(hourly.size)
    for i, hour in enumerate(hourly):
        _run(twin, again, hour)
        hottest[i], oxygen[i] = _hottest(twin), _lowest_oxygen(twin)
    air = daily_mean(usual.table[:, 0])[hourly.astype(np.int64)]
    state = cold_and_airless(hourly, hottest, air, oxygen)
    every = int(AHEAD_EVERY)
    return Forecast(
        issued,
        hourly[every - 1 :: every],
        hottest[every - 1 :: every][None, :],
        float(state[-1]),
    )


def no_readings(
    site: r.Site,
    entries: Sequence[r.Entry],
    bin_name: str,
    weather_table: Ambient | None,
    score_hours: FloatArray,
    seed: int,
    parameters: Parameters | None = None,
    walls: Vessel | None = None,
) -> EstimateSeries:
    """Run the model once through a record.

    Parameters
    ----------
    site : Site
        As the keeper describes it.
    entries : sequence of Entry
        The record.
    bin_name : str
        Which bin.
    weather_table : Ambient or None
        Hourly weather, if there is any.
    score_hours : ndarray, shape (hours,)
        Whole hours of the record, rising [h].
    seed : int
        Not used: nothing is drawn.
    parameters : Parameters or None
        Laws it follows; those of the package unless given.
    walls : Vessel or None
        The bin as it is; as its keeper describes it unless given.

    Returns
    -------
    EstimateSeries
        Of one member.
    """
    timeline = bin_timeline(site, entries, bin_name)
    if walls is not None:
        timeline = replace(timeline, vessel=walls)
    last = float(score_hours[-1])
    length = last + WEEK_HOURS + 25.0
    laws = parameters or default_parameters()
    column = started(site, timeline, weather_table, length, laws)
    usual = hourly_air(site, None, timeline.start, length)
    issues = set(issue_hours(score_hours).tolist())
    wanted = set(score_hours.tolist())
    hours = np.arange(int(last) + 1, dtype=np.float64)
    hottest, lid, oxygen = np.empty(hours.size), np.empty(hours.size), np.empty(hours.size)
    profiles, forecasts = [], []
    for i, hour in enumerate(hours):
        _run(column, timeline.acts, hour)
        hottest[i], oxygen[i] = _hottest(column), _lowest_oxygen(column)
        lid[i] = column.bin_state[HEAD_TEMPERATURE]
        if hour in wanted:
            profiles.append(_profile(column))
        if hour in issues:
            forecasts.append(_week_ahead(column, timeline.acts, usual))
    air = daily_mean(column.air.table[: hours.size, 0])
    state = cold_and_airless(hours, hottest, air, oxygen)
    index = score_hours.astype(np.int64)
    return EstimateSeries(
        hours=score_hours,
        hottest=hottest[index][None, :],
        lid=lid[index][None, :],
        heights=np.array(SCORED_HEIGHTS),
        layers=np.array(profiles).T[None, :, :],
        cold_airless_probability=state[index].astype(np.float64),
        forecasts=tuple(forecasts),
    )
