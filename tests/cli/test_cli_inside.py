"""The command that estimates a bin: text, JSON, and what it refuses."""

import json
import sys

import pytest

from slowfire import cli
from slowfire.services import checkpoints, inside
from slowfire.services.checkpoints import Gear

SITE = """\
name = "Back yard"
timezone = "Europe/Vienna"

[measures_litres]
caddy = 7.0

[[bins]]
name = "Box"
shape = "box"
inside_width_cm = 50.0
inside_depth_cm = 50.0
inside_height_cm = 90.0
wall = [{material = "foam", thickness_mm = 40.0}]
lid = [{material = "foam", thickness_mm = 30.0}]
base = [{material = "plastic", thickness_mm = 4.0}]
vent_slot_length_cm = 30.0

[[thermometers]]
name = "long probe"
kind = "probe"
depth_cm = 20.0

[weather]
kind = "constant"
mean_celsius = 12.0
"""
ENTRIES = "when,bin,kind,item,amount,unit,at,value,note\n" + "".join(
    f"2020-03-{day:02d} 18:00+01:00,Box,load,{item},{amount},caddy,,{value},\n"
    for day in (1, 4, 8, 11, 15)
    for item, amount, value in (
        ("food_waste_household_mixed", 1.5, ""),
        ("office_paper_shredded", 0.75, "packing=loose"),
    )
)
READING = "2020-03-15 17:30+01:00,Box,reading,long probe,44,C,20 cm below surface,,\n"
RANGE = {"low", "mid", "high"}


@pytest.fixture(name="journal")
def small_journal(tmp_path):
    folder = tmp_path / "yard"
    folder.mkdir()
    (folder / "site.toml").write_text(SITE, encoding="utf-8")
    (folder / "entries.csv").write_text(ENTRIES + READING, encoding="utf-8")
    return folder


@pytest.fixture(name="run")
def run_command(monkeypatch, capsys, tmp_path):
    """The command with few members, which keeps its ensembles in a folder of the test."""
    few = {"QUICK": Gear("quick", 8, 1, 72.0), "THOROUGH": Gear("thorough", 10, 2, 96.0)}
    for name, gear in few.items():
        monkeypatch.setattr(inside, name, gear)
    monkeypatch.setattr(inside, "default_checkpoint_folder", lambda: tmp_path / "estimates")

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["slowfire", "inside", *arguments])
        with pytest.raises(SystemExit) as end:
            cli.main()
        out, err = capsys.readouterr()
        return end.value.code, out, err

    return run


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
    (journal / "entries.csv").write_text(ENTRIES.splitlines()[0] + "\n" + READING, encoding="utf-8")
    code, out, err = run(str(journal), "--bin", "Box")
    assert (code, out) == (2, "")
    assert "Write a stock-take" in err


def test_checkpoints_lie_beside_the_forecasts(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert checkpoints.default_checkpoint_folder() == tmp_path / "slowfire" / "estimates"
