import json
from types import SimpleNamespace

import pytest

from slowfire import cli


@pytest.fixture(name="run")
def run_command(slowfire):
    def run(*arguments, code=0):
        ended, out, err = slowfire("weather", *arguments)
        assert ended == code
        return SimpleNamespace(out=out, err=err)

    return run


def test_twelve_months_fit_a_phone(run):
    lines = run("--town", "graz").out.splitlines()
    assert lines[0].startswith("Graz, Austria at 47.07, 15.44")
    assert "km away" in lines[1]
    table = [line for line in lines if line[:3] in cli.MONTHS]
    assert len(table) == 12
    assert all(len(line.split()) == 9 for line in table)
    assert max(len(line) for line in lines) <= 72
    assert "Assumed" in lines


def test_json_has_the_same(run):
    found = json.loads(run("--latitude", "-33.9", "--longitude", "151.2", "--json").out)
    assert found["source"] == "grid"
    assert len(found["months"]) == 12
    assert found["months"][0]["mean_celsius"] > found["months"][6]["mean_celsius"] + 5
    assert {"cell_distance_km", "climate", "day_to_day_kelvin", "assumptions"} <= set(found)


def test_refusals_go_to_the_error_stream(run):
    for arguments, said in (
        ([], "Say where"),
        (["--town", "Springfield"], "Springfield, IL, United States"),
        (["--latitude", "30", "--longitude", "-45"], "km from"),
        (["--latitude", "95", "--longitude", "0", "--json"], "-90 to 90"),
    ):
        ended = run(*arguments, code=2)
        assert ended.out == ""
        assert said in ended.err
        assert len(ended.err.splitlines()) == 1


def test_writes_a_file(run, tmp_path):
    target = tmp_path / "weather.csv"
    options = ["--town", "Graz", "--start", "2026-03-01", "--days", "3", "--write", str(target)]
    assert "Written to" in run(*options).out
    rows = target.read_text().splitlines()
    assert len(rows) == 1 + 73
    assert rows[0].startswith("when,temperature_celsius,relative_humidity_percent")
    assert rows[1].startswith("2026-02-28 23:00+00:00,")


def test_fourteen_days_ahead_fit_a_phone(run):
    lines = run("--town", "graz", "--ahead").out.splitlines()
    assert lines[0].startswith("Graz, Austria, fourteen days from 20")
    table = [line for line in lines if line[:3] in cli.WEEKDAYS]
    assert len(table) == 14
    assert all(len(line.split()) == 11 for line in table)
    assert max(len(line) for line in lines) <= 72
    assert "Assumed" in lines


def test_json_of_the_days_ahead_names_its_units(run):
    found = json.loads(run("--town", "graz", "--ahead", "--json").out)
    assert len(found["days"]) == 14
    assert set(found["days"][0]) == {
        "date", "usual_celsius", "low_celsius", "middle_celsius", "high_celsius",
        "coldest_celsius", "warmest_celsius", "rain_mm", "rain_chance_percent",
    }  # fmt: skip
    assert found["forecast_age_hours"] is None


def test_a_journal_with_a_forecast_that_cannot_be_had(run, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    (tmp_path / "site.toml").write_text(
        'name = "Yard"\ntimezone = "Europe/Vienna"\nlatitude_degrees = 48.2\n'
        'longitude_degrees = 16.4\n[[bins]]\nname = "Drum"\nshape = "cylinder"\n'
        'inside_diameter_cm = 50\ninside_height_cm = 75\n[weather]\nkind = "grid"\n'
        'forecast_url = "http://127.0.0.1:9/{latitude}/{longitude}"\n'
    )
    (tmp_path / "entries.csv").write_text(
        "when,bin,kind,item,amount,unit\n2026-03-02,Drum,load,kitchen scraps,1,kg\n"
    )
    said = " ".join(run("--journal", str(tmp_path), "--forecast").out.split())
    assert "No forecast could be had from 127.0.0.1:" in said
    assert "Each run has weather of its own" in said


def test_the_days_ahead_begin_today(run):
    for options, said in (
        (["--town", "Graz", "--ahead", "--start", "2026-03-01"], "begin today"),
        (["--town", "Graz", "--forecast"], "give --journal"),
        (["--ahead"], "Say where"),
    ):
        ended = run(*options, code=2)
        assert ended.out == ""
        assert said in ended.err
        assert len(ended.err.splitlines()) == 1
