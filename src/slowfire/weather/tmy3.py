"""Reads TMY3 files: a line for the station, a line of headings, a row for each hour of a year."""

import csv
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np

from slowfire.errors import JournalError
from slowfire.weather.typical import (
    Quantity,
    TypicalYear,
    YearRows,
    place_numbers,
    read_lines,
    whole_number,
)

DATE, TIME = "Date (MM/DD/YYYY)", "Time (HH:MM)"
RAIN, RAIN_HOURS = "Lprecip depth (mm)", "Lprecip quantity (hr)"
MISSING = -9000.0  # the files write -9900
# More rain than this in a year means that the file counts tenths of a millimetre, as some do
# though the heading says mm
MOST_RAIN = 5000.0
QUANTITIES = (
    Quantity("temperature_celsius", "Dry-bulb (C)", -60.0, 60.0, "C", missing_below=MISSING),
    Quantity("dew_point_celsius", "Dew-point (C)", -90.0, 60.0, "C", missing_below=MISSING),
    Quantity("relative_humidity_percent", "RHum (%)", 0.0, 110.0, "%", missing_below=MISSING),
    Quantity("irradiance_w_per_m2", "GHI (W/m^2)", 0.0, 1500.0, "W/m2", 9999.0, MISSING),
    Quantity("wind_m_per_s", "Wspd (m/s)", 0.0, 60.0, "m/s", 999.0, MISSING),
    Quantity("rain_mm", RAIN, 0.0, 3000.0, "mm", 9900.0, MISSING),
)
NEEDED = (DATE, TIME, "Dry-bulb (C)")
PLACE_CELLS = {"offset_hours": 3, "latitude_degrees": 4, "longitude_degrees": 5}
PLACE_LIMITS = {"offset_hours": 14.0, "latitude_degrees": 90.0, "longitude_degrees": 180.0}


def read_tmy3(path: str | Path) -> TypicalYear:
    """Return the year of a TMY3 file.

    Parameters
    ----------
    path : str or Path
        The file; times 01:00 to 24:00 name the end of the hour, on local standard time [-].

    Returns
    -------
    TypicalYear
        Quantities with too many missing values are left out [-].

    Raises
    ------
    JournalError
        With file, line, column, what was read and what is allowed; up to ten problems, one a line.
    """
    file = Path(path).name
    lines = read_lines(path)
    if len(lines) < 2:
        raise JournalError(
            f"{file} has {len(lines)} lines; allowed is a line for the station, one of headings "
            "and a row for each hour."
        )
    try:
        table = list(csv.reader(lines, strict=True))
    except csv.Error as problem:
        raise JournalError(f"{file} cannot be read ({problem}); close every quote.") from problem
    head, names = table[0], [one.strip() for one in table[1]]
    for needed in NEEDED:
        if needed not in names:
            raise JournalError(
                f"{file}, line 2, column {needed}: missing; allowed is a heading with "
                f"{', '.join(NEEDED)}."
            )
    place = place_numbers(file, head, PLACE_CELLS, PLACE_LIMITS)
    rows = YearRows(file, QUANTITIES)
    for number, typed in enumerate(table[2:], start=3):
        if not any(cell.strip() for cell in typed):
            continue
        cells = dict(zip(names, (one.strip() for one in typed), strict=False))
        date = re.fullmatch(r"(\d{1,2})/(\d{1,2})/(\d{4})", cells.get(DATE, ""))
        time = re.fullmatch(r"(\d{1,2}):00", cells.get(TIME, ""))
        if date is None or time is None:
            column, text, example = (
                (DATE, cells.get(DATE, ""), "01/31/1988")
                if date is None
                else (TIME, cells.get(TIME, ""), "01:00 to 24:00")
            )
            rows.problems.add(number, column, f"read {text!r}; allowed is such as {example}.")
            continue
        values = {one.name: cells.get(one.column, "") for one in QUANTITIES}
        if not _rain_of_one_hour(cells):
            values["rain_mm"] = ""
        rows.add(number, (int(date[3]), int(date[1]), int(date[2]), int(time[1])), values)
    if not rows.years:
        rows.problems.stop()
        raise JournalError(f"{file} has no rows after line 2; allowed is a year of hours.")
    name = ", ".join(one.strip() for one in head[1:3] if one.strip())
    return _rain_in_millimetres(rows.year(name or "no name", **place))


def _rain_in_millimetres(year: TypicalYear) -> TypicalYear:
    """The same year, its rain divided by ten if it cannot be in millimetres."""
    rain = year.values.get("rain_mm")
    if rain is None or rain.sum() <= MOST_RAIN:
        return year
    return replace(
        year,
        values={**year.values, "rain_mm": np.minimum(rain / 10.0, 300.0)},
        notes=(
            *year.notes,
            f"Rain adds up to {rain.sum():.0f} in the file; tenths of a millimetre are assumed.",
        ),
    )


def _rain_of_one_hour(cells: Mapping[str, str]) -> bool:
    """Whether the rain of a row fell in its own hour; sums over longer times are not used."""
    return RAIN_HOURS not in cells or whole_number(cells[RAIN_HOURS]) == 1
