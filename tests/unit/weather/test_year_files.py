"""EPW and TMY3 files: against pvlib's readers, gaps, missing codes, clocks, and refusals."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pvlib
import pytest
import year_files as made

from slowfire.errors import InvalidInput, JournalError
from slowfire.weather import read_typical_year
from slowfire.weather.epw import read_epw
from slowfire.weather.tmy3 import read_tmy3

VIENNA_STANDARD = timezone(timedelta(hours=1))
PVLIB = Path(pvlib.__file__).parent / "data"


def epw_of_pvlib(path: Path) -> tuple[pd.DataFrame, float]:
    """pvlib marks an hour by its begin; here by its end."""
    table, place = pvlib.iotools.read_epw(path)
    names = {"temp_air": "t", "relative_humidity": "h", "wind_speed": "w", "ghi": "g"}
    return table.rename(columns=names).set_index(table.index + pd.Timedelta(hours=1)), place["TZ"]


def tmy3_of_pvlib(path: Path) -> tuple[pd.DataFrame, float]:
    """pvlib marks an hour by its end, as the file does."""
    table, place = pvlib.iotools.read_tmy3(path, map_variables=True, coerce_year=2001)
    names = {"temp_air": "t", "relative_humidity": "h", "wind_speed": "w", "ghi": "g"}
    return table.rename(columns=names), place["TZ"]


def compare(ambient, table: pd.DataFrame, first: int, count: int) -> None:
    """Hour by hour from a row of pvlib's table on; the sun as mean of two hours."""
    rows = table.iloc[first : first + count + 1].astype({"g": float, "h": float})
    np.testing.assert_allclose(ambient.temperature_celsius[:count], rows["t"][:count], atol=1e-9)
    np.testing.assert_allclose(ambient.relative_humidity[:count], rows["h"][:count] / 100.0)
    np.testing.assert_allclose(ambient.wind_speed[:count], 0.748 * rows["w"][:count])
    sun = 0.5 * (rows["g"].to_numpy()[:-1] + rows["g"].to_numpy()[1:])
    np.testing.assert_allclose(ambient.irradiance[:count], sun)


def test_epw_as_pvlib_reads_it(tmp_path):
    path = made.write_epw(tmp_path / "a.epw", made.epw_rows())
    year = read_epw(path)
    table, offset = epw_of_pvlib(path)
    assert year.offset_hours == offset == 1.0
    assert (year.latitude_degrees, year.longitude_degrees) == (48.2, 16.4)
    ambient = year.ambient(table.index[0].to_pydatetime(), 8750.0)
    compare(ambient, table, 0, 8750)


def test_tmy3_as_pvlib_reads_it(tmp_path):
    path = made.write_tmy3(tmp_path / "a.csv", made.tmy3_rows())
    year = read_tmy3(path)
    table, offset = tmy3_of_pvlib(path)
    assert year.offset_hours == offset == -5.0
    ambient = year.ambient(table.index[0].to_pydatetime(), 8750.0)
    compare(ambient, table, 0, 8750)


@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv"])
def test_real_stations_as_pvlib_reads_them(name):
    year = read_tmy3(PVLIB / name)
    table, _ = tmy3_of_pvlib(PVLIB / name)
    compare(year.ambient(table.index[0].to_pydatetime(), 8750.0), table, 0, 8750)


def test_rain_in_tenths_is_seen_and_said():
    """Greensboro's file adds up to 8345 mm by its heading; its steps are hundredths of an inch.

    A normal year there has about 1090 mm (from memory).
    """
    year = read_tmy3(PVLIB / "723170TYA.CSV")
    air = year.ambient(datetime(2001, 1, 1, 5, tzinfo=UTC), 8759.0)
    assert air.rain_rate.sum() == pytest.approx(1090.0, rel=0.3)
    assert "tenths of a millimetre" in " ".join(air.assumptions)


def test_rain_falls_in_the_hour_that_ends(tmp_path):
    year = read_epw(made.write_epw(tmp_path / "a.epw", made.epw_rows()))
    air = year.ambient(datetime(2001, 1, 1, 0, tzinfo=VIENNA_STANDARD), 24.0)
    assert np.flatnonzero(air.rain_rate).tolist() == [1, 11, 21]
    assert air.rain_rate[1] == 1.0


def test_sun_of_a_day_keeps_its_sum(tmp_path):
    year = read_epw(made.write_epw(tmp_path / "a.epw", made.epw_rows()))
    air = year.ambient(datetime(2001, 6, 1, 0, tzinfo=VIENNA_STANDARD), 24.0)
    assert air.irradiance[:24].sum() == pytest.approx(
        sum(made.values(0, h)["sun"] for h in range(25))
    )


def test_summer_time_moves_nothing(tmp_path):
    """Noon of the sun stays at 12 standard time, 13 on the summer clock."""
    year = read_epw(made.write_epw(tmp_path / "a.epw", made.epw_rows()))
    summer = year.ambient(datetime(2001, 7, 1, 0, tzinfo=ZoneInfo("Europe/Vienna")), 24.0)
    standard = year.ambient(datetime(2001, 6, 30, 23, tzinfo=VIENNA_STANDARD), 24.0)
    np.testing.assert_array_equal(summer.irradiance, standard.irradiance)


def test_any_year_and_its_leap_day(tmp_path):
    """29 February is the day before again, and 1 March is 1 March in every year."""
    year = read_epw(made.write_epw(tmp_path / "a.epw", made.epw_rows()))
    assert "29 February" in " ".join(year.notes)
    leap = year.ambient(datetime(2024, 2, 28, 1, tzinfo=VIENNA_STANDARD), 71.0)
    np.testing.assert_array_equal(leap.temperature_celsius[:24], leap.temperature_celsius[24:48])
    plain = year.ambient(datetime(2023, 2, 28, 1, tzinfo=VIENNA_STANDARD), 47.0)
    np.testing.assert_array_equal(leap.temperature_celsius[48:], plain.temperature_celsius[24:])


def test_a_file_of_a_leap_year_keeps_its_day(tmp_path):
    year = read_epw(made.write_epw(tmp_path / "a.epw", made.epw_rows(2024)))
    assert year.notes == ()
    leap = year.ambient(datetime(2024, 2, 28, 1, tzinfo=VIENNA_STANDARD), 71.0)
    assert not np.array_equal(leap.wind_speed[:24], leap.wind_speed[24:48])


def test_years_follow_each_other(tmp_path):
    year = read_epw(made.write_epw(tmp_path / "a.epw", made.epw_rows()))
    two = year.ambient(datetime(2021, 1, 1, tzinfo=VIENNA_STANDARD), 2 * 8760.0)
    np.testing.assert_array_equal(two.temperature_celsius[1:8761], two.temperature_celsius[8761:])


def test_a_start_inside_an_hour_lies_between(tmp_path):
    year = read_epw(made.write_epw(tmp_path / "a.epw", made.epw_rows()))
    on, half = (
        year.ambient(datetime(2001, 5, 1, 8, minute, tzinfo=VIENNA_STANDARD), 5.0)
        for minute in (0, 30)
    )
    middle = 0.5 * (on.wind_speed[:-1] + on.wind_speed[1:])
    np.testing.assert_allclose(half.wind_speed[:5], middle)


def changed(rows: list[str], number: int, column: int, text: str) -> list[str]:
    """The rows with one cell replaced."""
    cells = rows[number].split(",")
    cells[column] = text
    return [*rows[:number], ",".join(cells), *rows[number + 1 :]]


def test_missing_codes_are_no_values(tmp_path):
    rows = made.epw_rows()
    for number in range(100, 110):
        for column, code in ((6, "99.9"), (8, "999"), (13, "9999"), (21, "999"), (33, "999")):
            rows = changed(rows, number, column, code)
    year = read_epw(made.write_epw(tmp_path / "a.epw", rows))
    said = " ".join(year.notes)
    for name in ("temperature_celsius", "relative_humidity_percent", "irradiance", "wind"):
        assert f"{name}" in said
    air = year.ambient(datetime(2001, 1, 1, tzinfo=VIENNA_STANDARD), 200.0)
    assert air.temperature_celsius[1:].max() < 0.0
    assert air.wind_speed.max() <= 0.748 * 4.0
    assert air.relative_humidity.max() <= 0.9


def test_minus_9900_is_no_value(tmp_path):
    rows = made.tmy3_rows()
    for number in range(100, 110):
        rows = changed(rows, number, 5, "-9900")
    year = read_tmy3(made.write_tmy3(tmp_path / "a.csv", rows))
    air = year.ambient(datetime(2001, 1, 1, 5, tzinfo=UTC), 200.0)
    assert air.temperature_celsius.min() >= -5.0


def test_what_the_file_lacks_is_taken_by_class_and_said(tmp_path):
    rows = made.epw_rows()
    stripped = [",".join([*r.split(",")[:7], "99.9", "999", *r.split(",")[9:33]]) for r in rows]
    stripped = [
        ",".join(c if at != 13 else "9999" for at, c in enumerate(r.split(","))) for r in stripped
    ]
    year = read_epw(made.write_epw(tmp_path / "a.epw", stripped))
    air = year.ambient(datetime(2001, 1, 1, tzinfo=UTC), 8760.0, rain="wet")
    said = " ".join(air.assumptions)
    for part in ("Humidity was not", "Sun was not", "1300 mm a year"):
        assert part in said
    assert air.rain_rate.sum() == pytest.approx(1300.0, rel=0.01)
    stated = year.ambient(datetime(2001, 1, 1, tzinfo=UTC), 48.0, wind="sheltered")
    assert set(stated.wind_speed) == {0.5}


def test_old_letters_are_read(tmp_path):
    path = tmp_path / "a.epw"
    head = [made.EPW_HEAD[0].replace("Nutmeg", "Palmás"), *made.EPW_HEAD[1:]]
    path.write_bytes("\r\n".join([*head, *made.epw_rows()]).encode("latin-1"))
    assert read_epw(path).place == "Palmás, AUT"


def test_the_content_says_what_a_file_is(tmp_path):
    """Whatever the name."""
    epw = made.write_epw(tmp_path / "a.csv", made.epw_rows())
    tmy3 = made.write_tmy3(tmp_path / "b.csv", made.tmy3_rows())
    plain = tmp_path / "c.csv"
    plain.write_text("when,temperature_celsius\n2026-01-01,5\n2026-01-02,5\n")
    found = [read_typical_year(one) for one in (epw, tmy3, plain, tmp_path / "none.csv")]
    assert [one.place if one else None for one in found] == [
        "Nutmeg, AUT",
        "NUTMEG YARD, NC",
        None,
        None,
    ]


EPW = made.epw_rows()
TMY3 = made.tmy3_rows()
BAD_EPW: dict[str, tuple[Callable[[], tuple[list[str], list[str]]], str]] = {
    "no number": (
        lambda: (made.EPW_HEAD, changed(EPW, 5, 6, "warm")),
        r"a.epw, line 14, column 7 \(dry bulb\): read 'warm'",
    ),
    "too hot": (
        lambda: (made.EPW_HEAD, changed(EPW, 5, 6, "75")),
        r"line 14, column 7 \(dry bulb\): read '75'; .* allowed is -60 to 60 C",
    ),
    "negative wind": (
        lambda: (made.EPW_HEAD, changed(EPW, 0, 21, "-3")),
        r"line 9, column 22 \(wind speed\): read '-3'",
    ),
    "month 13": (
        lambda: (made.EPW_HEAD, changed(EPW, 2, 1, "13")),
        "line 11, column time: read month 13",
    ),
    "hour 0": (lambda: (made.EPW_HEAD, changed(EPW, 2, 3, "0")), "hour 0; allowed is a day"),
    "hour x": (lambda: (made.EPW_HEAD, changed(EPW, 2, 3, "x")), "line 11, column hour: read 'x'"),
    "twice": (lambda: (made.EPW_HEAD, [EPW[0], *EPW]), "stands in line 9 too"),
    "short row": (
        lambda: (made.EPW_HEAD, [EPW[0][:30], *EPW[1:]]),
        "line 9, column .*the row ends after",
    ),
    "half a year": (
        lambda: (made.EPW_HEAD, EPW[:4000]),
        r"nothing for \d+ hours from 6/16, hour 17 on",
    ),
    "a lost week": (
        lambda: (made.EPW_HEAD, [*EPW[:2000], *EPW[2168:]]),
        "nothing for 168 hours from 3/25",
    ),
    "no rows": (lambda: (made.EPW_HEAD, []), "no rows after line 8"),
    "no heading": (lambda: (EPW[:3], EPW), "line 1, column 1: read"),
    "cut off": (lambda: (made.EPW_HEAD[:4], []), "ends in line 4"),
    "half-hours": (
        lambda: ([*made.EPW_HEAD[:7], "DATA PERIODS,1,2,Data,Sunday,1/1,12/31"], EPW),
        "line 8, column 3: read '2' rows an hour",
    ),
    "off the globe": (
        lambda: ([made.EPW_HEAD[0].replace("48.20", "148.2"), *made.EPW_HEAD[1:]], EPW),
        "line 1, column 7: read '148.2'",
    ),
    "no place": (
        lambda: (["LOCATION,Nutmeg", *made.EPW_HEAD[1:]], EPW),
        "line 1, column 7: read ''",
    ),
}


@pytest.mark.parametrize("case", BAD_EPW)
def test_bad_epw(case, tmp_path):
    make, said = BAD_EPW[case]
    head, rows = make()
    with pytest.raises(JournalError, match=said):
        read_epw(made.write_epw(tmp_path / "a.epw", rows, head))


BAD_TMY3: dict[str, tuple[Callable[[], list[str]], str]] = {
    "no number": (
        lambda: changed(TMY3, 5, 5, "x"),
        r"a.csv, line 8, column Dry-bulb \(C\): read 'x'",
    ),
    "day": (lambda: changed(TMY3, 5, 0, "2001-01-01"), r"line 8, column Date \(MM/DD/YYYY\): read"),
    "half hour": (
        lambda: changed(TMY3, 5, 1, "06:30"),
        r"line 8, column Time \(HH:MM\): read '06:30'",
    ),
    "humid": (lambda: changed(TMY3, 5, 7, "300"), r"RHum \(%\): read '300'"),
    "no rows": (list, "no rows after line 2"),
}


@pytest.mark.parametrize("case", BAD_TMY3)
def test_bad_tmy3(case, tmp_path):
    make, said = BAD_TMY3[case]
    with pytest.raises(JournalError, match=said):
        read_tmy3(made.write_tmy3(tmp_path / "a.csv", make()))


def test_bad_tmy3_headings(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("1,2,3,4,5,6\nDate (MM/DD/YYYY),Time (HH:MM)\n")
    with pytest.raises(JournalError, match=r"line 2, column Dry-bulb \(C\): missing"):
        read_tmy3(path)
    path.write_text("one line\n")
    with pytest.raises(JournalError, match="has 1 lines"):
        read_tmy3(path)


def test_ten_problems_at_most(tmp_path):
    rows = [changed(EPW, n, 6, "x")[n] for n in range(40)]
    with pytest.raises(JournalError, match="at least 10 problems"):
        read_epw(made.write_epw(tmp_path / "a.epw", [*rows, *EPW[40:]]))


def test_no_file_and_no_offset(tmp_path):
    with pytest.raises(JournalError, match=r"there is no a\.epw"):
        read_epw(tmp_path / "a.epw")
    year = read_epw(made.write_epw(tmp_path / "a.epw", EPW))
    with pytest.raises(InvalidInput, match="add one"):
        year.ambient(datetime(2001, 1, 1))
