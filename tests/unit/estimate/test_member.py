"""One member run through a window: its loads, its weather, its bin, what it would have shown."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_plans import (
    as_read,
    at_depth,
    caddy,
    empty_bin,
    in_lid,
    passed,
    plan_of_loads,
)

from slowfire.column.contents import DRY_BOUND, LEAST_WATER, Load
from slowfire.column.ledger import books
from slowfire.column.parameters import default_parameters
from slowfire.column.positions import (
    ACIDS,
    ADDED_SOFT,
    ASH,
    L_MASS_LOADED,
    L_NITROGEN_LOADED,
    LOOSE_SOFT,
    LOOSE_WOOD,
    N_AMMONIACAL,
    N_EXTENSIVE,
    N_NITRATE,
    N_RAPID,
    N_WOOD,
    RAPID,
    RESISTANT,
    TEMPERATURE,
    WATER,
)
from slowfire.column.simulate import Column
from slowfire.estimate.condition import EVENT_STEP, STEP
from slowfire.estimate.glimpse import glimpse
from slowfire.estimate.member import (
    BLOCK_HOURS,
    STRAYED,
    WATCHED,
    Gap,
    Window,
    block_name,
    dry_name,
    instrument_values,
    mass_name,
    member_air,
    run_member,
    stray,
)
from slowfire.estimate.observe import fill_level
from slowfire.estimate.plan import Event
from slowfire.estimate.priors import load_dry, load_mass, setting_of
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library

NITROGEN = [*range(N_RAPID, N_WOOD + 1), N_AMMONIACAL, N_NITRATE]
FACTOR = st.floats(0.3, 3.0)


def mixed() -> Load:
    """Food, paper and chips, with rinsing water, in part from indoors."""
    find = load_library().find
    chips = Portion.from_mass(find("bark_chips_fine"), 1.5)
    return Load((*caddy().portions, chips), 6.0, 21.0, 0.4, 3.0)


def dry_mass(row: np.ndarray) -> float:
    return float(row[RAPID : ASH + 1].sum())


class TestLoad:
    """What a member tips in when its keeper wrote something else."""

    @given(FACTOR)
    def test_a_mass_factor_scales_all_that_is_there(self, factor):
        load = mixed()
        plain = load.row(default_parameters(), 8.0)
        more = load.row(default_parameters(), 8.0, factor)
        assert more[:N_EXTENSIVE] == pytest.approx(factor * plain[:N_EXTENSIVE], rel=1e-9)
        assert more[N_EXTENSIVE:] == pytest.approx(plain[N_EXTENSIVE:], rel=1e-9)

    @given(FACTOR, st.floats(0.5, 2.0))
    def test_a_dry_factor_keeps_wet_mass_and_the_make_up_of_what_is_dry(self, mass, dry):
        load = mixed()
        plain = load.row(default_parameters(), 8.0, mass)
        ours = load.row(default_parameters(), 8.0, mass, dry)
        wet = dry_mass(plain) + plain[WATER]
        assert dry_mass(ours) + ours[WATER] == pytest.approx(wet, rel=1e-9)
        share = dry_mass(ours) / dry_mass(plain)
        assert share == pytest.approx(min(dry, (1.0 - LEAST_WATER) * wet / dry_mass(plain)))
        for place in DRY_BOUND:
            assert ours[place] == pytest.approx(share * plain[place], rel=1e-9)
        assert ours[NITROGEN].sum() == pytest.approx(share * plain[NITROGEN].sum(), rel=1e-9)
        # the room it takes is as written
        for place in (LOOSE_SOFT, LOOSE_WOOD):
            assert ours[place] == plain[place]
        assert ours[WATER] > 0.0

    def test_stuff_that_is_dry_already_keeps_a_little_water(self):
        paper = Load((Portion.from_mass(load_library().find("shredded paper"), 2.0, "loose"),))
        row = paper.row(default_parameters(), 8.0, 1.0, 1.5)
        assert row[WATER] == pytest.approx(LEAST_WATER * (row[WATER] + dry_mass(row)))

    @pytest.mark.parametrize(
        ("air", "warmth", "expected"),
        [(8.0, 0.0, 8.0), (8.0, 0.5, 14.0), (8.0, 1.0, 20.0), (-15.0, 0.0, 2.0), (30.0, 1.0, 30.0)],
    )
    def test_a_load_is_between_the_air_outside_and_a_kitchen(self, air, warmth, expected):
        row = caddy().row(default_parameters(), air, warmth=warmth)
        assert row[TEMPERATURE] == pytest.approx(expected)

    def test_what_has_a_temperature_of_its_own_keeps_it(self):
        load = replace(caddy(3.0, 1.0), known_mass=1.0, known_celsius=40.0)
        row = load.row(default_parameters(), 10.0, 1.7, 1.1, 0.0)
        assert row[TEMPERATURE] == pytest.approx((1.0 * 40.0 + 3.0 * 10.0) / 4.0)

    def test_drying_out_cannot_take_more_water_than_there_is(self):
        load = replace(caddy(), extra_water=-50.0)
        assert load.row(default_parameters(), 10.0)[WATER] == 0.0

    @settings(max_examples=12)
    @given(FACTOR, st.floats(0.6, 1.6))
    def test_books_close_with_factors(self, mass, dry):
        plan = plan_of_loads((0.0,))
        column = empty_bin(plan, {})
        before = column.copy()
        row = mixed().row(column.parameters, 8.0, mass, dry, 0.3)
        column.load_row(row)
        assert column.ledger[L_MASS_LOADED] == pytest.approx(mass * (mixed().mass + 0.4), rel=1e-9)
        assert column.ledger[L_NITROGEN_LOADED] == pytest.approx(row[NITROGEN].sum(), rel=1e-9)
        column.run_to(30.0)
        found = books(before, column)
        assert found.oxygen < 1e-9
        assert found.energy < 1e-6
        assert max(found.nitrogen, found.water, found.rapid, found.ash) < 1e-12


def replay(plan, end, normals=None, member=0, vessel=None):
    """The same record by the column alone: no window, no glimpses, no factors of loads."""
    setting = setting_of(normals or {}, member)
    column = Column(
        setting.vessel(vessel or plan.vessel), plan.air, setting.parameters, STEP, EVENT_STEP
    )
    warmth = setting.factors["warmth"]
    for event in plan.events:
        if event.hour > end:
            break
        column.run_to(event.hour)
        if event.load is None:
            event.apply(column)
        else:
            air = column.air.temperature_celsius(column.hour)
            column.load_row(event.load.row(column.parameters, air, warmth=warmth))
    column.run_to(end)
    return column


def assert_same_inside(one: Column, other: Column) -> None:
    assert one.layers == other.layers
    n = one.layers
    assert one.state[:n] == pytest.approx(other.state[:n], rel=1e-12, abs=1e-15)
    assert one.bin_state == pytest.approx(other.bin_state, rel=1e-12, abs=1e-15)
    assert one.ledger == pytest.approx(other.ledger, rel=1e-12, abs=1e-12)


class TestRun:
    """A member against the column alone."""

    @pytest.mark.parametrize("member", [0, 7])
    def test_with_nothing_unknown_it_is_a_plain_replay(self, member):
        plan = plan_of_loads()
        assert_same_inside(passed(plan, {}, 150.0, member).column, replay(plan, 150.0, {}, member))

    def test_looking_changes_nothing(self):
        plan = plan_of_loads()
        readings = tuple(at_depth(hour) for hour in (24.0, 48.0, 120.0))
        seen = passed(replace(plan, observed=readings), {}, 150.0, watch_hours=(24.0, 72.0, 150.0))
        assert seen.predicted.shape == seen.blurs.shape == (3,)
        # stops at hours that steps reach anyway
        assert_same_inside(seen.column, replay(plan, 150.0))

    def test_the_start_stays_as_it_is(self):
        plan = plan_of_loads()
        start = replay(plan, 48.0)
        start.vessel = plan.vessel
        before = start.copy()
        normals = {"wall_loss": 1.0, "fuel_top": 1.0, "warm_low": -2.0, "ambient_offset": 1.0}
        window = Window(48.0, 100.0, plan.events[2:], (), strayed=2.0)
        run_member(plan, window, start, normals, 3, 100.0)
        assert start.vessel is before.vessel
        assert start.parameters is before.parameters
        assert start.air is before.air
        assert start.hour == 48.0
        for name in ("state", "bin_state", "ledger", "history"):
            assert (getattr(start, name) == getattr(before, name)).all(), name

    def test_books_of_a_member_close(self):
        plan = plan_of_loads(observed=[at_depth(hour) for hour in (10.3, 77.7)])
        normals = {"wet_mass": 1.0, "dryness": -1.0, mass_name(24.0): 2.0, dry_name(72.0): 1.5}
        start = empty_bin(plan, normals)
        found = passed(plan, normals, 160.0).column
        found.vessel = setting_of(normals, 0).vessel(plan.vessel)
        result = books(start, found)
        assert result.oxygen < 1e-9
        assert result.energy < 1e-6
        assert max(result.rapid, result.nitrogen, result.water, result.phosphorus) < 1e-12

    def test_factors_of_a_load_count_beside_those_that_last(self):
        plan = plan_of_loads((0.0, 24.0))
        normals = {"wet_mass": 0.8, mass_name(24.0): -1.2}
        lasting = setting_of(normals, 0).factors["wet_mass"]
        written = caddy().mass
        loaded = passed(plan, normals, 30.0).column.ledger[L_MASS_LOADED]
        assert loaded == pytest.approx(lasting * written * (1.0 + load_mass(-1.2)), rel=1e-9)

    def test_dryness_counts_twice_over_too(self):
        plan = plan_of_loads((0.0,))
        column = passed(plan, {"dryness": 0.7, dry_name(0.0): 0.5}, 0.0).column
        plain = passed(plan, {}, 0.0).column
        share = setting_of({"dryness": 0.7}, 0).factors["dryness"] * load_dry(0.5)
        dry, dry_plain = (one.state[: one.layers, RAPID : ASH + 1].sum() for one in (column, plain))
        assert dry == pytest.approx(share * dry_plain, rel=1e-9)

    def test_a_reading_comes_before_what_is_done_at_its_hour(self):
        level = fill_level(72.0, 0.5)
        plan = plan_of_loads(observed=[level])
        without = plan_of_loads((0.0, 24.0))
        seen = passed(plan, {}, 72.0, watch_hours=(72.0,))
        untouched = passed(without, {}, 72.0).column
        shown = plan.vessel.height - glimpse(untouched).fill_height
        assert seen.predicted[0] == pytest.approx(shown, rel=1e-9)
        assert seen.predicted[0] > plan.vessel.height - glimpse(seen.column).fill_height + 0.01
        centre = glimpse(untouched)
        hottest = (centre.mean + 0.5 * centre.centre_minus_edge).max()
        assert seen.watched[0, 0] == pytest.approx(hottest, rel=1e-9)

    def test_what_comes_after_the_end_of_the_run_is_not_done(self):
        plan = plan_of_loads((0.0, 24.0, 24.5))
        window = Window(0.0, 24.0, plan.events, (), strayed=0.0)
        found = run_member(plan, window, empty_bin(plan, {}), {}, 0, 24.0)
        assert found.column.ledger[L_MASS_LOADED] == pytest.approx(2.0 * caddy().mass, rel=1e-9)

    def test_watching(self):
        plan = plan_of_loads((5.0, 24.0))
        window = Window(0.0, 40.0, plan.events, (), strayed=0.0)
        heights = (0.0, 0.05, 5.0)
        hours = (0.0, 4.0, 30.0, 40.0)
        found = run_member(plan, window, empty_bin(plan, {}), {}, 0, 40.0, hours, heights).watched
        assert found.shape == (4, WATCHED + 3)
        at = found[:, WATCHED:]
        # in an empty bin the air under the lid stands for all
        assert (found[:2, 0] == found[:2, 1]).all()
        assert found[:2, 2] == pytest.approx([0.2095, 0.2095])
        assert found[:, 3] == pytest.approx([plan.air.temperature_celsius(h) for h in hours])
        assert np.isnan(at[:2, 1:]).all()
        assert np.isfinite(at[2:, :2]).all()
        assert np.isnan(at[:, 2]).all()
        assert (found[2:, 0] >= at[2:, 0]).all()
        # the hottest lies in the stack
        assert (found[2:, 4] > 0.0).all()
        assert (found[2:, 4] < found[2:, 5]).all()
        assert found[3, 5] == pytest.approx(glimpse(passed(plan, {}, 40.0).column).fill_height)

    def test_a_bias_is_added_to_what_a_thermometer_shows(self):
        plan = plan_of_loads(observed=[at_depth(30.0), in_lid(30.0)])
        plain = passed(plan, {}, 30.0).predicted
        off = passed(plan, {"bias long probe": 1.6449}, 30.0).predicted
        assert off - plain == pytest.approx([1.6449, 0.0], abs=1e-3)
        known = instrument_values(plan.observed, {"bias dial": 1.0, "wall_loss": 3.0})
        assert set(known) == {"bias dial"}

    def test_readings_made_from_a_member_are_predicted_by_it_without_error(self):
        plan = plan_of_loads(observed=[at_depth(30.0), in_lid(50.0), at_depth(90.0, depth=0.05)])
        normals = {"wall_loss": 1.0, "rate_rapid": -1.0, mass_name(24.0): 1.0}
        read = as_read(plan, normals, 4)
        assert passed(plan, normals, 90.0, 4).predicted == pytest.approx(
            [one.value for one in read.observed]
        )


class TestVessel:
    """A bin that is rebuilt on the way."""

    def test_a_change_is_told_of_the_bin_as_described_and_factors_stay(self):
        seen = []

        def doubled(column: Column) -> None:
            seen.append(column.vessel)
            column.vessel = column.vessel._replace(wall_resistance=2.0 * old.wall_resistance)

        plan = plan_of_loads((0.0, 24.0))
        old = plan.vessel
        plan = replace(plan, events=(*plan.events, Event(60.0, doubled)))
        normals = {"wall_loss": 1.5, "joints": 1.0}
        found = passed(plan, normals, 100.0)
        assert seen == [old]
        new = old._replace(wall_resistance=2.0 * old.wall_resistance)
        assert found.column.vessel == new
        # by hand: the first bin with its factors, then the second with the same
        setting = setting_of(normals, 0)
        by_hand = replay(plan_of_loads((0.0, 24.0)), 60.0, normals)
        by_hand.vessel = setting.vessel(new)
        by_hand.run_to(100.0)
        assert_same_inside(found.column, by_hand)

    def test_an_act_that_leaves_the_bin_as_it_is_leaves_the_factors_too(self):
        plan = plan_of_loads((0.0, 24.0))
        normals = {"wall_loss": 2.0}
        with_act = replace(plan, events=(*plan.events, Event(60.0, lambda column: None)))
        found = passed(with_act, normals, 100.0).column
        assert_same_inside(found, replay(with_act, 100.0, normals))

    def test_the_checkpoint_keeps_the_bin_as_described(self):
        plan = plan_of_loads()
        found = passed(plan, {"wall_loss": 2.0}, 48.0).column
        assert found.vessel == plan.vessel
        window = Window(48.0, 80.0, plan.events[2:], (), strayed=0.0)
        again = run_member(plan, window, found, {"wall_loss": 2.0}, 0, 80.0).column
        assert_same_inside(again, passed(plan, {"wall_loss": 2.0}, 80.0).column)


class TestUnwritten:
    """A load that nobody wrote down."""

    def test_it_goes_in_or_not_by_its_number(self):
        plan = plan_of_loads((0.0, 24.0))
        gap = Gap(48.0, caddy(), 0.2)
        loaded = {}
        for normal in (None, -2.0, 3.0):
            normals = {} if normal is None else {gap.name: normal}
            column = passed(plan, normals, 60.0, gaps=(gap,)).column
            loaded[normal] = column.ledger[L_MASS_LOADED] / caddy().mass
        assert loaded[None] == loaded[-2.0] == pytest.approx(2.0, rel=1e-9)
        assert loaded[3.0] == pytest.approx(3.0, rel=1e-3)


def bin_at(hour: float) -> Column:
    column = replay(plan_of_loads(), hour)
    column.vessel = plan_of_loads().vessel
    return column


STRAYING = st.fixed_dictionaries(dict.fromkeys(STRAYED, st.floats(-3.5, 3.5)))


class TestStray:
    """What may have gone astray before the window began."""

    @settings(max_examples=40)
    @given(STRAYING, st.floats(0.5, 2.0), st.sampled_from([24.0, 60.0, 200.0]))
    def test_it_leaves_a_bin_that_can_be(self, normals, times, hour):
        column = bin_at(hour)
        before = glimpse(column)
        stray(column, normals, times)
        rows = column.state[: column.layers]
        assert np.isfinite(rows).all()
        assert (rows[:, :N_EXTENSIVE] >= 0.0).all()
        # nitrogen stays part of its pool, acids of sugars, and soft stuff was once added
        assert (rows[:, N_RAPID] <= rows[:, RAPID] + 1e-12).all()
        assert (rows[:, ACIDS] <= rows[:, RAPID] + 1e-12).all()
        assert (rows[:, RAPID : RESISTANT + 1].sum(axis=1) <= rows[:, ADDED_SOFT] + 1e-9).all()
        after = glimpse(column)
        for name in ("thickness", "bulk_density", "volume", "conductivity"):
            values = getattr(after, name)
            assert np.isfinite(values).all(), name
            assert (values > 0.0).all(), name
        for layer in column.section().layers:
            assert 0.0 < layer.free_air_space < 1.0
            assert 0.0 <= layer.moisture_content_wet_basis < 1.0
        more = np.exp(times * STRAYED["bulk"] * max(normals.get("bulk", 0.0), 0.0))
        assert after.fill_height < 1.6 * more * before.fill_height

    @settings(max_examples=10)
    @given(STRAYING)
    def test_it_can_go_on_from_there(self, normals):
        column = bin_at(60.0)
        stray(column, normals, 2.0)
        before = column.copy()
        column.run_to(100.0)
        found = books(before, column)
        assert found.oxygen < 1e-9
        assert found.energy < 1e-6
        assert max(found.rapid, found.nitrogen, found.water) < 1e-12
        assert (column.state[: column.layers, :N_EXTENSIVE] >= 0.0).all()

    def test_noughts_change_nothing_and_upper_and_lower_half_differ(self):
        column = bin_at(130.0)
        before = column.copy()
        stray(column, {}, 2.0)
        assert (column.state == before.state).all()
        stray(column, {"warm_top": 1.0}, 1.0)
        change = (column.state - before.state)[: column.layers, TEMPERATURE]
        half = column.layers // 2
        assert (change[:half] == 0.0).all()
        assert change[half:] == pytest.approx(np.full(column.layers - half, STRAYED["warm_top"]))

    def test_an_empty_bin_stays_empty(self):
        column = empty_bin(plan_of_loads(), {})
        stray(column, dict.fromkeys(STRAYED, 2.0), 1.0)
        assert column.layers == 0


class TestWeather:
    """Air that nobody measured is in doubt."""

    def window(self, begin: float, end: float) -> Window:
        return Window(begin, end, (), ())

    def air(self, plan, window, normals, until):
        return member_air(plan, window, setting_of(normals, 0), normals, until).table

    def test_measured_air_is_taken_as_it_is(self):
        plan = plan_of_loads(measured_until=400.0)
        window = self.window(0.0, 300.0)
        assert window.blocks(plan.measured_until).size == 0
        normals = {block_name((k + 0.5) * BLOCK_HOURS): 2.0 for k in range(6)}
        assert (self.air(plan, window, normals, 300.0) == plan.air.table).all()

    def test_only_hours_after_the_measured_ones_are_in_doubt(self):
        plan = plan_of_loads(measured_until=100.0, day_to_day_kelvin=4.0)
        window = self.window(0.0, 300.0)
        middles = window.blocks(plan.measured_until)
        assert middles.tolist() == [126.0, 210.0, 294.0]
        normals = {block_name(hour): 1.0 for hour in middles}
        change = self.air(plan, window, normals, 300.0)[:, 0] - plan.air.table[:, 0]
        assert (change[:101] == 0.0).all()
        assert (change[101:301] > 2.0).all()
        assert change[101:301].max() < 4.0
        for column in range(1, 6):
            table = self.air(plan, window, normals, 300.0)
            assert (table[:, column] == plan.air.table[:, column]).all()

    def test_the_difference_of_yard_and_place_holds_throughout(self):
        plan = plan_of_loads(measured_until=400.0)
        ours = self.air(plan, self.window(0.0, 300.0), {"ambient_offset": -1.6449}, 300.0)
        assert ours[:301, 0] - plan.air.table[:301, 0] == pytest.approx(np.full(301, -2.0))

    def test_what_is_known_fades_after_the_window(self):
        plan = plan_of_loads(measured_until=-1.0, day_to_day_kelvin=4.0)
        window = self.window(0.0, 100.0)
        normals = {block_name(hour): 1.0 for hour in window.blocks(-1.0)}
        change = self.air(plan, window, normals, 400.0)[:, 0] - plan.air.table[:, 0]
        later = change[100:400]
        assert (np.diff(later) < 0.0).all()
        assert later[-1] < 0.05 * later[0]

    def test_the_record_of_the_air_stays_as_it_is(self):
        plan = plan_of_loads(measured_until=-1.0)
        before = plan.air.table.copy()
        window = self.window(0.0, 200.0)
        normals = {block_name(hour): 3.0 for hour in window.blocks(-1.0)}
        self.air(plan, window, normals | {"ambient_offset": 2.0}, 200.0)
        assert (plan.air.table == before).all()

    @given(st.floats(0.0, 400.0), st.floats(0.0, 300.0), st.floats(-1.0, 500.0))
    def test_blocks_cover_all_that_was_not_measured(self, begin, length, measured_until):
        window = self.window(begin, begin + length)
        middles = window.blocks(measured_until)
        first = max(begin, measured_until)
        if first <= window.end:
            assert middles[0] - 0.5 * BLOCK_HOURS <= first
            assert middles[-1] + 0.5 * BLOCK_HOURS > window.end
            assert np.diff(middles) == pytest.approx(np.full(middles.size - 1, BLOCK_HOURS))


def test_unknowns_of_a_window_count_from_their_hours():
    plan = plan_of_loads((0.0, 24.0, 300.0))
    gap = Gap(160.0, caddy(), 0.12)
    window = Window(0.0, 200.0, plan.events, (), (gap,))
    found = window.names(100.0)
    assert found[mass_name(24.0)] == found[dry_name(24.0)] == 24.0
    assert found[gap.name] == 160.0
    assert mass_name(300.0) not in found
    assert {found[name] for name in STRAYED} == {0.0}
    names = [mass_name(24.0), dry_name(24.0), block_name(24.0), gap.name, *STRAYED]
    assert len(names) == len(set(names))
    blocks = [name for name in found if name.startswith("weather")]
    assert blocks == [block_name(hour) for hour in window.blocks(100.0)]
    for one, other in itertools.pairwise(found[name] for name in blocks):
        assert other - one == BLOCK_HOURS
