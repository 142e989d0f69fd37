"""How long an answer takes after a reading, with a year of history, and how much memory.

    python -m benchmarks.answer

Runs each gear in a process of its own: once without anything kept, then a reading is written and
the same is asked again, as an app does. Also the quick gear with half and twice the members.
Results go to `benchmarks/results/answer.json` with their commit.
"""

import json
import multiprocessing
import os
import resource
import shutil
import tempfile
import time
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

from slowfire import records as r
from slowfire.journal import Journal, read_journal, write_journal
from slowfire.services.checkpoints import QUICK, THOROUGH, Gear
from slowfire.services.inside import inside_and_series
from tools.revision import commit

ROOT = Path(__file__).resolve().parents[1]
COURTYARD = ROOT / "examples" / "courtyard"
RESULTS = ROOT / "benchmarks" / "results" / "answer.json"
BIN = "Timber bin"


def main() -> None:
    found: dict[str, Any] = {"commit": commit(), "cores": os.cpu_count(), "gears": []}
    for gear in (
        QUICK,
        THOROUGH,
        replace(QUICK, name="half", members=QUICK.members // 2),
        replace(QUICK, name="twice", members=2 * QUICK.members),
    ):
        with tempfile.TemporaryDirectory() as folder:
            context = multiprocessing.get_context("spawn")
            queue: Any = context.Queue()
            one = context.Process(target=measured, args=(gear, folder, queue))
            one.start()
            row = queue.get()
            one.join()
        found["gears"].append(row)
        print(json.dumps(row), flush=True)
    RESULTS.write_text(json.dumps(found, indent=2) + "\n", encoding="utf-8")


def measured(gear: Gear, folder: str, queue: Any) -> None:
    """Time one gear from nothing, and after one more reading."""
    place = Path(folder) / "journal"
    shutil.copytree(COURTYARD, place)
    kept = Path(folder) / "kept"
    journal = read_journal(place)
    last = max(one.when for one in journal.entries)
    days = (last - min(one.when for one in journal.entries)).total_seconds() / 86400.0
    # the first call compiles; that is told apart
    begin = time.perf_counter()
    small = Gear("warm-up", 4, 1, 240.0)
    inside_and_series(place, BIN, now=last, gear=small, keep=False)
    compiled = time.perf_counter() - begin
    begin = time.perf_counter()
    inside_and_series(place, BIN, now=last, gear=gear, cache_folder=kept)
    first = time.perf_counter() - begin
    later = add_reading(journal, place, last + timedelta(hours=20))
    begin = time.perf_counter()
    inside_and_series(place, BIN, now=later, gear=gear, cache_folder=kept)
    again = time.perf_counter() - begin
    queue.put(
        {
            "gear": gear.name,
            "members": gear.members,
            "days_of_history": round(days, 1),
            "compile_and_4_members_s": round(compiled, 2),
            "from_nothing_s": round(first, 2),
            "after_a_reading_s": round(again, 2),
            "memory_mb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0),
        }
    )


def add_reading(journal: Journal, place: Path, when: datetime) -> datetime:
    """Write one more probe reading."""
    reading = r.Reading("long probe", r.Temperature(38.0, "C"))
    entry = r.Entry(uuid4(), BIN, when, reading)
    write_journal(Journal(journal.site, (*journal.entries, entry)), place)
    return when


if __name__ == "__main__":
    main()
