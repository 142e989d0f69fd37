"""The command that shares out: compost to beds, and the liquid beside it, as text and JSON."""

import json

import pytest

BEDS = """
[[beds]]
name = "Apple"
area_m2 = 4.0
planting = "Fruit trees and bushes"
distance_m = 6.0
"""
# what has lain since 2018 is at rest and likely finished
OLD = (
    "2020-02-01 12:00+01:00,Box,stocktake,,40,cm,,"
    '"since=2018-06-01 feed=""1 litre"" mostly=leaves",\n'
)
DRAWN = "2020-03-15 08:00+01:00,Box,drain,,2,litre,,colour=dark smell=none conductivity=6mS/cm,\n"
OLD_KEYS = {"litres", "left_litres", "method", "rows", "words", "limits"}
LIQUID_KEYS = {
    "bin", "at", "tub_holds_litres", "litres", "tub", "spill_dates", "weeks_ahead",
    "measured_ms_per_cm", "words", "advice", "drawn", "assumptions",
}  # fmt: skip


@pytest.fixture
def with_tub(yard):
    """The yard with a tub, beds and what more is written."""

    def write(more="", units="metric", holds=6.0, beds=BEDS):
        folder = yard(more, units)
        site = folder / "site.toml"
        text = site.read_text(encoding="utf-8").replace(
            "vent_slot_length_cm = 30.0", f"vent_slot_length_cm = 30.0\ntub_litres = {holds}"
        )
        site.write_text(text + beds, encoding="utf-8")
        return folder

    return write


def test_the_liquid_alone_needs_no_beds(with_tub, slowfire):
    folder = with_tub(DRAWN, beds="")
    code, out, err = slowfire("allot", str(folder), "--bin", "Box", "--liquid")
    assert code == 0, err
    said = " ".join(out.split())
    assert "In the tub:" in said
    assert "it holds 6 L" in said
    assert "Not used yet: 2 L drawn on 15 March, 15 hours old" in said
    assert "(1 in 4)" in said
    assert all(len(line) <= 72 for line in out.splitlines())


def test_json_of_the_liquid_and_a_target(with_tub, slowfire):
    folder = with_tub(DRAWN, beds="")
    code, out, err = slowfire(
        "allot", str(folder), "--bin", "Box", "--liquid", "--json", "--target", "0.5"
    )
    assert code == 0, err
    found = json.loads(out)["liquid"]
    assert set(found) == LIQUID_KEYS
    assert found["tub_holds_litres"] == 6.0
    assert found["measured_ms_per_cm"] == 6.0
    assert set(found["litres"]) == {"low", "mid", "high"}
    assert found["tub"]["ahead_days"] == pytest.approx(14.0, abs=1.0)
    assert len(found["tub"]["days_to_spill"]) == len(found["spill_dates"]) == 3
    assert found["drawn"][0]["advice"]["parts"] == pytest.approx(12.0)


def test_without_a_tub_size_and_in_us_units(with_tub, slowfire):
    folder = with_tub(DRAWN, units="us", holds=0.0, beds="")
    code, out, err = slowfire("allot", str(folder), "--bin", "Box", "--liquid")
    assert code == 0, err
    said = " ".join(out.split())
    assert "No tub size is written" in said
    assert "0.53 US gal drawn" in said
    assert " L " not in said


@pytest.mark.parametrize("roofed", [True, False])
def test_rain_gets_into_an_open_bin_and_not_under_a_roof(with_tub, slowfire, roofed):
    """The run of the model itself: about 1300 mm a year on a quarter of a square metre."""
    folder = with_tub(beds="")
    site = folder / "site.toml"
    text = site.read_text(encoding="utf-8").replace(
        'kind = "constant"\nmean_celsius = 12.0',
        'kind = "seasonal"\nmean_celsius = 12.0\nnoise_kelvin = 0.0\nrain = "wet"',
    )
    text = text.replace("tub_litres = 6.0", f"tub_litres = 6.0\nroofed = {str(roofed).lower()}")
    site.write_text(text, encoding="utf-8")
    code, out, err = slowfire("allot", str(folder), "--bin", "Box", "--liquid", "--json")
    assert code == 0, err
    rain = json.loads(out)["liquid"]["tub"]["rain_litres"]
    if roofed:
        assert rain == {"low": 0.0, "mid": 0.0, "high": 0.0}
    else:
        # 2 % of what falls on a lid gets in: 50 mm in two weeks on 0.25 m2 are 0.25 L
        assert 0.0 < rain["mid"] < 1.0
        assert rain["high"] > rain["low"]


def test_beds_and_liquid_together_keep_the_old_keys(with_tub, slowfire):
    folder = with_tub(OLD)
    command = ("allot", str(folder), "--bin", "Box", "--litres", "20")
    code, out, err = slowfire(*command, "--json")
    assert code == 0, err
    found = json.loads(out)
    assert set(found) == OLD_KEYS | {"dug_out_percent", "liquid"}
    assert found["litres"] == pytest.approx(20.0)
    assert found["rows"][0]["millimetres"] == pytest.approx(5.0)
    assert found["rows"][0]["mix_litres"] is None
    code, out, _ = slowfire(*command)
    assert code == 0
    assert "Apple (fruit trees and bushes, mulch): 20 L, 5 mm, 1 barrow\n" in out
    assert "Liquid of Box" in out


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("--target", "9"), "allowed is 0.2 to 4 mS/cm"),
        (("--strength", "-1"), "allowed is 0 to 100 mS/cm"),
        ((), "or ask with --liquid"),
    ],
)
def test_what_cannot_be_is_refused_before_the_long_work(with_tub, slowfire, arguments, says):
    folder = with_tub(beds="")
    code, out, err = slowfire("allot", str(folder), "--bin", "Box", *arguments)
    assert code == 2
    assert says in " ".join(err.split())
    assert out == ""
