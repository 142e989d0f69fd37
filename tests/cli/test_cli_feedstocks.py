import json

import pytest

from slowfire.materials.library import load_library


@pytest.fixture(name="run")
def run_command(slowfire):
    def run(*arguments):
        code, out, _ = slowfire("feedstocks", *arguments)
        assert code == 0
        return out

    return run


def test_table_lists_every_material(run):
    lines = run().splitlines()
    assert len(lines) == 1 + len(load_library().feedstocks)
    assert max(len(line) for line in lines) <= 72
    assert lines[0].split() == ["material", "water", "%", "C:N", "kg/m3", "name"]


def test_sheet_shows_spread_and_source(run):
    out = run("peelings")
    # NASEM-2021 and NRAES-54 stand behind the row; 78 to 92 % is its published spread of water
    assert "water, as added            85       78       92  %" in out
    for heading in ("Mind", "Source (found)", "Spread"):
        assert f"\n{heading}\n" in out
    assert max(len(line) for line in out.splitlines()) <= 72


def test_words_may_come_apart(run):
    assert run("shredded", "paper").startswith("Office paper, shredded")


def test_a_word_for_several_lists_them(run):
    out = run("manure")
    assert len(out.splitlines()) > 3
    assert "horse_manure_straw" in out


def test_minerals_show_no_ratio(run):
    assert "Left out of C:N" in run("wood ash")


def test_json_is_the_same_list(run):
    rows = json.loads(run("--json"))
    assert {row["feedstock"] for row in rows} == {item.id for item in load_library().feedstocks}
    for row in rows:
        for quantity in row["quantities"]:
            if quantity["low"] is not None and quantity["value"] is not None:
                assert quantity["low"] <= quantity["value"] <= quantity["high"], row["feedstock"]
    one = json.loads(run("paper", "--json"))
    assert [row["feedstock"] for row in one] == ["office_paper_shredded"]
