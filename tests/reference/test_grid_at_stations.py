"""World grid against measured years of single stations.

The two TMY3 years (Greensboro, North Carolina; Sand Point, Alaska) and the TMY2 year (Miami) in the
wheel of pvlib, and 2013 at the three airports of New York (tests/data). Tolerances hold the scatter
of one year (0.5 to 1 K) and a cell of half a degree: 2 K for means, 4 K for swings. These stations
took part in fitting the few factors of tools/make_weather_grid.py, so the swings here say that the
file was made as described; test_city_climates compares with places that took no part.
"""

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest

from slowfire.weather.grid import at_place, nearest_land

DATA = Path(pvlib.__file__).parent / "data"
NEW_YORK = Path(__file__).parents[1] / "data" / "new_york_2013.csv"
AIRPORTS = {"EWR": (40.69, -74.17), "JFK": (40.64, -73.78), "LGA": (40.77, -73.87)}


def station(name: str) -> tuple[float, float, pd.Series, pd.Series]:
    """Place, temperature [degC] and sun [W/m^2] by the hour of one of pvlib's years."""
    if name.endswith("tm2"):
        table, place = pvlib.iotools.read_tmy2(DATA / name)
        return place["latitude"], place["longitude"], table["DryBulb"] / 10.0, table["GHI"]
    table, place = pvlib.iotools.read_tmy3(DATA / name, map_variables=True)
    return place["latitude"], place["longitude"], table["temp_air"], table["ghi"]


def swing_of(means: np.ndarray) -> float:
    """Twice the amplitude of one sine through 365 daily means."""
    angle = 2.0 * np.pi * np.arange(means.size) / 365.25
    shape = np.column_stack([np.ones_like(angle), np.cos(angle), np.sin(angle)])
    found = np.linalg.lstsq(shape, means, rcond=None)[0]
    return float(2.0 * np.hypot(found[1], found[2]))


@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv", "12839.tm2"])
def test_a_station(name):
    latitude, longitude, temperature, sun = station(name)
    cell = nearest_land(latitude, longitude)
    days = temperature.to_numpy()[:8760].reshape(365, 24)
    assert cell.settled_mean_celsius == pytest.approx(temperature.mean(), abs=2.0)
    assert cell.irradiance == pytest.approx(sun.mean(), rel=0.06)
    assert cell.yearly_swing_kelvin == pytest.approx(swing_of(days.mean(axis=1)), abs=4.0)
    assert cell.daily_swing_kelvin == pytest.approx(np.ptp(days, axis=1).mean(), abs=2.0)


@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv"])
def test_humidity_of_a_station(name):
    """Mean relative humidity within 15 points.

    At ten stations it was 15 points too low to 13 too high: the water is that of a whole cell, and
    every day gets the same humidity.
    """
    table, place = pvlib.iotools.read_tmy3(DATA / name, map_variables=True)
    air = at_place(place["latitude"], place["longitude"], start=datetime(2025, 1, 1, tzinfo=UTC))
    wanted = table["relative_humidity"].mean() / 100.0
    assert air.relative_humidity.mean() == pytest.approx(wanted, abs=0.15)


@pytest.mark.parametrize("airport", AIRPORTS)
def test_new_york(airport):
    """Months of 2013 within 4 K each and 2.5 K root mean square; the year within 2 K.

    Single months of one year stray by 1 to 2 K from the mean of nine.
    """
    table = pd.read_csv(NEW_YORK)
    table = table[table["airport"] == airport]
    month = pd.to_datetime(table["date"]).dt.month
    wanted = table["mean_celsius"].groupby(month).mean().to_numpy()
    air = at_place(*AIRPORTS[airport], 8759.0, start=datetime(2013, 1, 1, 5, tzinfo=UTC))
    index = pd.date_range("2013-01-01", periods=8760, freq="h")
    found = pd.Series(air.temperature_celsius).groupby(index.month).mean().to_numpy()
    assert found.mean() == pytest.approx(wanted.mean(), abs=2.0)
    assert np.sqrt(np.mean((found - wanted) ** 2)) < 2.5
    np.testing.assert_allclose(found, wanted, atol=4.0)
    swing = (table["highest_celsius"] - table["lowest_celsius"]).mean()
    cell = nearest_land(*AIRPORTS[airport])
    assert cell.daily_swing_kelvin == pytest.approx(swing, abs=4.0)
