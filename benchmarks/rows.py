"""Rows of long trials: one a hidden bin, written as they come, so that a trial resumes."""

import json
from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.estimate import read_rows
from tools.revision import commit

Row = dict[str, Any]


def add_missing(
    path: Path,
    seeds: Iterable[int],
    code: str,
    row_of: Callable[[int], Row],
    words: Callable[[Row], str],
) -> list[Row]:
    """Run the bins that have no row of this code yet, and return all rows of it.

    Parameters
    ----------
    path : Path
        JSON Lines, added to [-].
    seeds : iterable of int
        Of the hidden bins [-].
    code : str
        Hash of what the rows rest on [-].
    row_of : callable
        Makes what a row tells of a seed; seed, commit, hash and time are put before it.
    words : callable
        Says a row in a line, for who waits.

    Returns
    -------
    list of dict
        In the order written.
    """
    there = {row["seed"] for row in read_rows(path) if row["code"] == code}
    for seed in seeds:
        if seed in there:
            continue
        stamp = {"seed": seed, "commit": commit(), "code": code}
        found = row_of(seed)
        row = {**stamp, "measured": datetime.now(UTC).isoformat(timespec="seconds"), **found}
        with path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(row) + "\n")
        print(f"bin {seed:3d} {words(row)}", flush=True)
    return [row for row in read_rows(path) if row["code"] == code]


def write_pool(path: Path, told: Row) -> None:
    """Write a pool of rows and print it."""
    text = json.dumps(told, indent=1)
    path.write_text(text + "\n", encoding="utf-8")
    print(text)


def over_issues(forecasts: Sequence[Row], name: str) -> float:
    """Root mean square of an error of forecasts over all their issues [K].

    Examples
    --------
    >>> over_issues([{"week": 3.0, "issues": 1}, {"week": 5.0, "issues": 3}], "week")
    4.58257569495584
    """
    weights = np.array([one["issues"] for one in forecasts], dtype=np.float64)
    values = np.array([one[name] for one in forecasts], dtype=np.float64)
    return float(np.sqrt(np.average(values**2, weights=weights)))
