"""The command that estimates a bin: text, JSON, and what it refuses."""

import json
from functools import partial

import pytest

from slowfire.services import checkpoints

READING = "2020-03-15 17:30+01:00,Box,reading,long probe,44,C,20 cm below surface,,\n"
RANGE = {"low", "mid", "high"}


@pytest.fixture(name="journal")
def small_journal(yard):
    return yard(READING)


@pytest.fixture(name="run")
def run_command(slowfire):
    return partial(slowfire, "inside")


def test_text_draws_the_stack_and_says_what_next(run, journal):
    code, out, err = run(str(journal), "--bin", "box")
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "Box, Sun 2020-03-15 23:00, estimated"
    assert max(len(line) for line in lines) <= 72
    headings = [line for line in lines if line and line[0].isalpha()]
    assert headings[1:] == [
        one
        for one in (
            "What readings have shown",
            "Please look",
            "Next reading",
            "The days ahead",
            "Assumed",
        )
        if one in headings
    ]
    assert {"Next reading", "The days ahead", "Assumed"} <= set(headings)
    assert any(line.startswith("  |") and "°" not in line for line in lines)


def test_json_has_every_key_in_its_unit(run, journal):
    code, out, err = run(str(journal), "--bin", "Box", "--json")
    assert (code, err) == (0, "")
    found = json.loads(out)
    assert set(found) == {
        "bin", "at", "units", "gear", "members", "hottest_celsius", "lid_celsius", "air_celsius",
        "layers", "fill_cm_below_rim", "bin_height_cm", "tub_litres", "cold_airless_probability",
        "fit", "learned", "questions", "next_reading", "forecast", "assumptions",
        "tub", "dug_out_percent",
    }  # fmt: skip
    assert set(found["hottest_celsius"]) == RANGE
    layer = found["layers"][0]
    for key in ("temperature_centre_celsius", "moisture_percent", "oxygen_percent"):
        assert set(layer[key]) == RANGE
    assert layer["basis"] in ("from readings", "from assumptions")
    assert len(found["forecast"]) == 14
    assert set(found["forecast"][0]) == {
        "date", "hottest_celsius", "air_celsius", "over_70_celsius_percent", "cold_airless_percent",
    }  # fmt: skip
    assert set(found["tub"]) == {
        "liquid_percent", "strength_ms_per_cm", "weekly_litres", "rain_litres", "thinned_ms_per_cm",
        "days_to_spill", "ahead_days",
    }  # fmt: skip
    assert set(found["tub"]["weekly_litres"]) == RANGE
    assert found["fit"]["readings_used"] == 1
    assert found["gear"] == "quick"


def test_thorough_takes_more_bins_and_both_keep_their_ensembles(run, journal, tmp_path):
    code, out, _ = run(str(journal), "--bin", "Box", "--thorough", "--json")
    assert code == 0
    assert json.loads(out)["members"] == 10
    run(str(journal), "--bin", "Box")
    kept = {path.parent.name for path in (tmp_path / "estimates").rglob("*.npz")}
    assert kept == {"quick", "thorough"}


def test_an_earlier_date_is_told_from_what_was_known_then(run, journal):
    code, out, _ = run(str(journal), "--bin", "Box", "--at", "2020-03-09", "--json")
    assert code == 0
    found = json.loads(out)
    assert found["at"].startswith("2020-03-09T12:00")
    assert found["fit"]["basis"] == "from assumptions"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--bin", "Cellar"), "Box"),
        (("--bin", "Box", "--at", "2020-03-20"), "that is a forecast"),
        (("--bin", "Box", "--at", "2020-02-01"), "before the first entry"),
        (("--bin", "Box", "--at", "yesterday"), "is not a date"),
        ((), "--bin"),
    ],
)
def test_refusals_are_one_line_and_leave_the_output_empty(run, journal, arguments, message):
    code, out, err = run(str(journal), *arguments, "--json")
    assert (code, out) == (2, "")
    assert message in err
    assert err.count("\n") == 1


def test_readings_without_any_load_say_what_to_write(run, journal):
    entries = journal / "entries.csv"
    heading = entries.read_text(encoding="utf-8").splitlines()[0]
    entries.write_text(f"{heading}\n{READING}", encoding="utf-8")
    code, out, err = run(str(journal), "--bin", "Box")
    assert (code, out) == (2, "")
    assert "Write a stock-take" in err


def test_checkpoints_lie_beside_the_forecasts(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert checkpoints.default_checkpoint_folder() == tmp_path / "slowfire" / "estimates"
