"""Reads EPW files: eight lines of heading, then a row for each hour of a year."""

from pathlib import Path

from slowfire.errors import JournalError
from slowfire.weather.typical import (
    Quantity,
    TypicalYear,
    YearRows,
    place_numbers,
    read_lines,
    whole_number,
)

HEADING_LINES = 8
FEWEST_CELLS = 22  # up to the wind speed
TIME_CELLS = ("year", "month", "day", "hour")
# Place of each quantity in a row, counted from 0, with the codes that mean missing.
CELLS = {
    6: Quantity("temperature_celsius", "7 (dry bulb)", -60.0, 60.0, "C", missing_from=99.9),
    7: Quantity("dew_point_celsius", "8 (dew point)", -90.0, 60.0, "C", missing_from=99.9),
    8: Quantity(
        "relative_humidity_percent", "9 (relative humidity)", 0.0, 110.0, "%", missing_from=999.0
    ),
    13: Quantity(
        "irradiance_w_per_m2",
        "14 (global horizontal radiation)",
        0.0,
        1500.0,
        "W/m2",
        missing_from=9999.0,
    ),
    21: Quantity("wind_m_per_s", "22 (wind speed)", 0.0, 60.0, "m/s", missing_from=999.0),
    33: Quantity(
        "rain_mm", "34 (liquid precipitation depth)", 0.0, 300.0, "mm", missing_from=999.0
    ),
}
PLACE_CELLS = {"latitude_degrees": 6, "longitude_degrees": 7, "offset_hours": 8}
PLACE_LIMITS = {"latitude_degrees": 90.0, "longitude_degrees": 180.0, "offset_hours": 14.0}


def read_epw(path: str | Path) -> TypicalYear:
    """Return the year of an EPW file.

    Parameters
    ----------
    path : str or Path
        The file; hours 1 to 24 name their end, on local standard time [-].

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
    if not lines or not lines[0].upper().startswith("LOCATION,"):
        raise JournalError(
            f"{file}, line 1, column 1: read {lines[0][:30] if lines else 'nothing'!r}; allowed "
            "is LOCATION, as an EPW file begins."
        )
    head = lines[0].split(",")
    place = place_numbers(file, head, PLACE_CELLS, PLACE_LIMITS)
    _one_row_an_hour(file, lines)
    rows = YearRows(file, tuple(CELLS.values()))
    for number, line in enumerate(lines[HEADING_LINES:], start=HEADING_LINES + 1):
        if not line.strip():
            continue
        cells = [cell.strip() for cell in line.split(",")]
        if len(cells) < FEWEST_CELLS:
            rows.problems.add(
                number,
                str(len(cells)),
                f"the row ends after {len(cells)} cells; allowed is {FEWEST_CELLS} or more, up "
                "to the wind speed.",
            )
            continue
        when = [whole_number(cell) for cell in cells[:4]]
        if None in when:
            at = when.index(None)
            rows.problems.add(
                number, TIME_CELLS[at], f"read {cells[at]!r}; allowed is a whole number."
            )
            continue
        year, month, day, hour = (one or 0 for one in when)
        values = {one.name: cells[at] for at, one in CELLS.items() if at < len(cells)}
        rows.add(number, (year, month, day, hour), values)
    if not rows.years:
        rows.problems.stop()
        raise JournalError(f"{file} has no rows after line {HEADING_LINES}; allowed is a year.")
    name = ", ".join(one.strip() for one in (head[1], head[3]) if one.strip(" -"))
    return rows.year(name or "no name", **place)


def _one_row_an_hour(file: str, lines: list[str]) -> None:
    """Refuse a file whose heading says that it has several rows an hour, or none at all."""
    if len(lines) < HEADING_LINES:
        raise JournalError(
            f"{file} ends in line {len(lines)}; allowed is {HEADING_LINES} lines of heading and "
            "a row for each hour."
        )
    cells = lines[HEADING_LINES - 1].split(",")
    if not cells[0].upper().startswith("DATA PERIODS") or len(cells) < 3:
        raise JournalError(
            f"{file}, line {HEADING_LINES}, column 1: read {cells[0][:30]!r}; allowed is DATA "
            "PERIODS with the number of periods and of rows an hour."
        )
    if whole_number(cells[2]) != 1:
        raise JournalError(
            f"{file}, line {HEADING_LINES}, column 3: read {cells[2].strip()!r} rows an hour; "
            "allowed is 1."
        )
