"""The air around the bin hour by hour: assumed, or as measured."""

from dataclasses import dataclass, fields
from datetime import datetime
from typing import NamedTuple

import numpy as np

from slowfire.arrays import FloatArray, FloatOrArray
from slowfire.physics.moist_air import saturation_pressure
from slowfire.refusals import RefusedField, number_in, one_of
from slowfire.site import RAIN_CLASSES, SHELTERS, WeatherSetting

# Our own assumptions, no source: what the words of the weather classes stand for.
RAIN_MM_PER_YEAR = dict(zip(RAIN_CLASSES, (350.0, 750.0, 1300.0), strict=True))
WIND_M_PER_S = dict(zip(SHELTERS, (0.5, 2.0, 4.5), strict=True))
DEW_POINT_DEPRESSION_KELVIN = 4.0  # daily mean less dew point, our assumption
CLEAR_SKY_IRRADIANCE = 1000.0  # [W/m^2] at a zenith sun, rounded, common practice, no source
CLOUD_TRANSMISSION = 0.55  # mean over the year, our assumption
COLDEST_HOUR = 4.0  # of the day; twelve hours later is the warmest
WET_DAY_SHARE = 0.35  # share of days with rain where weather is drawn, our assumption
WET_HOURS = 6  # hours a wet day's rain lasts, our assumption
ANOMALY_MEMORY = 0.75  # day-to-day correlation of temperature anomalies, our assumption
HOURS_PER_YEAR = 8766.0
DEFAULT_LATITUDE_DEGREES = 48.0

LIMITS = {
    "temperature_celsius": (-60.0, 60.0, "C"),
    "relative_humidity": (0.0, 1.0, ""),
    "wind_speed": (0.0, 60.0, "m/s"),
    "rain_rate": (0.0, 300.0, "mm/h"),
    "irradiance": (0.0, 1500.0, "W/m2"),
}


class AmbientValues(NamedTuple):
    """The air at one time or at an array of times; units as in `Ambient`."""

    temperature_celsius: FloatOrArray
    relative_humidity: FloatOrArray
    wind_speed: FloatOrArray
    rain_rate: FloatOrArray
    irradiance: FloatOrArray


@dataclass(frozen=True, eq=False)
class Ambient:
    """Weather at the bin over time.

    Parameters
    ----------
    start : datetime or None
        Time of hour 0, with its offset; None if it does not matter [-].
    hours : ndarray, shape (times,)
        Hours since the start, rising [h].
    temperature_celsius : ndarray, shape (times,)
        Air temperature, -60 to 60 [degC].
    relative_humidity : ndarray, shape (times,)
        Relative humidity, 0 to 1 [-].
    wind_speed : ndarray, shape (times,)
        Wind at the bin, 0 to 60 [m/s].
    rain_rate : ndarray, shape (times,)
        Rain of the hour that ends there, 0 to 300 [mm/h].
    irradiance : ndarray, shape (times,)
        Global irradiance on the level, 0 to 1500 [W/m^2].
    assumptions : tuple of str
        What was assumed, one sentence each [-].

    Raises
    ------
    InvalidInput
        If lengths differ, hours do not rise, or a value is not finite or out of range.

    Examples
    --------
    >>> constant(12.0).at(5.0).temperature_celsius
    12.0
    """

    start: datetime | None
    hours: FloatArray
    temperature_celsius: FloatArray
    relative_humidity: FloatArray
    wind_speed: FloatArray
    rain_rate: FloatArray
    irradiance: FloatArray
    assumptions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.start is not None and self.start.utcoffset() is None:
            raise RefusedField("start", f"start is {self.start} without an offset; add one.")
        for one in fields(self)[1:-1]:
            values = np.array(getattr(self, one.name), dtype=np.float64)
            values.flags.writeable = False
            object.__setattr__(self, one.name, values)
        if self.hours.ndim != 1 or self.hours.size < 2:
            raise RefusedField("hours", "hours needs at least two times in one row.")
        if not np.all(np.isfinite(self.hours)) or not np.all(np.diff(self.hours) > 0.0):
            raise RefusedField("hours", "hours do not rise; sort the times, each once.")
        for name, (low, high, unit) in LIMITS.items():
            values = getattr(self, name)
            if values.shape != self.hours.shape:
                raise RefusedField(
                    name,
                    f"{name} has {values.size} values; allowed is {self.hours.size}, one a time.",
                )
            bad = np.flatnonzero(~((values >= low) & (values <= high)))
            if bad.size:
                try:
                    number_in(name, float(values[bad[0]]), low, high, unit)
                except RefusedField as problem:
                    hour = self.hours[bad[0]]
                    raise RefusedField(name, f"at hour {hour:g}: {problem}") from problem

    def at(self, hours: FloatOrArray) -> AmbientValues:
        """Return the air at some hours, linear between the times given.

        Parameters
        ----------
        hours : float or ndarray, shape (any,)
            Hours since the start, inside the range of `hours` [h].

        Returns
        -------
        AmbientValues
            The five quantities, floats for a float and arrays for an array [-].

        Raises
        ------
        InvalidInput
            If an hour lies before the first or after the last.
        """
        wanted = np.asarray(hours, dtype=np.float64)
        first, last = float(self.hours[0]), float(self.hours[-1])
        outside = ~((wanted >= first) & (wanted <= last))
        if np.any(outside):
            number_in("hour of the weather", float(wanted[outside].flat[0]), first, last, "h")
        found = [np.interp(wanted, self.hours, getattr(self, name)) for name in LIMITS]
        if wanted.ndim == 0:
            return AmbientValues(*(float(one) for one in found))
        return AmbientValues(*found)


def constant(
    temperature_celsius: float,
    hours: float = HOURS_PER_YEAR,
    *,
    relative_humidity: float = 0.75,
    wind_speed: float = 0.0,
    rain_rate: float = 0.0,
    irradiance: float = 0.0,
    start: datetime | None = None,
) -> Ambient:
    """Return air that does not change.

    Parameters
    ----------
    temperature_celsius : float
        Air temperature, -60 to 60 [degC].
    hours : float
        How long, above 0 [h].
    relative_humidity : float
        0 to 1 [-].
    wind_speed : float
        0 to 60 [m/s].
    rain_rate : float
        0 to 300 [mm/h].
    irradiance : float
        0 to 1500 [W/m^2].
    start : datetime or None
        Time of hour 0 [-].

    Returns
    -------
    Ambient
        Two times, the first and the last [-].

    Raises
    ------
    InvalidInput
        If a value is out of range.

    Examples
    --------
    >>> constant(12.0, 48.0).hours.tolist()
    [0.0, 48.0]
    """
    number_in("hours", hours, 1e-6, 1e6, "h")
    return Ambient(
        start,
        np.array([0.0, hours]),
        np.full(2, float(temperature_celsius)),
        np.full(2, float(relative_humidity)),
        np.full(2, float(wind_speed)),
        np.full(2, float(rain_rate)),
        np.full(2, float(irradiance)),
    )


def seasonal(
    mean_celsius: float,
    yearly_swing_kelvin: float,
    daily_swing_kelvin: float,
    coldest_day: float = 15.0,
    hours: float = HOURS_PER_YEAR,
    *,
    start: datetime | None = None,
    latitude_degrees: float = DEFAULT_LATITUDE_DEGREES,
    rain: str = "usual",
    wind: str = "normal",
    noise_kelvin: float = 0.0,
    seed: int = 0,
) -> Ambient:
    """Return hourly air from one sine over the year and one over the day.

    T = mean - Y/2 cos(2 pi (day - coldest_day)/365.25) - D/2 cos(2 pi (hour - 4)/24) + anomaly

    Parameters
    ----------
    mean_celsius : float
        Mean of the year, -40 to 50 [degC].
    yearly_swing_kelvin : float
        Warmest less coldest day, 0 to 70 [K].
    daily_swing_kelvin : float
        Afternoon less dawn, 0 to 40 [K].
    coldest_day : float
        Day of the year that is coldest, 1 to 366; 196 in the south [day].
    hours : float
        How long, 1 or more [h].
    start : datetime or None
        Time of hour 0 on the clock of the place; 1 January, midnight, if None [-].
    latitude_degrees : float
        For the length of the day, -66 to 66 or beyond [degree].
    rain, wind : str
        Classes: dry, usual, wet and sheltered, normal, windy [-].
    noise_kelvin : float
        Standard deviation of daily anomalies, 0 for none [K].
    seed : int
        Seed of anomalies and wet days; used only with noise [-].

    Returns
    -------
    Ambient
        Hourly values with the assumptions made [-].

    Raises
    ------
    InvalidInput
        If a value or a class is not allowed.

    Notes
    -----
    Assumed, without a source: rain of 350, 750 or 1300 mm a year, spread evenly without noise and
    on about a third of the days with it; wind of 0.5, 2 or 4.5 m/s; a dew point 4 K below the
    day's mean; 55 % of a clear sky's sun. Anomalies are first-order autoregressive by the day.

    Examples
    --------
    >>> year = seasonal(10.0, 20.0, 8.0)
    >>> bool(abs(year.temperature_celsius.mean() - 10.0) < 0.1)
    True
    """
    number_in("mean_celsius", mean_celsius, -40.0, 50.0, "C")
    number_in("yearly_swing_kelvin", yearly_swing_kelvin, 0.0, 70.0, "K")
    number_in("daily_swing_kelvin", daily_swing_kelvin, 0.0, 40.0, "K")
    number_in("coldest_day", coldest_day, 1.0, 366.0)
    number_in("hours", hours, 1.0, 1e6, "h")
    number_in("latitude_degrees", latitude_degrees, -90.0, 90.0, "degrees")
    number_in("noise_kelvin", noise_kelvin, 0.0, 15.0, "K")
    rain_per_hour = RAIN_MM_PER_YEAR[one_of("rain", rain, RAIN_CLASSES)] / HOURS_PER_YEAR
    wind_speed = WIND_M_PER_S[one_of("wind", wind, SHELTERS)]

    elapsed = np.arange(0.0, np.ceil(hours) + 1.0)
    day_of_year, hour_of_day = clock(start, elapsed)
    day_mean = mean_celsius - 0.5 * yearly_swing_kelvin * np.cos(
        2.0 * np.pi * (day_of_year - coldest_day) / 365.25
    )
    rain_rate = np.full_like(elapsed, rain_per_hour)
    if noise_kelvin > 0.0:
        draws = np.random.default_rng(seed)
        day_mean = day_mean + _daily_anomalies(elapsed, noise_kelvin, draws)
        rain_rate = showers(elapsed, rain_per_hour, draws)
    swing = 0.5 * daily_swing_kelvin * np.cos(2.0 * np.pi * (hour_of_day - COLDEST_HOUR) / 24.0)
    temperature = np.clip(day_mean - swing, -60.0, 60.0)
    return Ambient(
        start,
        elapsed,
        temperature,
        humidity_from_dew_point(temperature, day_mean - DEW_POINT_DEPRESSION_KELVIN),
        np.full_like(elapsed, wind_speed),
        rain_rate,
        assumed_irradiance(day_of_year, hour_of_day, latitude_degrees),
        (
            f"Temperature follows a year of {mean_celsius:g} C on average, "
            f"{yearly_swing_kelvin:g} K from winter to summer and {daily_swing_kelvin:g} K a day.",
            f"Rain is {RAIN_MM_PER_YEAR[rain]:g} mm a year ({rain}).",
            f"Wind is {wind_speed:g} m/s ({wind}).",
            f"The dew point lies {DEW_POINT_DEPRESSION_KELVIN:g} K below the day's mean.",
            f"Sun is {CLOUD_TRANSMISSION:.0%} of a clear sky's at {latitude_degrees:g} degrees.",
        ),
    )


def from_setting(
    setting: WeatherSetting,
    hours: float,
    start: datetime | None = None,
    latitude_degrees: float | None = None,
) -> Ambient:
    """Return the air that a setting of kind constant or seasonal stands for.

    Parameters
    ----------
    setting : WeatherSetting
        Of kind constant or seasonal [-].
    hours : float
        How long, 1 or more [h].
    start : datetime or None
        Time of hour 0 on the clock of the place [-].
    latitude_degrees : float or None
        Latitude; 48 if None [degree].

    Raises
    ------
    InvalidInput
        If the setting is of another kind.
    """
    if setting.mean_celsius is None or setting.kind not in ("constant", "seasonal"):
        raise RefusedField("kind", f'weather of kind "{setting.kind}" is not made of a setting.')
    rain, wind = setting.rain or "usual", setting.wind or "normal"
    latitude = DEFAULT_LATITUDE_DEGREES if latitude_degrees is None else latitude_degrees
    made = seasonal(
        setting.mean_celsius,
        setting.yearly_swing_kelvin,
        setting.daily_swing_kelvin,
        setting.coldest_day,
        hours,
        start=start,
        latitude_degrees=latitude,
        rain=rain,
        wind=wind,
        noise_kelvin=setting.noise_kelvin,
        seed=setting.seed,
    )
    if setting.kind == "seasonal":
        return made
    return Ambient(
        start,
        made.hours,
        np.full_like(made.hours, setting.mean_celsius),
        np.full_like(made.hours, setting.relative_humidity_percent / 100.0),
        made.wind_speed,
        np.full_like(made.hours, RAIN_MM_PER_YEAR[rain] / HOURS_PER_YEAR),
        made.irradiance,
        (f"The air stays at {setting.mean_celsius:g} C.", *made.assumptions[1:3]),
    )


def clock(start: datetime | None, elapsed: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return day of the year and hour of the day, counted on from the clock at the start [-]."""
    offset = 0.0
    if start is not None:
        offset = 24.0 * (start.timetuple().tm_yday - 1) + start.hour + start.minute / 60.0
    since_new_year = elapsed + offset
    return 1.0 + (since_new_year / 24.0) % 365.25, since_new_year % 24.0


def day_length(day_of_year: FloatOrArray, latitude_degrees: float) -> FloatOrArray:
    """Return the hours from sunrise to sunset.

    cos(omega) = -tan(latitude) tan(declination), N = 24 omega/pi

    Parameters
    ----------
    day_of_year : float or ndarray, shape (times,)
        1 to 366 [day].
    latitude_degrees : float
        -90 to 90, north positive [degree].

    Returns
    -------
    float or ndarray, shape (times,)
        0 to 24 [h].

    Notes
    -----
    The level horizon of a sphere; refraction and the sun's width (about 0.2 h) are left out.

    Examples
    --------
    >>> bool(abs(day_length(81.0, 48.0) - 12.0) < 0.05)
    True
    """
    latitude = np.radians(np.clip(latitude_degrees, -89.9, 89.9))
    cosine = -np.tan(latitude) * np.tan(_declination(day_of_year))
    hours: FloatOrArray = 24.0 / np.pi * np.arccos(np.clip(cosine, -1.0, 1.0))
    return hours


def assumed_irradiance(
    day_of_year: FloatArray, hour_of_day: FloatArray, latitude_degrees: float
) -> FloatArray:
    """Return a half-sine of irradiance from sunrise to sunset.

    I = 0.55 x 1000 sin(noon height) sin(pi (hour - sunrise)/day length)

    Parameters
    ----------
    day_of_year : ndarray, shape (times,)
        1 to 366 [day].
    hour_of_day : ndarray, shape (times,)
        Clock of the place, taken as the sun's, 0 to 24 [h].
    latitude_degrees : float
        -90 to 90 [degree].

    Returns
    -------
    ndarray, shape (times,)
        Irradiance on the level, 0 in the night [W/m^2].
    """
    length = np.asarray(day_length(day_of_year, latitude_degrees), dtype=np.float64)
    latitude = np.radians(latitude_degrees)
    noon_height = np.cos(latitude - _declination(day_of_year))
    phase = (hour_of_day - 12.0) / np.maximum(length, 0.1) + 0.5
    lit = (phase > 0.0) & (phase < 1.0)
    peak = CLOUD_TRANSMISSION * CLEAR_SKY_IRRADIANCE * np.maximum(noon_height, 0.0)
    irradiance: FloatArray = np.where(lit, peak * np.sin(np.pi * np.clip(phase, 0.0, 1.0)), 0.0)
    return irradiance


def humidity_from_dew_point(temperature_celsius: FloatArray, dew_point: FloatArray) -> FloatArray:
    """Return relative humidity, 0.05 to 1, from air temperature and dew point [-]."""
    share = saturation_pressure(np.clip(dew_point, -60.0, 60.0)) / saturation_pressure(
        temperature_celsius
    )
    humidity: FloatArray = np.clip(share, 0.05, 1.0)
    return humidity


def _declination(day_of_year: FloatOrArray) -> FloatOrArray:
    """Return the sun's height over the equator (Cooper 1969, from memory) [rad]."""
    tilt: FloatOrArray = np.radians(23.45) * np.sin(2.0 * np.pi * (284.0 + day_of_year) / 365.0)
    return tilt


def _daily_anomalies(elapsed: FloatArray, spread: float, draws: np.random.Generator) -> FloatArray:
    """Return first-order autoregressive anomalies by the day, linear between the days."""
    days = int(elapsed[-1] // 24) + 2
    shocks = draws.normal(0.0, 1.0, days)
    values = np.empty(days)
    values[0] = shocks[0]
    for day in range(1, days):
        fresh = np.sqrt(1.0 - ANOMALY_MEMORY**2) * shocks[day]
        values[day] = ANOMALY_MEMORY * values[day - 1] + fresh
    return np.asarray(np.interp(elapsed, 24.0 * np.arange(days), spread * values))


def showers(elapsed: FloatArray, mean_rate: float, draws: np.random.Generator) -> FloatArray:
    """Return rain on drawn days; the expected total is that of the even rate."""
    days = int(elapsed[-1] // 24) + 1
    wet = draws.random(days) < WET_DAY_SHARE
    amount = draws.exponential(mean_rate * 24.0 / WET_DAY_SHARE, days) * wet
    first_hour = draws.integers(0, 24 - WET_HOURS + 1, days)
    day = (elapsed // 24).astype(int)
    since = elapsed % 24 - first_hour[day]
    falling = (since >= 0) & (since < WET_HOURS)
    return np.asarray(np.where(falling, amount[day] / WET_HOURS, 0.0))
