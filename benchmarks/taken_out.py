"""Verdicts on heat, harvest and liquid on hidden bins whose keeper reads two probes every day.

    python -m benchmarks.taken_out --seeds 0-38

Each hidden bin has the record of its keeper and, for its last five weeks, a daily reading at the
centre and one at the edge, 25 cm down, each off by its own error. The verdicts of the package are
held against the truth, and so are the harvest at the door and the liquid: drawn, as written, and
what stands in the tub; beside it what the model alone would have leached. A spot was probed if its
readings, each without its error, would show the rule: they stood in its material while it was hot
and span the hours asked for. Beside it stand spots that were only read often enough. One row a bin
goes into `benchmarks/results/taken_out.jsonl`; it resumes.
"""

import argparse
import json
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import numpy as np

from benchmarks.hidden_bins import BIN, HiddenBin, hidden_bin
from slowfire import records as r
from slowfire.column.positions import CENTRE, L_LIQUID_OUT, LONGEST, TUB_WATER
from slowfire.hygiene.judge import judge_record
from slowfire.hygiene.rules import Rule, find_rule
from slowfire.journal import Journal, write_journal
from slowfire.services.inside import inside_estimate
from slowfire.services.layer_readings import Spot, records_of, spots_of
from slowfire.services.layers import DAILY_GAP, REACH, LayerFate, Member, layers_of
from tools.revision import commit

RESULTS = Path(__file__).resolve().parent / "results"
ROWS, POOLED = RESULTS / "taken_out.jsonl", RESULTS / "taken_out.json"
RULE = "US_NOP_VESSEL"  # 55 degC for 72 hours without a break
DEPTH = 0.25  # of both probes below the surface [m]
DAYS = 35
READING_ERROR = 1.0  # lasting, of each probe [K]
EACH_ERROR = 0.3  # of one reading [K]
DOOR = 30.0  # [cm]
NEARLY = 1.0 / 3.0  # of the hours asked for, in a bin that got nearly hot [-]
LEAST_LIQUID = 0.5  # of a bin that counts [kg]
PROBES = ("proof centre", "proof edge")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", default="0-38", help="first-last; those with usual weather run")
    parser.add_argument(
        "--hot", action="store_true", help="only bins that truly got hot, or nearly"
    )
    asked = parser.parse_args()
    first, last = (int(one) for one in asked.seeds.split("-"))
    done = {row["seed"]: row for row in _read() if row["rule"] == RULE}
    for seed in range(first, last + 1):
        # of the others a table of weather is known, which a journal holds as a file
        if seed % 2 == 0 and seed not in done:
            hidden = hidden_bin(seed)
            if asked.hot and not got_hot(hidden):
                continue
            row = trial(hidden)
            done[seed] = row
            with ROWS.open("a", encoding="utf-8") as file:
                file.write(json.dumps(row) + "\n")
            print({k: v for k, v in row.items() if k != "layers"}, flush=True)
    found = pooled(list(done.values()))
    POOLED.write_text(json.dumps(found, indent=2) + "\n", encoding="utf-8")
    print(json.dumps(found, indent=2))


def got_hot(hidden: HiddenBin) -> bool:
    """Whether the centre of something that lies there at the end was hot for part of the hours.

    Bins that fell short are looked at too: among them a yes would be wrong.
    """
    column, rule = hidden.truth.column, find_rule(RULE)
    if column is None:
        return False
    degree = round(rule.lower_celsius) - 40
    hours = column.history[: column.layers, CENTRE, degree, LONGEST]
    return bool((hours >= NEARLY * rule.needed_hours).any())


def trial(hidden: HiddenBin) -> dict[str, Any]:
    """One hidden bin: what its layers truly had, and what is said of them."""
    truth = hidden.truth
    if truth.column is None or truth.edges is None:
        raise SystemExit("the truth was not kept")
    end = hidden.start + timedelta(hours=hidden.season[1])
    journal = proof_journal(hidden)
    with tempfile.TemporaryDirectory() as folder:
        write_journal(journal, folder)
        made = inside_estimate(folder, BIN, end.isoformat(), now=end)
        result = layers_of(made, rule=RULE)
    rule = find_rule(RULE)
    exact = spots_of(proof_journal(hidden, exact=True), BIN, made.hour, REACH)
    exact = tuple(one for one in exact if one.thermometer in PROBES)
    true = Member(truth.column)
    rows = []
    count = len(result.layers)
    for k, layer in enumerate(result.layers):
        part = true.slice(k / count, (k + 1) / count)
        hours = part.history[:, round(rule.lower_celsius) - 40, LONGEST]
        told_hours = [round(float(one), 1) for one in hours]
        shown = exactly_shown(rule, exact, layer, made.record.timeline.start, made.hour)
        for place, name in enumerate(("centre", "edge")):
            rows.append(
                {
                    "place": name,
                    "qualified": bool(hours[place] >= rule.needed_hours),
                    "probed": name in shown,
                    "read_often": often_enough(layer.sanitised.reasons[1 + place]),
                    "verdict": getattr(layer.heat, name),
                    "hours": told_hours,
                }
            )
        rows.append(
            {
                "place": "whole",
                "qualified": bool((hours >= rule.needed_hours).all()),
                "probed": len(shown) == 2,
                "read_often": all(often_enough(one) for one in layer.sanitised.reasons[1:3]),
                "verdict": layer.sanitised.verdict,
                "hours": told_hours,
            }
        )
    share = DOOR / 100.0 / max(truth.fill_height[-1], 1e-9)
    mass = true.slice(0.0, min(share, 1.0)).sums[1]
    told = next(
        (one for one in result.layers if one.height_cm + one.thickness_cm >= DOOR - 1e-6),
        result.layers[-1] if result.layers else None,
    )
    harvest = None
    if told is not None:
        part = min(DOOR / (told.height_cm + told.thickness_cm), 1.0)
        harvest = told.up_to["kilograms"].mid * part / max(mass, 1e-9)
    columns = made.found.ensemble.columns
    written = sum(
        one.payload.amount.middle for one in journal.entries if isinstance(one.payload, r.Drain)
    )
    # as the screens tell it: no more than it holds
    holds = hidden.site.bins[0].tub_litres or np.inf
    tub = float(np.median([min(one.bin_state[TUB_WATER], holds) for one in columns]))
    true_tub = float(truth.column.bin_state[TUB_WATER])
    return {
        "seed": hidden.seed,
        "rule": RULE,
        "commit": commit(),
        "layers": rows,
        "harvest_ratio": harvest,
        # what was drawn, as its keeper wrote it, and what stands in the tub
        "liquid_truth_kg": round(sum(one.litres for one in truth.drawn) + true_tub, 2),
        "liquid_told_kg": round(written + tub, 2),
        # what left the stack, had nobody drawn or measured any
        "leached_truth_kg": round(float(truth.column.ledger[L_LIQUID_OUT]), 2),
        "leached_told_kg": round(
            float(np.median([one.ledger[L_LIQUID_OUT] for one in columns])), 2
        ),
        "hottest_truth": round(float(truth.hottest[int(hidden.season[0]) :].max()), 1),
    }


def often_enough(reason: str) -> bool:
    """Whether a spot was read often enough for the rule, by what is said of it."""
    return "unknown" not in reason and "too seldom" not in reason


def exactly_shown(
    rule: Rule, spots: Sequence[Spot], layer: LayerFate, start: datetime, until: float
) -> set[str]:
    """Places of a layer of which readings without any error would show the rule."""
    low, high = (
        (datetime.fromisoformat(one) - start).total_seconds() / 3600.0
        for one in (layer.first_added, layer.last_added)
    )
    middle = (layer.height_cm + 0.5 * layer.thickness_cm) / 100.0
    judged = [
        judge_record(rule, one, longest_gap_hours=DAILY_GAP, since_hour=high, until_hour=until)
        for one in records_of(spots, low, high, middle)
    ]
    return {one.place for one in judged if one.met}


def proof_journal(hidden: HiddenBin, exact: bool = False) -> Journal:
    """The keeper's record with two probes read every day of the last five weeks."""
    truth = hidden.truth
    draws = np.random.default_rng([hidden.seed, 77])
    lasting = draws.normal(0.0, READING_ERROR, 2)
    entries: list[r.Entry] = list(hidden.records["two_depths"])
    last = int(hidden.season[1])
    for day in range(DAYS, 0, -1):
        hour = last - 24 * day + int(draws.integers(17, 20))
        height = truth.fill_height[hour] - DEPTH
        known = np.isfinite(truth.middles[hour])
        if height <= 0.0 or not known.any() or truth.edges is None:
            continue
        for k, profile in enumerate((truth.centres, truth.edges)):
            true = float(np.interp(height, truth.middles[hour, known], profile[hour, known]))
            error = lasting[k] + draws.normal(0.0, EACH_ERROR)
            read = true if exact else round(true + error, 1)
            reading = r.Reading(
                PROBES[k],
                r.Temperature(read, "C"),
                r.Position(r.Length(100.0 * DEPTH, "cm"), "surface"),
                ("centre", "edge")[k],
            )
            when = hidden.start + timedelta(hours=hour, minutes=5 + k)
            entries.append(r.Entry(uuid4(), BIN, when, reading))
    probes = tuple(r.Thermometer(name, "probe", 100.0 * DEPTH) for name in PROBES)
    site = replace(hidden.site, thermometers=(*hidden.site.thermometers, *probes))
    return Journal(site, tuple(sorted(entries, key=lambda one: one.when)))


def pooled(rows: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Rates over all bins."""
    places = {
        name: _rates([one for row in rows for one in row["layers"] if one["place"] == name])
        for name in ("centre", "edge", "whole")
    }
    both = [one for row in rows for one in row["layers"] if one["place"] != "whole"]
    harvest = [abs(row["harvest_ratio"] - 1.0) for row in rows if row["harvest_ratio"] is not None]
    liquid, leached = (
        [
            abs(row[f"{name}_told_kg"] / row[f"{name}_truth_kg"] - 1.0)
            for row in rows
            if row[f"{name}_truth_kg"] > LEAST_LIQUID
        ]
        for name in ("liquid", "leached")
    )
    return {
        "commit": commit(),
        "rule": RULE,
        "bins": len(rows),
        "spots": _rates(both),
        "by_place": places,
        "harvest_error_median": round(float(np.median(harvest)), 3) if harvest else None,
        "bins_with_liquid": len(liquid),
        "liquid_error_median": round(float(np.median(liquid)), 3) if liquid else None,
        "leached_error_median": round(float(np.median(leached)), 3) if leached else None,
    }


def _rates(layers: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """How often each verdict was right, and how many of those due were given."""
    yes = [one for one in layers if one["verdict"] == "yes"]
    no = [one for one in layers if one["verdict"] == "no"]
    due = [one for one in layers if one["qualified"] and one["probed"]]
    often = [one for one in layers if one["qualified"] and one["read_often"]]

    def share(some: int, of: int) -> float | None:
        return round(some / of, 3) if of else None

    return {
        "looked_at": len(layers),
        "qualified": sum(one["qualified"] for one in layers),
        "yes": len(yes),
        "yes_right": share(sum(one["qualified"] for one in yes), len(yes)),
        "no": len(no),
        "no_wrong": share(sum(one["qualified"] for one in no), len(no)),
        "qualified_and_probed": len(due),
        "of_these_yes": share(sum(one["verdict"] == "yes" for one in due), len(due)),
        "qualified_and_read_often": len(often),
        "of_those_yes": share(sum(one["verdict"] == "yes" for one in often), len(often)),
    }


def _read() -> list[dict[str, Any]]:
    if not ROWS.exists():
        return []
    return [json.loads(line) for line in ROWS.read_text(encoding="utf-8").splitlines() if line]


if __name__ == "__main__":
    main()
