"""Liquid at the base: strength, thinning, refusal, spilling."""

import pytest

from slowfire.errors import InvalidInput
from slowfire.liquid import (
    conductivity_of,
    days_to_spill,
    dilute,
    thinned_by_rain,
    usual_words,
)


def test_without_a_meter_one_in_ten_and_one_in_twenty():
    assert dilute(0.002).water == pytest.approx(0.018)
    assert dilute(0.002, seedlings=True).water == pytest.approx(0.038)


def test_to_a_target():
    made = dilute(0.001, 12.0, "dark", "earthy", target_ms_per_cm=2.0)
    assert made.parts == pytest.approx(6.0)
    assert made.water == pytest.approx(0.005)
    assert made.conductivity == pytest.approx(2.0)
    weak = dilute(0.001, 0.8)
    assert weak.water == 0.0
    assert weak.words == "Weak enough as it is."


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"colour": "yellow"}, "yellow"),
        ({"colour": "clear"}, "clear"),
        ({"smell": "sour"}, "sour"),
        ({"smell": "rotten-egg"}, "rotten-egg"),
        ({"hours_old": 60.0}, "2 days old"),
    ],
)
def test_what_is_off_goes_on_no_plant(more, says):
    made = dilute(0.001, 5.0, **more)
    assert not made.allowed
    assert says in " ".join(made.reasons)


def test_soil_only_is_always_said():
    assert any("soil only" in one for one in dilute(0.001).reasons)


def test_conductivity_rises_with_what_it_carries_and_falls_with_rain():
    one = conductivity_of(0.002, 0.004, 0.0002)
    assert conductivity_of(0.001, 0.004, 0.0002) == pytest.approx(2.0 * one)
    assert thinned_by_rain(one, 0.002, 0.002) == pytest.approx(0.5 * one)


def test_spilling():
    assert days_to_spill(0.01, 0.01, 0.001) == 0.0
    assert days_to_spill(0.0, 0.01, 0.0) == float("inf")


@pytest.mark.parametrize(
    ("litres", "says"),
    [(0.1, "Hardly"), (0.5, "is usual"), (2.0, "more than usual"), (9.0, "much")],
)
def test_how_much_is_usual(litres, says):
    assert says in usual_words(litres / 1000.0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: dilute(-1.0),
        lambda: dilute(0.001, -2.0),
        lambda: dilute(0.001, 5.0, target_ms_per_cm=50.0),
        lambda: thinned_by_rain(5.0, 0.0, 0.0),
        lambda: days_to_spill(0.0, 0.0, 0.1),
        lambda: conductivity_of(0.0, 0.1, 0.1),
    ],
)
def test_what_cannot_be_is_refused(call):
    with pytest.raises(InvalidInput):
        call()


def test_an_estimate_thins_no_less_than_practice_and_more_where_it_is_strong():
    weak = dilute(0.001, 3.0, estimated=True)
    assert weak.parts == pytest.approx(10.0)
    assert any("Nobody measured it" in one for one in weak.reasons)
    strong = dilute(0.001, 30.0, estimated=True)
    assert strong.parts == pytest.approx(20.0)
    assert dilute(0.001, 3.0, estimated=True, seedlings=True).parts == pytest.approx(20.0)
    assert dilute(0.001, 3.0).parts == pytest.approx(2.0)
    assert dilute(0.001, None, estimated=True).conductivity is None


def test_words_in_us_gallons():
    made = dilute(0.003785411784, system="us")
    assert made.words == "Add 9 US gal of water to 1 US gal (1 in 10)."
    assert "US gal a week" in usual_words(0.0005, "us")
    assert " L " not in usual_words(0.008, "us")


def test_a_sip_is_not_written_as_nothing():
    assert "to 0.05 L" in dilute(0.00005).words
