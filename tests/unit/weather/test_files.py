"""Measured weather: round trip, gaps, assumptions and refusals."""

from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from slowfire.errors import InvalidInput, JournalError
from slowfire.weather import constant, read_weather, seasonal, write_weather

VIENNA = ZoneInfo("Europe/Vienna")
START = datetime(2026, 3, 27, 22, tzinfo=UTC)


def written(folder: Path, text: str) -> Path:
    """A weather file with this text."""
    path = folder / "weather.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_written_weather_reads_back(tmp_path: Path) -> None:
    """Across the spring clock change; to the six decimals written."""
    made = seasonal(10.0, 20.0, 8.0, hours=96.0, start=START, noise_kelvin=2.0, seed=3)
    write_weather(made, tmp_path / "weather.csv", VIENNA)
    back = read_weather(tmp_path / "weather.csv", VIENNA)
    assert back.start == START
    assert back.assumptions == ()
    np.testing.assert_array_equal(back.hours, made.hours)
    for name in ("temperature_celsius", "relative_humidity", "wind_speed", "irradiance"):
        np.testing.assert_allclose(getattr(back, name), getattr(made, name), atol=1e-6)
    np.testing.assert_allclose(back.rain_rate[1:], made.rain_rate[1:], atol=1e-6)
    with pytest.raises(InvalidInput, match="has no start"):
        write_weather(constant(5.0), tmp_path / "x.csv", VIENNA)


def test_what_was_not_measured_is_assumed_and_said(tmp_path: Path) -> None:
    """Only a temperature in F: four assumptions, each a sentence, and gaps told."""
    path = written(
        tmp_path,
        "when,temperature_fahrenheit\n2026-03-01 12:00,50\n2026-03-01 00:00,32\n2026-03-02,68\n",
    )
    air = read_weather(path, VIENNA, rain="wet", wind="sheltered")
    assert air.start == datetime(2026, 2, 28, 23, tzinfo=UTC)
    assert air.temperature_celsius[[0, 6, 12, 24, 36]] == pytest.approx([0, 5, 10, 15, 20])
    assert len(air.assumptions) == 5
    said = " ".join(air.assumptions)
    for part in ("interpolated", "Humidity was not", "0.5 m/s (sheltered)", "1300 mm", "Sun was"):
        assert part in said
    assert 0.05 <= air.relative_humidity.min() <= air.relative_humidity.max() <= 1.0


def test_rain_keeps_its_total(tmp_path: Path) -> None:
    """6 mm fallen since the row three hours before are 2 mm in each of these hours."""
    path = written(
        tmp_path,
        "when;temperature_celsius;rain_mm\n"
        "2026-03-01 06:00;5,5;9\n2026-03-01 09:00;5,5;6\n2026-03-01 10:00;;0,5\n",
    )
    air = read_weather(path, VIENNA)
    assert air.rain_rate == pytest.approx([0, 2, 2, 2, 0.5])
    assert "temperature_celsius was interpolated where it is missing." in air.assumptions


REFUSED = {
    "hot": ("2026-03-01 01:00,95,", "line 3, column temperature_celsius: read '95'", "60 C"),
    "fahrenheit": ("2026-03-01 01:00,95,", "If it is in Fahrenheit", "temperature_fahrenheit"),
    "nan": ("2026-03-01 01:00,nan,", "line 3, column temperature_celsius: read 'nan'", "such as"),
    "humid": ("2026-03-01 01:00,5,120", "column relative_humidity_percent: read '120'", "100 %"),
    "comma": ('2026-03-01 01:00,"5,5",', "read '5,5'", "decimal point"),
    "time": ("1.3.2026 01:00,5,", "line 3, column when: read '1.3.2026 01:00'", "2026-03-12"),
    "twice": ("2026-03-01 00:00,5,", "line 3, column when", "a time met before"),
    "gap": ("2026-03-03 01:00,5,", "nothing from 2026-02-28 23:00 to 2026-03-03 00:00", "48 h"),
    "too many": ("2026-03-01 01:00,5,50,7", "line 3, column 4", "allowed is 3"),
}  # fmt: skip


@pytest.mark.parametrize("case", sorted(REFUSED))
def test_bad_rows_are_refused_where_they_stand(tmp_path: Path, case: str) -> None:
    """File, line, column, what was read and what is allowed."""
    row, where, allowed = REFUSED[case]
    head = "when,temperature_celsius,relative_humidity_percent\n2026-03-01 00:00,5,80\n"
    path = written(tmp_path, f"{head}{row}\n")
    with pytest.raises(JournalError) as caught:
        read_weather(path, VIENNA)
    assert str(caught.value).startswith("weather.csv")
    assert where in str(caught.value)
    assert allowed in str(caught.value)


def test_bad_files_are_refused(tmp_path: Path) -> None:
    """No temperature, two of them, one row, nothing in a column, unknown column, huge, missing."""
    hours = "".join(f"2026-03-01 {hour:02d}:00,,\n" for hour in range(3))
    cases = [
        ("when,rain_mm\n2026-03-01,1\n", "read no temperature; allowed is one of"),
        (
            "when,temperature_celsius,temperature_fahrenheit\n",
            "temperature_fahrenheit; allowed",
        ),
        ("when,temperature_celsius\n2026-03-01,1\n", "has 1 rows; allowed is 2 or more"),
        (f"when,temperature_celsius,rain_mm\n{hours}", "column temperature_celsius: read nothing"),
        ("when,temperature\n", "allowed is when, temperature_celsius"),
        ("", "weather.csv is empty"),
    ]
    for text, said in cases:
        with pytest.raises(JournalError, match=said):
            read_weather(written(tmp_path, text), VIENNA)
    with open(tmp_path / "weather.csv", "wb") as stream:
        stream.truncate(50_000_000)
    with pytest.raises(JournalError, match=r"50.0 MB; allowed is up to 16 MB"):
        read_weather(tmp_path / "weather.csv", VIENNA)
    with pytest.raises(JournalError, match=r"there is no nowhere.csv"):
        read_weather(tmp_path / "nowhere.csv", VIENNA)


def test_a_long_gap_of_one_column_is_refused_also_at_the_ends(tmp_path: Path) -> None:
    """Sun measured on the first day only says nothing about the fourth."""
    suns = ((1, "90"), (2, ""), (3, ""), (4, ""))
    rows = "".join(f"2026-03-0{day},5,{sun}\n" for day, sun in suns)
    path = written(tmp_path, f"when,temperature_celsius,irradiance_w_per_m2\n{rows}")
    with pytest.raises(JournalError, match="column irradiance_w_per_m2: nothing from 2026-03-01"):
        read_weather(path, VIENNA)
