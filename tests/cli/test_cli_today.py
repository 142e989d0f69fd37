"""The command that says what to do today: text, JSON, a complaint, and what it refuses."""

import json
from functools import partial

import pytest


@pytest.fixture(name="journal")
def small_journal(yard):
    return yard(units="us")


@pytest.fixture(name="run")
def run_command(slowfire):
    return partial(slowfire, "today")


def test_text_says_what_to_do_first_then_the_bin(run, journal):
    code, out, err = run(str(journal), "--bin", "box")
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "Box, Sunday 15 March 2020"
    assert max(len(line) for line in lines) <= 72
    assert lines[2]
    assert any(line.startswith("Look again ") for line in lines)
    assert any(line.startswith("How sure: ") for line in lines)
    assert any(line.startswith("  |") for line in lines)
    assert any(line.startswith("  door: not ready") for line in lines)
    assert "°F" in out
    assert "°C" not in out
    assert "Last load today: one and a half caddies of household food waste" in out


def test_json_holds_all_that_the_page_needs(run, journal):
    code, out, err = run(str(journal), "--bin", "Box", "--json")
    assert (code, err) == (0, "")
    found = json.loads(out)
    assert set(found) == {"day", "today", "complaint", "scores"}
    seen = found["today"]
    for key in (
        "headline", "why", "look_again", "look_on", "expect", "action", "cautions", "action_sure",
        "lid", "vent", "zones", "marks", "door", "room", "sure", "reminders", "age",
    ):  # fmt: skip
        assert key in seen, key
    assert found["complaint"] is None
    assert set(seen["zones"][0]) >= {"word", "low", "mid", "high", "what", "from_readings"}


def test_a_complaint_gets_causes_and_one_check(run, journal):
    code, out, _ = run(str(journal), "--bin", "Box", "--not-right", "rats or mice")
    assert code == 0
    assert "Not right: rats or mice" in out
    assert out.count("Check: ") == 1
    assert "leptospirosis" in out


def test_a_piece_of_advice_that_was_done_is_judged(run, journal):
    row = "2020-03-11 18:30+01:00,Box,advice,tub,,,,answer=done,\n"
    drain = "2020-03-11 18:30+01:00,Box,drain,,2,litre,,colour=dark,\n"
    with (journal / "entries.csv").open("a", encoding="utf-8") as entries:
        entries.write(row + drain)
    code, out, _ = run(str(journal), "--bin", "Box")
    assert code == 0
    assert "Did it work?" in out
    assert "tub: worked." in out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--bin", "Shed"], "Box"),
        (["--bin", "Box", "--not-right", "sad"], "rats or mice"),
        (["--bin", "Box", "--at", "2021-01-01"], "forecast"),
    ],
)
def test_bad_input_is_one_line_with_what_is_allowed(run, journal, arguments, message):
    code, out, err = run(str(journal), *arguments)
    assert (code, out) == (2, "")
    assert message in err
    assert len(err.splitlines()) == 1
