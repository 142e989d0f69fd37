"""Time the storing of measurements; run as `python -m benchmarks.sensors`, nothing is asserted.

Twenty probes that speak every minute for a month are replayed into a new journal: rows a second,
bytes a row, and how long the questions take that pages and the listener ask. Writes
benchmarks/results/sensors.json.
"""

import argparse
import json
import platform
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from slowfire import records as r
from slowfire.journal import sensor_devices, sensor_feed, sensorlog
from slowfire.journal.database import DATABASE_FILE
from slowfire.journal.store import Store, open_store
from slowfire.sensors.measurement import Measurement, milliseconds
from slowfire.sensors.readings import Source
from slowfire.services.sensors import sensors
from tools.revision import commit

RESULTS = Path(__file__).parent / "results" / "sensors.json"
START = datetime(2026, 3, 1, tzinfo=UTC)
MINUTES = 1440
BIN = r.Bin("Box", "box", inside_width_cm=50, inside_depth_cm=50, inside_height_cm=90)


def day_of(probe: int, day: int) -> list[Measurement]:
    """A day of one probe, in sixteenths of a degree."""
    minutes = np.arange(day * MINUTES, (day + 1) * MINUTES)
    noise = np.random.default_rng((probe, day)).normal(0.0, 0.08, MINUTES)
    shown = np.round(16.0 * (40.0 + probe + 8.0 * np.sin(minutes / 2880.0) + noise)) / 16.0
    return [
        Measurement(f"p{probe}", "1", START + timedelta(minutes=int(at)), float(value))
        for at, value in zip(minutes, shown, strict=True)
    ]


def timed(call: Callable[[], object], times: int = 5) -> float:
    """Median seconds of a call."""
    found = []
    for _ in range(times):
        begin = time.perf_counter()
        call()
        found.append(time.perf_counter() - begin)
    return statistics.median(found)


def run(store: Store, probes: int, days: int) -> dict[str, float]:
    names = [f"p{k}" for k in range(probes)]
    thermometers = tuple(r.Thermometer(one, "probe", 30) for one in names)
    store.set_site(r.Site("Yard", "UTC", (BIN,), thermometers))
    for name in names:
        sensor_devices.add_device(store, name, "push", START)
        sensor_devices.place_probe(store, Source(name, "1", "Box", name))
    keep = settle = thin = 0.0
    for day in range(days):
        now = START + timedelta(days=day + 1, minutes=1)
        for k in range(probes):
            made = day_of(k, day)
            begin = time.perf_counter()
            sensorlog.keep(store, made, now)
            keep += time.perf_counter() - begin
        begin = time.perf_counter()
        sensor_feed.settle(store, now)
        settle += time.perf_counter() - begin
        begin = time.perf_counter()
        sensor_feed.thin(store, now)
        thin += time.perf_counter() - begin
    rows = probes * days * MINUTES
    end = START + timedelta(days=days)
    live = [
        [
            Measurement(one, "1", end + timedelta(minutes=minute), 40.0 + minute % 5 / 16.0)
            for one in names
        ]
        for minute in range(20)
    ]
    begin = time.perf_counter()
    for batch in live:
        sensorlog.keep(store, batch, batch[0].when)
    live_seconds = (time.perf_counter() - begin) / len(live)
    first, last = milliseconds(START), milliseconds(end)
    with store.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    size = (store.folder / DATABASE_FILE).stat().st_size
    return {
        "probes": probes,
        "days": days,
        "rows": rows,
        "rows_per_second": rows / keep,
        "settle_seconds_per_day": settle / days,
        "thin_seconds_per_day": thin / days,
        "a_minute_of_all_probes_seconds": live_seconds,
        "megabytes": size / 1e6,
        "bytes_per_row_sent": size / rows,
        "quarters_of_a_probe_seconds": timed(lambda: sensor_feed.quarters(store, 1, first, last)),
        "list_of_devices_seconds": timed(lambda: sensors(store.folder, end)),
        "readings_in_the_journal": len(store.entries()),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--probes", type=int, default=20)
    parser.add_argument("--days", type=int, default=30)
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, open_store(Path(folder)) as store:
        found = run(store, chosen.probes, chosen.days)
    result = {
        "commit": commit(),
        "python": platform.python_version(),
        "machine": platform.machine(),
        **{key: round(value, 5) for key, value in found.items()},
    }
    RESULTS.write_text(json.dumps(result, indent=2) + "\n", encoding="utf-8")
    print(json.dumps(result, indent=2))


if __name__ == "__main__":
    main()
