"""Probes that speak every minute, replayed day by day: nothing lost, little kept, few readings."""

from collections import Counter
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from sqlalchemy import func, select

from slowfire import records as r
from slowfire.journal import sensor_devices, sensor_feed, sensorlog
from slowfire.journal.database import DATABASE_FILE
from slowfire.journal.store import open_store
from slowfire.journal.tables import SENSOR_SUMMARIES, SENSOR_VALUES
from slowfire.sensors.measurement import Measurement, milliseconds
from slowfire.sensors.readings import WINDOW, Source

START = datetime(2026, 3, 1, tzinfo=UTC)
MINUTES = 1440
BIN = r.Bin("Box", "box", inside_width_cm=50, inside_depth_cm=50, inside_height_cm=90)


def truth(probe, minute):
    """Temperature of a place in a bin: slow swings, another one for each probe."""
    days = np.asarray(minute) / MINUTES
    return 30.0 + 1.5 * probe + 8.0 * np.sin(days / 2.0 + probe) + 1.5 * np.sin(2.0 * np.pi * days)


def day_of(probe, day, chance):
    """A day of one probe with sixteenths of a degree, and faults put in; their places as well."""
    minutes = np.arange(day * MINUTES, (day + 1) * MINUTES)
    shown = truth(probe, minutes) + chance.normal(0.0, 0.08, MINUTES)
    shown = np.round(16.0 * shown) / 16.0
    faults = chance.choice(np.arange(10, MINUTES - 40, 40), 4, replace=False)
    shown[faults[0]] = 85.0
    shown[faults[1]] = 1.8 * 70.0 + 32.0
    shown[faults[2] : faults[2] + 5] -= 15.0
    shown[faults[3]] = -127.0
    return [
        Measurement(f"p{probe}", "1", START + timedelta(minutes=int(at)), float(value))
        for at, value in zip(minutes, shown, strict=True)
    ]


@pytest.mark.parametrize(("probes", "days"), [(2, 3), pytest.param(20, 30, marks=pytest.mark.long)])
def test_a_replay(tmp_path, probes, days):
    names = [f"p{k}" for k in range(probes)]
    site = r.Site("Yard", "UTC", (BIN,), tuple(r.Thermometer(one, "probe", 30) for one in names))
    chance = np.random.default_rng(5)
    states: Counter = Counter()
    with open_store(tmp_path) as store:
        store.set_site(site)
        for name in names:
            sensor_devices.add_device(store, name, "push", START)
            sensor_devices.place_probe(store, Source(name, "1", "Box", name))
        for day in range(days):
            now = START + timedelta(days=day + 1, minutes=1)
            for k in range(probes):
                for half in np.array_split(np.array(day_of(k, day, chance), object), 2):
                    outcomes = sensorlog.keep(store, half.tolist(), now)
                    states.update((one.state, one.reason.name) for one in outcomes)
            sensor_feed.settle(store, now)
            sensor_feed.thin(store, now)
        end = START + timedelta(days=days, hours=1)
        sensor_feed.settle(store, end)
        entries = r.effective_entries(store.entries())
        with store.engine.connect() as connection:
            raw = connection.execute(select(func.count()).select_from(SENSOR_VALUES)).scalar_one()
            summed = connection.execute(select(func.sum(SENSOR_SUMMARIES.c.count))).scalar_one()
    rows = probes * days * MINUTES
    assert sum(states.values()) == rows
    assert states["new", "FAULT"] == 2 * probes * days
    assert states["new", "UNIT"] == probes * days
    assert states["new", "SPIKE"] == 5 * probes * days
    assert raw + (summed or 0) == rows
    # 14 days one by one, and before that only what was left out
    assert raw <= probes * (min(days, 15) * MINUTES + 8 * days)
    assert len(entries) == probes * days * 8
    windows = Counter(
        (one.payload.thermometer, milliseconds(one.when) // WINDOW) for one in entries
    )
    assert set(windows.values()) == {1}
    for one in entries:
        minute = (one.when - START).total_seconds() / 60.0
        expected = truth(int(one.payload.thermometer[1:]), minute)
        assert one.payload.temperature.temperature_celsius == pytest.approx(expected, abs=0.25)
    assert (tmp_path / DATABASE_FILE).stat().st_size < 3e6 + 60.0 * raw
