"""Layers of a written bin: four verdicts, readings tied to the material they were taken in."""

import json
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest
from typer.testing import CliRunner

from slowfire.cli import app
from slowfire.cli_use import _kill_lines
from slowfire.errors import SlowfireError
from slowfire.journal import read_journal
from slowfire.services.inside import inside
from slowfire.services.layer_readings import records_of, spots_of
from slowfire.services.layer_tests import judged, trials_of
from slowfire.services.layers import layers

SITE = """\
name = "Yard"
timezone = "UTC"
jurisdictions = ["US"]
[measures_litres]
caddy = 7.0
[[bins]]
name = "Box"
shape = "box"
inside_width_cm = 60.0
inside_depth_cm = 60.0
inside_height_cm = 90.0
wall = [{material = "foam", thickness_mm = 80.0}]
lid = [{material = "foam", thickness_mm = 50.0}]
vent_slot_length_cm = 30.0
[[thermometers]]
name = "core"
kind = "probe"
depth_cm = 15.0
[[thermometers]]
name = "side"
kind = "probe"
depth_cm = 15.0
[weather]
kind = "constant"
mean_celsius = 18.0
"""
FIRST = datetime(2026, 3, 1, 12)
DAYS = 16


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A bin filled at once and read every day, hot for five days at centre and edge."""
    place = tmp_path_factory.mktemp("journal")
    (place / "site.toml").write_text(SITE, "utf-8")
    rows = ["when,bin,kind,item,amount,unit,at,value,note"]
    for item, amount in (("peelings", 14), ("bark_chips_fine", 8), ("grass_clippings_fresh", 4)):
        rows.append(f"{FIRST:%Y-%m-%d %H:%M},Box,load,{item},{amount},caddy,,,")
    for day in range(1, DAYS):
        when = FIRST + timedelta(days=day, hours=3)
        hot = 3 <= day <= 8
        for name, spot, celsius in (("core", "centre", 63), ("side", "edge", 58)):
            read = celsius if hot else 40
            rows.append(f"{when:%Y-%m-%d %H:%M},Box,reading,{name},{read},C,,spot={spot},")
    rows.append(
        f"{FIRST + timedelta(days=DAYS - 1, hours=8):%Y-%m-%d %H:%M},Box,test,cress,,,,"
        "sown=20 sprouted=11 control_sprouted=19 days=5,"
    )
    (place / "entries.csv").write_text("\n".join(rows) + "\n", "utf-8")
    return place


@pytest.fixture(scope="module")
def result(folder):
    return layers(folder, "Box")


def test_every_layer_has_four_verdicts_with_reasons(result):
    assert len(result.layers) >= 2
    for one in result.layers:
        for name in ("active", "sanitised", "finished", "fit_for_seedlings"):
            found = getattr(one, name)
            assert found.verdict in ("yes", "no", "not shown")
            assert found.reasons
        assert one.up_to["litres"].low <= one.up_to["litres"].mid <= one.up_to["litres"].high


def test_a_yes_on_heat_rests_on_readings_and_says_so(result):
    for one in result.layers:
        if one.sanitised.verdict == "yes":
            assert one.sanitised.basis == "from readings"
            assert "core" in one.heat.spot
            assert "side" in one.heat.spot
            assert one.heat.longest_gap_hours is not None
    read = [one for one in result.layers if one.heat.longest_gap_hours is not None]
    assert read
    assert all(one.heat.rule.startswith("US") for one in result.layers)
    assert any("Not a legal pass" in one for one in result.cautions)


def test_layers_and_the_look_inside_tell_one_bin(result, folder):
    """Thick layers hold the thin slices: the same heat, readings carried to both, and water."""
    seen = inside(folder, "Box").layers
    for layer in result.layers:
        low, high = layer.height_cm, layer.height_cm + layer.thickness_cm
        shares = [
            max(min(one.height_cm + one.thickness_cm, high) - max(one.height_cm, low), 0.0)
            for one in seen
        ]
        heat = np.average([one.temperature_centre_celsius.mid for one in seen], weights=shares)
        water = np.average([one.moisture_percent.mid for one in seen], weights=shares)
        assert layer.temperature_celsius.mid == pytest.approx(heat, abs=0.7)
        assert layer.moisture_percent.mid == pytest.approx(water, abs=1.0)
        within = [one.moisture_percent for one, share in zip(seen, shares, strict=True) if share]
        width = np.mean([one.high - one.low for one in within])
        told = layer.moisture_percent
        assert told.high - told.low == pytest.approx(width, rel=0.25)


def test_what_heat_killed_goes_by_readings_of_that_material(result):
    """Read daily for five days at 63 C at the core and 58 C at the edge: days of heat, not 24 h."""
    read = [one for one in result.layers if one.heat_kills.spots]
    assert read
    for one in read:
        germs = {each.id: each for each in one.heat_kills.germs}
        assert one.heat_kills.basis == (
            "from assumptions" if one.heat_kills.unread else "from readings"
        )
        assert germs["salmonella"].log_reduction_read == 6.0
        # 5 days at 58 C, straight lines of log D between 14.4 h at 55 and 9.6 h at 60
        assert germs["e_faecalis"].log_reduction_read == 6.0
    for one in result.layers:
        for each in one.heat_kills.germs:
            if each.log_reduction is not None:
                cuts = each.log_reduction
                assert 0.0 <= cuts.low <= cuts.mid <= cuts.high <= 6.0
                assert cuts.mid <= each.log_reduction_centre.mid


def test_what_stands_above_adds_up(result):
    totals = [one.up_to["kilograms"].mid for one in result.layers]
    assert totals == sorted(totals)
    heights = [one.height_cm for one in result.layers]
    assert heights == sorted(heights)


def test_a_failed_cress_test_speaks_at_the_door(result):
    assert any("cress" in one for one in result.tests)
    assert result.layers[0].fit_for_seedlings.verdict == "no"


def test_readings_are_tied_to_what_lay_there(folder):
    journal = read_journal(folder)
    spots = spots_of(journal, "Box", 24.0 * DAYS, 0.1)
    assert len(spots) == 2 * (DAYS - 1)
    assert {one.place for one in spots} == {"centre", "edge"}
    added = spots[0].added_hours[0]
    assert len(records_of(spots, added, added, 0.3)) == 2
    # material of another day was never read
    assert records_of(spots, added + 200.0, added + 240.0, 0.3) == ()


def test_tests_are_judged_or_refused(folder):
    journal = read_journal(folder)
    when = max(one.when for one in journal.entries)
    (found,) = trials_of(journal, "Box", when)
    assert found.name == "cress"
    assert found.verdict == "fail"
    assert trials_of(journal, "Box", when + timedelta(days=90)) == ()
    from slowfire.kinds import Test
    from slowfire.measures import default_measures

    poor = Test("cress", days=5.0, sown=20, sprouted=18, control_sprouted=9)
    assert judged(poor, default_measures()).verdict == "refused"
    pea = Test("pea", days=20.0, growth="cupped", control_growth="green")
    assert judged(pea, default_measures()).verdict == "fail"


def test_the_command_gives_the_promised_json(folder):
    done = CliRunner().invoke(app, ["layers", str(folder), "--bin", "Box", "--json"])
    told = json.loads(done.stdout)
    assert {"verdict", "probability", "basis", "reasons"} == set(told["layers"][0]["sanitised"])
    kills = told["layers"][0]["heat_kills"]
    coli = kills["germs"][0]
    assert set(coli["log_reduction"]) == {"low", "mid", "high"}
    assert {one["id"] for one in kills["weed_seeds"]} >= {"purslane", "dock", "all"}
    assert {"id", "name", "answer", "why", "source"} == set(kills["plant_diseases"][0])
    text = CliRunner().invoke(app, ["layers", str(folder), "--bin", "Box"]).stdout
    assert "At the base" in text
    assert "What the heat killed, by estimate" in text
    assert "no proof" in text
    assert text.count("Weed seeds, of six kinds:") == len(told["layers"])


def test_layers_that_heat_served_alike_are_said_in_one_line(result):
    alike = tuple(replace(one, heat_kills=result.layers[0].heat_kills) for one in result.layers)
    lines = _kill_lines(replace(result, layers=alike))
    told = [one for one in lines if " cm (" in one]
    assert len(told) == 1
    assert told[0].strip().startswith(f"0 to {result.fill_cm:.0f} cm (")
    assert not any("Not a legal pass" in one for one in lines)


@pytest.mark.parametrize("more", [{"jurisdictions": ["Atlantis"]}, {"rule": "NO_SUCH_RULE"}])
def test_unknown_rules_are_refused(folder, more):
    with pytest.raises(SlowfireError):
        layers(folder, "Box", **more)
