"""An ensemble moved towards readings: what moves it, what may not, and how far."""

import copy
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest
from small_plans import (
    as_read,
    at_depth,
    caddy,
    fed,
    foam_box,
    in_lid,
    plan_of_loads,
    spring_air,
)

from slowfire.column.stocktake import Habit
from slowfire.errors import InvalidInput
from slowfire.estimate.condition import (
    EVENT_STEP,
    GAP_FACTOR,
    STEP,
    Conditioned,
    Ensemble,
    begin_ensemble,
    broken,
    condition,
    in_turn,
    missing_loads,
    window_of,
)
from slowfire.estimate.discrepancy import corrected, leftovers
from slowfire.estimate.glimpse import glimpse
from slowfire.estimate.member import UNSEEN, WATCHED, Passage, dry_name, mass_name, run_member
from slowfire.estimate.moves import CONFIDENCE, confidence, likelier, relaxed, time_taper
from slowfire.estimate.plan import Begin, Plan
from slowfire.estimate.priors import MISSING, draw_normals, global_names
from slowfire.estimate.readings import Instrument, Place, probe
from slowfire.estimate.smoother import smoother_update
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library

READ_HOURS = (30.0, 54.0, 80.0, 102.0, 130.0, 150.0)


def begun(plan: Plan, members: int = 8, seed: int = 1) -> Ensemble:
    return begin_ensemble(plan, members, seed, in_turn)


def read_plan(celsius: float = 38.0, hours=READ_HOURS, **more: object) -> Plan:
    return plan_of_loads(observed=[at_depth(hour, celsius) for hour in hours], **more)


def quiet_plan(observed) -> Plan:
    """Little was fed in the first week; by the second the bin is hardly warmer than the air."""
    events = tuple(fed(hour, caddy(2.0, 0.25)) for hour in (0.0, 72.0, 144.0))
    return replace(plan_of_loads((), observed), events=events)


def assert_same(one: Conditioned, other: Conditioned) -> None:
    for name in ("before", "after", "spread", "aside", "watched"):
        assert np.array_equal(getattr(one, name), getattr(other, name), equal_nan=True), name
    assert set(one.ensemble.normals) == set(other.ensemble.normals)
    for name, values in one.ensemble.normals.items():
        assert (values == other.ensemble.normals[name]).all(), name
    assert set(one.local) == set(other.local)
    for a, b in zip(one.ensemble.columns, other.ensemble.columns, strict=True):
        assert a.layers == b.layers
        assert (a.state == b.state).all()
        assert (a.bin_state == b.bin_state).all()


class TestSameness:
    """What an estimate depends on, and what it leaves alone."""

    def test_what_it_is_given_stays_as_it_is(self):
        plan = read_plan()
        start = begun(plan)
        columns = [one.copy() for one in start.columns]
        normals = copy.deepcopy(start.normals)
        table = plan.air.table.copy()
        condition(plan, start, 150.0, 1)
        assert start.hour == 0.0
        for one, before in zip(start.columns, columns, strict=True):
            assert (one.state == before.state).all()
            assert (one.bin_state == before.bin_state).all()
            assert (one.ledger == before.ledger).all()
            assert one.vessel == before.vessel
            assert one.parameters == before.parameters
            assert one.air is plan.air
        assert set(start.normals) == set(normals)
        assert all((start.normals[name] == normals[name]).all() for name in normals)
        assert (plan.air.table == table).all()

    def test_the_same_seed_gives_the_same_estimate_in_turn_and_in_threads(self):
        plan = read_plan()
        start = begun(plan)
        one = condition(plan, start, 150.0, 4, watch_hours=(100.0, 150.0))
        with ThreadPoolExecutor(2) as pool:

            def at_once(calls):
                return list(pool.map(lambda call: call(), calls))

            again = begin_ensemble(plan, 8, 1, at_once)
            two = condition(plan, again, 150.0, 4, at_once, watch_hours=(100.0, 150.0))
        assert_same(one, two)
        other = condition(plan, start, 150.0, 5)
        assert (other.after != one.after).any()

    def test_what_is_written_after_the_end_changes_nothing(self):
        plan = read_plan()
        early = replace(
            plan,
            events=tuple(one for one in plan.events if one.hour <= 100.0),
            observed=tuple(one for one in plan.observed if one.hour <= 100.0),
        )
        later = replace(
            plan,
            events=(*plan.events, fed(101.0), fed(103.0, caddy(30.0))),
            observed=(*plan.observed, at_depth(100.5, 70.0), in_lid(101.0, 60.0)),
        )
        found = [condition(one, begun(one), 100.0, 2) for one in (early, plan, later)]
        assert_same(found[0], found[1])
        assert_same(found[0], found[2])

    def test_readings_to_come_do_not_change_the_run_on(self):
        plan = read_plan()
        blind = replace(plan, observed=tuple(o for o in plan.observed if o.hour <= 100.0))
        found = [
            condition(one, begun(one), 100.0, 2, until=150.0, watch_hours=(120.0, 150.0))
            for one in (plan, blind)
        ]
        assert_same(*found)
        assert found[0].ensemble.hour == 150.0
        assert found[0].watched.shape == (8, 2, WATCHED)

    def test_without_readings_it_is_the_run_of_what_was_drawn(self):
        plan = plan_of_loads()
        start = begun(plan)
        found = condition(plan, start, 100.0, 3)
        assert found.before.shape == found.after.shape == (0, 8)
        assert found.aside.size == found.spread.size == 0
        for name, values in start.normals.items():
            assert found.ensemble.normals[name] == pytest.approx(values, abs=1e-12)
        window = window_of(plan, start, 100.0, 100.0)
        for member in (0, 5):
            own = {name: float(v[member]) for name, v in (start.normals | found.local).items()}
            by_hand = run_member(plan, window, start.columns[member], own, member, 100.0)
            assert (by_hand.column.state == found.ensemble.columns[member].state).all()

    def test_all_readings_set_aside_leave_what_was_drawn(self):
        plan = quiet_plan([at_depth(296.0, 75.0, 0.05)])
        start = begun(plan)
        found = condition(plan, start, 296.0, 3)
        assert found.aside.tolist() == [True]
        for name, values in start.normals.items():
            assert found.ensemble.normals[name] == pytest.approx(values, abs=1e-12)
        assert found.after == pytest.approx(found.before)

    @pytest.mark.parametrize(
        ("end", "until", "updates"), [(-1.0, None, 2), (50.0, 40.0, 2), (50.0, None, 0)]
    )
    def test_only_forward_and_with_updates(self, end, until, updates):
        plan = plan_of_loads()
        with pytest.raises(InvalidInput, match="forward"):
            condition(plan, begun(plan, 2), end, 1, until=until, updates=updates)


class TestPull:
    """How far readings move an ensemble."""

    @pytest.mark.parametrize("warmer", [-4.0, 6.0])
    def test_a_reading_pulls_its_own_prediction(self, warmer):
        plan = as_read(quiet_plan([at_depth(200.0, depth=0.05)]), {}, 0)
        start = begun(plan, 24)
        prior = condition(plan, start, 200.0, 1)
        middle = float(np.median(prior.before))
        shown = replace(plan.observed[0], value=middle + warmer)
        found = condition(replace(plan, observed=(shown,)), start, 200.0, 1)
        moved = float(np.median(found.after)) - middle
        assert 0.2 * abs(warmer) < moved * np.sign(warmer) < 1.3 * abs(warmer)
        assert found.after.std() < 0.8 * found.before.std()

    @pytest.mark.parametrize("seed", [1, 2])
    @pytest.mark.parametrize("off", [30.0, -30.0])
    def test_a_reading_far_off_and_alone_is_set_aside(self, seed, off):
        hours = (200.0, 248.0, 296.0, 344.0, 392.0)
        plan = as_read(quiet_plan([at_depth(hour, depth=0.05) for hour in hours]), {}, 0)
        wrong = [
            replace(one, value=one.value + off) if one.hour == 296.0 else one
            for one in plan.observed
        ]
        kept = [one for one in plan.observed if one.hour != 296.0]
        start = begun(plan, 12, seed)
        watch = (100.0, 296.0, 392.0)
        with_it, without = (
            condition(replace(plan, observed=tuple(one)), start, 392.0, seed, watch_hours=watch)
            for one in (wrong, kept)
        )
        assert with_it.aside.tolist() == [one.hour == 296.0 for one in plan.observed]
        assert not without.aside.any()
        hottest = [np.median(one.watched[:, :, 0], axis=0) for one in (with_it, without)]
        assert np.abs(hottest[0] - hottest[1]).max() < 1.0

    def test_several_in_a_row_that_disagree_are_believed(self):
        hours = (200.0, 248.0, 296.0, 344.0, 392.0)
        plan = as_read(quiet_plan([at_depth(hour, depth=0.05) for hour in hours]), {}, 0)
        warm = tuple(replace(one, value=one.value + 30.0) for one in plan.observed)
        plan = replace(plan, observed=warm)
        found = condition(plan, begun(plan, 12), 392.0, 1)
        assert not found.aside.any()
        assert np.median(found.after) > np.median(found.before) + 5.0

    def test_what_went_in_later_is_not_moved_by_earlier_readings(self):
        plan = read_plan(60.0, hours=(30.0, 54.0, 70.0))
        start = begun(plan, 12)
        moved = condition(plan, start, 150.0, 1).local
        drawn = condition(replace(plan, observed=()), start, 150.0, 1).local
        assert set(moved) == set(drawn)
        for hour in (72.0, 120.0):
            for name in (mass_name(hour), dry_name(hour)):
                assert (moved[name] == drawn[name]).all(), name
        for hour in (0.0, 24.0):
            assert (moved[mass_name(hour)] != drawn[mass_name(hour)]).any()

    def test_weather_to_come_is_not_moved_by_earlier_readings(self):
        plan = read_plan(60.0, hours=(30.0, 54.0, 70.0), measured_until=-1.0)
        start = begun(plan, 8)
        moved = condition(plan, start, 200.0, 1).local
        drawn = condition(replace(plan, observed=()), start, 200.0, 1).local
        assert (moved["weather 126.0"] == drawn["weather 126.0"]).all()
        assert (moved["weather 42.0"] != drawn["weather 42.0"]).any()

    def test_part_of_the_spread_that_a_window_took_comes_back(self):
        plan = read_plan(hours=READ_HOURS)
        start = begun(plan, 24)
        found = condition(plan, start, 150.0, 1).ensemble.normals
        shares = {name: found[name].std() / start.normals[name].std() for name in global_names()}
        assert min(shares.values()) > 0.3
        assert np.median(list(shares.values())) < 1.05
        assert min(shares, key=lambda name: shares[name]) != "rain_entry"

    def test_unknowns_of_thermometers_are_kept_for_the_next_window(self):
        plan = read_plan()
        first = condition(plan, begun(plan), 100.0, 1)
        assert "bias long probe" in first.ensemble.normals
        second = condition(plan, first.ensemble, 150.0, 1)
        assert [one.hour for one in second.observed] == [102.0, 130.0, 150.0]
        assert set(second.ensemble.normals) == set(first.ensemble.normals)
        assert not set(second.local) & set(second.ensemble.normals)


SEEDS = (1, 2, 3, 4, 5)


@pytest.fixture(scope="module", name="twins")
def bins_with_known_insides():
    """For each seed what the true bin has where it was read, and the estimate of that."""
    hours = range(30, 165, 24)
    readings = [at_depth(hour, depth=depth) for hour in hours for depth in (0.1, 0.25)]
    plan = plan_of_loads((0.0, 24.0, 48.0, 96.0, 120.0), observed=readings)
    found = []
    for seed in SEEDS:
        names = (*global_names(), *(mass_name(one.hour) for one in plan.events))
        truth = {name: float(v[0]) for name, v in draw_normals(names, 2, 900 + seed).items()}
        noise = np.random.default_rng(seed).normal(0.0, 0.7, len(readings))
        true = [one.value for one in as_read(plan, truth, 100 + seed).observed]
        read = as_read(plan, truth, 100 + seed, noise)
        # twice the usual updates: the model bends much over a first week
        estimate = condition(read, begun(read, 60, seed), 165.0, seed, updates=4)
        found.append((np.array(true), estimate))
    return found


def miss(true: np.ndarray, predicted: np.ndarray) -> float:
    return float(np.sqrt(np.mean((np.median(predicted, axis=1) - true) ** 2)))


class TestTwins:
    """Bins in simulation that are one draw of what is possible, read daily at two depths."""

    def test_the_error_falls_by_half(self, twins):
        before = [miss(true, one.before) for true, one in twins]
        after = [miss(true, one.after) for true, one in twins]
        assert np.mean(after) < 0.5 * np.mean(before), (after, before)
        assert all(a < b for a, b in zip(after, before, strict=True))

    def test_the_truth_lies_in_the_interval(self, twins):
        inside = []
        for seed, (true, one) in zip(SEEDS, twins, strict=True):
            hours = np.array([each.hour for each in one.observed])
            told = corrected(one.after.T, leftovers(one, "probe"), hours, one.tips.T, seed)
            low, high = np.percentile(told, [5.0, 95.0], axis=0)
            inside.append(float(np.mean((true >= low) & (true <= high))))
        assert sum(share >= 0.75 for share in inside) >= 4, inside

    def test_the_interval_is_narrower_with_readings(self, twins):
        shares = [one.after.std(axis=1) / one.before.std(axis=1) for _, one in twins]
        assert np.median(shares) < 0.7

    def test_good_readings_are_used(self, twins):
        assert sum(int(one.aside.sum()) for _, one in twins) <= 3


def test_the_scale_of_an_unknown_does_not_matter_withconfidence():
    draws = np.random.default_rng(3)
    x = draws.normal(0.0, 1.0, (4, 30))
    y = np.tanh(draws.normal(0.0, 1.0, (6, 4)) @ x) + 0.1 * draws.normal(0.0, 1.0, (6, 30))
    scale = np.array([1e3, 0.02, 7.0, 1e-5])[:, None]
    moved = [
        smoother_update(
            s * x, y, np.full(6, 0.3), np.full(6, 0.4), 2.0, np.random.default_rng(1),
            confidence(s * x, y),
        ) / s
        for s in (np.ones((4, 1)), scale)
    ]  # fmt: skip
    assert moved[1] == pytest.approx(moved[0], rel=1e-9)


@pytest.mark.parametrize("members", [12, 500])
def test_confidence_is_that_of_correlation_and_count(members):
    draws = np.random.default_rng(5)
    x, y = draws.normal(0.0, 1.0, (50, members)), draws.normal(0.0, 1.0, (40, members))
    squared = np.corrcoef(x, y)[:50, 50:] ** 2
    expected = squared / (squared + CONFIDENCE / members)
    assert confidence(x, y) == pytest.approx(expected, rel=1e-6)
    # an unknown that all members share is moved by nothing
    assert confidence(np.ones((1, members)), y) == pytest.approx(np.zeros((1, 40)), abs=1e-9)


class TestBegin:
    """Bins before anything is read."""

    def test_an_empty_bin_begins_empty_and_as_described(self):
        plan = plan_of_loads()
        found = begun(plan, 5)
        assert (found.hour, found.members, found.strayed) == (0.0, 5, 1.0)
        assert set(found.normals) == set(global_names())
        assert {one.vessel for one in found.columns} == {plan.vessel}
        assert {one.layers for one in found.columns} == {0}
        assert len({one.parameters for one in found.columns}) == 5

    def test_a_bin_that_was_running_is_spun_up_by_each_member(self):
        find = load_library().find
        habit = Habit((*caddy(3.0, 0.5).portions,), 3.5)
        old = Portion.from_mass(find("compost"), 20.0)
        begin = Begin(habit, 0.45, 14.0, old, spring_air(14.0))
        plan = Plan(foam_box(), begin, (), (), spring_air(5.0))
        found = begun(plan, 3)
        assert (found.hour, found.strayed) == (0.0, UNSEEN)
        seen = [glimpse(one) for one in found.columns]
        for column, one in zip(found.columns, seen, strict=True):
            assert (column.hour, column.vessel) == (0.0, plan.vessel)
            assert (column.time_step, column.event_step) == (STEP, EVENT_STEP)
            assert column.air is plan.air
            assert one.fill_height == pytest.approx(0.45, abs=0.06)
        assert len({round(float(one.water.sum()), 6) for one in seen}) == 3
        again = condition(plan, found, 24.0, 1)
        assert again.ensemble.hour == 24.0

    def test_two_members_or_more(self):
        with pytest.raises(InvalidInput, match="2 or more"):
            begun(plan_of_loads(), 1)


class TestWindow:
    """Which part of the record counts."""

    def test_what_was_done_at_the_checkpoint_is_not_done_again(self):
        plan = read_plan(hours=(24.0, 50.0, 72.0))
        start = begun(plan, 2)
        first = window_of(plan, start, 24.0, 24.0)
        assert [one.hour for one in first.events] == [0.0, 24.0]
        assert [one.hour for one in first.observed] == [24.0]
        then = window_of(plan, condition(plan, start, 24.0, 1).ensemble, 60.0, 72.0)
        assert (then.begin, then.end) == (24.0, 60.0)
        assert [one.hour for one in then.events] == [72.0]
        assert [one.hour for one in then.observed] == [50.0]


class TestMissingLoads:
    """Where a usual load may have gone in unwritten."""

    def loads(self, *days):
        return [fed(24.0 * day, caddy(6.0 + day % 2)) for day in days]

    def test_a_regular_record_has_no_gaps(self):
        assert missing_loads(self.loads(0, 3, 6, 9, 12), 0.0, 24.0 * 14) == ()

    def test_three_loads_tell_of_no_habit(self):
        assert missing_loads(self.loads(0, 3, 30), 0.0, 24.0 * 60) == ()

    def test_a_gap_of_two_has_one_in_its_middle(self):
        (gap,) = missing_loads(self.loads(0, 3, 6, 12, 15), 0.0, 24.0 * 16)
        assert gap.hour == pytest.approx(24.0 * 9)
        assert gap.chance == pytest.approx(0.5)
        assert gap.load.mass in {one.load.mass for one in self.loads(0, 3)}

    def test_a_gap_somewhat_longer_than_usual_has_a_smaller_chance(self):
        longer = GAP_FACTOR * 3.0 + 0.1
        days = (0, 3, 6, 9, 9 + longer, 12 + longer)
        (gap,) = missing_loads(self.loads(*days), 0.0, 24.0 * 16)
        assert MISSING < gap.chance < 0.25

    def test_silence_up_to_the_end_counts_and_has_room_for_several(self):
        found = missing_loads(self.loads(0, 3, 6, 9), 0.0, 24.0 * 21)
        assert [one.hour / 24.0 for one in found] == pytest.approx([12.0, 15.0, 18.0])
        assert len({one.name for one in found}) == 3

    def test_nothing_is_missing_while_nobody_was_there(self):
        away = ((24.0 * 11, 24.0 * 16),)
        found = missing_loads(self.loads(0, 3, 6, 9), 0.0, 24.0 * 21, away)
        assert [one.hour / 24.0 for one in found] == pytest.approx([18.0])

    def test_gaps_before_the_window_are_past(self):
        assert missing_loads(self.loads(0, 3, 6, 12, 15), 24.0 * 12, 24.0 * 16) == ()


class TestBroken:
    """Probes that have stuck, or that stand alone against another."""

    def series(self, values, name="long probe", hours=None):
        hours = hours or [24.0 * k for k in range(len(values))]
        known = Instrument(name, 0.1)
        return [
            probe(hour, value, known, Place(depth=0.2))
            for hour, value in zip(hours, values, strict=True)
        ]

    def found(self, readings, predicted):
        readings = sorted(readings, key=lambda one: one.hour)
        members = np.array(predicted)[:, None] + np.array([-1.0, 0.0, 1.0])
        return broken(readings, readings, members, np.full(len(readings), 2.0)).tolist()

    def test_a_probe_in_good_order(self):
        values = [41.3, 42.8, 44.1, 43.7, 43.2]
        assert self.found(self.series(values), values) == [False] * 5

    def test_one_value_to_a_tenth_four_times_running_has_stuck(self):
        values = [41.3, 43.7, 43.7, 43.7, 43.7]
        # the first of them may have been right
        assert self.found(self.series(values), values) == [False, False, True, True, True]

    def test_whole_degrees_say_nothing_of_that(self):
        values = [41.0, 43.0, 43.0, 43.0, 43.0]
        assert self.found(self.series(values), values) == [False] * 5

    def test_one_that_has_come_loose_again_is_used(self):
        values = [43.7, 43.7, 43.7, 43.7, 45.1]
        assert self.found(self.series(values), values) == [False] * 5

    def test_a_probe_far_off_beside_one_that_fits_is_off(self):
        right = self.series([40.1, 41.2, 42.4])
        wrong = self.series([55.3, 56.6, 57.9], "short probe", [1.0, 25.0, 49.0])
        found = self.found([*right, *wrong], [40.0, 40.0, 41.0, 41.0, 42.0, 42.0])
        assert found == [False, True] * 3

    def test_two_that_are_both_far_off_mean_that_the_ensemble_is(self):
        one = self.series([55.1, 56.2, 57.4])
        two = self.series([55.3, 56.6, 57.9], "short probe", [1.0, 25.0, 49.0])
        found = self.found([*one, *two], [40.0, 40.0, 41.0, 41.0, 42.0, 42.0])
        assert found == [False] * 6

    def test_nothing_read_nothing_broken(self):
        assert broken([], [], np.empty((0, 3)), np.empty(0)).size == 0


def showing(celsius: float) -> Passage:
    """A member that would have shown one reading."""
    none = np.empty(0)
    return Passage(None, (), np.array([celsius]), none, none, none)


class TestMoves:
    def test_the_likelier_are_chosen_more_often_but_half_stay_in_effect(self):
        passages = [showing(value) for value in np.linspace(30.0, 60.0, 40)]
        draws = np.random.default_rng(3)
        chosen = likelier(passages, np.array([55.0]), np.array([1.0]), np.array([True]), draws)
        assert len(chosen) == 40
        values = np.array([passages[k].predicted[0] for k in chosen])
        assert abs(np.median(values) - 55.0) < 6.0
        assert len(set(chosen)) >= 15

    def test_members_that_fit_alike_all_stay(self):
        passages = [showing(50.0) for _ in range(12)]
        draws = np.random.default_rng(3)
        chosen = likelier(passages, np.array([55.0]), np.array([1.0]), np.array([True]), draws)
        assert chosen == list(range(12))

    def test_what_is_left_out_has_no_say(self):
        passages = [showing(value) for value in (30.0, 60.0)]
        draws = np.random.default_rng(3)
        chosen = likelier(passages, np.array([60.0]), np.array([1.0]), np.array([False]), draws)
        assert chosen == [0, 1]

    def test_spread_comes_back_in_part_and_the_middle_stays(self):
        values = relaxed(np.array([0.9, 1.1]), np.array([-1.0, 1.0]))
        assert values.mean() == pytest.approx(1.0)
        assert 0.1 < values.std() < 1.0

    def test_a_load_is_moved_by_later_readings_only(self):
        near = time_taper(("load",), {"load": 48.0}, np.array([47.0, 48.0, 480.0]))[0]
        assert near[0] == 0.0
        assert near[1] == 1.0
        assert 0.0 < near[2] < 1.0
