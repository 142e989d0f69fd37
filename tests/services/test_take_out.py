"""Layers, taking out and sharing out, from an estimate that was made by hand."""

import json
import re
import zlib
from dataclasses import asdict, replace
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import numpy as np
import pytest

from slowfire import records as r
from slowfire.errors import InvalidInput, SlowfireError
from slowfire.garden_beds import GardenBed
from slowfire.reports.sheets import batch_sheet, register_sheet, table_of
from slowfire.services.allot import allotment
from slowfire.services.heat_kills import heat_kills
from slowfire.services.inside import Range
from slowfire.services.kept_results import result_of
from slowfire.services.layers import Heat, LayerFate, LayersResult, Verdict
from slowfire.services.register import register
from slowfire.services.take_out import batches_of, door_verdict, take_out

NOW = datetime(2026, 3, 14, 12, tzinfo=UTC)
SITE = r.Site(
    "Yard",
    "UTC",
    (
        r.Bin("Box", "box", inside_width_cm=50, inside_depth_cm=50, inside_height_cm=90),
        r.Bin("Heap", "heap", inside_width_cm=100, inside_depth_cm=100, inside_height_cm=60),
    ),
    (r.Thermometer("probe", "probe", depth_cm=25.0),),
    {"bucket": 10.0},
    beds=(
        GardenBed("Kale", 4.0, "Kale and chard", 3.0, "dug-in"),
        GardenBed("Apple", 5.0, "Fruit trees and bushes", 8.0),
    ),
)


def verdict(word, chance=None, basis="from assumptions"):
    return Verdict(word, chance, basis, (f"It is {word}.",))


def layer(k, active="no", finished="not shown", chance=0.8, sanitised="no"):
    def up_to(value):
        return Range(0.8 * value * (k + 1), value * (k + 1), 1.2 * value * (k + 1))

    return LayerFate(
        height_cm=10.0 * k,
        thickness_cm=10.0,
        age_days=200.0 - 20.0 * k,
        active=verdict(active, 0.1),
        sanitised=verdict(sanitised, 0.0),
        finished=verdict(finished, chance),
        fit_for_seedlings=verdict("not shown"),
        heat=Heat("US_NOP_VESSEL", "", 0.0, None, 0.0, "no", "no", Range(0.0, 0.0, 0.0)),
        temperature_celsius=Range(15.0, 18.0, 21.0),
        moisture_percent=Range(60.0, 66.0, 72.0),
        c_to_n=Range(14.0, 16.0, 18.0),
        oxygen_uptake_mmol_per_kg_hour=Range(5.0, 8.0, 14.0),
        worms_percent=Range(60.0, 80.0, 90.0),
        up_to={
            "litres": up_to(25.0),
            "kilograms": up_to(15.0),
            "dry_kg": up_to(5.0),
            "nitrogen_g": up_to(100.0),
            "ammoniacal_g": up_to(2.0),
            "phosphorus_g": up_to(15.0),
            "potassium_g": up_to(60.0),
            "carbon_g": up_to(1600.0),
            "chips_litres": up_to(5.0),
        },
    )


def result(*layers):
    return LayersResult(
        "Box", "2026-03-14T12:00+00:00", ("EU",), "rules", ("home",), layers,
        10.0 * len(layers), 12.5, 0.25, 600.0, (), ("Not a legal pass.",),
    )  # fmt: skip


READY = result(*[layer(k) for k in range(4)], *[layer(k, "yes", "no", 0.0) for k in range(4, 9)])


def test_what_is_ready_is_dug_up_to_the_door_and_a_third():
    found = take_out(SITE, [], READY, NOW, door_cm=35.0)
    assert found.ready_cm == 40.0
    assert found.limit == "a third of the stack"
    assert found.dig_cm == pytest.approx(30.0)
    assert (found.litres.low, found.litres.mid) == pytest.approx((60.0, 75.0))
    assert found.barrow_litres.mid == pytest.approx(75.0 * 1.25)
    assert found.batch.nitrogen == pytest.approx(0.3)
    assert found.batch.c_to_n == pytest.approx(16.0)


def test_between_layers_amounts_lie_on_straight_lines():
    found = take_out(SITE, [], READY, NOW, door_cm=25.0)
    assert found.dig_cm == pytest.approx(25.0)
    assert found.kilograms.mid == pytest.approx(37.5)


def test_nothing_is_dug_from_what_still_works():
    active = result(*[layer(k, "yes", "no", 0.0) for k in range(6)])
    found = take_out(SITE, [], active, NOW)
    assert found.dig_cm == 0.0
    assert found.batch is None
    assert "still active" in found.line
    with pytest.raises(InvalidInput, match="Nothing at the door is ready"):
        allotment(SITE, found)


def test_the_worst_of_the_layers_speaks():
    mixed = result(
        layer(0, sanitised="yes"), layer(1, sanitised="not shown"), *[layer(k) for k in range(2, 9)]
    )
    assert take_out(SITE, [], mixed, NOW, door_cm=15.0).verdicts["sanitised"].verdict == "not shown"
    assert take_out(SITE, [], mixed, NOW, door_cm=10.0).verdicts["sanitised"].verdict == "yes"
    assert door_verdict(mixed).startswith("at rest, sanitised by readings")


def measured(cm, when=NOW - timedelta(days=9)):
    change = r.Setting("bin", "box", "door_height_cm", cm)
    return r.Entry(uuid4(), "Box", when, change)


def test_a_door_is_as_high_as_the_bin_says():
    assert take_out(SITE, [], READY, NOW).door_cm == 30.0
    box = replace(SITE.bins[0], door_height_cm=18.0)
    low = replace(SITE, bins=(box, SITE.bins[1]))
    assert take_out(low, [], READY, NOW).door_cm == 18.0
    assert take_out(low, [], READY, NOW, door_cm=12.0).door_cm == 12.0
    assert take_out(low, [measured("22")], READY, NOW).door_cm == 22.0
    later = measured("22", NOW + timedelta(days=1))
    other = replace(measured("22"), payload=r.Setting("bin", "Heap", "door_height_cm", "22"))
    assert take_out(low, [later, other], READY, NOW).door_cm == 18.0


@pytest.mark.parametrize("door", [95.0, 0.5, 4000.0])
def test_a_door_that_cannot_be_is_refused(door):
    with pytest.raises(InvalidInput):
        take_out(SITE, [], READY, NOW, door_cm=door)


def test_an_empty_bin_is_said_to_be_empty():
    with pytest.raises(InvalidInput, match="empty"):
        take_out(SITE, [], result(), NOW)
    assert door_verdict(result()) == ""


def test_plastic_is_tied_to_when_it_went_in():
    look = r.Entry(uuid4(), "Box", NOW - timedelta(days=2), r.Look(plastic="few"))
    found = take_out(SITE, [look], READY, NOW)
    assert "200 days ago" in found.plastic
    assert take_out(SITE, [], READY, NOW).plastic == ""


def test_other_heaps_are_named_with_whether_worms_may_go_there():
    assert take_out(SITE, [], READY, NOW).heaps[0][0] == "Heap"


def test_beds_get_what_lies_at_the_door_trees_first():
    found = take_out(SITE, [], READY, NOW)
    made = allotment(SITE, found)
    by_name = {one.bed: one for one in made.rows}
    assert by_name["Apple"].litres > by_name["Kale"].litres
    assert made.left_litres + sum(one.litres for one in made.rows) == pytest.approx(made.litres)
    wanted = allotment(SITE, found, litres=50.0, fixed_litres={"Kale": 20.0})
    assert {one.bed: round(one.litres) for one in wanted.rows} == {"Kale": 20, "Apple": 30}
    limited = allotment(SITE, found, jurisdictions=["UK", "AT"])
    assert limited.limits[0].startswith("Austria")


@pytest.mark.parametrize(
    "call",
    [
        lambda found: allotment(replace(SITE, beds=()), found),
        lambda found: allotment(SITE, found, litres=-1.0),
        lambda found: allotment(SITE, found, fixed_litres={"Nowhere": 5.0}),
        lambda found: allotment(SITE, found, fixed_litres={"Kale": 1e4}),
        lambda found: allotment(SITE, found, jurisdictions=["Atlantis"]),
        lambda found: allotment(replace(SITE, beds=(GardenBed("Moss", 1.0, "moss"),)), found),
    ],
)
def test_what_cannot_be_shared_out_is_refused_in_words(call):
    with pytest.raises(SlowfireError):
        call(take_out(SITE, [], READY, NOW))


def test_what_was_dug_out_and_used_is_taken_off():
    dug = r.Entry(uuid4(), "Box", NOW - timedelta(days=9), r.DigOut(r.Amount(4, "bucket")))
    moved = r.Entry(
        uuid4(), "Box", NOW - timedelta(days=8), r.DigOut(r.Amount(2, "bucket"), to="Heap")
    )
    used = r.Entry(
        uuid4(), "", NOW - timedelta(days=7), r.Use("2026-03-05", r.Amount(15, "litre"), "Kale")
    )
    assert batches_of(SITE, [dug, moved, used], None) == (("2026-03-05", 25.0),)


def entries():
    load = r.Load((r.LoadItem("food_waste_household_mixed", r.Amount(1.0, "bucket")),))
    probe = r.Reading("probe", r.Temperature(58.0, "C"))
    return [
        r.Entry(uuid4(), "Box", NOW - timedelta(days=5), load, who="Ada"),
        r.Entry(uuid4(), "Box", NOW - timedelta(days=3), probe, note="=1+1"),
        r.Entry(uuid4(), "Box", NOW, r.DigOut(r.Amount(2, "bucket"))),
        r.Entry(uuid4(), "Heap", NOW, r.DigOut(r.Amount(9, "bucket"))),
    ]


def test_the_register_lists_and_adds_up():
    found = register(SITE, entries(), "Box")
    assert [one.what for one in found.rows] == ["load", "reading", "dig out"]
    totals = dict(found.totals)
    assert totals["Compost out"] == "20 L"
    assert totals["Highest probe reading"] == "58 °C"
    assert totals["Food and other wet stuff in"].endswith("kg")
    american = dict(register(replace(SITE, units="us"), entries(), "Box").totals)
    assert american["Compost out"] == "5 gal"
    assert american["Highest probe reading"] == "136 °F"
    assert american["Food and other wet stuff in"].endswith("lb")
    part = register(SITE, entries(), "Box", NOW.date(), NOW.date())
    assert len(part.rows) == 1
    with pytest.raises(InvalidInput):
        register(SITE, entries(), "Box", NOW.date(), NOW.date() - timedelta(days=1))


def test_the_register_speaks_in_words():
    vent = r.Entry(uuid4(), "Box", NOW, r.Vent("lid", "crack"), note="after rain")
    drain = r.Entry(uuid4(), "Box", NOW, r.Drain(r.Amount(0, "litre"), colour="dark"))
    rows = register(SITE, [vent, drain], "Box").rows
    assert [one.words for one in rows] == ["at the lid: a crack; after rain", "the tub was empty"]


def test_what_is_not_sanitised_is_not_said_to_be_unknown():
    hot = [layer(k, sanitised="not shown") for k in range(6)]
    unknown = replace(READY, layers=tuple(hot))
    assert any(one.startswith("Not sanitised") for one in take_out(SITE, [], READY, NOW).words)
    said = take_out(SITE, [], unknown, NOW, anyway=True).words
    assert any(one.startswith("Not shown to be sanitised") for one in said)


def test_sheets_are_pdf_and_tables_compute_nothing():
    found = take_out(SITE, [], READY, NOW)
    assert batch_sheet(found).startswith(b"%PDF")
    assert batch_sheet(found, us=True).startswith(b"%PDF")
    whole = register(SITE, entries(), "Box")
    assert register_sheet(whole).startswith(b"%PDF")
    assert "'=1+1" in table_of([("=1+1", "x")])


def kills(celsius, hours):
    histories = np.zeros((20, 2, 41, 3))
    histories[:, :, : celsius - 39] = hours
    return heat_kills(
        histories, np.zeros(20), since_hour=0.0, until_hour=9.0, longest_gap_hours=30.0
    )


def pdf_text(content):
    """Words of a PDF, by the table of letters of each of its fonts; spaces left out."""
    objects = {
        int(number): body
        for number, body in re.findall(rb"(?s)\n(\d+) 0 obj\n(.*?)\nendobj", content)
    }

    def stream(number):
        body = re.search(rb"(?s)stream\r?\n(.*?)\r?\nendstream", objects[number]).group(1)
        return zlib.decompress(body) if b"FlateDecode" in objects[number] else body

    fonts = {}
    for body in objects.values():
        for name, font in re.findall(rb"/(f\d+) (\d+) 0 R", body):
            table = re.search(rb"/ToUnicode (\d+) 0 R", objects[int(font)])
            if table:
                fonts[name] = {
                    int(code, 16): bytes.fromhex(letters.decode()).decode("utf-16-be")
                    for code, letters in re.findall(
                        rb"<([0-9A-F]{4})> <((?:[0-9A-F]{4})+)>", stream(int(table.group(1)))
                    )
                }
    plain = re.compile(rb"\\([0-7]{1,3}|.)", re.S)
    usual = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}

    def unescaped(found):
        code = found.group(1)
        return bytes([int(code, 8)]) if code[:1].isdigit() else usual.get(code, code)

    told = []
    for number, body in objects.items():
        if b"stream" not in body or b"CMap" in body:
            continue
        letters = {}
        for font, shown in re.findall(
            rb"(?s)/(f\d+) [\d.]+ Tf|\(((?:\\.|[^\\)])*)\)", stream(number)
        ):
            if font:
                letters = fonts.get(font, {})
                continue
            codes = plain.sub(unescaped, shown)
            pairs = zip(codes[::2], codes[1::2], strict=False)
            told += [letters.get(256 * high + low, "") for high, low in pairs]
    return "".join(told).replace(" ", "")


def test_what_would_be_dug_has_the_worst_of_its_layers():
    hot, mild = kills(62, 200.0), kills(52, 2.0)
    layers = tuple(
        replace(one, heat_kills=mild if k == 1 else hot) for k, one in enumerate(READY.layers)
    )
    found = take_out(SITE, [], replace(READY, layers=layers), NOW, door_cm=35.0).heat_kills
    assert found.germs[0].log_reduction == mild.germs[0].log_reduction
    first = take_out(SITE, [], replace(READY, layers=layers), NOW, door_cm=10.0).heat_kills
    assert first.germs[0].log_reduction == Range(6.0, 6.0, 6.0)


def test_a_result_of_an_older_version_has_no_such_figures():
    told = asdict(READY)
    for one in told["layers"]:
        del one["heat_kills"]
    older = result_of(LayersResult, json.dumps(told))
    assert older == READY
    assert take_out(SITE, [], older, NOW).heat_kills is None
    del told["layers"][0]["age_days"]
    with pytest.raises(InvalidInput):
        result_of(LayersResult, json.dumps(told))


@pytest.mark.parametrize("us", [False, True])
def test_the_sheet_tells_what_heat_killed_and_that_it_is_no_proof(us):
    layers = tuple(replace(one, heat_kills=kills(62, 200.0)) for one in READY.layers)
    text = pdf_text(batch_sheet(take_out(SITE, [], replace(READY, layers=layers), NOW), us))
    for words in (
        "What the heat killed, by estimate",
        "these figures are of the model alone",
        "It is no proof and never stands instead of a rule of heat",
        "Salmonella6 or more6 or morenot read",
        "Purslanenot reliably",
        "Clubrootnever promised",
        "Potato cyst nematodenot shown",
        "Nobody read the core and edge",
        "Singh, Jiang and Luo 2010",
        "local codes decide",
    ):
        assert words.replace(" ", "") in text, words
    without = pdf_text(batch_sheet(take_out(SITE, [], READY, NOW), us))
    assert "Batchfrom" in without
    assert "Whattheheatkilled" not in without
