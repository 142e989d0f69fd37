"""Weather of any place on land, from the shipped world grid.

The grid holds statistics of nine years for each half degree of latitude and longitude, no months.
What is source and what is assumed stands in `src/slowfire/data/README.md` and with each result.
"""

import csv
import io
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from importlib.resources import files
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from slowfire.arrays import FloatArray
from slowfire.errors import OutOfReach
from slowfire.physics.moist_air import saturation_pressure
from slowfire.refusals import RefusedField, number_in, one_of
from slowfire.site import RAIN_CLASSES, SHELTERS
from slowfire.weather.ambient import (
    COLDEST_HOUR,
    HOURS_PER_YEAR,
    RAIN_MM_PER_YEAR,
    WIND_M_PER_S,
    Ambient,
    humidity_from_dew_point,
    showers,
)
from slowfire.weather.sunlight import sun_path

EARTH_RADIUS_KM = 6371.0
NEARBY_KM = 50.0
# Towns lie in valleys and on coasts: the mean is taken halfway to the warmest cell nearby. Our
# rule: 28 hilly towns (means from memory) were 2.2 K too cold by the cell, 1.3 K too cold so
SETTLED_SHARE = 0.5
MOST_RISE_KELVIN = 3.0
FARTHEST_KM = 200.0  # from the middle of a cell, which itself reaches 39 km
STANDARD_PRESSURE = 101325.0  # [Pa]; heights are not in the grid
MOST_HUMID = 0.95  # mean relative humidity of the year, our limit
# Mean over root mean square of winds spread as Rayleigh's law has it
MEAN_OF_RAYLEIGH = 0.886
# Wind at 2 m over that at 10 m over short grass (Allen and others 1998, equation 47)
TWO_METRES = 0.748
# Days from the shortest day to the coldest: our rule, after the places of weather_spread.csv
LAG_DAYS = 30.0
LAG_DRY_WINTER_DAYS = 20.0  # rain ends the heat
LAG_HOT_TROPICS_DAYS = 0.0
HOT_TROPICS_DEGREES = 25.0
NORTHERN_SOLSTICE, SOUTHERN_SOLSTICE = 355.0, 172.0
YEARLY_SWING_ERROR_KELVIN = 2.0  # standard deviation of Y and D, see tests/reference
DAY_TO_DAY_LIMITS = (1.0, 6.0)  # of the spread of days, our own; the line is measured from 2 to 5
# Rain by climate class, our rule; anything else is usual.
DRY_CLIMATES = ("BW", "BS")
WET_CLIMATES = ("Af", "Am")


class _Grid(NamedTuple):
    latitude: FloatArray
    longitude: FloatArray
    unit: FloatArray
    columns: dict[str, FloatArray]
    climate: NDArray[np.int64]
    climates: tuple[str, ...]


@dataclass(frozen=True)
class LandCell:
    """What the grid holds for one piece of land.

    Attributes
    ----------
    latitude_degrees, longitude_degrees : float
        Middle of the cell [degree].
    distance_km : float
        From the place asked for to the middle of the cell [km].
    mean_celsius : float
        Mean of nine years [degC].
    yearly_swing_kelvin, daily_swing_kelvin : float
        Warmest less coldest day, afternoon less dawn; reconstructed [K].
    specific_humidity : float
        Mean water by mass of moist air [kg/kg].
    irradiance : float
        Mean sun on the level, nights included [W/m^2].
    wind_speed : float
        Mean wind 2 m above open ground [m/s].
    climate : str
        Koeppen-Geiger class [-].
    coldest_mean_nearby, warmest_mean_nearby : float
        Lowest and highest yearly mean of the cells up to 50 km farther away [degC].
    """

    latitude_degrees: float
    longitude_degrees: float
    distance_km: float
    mean_celsius: float
    yearly_swing_kelvin: float
    daily_swing_kelvin: float
    specific_humidity: float
    irradiance: float
    wind_speed: float
    climate: str
    coldest_mean_nearby: float
    warmest_mean_nearby: float

    @property
    def settled_mean_celsius(self) -> float:
        """Mean of the year where people live, in the lower and warmer parts [degC]."""
        rise = SETTLED_SHARE * (self.warmest_mean_nearby - self.mean_celsius)
        return self.mean_celsius + min(rise, MOST_RISE_KELVIN)

    @property
    def coldest_day(self) -> float:
        """Day of the year that is coldest, in most climates a month after the shortest [day]."""
        lag = LAG_DAYS
        hot = self.climate.startswith("A") or self.climate in ("BSh", "BWh")
        if hot and abs(self.latitude_degrees) < HOT_TROPICS_DEGREES:
            lag = LAG_HOT_TROPICS_DAYS
        elif self.climate[0] in "CD" and self.climate[1] == "w":
            lag = LAG_DRY_WINTER_DAYS
        solstice = NORTHERN_SOLSTICE if self.latitude_degrees >= 0.0 else SOUTHERN_SOLSTICE
        return (solstice + lag - 1.0) % 365.25 + 1.0

    @property
    def rain(self) -> str:
        """Class of rain that goes with the climate [-]."""
        if self.climate.startswith(DRY_CLIMATES):
            return "dry"
        return "wet" if self.climate.startswith(WET_CLIMATES) else "usual"


@dataclass(frozen=True)
class Spread:
    """How weather differs from its mean, measured at eleven places and used for all.

    Attributes
    ----------
    day_to_day_kelvin : float
        Standard deviation of daily means about the season [K].
    memory : float
        Correlation of one day with the next [-].
    year_to_year_kelvin : float
        Standard deviation of yearly means [K].
    """

    day_to_day_kelvin: float
    memory: float
    year_to_year_kelvin: float

    @property
    def offset_kelvin(self) -> float:
        """Standard deviation of the year's own offset, beyond what the days add up to [K]."""
        days = self.day_to_day_kelvin**2 * (1.0 + self.memory) / (1.0 - self.memory) / 365.25
        return float(np.sqrt(max(self.year_to_year_kelvin**2 - days, 0.0)))


@lru_cache(maxsize=1)
def _grid() -> _Grid:
    path = files("slowfire").joinpath("data", "world_weather.npz")
    with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as stored:
        held = {name: stored[name] for name in stored.files}
    size = float(held["cell_degrees"])
    columns_of_map = round(360.0 / size)
    land = np.unpackbits(held["land"], axis=1, count=columns_of_map).astype(bool)
    row, column = np.nonzero(land)
    latitude = (row.astype(np.float64) + 0.5) * size - 90.0
    longitude = (column.astype(np.float64) + 0.5) * size - 180.0
    # each cell holds its difference from the one before, wrapped round at 256
    steps = np.cumsum(held["steps"], axis=1, dtype=np.uint8)
    columns = {
        str(name): lowest + step * whole
        for name, (lowest, step), whole in zip(
            held["quantities"], held["scales"], steps, strict=True
        )
    }
    columns["wind_speed"] = columns.pop("wind_rms") * MEAN_OF_RAYLEIGH * TWO_METRES
    climate = columns.pop("climate").astype(np.int64)
    climates = tuple(str(one) for one in held["climates"])
    unit = _unit_vectors(latitude, longitude)
    return _Grid(latitude, longitude, unit, columns, climate, climates)


@lru_cache(maxsize=1)
def _spread_table() -> dict[str, FloatArray]:
    text = files("slowfire").joinpath("data", "weather_spread.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    return {
        name: np.array([float(row[name]) for row in rows]) for name in rows[0] if name != "place"
    }


def _unit_vectors(latitude: FloatArray, longitude: FloatArray) -> FloatArray:
    north, east = np.radians(latitude), np.radians(longitude)
    return np.stack(
        [np.cos(north) * np.cos(east), np.cos(north) * np.sin(east), np.sin(north)], axis=-1
    )


def nearest_land(latitude_degrees: float, longitude_degrees: float) -> LandCell:
    """Return the land cell that lies nearest to a place.

    Parameters
    ----------
    latitude_degrees, longitude_degrees : float
        Place, north and east positive, -90 to 90 and -180 to 180 [degree].

    Returns
    -------
    LandCell
        With its distance along the surface of the earth [-].

    Raises
    ------
    InvalidInput
        If a coordinate is out of range.
    OutOfReach
        If the nearest land is too far away, with the distance.

    Examples
    --------
    >>> nearest_land(48.2, 16.4).climate
    'Cfb'
    """
    number_in("latitude_degrees", latitude_degrees, -90.0, 90.0, "degrees")
    number_in("longitude_degrees", longitude_degrees, -180.0, 180.0, "degrees")
    grid = _grid()
    here = _unit_vectors(np.array(latitude_degrees), np.array(longitude_degrees))
    chord = np.linalg.norm(grid.unit - here, axis=1)
    place = int(np.argmin(chord))
    distance = 2.0 * EARTH_RADIUS_KM * float(np.arcsin(min(0.5 * chord[place], 1.0)))
    around = grid.columns["mean_celsius"][chord <= chord[place] + NEARBY_KM / EARTH_RADIUS_KM]
    found = LandCell(
        float(grid.latitude[place]),
        float(grid.longitude[place]),
        distance,
        **{name: float(values[place]) for name, values in grid.columns.items()},
        climate=grid.climates[grid.climate[place]],
        coldest_mean_nearby=float(around.min()),
        warmest_mean_nearby=float(around.max()),
    )
    if distance > FARTHEST_KM:
        raise OutOfReach(
            f"the nearest land of the weather grid lies {distance:.0f} km from "
            f"{latitude_degrees:g}, {longitude_degrees:g} (at {found.latitude_degrees:g}, "
            f"{found.longitude_degrees:g}); allowed is up to {FARTHEST_KM:g} km. Small islands and "
            'Antarctica are not in it: give a weather file, or kind = "seasonal" with '
            "mean_celsius. If the place is on land, check that latitude comes first and that "
            "south and west are negative."
        )
    return found


def spread_at(cell: LandCell) -> Spread:
    """Return how far days and years stray from the mean.

    Parameters
    ----------
    cell : LandCell
        Of which only the yearly swing counts [-].

    Returns
    -------
    Spread
        A straight line of day-to-day spread over yearly swing through the eleven places; memory
        and the ratio of yearly to daily spread are their medians [-].

    Examples
    --------
    >>> 2.0 < spread_at(nearest_land(52.2, 0.1)).day_to_day_kelvin < 3.5
    True
    """
    table = _spread_table()
    daily = table["day_to_day_kelvin"]
    slope, at_none = np.polyfit(table["yearly_swing_kelvin"], daily, 1)
    own = float(np.clip(at_none + slope * cell.yearly_swing_kelvin, *DAY_TO_DAY_LIMITS))
    ratio = float(np.median(table["yearly_spread_kelvin"] / daily))
    return Spread(own, float(np.median(table["day_to_day_memory"])), ratio * own)


def at_place(
    latitude_degrees: float,
    longitude_degrees: float,
    hours: float = HOURS_PER_YEAR,
    *,
    start: datetime | None = None,
    rain: str | None = None,
    wind: str | None = None,
    mean_celsius: float | None = None,
    noise_kelvin: float | None = None,
    seed: int | None = None,
) -> Ambient:
    """Return hourly air at a place, from the nearest land cell.

    T = mean - Y/2 cos(2 pi (day - coldest day)/365.25) - D/2 cos(2 pi (hour - 4)/24) + anomaly

    Parameters
    ----------
    latitude_degrees, longitude_degrees : float
        Place, north and east positive [degree].
    hours : float
        How long, 1 or more [h].
    start : datetime or None
        Time of hour 0, with its offset; 1 January, midnight by the sun, if None [-].
    rain : str or None
        Class: dry, usual, wet; after the climate if None [-].
    wind : str or None
        Class: sheltered, normal, windy; the wind of the cell if None [-].
    mean_celsius : float or None
        Mean of the year where it is known better, as on a mountain, -40 to 50 [degC].
    noise_kelvin : float or None
        Standard deviation of daily anomalies, measured elsewhere if None; used with a seed [K].
    seed : int or None
        Draws one year's offset and weather; None gives the mean year [-].

    Returns
    -------
    Ambient
        Hourly values with the assumptions made [-].

    Raises
    ------
    InvalidInput
        If a value or a class is not allowed.
    OutOfReach
        If there is no land nearby.

    Examples
    --------
    >>> year = at_place(48.2, 16.4)
    >>> bool(8.0 < year.temperature_celsius.mean() < 12.0)
    True
    """
    number_in("hours", hours, 1.0, 1e6, "h")
    if start is not None and start.utcoffset() is None:
        raise RefusedField("start", f"start is {start} without an offset; add one.")
    cell = nearest_land(latitude_degrees, longitude_degrees)
    mean = cell.settled_mean_celsius
    if mean_celsius is not None:
        mean = number_in("mean_celsius", mean_celsius, -40.0, 50.0, "C")
    rain_class = cell.rain if rain is None else one_of("rain", rain, RAIN_CLASSES)
    rain_per_hour = RAIN_MM_PER_YEAR[rain_class] / HOURS_PER_YEAR
    wind_speed = cell.wind_speed
    if wind is not None:
        wind_speed = WIND_M_PER_S[one_of("wind", wind, SHELTERS)]
    spread = spread_at(cell)
    if noise_kelvin is not None:
        number_in("noise_kelvin", noise_kelvin, 0.0, 15.0, "K")
        ratio = spread.year_to_year_kelvin / spread.day_to_day_kelvin
        spread = Spread(noise_kelvin, spread.memory, ratio * noise_kelvin)

    elapsed = np.arange(0.0, np.ceil(hours) + 1.0)
    path = sun_path(start, elapsed, latitude_degrees, longitude_degrees)
    season = -0.5 * np.cos(2.0 * np.pi * (path.day_of_year - cell.coldest_day) / 365.25)
    day_mean = mean + cell.yearly_swing_kelvin * season
    rain_rate = np.full_like(elapsed, rain_per_hour)
    humidity = _mean_humidity(mean, cell)
    if seed is not None:
        draws = np.random.default_rng(seed)
        day_mean = day_mean + _year_offsets(elapsed, spread.offset_kelvin, draws)
        day_mean = day_mean + _day_anomalies(elapsed, spread, draws)
        rain_rate = showers(elapsed, rain_per_hour, draws)
    swing = np.cos(2.0 * np.pi * (path.mean_solar_hour - COLDEST_HOUR) / 24.0)
    temperature = np.clip(day_mean - 0.5 * cell.daily_swing_kelvin * swing, -60.0, 60.0)
    return Ambient(
        start,
        elapsed,
        temperature,
        humidity_from_dew_point(temperature, _dew_point(np.clip(day_mean, -60.0, 60.0), humidity)),
        np.full_like(elapsed, wind_speed),
        rain_rate,
        path.above_the_air * _clearness(cell),
        _sentences(cell, mean, rain_class, rain, wind_speed, wind, humidity, spread, seed),
    )


def members(
    latitude_degrees: float,
    longitude_degrees: float,
    hours: float,
    count: int,
    seed: int,
    *,
    start: datetime | None = None,
    rain: str | None = None,
    wind: str | None = None,
    mean_celsius: float | None = None,
) -> tuple[Ambient, ...]:
    """Return several years that a place might have, each with its own offset and weather.

    Parameters
    ----------
    latitude_degrees, longitude_degrees : float
        Place, north and east positive [degree].
    hours : float
        How long, 1 or more [h].
    count : int
        How many, 1 to 10000 [-].
    seed : int
        Of all of them; the first members of a longer row are those of a shorter [-].
    start, rain, wind, mean_celsius
        As `at_place`.

    Returns
    -------
    tuple of Ambient
        `count` of them [-].

    Examples
    --------
    >>> len(members(48.2, 16.4, 24.0, 3, seed=1))
    3
    """
    number_in("count", count, 1, 10_000)
    return tuple(
        at_place(
            latitude_degrees,
            longitude_degrees,
            hours,
            start=start,
            rain=rain,
            wind=wind,
            mean_celsius=mean_celsius,
            seed=int(np.random.SeedSequence([seed, one]).generate_state(1)[0]),
        )
        for one in range(count)
    )


def _year_offsets(elapsed: FloatArray, spread: float, draws: np.random.Generator) -> FloatArray:
    """Return one offset a year, linear between the middles of the years."""
    years = int(elapsed[-1] // HOURS_PER_YEAR) + 2
    middles = HOURS_PER_YEAR * (np.arange(years) + draws.random())
    return np.asarray(np.interp(elapsed, middles, spread * draws.normal(0.0, 1.0, years)))


# Means of days over values at their noons with straight lines between
DAY_WEIGHTS = np.array([0.125, 0.75, 0.125])


def _day_anomalies(elapsed: FloatArray, spread: Spread, draws: np.random.Generator) -> FloatArray:
    """Return first-order autoregressive anomalies whose daily means have the spread wanted."""
    low, high = 0.0, 0.999
    for _ in range(40):
        memory = 0.5 * (low + high)
        here, next_day = _of_daily_means(memory)
        low, high = (memory, high) if next_day / here < spread.memory else (low, memory)
    days = int(elapsed[-1] // 24) + 3
    shocks = np.sqrt(1.0 - memory**2) * draws.normal(0.0, 1.0, days)
    values = np.empty(days)
    values[0] = shocks[0] / np.sqrt(1.0 - memory**2)
    for day in range(1, days):
        values[day] = memory * values[day - 1] + shocks[day]
    values *= spread.day_to_day_kelvin / np.sqrt(here)
    return np.asarray(np.interp(elapsed, 24.0 * np.arange(days) - 12.0, values))


def _of_daily_means(memory: float) -> tuple[float, float]:
    """Return the variance of daily means, and their covariance with the next, for noons of one."""
    step = np.subtract.outer(np.arange(3), np.arange(3))
    both = np.outer(DAY_WEIGHTS, DAY_WEIGHTS)
    return (
        float(np.sum(both * memory ** np.abs(step))),
        float(np.sum(both * memory ** np.abs(step + 1))),
    )


@lru_cache(maxsize=64)
def _above_the_air(latitude_degrees: float) -> float:
    """Return the mean of a year on a level above the air, nights included [W/m^2]."""
    path = sun_path(None, np.arange(0.0, HOURS_PER_YEAR, 0.5), latitude_degrees)
    return float(path.above_the_air.mean())


def _clearness(cell: LandCell) -> float:
    return min(cell.irradiance / _above_the_air(cell.latitude_degrees), 0.85)


def _mean_humidity(mean_celsius: float, cell: LandCell) -> float:
    """Return the relative humidity at which the year's air holds the water of the cell."""
    season = 0.5 * cell.yearly_swing_kelvin * np.cos(2.0 * np.pi * np.arange(0.5, 12.0) / 12.0)
    full = np.asarray(saturation_pressure(np.clip(mean_celsius + season, -60.0, 60.0)))
    saturated = 0.622 * full / (STANDARD_PRESSURE - 0.378 * full)
    return float(np.clip(cell.specific_humidity / saturated.mean(), 0.05, MOST_HUMID))


def _dew_point(temperature_celsius: FloatArray, humidity: float) -> FloatArray:
    """Return the temperature at which air of this humidity is full."""
    scale = np.linspace(-100.0, 60.0, 1601)
    full = np.asarray(saturation_pressure(scale))
    wanted = humidity * np.asarray(saturation_pressure(temperature_celsius))
    return np.asarray(np.interp(np.log(wanted), np.log(full), scale))


def _sentences(
    cell: LandCell,
    mean: float,
    rain_class: str,
    rain: str | None,
    wind_speed: float,
    wind: str | None,
    humidity: float,
    spread: Spread,
    seed: int | None,
) -> tuple[str, ...]:
    north = f"{abs(cell.latitude_degrees):g} {'north' if cell.latitude_degrees >= 0 else 'south'}"
    east = f"{abs(cell.longitude_degrees):g} {'east' if cell.longitude_degrees >= 0 else 'west'}"
    why = ", as stated"
    if mean == cell.settled_mean_celsius:
        why = f", above the cell's {cell.mean_celsius:.1f}, as people live in the lower parts"
    lines = [
        f"Weather is that of the land cell at {north}, {east} ({cell.distance_km:.0f} km away, "
        f"climate {cell.climate}), means of 2010 to 2018. The year's mean of the cells around is "
        f"{cell.coldest_mean_nearby:.1f} to {cell.warmest_mean_nearby:.1f} C: "
        "valleys, hills and coasts differ.",
        f"The year's mean is taken as {mean:.1f} C{why}; {cell.yearly_swing_kelvin:.0f} K "
        f"from winter to summer and {cell.daily_swing_kelvin:.0f} K a day are reconstructed, good "
        f"to about {YEARLY_SWING_ERROR_KELVIN:g} K.",
        f"Day {cell.coldest_day:.0f} of the year is the coldest, by the climate.",
        f"Relative humidity is {humidity:.0%} on the mean of every day.",
        f"Sun is {_clearness(cell):.0%} of that above the air at every hour of the year.",
    ]
    by = f"by climate {cell.climate}" if rain is None else "as stated"
    lines.append(f"Rain is {RAIN_MM_PER_YEAR[rain_class]:g} mm a year ({rain_class}, {by}).")
    if wind is None:
        lines.append(f"Wind is always {wind_speed:.1f} m/s, the mean 2 m above open ground.")
    else:
        lines.append(f"Wind is {wind_speed:g} m/s ({wind}).")
    if seed is None:
        lines.append(
            "It is a mean year: single days stray by "
            f"{spread.day_to_day_kelvin:.1f} K and years by {spread.year_to_year_kelvin:.1f} K "
            "(standard deviations, measured at other places)."
        )
    else:
        lines.append(
            f"Days are drawn with a spread of {spread.day_to_day_kelvin:.1f} K and years with "
            f"{spread.year_to_year_kelvin:.1f} K (standard deviations, measured at other places)."
        )
    return tuple(lines)
