"""Commands that take a journal: replay, and mixing into a bin."""

import json

import pytest

SITE = """\
name = "Back yard"
timezone = "Europe/Vienna"

[measures_litres]
caddy = 7.0

[materials."Hotel scraps"]
like = "food waste"
moisture_percent = 80

[[bins]]
name = "Box"
shape = "box"
inside_width_cm = 50.0
inside_depth_cm = 50.0
inside_height_cm = 96.0
wall = [{material = "foam", thickness_mm = 60.0}]
lid = [{material = "foam", thickness_mm = 30.0}]
base = [{material = "plastic", thickness_mm = 4.0}]
vent_slot_length_cm = 30.0

[weather]
kind = "constant"
mean_celsius = 12.0
"""
ENTRIES = "id,when,bin,kind,item,amount,unit,at,value,note,who,recorded,corrects\n" + "".join(
    f",2026-03-{day:02d} 18:00+01:00,Box,load,{item},{amount},caddy,,{value},,,,\n"
    for day in (1, 4, 8, 11, 15)
    for item, amount, value in (
        ("food_waste_household_mixed", 1.5, ""),
        ("office_paper_shredded", 0.75, "packing=loose"),
        ("bark_chips_fine", 0.25, ""),
    )
)


@pytest.fixture(name="journal")
def small_journal(tmp_path):
    folder = tmp_path / "yard"
    folder.mkdir()
    (folder / "site.toml").write_text(SITE, encoding="utf-8")
    (folder / "entries.csv").write_text(ENTRIES, encoding="utf-8")
    return str(folder)


@pytest.fixture(name="run")
def run_command(slowfire):
    return slowfire


def test_mixing_into_a_bin_shows_its_outcome(run, journal):
    arguments = ["mix", "food=1 caddy", "--with", "paper,bark", "--loose"]
    code, out, err = run(*arguments, "--into", journal, "--bin", "Box", "--json")
    assert (code, err) == (0, "")
    result = json.loads(out)
    # the site's caddy holds 7 L
    assert result["load"][0]["litres"] == 7.0
    # the journal's loads hold paper and chips, so adding the usual is "as you do it"
    assert result["verdict"] == "fine"
    assert result["add"]
    for key in ("outcome_before", "outcome_after"):
        outcome = result[key]
        assert outcome["days"] == 14.0
        assert 0.0 < outcome["mean_oxygen_percent"] < 21.0
        assert 12.0 < outcome["hottest_celsius"] < 80.0
        assert 40.0 < outcome["moisture_percent"] < 90.0
    assert any(sentence.startswith("In simulation") for sentence in result["why"])


def test_usual_load_into_a_healthy_bin_is_fine(run, journal):
    load = ["mix", "peelings=1 caddy", "paper=0.5 caddy", "bark=0.2 caddy", "--loose"]
    code, out, _ = run(*load, "--with", "paper,bark", "--into", journal, "--bin", "Box")
    assert code == 0
    assert out.splitlines()[0] == "Fine as you do it."


def test_own_materials_of_the_site_are_known(run, journal):
    code, out, _ = run("mix", "Hotel scraps=1 caddy", "--into", journal, "--bin", "Box", "--json")
    assert code == 0
    assert json.loads(out)["before"]["moisture_percent"] == pytest.approx(80.0)


def test_replay_prints_layers(run, journal):
    code, out, err = run("replay", journal, "--bin", "Box")
    assert (code, err) == (0, "")
    assert out.startswith("Box at 2026-03-15T23:00+01:00, in simulation")
    assert "hottest" in out
    assert max(len(line) for line in out.splitlines()) <= 72
    code, out, _ = run("replay", journal, "--bin", "Box", "--at", "2026-03-10", "--json")
    assert code == 0
    result = json.loads(out)
    assert result["at"].startswith("2026-03-10T12:00")
    assert result["layers"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["replay", "JOURNAL", "--bin", "Bix"], "Box"),
        (["replay", "JOURNAL", "--bin", "Box", "--at", "tomorrow"], "is not a date"),
        (["replay", "JOURNAL", "--bin", "Box", "--at", "1999-01-01"], "allowed is"),
        (["replay", "JOURNAL"], "--bin"),
        (["mix", "food=1 caddy", "--into", "JOURNAL", "--bin", "Bix"], "Box"),
        (["mix", "food=1 caddy", "--into", "JOURNAL"], "--bin NAME"),
    ],
)
def test_bad_input(run, journal, arguments, said):
    code, out, err = run(*[journal if one == "JOURNAL" else one for one in arguments])
    assert code == 2
    assert out == ""
    assert said in err
    assert len(err.splitlines()) == 1
