"""Writes EPW and TMY3 files for tests: a year of hours with plain, made-up values."""

from datetime import datetime, timedelta
from pathlib import Path

EPW_HEAD = [
    "LOCATION,Nutmeg,-,AUT,made up,000000,48.20,16.40,1.0,171.0",
    "DESIGN CONDITIONS,0",
    "TYPICAL/EXTREME PERIODS,0",
    "GROUND TEMPERATURES,0",
    "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
    "COMMENTS 1,made up",
    "COMMENTS 2,",
    "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
]
TMY3_NAMES = (
    "Date (MM/DD/YYYY)", "Time (HH:MM)", "GHI (W/m^2)", "DNI (W/m^2)", "DHI (W/m^2)",
    "Dry-bulb (C)", "Dew-point (C)", "RHum (%)", "Pressure (mbar)", "Wdir (degrees)",
    "Wspd (m/s)", "Lprecip depth (mm)", "Lprecip quantity (hr)",
)  # fmt: skip


def hours(year: int = 2001):
    """Year, month, day and hour 1 to 24 of each hour, with its number from 0."""
    first = datetime(year, 1, 1)
    for number in range(int((datetime(year + 1, 1, 1) - first).total_seconds() // 3600)):
        begin = first + timedelta(hours=number)
        yield number, begin.year, begin.month, begin.day, begin.hour + 1


def values(number: int, hour: int) -> dict[str, float]:
    """A slow rise over the year, a sun from 6 to 18, rain in every tenth hour."""
    return {
        "temperature": round(-5.0 + number / 500.0, 1),
        "dew": round(-8.0 + number / 500.0, 1),
        "humidity": 50 + number % 40,
        "sun": 100 * max(0, 6 - abs(hour - 13)),
        "wind": round(1.0 + (number % 7) / 2.0, 1),
        "rain": 1.0 if number % 10 == 0 else 0.0,
    }


def epw_rows(year: int = 2001) -> list[str]:
    """The rows of an EPW file."""
    rows = []
    for number, y, month, day, hour in hours(year):
        v = values(number, hour)
        cells = [""] * 35
        cells[:6] = [str(y), str(month), str(day), str(hour), "60", "?9"]
        for at, one in ((6, v["temperature"]), (7, v["dew"]), (8, v["humidity"]), (9, 101325)):
            cells[at] = str(one)
        for at in (10, 11, 12, 14, 15, 16, 17, 18, 19, 20, 22, 23, 24, 25, 26, 27, 28, 29, 30, 31):
            cells[at] = "0"
        cells[13], cells[21] = str(v["sun"]), str(v["wind"])
        cells[32], cells[33], cells[34] = "0.2", str(v["rain"]), "1.0"
        rows.append(",".join(cells))
    return rows


def write_epw(path: Path, rows: list[str], head: list[str] | None = None) -> Path:
    """An EPW file of these rows."""
    path.write_text("\n".join([*(head or EPW_HEAD), *rows]) + "\n", encoding="utf-8")
    return path


def tmy3_rows(year: int = 2001) -> list[str]:
    """The rows of a TMY3 file."""
    rows = []
    for number, y, month, day, hour in hours(year):
        v = values(number, hour)
        rows.append(
            f"{month:02d}/{day:02d}/{y},{hour:02d}:00,{v['sun']},0,0,{v['temperature']},{v['dew']},"
            f"{v['humidity']},1013,0,{v['wind']},{v['rain']:g},1"
        )
    return rows


def write_tmy3(path: Path, rows: list[str], head: str | None = None) -> Path:
    """A TMY3 file of these rows."""
    station = '000000,"NUTMEG YARD",NC,-5.0,36.100,-79.950,273'
    path.write_text("\n".join([head or station, ",".join(TMY3_NAMES), *rows]) + "\n")
    return path
