"""The weather around a bin: assumed by the season, or measured and kept in a file."""

from datetime import datetime
from pathlib import Path

from slowfire.site import Site, WeatherSetting
from slowfire.weather.ambient import Ambient, constant, from_setting, seasonal
from slowfire.weather.files import read_weather, write_weather

__all__ = ["Ambient", "constant", "read_weather", "seasonal", "site_weather", "write_weather"]

# Taken when a site says nothing: our assumption, a mild inland year, and reported as one.
UNSAID = WeatherSetting("seasonal", 10.0, 19.0, 8.0)


def site_weather(
    site: Site, start: datetime, hours: float, weather_file: Path | None = None
) -> Ambient:
    """Return the weather of a site from a start on.

    Parameters
    ----------
    site : Site
        The place; without a weather setting a mild inland year is assumed [-].
    start : datetime
        Time of hour 0, with its offset [-].
    hours : float
        How long, 1 or more; a file gives what it covers instead [h].
    weather_file : Path or None
        The measured weather, which goes before any setting [-].

    Returns
    -------
    Ambient
        With what was assumed; measured weather keeps the start of its file [-].

    Raises
    ------
    InvalidInput
        If a value is out of range.
    JournalError
        If the file cannot be read.
    """
    setting = site.weather or UNSAID
    latitude = site.latitude_degrees
    if weather_file is not None:
        known = {} if latitude is None else {"latitude_degrees": latitude}
        return read_weather(weather_file, site.zone, rain=setting.rain, wind=setting.wind, **known)
    return from_setting(setting, hours, start.astimezone(site.zone), latitude)
