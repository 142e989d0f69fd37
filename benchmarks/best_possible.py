"""What could be known of a hidden bin at best: a bound for the promises of the twin trials.

`python -m benchmarks.best_possible` asks two questions of each hidden bin that no estimate can:

- ahead: somebody who holds the whole true state, the true laws and the true walls, and does not
  know what will be fed and what the weather will be, forecasts a week; scored as `twin_trial` does;
- peaks: the model with the true laws and walls runs through what was written, no reading used; what
  it is off by comes from true weights, loads never written, and weather alone.

Rows stand in `benchmarks/results/best_possible.jsonl`, their pool in `best_possible.json`. It
resumes where it stopped.
"""

import argparse
from collections.abc import Sequence
from dataclasses import asdict
from functools import partial
from typing import Any

import numpy as np

from benchmarks.estimate import BINS, RESULTS, code_hash
from benchmarks.hidden_bins import HiddenBin, hidden_bin
from benchmarks.hidden_truth import TrueLoad, feed, make_room
from benchmarks.no_readings import no_readings
from benchmarks.rows import add_missing, over_issues, write_pool
from benchmarks.scores import WEEK_HOURS, forecast_errors
from benchmarks.twin_trial import FIRST_SCORED, estimate_tier, issue_hours, score_hours, scores_of
from slowfire.arrays import FloatArray
from slowfire.column.positions import CENTRE_MINUS_EDGE, HEAD_TEMPERATURE, TEMPERATURE
from slowfire.column.simulate import Air, Column
from slowfire.services.estimate_plan import weather_to_come

ROWS, POOLED = RESULTS / "best_possible.jsonl", RESULTS / "best_possible.json"
MEMBERS = 16
LOOKED_BACK_LOADS = 12
EVERY = 3.0  # of a forecast [h]
TIER = "two_depths"  # a record from the empty bin on
ISSUE_DAYS = tuple(FIRST_SCORED / 24.0 + 7.0 * week for week in range(1, 13))


def _hottest(column: Column) -> float:
    state = column.state[: column.layers]
    if not column.layers:
        return float(column.bin_state[HEAD_TEMPERATURE])
    return float(np.max(state[:, TEMPERATURE] + 0.5 * state[:, CENTRE_MINUS_EDGE]))


def loads_to_come(
    loads: Sequence[TrueLoad], now: float, until: float, draws: np.random.Generator
) -> list[TrueLoad]:
    """Loads of the last weeks again in a drawn order, at the usual time apart.

    Parameters
    ----------
    loads : sequence of TrueLoad
        In order of time.
    now, until : float
        From when to when [h].
    draws : Generator
        Source of chance [-].

    Returns
    -------
    list of TrueLoad
        None without three loads before.
    """
    before = [one for one in loads if one.hour <= now][-LOOKED_BACK_LOADS:]
    if len(before) < 3:
        return []
    apart = max(float(np.median(np.diff([one.hour for one in before]))), 12.0)
    hour = max(before[-1].hour + apart, now + 1.0)
    coming = []
    while hour <= until:
        again = before[int(draws.integers(len(before)))]
        coming.append(
            TrueLoad(
                hour, again.portions, again.temperature_celsius, again.days_in_caddy, again.stirred
            )
        )
        hour += apart
    return coming


def _ahead(column: Column, air: Air, coming: Sequence[TrueLoad], hours: FloatArray) -> FloatArray:
    """Hottest centre of a copy at hours, under weather and loads of its own [degC]."""
    twin = column.copy()
    twin.air = air
    found = np.empty(hours.size)
    place = 0
    for i, hour in enumerate(hours):
        while place < len(coming) and coming[place].hour < hour:
            twin.run_to(max(coming[place].hour, twin.hour))
            make_room(twin, coming[place].portions)
            feed(twin, coming[place])
            place += 1
        twin.run_to(max(float(hour), twin.hour))
        found[i] = _hottest(twin)
    return found


def knowing_all_but_what_comes(hidden: HiddenBin) -> dict[str, Any]:
    """Errors of the best forecast there is; `hidden` must have kept its bin at ISSUE_DAYS."""
    truth = hidden.truth
    column = truth.column
    if column is None:
        raise ValueError("The truth did not keep its column.")
    lead = hidden.lead_hours(TIER)
    issues = []
    for issued in issue_hours(score_hours(hidden, TIER)) + lead:
        now = round(issued)
        start = truth.kept[now]
        hours = now + np.arange(EVERY, WEEK_HOURS + 0.1, EVERY)
        tables = weather_to_come(
            hidden.site, hidden.weather_table, hidden.start, float(now), WEEK_HOURS + 2.0,
            MEMBERS, hidden.seed,
        )  # fmt: skip
        members = np.empty((MEMBERS, hours.size))
        for k in range(MEMBERS):
            draws = np.random.default_rng([hidden.seed, now, k])
            air = Air(np.vstack([column.air.table[:now], tables[k]]))
            coming = loads_to_come(hidden.loads, float(now), float(hours[-1]), draws)
            members[k] = _ahead(start, air, coming, hours)
        issues.append((float(now), hours, members, float(truth.hottest[now])))
    return asdict(forecast_errors(issues, truth.hours, truth.hottest))


def row_of(seed: int) -> dict[str, Any]:
    """Both answers for one hidden bin."""
    hidden = hidden_bin(seed, ISSUE_DAYS)
    own = partial(no_readings, parameters=hidden.parameters, walls=hidden.walls)
    scores = scores_of(hidden, TIER, estimate_tier(own, hidden, TIER))
    return {
        "bistable": hidden.bistable,
        "ahead": knowing_all_but_what_comes(hidden),
        "written": {
            name: scores[name] for name in ("hottest_error", "hottest_bias", "peaks", "peaks_met")
        },
    }


def pooled(rows: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Pooled as the trials are: forecasts by root mean square over all issues, peaks by count."""
    forecasts = [row["ahead"] for row in rows]
    week, held = over_issues(forecasts, "week"), over_issues(forecasts, "true_persistence")
    written = [row["written"] for row in rows]
    better = [1.0 - row["ahead"]["week"] / row["ahead"]["true_persistence"] for row in rows]
    return {
        "bins": len(rows),
        "commit": rows[-1]["commit"],
        "measured": rows[-1]["measured"],
        "forecast_error": week,
        "true_persistence_error": held,
        "forecast_better_than_true": 1.0 - week / held,
        "forecast_better_than_true_median_bin": float(np.median(better)),
        "forecast_inside": float(np.mean([row["ahead"]["inside"] for row in rows])),
        "written_hottest_error": float(np.median([one["hottest_error"] for one in written])),
        "peaks": int(sum(one["peaks"] for one in written)),
        "peaks_met_share": sum(one["peaks_met"] for one in written)
        / max(sum(one["peaks"] for one in written), 1),
    }


def main() -> None:
    """Run what is missing and pool it."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--bins", type=int, default=BINS, help="hidden bins 0 to this, less one")
    chosen = parser.parse_args()
    code = code_hash(row_of)
    write_pool(POOLED, pooled(add_missing(ROWS, range(chosen.bins), code, row_of, _words)))


def _words(row: dict[str, Any]) -> str:
    return (
        f"week ahead off by {row['ahead']['week']:.1f} K, truth held "
        f"{row['ahead']['true_persistence']:.1f} K; peaks met with true laws "
        f"{row['written']['peaks_met']} of {row['written']['peaks']}"
    )


if __name__ == "__main__":
    main()
