"""Books and bounds of bins with one trouble each."""

import numpy as np
import pytest
from bin_checks import check_books, check_bounds
from hypothesis import given, settings
from hypothesis import strategies as st
from plain_bins import BARK, FOOD, PAPER, fed, feed, foam_bin, litres
from random_journals import portion, weather_table

from slowfire.column.ledger import books, stored
from slowfire.column.positions import (
    L_HEAT_BOTTLE,
    L_LIQUID_OUT,
    L_OXYGEN_USED,
    L_WATER_DUG,
    L_WATER_IN,
    REVERSED_HOURS,
    TEMPERATURE,
    TUB_WATER,
)
from slowfire.column.simulate import Air, Column, constant_air
from slowfire.vessel import Fittings, box, heap, taper


def check_all(column: Column) -> None:
    check_bounds(column)
    check_books(books(None, column))


class TestFrost:
    @pytest.mark.parametrize("celsius", [0.0, 5.0, 20.0])
    @pytest.mark.parametrize("kilograms", [0.02, 0.125, 0.5])
    def test_a_thin_wet_layer_on_a_frozen_bed_stays_above_the_air(self, celsius, kilograms):
        closed = Fittings(wall=(("eps", 0.0625),), lid=(("eps", 0.03),), base=(), lid_fit="tight")
        column = Column(box(1.0, 0.5, 1.0, closed), constant_air(-20.0))
        column.load((portion(0, 1.0),), temperature_celsius=0.0)
        column.run_to(24.0)
        column.load((portion(6, kilograms),), temperature_celsius=celsius)
        coldest = 0.0
        for _ in range(6):
            column.run_to(column.hour + 0.1)
            coldest = min(coldest, column.state[: column.layers, TEMPERATURE].min())
        assert coldest > -20.5


class TestEmptyBins:
    @pytest.mark.parametrize("air", [-20.0, 12.0, 40.0])
    def test_air_alone(self, air):
        column = Column(foam_bin(), constant_air(air, rain=2.0))
        column.run_to(96.0)
        check_all(column)

    def test_every_act_on_nothing(self):
        column = Column(foam_bin(), constant_air(8.0))
        column.stir(0.2)
        column.poke()
        column.turn()
        column.water(5.0)
        column.place_bottle(2.0, 80.0)
        assert column.dig_out(kilograms=10.0).sum() == 0.0
        column.drain_tub(3.0)
        column.set_forced_air(0.001)
        column.run_to(48.0)
        assert column.layers == 0
        check_all(column)

    def test_emptied_and_filled_again(self):
        column = fed(Column(foam_bin(), constant_air(12.0)), 9)
        column.dig_out(kilograms=1e5)
        assert column.layers == 0
        column.run_to(column.hour + 48.0)
        feed(column, 5.0)
        column.run_to(column.hour + 48.0)
        check_all(column)
        assert column.ledger[L_WATER_DUG] > 3.0


class TestWeather:
    def test_frozen_through(self):
        column = fed(Column(foam_bin(wall=(("timber", 0.02),)), constant_air(12.0)), 12)
        warm = column.copy()
        column.air = constant_air(-20.0)
        column.run_to(column.hour + 20 * 24.0)
        assert column.state[: column.layers, TEMPERATURE].min() < -2.0
        check_bounds(column)
        check_books(books(warm, column))

    def test_thawed_by_heat_of_forty_degrees(self):
        column = Column(foam_bin(), constant_air(40.0, irradiance=800.0, wind_speed=5.0))
        feed(column, 20.0, temperature_celsius=-15.0)
        column.run_to(240.0)
        assert column.state[: column.layers, TEMPERATURE].min() > 20.0
        check_all(column)

    def test_cold_bin_in_warm_air_draws_downward(self):
        table = np.tile([30.0, 0.5, 0.0, 0.0, 0.0], (400, 1))
        column = Column(foam_bin(inlet_area=0.01, vent_slot_length=1.0), Air(table))
        column.set_vent(0.02)
        column.load([litres(BARK, 100.0)], temperature_celsius=5.0)
        column.run_to(24.0)
        assert column.bin_state[REVERSED_HOURS] > 5.0
        check_all(column)

    def test_rain_on_an_open_heap_runs_through(self):
        column = Column(heap(1.5, 1.2), weather_table(12.0, 6.0, 0.8, 3.0, 20.0, 1))
        feed(column, 80.0)
        column.run_to(20 * 24.0)
        check_all(column)
        assert column.ledger[L_WATER_IN] > 20.0
        assert column.ledger[L_LIQUID_OUT] > 5.0
        assert column.bin_state[TUB_WATER] == pytest.approx(column.ledger[L_LIQUID_OUT])


class TestNoAir:
    def test_shut_bin_uses_no_more_oxygen_than_its_leaks_let_in(self):
        column = Column(foam_bin(inlet_area=0.0, lid_fit="tight"), constant_air(12.0))
        column.set_vent(0.0)
        column.set_inlet(0.0)
        column = fed(column, 15)
        check_all(column)
        airy = fed(Column(foam_bin(), constant_air(12.0)), 15)
        assert column.ledger[L_OXYGEN_USED] < 0.5 * airy.ledger[L_OXYGEN_USED]


class TestSizes:
    def test_two_hundred_layers(self):
        column = Column(box(0.6, 0.6, 3.0), constant_air(10.0))
        while column.layers < 200:
            column.load([litres(PAPER, 250.0), litres(FOOD, 120.0)], temperature_celsius=10.0)
        column.run_to(5 * 24.0)
        assert column.layers >= 200
        check_all(column)

    def test_more_loads_than_rows(self):
        column = Column(foam_bin(), constant_air(10.0))
        for _ in range(330):
            feed(column, 0.4)
        column.run_to(30.0)
        check_all(column)

    def test_taper_heaped_above_its_rim(self):
        column = Column(taper(0.8, 0.4, 0.5), constant_air(10.0))
        for _ in range(6):
            feed(column, 40.0)
        column.run_to(72.0)
        assert column.section().fill_height > 0.5
        check_all(column)

    def test_three_years(self):
        column = Column(foam_bin(), weather_table(11.0, 5.0, 0.8, 2.0, 5.0, 3))
        for _ in range(6 * 26):
            if column.room_litres() < 20.0:
                column.dig_out(litres=50.0)
            feed(column, 6.0)
            column.stir(0.12)
            column.run_to(column.hour + 168.0)
        check_all(column)


class TestThinLayers:
    def test_a_cupful_between_hot_loads(self):
        """Layers of a millimetre once set the solver of heat and vapour swinging."""
        column = Column(
            box(0.3, 0.29, 0.54, Fittings(lid=None, vent_slot_length=0.0, inlet_area=5e-5)),
            constant_air(0.0),
        )
        column.load(
            [litres("half_finished_compost", 60.0), litres("wheat_straw", 24.0)],
            temperature_celsius=52.0,
        )
        column.run_to(0.25)
        column.load([litres("coffee_grounds", 0.1)], temperature_celsius=32.0)
        column.load([litres("feathers", 0.1)], temperature_celsius=-20.0)
        column.run_to(24.25)
        column.load([litres("wheat_straw", 60.0)], temperature_celsius=60.0)
        column.run_to(192.0)
        check_all(column)

    def test_a_frozen_cupful_on_a_thin_heap(self):
        column = Column(heap(0.67, 0.56), constant_air(12.0))
        column.load([litres("half_finished_compost", 0.1)], temperature_celsius=7.0)
        column.run_to(168.0)
        column.load([litres("apple_pomace", 0.1)], temperature_celsius=-16.0)
        column.run_to(192.0)
        check_all(column)


class TestActs:
    def test_bottle_gives_its_heat_and_no_more(self):
        column = Column(foam_bin(), constant_air(5.0))
        column.load([litres(BARK, 60.0)], temperature_celsius=5.0)
        column.place_bottle(5.0, 80.0)
        column.run_to(96.0)
        given_off = column.ledger[L_HEAT_BOTTLE]
        # it ends near the 5 C of the air, and drying may chill the bark below that, not below 0
        assert 0.8 * 5.0 * 4186.0 * 75.0 < given_off < 5.0 * 4186.0 * 80.0
        check_all(column)

    def test_books_of_a_part_of_a_run(self):
        column = fed(Column(foam_bin(), constant_air(12.0)), 9)
        before = column.copy()
        fed(column, 9)
        check_books(books(before, column))

    def test_what_is_dug_out_is_what_is_missing(self):
        column = fed(Column(foam_bin(), constant_air(12.0)), 12)
        before = stored(column)
        dug = column.dig_out(litres=20.0)
        after = stored(column)
        assert before["water"] - after["water"] == pytest.approx(dug[11], rel=1e-12)
        for k, pool in enumerate(("rapid", "slow", "resistant", "wood", "ash")):
            assert before[pool] - after[pool] == pytest.approx(dug[k], rel=1e-9)

    @given(st.floats(0.0, 1.0), st.floats(0.0, 1.2))
    @settings(max_examples=25, deadline=None, derandomize=True)
    def test_stirring_moves_but_keeps_everything(self, extent, depth):
        column = Column(foam_bin(), constant_air(12.0))
        for k in range(5):
            column.load(
                [portion(17 * k, 5.0), portion(5 * k + 3, 3.0)], temperature_celsius=9.0 * k
            )
        column.run_to(1.0)
        before = stored(column)
        column.stir(depth, extent)
        after = stored(column)
        for name in ("rapid", "slow", "resistant", "wood", "ash", "nitrogen", "water"):
            assert after[name] == pytest.approx(before[name], rel=1e-13), name
        check_books(books(None, column))


class TestSlivers:
    @pytest.mark.parametrize("left", [1e-6, 1e-4, 1e-2])
    def test_a_sliver_left_by_a_dig_out_joins_the_layer_above(self, left):
        column = fed(Column(foam_bin(), constant_air(12.0)), 9)
        column.run_to(column.hour + 48.0)
        lowest = column.section().layers[0]
        wet = lowest.dry_mass / (1.0 - lowest.moisture_content_wet_basis)
        before = column.layers
        column.dig_out(kilograms=(1.0 - left) * wet)
        assert column.layers < before
        assert column.section().layers[0].thickness > 0.003
        column.run_to(column.hour + 240.0)
        check_all(column)
        assert np.isfinite(column.state[: column.layers]).all()
