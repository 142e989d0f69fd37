"""Weather of hidden bins: a drawn year, what the usual year has, and a table off by some error."""

from dataclasses import replace
from datetime import datetime

import numpy as np

from slowfire import records as r
from slowfire.arrays import FloatArray
from slowfire.column.simulate import Air
from slowfire.weather import Ambient, site_sun_on_walls
from slowfire.weather.grid import at_place
from slowfire.weather.towns import town_named

TABLE_ERROR = (0.7, 0.7)  # of a day and of an hour of the table of weather, together 1 K


def _memory_noise(
    draws: np.random.Generator, count: int, memory: float, spread: float
) -> FloatArray:
    """First-order autoregressive noise of a spread."""
    shocks = draws.normal(0.0, spread * np.sqrt(1.0 - memory**2), count)
    values = np.empty(count)
    values[0] = draws.normal(0.0, spread)
    for i in range(1, count):
        values[i] = memory * values[i - 1] + shocks[i]
    return values


def true_weather(
    draws: np.random.Generator, town_name: str, start: datetime, hours: float
) -> tuple[Ambient, Ambient]:
    """A drawn year with gusts and clouds, and what the usual year has at those hours."""
    town = town_named(town_name)
    here = (town.latitude_degrees, town.longitude_degrees)
    usual = at_place(*here, hours, start=start)
    drawn = at_place(*here, hours, start=start, seed=int(draws.integers(1, 2**31)))
    count = drawn.hours.size
    gusts = np.exp(_memory_noise(draws, count, 0.95, 0.5) - 0.125)
    clouds = np.repeat(_memory_noise(draws, count // 24 + 1, 0.3, 0.4), 24)[:count]
    return (
        replace(
            drawn,
            wind_speed=np.minimum(drawn.wind_speed * gusts, 30.0),
            irradiance=np.minimum(drawn.irradiance * np.clip(1.0 + clouds, 0.2, 1.5), 1200.0),
        ),
        usual,
    )


def weather_table(draws: np.random.Generator, true: Ambient, usual: Ambient) -> Ambient:
    """What a station nearby has: temperature off by 1 K, humidity, rain; wind and sun as usual."""
    count = true.hours.size
    by_day = np.repeat(_memory_noise(draws, count // 24 + 1, 0.5, TABLE_ERROR[0]), 24)[:count]
    by_hour = draws.normal(0.0, TABLE_ERROR[1], count)
    return replace(
        true,
        temperature_celsius=np.clip(true.temperature_celsius + by_day + by_hour, -60.0, 60.0),
        relative_humidity=np.clip(true.relative_humidity + draws.normal(0.0, 0.05), 0.05, 1.0),
        rain_rate=true.rain_rate * float(np.exp(draws.normal(0.0, 0.3))),
        wind_speed=usual.wind_speed,
        irradiance=usual.irradiance,
        assumptions=("Temperature, humidity and rain are of a station nearby.",),
    )


def air_of(site: r.Site, ambient: Ambient, start: datetime) -> Air:
    """Weather as the column reads it."""
    return Air(
        np.column_stack(
            [
                ambient.temperature_celsius,
                ambient.relative_humidity,
                ambient.wind_speed,
                ambient.rain_rate,
                ambient.irradiance,
                site_sun_on_walls(site, ambient, start),
            ]
        )
    )
