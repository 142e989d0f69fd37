"""Sun on level ground and on four upright walls, against pvlib.

pvlib's solar position (the NREL algorithm), its plane-of-array light with the sky of Hay and
Davies, and the measured or modelled beam and sky light of the two TMY3 years in its wheel. Ours
knows the light on the level alone. Beyond those two years the sky is pvlib's clear one (Ineichen,
turbidity 3).
"""

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest

from slowfire.physics.heat import sol_air_temperature
from slowfire.physics.sun import (
    equation_of_time,
    extraterrestrial_irradiance,
    solar_declination,
    sun_height_sine,
)
from slowfire.weather.ambient import Ambient
from slowfire.weather.sunlight import sun_on_walls, sun_path

DATA = Path(pvlib.__file__).parent / "data"
ALBEDO = 0.2
LATITUDES = (-35.0, 0.0, 20.0, 35.0, 50.0, 60.0)


def clear_year(latitude: float) -> tuple[pd.DataFrame, float, float]:
    """A year of clear sky at the middle of each hour."""
    index = pd.date_range("2025-01-01 00:30", "2025-12-31 23:30", freq="h", tz="UTC")
    place = pvlib.location.Location(latitude, 0.0)
    return place.get_clearsky(index, model="ineichen", linke_turbidity=3.0), latitude, 0.0


def station_year(name: str) -> tuple[pd.DataFrame, float, float]:
    """A TMY3 year as one year, each sum at the middle of its hour."""
    table, place = pvlib.iotools.read_tmy3(DATA / name, map_variables=True, coerce_year=2025)
    light = table[["ghi", "dni", "dhi"]].astype(float)
    light.index = light.index - pd.Timedelta(minutes=30)
    return light, place["latitude"], place["longitude"]


def four_walls(light: pd.DataFrame, latitude: float, longitude: float) -> pd.Series:
    """Mean over walls that face north, east, south and west."""
    sun = pvlib.solarposition.get_solarposition(light.index, latitude, longitude)
    above = pvlib.irradiance.get_extra_radiation(light.index)
    faces = [
        pvlib.irradiance.get_total_irradiance(
            90, azimuth, sun["apparent_zenith"], sun["azimuth"], light["dni"], light["ghi"],
            light["dhi"], dni_extra=above, albedo=ALBEDO, model="haydavies",
        )["poa_global"].fillna(0.0)
        for azimuth in (0, 90, 180, 270)
    ]  # fmt: skip
    return sum(faces) / 4.0


def ours(light: pd.DataFrame, latitude: float, longitude: float) -> pd.Series:
    """Our walls from the light on the level."""
    start = light.index[0].to_pydatetime()
    hours = (light.index - light.index[0]).total_seconds().to_numpy() / 3600.0
    order = np.argsort(hours)
    level = light["ghi"].to_numpy()[order]
    zero = np.zeros_like(level)
    air = Ambient(start, hours[order], zero, zero, zero, zero, level)
    walls = sun_on_walls(air, latitude, longitude, ALBEDO)
    return pd.Series(walls, index=light.index[order]).reindex(light.index)


def daily(values: pd.Series) -> np.ndarray:
    """Means of the days of the year."""
    return values.groupby([values.index.month, values.index.day]).mean().to_numpy()


CASES = [
    pytest.param(station_year, "723170TYA.CSV", id="Greensboro, 36 north, measured"),
    pytest.param(station_year, "703165TY.csv", id="Sand Point, 55 north, measured"),
    *[pytest.param(clear_year, one, id=f"clear sky at {one:g}") for one in LATITUDES],
]


@pytest.mark.parametrize(("make", "which"), CASES)
def test_walls_over_a_year(make, which):
    """Yearly mean within 10 %, days within 12 W/m^2 root mean square."""
    light, latitude, longitude = make(which)
    wanted = daily(four_walls(light, latitude, longitude))
    found = daily(ours(light, latitude, longitude))
    assert found.mean() == pytest.approx(wanted.mean(), rel=0.1)
    assert np.sqrt(np.mean((found - wanted) ** 2)) < 12.0


@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv"])
def test_walls_under_real_skies_are_within_a_twentieth(name):
    light, latitude, longitude = station_year(name)
    wanted = four_walls(light, latitude, longitude).mean()
    assert ours(light, latitude, longitude).mean() == pytest.approx(wanted, rel=0.05)


@pytest.mark.parametrize(("make", "which"), CASES)
def test_warming_of_a_dark_wall(make, which):
    """The air temperature that the sun adds on a dark wall, by the day, within 1 K.

    Absorptance 0.7 and a film of 12 W/(m^2*K): a breeze of about 1 m/s, common practice, no source.
    """
    light, latitude, longitude = make(which)
    wanted = daily(four_walls(light, latitude, longitude))
    found = daily(ours(light, latitude, longitude))
    gains = [np.asarray(sol_air_temperature(0.0, one, 0.7, 12.0)) for one in (wanted, found)]
    assert wanted.mean() * 0.7 / 12.0 == pytest.approx(gains[0].mean())
    assert np.sqrt(np.mean((gains[1] - gains[0]) ** 2)) < 1.0


def test_a_fixed_share_is_no_stand_in():
    """Why the walls have a model: walls get more than half of the level in winter, less in summer.

    The share of the level that reaches four walls, in June and in December at 50 degrees north;
    a single share for both, such as 0.25 or 0.4, is far from either.
    """
    light, latitude, longitude = clear_year(50.0)
    walls = four_walls(light, latitude, longitude)
    shares = (
        walls.groupby(walls.index.month).mean() / light["ghi"].groupby(light.index.month).mean()
    )
    assert shares[12] > 2.0 * shares[6]
    assert shares.min() > 0.4


@pytest.mark.parametrize("latitude", LATITUDES)
def test_height_of_the_sun(latitude):
    """Against the NREL algorithm, without refraction: 0.01 in the sine, half a degree."""
    index = pd.date_range("2025-01-01", "2025-12-31 23:00", freq="h", tz="UTC")
    longitude = 16.0
    wanted = pvlib.solarposition.get_solarposition(index, latitude, longitude)["elevation"]
    hours = np.arange(float(index.size))
    path = sun_path(datetime(2025, 1, 1, tzinfo=UTC), hours, latitude, longitude)
    np.testing.assert_allclose(path.height_sine, np.sin(np.radians(wanted)), atol=0.01)


def test_the_series_of_spencer():
    """Declination and equation of time against pvlib's transcription of the same series."""
    days = np.arange(1.0, 366.0)
    np.testing.assert_allclose(
        solar_declination(days), pvlib.solarposition.declination_spencer71(days), atol=1e-9
    )
    np.testing.assert_allclose(
        60.0 * np.asarray(equation_of_time(days)),
        pvlib.solarposition.equation_of_time_spencer71(days),
        atol=0.02,
    )
    np.testing.assert_allclose(
        extraterrestrial_irradiance(days),
        pvlib.irradiance.get_extra_radiation(days, solar_constant=1361.0, method="spencer"),
        rtol=1e-6,
    )


def test_noon_at_the_equinox_on_the_equator_is_overhead():
    """Geometry, no source."""
    assert sun_height_sine(0.0, 0.0, 12.0) == pytest.approx(1.0)
    assert sun_height_sine(np.radians(48.0), 0.0, 12.0) == pytest.approx(np.cos(np.radians(48.0)))
    assert sun_height_sine(np.radians(48.0), 0.0, 6.0) == pytest.approx(0.0, abs=1e-12)
