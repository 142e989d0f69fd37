"""What readings can show of a hidden bin whose laws and walls are known: a bound for the promises.

`python -m benchmarks.known_laws` runs the estimator of the package over the record of two depths of
each hidden bin, with one help that no keeper has: every member follows the true laws in the true
bin, so that only what went in and the weather are left to find out. What it is off by comes from
loads weighed by eye, loads nobody wrote down and readings twice a week, not from what the model
does not know of the bin. Scored as `twin_trial` does.

Rows stand in `benchmarks/results/known_laws.jsonl`, their pool in `known_laws.json`. It resumes
where it stopped.
"""

import argparse
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from typing import Any
from unittest import mock

import numpy as np

from benchmarks.estimate import BINS, RESULTS, code_hash
from benchmarks.hidden_bins import BIN, HiddenBin, hidden_bin
from benchmarks.rows import add_missing, over_issues, write_pool
from benchmarks.twin_estimator import estimator
from benchmarks.twin_trial import estimate_tier, scores_of
from slowfire.estimate import condition, member
from slowfire.estimate.priors import COARSER, Setting, setting_of
from slowfire.timeline import bin_timeline
from slowfire.vessel import Vessel

ROWS, POOLED = RESULTS / "known_laws.jsonl", RESULTS / "known_laws.json"
TIER = "two_depths"
SCORES = ("hottest_error", "hottest_bias", "hottest_inside", "peaks", "peaks_met")


@dataclass(frozen=True)
class TrueSetting(Setting):
    """A member in the true bin: what its walls differ by from what its keeper described."""

    differs: Mapping[str, Any]

    def vessel(self, described: Vessel) -> Vessel:
        """The bin as it is, whatever was described."""
        return described._replace(**self.differs)


@contextmanager
def true_laws(hidden: HiddenBin) -> Iterator[None]:
    """Let every member follow the laws and have the walls of a hidden bin while this lasts."""
    described = bin_timeline(hidden.site, hidden.records[TIER], BIN).vessel
    differs = {
        name: value
        for name, value in hidden.walls._asdict().items()
        if value != getattr(described, name)
    }
    laws = hidden.parameters._replace(**COARSER)

    def known(normals: Mapping[str, float], number: int) -> Setting:
        return TrueSetting(laws, setting_of(normals, number).factors, differs)

    with ExitStack() as stack:
        for module in (condition, member):
            stack.enter_context(mock.patch.object(module, "setting_of", known))
        yield


def row_of(seed: int) -> dict[str, Any]:
    """Scores of one hidden bin whose laws and walls are known."""
    hidden = hidden_bin(seed)
    with true_laws(hidden):
        scores = scores_of(hidden, TIER, estimate_tier(estimator, hidden, TIER))
    return {
        **{name: scores[name] for name in SCORES},
        "back": scores["back"],
        "forecast": scores["forecast"],
    }


def pooled(rows: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """Pooled as the trials are: errors by the median bin, peaks by count, forecasts by issues."""
    forecasts = [row["forecast"] for row in rows]
    week, held = over_issues(forecasts, "week"), over_issues(forecasts, "persistence")
    peaks = max(sum(row["peaks"] for row in rows), 1)
    return {
        "bins": len(rows),
        "commit": rows[-1]["commit"],
        "measured": rows[-1]["measured"],
        "hottest_error": float(np.median([row["hottest_error"] for row in rows])),
        "hottest_inside": float(np.mean([row["hottest_inside"] for row in rows])),
        "back_error": float(np.median([row["back"]["hottest_error"] for row in rows])),
        "peaks": int(peaks),
        "peaks_met_share": sum(row["peaks_met"] for row in rows) / peaks,
        "back_peaks_met_share": sum(row["back"]["peaks_met"] for row in rows) / peaks,
        "forecast_error": week,
        "persistence_error": held,
        "forecast_better": 1.0 - week / held,
    }


def main() -> None:
    """Run what is missing and pool it."""
    parser = argparse.ArgumentParser(description=main.__doc__)
    parser.add_argument("--seeds", default=f"0-{BINS - 1}", help="hidden bins, such as 0-29")
    first, _, last = parser.parse_args().seeds.partition("-")
    code = code_hash(row_of)[:8] + code_hash(estimator)[:8]
    seeds = range(int(first), int(last or first) + 1)
    write_pool(POOLED, pooled(add_missing(ROWS, seeds, code, row_of, _words)))


def _words(row: dict[str, Any]) -> str:
    return (
        f"off by {row['hottest_error']:.1f} K, looking back {row['back']['hottest_error']:.1f} K, "
        f"peaks met {row['peaks_met']} and {row['back']['peaks_met']} of {row['peaks']}"
    )


if __name__ == "__main__":
    main()
