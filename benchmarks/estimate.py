"""Twin trials: hidden bins estimated from their records, scored against what truly happened.

`python -m benchmarks.estimate` runs one row for each hidden bin and tier of observations and adds
it to `benchmarks/results/estimate.jsonl`. Rows already there for the same code are left out, so
that it resumes where it stopped. At the end it pools them into `benchmarks/results/estimate.json`,
from which `docs/estimate.md` is made. Nothing is asserted.
"""

import argparse
import ast
import hashlib
import importlib
import inspect
import json
import os
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.hidden_bins import TIERS, HiddenBin, hidden_bin
from benchmarks.scores import Reliability, pooled
from benchmarks.twin_trial import Estimator, estimate_tier, looked_ahead, scores_of
from slowfire.arrays import FloatArray
from slowfire.errors import SlowfireError
from tools.revision import commit

ROOT = Path(__file__).resolve().parents[1]
RESULTS = ROOT / "benchmarks" / "results"
ROWS = RESULTS / "estimate.jsonl"
POOLED = RESULTS / "estimate.json"
DEFAULT_ESTIMATOR = "benchmarks.twin_estimator:estimator"
REFERENCE = "benchmarks.no_readings:no_readings"
BINS = 60
REDRAWN = 4000  # sets of bins, for what a mean over other bins might be
# What an estimate rests on; screens, services and words change no number.
COUNTED = (
    "arrays.py", "constants.py", "kinds.py", "measures.*", "quantities.py", "records.py", "site.py",
    "timeline*.py", "vessel*", "biology/*", "column/*", "data/*", "estimate/*", "materials/*",
    "physics/*", "weather/*",
)  # fmt: skip
OWN = (
    "hidden_bins.py", "hidden_record.py", "hidden_truth.py", "hidden_weather.py", "scores.py",
    "twin_trial.py",
)  # fmt: skip


def code_hash(estimator: Callable[..., object]) -> str:
    """Hash of all that an estimate and its score rest on, the estimator's own file too."""
    package = ROOT / "src" / "slowfire"
    files = {path for pattern in COUNTED for path in package.glob(pattern) if path.is_file()}
    files |= {Path(__file__).with_name(name) for name in OWN}
    plain = estimator.func if isinstance(estimator, partial) else estimator
    own = inspect.getsourcefile(plain if inspect.isroutine(plain) else type(plain))
    if own is not None:
        files.add(Path(own).resolve())
    total = hashlib.sha256()
    for path in sorted(files):
        total.update(path.name.encode())
        total.update(_telling(path))
    return total.hexdigest()[:16]


def _telling(path: Path) -> bytes:
    """What of a file can change a number: of Python, neither comments nor docstrings."""
    if path.suffix != ".py":
        return path.read_bytes()
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if not isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) or not node.body:
            continue
        first = node.body[0]
        if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
            node.body = node.body[1:] or [ast.Pass()]
    return ast.unparse(tree).encode()


def read_rows(path: Path = ROWS) -> list[dict[str, Any]]:
    """Rows written so far; a line cut off by a stop is left out."""
    if not path.exists():
        return []
    rows = []
    for line in path.read_text(encoding="utf-8").splitlines():
        try:
            rows.append(json.loads(line))
        except json.JSONDecodeError:
            continue
    return rows


def _key(row: dict[str, Any]) -> tuple[str, str, int]:
    return row["estimator"], row["tier"], row["seed"]


def last_rows(rows: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """The last row written for each estimator, tier and bin, in that order."""
    kept = {_key(row): row for row in rows}
    return [kept[key] for key in sorted(kept)]


def tidy(path: Path = ROWS) -> None:
    """Keep the last row of each estimator, tier and bin."""
    beside = path.with_suffix(".new")
    text = "".join(json.dumps(_plain(row)) + "\n" for row in last_rows(read_rows(path)))
    beside.write_text(text, encoding="utf-8")
    os.replace(beside, path)


def _plain(value: Any) -> Any:
    """Values for JSON: figures of five digits, null where there is none."""
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, float | np.floating):
        return float(f"{value:.5g}") if np.isfinite(value) else None
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value


def row_of(
    name: str, estimator: Estimator, hidden: HiddenBin, tier: str, code: str, check_ahead: bool
) -> dict[str, Any]:
    """Run and score one hidden bin and tier; an estimate refused is a row too."""
    row: dict[str, Any] = {
        "estimator": name,
        "tier": tier,
        "seed": hidden.seed,
        "kinetics": hidden.kinetics,
        "place": hidden.place,
        "vessel": hidden.vessel,
        "feeding": hidden.feeding,
        "weather": hidden.weather,
        "fault": hidden.fault,
        "week_kilograms": hidden.week_kilograms,
        "bistable": hidden.bistable,
        "commit": commit(),
        "code": code,
        "measured": datetime.now(UTC).isoformat(timespec="seconds"),
    }
    began = time.perf_counter()
    try:
        series = estimate_tier(estimator, hidden, tier)
        row["seconds"] = time.perf_counter() - began
        row["members"] = series.hottest.shape[0]
        row |= scores_of(hidden, tier, series)
        if check_ahead:
            row["looked_ahead_kelvin"] = looked_ahead(estimator, hidden, tier, series)
    except SlowfireError as problem:
        row["refused"] = str(problem)
    return row


def run(
    name: str,
    estimator: Estimator,
    seeds: Sequence[int],
    tiers: Sequence[str] = TIERS,
    path: Path = ROWS,
    check_ahead: bool = False,
    tell: Callable[[str], None] = print,
) -> int:
    """Add the rows that are missing.

    Parameters
    ----------
    name : str
        Under which the rows stand.
    estimator : callable
        What is scored.
    seeds : sequence of int
        Of the hidden bins.
    tiers : sequence of str
        Out of TIERS.
    path : Path
        Where the rows stand.
    check_ahead : bool
        Whether each row is run a second time on half of its season.
    tell : callable
        Takes a line of progress.

    Returns
    -------
    int
        How many rows were added.
    """
    code = code_hash(estimator)
    there = {_key(row) for row in read_rows(path) if row["code"] == code}
    path.parent.mkdir(exist_ok=True)
    added = 0
    for seed in seeds:
        missing = [tier for tier in tiers if (name, tier, seed) not in there]
        if not missing:
            continue
        hidden = hidden_bin(seed)
        for tier in missing:
            row = row_of(name, estimator, hidden, tier, code, check_ahead)
            _append(row, path)
            added += 1
            tell(_told(row))
    return added


def _append(row: dict[str, Any], path: Path) -> None:
    """Add a line, on a line of its own even after one that a stop cut off."""
    cut_off = path.exists() and path.read_bytes()[-1:] not in (b"", b"\n")
    with path.open("a", encoding="utf-8") as file:
        file.write(("\n" if cut_off else "") + json.dumps(_plain(row)) + "\n")


def _told(row: dict[str, Any]) -> str:
    start = f"bin {row['seed']:3d} {row['tier']:10s}"
    if "refused" in row:
        return f"{start} refused: {row['refused']}"
    return (
        f"{start} hottest off by {row['hottest_error']:.1f} K, {row['hottest_inside']:.0%} inside, "
        f"{row['peaks_met']} of {row['peaks']} peaks, {row['seconds']:.1f} s"
    )


def _number(value: float | None) -> float:
    return float("nan") if value is None else float(value)


def _column(rows: Sequence[dict[str, Any]], *names: str) -> FloatArray:
    """One score of every row, from nested names."""
    found = []
    for row in rows:
        value: Any = row
        for name in names:
            value = value[name]
        found.append(_number(value))
    return np.array(found, dtype=np.float64)


def _nan_or(function: Callable[[FloatArray], Any], values: FloatArray) -> float:
    known = values[np.isfinite(values)]
    return float(function(known)) if known.size else float("nan")


def pooled_scores(rows: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Scores over several bins of one tier.

    Errors are medians over bins, coverage a mean over bins; peaks, forecasts and probabilities are
    pooled over all bins. `forecast_better_than` is 1 less the ratio of pooled RMS errors, in which
    a bin that wakes up from frost weighs much; `..._median_bin` is the median of the bins' own.

    Parameters
    ----------
    rows : sequence of dict
        As `row_of` gives.

    Returns
    -------
    dict
        Scores by name; NaN where there is nothing to score.
    """
    done = [row for row in rows if "refused" not in row]
    peaks = float(_column(done, "peaks").sum()) if done else 0.0
    met = float(_column(done, "peaks_met").sum()) if done else 0.0
    issues = _column(done, "forecast", "issues")

    def ahead(name: str) -> float:
        values = _column(done, "forecast", name)
        known = np.isfinite(values) & (issues > 0)
        if not known.any():
            return float("nan")
        return float(np.sqrt(np.average(values[known] ** 2, weights=issues[known])))

    def table(name: str) -> Reliability:
        return pooled(
            [
                Reliability(
                    tuple(row[name]["count"]),
                    tuple(row[name]["stated"]),
                    tuple(row[name]["happened"]),
                    _number(row[name]["squares"]),
                )
                for row in done
            ]
        )

    ratio = _column(done, "lid_word_error") / _column(done, "lid_word_estimate_error")
    errors = _column(done, "hottest_error")
    found: dict[str, Any] = {
        "bins": len(done),
        "refused": len(rows) - len(done),
        "hottest_error": _nan_or(np.median, errors),
        "hottest_error_worst_tenth": _nan_or(lambda x: np.percentile(x, 90), errors),
        "hottest_bias": _nan_or(np.median, _column(done, "hottest_bias")),
        "hottest_inside": _nan_or(np.mean, _column(done, "hottest_inside")),
        "hottest_width": _nan_or(np.median, _column(done, "hottest_width")),
        "lid_error": _nan_or(np.median, _column(done, "lid_error")),
        "lid_inside": _nan_or(np.mean, _column(done, "lid_inside")),
        "back_error": _nan_or(np.median, _column(done, "back", "hottest_error")),
        "back_inside": _nan_or(np.mean, _column(done, "back", "hottest_inside")),
        "back_peaks_met_share": (
            float(_column(done, "back", "peaks_met").sum()) / peaks if peaks else float("nan")
        ),
        "times_better_than_lid": _nan_or(np.median, ratio),
        "peaks": int(peaks),
        "peaks_met_share": met / peaks if peaks else float("nan"),
        "forecast_error": ahead("week"),
        "forecast_error_seventh_day": ahead("seventh_day"),
        "persistence_error": ahead("persistence"),
        "persistence_error_seventh_day": ahead("persistence_seventh_day"),
        "true_persistence_error": ahead("true_persistence"),
        "forecast_inside": _nan_or(np.mean, _column(done, "forecast", "inside")),
        "forecasts": int(issues.sum()) if issues.size else 0,
        "seconds": _nan_or(np.median, _column(done, "seconds")),
        "looked_ahead_kelvin": _nan_or(
            np.max, np.array([_number(row.get("looked_ahead_kelvin")) for row in done])
        ),
        "oxygen_inside": _nan_or(
            np.mean, np.array([_number(row.get("oxygen_inside")) for row in done])
        ),
    }
    # rows from before water was scored have none
    for name in ("layers", "water"):
        found[name] = [
            {
                "height": height,
                "error": _nan_or(np.median, _at_height(done, name, height, "error")),
                "inside": _nan_or(np.mean, _at_height(done, name, height, "inside")),
            }
            for height in sorted({one["height"] for row in done for one in row.get(name, ())})
        ]
    found["forecast_better_than"] = 1.0 - found["forecast_error"] / found["persistence_error"]
    of_each = 1.0 - _column(done, "forecast", "week") / _column(done, "forecast", "persistence")
    found["forecast_better_than_median_bin"] = _nan_or(np.median, of_each)
    found["forecast_better_than_true"] = (
        1.0 - found["forecast_error"] / found["true_persistence_error"]
    )
    found["forecast_better_than_seventh_day"] = (
        1.0 - found["forecast_error_seventh_day"] / found["persistence_error_seventh_day"]
    )
    for name in ("cold_airless", "going_cold_airless"):
        one = table(name)
        found[name] = asdict(one) | {
            "brier_score": one.brier_score,
            "base_rate": one.base_rate,
            "skill": one.skill,
            "mean_gap": one.mean_gap,
            "gap_in_all": one.gap_in_all,
            "gap_in_all_range": gap_range(done, name),
            "half_or_more": _half_or_more(done, name),
        }
    return found


def gap_range(rows: Sequence[dict[str, Any]], name: str) -> list[float]:
    """Where the mean of stated less seen in all lies with other bins, 5 to 95 %.

    Parameters
    ----------
    rows : sequence of dict
        Each with the sums of `scores.Reliability` under `name`.
    name : str
        cold_airless or going_cold_airless [-].

    Returns
    -------
    list of float
        Two shares [-]; NaN without statements.

    Notes
    -----
    Whole bins are drawn anew, with replacement: the statements of one hang together for weeks.
    """
    counts = np.array([sum(row[name]["count"]) for row in rows], dtype=np.float64)
    gaps = np.array([sum(row[name]["stated"]) - sum(row[name]["happened"]) for row in rows])
    if not counts.sum():
        return [float("nan")] * 2
    drawn = np.random.default_rng(1).integers(0, len(rows), (REDRAWN, len(rows)))
    totals = counts[drawn].sum(axis=1)
    means = gaps[drawn].sum(axis=1)[totals > 0.0] / totals[totals > 0.0]
    return [float(one) for one in np.percentile(means, [5.0, 95.0])]


def _half_or_more(rows: Sequence[dict[str, Any]], name: str) -> dict[str, float]:
    """Statements of a half or more: how many, of how many bins, what was stated and seen."""
    upper = {
        key: np.array([sum(row[name][key][5:]) for row in rows], dtype=np.float64)
        for key in ("count", "stated", "happened")
    }
    count = float(upper["count"].sum())
    return {
        "count": count,
        "bins": int((upper["count"] > 0.0).sum()),
        "stated": float(upper["stated"].sum()) / count if count else float("nan"),
        "seen": float(upper["happened"].sum()) / count if count else float("nan"),
    }


def _at_height(rows: Sequence[dict[str, Any]], what: str, height: float, name: str) -> FloatArray:
    return np.array(
        [
            _number(one[name])
            for row in rows
            for one in row.get(what, ())
            if one["height"] == height
        ],
        dtype=np.float64,
    )


BRIEF = ("bins", "refused", "hottest_error", "hottest_inside")


def _told_of(group: str, scores: dict[str, Any]) -> dict[str, Any]:
    """Kinds of bins are told in brief."""
    return {name: scores[name] for name in BRIEF} if ": " in group else scores


APART = ("kinetics", "place", "vessel", "feeding", "weather", "fault")


def summary(rows: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Pooled scores by estimator and tier, over all bins and over groups of them.

    Parameters
    ----------
    rows : sequence of dict
        All rows; of each estimator those of the code of its last row count.

    Returns
    -------
    dict
        By estimator: commit, code, when, and by tier `all`, `bistable`, `steady` and each group.
    """
    found: dict[str, Any] = {}
    newest: dict[str, dict[str, Any]] = {}
    for row in rows:
        if (
            row["estimator"] not in newest
            or row["measured"] >= newest[row["estimator"]]["measured"]
        ):
            newest[row["estimator"]] = row
    for name, last in sorted(newest.items()):
        own = [row for row in last_rows(rows) if row["estimator"] == name]
        own = [row for row in own if row["code"] == last["code"]]
        tiers: dict[str, Any] = {}
        for tier in TIERS:
            of_tier = [row for row in own if row["tier"] == tier]
            if not of_tier:
                continue
            groups = {
                "all": of_tier,
                "bistable": [row for row in of_tier if row["bistable"]],
                "steady": [row for row in of_tier if not row["bistable"]],
            }
            for what in APART:
                for word in sorted({row[what] for row in of_tier}):
                    groups[f"{what}: {word}"] = [row for row in of_tier if row[what] == word]
            tiers[tier] = {
                key: _told_of(key, pooled_scores(each)) for key, each in groups.items() if each
            }
        found[name] = {
            "commit": last["commit"],
            "code": last["code"],
            "measured": last["measured"],
            "tiers": tiers,
        }
    return found


def write_summary(rows_path: Path = ROWS, path: Path = POOLED) -> None:
    """Pool the rows and write what the page is made from."""
    pooled_up = _plain(summary(read_rows(rows_path)))
    path.write_text(json.dumps(pooled_up, indent=1) + "\n", encoding="utf-8")


def estimator_named(name: str) -> Estimator:
    """The callable of a name such as `package.module:function`."""
    module, _, function = name.partition(":")
    found: Estimator = getattr(importlib.import_module(module), function)
    return found


def main() -> None:
    """Run what is missing and pool it."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--bins", type=int, default=BINS, help="hidden bins 0 to this, less one")
    parser.add_argument("--seeds", help="these instead, such as 10-19")
    parser.add_argument("--tiers", default=",".join(TIERS), help="parted by commas")
    parser.add_argument("--estimator", default=DEFAULT_ESTIMATOR, help="package.module:function")
    parser.add_argument("--reference", action="store_true", help="the model without readings")
    parser.add_argument("--check-ahead", action="store_true", help="look for looking ahead")
    chosen = parser.parse_args()
    tiers = tuple(one.strip() for one in chosen.tiers.split(","))
    if unknown := sorted(set(tiers) - set(TIERS)):
        parser.error(f"no tier is called {', '.join(unknown)}; allowed is {', '.join(TIERS)}")
    seeds = list(range(chosen.bins))
    if chosen.seeds:
        first, _, last = chosen.seeds.partition("-")
        seeds = list(range(int(first), int(last or first) + 1))
    spec = REFERENCE if chosen.reference else chosen.estimator
    name = spec.partition(":")[2].replace("_", " ")
    added = run(name, estimator_named(spec), seeds, tiers, check_ahead=chosen.check_ahead)
    tidy()
    write_summary()
    print(f"{added} rows added to {ROWS.relative_to(ROOT)}; make docs writes the page")


if __name__ == "__main__":
    main()
