"""A load judged by two weeks in a bin: 240 L, 60 mm foam, 12 C air."""

import pytest

from slowfire.column.simulate import Column, constant_air
from slowfire.errors import InvalidInput
from slowfire.materials.library import load_library
from slowfire.recipe.optimise import AtHand, optimise
from slowfire.recipe.outcome import Outcome, outcome_penalty, run_outcome, top_layer
from slowfire.services.mix import mix
from slowfire.vessel import Fittings, box

find = load_library().find


def litres(word, volume):
    stuff = find(word)
    return AtHand(stuff, "loose" if stuff.packing_matters else None).portion(volume)


def bin_after(*loads):
    """A bin that was fed these loads, two a week."""
    fittings = Fittings(wall=(("eps", 0.06),), lid=(("eps", 0.03),), vent_slot_length=0.3)
    column = Column(box(0.5, 0.5, 0.96, fittings), constant_air(12.0))
    for load in loads:
        column.load(load, temperature_celsius=15.0)
        column.stir(0.12)
        column.run_to(column.hour + 84.0)
    return column


def healthy():
    usual = [litres("food", 12.0), litres("paper", 6.0), litres("bark", 3.0)]
    return bin_after(*[usual] * 6)


def soggy():
    return bin_after(*[[litres("peelings", 15.0)]] * 6)


@pytest.fixture(scope="module")
def healthy_bin():
    return healthy()


@pytest.fixture(scope="module")
def soggy_bin():
    return soggy()


def advise(column, load):
    hand = [AtHand(find("paper"), "loose"), AtHand(find("bark"))]
    return optimise(load, hand, lambda volume: 1.25, into=top_layer(column), column=column)


def test_usual_load_in_a_healthy_bin_is_fine(healthy_bin):
    # common practice, no source: half a caddy of loose paper and some chips to a caddy
    for word in ("food", "peelings"):
        load = [litres(word, 5.0), litres("paper", 2.5), litres("bark", 0.75)]
        found = advise(healthy_bin, load)
        assert found.verdict == "fine", word
        assert found.outcome_before == found.outcome_after


def test_bare_food_gets_dry_stuff_even_in_a_healthy_bin(healthy_bin):
    found = advise(healthy_bin, [litres("food", 5.0)])
    assert found.verdict == "add"
    assert found.outcome_after.moisture_content_wet_basis <= (
        found.outcome_before.moisture_content_wet_basis + 1e-6
    )


def test_soggy_bin_asks_for_more_than_a_healthy_one(healthy_bin, soggy_bin):
    load = [litres("food", 5.0), litres("paper", 1.25)]
    there, here = advise(soggy_bin, load), advise(healthy_bin, load)
    assert there.cost_before > here.cost_before
    assert sum(p.litres for p in there.additions) >= sum(p.litres for p in here.additions)


def test_the_bin_itself_is_not_changed(healthy_bin):
    before = healthy_bin.state.copy(), healthy_bin.hour, healthy_bin.liquid_litres()
    advise(healthy_bin, [litres("food", 5.0)])
    assert (healthy_bin.state == before[0]).all()
    assert (healthy_bin.hour, healthy_bin.liquid_litres()) == before[1:]


def test_no_room_is_said(healthy_bin):
    load = [litres("food", 400.0)]
    hand = [AtHand(find("paper"), "loose")]
    found = optimise(load, hand, lambda volume: 100.0, column=healthy_bin)
    assert found.verdict == "hold_back"
    assert found.reason == "room"
    assert sum(p.litres for p in found.now) <= healthy_bin.room_litres()


def test_top_layer_is_what_lies_there(healthy_bin):
    layer = top_layer(healthy_bin, 0.15)
    views = healthy_bin.section().layers
    moistures = [one.moisture_content_wet_basis for one in views]
    assert min(moistures) <= layer.moisture_content_wet_basis <= max(moistures)
    assert layer.volume == pytest.approx(0.15 * healthy_bin.vessel.base_area, rel=0.05)
    whole = sum(one.dry_mass for one in views)
    assert top_layer(healthy_bin, 1.0).dry_mass == pytest.approx(whole, rel=1e-6)


def test_empty_bin_has_no_layer_to_stir_into():
    assert top_layer(bin_after()) is None
    found = advise(bin_after(), [litres("food", 5.0), litres("paper", 2.5), litres("bark", 1.0)])
    assert found.verdict == "fine"


def test_weather_of_the_last_week_goes_on():
    import numpy as np

    from slowfire.column.simulate import Air

    hours = np.arange(24 * 10)
    wave = 10.0 + 5.0 * np.sin(2.0 * np.pi * hours / 24.0)
    rest = np.tile([0.75, 1.0, 0.0, 0.0], (len(hours), 1))
    fittings = Fittings(wall=(("eps", 0.06),), lid=(("eps", 0.03),), vent_slot_length=0.3)
    short = Column(box(0.5, 0.5, 0.96, fittings), Air(np.column_stack([wave, rest])))
    long = short.copy()
    long.air = Air(np.tile(short.air.table, (4, 1)))
    for column in (short, long):
        column.load([litres("food", 10.0), litres("paper", 5.0)], temperature_celsius=15.0)
        column.run_to(200.0)
    one, other = run_outcome(short, []), run_outcome(long, [])
    assert one.hottest_celsius == pytest.approx(other.hottest_celsius, abs=0.1)
    assert short.air.table.shape == (240, 6)


def test_penalty_grows_with_what_goes_wrong():
    good = Outcome(14.0, 0.18, 50.0, 0.65, 0.5)
    assert outcome_penalty(good) == 0.0
    for worse in (
        Outcome(14.0, 0.04, 50.0, 0.65, 0.5),
        Outcome(14.0, 0.18, 12.0, 0.65, 0.5),
        Outcome(14.0, 0.18, 76.0, 0.65, 0.5),
        Outcome(14.0, 0.18, 50.0, 0.80, 0.5),
        Outcome(14.0, 0.18, 50.0, 0.40, 0.5),
        Outcome(14.0, 0.18, 50.0, 0.65, 9.0),
    ):
        assert outcome_penalty(worse) > 0.1


def test_length_of_the_run_is_checked(healthy_bin):
    for days in (0.0, 61.0, float("nan")):
        with pytest.raises(InvalidInput):
            run_outcome(healthy_bin, [], days)


def test_full_bin_takes_nothing():
    fittings = Fittings(wall=(("eps", 0.06),), lid=(("eps", 0.03),), vent_slot_length=0.3)
    full = Column(box(0.3, 0.3, 0.3, fittings), constant_air(12.0))
    full.load([litres("soil", 40.0)])
    assert full.room_litres() < 0.0
    result = mix(["food=1 caddy"], ["paper", "bark"], "loose", column=full)
    assert result.verdict == "hold_back"
    assert result.headline == "Hold all of it back: the bin is full."
    assert result.add == ()
    assert result.hold_back.share_percent == 100.0
