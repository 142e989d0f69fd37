"""The usual weather of a site around a time: the mean year, how far days stray, what was measured.

`ahead` draws the weather of each run from it.
"""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.errors import OutOfReach
from slowfire.refusals import RefusedField, number_in
from slowfire.site import Site, WeatherSetting
from slowfire.tables_text import read_table
from slowfire.weather import UNSAID, read_typical_year, site_weather
from slowfire.weather.ambient import ANOMALY_MEMORY, DEFAULT_LATITUDE_DEGREES, Ambient
from slowfire.weather.files import COLUMNS, read_weather
from slowfire.weather.grid import Spread, at_place, nearest_land, spread_at
from slowfire.weather.towns import town_named
from slowfire.weather.typical import DAYS_BEFORE_MONTH, TypicalYear

# Standard deviations of the place's own mean about what is taken, our own assumptions; that of
# the grid lies between 0.9 K in large towns and 2.1 K in hills (tests/reference).
GRID_PLACE_KELVIN = 1.5
STATED_PLACE_KELVIN = 1.0
FILE_PLACE_KELVIN = 0.7
UNSAID_PLACE_KELVIN = 4.0
LOOK_BACK_HOURS = 24 * 60  # of measured weather, from which the place's own mean is learnt
FORGOTTEN_HOURS = 24.0 * 30.0  # measured weather that ended before this says nothing any more
MEMORY_LIMITS = (0.3, 0.9)
ANY_LAND = (48.25, 16.25)
# Columns of a weather file by the quantity of `Ambient` they give.
GIVES = {
    "temperature_celsius": "temperature_celsius",
    "temperature_fahrenheit": "temperature_celsius",
    "relative_humidity_percent": "relative_humidity",
    "wind_m_per_s": "wind_speed",
    "rain_mm": "rain_rate",
    "irradiance_w_per_m2": "irradiance",
}


@dataclass(frozen=True, eq=False)
class UsualWeather:
    """What is known of the weather of a site before any run draws its own.

    Attributes
    ----------
    normal : Ambient
        The mean year by the hour, from `before_hours` before the start on [-].
    before_hours : int
        How many hours of `normal` lie before the start, for what was measured there [h].
    latitude_degrees, longitude_degrees : float
        Place of the sun [degree].
    spread : Spread
        How far days and years stray from the mean year [-].
    place_kelvin : float
        Standard deviation of the place's own mean about that taken [K].
    drawn : bool
        False where the air is stated to be constant: every run then has the same [-].
    measured : Ambient or None
        The site's own weather table [-].
    measured_names : frozenset of str
        Quantities of `Ambient` that the table holds; the rest of it is assumed [-].
    """

    normal: Ambient
    before_hours: int
    latitude_degrees: float
    longitude_degrees: float
    spread: Spread
    place_kelvin: float
    drawn: bool = True
    measured: Ambient | None = None
    measured_names: frozenset[str] = frozenset()


def usual_weather(
    site: Site,
    start: datetime,
    hours: float,
    now: datetime,
    weather_file: Path | None = None,
) -> UsualWeather:
    """Return the usual weather of a site from a start on.

    Parameters
    ----------
    site : Site
        The place and what it says of its weather [-].
    start : datetime
        Time of hour 0, with its offset [-].
    hours : float
        How long, 1 to 90000 [h].
    now : datetime
        The present, with its offset; nothing after it counts as measured [-].
    weather_file : Path or None
        The site's weather file: hours that were measured, or an EPW or TMY3 year, which is then
        what is usual [-].

    Returns
    -------
    UsualWeather
        With the sentences of what was assumed in `normal` [-].

    Raises
    ------
    InvalidInput
        If a time has no offset or a value is out of range.
    JournalError
        If the file cannot be read.
    UnknownName
        If the town is not known, or is several.
    OutOfReach
        If the grid is asked for and has no land nearby.
    """
    for name, when in (("start", start), ("now", now)):
        if when.utcoffset() is None:
            raise RefusedField(name, f"{name} is {when} without an offset; add one.")
    number_in("hours", hours, 1.0, 90_000.0, "h")
    latitude, longitude = site_coordinates(site, start)
    typical = None if weather_file is None else read_typical_year(weather_file)
    measured: Ambient | None = None
    names: frozenset[str] = frozenset()
    if weather_file is not None and typical is None:
        setting = site.weather or WeatherSetting("grid")
        measured = read_weather(
            weather_file,
            site.zone,
            latitude_degrees=latitude,
            rain=setting.rain,
            wind=setting.wind,
        )
        names = measured_quantities(weather_file)
    before = 0 if measured is None else _hours_needed_before(measured, start, now)
    first = start - timedelta(hours=before)
    length = before + float(np.ceil(hours))
    if typical is not None:
        setting = site.weather or UNSAID
        mean_year, spread = mean_of_typical_year(typical)
        normal = mean_year.ambient(first, length, rain=setting.rain, wind=setting.wind)
        return UsualWeather(
            normal, before, typical.latitude_degrees, typical.longitude_degrees, spread,
            FILE_PLACE_KELVIN,
        )  # fmt: skip
    taken, spread, place_kelvin = _setting_of(site, measured is not None)
    normal = site_weather(replace(site, weather=taken), first, length)
    if place_kelvin == UNSAID_PLACE_KELVIN and taken is not None:
        said = "The site does not say where it is: a mild inland year stands around what was "
        normal = replace(normal, assumptions=(f"{said}measured.", *normal.assumptions))
    return UsualWeather(
        normal,
        before,
        latitude,
        longitude,
        spread,
        place_kelvin,
        taken is None or taken.kind != "constant",
        measured,
        names,
    )


def usual_at_place(
    latitude_degrees: float,
    longitude_degrees: float,
    start: datetime,
    hours: float,
    *,
    rain: str | None = None,
    wind: str | None = None,
) -> UsualWeather:
    """Return the usual weather of a place by the shipped world grid.

    Parameters
    ----------
    latitude_degrees, longitude_degrees : float
        Place, north and east positive [degree].
    start : datetime
        Time of hour 0, with its offset [-].
    hours : float
        How long, 1 or more [h].
    rain, wind : str or None
        Classes, in place of what the grid has [-].

    Returns
    -------
    UsualWeather
        Nothing of it measured [-].

    Raises
    ------
    InvalidInput
        If a value or a class is not allowed.
    OutOfReach
        If there is no land nearby.
    """
    normal = at_place(latitude_degrees, longitude_degrees, hours, start=start, rain=rain, wind=wind)
    spread = spread_at(nearest_land(latitude_degrees, longitude_degrees))
    return UsualWeather(normal, 0, latitude_degrees, longitude_degrees, spread, GRID_PLACE_KELVIN)


def site_coordinates(site: Site, start: datetime) -> tuple[float, float]:
    """Return latitude and longitude of a site, guessed from its clock where it does not say.

    Parameters
    ----------
    site : Site
        The place [-].
    start : datetime
        When, for the clock of the place [-].

    Returns
    -------
    tuple of float
        North and east positive; 48 degrees north, and noon by the site's clock, for what is not
        said [degree].
    """
    if site.weather is not None and site.weather.town is not None:
        town = town_named(site.weather.town)
        return town.latitude_degrees, town.longitude_degrees
    latitude = site.latitude_degrees
    latitude = DEFAULT_LATITUDE_DEGREES if latitude is None else latitude
    if site.longitude_degrees is not None:
        return latitude, site.longitude_degrees
    offset = start.astimezone(site.zone).utcoffset() or timedelta()
    return latitude, 15.0 * offset.total_seconds() / 3600.0


def measured_quantities(path: Path) -> frozenset[str]:
    """Return which quantities of `Ambient` a weather file holds in any of its rows.

    Parameters
    ----------
    path : Path
        A CSV file with the columns of a weather.csv [-].

    Raises
    ------
    JournalError
        If it cannot be read.
    """
    table = read_table(path, COLUMNS, ("when",))
    return frozenset(
        GIVES[column]
        for column in table.columns
        if column in GIVES and any(row.cells[column] for row in table.rows)
    )


def mean_of_typical_year(year: TypicalYear) -> tuple[TypicalYear, Spread]:
    """Return the mean year behind the one year of a file, and how far its days stray from it.

    Parameters
    ----------
    year : TypicalYear
        One year by the hour, with the weather of its own days [-].

    Returns
    -------
    tuple of (TypicalYear, Spread)
        Each hour of the day follows two harmonics over the year, fitted to the file; the spread
        of days about them is the file's, that of years in proportion as at the places of
        `weather_spread.csv` [-].
    """
    values = {name: _two_harmonics(one) for name, one in year.values.items()}
    residual = year.values["temperature_celsius"] - values["temperature_celsius"]
    days = residual.reshape(-1, 24).mean(axis=1)
    daily = float(days.std())
    memory = float(np.mean(days[1:] * days[:-1])) / max(daily**2, 1e-9)
    for name in values:
        low, high = float(year.values[name].min()), float(year.values[name].max())
        values[name] = np.clip(values[name], low, high)
    notes = (*year.notes, "Each run has its own days about the mean of that year.")
    spread = Spread(daily, float(np.clip(memory, *MEMORY_LIMITS)), _yearly_ratio() * daily)
    return replace(year, values=values, notes=notes), spread


def _two_harmonics(values: FloatArray) -> FloatArray:
    """Return the mean year of each hour of the day, fitted by two sines over the year."""
    days = values.reshape(-1, 24)
    angle = 2.0 * np.pi * np.arange(days.shape[0]) / float(DAYS_BEFORE_MONTH[-1])
    shape = np.column_stack(
        [np.ones_like(angle)] + [f(n * angle) for n in (1, 2) for f in (np.cos, np.sin)]
    )
    fitted = shape @ np.linalg.lstsq(shape, days, rcond=None)[0]
    return np.asarray(fitted.reshape(-1))


def _hours_needed_before(measured: Ambient, start: datetime, now: datetime) -> int:
    """Return how far before the start measured weather has something to say."""
    if measured.start is None:
        return 0
    begin = measured.start
    end = min(begin + timedelta(hours=float(measured.hours[-1])), now)
    if end < begin or (start - end).total_seconds() / 3600.0 > FORGOTTEN_HOURS:
        return 0
    wanted = max(begin, end - timedelta(hours=LOOK_BACK_HOURS))
    return max(int((start - wanted).total_seconds() // 3600.0), 0)


def _setting_of(site: Site, has_table: bool) -> tuple[WeatherSetting | None, Spread, float]:
    """Return the mean year to take, how far days stray from it, and how far it may be off."""
    setting = site.weather
    located = None not in (site.latitude_degrees, site.longitude_degrees)
    if setting is None or (has_table and setting.kind == "file"):
        rain, wind = (None, None) if setting is None else (setting.rain, setting.wind)
        try:
            if not located:
                raise OutOfReach("The site does not say where it is.")
            cell = nearest_land(site.latitude_degrees or 0.0, site.longitude_degrees or 0.0)
        except OutOfReach:
            swing = UNSAID.yearly_swing_kelvin
            unsaid = None if setting is None else replace(UNSAID, rain=rain, wind=wind)
            return unsaid, _spread_of_swing(swing), UNSAID_PLACE_KELVIN
        return WeatherSetting("grid", rain=rain, wind=wind), spread_at(cell), GRID_PLACE_KELVIN
    still = replace(setting, noise_kelvin=0.0, seed=0, forecast_url=None)
    if setting.kind == "constant":
        return still, Spread(0.0, ANOMALY_MEMORY, 0.0), 0.0
    if setting.kind == "grid":
        latitude, longitude = (site.latitude_degrees or 0.0, site.longitude_degrees or 0.0)
        if setting.town is not None:
            town = town_named(setting.town)
            latitude, longitude = town.latitude_degrees, town.longitude_degrees
        spread = spread_at(nearest_land(latitude, longitude))
        stated = setting.mean_celsius is not None
        place_kelvin = STATED_PLACE_KELVIN if stated else GRID_PLACE_KELVIN
    else:
        spread = _spread_of_swing(setting.yearly_swing_kelvin)
        place_kelvin = STATED_PLACE_KELVIN
    if setting.noise_kelvin > 0.0:
        noise = setting.noise_kelvin
        spread = Spread(noise, spread.memory, _yearly_ratio() * noise)
    return still, spread, place_kelvin


def _spread_of_swing(yearly_swing_kelvin: float) -> Spread:
    """Return the spread of days that goes with a swing from winter to summer."""
    # only the swing of a cell counts there
    return spread_at(replace(nearest_land(*ANY_LAND), yearly_swing_kelvin=yearly_swing_kelvin))


def _yearly_ratio() -> float:
    """Return the spread of years over that of days, the same for all places."""
    anywhere = spread_at(nearest_land(*ANY_LAND))
    return anywhere.year_to_year_kelvin / anywhere.day_to_day_kelvin
