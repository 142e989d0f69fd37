"""Measured weather in a CSV file, read and written."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput, JournalError
from slowfire.quantities import to_celsius
from slowfire.refusals import number_in
from slowfire.tables_text import (
    Problems,
    TextTable,
    number_text,
    read_number,
    read_table,
    read_time,
    time_text,
    write_table,
)
from slowfire.weather.ambient import (
    DEFAULT_LATITUDE_DEGREES,
    DEW_POINT_DEPRESSION_KELVIN,
    HOURS_PER_YEAR,
    RAIN_MM_PER_YEAR,
    WIND_M_PER_S,
    Ambient,
    assumed_irradiance,
    clock,
    humidity_from_dew_point,
)

LONGEST_GAP_HOURS = 48.0
# Column, lowest and highest value allowed, its unit.
MEASURED = {
    "temperature_celsius": (-60.0, 60.0, "C"),
    "temperature_fahrenheit": (-76.0, 140.0, "F"),
    "relative_humidity_percent": (0.0, 100.0, "%"),
    "wind_m_per_s": (0.0, 60.0, "m/s"),
    "rain_mm": (0.0, 300.0, "mm"),
    "irradiance_w_per_m2": (0.0, 1500.0, "W/m2"),
}
COLUMNS = ("when", *MEASURED)
WRITTEN = tuple(one for one in COLUMNS if one != "temperature_fahrenheit")


def read_weather(
    path: str | Path,
    zone: ZoneInfo,
    *,
    latitude_degrees: float = DEFAULT_LATITUDE_DEGREES,
    rain: str | None = None,
    wind: str | None = None,
) -> Ambient:
    """Return measured weather; what was not measured is assumed and said so.

    Parameters
    ----------
    path : str or Path
        CSV file with `when` and a temperature, other columns as there are; `rain_mm` is what fell
        since the row before [-].
    zone : ZoneInfo
        Time zone of times without an offset [-].
    latitude_degrees : float
        For assumed sun [degree].
    rain, wind : str or None
        Classes for rain and wind that were not measured; usual and normal if None [-].

    Returns
    -------
    Ambient
        Values at whole hours since the first row, with assumptions; a gap up to 48 h is filled
        along a line [-].

    Raises
    ------
    JournalError
        With file, line, column, what was read and what is allowed.
    """
    place = Path(path)
    table = read_table(place, COLUMNS, ("when",))
    temperature_column = _temperature_column(table)
    times, measured = _read_columns(table, zone, temperature_column)
    start = times[0]
    at = np.array([(one - start).total_seconds() / 3600.0 for one in times])
    elapsed = np.arange(0.0, np.floor(at[-1] + 1e-9) + 1.0)

    filled: dict[str, FloatArray] = {}
    assumptions: list[str] = []
    for column, values in measured.items():
        known = np.isfinite(values)
        if column == "rain_mm" and np.any(known):
            filled[column] = _rain_rate(table.file, times, at, values, elapsed)
        elif np.any(known):
            _refuse_long_gap(table.file, column, _with_ends(times, known))
            filled[column] = np.interp(elapsed, at[known], values[known])
            if not np.all(known):
                assumptions.append(f"{column} was interpolated where it is missing.")
    if np.max(np.diff(at)) > 1.0 + 1e-9:
        assumptions.append("Hours between the rows were interpolated.")

    temperature = filled[temperature_column]
    if temperature_column == "temperature_fahrenheit":
        temperature = (temperature - 32.0) * 5.0 / 9.0
    if "relative_humidity_percent" in filled:
        humidity = filled["relative_humidity_percent"] / 100.0
    else:
        humidity = humidity_from_dew_point(temperature, _assumed_dew_point(temperature))
        assumptions.append(
            "Humidity was not measured; the dew point is taken "
            f"{DEW_POINT_DEPRESSION_KELVIN:g} K below the day's mean."
        )
    wind_speed = filled.get("wind_m_per_s")
    if wind_speed is None:
        wind = wind or "normal"
        wind_speed = np.full_like(elapsed, _class_value("wind", wind, WIND_M_PER_S))
        assumptions.append(f"Wind was not measured; {wind_speed[0]:g} m/s ({wind}) is taken.")
    rain_rate = filled.get("rain_mm")
    if rain_rate is None:
        rain = rain or "usual"
        yearly = _class_value("rain", rain, RAIN_MM_PER_YEAR)
        rain_rate = np.full_like(elapsed, yearly / HOURS_PER_YEAR)
        assumptions.append(f"Rain was not measured; {yearly:g} mm a year ({rain}) is taken.")
    irradiance = filled.get("irradiance_w_per_m2")
    if irradiance is None:
        day, hour = clock(start.astimezone(zone), elapsed)
        irradiance = assumed_irradiance(day, hour, latitude_degrees)
        assumptions.append(
            f"Sun was not measured; a cloudy mean at {latitude_degrees:g} degrees is taken."
        )
    return Ambient(
        start,
        elapsed,
        temperature,
        humidity,
        wind_speed,
        rain_rate,
        irradiance,
        tuple(assumptions),
    )


def write_weather(ambient: Ambient, path: str | Path, zone: ZoneInfo) -> None:
    """Write hourly weather as a CSV file.

    Parameters
    ----------
    ambient : Ambient
        Weather with a start; hours are written as they are [-].
    path : str or Path
        File to write [-].
    zone : ZoneInfo
        Clock on which times are written [-].

    Raises
    ------
    InvalidInput
        If the weather has no start.
    """
    if ambient.start is None:
        raise InvalidInput("this weather has no start; give it one before writing it.")
    rain = np.concatenate([[0.0], ambient.rain_rate[1:] * np.diff(ambient.hours)])
    rows = []
    for place, hour in enumerate(ambient.hours):
        numbers = (
            ambient.temperature_celsius[place],
            100.0 * ambient.relative_humidity[place],
            ambient.wind_speed[place],
            rain[place],
            ambient.irradiance[place],
        )
        when = time_text(ambient.start + timedelta(hours=float(hour)), zone)
        rows.append((when, *(number_text(round(float(one), 6)) for one in numbers)))
    write_table(Path(path), WRITTEN, rows)


def _temperature_column(table: TextTable) -> str:
    named = [one for one in table.columns if one.startswith("temperature_")]
    if len(named) == 1:
        return named[0]
    read = " and ".join(named) or "no temperature"
    raise JournalError(
        f"{table.file}, line 1, column temperature_celsius: read {read}; allowed is one of "
        "temperature_celsius and temperature_fahrenheit."
    )


def _read_columns(
    table: TextTable, zone: ZoneInfo, temperature_column: str
) -> tuple[list[datetime], dict[str, FloatArray]]:
    """Return the times in order and the values of each column, nan where a cell is empty."""
    problems = Problems(table.file)
    columns = [one for one in table.columns if one != "when"]
    rows: dict[datetime, list[float]] = {}
    for row in table.rows:
        column = "when"
        try:
            when = read_time(row.cells["when"], zone)
            if when in rows:
                raise InvalidInput(f"read {row.cells['when']!r}, a time met before; keep one.")
            values = []
            for column in columns:
                text = row.cells[column]
                values.append(_measured(column, text, table.decimal_comma) if text else np.nan)
            rows[when] = values
        except InvalidInput as problem:
            problems.add(row.line, column, str(problem))
    problems.stop()
    times = sorted(rows)
    if len(times) < 2:
        raise JournalError(f"{table.file} has {len(times)} rows; allowed is 2 or more.")
    by_column = np.array([rows[one] for one in times]).T
    measured = dict(zip(columns, by_column, strict=True))
    temperature = measured[temperature_column]
    if not np.any(np.isfinite(temperature)):
        raise JournalError(
            f"{table.file}, line 2, column {temperature_column}: read nothing in any row; "
            "allowed is a number at least every 48 h."
        )
    _refuse_long_gap(table.file, "when", times)
    return times, measured


def _measured(column: str, text: str, decimal_comma: bool) -> float:
    low, high, unit = MEASURED[column]
    value = read_number(text, decimal_comma)
    advice = ""
    if column == "temperature_celsius" and low <= to_celsius(value) <= high:
        advice = "If it is in Fahrenheit, name the column temperature_fahrenheit."
    try:
        return number_in(column, value, low, high, unit, advice)
    except InvalidInput as problem:
        raise InvalidInput(f"read {text!r}; {problem}") from problem


def _with_ends(times: Sequence[datetime], known: NDArray[np.bool_]) -> list[datetime]:
    """Return the times that have a value, with the first and last of the file."""
    inside = [one for one, there in zip(times, known, strict=True) if there]
    return [times[0], *inside, times[-1]]


def _refuse_long_gap(file: str, column: str, times: Sequence[datetime]) -> None:
    for earlier, later in pairwise(times):
        gap = (later - earlier).total_seconds() / 3600.0
        if gap > LONGEST_GAP_HOURS:
            raise JournalError(
                f"{file}, column {column}: nothing from {earlier:%Y-%m-%d %H:%M} to "
                f"{later:%Y-%m-%d %H:%M} UTC ({gap:.0f} h); allowed is a gap up to "
                f"{LONGEST_GAP_HOURS:g} h: fill it, or keep only the rows of one side."
            )


def _rain_rate(
    file: str,
    times: Sequence[datetime],
    at: FloatArray,
    values: FloatArray,
    elapsed: FloatArray,
) -> FloatArray:
    """Return the mean rate of each hour that ends at `elapsed`; totals are kept."""
    known = np.isfinite(values)
    _refuse_long_gap(file, "rain_mm", _with_ends(times, known))
    total = np.cumsum(np.where(known, values, 0.0))
    # What fell before the first row has no time; the sum starts there at nothing.
    total = total - total[0]
    at_hours = np.interp(elapsed, at, total)
    return np.asarray(np.clip(np.diff(at_hours, prepend=at_hours[0]), 0.0, None))


def _assumed_dew_point(temperature: FloatArray) -> FloatArray:
    """Return the dew point assumed from the running mean over a day."""
    width = min(24, temperature.size)
    counts = np.convolve(np.ones_like(temperature), np.ones(width), mode="same")
    mean = np.convolve(temperature, np.ones(width), mode="same") / counts
    dew_point: FloatArray = mean - DEW_POINT_DEPRESSION_KELVIN
    return dew_point


def _class_value(name: str, word: str, values: dict[str, float]) -> float:
    if word not in values:
        raise InvalidInput(f"{name} is {word!r}; allowed is {', '.join(values)}.")
    return values[word]
