"""The weather of each run of a forecast: measured, foretold, and beyond that drawn.

Every run has weather of its own. Where the site's table was measured all runs have that; after it,
or along a fetched forecast, they spread until they differ as much as the days of the climate do.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from slowfire.arrays import FloatArray, FloatOrArray
from slowfire.refusals import RefusedField, number_in
from slowfire.weather.ambient import LIMITS, WET_DAY_SHARE, WET_HOURS, Ambient
from slowfire.weather.forecast import Forecast
from slowfire.weather.sunlight import sun_on_walls, sun_path
from slowfire.weather.usual import LOOK_BACK_HOURS, UsualWeather

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MOST_MEMBERS = 10_000
LARGEST_SEED = 2**31
BLOCK_DAYS = 64  # draws are made by blocks of days, the same whatever the start
# Error of a forecast: Lorenz's logistic growth. Both numbers are ours, set so that the error is
# 1.5 to 2 K a day ahead and the climate's spread after 10 to 14 days (from memory).
ERROR_AT_START = 0.275  # of the climate's spread
ERROR_GROWTH_PER_DAY = 0.35
LOCAL_ERROR_KELVIN = 1.2  # of a forecast for the district at one garden, our own
# Our own assumptions, no source: how days differ beside their temperature.
CLOUD_MEMORY, WIND_MEMORY = 0.35, 0.4  # from one day to the next
HUMIDITY_SPREAD = 0.08  # of relative humidity from day to day
WIND_SPREAD = 0.4  # of the logarithm of a day's wind
MOST_SUN_SPREAD = 0.75  # a day's sun lies within this share of its mean, evenly
CLEAREST = 0.78  # of the light above the air on a clear day
FAST_HOURS = 6.0  # in which a single hour's departure from its day is forgotten
JOINING_HOURS = 12.0  # in which measured weather passes over into a forecast
# Errors of an instrument in a garden, one for each run, our own.
THERMOMETER_KELVIN, HYGROMETER = 0.3, 0.03
WIND_GAUGE, RAIN_GAUGE, SUN_GAUGE = 0.1, 0.15, 0.05  # of the logarithm
FORETOLD_WIND, FORETOLD_RAIN = 0.2, 0.5  # of the logarithm, on days that follow the forecast


@dataclass(frozen=True, eq=False)
class WeatherAhead:
    """The weather of each run.

    Attributes
    ----------
    start : datetime
        Time of the first hour [-].
    tables : ndarray, shape (members, hours, 6)
        For each run what `column.simulate.Air` takes: temperature [degC], relative humidity [-],
        wind speed [m/s], rain [mm/h], irradiance on the level and on upright walls [W/m^2] [mixed].
    usual_celsius : ndarray, shape (hours,)
        Temperature of the mean year [degC].
    measured_until, foretold_until : datetime or None
        Last hour that was measured, and that a forecast reaches [-].
    assumptions : tuple of str
        What was assumed, one sentence each [-].
    """

    start: datetime
    tables: FloatArray
    usual_celsius: FloatArray
    measured_until: datetime | None
    foretold_until: datetime | None
    assumptions: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class _Draws:
    """Chance of each run: by the hour, by the day of the sun, and once for all."""

    anomaly: FloatArray  # members, hours; of standard deviation 1
    cloud: FloatArray  # members, days; normal, of standard deviation 1, as is wind
    wind: FloatArray
    rain: FloatArray  # members, days; of mean 1
    rain_error: FloatArray
    wind_error: FloatArray
    rain_hour: FloatArray
    choice: FloatArray  # members, days; even from 0 to 1
    once: FloatArray  # members, 7
    day: NDArray[np.int64]  # hours; column of the day
    noon: FloatArray  # hours; days since the noon of the first day


def draw_members(
    usual: UsualWeather,
    members: int,
    seed: int,
    now: datetime,
    forecast: Forecast | None = None,
) -> WeatherAhead:
    """Return the weather of each run, hour by hour.

    T = usual + offset + anomaly;  anomaly(t) = e^(-k (t - s)) anomaly(s) + chance

    Parameters
    ----------
    usual : UsualWeather
        The mean year of the site with its spread, and what was measured [-].
    members : int
        How many runs, 1 to 10000 [-].
    seed : int
        Of all of them, 0 to 2147483648; a run's weather depends on the seed, its number and the
        date alone: not on how many runs there are nor on where the time looked at begins [-].
    now : datetime
        The present, with its offset; rows of the site's own table after it count as a forecast
        made now [-].
    forecast : Forecast or None
        A fetched forecast, if there is one [-].

    Returns
    -------
    WeatherAhead
        From the start of `usual` to its end [-].

    Raises
    ------
    InvalidInput
        If a number is out of range or the present has no offset.

    Notes
    -----
    An anomaly forgets itself as daily means do at the places measured (`Spread.memory`). Where a
    day is known, its departure is carried on by a linear guess; a run's own draw is shifted by the
    same guess of its own departure, which leaves just the error of the guess (conditioning by
    kriging, exact for a Gaussian process). Along a forecast the error g grows by Lorenz's law
    from 0.28 of the climate's spread, and the forecast's departure from the usual counts by
    (1 - (g/spread)^2)^(1/2); days of rain, sun, wind and humidity follow it with that chance and
    are drawn otherwise. Rain falls on the cloudiest 35 % of days.

    References
    ----------
    lorenz1982
    """
    number_in("members", members, 1, MOST_MEMBERS)
    number_in("seed", seed, 0, LARGEST_SEED)
    if now.utcoffset() is None:
        raise RefusedField("now", f"now is {now} without an offset; add one.")
    normal = usual.normal
    if normal.start is None:
        raise RefusedField("usual", "the usual weather has no start; give it one.")
    # hours since 1970, so that chance belongs to dates
    at = (normal.start - EPOCH).total_seconds() / 3600.0 + normal.hours
    now_at = (now - EPOCH).total_seconds() / 3600.0
    said = list(normal.assumptions)
    kept = usual.before_hours
    start = normal.start + timedelta(hours=kept)
    if not usual.drawn:
        walls = sun_on_walls(normal, usual.latitude_degrees, usual.longitude_degrees)
        table = np.column_stack([*(getattr(normal, name) for name in LIMITS), walls])[kept:]
        tables = np.repeat(table[None], members, axis=0)
        said.append("Every run has the same air, as it is stated to be constant.")
        return WeatherAhead(start, tables, table[:, 0], None, None, tuple(said))
    known = _measured_part(usual, at, now_at)
    if forecast is None:
        forecast = _rows_ahead(usual, now)
    foretold = None if forecast is None else _foretold_part(forecast, at)
    draws = _draw(usual, at, members, seed)
    anomaly = _anomalies(usual, at, known, foretold, forecast, draws)
    columns = {
        "temperature_celsius": np.clip(normal.temperature_celsius + anomaly, -60.0, 60.0),
        **_drawn_columns(usual, at, draws),
    }
    if foretold is not None and forecast is not None:
        _follow(columns, forecast, foretold, at, draws)
    if known is not None and usual.measured is not None:
        _as_measured(columns, usual, known, draws)
    tables = np.empty((members, at.size - kept, 6))
    for place, name in enumerate(LIMITS):
        tables[:, :, place] = np.clip(columns[name], *LIMITS[name][:2])[:, kept:]
    for table in tables:
        lit = Ambient(start, normal.hours[kept:] - kept, *table[:, :5].T)
        table[:, 5] = sun_on_walls(lit, usual.latitude_degrees, usual.longitude_degrees)
    until = _time_at(at, known)
    reach = _time_at(at, foretold)
    said += _sentences(usual, until, reach, forecast)
    return WeatherAhead(start, tables, normal.temperature_celsius[kept:], until, reach, tuple(said))


def forecast_error(lead_hours: FloatOrArray) -> tuple[FloatOrArray, FloatOrArray]:
    """Return how much of a forecast counts, and its error, some time ahead.

    g/spread = 1/(1 + (1/e - 1) exp(-a t)),  w = (1 - (g/spread)^2)^(1/2)

    Parameters
    ----------
    lead_hours : float or ndarray, shape (hours,)
        Since the forecast was made; below 0 counts as 0 [h].

    Returns
    -------
    tuple of float or ndarray, shape (hours,)
        Weight of the forecast's departure from the usual, 0 to 1, and standard deviation of the
        error as a share of the climate's, 0 to 1 [-].

    Notes
    -----
    The quadratic hypothesis of Lorenz for the growth of errors; its start and rate are ours, so
    that with an error of 1.2 K of the place itself a forecast is 1.5 to 2 K off after a day and
    as good as the climate after 10 to 14 (from memory).

    References
    ----------
    lorenz1982

    Examples
    --------
    >>> weight, error = forecast_error(24.0)
    >>> bool(0.9 < weight < 1.0 and 0.3 < error < 0.4)
    True
    """
    days = np.maximum(np.asarray(lead_hours, dtype=np.float64), 0.0) / 24.0
    share = 1.0 / (1.0 + (1.0 / ERROR_AT_START - 1.0) * np.exp(-ERROR_GROWTH_PER_DAY * days))
    weight = np.sqrt(1.0 - share**2)
    if weight.ndim == 0:
        return float(weight), float(share)
    return weight, share


@lru_cache(maxsize=64)
def hourly_process(memory: float) -> tuple[float, float]:
    """Return the process of hourly anomalies whose daily means have a memory.

    memory = (1 - e^-k)^2/(2 (k - 1 + e^-k)),  share = 2 (k - 1 + e^-k)/k^2

    Parameters
    ----------
    memory : float
        Correlation of one day's mean with the next, 0.05 to 0.99 [-].

    Returns
    -------
    tuple of float
        Rate of forgetting [1/day], and variance of daily means over that of hours [-].

    Notes
    -----
    Exact for a continuous first-order process.

    Examples
    --------
    >>> rate, share = hourly_process(0.74)
    >>> round(rate, 2), round(share, 2)
    (0.47, 0.86)
    """
    number_in("memory", memory, 0.05, 0.99)
    low, high = 1e-4, 50.0
    for _ in range(80):
        rate = 0.5 * (low + high)
        lost = -np.expm1(-rate)
        found = lost**2 / (2.0 * (rate - lost))
        low, high = (rate, high) if found > memory else (low, rate)
    return float(rate), float(2.0 * (rate - lost) / rate**2)


def _draw(usual: UsualWeather, at: FloatArray, members: int, seed: int) -> _Draws:
    """Draw the chance of each run from the blocks of days that the time lies in."""
    solar = at / 24.0 + usual.longitude_degrees / 360.0
    days = np.floor(solar).astype(np.int64)
    # the day before and the day after hold the noons that the ends lie between
    begins, ends = int(days[0]) - 1, int(days[-1]) + 1
    hours = np.floor(at + 1e-9).astype(np.int64)
    # one block before is enough for a process to forget how it began
    first = min(begins, int(hours[0]) // 24) // BLOCK_DAYS - 1
    last = max(ends, int(hours[-1]) // 24) // BLOCK_DAYS
    blocks = range(first, last + 1)
    hourly = np.empty((members, len(blocks), 24 * BLOCK_DAYS))
    daily = np.empty((members, 7, len(blocks), BLOCK_DAYS))
    once = np.empty((members, 7))
    for member in range(members):
        once[member] = _generator(0, seed, member, 0).standard_normal(7)
        for place, block in enumerate(blocks):
            chance = _generator(1, seed, member, block)
            hourly[member, place] = chance.standard_normal(24 * BLOCK_DAYS)
            daily[member, :4, place] = chance.standard_normal((4, BLOCK_DAYS))
            daily[member, 4:6, place] = chance.random((2, BLOCK_DAYS))
            daily[member, 6, place] = chance.exponential(1.0, BLOCK_DAYS)
    begin = first * BLOCK_DAYS
    shocks = hourly.reshape(members, -1)[:, : hours[-1] - 24 * begin + 1]
    by_day = daily.reshape(members, 7, -1)
    rate, _ = hourly_process(usual.spread.memory)
    anomaly = _remembering(shocks, float(np.exp(-rate / 24.0)))
    seen = slice(begins - begin, ends - begin + 1)
    return _Draws(
        anomaly[:, hours - 24 * begin],
        _remembering(by_day[:, 0], CLOUD_MEMORY)[:, seen],
        _remembering(by_day[:, 1], WIND_MEMORY)[:, seen],
        by_day[:, 6, seen],
        by_day[:, 2, seen],
        by_day[:, 3, seen],
        np.floor(by_day[:, 4, seen] * (24 - WET_HOURS + 1)),
        by_day[:, 5, seen],
        once,
        days - begins,
        solar - float(begins) - 0.5,
    )


def _generator(kind: int, seed: int, member: int, block: int) -> np.random.Generator:
    return np.random.default_rng(np.random.SeedSequence([kind, seed, member, block]))


def _remembering(shocks: FloatArray, memory: float) -> FloatArray:
    """Return first-order autoregressive values of standard deviation 1 along the last axis."""
    values = np.empty_like(shocks)
    values[:, 0] = shocks[:, 0]
    fresh = np.sqrt(1.0 - memory**2) * shocks
    for place in range(1, shocks.shape[1]):
        values[:, place] = memory * values[:, place - 1] + fresh[:, place]
    return values


def _measured_part(usual: UsualWeather, at: FloatArray, now_at: float) -> slice | None:
    """Return the hours that the site's own table covers up to now."""
    measured = usual.measured
    if measured is None or measured.start is None:
        return None
    begin = (measured.start - EPOCH).total_seconds() / 3600.0
    end = min(begin + float(measured.hours[-1]), now_at)
    return _span(at, begin, end)


def _foretold_part(forecast: Forecast, at: FloatArray) -> slice | None:
    begin = (forecast.start - EPOCH).total_seconds() / 3600.0
    return _span(at, begin, (forecast.end - EPOCH).total_seconds() / 3600.0)


def _span(at: FloatArray, begin: float, end: float) -> slice | None:
    inside = np.flatnonzero((at >= begin - 1e-6) & (at <= end + 1e-6))
    return slice(int(inside[0]), int(inside[-1]) + 1) if inside.size else None


def _time_at(at: FloatArray, part: slice | None) -> datetime | None:
    return None if part is None else EPOCH + timedelta(hours=float(at[part][-1]))


def _rows_ahead(usual: UsualWeather, now: datetime) -> Forecast | None:
    """Return the rows of the site's own table that lie ahead, as a forecast made now."""
    measured = usual.measured
    if measured is None or measured.start is None:
        return None
    ahead = measured.hours > (now - measured.start).total_seconds() / 3600.0
    if np.count_nonzero(ahead) < 2:
        return None
    first = measured.start + timedelta(hours=float(measured.hours[ahead][0]))
    values = {name: getattr(measured, name)[ahead] for name in usual.measured_names}
    return Forecast("your weather table", now, first, values)


def _anomalies(
    usual: UsualWeather,
    at: FloatArray,
    known: slice | None,
    foretold: slice | None,
    forecast: Forecast | None,
    draws: _Draws,
) -> FloatArray:
    """Return each run's departure from the mean year: what all share, and its own."""
    normal = usual.normal.temperature_celsius
    rate, share = hourly_process(usual.spread.memory)
    spread = usual.spread.day_to_day_kelvin / np.sqrt(share)
    place_spread = float(np.hypot(usual.spread.offset_kelvin, usual.place_kelvin))
    offset = place_spread * draws.once[:, 0]
    was = np.empty(0)
    if known is not None and usual.measured is not None:
        was = _read_at(usual.measured, "temperature_celsius", usual, known) - normal[known]
        offset = _learnt_offset(offset, place_spread, was, known, spread, draws.anomaly, rate)
    shared = np.zeros(at.size)
    own = offset[:, None] + spread * draws.anomaly
    if foretold is not None and forecast is not None:
        weight, error = forecast_error(at[foretold] - _hours_of(forecast.issued))
        told = _told(forecast, "temperature_celsius", at[foretold]) - normal[foretold]
        off = weight * LOCAL_ERROR_KELVIN * draws.once[:, 1:2] + (1.0 - weight) * offset[:, None]
        shared, own = _joined(
            shared,
            own,
            foretold,
            weight * told,
            off + error * spread * draws.anomaly[:, foretold],
            rate / 24.0,
        )
    if known is not None and was.size:
        wrong = THERMOMETER_KELVIN * draws.once[:, 2:3] + np.zeros_like(was)
        fading = rate / 24.0 if foretold is None else 1.0 / JOINING_HOURS
        shared, own = _joined(shared, own, known, was, wrong, fading)
    return np.asarray(shared + own)


def _learnt_offset(
    offset: FloatArray,
    place_spread: float,
    was: FloatArray,
    known: slice,
    spread: float,
    anomaly: FloatArray,
    rate: float,
) -> FloatArray:
    """Return each run's own mean of the place, given the mean departure that was measured."""
    recent = slice(max(known.stop - LOOK_BACK_HOURS, known.start), known.stop)
    days = rate * max(recent.stop - recent.start, 1) / 24.0
    of_mean = spread**2 * 2.0 * (days - 1.0 + np.exp(-days)) / days**2
    gain = place_spread**2 / max(place_spread**2 + of_mean + THERMOMETER_KELVIN**2, 1e-12)
    mean = float(was[recent.start - known.start :].mean())
    drawn = spread * anomaly[:, recent].mean(axis=1)
    return np.asarray(offset + gain * (mean - offset - drawn))


def _joined(
    shared: FloatArray,
    own: FloatArray,
    part: slice,
    shared_there: FloatArray,
    own_there: FloatArray,
    fading: float,
) -> tuple[FloatArray, FloatArray]:
    """Put what is known into a part; around it the departure at its ends fades away.

    Of a day's mean departure as much lasts as it tells of its last hour, and fades at the rate per
    hour given; what the single hour departs more, in a few hours. What all share and what is each
    run's own fade alike, so that runs spread as far as such a guess is wrong.
    """
    shared_out, own_out = shared.copy(), own.copy()
    more = shared_there - shared[part]
    more_own = own_there - own[:, part]
    day = min(24, more.size)
    span = fading * day
    tells = -np.expm1(-span) * span / (2.0 * (span - 1.0 + np.exp(-span)))
    hours = np.arange(shared.size)
    for end, last_day, outside in (
        (-1, slice(-day, None), slice(part.stop, None)),
        (0, slice(0, day), slice(0, part.start)),
    ):
        away = np.abs(hours[outside] - (part.stop - 1 if end else part.start))
        slow, fast = tells * np.exp(-fading * away), np.exp(-away / FAST_HOURS)
        fast_of_day = slow - tells * fast
        shared_out[outside] += more[last_day].mean() * fast_of_day + more[end] * fast
        own_out[:, outside] += (
            more_own[:, last_day].mean(axis=1)[:, None] * fast_of_day
            + more_own[:, end, None] * fast
        )
    shared_out[part], own_out[:, part] = shared_there, own_there
    return shared_out, own_out


def _drawn_columns(usual: UsualWeather, at: FloatArray, draws: _Draws) -> dict[str, FloatArray]:
    """Return humidity, wind, rain and sun of days that differ; means are those of the year."""
    normal = usual.normal
    cloud, wind = _between_noons(draws.cloud, draws), _between_noons(draws.wind, draws)
    wet = (draws.cloud > _quantile_of_wet_days())[:, draws.day]
    since = (draws.noon + 0.5) % 1.0 * 24.0 - draws.rain_hour[:, draws.day]
    falling = wet & (since >= 0.0) & (since < WET_HOURS)
    amount = draws.rain[:, draws.day] * normal.rain_rate * 24.0 / WET_DAY_SHARE
    path = sun_path(normal.start, normal.hours, usual.latitude_degrees, usual.longitude_degrees)
    light, above = (
        np.bincount(draws.day, weights=one) for one in (normal.irradiance, path.above_the_air)
    )
    # a bright day can be no clearer than a clear sky, so where most are bright they differ less
    room = CLEAREST * above / np.maximum(light, 1e-9) - 1.0
    share = np.clip(room, 0.0, MOST_SUN_SPREAD)[draws.day]
    bright = 1.0 + share * (1.0 - 2.0 * ndtr(draws.cloud))[:, draws.day]
    return {
        "relative_humidity": np.clip(normal.relative_humidity + HUMIDITY_SPREAD * cloud, 0.05, 1.0),
        "wind_speed": normal.wind_speed * np.exp(WIND_SPREAD * wind - 0.5 * WIND_SPREAD**2),
        "rain_rate": np.where(falling, amount / WET_HOURS, 0.0),
        "irradiance": normal.irradiance * bright,
    }


def _quantile_of_wet_days() -> float:
    """Return the cloud, in standard deviations, above which it rains."""
    scale = np.linspace(-6.0, 6.0, 12_001)
    return float(np.interp(1.0 - WET_DAY_SHARE, ndtr(scale), scale))


def _between_noons(values: FloatArray, draws: _Draws) -> FloatArray:
    """Return values of days at their noons, with straight lines between."""
    place = np.clip(draws.noon, 0.0, values.shape[1] - 1.0)
    low = np.minimum(place.astype(np.int64), values.shape[1] - 2)
    return np.asarray(values[:, low] + (place - low) * (values[:, low + 1] - values[:, low]))


def _follow(
    columns: dict[str, FloatArray],
    forecast: Forecast,
    part: slice,
    at: FloatArray,
    draws: _Draws,
) -> None:
    """Let whole days follow the forecast, the likelier the sooner they come."""
    noons = at[part] - 24.0 * (draws.noon[part] - draws.day[part])
    weight, _ = forecast_error(noons - _hours_of(forecast.issued))
    follows = draws.choice[:, draws.day[part]] < weight
    day = draws.day[part]
    errors = {
        "wind_speed": _even_factor(FORETOLD_WIND, draws.wind_error[:, day]),
        "rain_rate": _even_factor(FORETOLD_RAIN, draws.rain_error[:, day]),
        "relative_humidity": np.ones(1),
        "irradiance": np.ones(1),
    }
    for name, factor in errors.items():
        if name in forecast.values:
            told = _told(forecast, name, at[part]) * factor
            columns[name][:, part] = np.where(follows, told, columns[name][:, part])


def _as_measured(
    columns: dict[str, FloatArray], usual: UsualWeather, part: slice, draws: _Draws
) -> None:
    """Put what the table holds, with the error of its instruments."""
    errors = {
        "wind_speed": _even_factor(WIND_GAUGE, draws.once[:, 4:5]),
        "rain_rate": _even_factor(RAIN_GAUGE, draws.once[:, 5:6]),
        "irradiance": _even_factor(SUN_GAUGE, draws.once[:, 6:7]),
    }
    for name, factor in errors.items():
        if name in usual.measured_names:
            columns[name][:, part] = factor * _read_at(usual.measured, name, usual, part)
    if "relative_humidity" in usual.measured_names:
        was = _read_at(usual.measured, "relative_humidity", usual, part)
        columns["relative_humidity"][:, part] = was + HYGROMETER * draws.once[:, 3:4]


def _even_factor(spread: float, normal: FloatArray) -> FloatArray:
    """Return factors of mean 1 whose logarithms have a spread."""
    return np.asarray(np.exp(spread * normal - 0.5 * spread**2))


def _read_at(measured: Ambient | None, name: str, usual: UsualWeather, part: slice) -> FloatArray:
    if measured is None or measured.start is None or usual.normal.start is None:
        raise RefusedField("measured", "the measured weather has no start; give it one.")
    shift = (usual.normal.start - measured.start).total_seconds() / 3600.0
    hours = usual.normal.hours[part] + shift
    return np.asarray(np.interp(hours, measured.hours, getattr(measured, name)))


def _told(forecast: Forecast, name: str, at: FloatArray) -> FloatArray:
    values = forecast.values[name]
    return np.asarray(np.interp(at - _hours_of(forecast.start), np.arange(values.size), values))


def _hours_of(when: datetime) -> float:
    return (when - EPOCH).total_seconds() / 3600.0


def _sentences(
    usual: UsualWeather,
    until: datetime | None,
    reach: datetime | None,
    forecast: Forecast | None,
) -> list[str]:
    place = float(np.hypot(usual.spread.offset_kelvin, usual.place_kelvin))
    said = [
        "Each run has weather of its own: days stray by "
        f"{usual.spread.day_to_day_kelvin:.1f} K about the usual, and the usual itself is good to "
        f"{place:.1f} K (standard deviations). Rain falls on {WET_DAY_SHARE:.0%} of the days; "
        "wind, sun and humidity of days differ about their means."
    ]
    if until is not None:
        said.append(
            f"Up to {until:%Y-%m-%d %H:%M} UTC your weather table counts as measured; after it "
            "runs spread from what was measured last."
        )
    if reach is not None and forecast is not None:
        said.append(
            f"Up to {reach:%Y-%m-%d %H:%M} UTC runs follow the forecast of {forecast.host}, the "
            "less the farther ahead; beyond it, what is usual."
        )
    return said
