"""The estimate of the package, as the twin trials call it: nothing is known before its hour."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np

from benchmarks.scores import WEEK_HOURS
from benchmarks.twin_trial import SCORED_HEIGHTS, EstimateSeries, Forecast, issue_hours
from slowfire import records as r
from slowfire.arrays import FloatArray
from slowfire.estimate.condition import Conditioned, begin_ensemble
from slowfire.estimate.discrepancy import (
    corrected,
    corrected_hottest,
    leftovers,
    told_oxygen,
    told_water,
)
from slowfire.estimate.follow import LAG_HOURS, follow, run_ahead
from slowfire.estimate.member import WATCHED
from slowfire.estimate.summary import cold_airless_share
from slowfire.services.estimate_plan import plan_of, weather_to_come
from slowfire.weather import Ambient

MEMBERS = 40  # fewer than an answer at the bin has: trials are many
UPDATES = 1
AHEAD_EVERY = 3.0
LOOKED_AT = tuple(round(0.05 * k, 2) for k in range(1, 20))  # above the floor [m]
SCORED = tuple(LOOKED_AT.index(one) for one in SCORED_HEIGHTS)
THREADS = 1  # trials run in processes, one for each core


def estimator(
    site: r.Site,
    entries: Sequence[r.Entry],
    bin_name: str,
    weather_table: Ambient | None,
    score_hours: FloatArray,
    seed: int,
) -> EstimateSeries:
    """Estimate a bin from its record, by visits."""
    last = float(score_hours[-1])
    plan, start = plan_of(site, entries, bin_name, weather_table, last + 2.0)
    with ThreadPoolExecutor(THREADS) as pool:

        def run_many(calls: Sequence[Callable[[], Any]]) -> list[Any]:
            return list(pool.map(lambda call: call(), calls))

        # looked at by the hour, since days of cold and want of air are counted
        first = max(float(score_hours[0]) - 24.0 * 9.0, 1.0)
        watch = np.arange(np.ceil(first), last + 1.0, 3.0)
        watch = np.union1d(watch, score_hours)
        issues = issue_hours(score_hours).tolist()
        ensemble = begin_ensemble(plan, MEMBERS, seed, run_many)
        told = np.full((MEMBERS, watch.size, WATCHED + len(LOOKED_AT)), np.nan)
        back = told[:, :, 0].copy()
        water = np.full((MEMBERS, watch.size, len(SCORED)), np.nan)
        forecasts = []
        for stage, _ in follow(
            plan,
            ensemble,
            watch,
            seed,
            run_many,
            heights=LOOKED_AT,
            updates=UPDATES,
            keep_hours=issues,
            back_hours=LAG_HOURS,
            profiles=True,
        ):
            found = stage.conditioned
            place = np.searchsorted(watch, stage.watch_hours)
            beds = WATCHED + len(LOOKED_AT)
            words = tell(found.watched[:, :, :beds], found, stage.watch_hours, seed)
            # of what lies before its hour a stage tells with later readings: never as of then
            back[:, place] = words[:, :, 0]
            now = stage.watch_hours >= stage.hour
            told[:, place[now]] = words[:, now]
            wet = found.watched[:, :, [beds + k for k in SCORED]]
            water[:, place[now]] = told_water(wet, seed)[:, now]
            for kept in found.kept:
                issued = kept.hour
                to_come = weather_to_come(
                    site, weather_table, start, issued, WEEK_HOURS + 2.0, MEMBERS, seed
                )
                # a week is counted from the issue on, scored from the first hours after it
                week = np.arange(issued, issued + WEEK_HOURS + 0.1, AHEAD_EVERY)
                passages = run_ahead(
                    plan, kept, to_come, float(week[-1]), seed, run_many, week.tolist(), LOOKED_AT
                )
                watched = np.array([one.watched for one in passages])
                words = tell(watched, found, week, seed)
                cold = cold_share(week, words)[-1]
                forecasts.append(Forecast(issued, week[1:], words[:, 1:, 0], float(cold)))
    index = np.searchsorted(watch, score_hours)
    cold = cold_share(watch, told)
    values = told[:, index]
    return EstimateSeries(
        hours=score_hours,
        hottest=values[:, :, 0],
        lid=values[:, :, 1],
        heights=np.array(SCORED_HEIGHTS),
        layers=np.moveaxis(values[:, :, [WATCHED + k for k in SCORED]], 2, 1),
        cold_airless_probability=cold[index].astype(np.float64),
        forecasts=tuple(forecasts),
        looking_back=back[:, index],
        lowest_oxygen=values[:, :, 2],
        water=np.moveaxis(water[:, index], 2, 1),
    )


def tell(watched: FloatArray, found: Conditioned, hours: FloatArray, seed: int) -> FloatArray:
    """What was watched, with what readings leave over carried to it."""
    told = watched.copy()
    if hours.size == 0:
        return told
    bed, lid = leftovers(found, "probe"), leftovers(found, "lid")
    told[:, :, 0] = corrected_hottest(
        watched[:, :, 0], watched[:, :, 4], watched[:, :, WATCHED:], LOOKED_AT, bed, hours, seed
    )
    told[:, :, 1] = corrected(watched[:, :, 1], lid, hours, np.zeros(watched.shape[:2]), seed)
    told[:, :, 2] = told_oxygen(watched[:, :, 2], seed)
    for k in SCORED:
        height = LOOKED_AT[k]
        at = np.full(watched.shape[:2], height)
        told[:, :, WATCHED + k] = corrected(watched[:, :, WATCHED + k], bed, hours, at, seed)
    return told


def cold_share(hours: FloatArray, watched: FloatArray) -> FloatArray:
    """Share of members that are cold and airless, from values some hours apart."""
    return cold_airless_share(hours, watched[:, :, 0], watched[:, :, 3], watched[:, :, 2])
