"""The bin as others use it: acts, refusals, heat history, layers and their life."""

import math

import numpy as np
import pytest

from slowfire.column.contents import load_contents, pool_oxidation
from slowfire.column.parameters import default_parameters, priors
from slowfire.column.positions import (
    ADDED_SOFT,
    ADDED_WOOD,
    CURRENT,
    HEAD_OXYGEN,
    LONGEST,
    N_AMMONIACAL,
    N_RAPID,
    OXYGEN,
    RAPID,
    SETTLED,
    TEMPERATURE,
    TOTAL,
    WATER,
    WOOD,
)
from slowfire.column.simulate import Air, Column, constant_air
from slowfire.errors import InvalidInput, UnknownName
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.vessel import Fittings, box


def portion(word: str, litres: float) -> Portion:
    stuff = load_library().find(word)
    return Portion(stuff, litres * stuff.bulk_density / 1000.0, litres, "loose")


def column(air: float = 12.0) -> Column:
    return Column(box(0.5, 0.5, 0.9, Fittings(vent_slot_length=0.3)), constant_air(air))


def hot_column() -> Column:
    bin_ = column()
    bin_.load(
        [portion("food", 40.0), portion("shredded paper", 20.0), portion("bark chips", 8.0)],
        temperature_celsius=25.0,
    )
    bin_.run_to(24.0 * 5)
    assert bin_.section().hottest_celsius > 45.0
    return bin_


def test_a_thick_load_is_split_into_layers_of_three_centimetres():
    bin_ = column()
    bin_.load([portion("food", 15.0)])
    # 15 L over 0.25 m2 stand 6 cm high
    assert bin_.layers == 2
    bin_.load([portion("food", 1.0)])
    assert bin_.layers == 3
    assert [layer.number for layer in bin_.section().layers] == [0, 0, 1]


def test_what_goes_in_is_what_is_there():
    bin_ = column()
    food = portion("food", 10.0)
    chips = portion("bark chips", 2.0)
    bin_.load([food, chips])
    rows = bin_.state[: bin_.layers]
    stuff = food.feedstock
    dry = food.mass * (1.0 - stuff.moisture_content_wet_basis)
    dry_chips = chips.mass * (1.0 - chips.feedstock.moisture_content_wet_basis)
    assert rows[:, WATER].sum() == pytest.approx(food.mass + chips.mass - dry - dry_chips)
    assert rows[:, WOOD].sum() == pytest.approx(dry_chips * chips.feedstock.volatile_solids)
    assert rows[:, RAPID : RAPID + 5].sum() == pytest.approx(dry + dry_chips)
    nitrogen = rows[:, [*range(N_RAPID, N_RAPID + 4), N_AMMONIACAL]].sum()
    expected = dry * stuff.nitrogen_content + dry_chips * chips.feedstock.nitrogen_content
    assert nitrogen == pytest.approx(expected)


def test_no_pool_holds_more_nitrogen_than_protein():
    row = load_contents([portion("feathers", 10.0)], default_parameters(), 12.0)
    for pool in range(3):
        assert row[N_RAPID + pool] <= 0.16 * row[RAPID + pool] + 1e-12


@pytest.mark.parametrize("mass", [0.0, 2.2e-313, 1e-12])
def test_a_load_of_nothing_changes_nothing(mass):
    bin_ = column()
    bin_.load([portion("food", 10.0)])
    row = load_contents([portion("food", 10.0)], default_parameters(), 12.0)
    bin_.load_row(row * mass)
    assert len({layer.number for layer in bin_.section().layers}) == 1
    bin_.run_to(24.0)
    assert np.isfinite(bin_.state[: bin_.layers]).all()


def test_loads_that_make_no_sense_are_refused():
    bin_ = column()
    with pytest.raises(InvalidInput, match="at least one material"):
        bin_.load([])
    with pytest.raises(InvalidInput, match="Temperature of the load is 95 C"):
        bin_.load([portion("food", 1.0)], temperature_celsius=95.0)
    with pytest.raises(InvalidInput, match="Days in the caddy"):
        bin_.load([portion("food", 1.0)], days_in_caddy=-1.0)


@pytest.mark.parametrize(
    ("act", "message"),
    [
        (lambda c: c.run_to(-1.0), "Cannot run back"),
        (lambda c: c.set_vent(0.7), "Vent opening is 0.7 m; allowed is 0 to 0.5 m"),
        (lambda c: c.set_vent(math.nan), "Vent opening is nan"),
        (lambda c: c.set_inlet(2.0), "Open share of the inlet"),
        (lambda c: c.stir(-0.1), "Stirring depth"),
        (lambda c: c.stir(0.1, 1.5), "Extent of stirring"),
        (lambda c: c.water(-1.0), "Water is -1 L"),
        (lambda c: c.place_bottle(50.0, 80.0), "Bottle is 50 L"),
        (lambda c: c.place_bottle(2.0, 180.0), "Temperature of the bottle"),
        (lambda c: c.set_cover(-1.0), "Resistance of the cover"),
        (lambda c: c.set_forced_air(-0.1), "Blown air"),
        (lambda c: c.dig_out(), "either litres or kilograms"),
        (lambda c: c.dig_out(litres=1.0, kilograms=1.0), "either litres or kilograms"),
        (lambda c: c.dig_out(litres=-5.0), "Amount dug out"),
        (lambda c: c.drain_tub(-1.0), "Liquid drawn off"),
    ],
)
def test_acts_refuse_what_cannot_be(act, message):
    with pytest.raises(InvalidInput, match=message):
        act(column())


def test_weather_that_is_no_weather_is_refused():
    with pytest.raises(InvalidInput, match="five or six columns"):
        Air(np.zeros((3, 4)))
    with pytest.raises(InvalidInput, match="five or six columns"):
        Air(np.zeros((3, 7)))
    with pytest.raises(InvalidInput, match="not a number"):
        Air(np.full((3, 5), np.nan))
    with pytest.raises(InvalidInput, match="Air temperature is 99 C"):
        constant_air(99.0)


def test_walls_get_half_of_the_level_sun_unless_theirs_is_given():
    level = np.array([[12.0, 0.7, 1.0, 0.0, 300.0]])
    assert Air(level).table[0, 5] == 150.0
    assert Air(np.hstack([level, [[90.0]]])).table[0, 5] == 90.0


def test_parameters_are_asked_for_by_name_and_range():
    assert default_parameters(rate_rapid=0.3).rate_rapid == 0.3
    with pytest.raises(UnknownName, match="rate_fast"):
        default_parameters(rate_fast=0.3)
    with pytest.raises(InvalidInput, match="rate_rapid is 9"):
        default_parameters(rate_rapid=9.0)
    assert set(priors()) == set(default_parameters()._fields)


def test_pool_formulas_hold_no_nitrogen():
    assert all(pool.ammonia == 0.0 for pool in pool_oxidation())


class TestHeatHistory:
    def test_hours_are_nested_and_runs_are_within_totals(self):
        bin_ = hot_column()
        history = bin_.history[: bin_.layers]
        assert history[:, :, 0, TOTAL].max() > 24.0
        # hotter degrees cannot have been held longer
        assert (np.diff(history[:, :, :, TOTAL], axis=2) <= 0.0).all()
        assert (history[:, :, :, LONGEST] <= history[:, :, :, TOTAL]).all()
        assert (history[:, :, :, CURRENT] <= history[:, :, :, LONGEST]).all()

    def test_the_edge_is_never_credited_with_more_than_the_centre(self):
        history = hot_column().history
        assert (history[:, 1, :, TOTAL] <= history[:, 0, :, TOTAL]).all()

    def test_cooling_ends_the_run_but_keeps_the_longest(self):
        bin_ = hot_column()
        longest = bin_.history[: bin_.layers, :, :, LONGEST].copy()
        bin_.turn()
        bin_.state[: bin_.layers, TEMPERATURE] = 5.0
        bin_.run_to(bin_.hour + 1.0)
        assert not bin_.history[: bin_.layers, :, :, CURRENT].any()
        assert longest.max() > 0.0

    def test_stirring_keeps_the_colder_history(self):
        bin_ = hot_column()
        colder = bin_.history[: bin_.layers, :, :, TOTAL].min(axis=0)
        bin_.load([portion("food", 5.0)])
        bin_.stir(5.0)
        assert not bin_.history[: bin_.layers].any()
        again = hot_column()
        again.stir(5.0)
        assert (again.history[: again.layers, :, :, TOTAL] == colder).all()

    def test_stirring_nothing_changes_nothing(self):
        bin_ = hot_column()
        before = bin_.history.copy()
        bin_.stir(0.0)
        bin_.stir(0.3, 0.0)
        assert (bin_.history == before).all()


def test_stirring_neither_merges_nor_loses_layers():
    bin_ = hot_column()
    added = bin_.state[: bin_.layers, [ADDED_SOFT, ADDED_WOOD]].sum(axis=1)
    layers = bin_.layers
    bin_.stir(0.02, 0.7)
    assert bin_.layers == layers
    kept = bin_.state[:layers, [ADDED_SOFT, ADDED_WOOD]].sum(axis=1)
    assert kept == pytest.approx(added)
    assert bin_.state[layers - 1, SETTLED] < bin_.state[0, SETTLED]
    assert bin_.state[layers - 1, OXYGEN] == pytest.approx(0.2095)


def test_digging_out_everything_leaves_an_empty_bin():
    bin_ = hot_column()
    mass = bin_.state[: bin_.layers, RAPID : RAPID + 5].sum()
    dug = bin_.dig_out(litres=1e4)
    assert bin_.layers == 0
    assert dug[RAPID : RAPID + 5].sum() == pytest.approx(mass)
    bin_.run_to(bin_.hour + 48.0)
    section = bin_.section()
    assert section.layers == ()
    assert section.hottest_layer == -1
    assert section.lid_celsius == pytest.approx(12.0, abs=0.5)


def test_digging_takes_the_base_first():
    bin_ = column()
    for _ in range(3):
        bin_.load([portion("food", 5.0)])
    bin_.run_to(24.0)
    bin_.dig_out(kilograms=2.2)
    assert [layer.number for layer in bin_.section().layers] == [1, 2]


def test_opening_the_lid_lets_fresh_air_in():
    bin_ = hot_column()
    assert bin_.bin_state[HEAD_OXYGEN] < 0.209
    bin_.open_lid()
    assert bin_.bin_state[HEAD_OXYGEN] == pytest.approx(0.2095)


def test_a_copy_goes_its_own_way():
    bin_ = hot_column()
    twin = bin_.copy()
    twin.water(5.0)
    twin.run_to(twin.hour + 24.0)
    assert bin_.hour == 24.0 * 5
    assert twin.state[: twin.layers, WATER].sum() > bin_.state[: bin_.layers, WATER].sum()


def test_liquid_is_drawn_only_as_far_as_there_is_some():
    bin_ = column()
    bin_.load([portion("cucumber", 60.0)])
    bin_.run_to(24.0 * 10)
    there = bin_.section().tub_litres
    assert there > 0.2
    assert bin_.drain_tub(0.1) == pytest.approx(0.1)
    assert bin_.drain_tub(100.0) == pytest.approx(there - 0.1)
    assert bin_.drain_tub(1.0) == 0.0


def test_a_bin_without_any_opening_runs_out_of_air():
    tight = box(0.5, 0.5, 0.9)._replace(lid_leak_area=0.0, inlet_area=0.0, lid_exchange=0.0)
    bin_ = Column(tight, constant_air(12.0))
    bin_.set_vent(0.0)
    bin_.load([portion("food", 10.0)])
    bin_.run_to(24.0 * 20)
    section = bin_.section()
    assert section.lid_oxygen < 1e-6
    assert section.draft == 0.0
    assert np.isfinite(bin_.state[: bin_.layers]).all()


def test_heaping_over_the_rim_is_told():
    bin_ = column()
    assert bin_.room_litres() == pytest.approx(225.0)
    bin_.load([portion("wheat straw", 300.0)])
    assert bin_.room_litres() < 0.0
    assert bin_.section().fill_below_rim < 0.0
