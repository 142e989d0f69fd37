"""What weather is taken at a place, or stands in a file: month by month, and what is assumed."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta, timezone
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput
from slowfire.refusals import number_in
from slowfire.weather import Ambient, read_typical_year, read_weather, write_weather
from slowfire.weather.grid import at_place, nearest_land, spread_at
from slowfire.weather.sunlight import sun_on_walls
from slowfire.weather.towns import town_named

USUAL_START = "2001-01-01"  # a year without a leap day, where none is asked for
USUAL_DAYS = 365
MOST_DAYS = 3660


@dataclass(frozen=True)
class MonthRow:
    """A month as shown: means over its hours, mean lowest and highest of its days.

    `walls_w_per_m2` is the mean over upright walls in the open, nights included, as is the sun on
    the level; null where the place of a file is not known.
    """

    month: int
    days: float
    mean_celsius: float
    lowest_celsius: float
    highest_celsius: float
    relative_humidity_percent: float
    wind_m_per_s: float
    rain_mm: float
    irradiance_w_per_m2: float
    walls_w_per_m2: float | None


@dataclass(frozen=True)
class WeatherResult:
    """The weather of a place or a file, shared by text and JSON.

    `source` is grid, typical_year or measured; the cell and the two spreads are null for files.
    """

    place: str
    source: str
    latitude_degrees: float | None
    longitude_degrees: float | None
    cell_latitude_degrees: float | None
    cell_longitude_degrees: float | None
    cell_distance_km: float | None
    climate: str | None
    start: str
    days: float
    mean_celsius: float
    day_to_day_kelvin: float | None
    year_to_year_kelvin: float | None
    months: tuple[MonthRow, ...]
    written: str | None
    assumptions: tuple[str, ...]


def weather(
    town: str | None = None,
    latitude_degrees: float | None = None,
    longitude_degrees: float | None = None,
    file: str | Path | None = None,
    *,
    start: str | None = None,
    days: float | None = None,
    rain: str | None = None,
    wind: str | None = None,
    seed: int | None = None,
    write: str | Path | None = None,
) -> WeatherResult:
    """Say what weather is taken at a place or stands in a file.

    Parameters
    ----------
    town : str or None
        A larger town; or latitude and longitude, or a file [-].
    latitude_degrees, longitude_degrees : float or None
        Place, north and east positive; with a CSV file, for the sun on walls [degree].
    file : str, Path or None
        Weather file: CSV, EPW or TMY3, known by its content [-].
    start : str or None
        First day, such as 2026-03-01, on the even clock of the place; 2001-01-01 if None [-].
    days : float or None
        How many, 1 to 3660; a year if None [day].
    rain, wind : str or None
        Classes, in place of what the place or the file has [-].
    seed : int or None
        Draws a year with its own offset and weather; the mean year if None; grid only [-].
    write : str, Path or None
        A CSV file to write, for a journal's folder; an existing one is refused [-].

    Returns
    -------
    WeatherResult

    Raises
    ------
    SlowfireError
        If the place, the file or anything asked for cannot be used; the message says why.
    """
    if write is not None and Path(write).exists():
        raise InvalidInput(f"{write} is there already; name a file that is not.")
    if file is not None:
        if town is not None or seed is not None:
            raise InvalidInput("A file has its own place and weather; leave out town and drawing.")
        result, ambient = _of_file(
            Path(file), latitude_degrees, longitude_degrees, start, days, rain, wind
        )
    else:
        result, ambient = _of_place(
            town, latitude_degrees, longitude_degrees, start, days, rain, wind, seed
        )
    if write is not None:
        write_weather(ambient, Path(write), ZoneInfo("UTC"))
        result = replace(result, written=str(write))
    return result


def _of_place(
    town: str | None,
    latitude: float | None,
    longitude: float | None,
    start: str | None,
    days: float | None,
    rain: str | None,
    wind: str | None,
    seed: int | None,
) -> tuple[WeatherResult, Ambient]:
    if town is not None:
        if latitude is not None or longitude is not None:
            raise InvalidInput("Give a town, or latitude and longitude, not both.")
        found = town_named(town)
        name = found.full_name
        latitude, longitude = found.latitude_degrees, found.longitude_degrees
    elif latitude is None or longitude is None:
        raise InvalidInput(
            "Say where: a town, latitude and longitude (degrees, north and east positive), or a "
            "weather file."
        )
    else:
        name = f"{latitude:g}, {longitude:g}"
    cell = nearest_land(latitude, longitude)
    clock = timezone(timedelta(hours=round(longitude / 15.0)))
    first, hours = _first(start, clock), _hours(days)
    if seed is not None:
        number_in("seed", seed, 0, 2**31)
    ambient = at_place(latitude, longitude, hours, start=first, rain=rain, wind=wind, seed=seed)
    spread = spread_at(cell)
    result = _result(name, "grid", latitude, longitude, ambient, clock)
    return (
        replace(
            result,
            cell_latitude_degrees=cell.latitude_degrees,
            cell_longitude_degrees=cell.longitude_degrees,
            cell_distance_km=cell.distance_km,
            climate=cell.climate,
            day_to_day_kelvin=spread.day_to_day_kelvin,
            year_to_year_kelvin=spread.year_to_year_kelvin,
        ),
        ambient,
    )


def _of_file(
    path: Path,
    latitude: float | None,
    longitude: float | None,
    start: str | None,
    days: float | None,
    rain: str | None,
    wind: str | None,
) -> tuple[WeatherResult, Ambient]:
    typical = read_typical_year(path)
    if typical is not None:
        clock = timezone(timedelta(hours=typical.offset_hours))
        ambient = typical.ambient(_first(start, clock), _hours(days), rain=rain, wind=wind)
        place = (typical.latitude_degrees, typical.longitude_degrees)
        return _result(typical.place, "typical_year", *place, ambient, clock), ambient
    if start is not None or days is not None:
        raise InvalidInput(
            f"{path.name} has its own days; leave out --start and --days, or name an EPW or TMY3 "
            "file, whose year stands for every year."
        )
    known = {} if latitude is None else {"latitude_degrees": latitude}
    ambient = read_weather(path, ZoneInfo("UTC"), rain=rain, wind=wind, **known)
    return _result(path.name, "measured", latitude, longitude, ambient, UTC), ambient


def _first(start: str | None, clock: timezone) -> datetime:
    text = (start or USUAL_START).strip()
    try:
        found = datetime.fromisoformat(text)
    except ValueError as problem:
        raise InvalidInput(
            f"'{text}' is not a date; write it as 2026-03-12 or 2026-03-12 18:30."
        ) from problem
    if len(text) <= 10:
        found = datetime.combine(found.date(), time(0, 0))
    number_in("year of the start", found.year, 1970, 2099)
    return found if found.tzinfo is not None else found.replace(tzinfo=clock)


def _hours(days: float | None) -> float:
    return 24.0 * number_in("days", USUAL_DAYS if days is None else days, 1.0, MOST_DAYS, "days")


def _result(
    place: str,
    source: str,
    latitude: float | None,
    longitude: float | None,
    ambient: Ambient,
    clock: timezone,
) -> WeatherResult:
    if ambient.start is None:
        raise InvalidInput("This weather has no start; give it one.")
    walls = None
    if latitude is not None and longitude is not None:
        walls = sun_on_walls(ambient, latitude, longitude)
    local = ambient.start.astimezone(clock)
    # the last hour begins the day after and would make a day of its own
    hours = ambient.hours[:-1]
    mean = float(np.mean(ambient.temperature_celsius[:-1]))
    return WeatherResult(
        place=place,
        source=source,
        latitude_degrees=latitude,
        longitude_degrees=longitude,
        cell_latitude_degrees=None,
        cell_longitude_degrees=None,
        cell_distance_km=None,
        climate=None,
        start=local.isoformat(timespec="minutes"),
        days=float(ambient.hours[-1] - ambient.hours[0]) / 24.0,
        mean_celsius=mean,
        day_to_day_kelvin=None,
        year_to_year_kelvin=None,
        months=_months(ambient, walls, local, hours),
        written=None,
        assumptions=ambient.assumptions,
    )


def _months(
    ambient: Ambient, walls: FloatArray | None, local: datetime, hours: FloatArray
) -> tuple[MonthRow, ...]:
    """Means by month of the year; years are put together."""
    begins = np.datetime64(local.replace(tzinfo=None), "s") + (3600.0 * hours).astype(int)
    month = begins.astype("datetime64[M]").astype(int) % 12
    day = begins.astype("datetime64[D]").astype(int)
    day = day - day[0]
    lowest = np.full(day[-1] + 1, np.inf)
    highest = np.full(day[-1] + 1, -np.inf)
    temperature = ambient.temperature_celsius[:-1]
    np.minimum.at(lowest, day, temperature)
    np.maximum.at(highest, day, temperature)
    rows = []
    for one in range(12):
        inside = month == one
        if not np.any(inside):
            continue
        days = np.unique(day[inside])
        rows.append(
            MonthRow(
                month=one + 1,
                days=float(np.count_nonzero(inside)) / 24.0,
                mean_celsius=float(temperature[inside].mean()),
                lowest_celsius=float(lowest[days].mean()),
                highest_celsius=float(highest[days].mean()),
                relative_humidity_percent=100.0
                * float(ambient.relative_humidity[:-1][inside].mean()),
                wind_m_per_s=float(ambient.wind_speed[:-1][inside].mean()),
                # rain belongs to the hour that ends, so each hour here ends in the next value
                rain_mm=float(ambient.rain_rate[1:][inside].sum()),
                irradiance_w_per_m2=float(ambient.irradiance[:-1][inside].mean()),
                walls_w_per_m2=None if walls is None else float(walls[:-1][inside].mean()),
            )
        )
    return tuple(rows)
