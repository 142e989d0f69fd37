"""A weather forecast as services give it, turned into hours: CoverageJSON, plain JSON or CSV.

What it holds is known by name and unit; a value without a unit is refused, never guessed.
"""

import json
import re
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.errors import InvalidInput, JournalError
from slowfire.refusals import number_in
from slowfire.tables_text import read_number, read_table, read_time
from slowfire.weather.ambient import LIMITS, humidity_from_dew_point
from slowfire.weather.files import COLUMNS
from slowfire.weather.typical import TWO_METRES

LONGEST_HOURS = 24 * 20  # more than any forecast by the hour reaches
LONGEST_STEP_HOURS = 12.0
MOST_ROWS = 20_000
ZERO_CELSIUS = 273.15

# Quantity by what it is called: CF standard names, and plain words for the same.
CALLED = {
    "air_temperature": "temperature_celsius",
    "temperature": "temperature_celsius",
    "temperature_2m": "temperature_celsius",
    "2_metre_temperature": "temperature_celsius",
    "relative_humidity": "relative_humidity",
    "relative_humidity_2m": "relative_humidity",
    "dew_point_temperature": "dew_point_celsius",
    "dew_point": "dew_point_celsius",
    "dew_point_2m": "dew_point_celsius",
    "wind_speed": "wind_speed",
    "wind_speed_10m": "wind_speed",
    "precipitation": "rain_rate",
    "precipitation_amount": "rain_rate",
    "precipitation_flux": "rain_rate",
    "rainfall_amount": "rain_rate",
    "rainfall_flux": "rain_rate",
    "surface_downwelling_shortwave_flux_in_air": "irradiance",
    "global_horizontal_irradiance": "irradiance",
    "shortwave_radiation": "irradiance",
}
# Our own columns, which name their unit: quantity, unit, and whether the wind is 2 m up already.
OWN = {
    "temperature_celsius": ("temperature_celsius", "cel"),
    "temperature_fahrenheit": ("temperature_celsius", "f"),
    "relative_humidity_percent": ("relative_humidity", "%"),
    "wind_m_per_s": ("wind_speed", "m/s"),
    "rain_mm": ("rain_rate", "mm"),
    "irradiance_w_per_m2": ("irradiance", "w/m2"),
}
_TEMPERATURES: dict[str, tuple[float, float]] = {
    **dict.fromkeys(("c", "cel", "degc", "celsius", "degree_celsius", "degreecelsius"), (1.0, 0.0)),
    **dict.fromkeys(("k", "kelvin"), (1.0, -ZERO_CELSIUS)),
    **dict.fromkeys(("f", "degf", "fahrenheit", "[degf]"), (5.0 / 9.0, -160.0 / 9.0)),
}
# Factor and addend from each unit, written small and without spaces, to that of `Ambient`.
UNITS: dict[str, dict[str, tuple[float, float]]] = {
    "temperature_celsius": _TEMPERATURES,
    "dew_point_celsius": _TEMPERATURES,
    "relative_humidity": {
        **dict.fromkeys(("%", "percent"), (0.01, 0.0)),
        **dict.fromkeys(("1", "fraction"), (1.0, 0.0)),
    },
    "wind_speed": {
        **dict.fromkeys(("m/s", "ms-1", "mps"), (1.0, 0.0)),
        **dict.fromkeys(("km/h", "kmh-1", "kmh"), (1.0 / 3.6, 0.0)),
        **dict.fromkeys(("mph", "mp/h", "mi/h", "[mi_i]/h"), (0.44704, 0.0)),
        **dict.fromkeys(("kn", "kt", "knot", "knots", "[kn_i]"), (1852.0 / 3600.0, 0.0)),
    },
    "rain_rate": {
        **dict.fromkeys(("mm", "kg/m2", "kgm-2", "mm/h", "mmh-1"), (1.0, 0.0)),
        **dict.fromkeys(("in", "inch", "[in_i]"), (25.4, 0.0)),
        **dict.fromkeys(("m",), (1000.0, 0.0)),
        **dict.fromkeys(("kgm-2s-1", "kg/m2/s", "kg/(m2s)", "mm/s", "mms-1"), (3600.0, 0.0)),
    },
    "irradiance": dict.fromkeys(("w/m2", "wm-2"), (1.0, 0.0)),
}
RATES = {"mm/h", "mmh-1", "kgm-2s-1", "kg/m2/s", "kg/(m2s)", "mm/s", "mms-1"}
SHOWN_UNITS = {
    "temperature_celsius": "Cel, K or [degF]",
    "dew_point_celsius": "Cel, K or [degF]",
    "relative_humidity": "% or 1",
    "wind_speed": "m/s, km/h, mph or kn",
    "rain_rate": "mm, kg/m2, in, m, mm/h or kg m-2 s-1",
    "irradiance": "W/m2",
}


@dataclass(frozen=True, eq=False)
class Series:
    """One quantity over time, in the unit of `Ambient`; rain as an amount since the row before."""

    called: str
    times: tuple[datetime, ...]
    values: FloatArray
    is_amount: bool = False


def read_forecast(text: str) -> tuple[datetime, dict[str, FloatArray]]:
    """Return a forecast by the hour.

    Parameters
    ----------
    text : str
        CoverageJSON of one place; JSON with `hourly`, a list by name, and `hourly_units`; or CSV
        with the columns of a weather.csv. Times without an offset are universal time [-].

    Returns
    -------
    tuple of (datetime, mapping of str to ndarray, shape (hours,))
        The first whole hour, and by the name of a quantity of `Ambient` its values from there on;
        the temperature always, the others as there are [mixed].

    Raises
    ------
    InvalidInput
        If it is none of these, a unit is missing or not known, hours do not rise, or a value is
        out of range.

    Notes
    -----
    Between rows, values lie on a line and rain falls evenly. Wind is taken down from 10 m to 2 m,
    but for our own column `wind_m_per_s`.

    Examples
    --------
    >>> start, values = read_forecast(
    ...     "when,temperature_celsius\\n2026-03-12T00:00Z,4\\n2026-03-12T02:00Z,6\\n"
    ... )
    >>> values["temperature_celsius"].tolist()
    [4.0, 5.0, 6.0]
    """
    if text.lstrip("\ufeff \t\r\n").startswith("{"):
        found = _of_json(text.lstrip("\ufeff"))
    else:
        found = _of_csv(text)
    return _by_the_hour(found)


def _of_json(text: str) -> dict[str, Series]:
    try:
        held = json.loads(text, parse_constant=_no_number)
    except (ValueError, RecursionError) as problem:
        raise InvalidInput(f"the answer is broken JSON ({str(problem)[:80]}).") from problem
    if not isinstance(held, dict):
        raise InvalidInput("the answer is JSON but no object; allowed is CoverageJSON or hourly.")
    if held.get("type") in ("Coverage", "CoverageCollection"):
        return _of_coverages(held)
    if isinstance(held.get("hourly"), dict):
        return _of_lists(held)
    raise InvalidInput(
        "the answer is JSON without a forecast in it; allowed is CoverageJSON (type Coverage or "
        'CoverageCollection) or {"hourly": {"time": [...], "temperature_celsius": [...]}}.'
    )


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number")


def _of_csv(text: str) -> dict[str, Series]:
    # the reader of weather files wants a file
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "forecast.csv"
        path.write_text(text, encoding="utf-8")
        try:
            table = read_table(path, COLUMNS, ("when",))
        except JournalError as problem:
            raise InvalidInput(" ".join(str(problem).split())) from problem
    times = [read_time(row.cells["when"], ZoneInfo("UTC")) for row in table.rows]
    found: dict[str, Series] = {}
    for column in table.columns:
        if column == "when":
            continue
        cells = [row.cells[column] for row in table.rows]
        values = [read_number(one, table.decimal_comma) if one else None for one in cells]
        quantity, unit = OWN[column]
        _keep(found, quantity, _series(quantity, column, unit, times, values))
    return found


def _of_lists(held: Mapping[str, Any]) -> dict[str, Series]:
    """Read the plain form: a list of times and one of values for each name."""
    hourly = held["hourly"]
    units = held.get("hourly_units", {})
    if not isinstance(units, dict):
        raise InvalidInput("hourly_units is no object; allowed is a unit by name.")
    ahead = number_in("utc_offset_seconds", held.get("utc_offset_seconds", 0), -54e3, 54e3, "s")
    clock = timezone(timedelta(seconds=ahead))
    times = _times(hourly.get("time", hourly.get("when")), clock)
    found: dict[str, Series] = {}
    for name, values in hourly.items():
        if name in OWN:
            quantity, unit = OWN[name]
        elif name in CALLED:
            quantity, unit = CALLED[name], str(units.get(name, ""))
        else:
            continue
        _keep(found, quantity, _series(quantity, name, unit, times, _list(name, values)))
    return found


def _of_coverages(held: Mapping[str, Any]) -> dict[str, Series]:
    """Read CoverageJSON of one place; of what stands in it twice the first is taken."""
    several = held.get("coverages") if held["type"] == "CoverageCollection" else [held]
    if not isinstance(several, list) or not all(isinstance(one, dict) for one in several):
        raise InvalidInput("coverages is no list of coverages.")
    found: dict[str, Series] = {}
    for one in several:
        parameters = {**_object(held, "parameters"), **_object(one, "parameters")}
        axes = _object(_object(one, "domain"), "axes")
        times: list[datetime] | None = None
        for key, numbers in _object(one, "ranges").items():
            parameter = parameters.get(key, {})
            names = _names(key, parameter if isinstance(parameter, dict) else {})
            called = next((name for name in names if name in CALLED), None)
            if called is None:
                continue
            if times is None:
                times = _times(_object(axes, "t").get("values"), UTC)
            values = _of_array(key, numbers, len(times))
            unit = _unit_of(parameter)
            quantity = CALLED[called]
            _keep(found, quantity, _series(quantity, called, unit, times, values))
    return found


def _object(held: object, key: str) -> dict[str, Any]:
    value = held.get(key, {}) if isinstance(held, Mapping) else {}
    if not isinstance(value, dict):
        raise InvalidInput(f"{key} is no object; allowed is what CoverageJSON says of it.")
    return value


def _names(key: str, parameter: Mapping[str, Any]) -> Iterator[str]:
    """Yield what a parameter is called: the last word of its address, its key, its labels."""
    observed = parameter.get("observedProperty", {})
    observed = observed if isinstance(observed, dict) else {}
    address = observed.get("id")
    words: list[object] = [re.split(r"[/#]", address)[-1] if isinstance(address, str) else ""]
    words.append(key.split(":")[0])
    for label in (observed.get("label"), parameter.get("label")):
        words += list(label.values()) if isinstance(label, dict) else [label]
    for one in words:
        if isinstance(one, str):
            yield re.sub(r"[\s-]+", "_", one.strip().casefold())


def _unit_of(parameter: object) -> str:
    """Return the symbol of a unit, or its label where there is no symbol."""
    unit = _object(parameter, "unit")
    symbol = unit.get("symbol")
    if isinstance(symbol, dict):
        symbol = symbol.get("value")
    label = unit.get("label")
    if isinstance(label, dict):
        label = next(iter(label.values()), None)
    return str(symbol or label or "")


def _of_array(key: str, numbers: object, count: int) -> list[object]:
    """Return the values of one place along time."""
    array = numbers if isinstance(numbers, dict) else {}
    values, names, shape = (array.get(one) for one in ("values", "axisNames", "shape"))
    if array.get("type") != "NdArray" or not isinstance(values, list):
        raise InvalidInput(f"{key} holds no values; allowed is an NdArray with its values in it.")
    if isinstance(names, list) and isinstance(shape, list):
        sizes = dict(zip(map(str, names), shape, strict=False))
        wide = [name for name, size in sizes.items() if name != "t" and size != 1]
        if wide:
            raise InvalidInput(
                f"{key} holds several values along {', '.join(wide)}; allowed is one place, one "
                "height and one forecast: ask the service for a position."
            )
    if len(values) != count:
        raise InvalidInput(f"{key} has {len(values)} values for {count} times.")
    return values


def _times(written: object, clock: timezone) -> list[datetime]:
    if not isinstance(written, list) or not written:
        raise InvalidInput("there are no times; allowed is a list such as 2026-03-12T18:00Z.")
    if len(written) > MOST_ROWS:
        raise InvalidInput(f"there are {len(written)} times; allowed is up to {MOST_ROWS}.")
    found = []
    for one in written:
        try:
            when = datetime.fromisoformat(one)
        except (TypeError, ValueError) as problem:
            raise InvalidInput(
                f"{str(one)[:40]!r} is not a time; allowed is 2026-03-12T18:00Z."
            ) from problem
        when = when if when.tzinfo is not None else when.replace(tzinfo=clock)
        number_in("year of a time", when.year, 1970, 2099)
        found.append(when.astimezone(UTC))
    return found


def _list(name: str, values: object) -> list[object]:
    if not isinstance(values, list):
        raise InvalidInput(f"{name} is no list of values.")
    return values


def _keep(found: dict[str, Series], quantity: str, series: Series) -> None:
    if np.any(np.isfinite(series.values)):
        found.setdefault(quantity, series)


def _series(
    quantity: str,
    called: str,
    unit: str,
    times: Sequence[datetime],
    values: Sequence[object],
) -> Series:
    """Return values in the unit of `Ambient`, nan where there is none."""
    word = re.sub(r"[\s*.^·⋅°]+", "", unit.casefold().replace("²", "2").replace("⁻¹", "-1"))
    if word not in UNITS[quantity]:
        raise InvalidInput(
            f"{called} has the unit {unit!r}; allowed is {SHOWN_UNITS[quantity]}, written with it."
        )
    if len(values) != len(times):
        raise InvalidInput(f"{called} has {len(values)} values for {len(times)} times.")
    factor, addend = UNITS[quantity][word]
    if quantity == "wind_speed" and called not in OWN:
        factor *= TWO_METRES
    numbers = np.full(len(values), np.nan)
    for place, one in enumerate(values):
        if one is None:
            continue
        if isinstance(one, bool) or not isinstance(one, int | float):
            raise InvalidInput(f"{called} holds {str(one)[:40]!r}; allowed is a number or null.")
        numbers[place] = factor * one + addend
    return Series(called, tuple(times), numbers, quantity == "rain_rate" and word not in RATES)


def _by_the_hour(found: Mapping[str, Series]) -> tuple[datetime, dict[str, FloatArray]]:
    if "temperature_celsius" not in found:
        raise InvalidInput(
            "the answer holds no air temperature; allowed is one called temperature_celsius, "
            f"{', '.join(name for name, what in CALLED.items() if what == 'temperature_celsius')}."
        )
    times, _ = _checked("temperature_celsius", found["temperature_celsius"])
    start = times[0].replace(minute=0, second=0, microsecond=0)
    if start < times[0]:
        start += timedelta(hours=1)
    hours = int((times[-1] - start).total_seconds() // 3600)
    number_in("length of the forecast", hours, 1, LONGEST_HOURS, "h")
    elapsed = np.arange(hours + 1.0)
    values: dict[str, FloatArray] = {}
    for quantity, series in found.items():
        known, numbers = _checked(quantity, series)
        at = np.array([(one - start).total_seconds() / 3600.0 for one in known])
        if max(at[0], hours - at[-1]) > LONGEST_STEP_HOURS:
            # it stops long before the temperature does: left to what is usual
            continue
        if series.is_amount:
            # what fell before the first row has no time
            total = np.cumsum(numbers) - numbers[0]
            sums = np.interp(np.arange(-1.0, hours + 1.0), at, total)
            values[quantity] = np.diff(sums)
        else:
            values[quantity] = np.interp(elapsed, at, numbers)
    dew_point = values.pop("dew_point_celsius", None)
    if dew_point is not None and "relative_humidity" not in values:
        values["relative_humidity"] = humidity_from_dew_point(
            values["temperature_celsius"], dew_point
        )
    return start, values


def _checked(quantity: str, series: Series) -> tuple[list[datetime], FloatArray]:
    """Return the rows that have a value, if hours rise and values are possible."""
    steps = np.array([one.timestamp() for one in series.times])
    if np.any(np.diff(steps) <= 0.0):
        raise InvalidInput(f"the times of {series.called} do not rise; allowed is each once.")
    values = series.values
    known = np.isfinite(values)
    first = int(np.argmax(known))
    if series.is_amount and first > 0:
        # the first amount fell since the row before, which has none itself
        known = known.copy()
        known[first - 1] = True
        values = np.where(known & ~np.isfinite(values), 0.0, values)
    if np.count_nonzero(known) < 2:
        raise InvalidInput(f"{series.called} has fewer than two values.")
    gap = float(np.max(np.diff(steps[known]))) / 3600.0
    number_in(f"longest step of {series.called}", gap, 0.0, LONGEST_STEP_HOURS, "h")
    numbers = values[known]
    if series.is_amount:
        # the limit is for an hour; a row may stand for several
        low, high, unit = 0.0, LIMITS["rain_rate"][1] * max(gap, 1.0), "mm"
    elif quantity == "dew_point_celsius":
        low, high, unit = -100.0, 60.0, "C"
    else:
        low, high, unit = LIMITS[quantity]
    bad = numbers[~((numbers >= low) & (numbers <= high))]
    if quantity == "relative_humidity":
        # models give a little more than full
        bad = bad[(bad < 0.0) | (bad > 1.05)]
        numbers = np.minimum(numbers, 1.0)
    elif quantity in ("irradiance", "rain_rate"):
        # and rounding leaves traces below nothing
        bad = (
            bad[(bad < -0.01 * high) | (bad > high)]
            if quantity == "irradiance"
            else (bad[(bad < -0.01) | (bad > high)])
        )
        numbers = np.maximum(numbers, 0.0)
    if bad.size:
        number_in(series.called, float(bad[0]), low, high, unit)
    return [one for one, there in zip(series.times, known, strict=True) if there], numbers
