"""The weather around a bin: of the place, assumed by the season, or measured and kept in a file."""

from dataclasses import replace
from datetime import datetime
from pathlib import Path

from slowfire.arrays import FloatArray
from slowfire.errors import OutOfReach, UnknownName
from slowfire.site import Site, WeatherSetting
from slowfire.weather.ambient import (
    DEFAULT_LATITUDE_DEGREES,
    Ambient,
    constant,
    from_setting,
    seasonal,
)
from slowfire.weather.epw import read_epw
from slowfire.weather.files import read_weather, write_weather
from slowfire.weather.grid import at_place, members
from slowfire.weather.sunlight import sun_on_walls
from slowfire.weather.tmy3 import DATE as TMY3_HEADING
from slowfire.weather.tmy3 import read_tmy3
from slowfire.weather.towns import town_named
from slowfire.weather.typical import TypicalYear

__all__ = [
    "Ambient",
    "constant",
    "members",
    "read_typical_year",
    "read_weather",
    "seasonal",
    "site_sun_on_walls",
    "site_weather",
    "write_weather",
]

# Taken when a site says nothing of where it is: our assumption, a mild inland year, and reported.
UNSAID = WeatherSetting("seasonal", 10.0, 19.0, 8.0)


def site_weather(
    site: Site, start: datetime, hours: float, weather_file: Path | None = None
) -> Ambient:
    """Return the weather of a site from a start on.

    Parameters
    ----------
    site : Site
        The place; without a weather setting that of the world grid at its coordinates, and without
        those a mild inland year is assumed [-].
    start : datetime
        Time of hour 0, with its offset [-].
    hours : float
        How long, 1 or more; a CSV file gives what it covers instead [h].
    weather_file : Path or None
        Weather in a file (CSV, EPW or TMY3), which goes before any setting [-].

    Returns
    -------
    Ambient
        With what was assumed; a CSV file keeps its own start [-].

    Raises
    ------
    InvalidInput
        If a value is out of range.
    JournalError
        If the file cannot be read.
    UnknownName
        If the town is not known, or is several.
    OutOfReach
        If the grid is asked for and has no land nearby.
    """
    setting = site.weather or UNSAID
    if weather_file is not None:
        typical = read_typical_year(weather_file)
        if typical is not None:
            return typical.ambient(start, hours, rain=setting.rain, wind=setting.wind)
        latitude = site.latitude_degrees
        known = {} if latitude is None else {"latitude_degrees": latitude}
        return read_weather(weather_file, site.zone, rain=setting.rain, wind=setting.wind, **known)
    if setting.kind == "grid":
        latitude, longitude = _place(site, setting)
        return at_place(
            latitude,
            longitude,
            hours,
            start=start,
            rain=setting.rain,
            wind=setting.wind,
            mean_celsius=setting.mean_celsius,
            noise_kelvin=setting.noise_kelvin or None,
            seed=setting.seed or None,
        )
    why = ""
    if site.weather is None:
        why = "The site says neither weather nor latitude and longitude"
        if site.latitude_degrees is not None and site.longitude_degrees is not None:
            try:
                return at_place(site.latitude_degrees, site.longitude_degrees, hours, start=start)
            except OutOfReach as problem:
                why = f"The site says no weather, and {str(problem).split(' (')[0]}"
    made = from_setting(setting, hours, start.astimezone(site.zone), site.latitude_degrees)
    if why:
        made = replace(
            made, assumptions=(f"{why}: a mild inland year is assumed.", *made.assumptions)
        )
    return made


def site_sun_on_walls(site: Site, ambient: Ambient, start: datetime) -> FloatArray:
    """Return the mean irradiance on the walls of a bin in the open, at the hours of some weather.

    Parameters
    ----------
    site : Site
        The place; 48 degrees north, and noon by its clock, where it does not say [-].
    ambient : Ambient
        Weather [-].
    start : datetime
        Time of hour 0 where the weather has none, with its offset [-].

    Returns
    -------
    ndarray, shape (times,)
        Irradiance on walls that face all ways alike [W/m^2].
    """
    dated = ambient if ambient.start is not None else replace(ambient, start=start)
    setting = site.weather or UNSAID
    if setting.town is None and (site.latitude_degrees is None or site.longitude_degrees is None):
        offset = start.astimezone(site.zone).utcoffset()
        longitude = 15.0 * offset.total_seconds() / 3600.0 if offset is not None else 0.0
        latitude = site.latitude_degrees
        latitude = DEFAULT_LATITUDE_DEGREES if latitude is None else latitude
    else:
        latitude, longitude = _place(site, setting)
    return sun_on_walls(dated, latitude, longitude)


def read_typical_year(path: Path) -> TypicalYear | None:
    """Return the year of an EPW or TMY3 file, known by its first lines; None for any other file.

    Parameters
    ----------
    path : Path
        The file, whatever its name [-].

    Raises
    ------
    JournalError
        If it is an EPW or TMY3 file that cannot be used.
    """
    try:
        with path.open("rb") as stream:
            head = stream.read(4096).decode("latin-1")
    except OSError:
        # the reader of plain files says what is wrong
        return None
    if head.removeprefix("\xef\xbb\xbf").upper().startswith("LOCATION,"):
        return read_epw(path)
    if TMY3_HEADING in "".join(head.splitlines(keepends=True)[1:2]):
        return read_tmy3(path)
    return None


def _place(site: Site, setting: WeatherSetting) -> tuple[float, float]:
    """Latitude and longitude of the town named, or of the site."""
    if setting.town is not None:
        try:
            town = town_named(setting.town)
        except UnknownName as problem:
            raise UnknownName(f"site.toml, weather.town: {problem}") from problem
        return town.latitude_degrees, town.longitude_degrees
    return site.latitude_degrees or 0.0, site.longitude_degrees or 0.0
