import json
import sys

import pytest

from slowfire import cli


@pytest.fixture(name="run")
def run_command(monkeypatch, capsys):
    def run(*arguments, code=0):
        monkeypatch.setattr(sys, "argv", ["slowfire", "weather", *arguments])
        with pytest.raises(SystemExit) as end:
            cli.main()
        assert end.value.code == code
        return capsys.readouterr()

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
