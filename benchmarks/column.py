"""Time the compiled column; run as `python -m benchmarks.column`, nothing is asserted.

Writes benchmarks/results/column.json: a bin-year, members in two threads, exponents, memory, and
the kernel against integrators of a library on its own equations.
"""

import json
import os
import platform
import resource
import subprocess
import sys
import time
import tracemalloc
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import numba
import numpy as np

from benchmarks.integrators import compare
from slowfire.column.simulate import DEFAULT_STEP, EVENT_STEP, Column, constant_air
from slowfire.published.trial import litres_of
from slowfire.vessel import Fittings, box
from tools.revision import commit

RESULTS = Path(__file__).parent / "results" / "column.json"
STEP = 900.0
MEMBERS = 200
MEMBER_DAYS = 60.0
SERIAL_MEMBERS = 40
MEMORY_MEMBERS = (60, 200)
QUIET_HOURS = 240
BETWEEN_LOADS_HOURS = 84


def load(column: Column) -> None:
    """Tip in 12 L, which on a quarter of a square metre are two layers."""
    column.load(
        [
            litres_of("food_waste_household_mixed", 7.0),
            litres_of("office_paper_shredded", 4.0),
            litres_of("bark_chips_fine", 1.0),
        ]
    )


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
        load(column)
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


def in_threads(column: Column, members: int, threads: int, days: float) -> list[Column]:
    """Run members in a pool of threads; the kernel lets go of the interpreter's lock."""
    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(lambda _: run_days(column, days), range(members)))


def kept_megabytes(column: Column, members: int) -> float:
    """Most memory the arrays of so many members have taken together while they ran [MB]."""
    tracemalloc.start()
    kept = in_threads(column, members, 2, 1.0)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert len(kept) == members
    return peak / 1e6


def peak_megabytes() -> float:
    """Most memory this process has held [MB]."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    # counted in bytes on one system, in kibibytes on the others
    return peak / 1e6 if platform.system() == "Darwin" else peak * 1024.0 / 1e6


def memory_of(members: int) -> float:
    """Peak memory [MB] of a process of its own that keeps so many members."""
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks.column", "--members", str(members)],
        cwd=Path(__file__).parents[1],
        capture_output=True,
        text=True,
        check=True,
    )
    return float(done.stdout)


def against_integrators() -> dict[str, object]:
    """A quiet bin, and the days between two loads, at the steps a bin is run with."""
    quiet = bin_of(50)
    loaded = bin_of(48)
    load(loaded)
    return {
        "quiet_days": compare(quiet, QUIET_HOURS, DEFAULT_STEP, DEFAULT_STEP),
        "between_two_loads": compare(loaded, BETWEEN_LOADS_HOURS, DEFAULT_STEP, EVENT_STEP),
    }


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
    serial = best_of(lambda: in_threads(fifty, SERIAL_MEMBERS, 1, MEMBER_DAYS), 2)
    paired = best_of(lambda: in_threads(fifty, SERIAL_MEMBERS, 2, MEMBER_DAYS), 2)
    cores_used = time.process_time()
    started = time.perf_counter()
    threads = best_of(lambda: in_threads(fifty, MEMBERS, 2, MEMBER_DAYS), 2)
    cores_used = (time.process_time() - cores_used) / (time.perf_counter() - started)
    counts = (25, 50, 100)
    by_members = [best_of(lambda n=members: in_threads(fifty, n, 1, 20.0), 2) for members in counts]
    return {
        "bin_year_seconds": month / 30.0 * 365.0,
        "bin_year_layers": fifty.layers,
        "step_seconds": STEP,
        "nanoseconds_per_step_and_layer": 1e9 * month / (30.0 * 86400.0 / STEP) / fifty.layers,
        "members": MEMBERS,
        "member_days": MEMBER_DAYS,
        "members_two_threads_seconds": threads,
        "two_threads_speed_up": serial / paired,
        # below 2 when other work kept a core busy: then the speed-up says little
        "cores_got_by_two_threads": cores_used,
        "exponent_in_days": exponent(lengths, by_days),
        "exponent_in_layers": exponent([column.layers for column in bins], by_layers),
        "exponent_in_members": exponent(counts, by_members),
        "members_megabytes": {str(n): kept_megabytes(fifty, n) for n in MEMORY_MEMBERS},
        # with the compiler and the compiled code, which take most of it
        "process_peak_megabytes": {
            # twice, as the first may have had to compile
            str(n): min(memory_of(n), memory_of(n))
            for n in MEMORY_MEMBERS
        },
        "integrators": against_integrators(),
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


def main() -> None:
    """Measure, write and print."""
    if sys.argv[1:2] == ["--members"]:
        kept = in_threads(bin_of(50), int(sys.argv[2]), 2, 1.0)
        assert kept
        print(peak_megabytes())
        return
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
