"""The weather of the next fourteen days, as the runs of a forecast draw it."""

import os
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from pathlib import Path

import numpy as np

from slowfire.errors import InvalidInput
from slowfire.journal import Journal, read_journal
from slowfire.site import Site
from slowfire.weather.ahead import WeatherAhead, draw_members
from slowfire.weather.forecast import ForecastAnswer, forecast_for
from slowfire.weather.towns import town_named
from slowfire.weather.usual import UsualWeather, site_coordinates, usual_at_place, usual_weather

DAYS_AHEAD = 14
MEMBERS = 400
SEED = 1
BAND_PERCENT = (5.0, 50.0, 95.0)
WET_DAY_MM = 1.0  # a day with less counts as dry, common practice, no source


@dataclass(frozen=True)
class DayAhead:
    """A day as shown: `usual` of the mean year; low, middle and high of the runs' daily means.

    `coldest` is the 5th percentile of the lowest hour, `warmest` the 95th of the highest.
    """

    date: str
    usual_celsius: float
    low_celsius: float
    middle_celsius: float
    high_celsius: float
    coldest_celsius: float
    warmest_celsius: float
    rain_mm: float
    rain_chance_percent: float


@dataclass(frozen=True)
class WeatherAheadResult:
    """The days ahead, shared by text and JSON; forecast and measured are null without them."""

    place: str
    now: str
    days: tuple[DayAhead, ...]
    runs: int
    measured_until: str | None
    forecast_host: str | None
    forecast_until: str | None
    forecast_age_hours: float | None
    fetched_now: bool
    assumptions: tuple[str, ...]


def weather_ahead(
    journal: str | Path | None = None,
    town: str | None = None,
    latitude_degrees: float | None = None,
    longitude_degrees: float | None = None,
    *,
    rain: str | None = None,
    wind: str | None = None,
    ask_now: bool = False,
    now: datetime | None = None,
    cache_folder: Path | None = None,
) -> WeatherAheadResult:
    """Say what the weather of the next fourteen days may be at a journal's site or a place.

    Parameters
    ----------
    journal : str, Path or None
        Folder of a journal; or a place [-].
    town : str or None
        A larger town [-].
    latitude_degrees, longitude_degrees : float or None
        Place, north and east positive [degree].
    rain, wind : str or None
        Classes, in place of what the grid has; with a journal its site says them [-].
    ask_now : bool
        Fetch the forecast anew; the site must name one [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].
    cache_folder : Path or None
        Where forecasts are kept; the user's own cache folder if None [-].

    Returns
    -------
    WeatherAheadResult

    Raises
    ------
    SlowfireError
        If the journal, the place or anything asked for cannot be used; the message says why.
    """
    now = datetime.now(UTC) if now is None else now
    if journal is not None:
        if town is not None or latitude_degrees is not None or longitude_degrees is not None:
            raise InvalidInput("A journal has its own place; leave out town, latitude, longitude.")
        if rain is not None or wind is not None:
            raise InvalidInput("A journal's site says rain and wind; write them under [weather].")
        return _of_journal(read_journal(journal), now, ask_now, cache_folder)
    if ask_now:
        raise InvalidInput(
            "A forecast is fetched for a journal whose site.toml names one: give --journal."
        )
    if town is not None:
        if latitude_degrees is not None or longitude_degrees is not None:
            raise InvalidInput("Give a town, or latitude and longitude, not both.")
        found = town_named(town)
        name = found.full_name
        latitude_degrees, longitude_degrees = found.latitude_degrees, found.longitude_degrees
    elif latitude_degrees is None or longitude_degrees is None:
        raise InvalidInput(
            "Say where: a journal, a town, or latitude and longitude (degrees, north and east "
            "positive)."
        )
    else:
        name = f"{latitude_degrees:g}, {longitude_degrees:g}"
    clock = timezone(timedelta(hours=round(longitude_degrees / 15.0)))
    start, hours = _span(now, clock)
    usual = usual_at_place(latitude_degrees, longitude_degrees, start, hours, rain=rain, wind=wind)
    return _result(name, usual, now, clock, None)


def site_forecast(
    site: Site, now: datetime, cache_folder: Path | None = None, *, ask_now: bool = False
) -> ForecastAnswer | None:
    """Return the forecast for a site that names one, kept or fetched; None where it names none.

    Parameters
    ----------
    site : Site
        The place [-].
    now : datetime
        The present, with its offset [-].
    cache_folder : Path or None
        Where forecasts are kept; the user's own cache folder if None [-].
    ask_now : bool
        Ask the service even if a young forecast is kept [-].

    Returns
    -------
    ForecastAnswer or None
        Never an error for what the network does; the answer says it [-].
    """
    if site.weather is None or site.weather.forecast_url is None:
        return None
    folder = default_cache_folder() if cache_folder is None else cache_folder
    latitude, longitude = site_coordinates(site, now)
    return forecast_for(
        site.weather.forecast_url, latitude, longitude, now, folder, ask_now=ask_now
    )


def default_cache_folder() -> Path:
    """Return the folder of this user in which fetched forecasts are kept.

    Returns
    -------
    Path
        `slowfire/forecasts` below XDG_CACHE_HOME, or below `.cache` in the home folder [-].
    """
    home = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(home) / "slowfire" / "forecasts"


def _of_journal(
    journal: Journal, now: datetime, ask_now: bool, cache_folder: Path | None
) -> WeatherAheadResult:
    site = journal.site
    answer = site_forecast(site, now, cache_folder, ask_now=ask_now)
    if ask_now and answer is None:
        raise InvalidInput(
            f"The site of {site.name} names no forecast; write forecast_url = "
            '"https://example.org/point?lat={latitude}&lon={longitude}" under [weather] of its '
            "site.toml, with the address of a service you chose."
        )
    start, hours = _span(now, site.zone)
    usual = usual_weather(site, start, hours, now, journal.weather_file)
    return _result(site.name, usual, now, site.zone, answer)


def _span(now: datetime, clock: tzinfo) -> tuple[datetime, float]:
    """Return the midnight before the present, and the hours of whole days from there on."""
    today = now.astimezone(clock).date()
    first, last = (
        datetime.combine(one, time(0), tzinfo=clock).astimezone(UTC)
        for one in (today, today + timedelta(days=DAYS_AHEAD))
    )
    return first, (last - first).total_seconds() / 3600.0


def _result(
    place: str,
    usual: UsualWeather,
    now: datetime,
    clock: tzinfo,
    answer: ForecastAnswer | None,
) -> WeatherAheadResult:
    forecast = None if answer is None else answer.forecast
    drawn = draw_members(usual, MEMBERS, SEED, now, forecast)
    said = () if answer is None else answer.assumptions
    followed = forecast is not None and drawn.foretold_until is not None
    return WeatherAheadResult(
        place=place,
        now=now.astimezone(clock).isoformat(timespec="minutes"),
        days=_days(drawn, clock),
        runs=MEMBERS,
        measured_until=_time_text(drawn.measured_until, clock),
        forecast_host=forecast.host if forecast is not None and followed else None,
        forecast_until=_time_text(drawn.foretold_until, clock),
        forecast_age_hours=answer.age_hours if answer is not None and followed else None,
        fetched_now=answer is not None and answer.fetched_now,
        assumptions=(*said, *drawn.assumptions),
    )


def _time_text(when: datetime | None, clock: tzinfo) -> str | None:
    return None if when is None else when.astimezone(clock).isoformat(timespec="minutes")


def _days(drawn: WeatherAhead, clock: tzinfo) -> tuple[DayAhead, ...]:
    """Percentiles by the day of the place's clock."""
    # the last hour begins the day after
    dates: list[date] = [
        (drawn.start + timedelta(hours=hour)).astimezone(clock).date()
        for hour in range(drawn.usual_celsius.size - 1)
    ]
    temperature, rain = drawn.tables[:, :, 0], drawn.tables[:, :, 3]
    rows = []
    for one in dict.fromkeys(dates):
        inside = np.flatnonzero(np.array([day == one for day in dates]))
        by_run = temperature[:, inside]
        low, middle, high = np.percentile(by_run.mean(axis=1), BAND_PERCENT)
        # rain belongs to the hour that ends, so each hour here ends in the next value
        fallen = rain[:, inside + 1].sum(axis=1)
        rows.append(
            DayAhead(
                date=one.isoformat(),
                usual_celsius=float(drawn.usual_celsius[inside].mean()),
                low_celsius=float(low),
                middle_celsius=float(middle),
                high_celsius=float(high),
                coldest_celsius=float(np.percentile(by_run.min(axis=1), BAND_PERCENT[0])),
                warmest_celsius=float(np.percentile(by_run.max(axis=1), BAND_PERCENT[2])),
                rain_mm=float(fallen.mean()),
                rain_chance_percent=100.0 * float(np.mean(fallen >= WET_DAY_MM)),
            )
        )
    return tuple(rows)
