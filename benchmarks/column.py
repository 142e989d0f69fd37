"""Time the compiled column; run as `python -m benchmarks.column`, nothing is asserted.

Writes benchmarks/results/column.json: a bin-year, members in two threads, exponents.
"""

import json
import os
import platform
import subprocess
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import numba
import numpy as np

from slowfire.column.simulate import Column, constant_air
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, box

RESULTS = Path(__file__).parent / "results" / "column.json"
STEP = 900.0
MEMBERS = 40
MEMBER_DAYS = 30


def _litres(word: str, volume: float) -> Portion:
    stuff = load_library().find(word)
    return Portion(stuff, volume * stuff.bulk_density / 1000.0, volume, "loose")


def bin_of(layers: int) -> Column:
    """A foam-walled bin with about so many layers, a week after its last load."""
    vessel = box(
        0.5,
        0.5,
        0.96,
        Fittings(wall=(("eps", 0.06),), lid=(("eps", 0.03),), vent_slot_length=0.3),
    )
    column = Column(vessel, constant_air(12.0), time_step=STEP, event_step=STEP)
    while column.layers < layers:
        # 12 L on a quarter of a square metre are two layers
        column.load(
            [
                _litres("food_waste_household_mixed", 7.0),
                _litres("office_paper_shredded", 4.0),
                _litres("bark_chips_fine", 1.0),
            ]
        )
        column.run_to(column.hour + 6.0)
    column.run_to(column.hour + 168.0)
    return column


def best_of(work: Callable[[], object], times: int = 5) -> float:
    """Shortest wall-clock time of several runs [s]."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def run_days(column: Column, days: float) -> Column:
    """Let a copy run on."""
    twin = column.copy()
    twin.run_to(twin.hour + 24.0 * days)
    return twin


def exponent(sizes: Sequence[float], seconds: Sequence[float]) -> float:
    """Slope of log time over log size."""
    return float(np.polyfit(np.log(sizes), np.log(seconds), 1)[0])


def in_threads(column: Column, members: int, threads: int) -> None:
    """Run members in a pool of threads; the kernel lets go of the interpreter's lock."""
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(lambda _: run_days(column, MEMBER_DAYS), range(members)))


def measure() -> dict[str, object]:
    """All timings [s] and exponents."""
    fifty = bin_of(50)
    run_days(fifty, 1.0)
    month = best_of(lambda: run_days(fifty, 30.0))
    # short enough that no layers are joined on the way
    lengths = (2.0, 4.0, 8.0, 16.0)
    by_days = [best_of(lambda d=days: run_days(fifty, d)) for days in lengths]
    bins = [bin_of(layers) for layers in (13, 25, 50, 100, 200)]
    by_layers = [best_of(lambda b=column: run_days(b, 10.0)) for column in bins]
    serial = best_of(lambda: in_threads(fifty, MEMBERS, 1), 3)
    cores_used = time.process_time()
    started = time.perf_counter()
    threads = best_of(lambda: in_threads(fifty, MEMBERS, 2), 3)
    cores_used = (time.process_time() - cores_used) / (time.perf_counter() - started)
    counts = (10, 20, 40)
    by_members = [best_of(lambda n=members: in_threads(fifty, n, 1), 2) for members in counts]
    return {
        "bin_year_seconds": month / 30.0 * 365.0,
        "bin_year_layers": fifty.layers,
        "step_seconds": STEP,
        "microseconds_per_step_and_layer": 1e6 * month / (30.0 * 96.0) / fifty.layers,
        "members": MEMBERS,
        "member_days": MEMBER_DAYS,
        "members_serial_seconds": serial,
        "members_two_threads_seconds": threads,
        "two_threads_speed_up": serial / threads,
        # below 2 when other work kept a core busy: then the speed-up says little
        "cores_got_by_two_threads": cores_used,
        "exponent_in_days": exponent(lengths, by_days),
        "exponent_in_layers": exponent([column.layers for column in bins], by_layers),
        "exponent_in_members": exponent(counts, by_members),
    }


def machine() -> dict[str, object]:
    """What the numbers were measured on."""
    model = platform.processor() or platform.machine()
    info = Path("/proc/cpuinfo")
    if info.exists():
        for line in info.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                model = line.split(":", 1)[1].strip()
                break
    return {
        "processor": model,
        "cores": os.cpu_count(),
        "system": platform.system(),
        "python": platform.python_version(),
        "numba": numba.__version__,
        "load_before": list(os.getloadavg()) if hasattr(os, "getloadavg") else None,
    }


def commit() -> str:
    """The commit measured, with a mark when files differ from it."""
    here = Path(__file__).parent
    try:
        return subprocess.run(
            ["git", "describe", "--always", "--dirty"],
            cwd=here,
            capture_output=True,
            text=True,
            check=True,
        ).stdout.strip()
    except (OSError, subprocess.CalledProcessError):
        return "unknown"


def main() -> None:
    """Measure, write and print."""
    result = {
        "commit": commit(),
        "measured": datetime.now(UTC).isoformat(timespec="seconds"),
        "machine": machine(),
        **measure(),
    }
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps(result, indent=2) + "\n", encoding="utf-8")
    print(json.dumps(result, indent=2))


if __name__ == "__main__":
    main()
