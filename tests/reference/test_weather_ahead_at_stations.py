"""Days after a table ends, against what two stations measured.

Hourly temperatures of the TMY3 files that pvlib ships (Greensboro, North Carolina; Sand Point,
Alaska; United States National Renewable Energy Laboratory, public domain): measured months of
different years put together. Twenty days of each serve as a site's own table, with the world grid
as what is usual; the days after are then looked up in the file.
"""

from datetime import datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pvlib
import pytest

from slowfire.site import Bin, Site
from slowfire.weather import read_typical_year
from slowfire.weather.ahead import draw_members
from slowfire.weather.usual import usual_weather

DATA = Path(pvlib.__file__).parent / "data"
DRUM = (Bin("Drum", "cylinder", inside_diameter_cm=50, inside_height_cm=75),)
DAYS = (0, 1, 2, 6, 12)
STARTS = 40


@pytest.fixture(scope="module", params=["723170TYA.CSV", "703165TY.csv"], name="days")
def days_of_a_station(request, tmp_path_factory):
    """For each start and day: what was measured, and middle, spread and band of the runs."""
    year = read_typical_year(DATA / request.param)
    clock = timezone(timedelta(hours=year.offset_hours))
    first = datetime(2013, 1, 1, tzinfo=clock)
    measured = year.ambient(first, 8760).temperature_celsius
    site = Site("Yard", "UTC", DRUM, latitude_degrees=year.latitude_degrees,
                longitude_degrees=year.longitude_degrees)  # fmt: skip
    path = tmp_path_factory.mktemp("table") / "weather.csv"
    found = []
    for start in range(STARTS):
        at = 24 * (22 + 8 * start) + (8, 20)[start % 2]
        rows = [
            f"{(first + timedelta(hours=hour)).isoformat()},{measured[hour]:.3f}"
            for hour in range(at - 480, at + 1)
        ]
        path.write_text("\n".join(["when,temperature_celsius", *rows]) + "\n")
        now = first + timedelta(hours=at)
        usual = usual_weather(site, now, 24 * 13, now, path)
        runs = draw_members(usual, 100, start, now).tables[:, :, 0]
        for day in DAYS:
            means = runs[:, 1 + 24 * day : 25 + 24 * day].mean(axis=1)
            was = measured[at + 1 + 24 * day : at + 25 + 24 * day].mean()
            low, high = np.percentile(means, (5.0, 95.0))
            found.append((day, was - means.mean(), means.std(), low <= was <= high))
    return np.array(found, dtype=np.float64)


def test_nine_days_of_ten_lie_in_the_band(days):
    """Forty starts leave a standard error of 5 %; hot and cold weeks run together."""
    for day in DAYS:
        inside = days[days[:, 0] == day, 3].mean()
        assert 0.72 <= inside <= 0.99, day
    assert 0.8 <= days[:, 3].mean() <= 0.96


def test_errors_are_as_large_as_the_runs_spread(days):
    for day in DAYS:
        here = days[days[:, 0] == day]
        error = np.sqrt(np.mean(here[:, 1] ** 2))
        assert 0.7 < error / here[:, 2].mean() < 1.35, day


def test_the_first_day_is_known_better_than_the_last(days):
    first, last = (np.sqrt(np.mean(days[days[:, 0] == day, 1] ** 2)) for day in (0, 12))
    assert first < 0.8 * last
