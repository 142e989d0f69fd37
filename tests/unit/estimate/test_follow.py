"""A record followed from visit to visit, and run on into days that nobody knows."""

from dataclasses import replace

import numpy as np
import pytest
from small_plans import at_depth, caddy, fed, plan_of_loads, spring_air

from slowfire.estimate.condition import Ensemble, begin_ensemble, condition, in_turn
from slowfire.estimate.follow import (
    LAG_HOURS,
    LONGEST_WINDOW_HOURS,
    TOGETHER_HOURS,
    checkpoint_before,
    follow,
    run_ahead,
    usual_loads,
    visits,
)
from slowfire.estimate.member import WATCHED
from slowfire.estimate.plan import Event, Plan
from slowfire.estimate.priors import global_names


def begun(plan: Plan, members: int = 4, seed: int = 1) -> Ensemble:
    return begin_ensemble(plan, members, seed, in_turn)


def weeks_plan(*read_hours: float, weeks: int = 6, celsius: float = 30.0) -> Plan:
    """Fed twice a week, read at some hours."""
    loads = tuple(84.0 * k for k in range(2 * weeks))
    readings = [at_depth(hour, celsius) for hour in read_hours]
    plan = plan_of_loads(loads, readings, spring_air(7.0 * weeks))
    return replace(plan, events=tuple(fed(hour, caddy(3.0, 0.4)) for hour in loads))


def same(one: Ensemble, other: Ensemble) -> bool:
    return (
        one.hour == other.hour
        and all((one.normals[name] == other.normals[name]).all() for name in one.normals)
        and all((a.state == b.state).all() for a, b in zip(one.columns, other.columns, strict=True))
    )


class TestVisits:
    """Readings of one visit make one estimate."""

    def found(self, *hours: float, end: float = 1e4) -> list[float]:
        return visits(weeks_plan(*hours), end)

    def test_readings_near_each_other_are_one_visit(self):
        assert self.found(10.0, 10.1, 10.2, 40.0, 41.0, 90.0) == [10.2, 41.0, 90.0]

    def test_hours_after_the_end_are_not_known_yet(self):
        assert self.found(10.0, 10.1, 40.0, end=30.0) == [10.1]
        assert self.found(end=30.0) == []

    def test_the_order_of_readings_does_not_matter(self):
        assert self.found(90.0, 10.0, 40.0) == [10.0, 40.0, 90.0]

    def test_a_logger_is_not_one_endless_visit(self):
        found = self.found(*np.arange(0.0, 48.0, 1.0))
        assert found[-1] == 47.0
        assert len(found) == pytest.approx(48.0 / TOGETHER_HOURS, abs=1)
        assert max(np.diff(found)) <= 2.0 * TOGETHER_HOURS


class TestCheckpoint:
    """A checkpoint near enough to the hour of an estimate."""

    HOURS = tuple(np.arange(60.0, 900.0, 84.0))

    def test_it_lies_before_the_hour_and_near_it(self):
        plan = weeks_plan(*self.HOURS)
        for hour in (200.0, 500.0, 800.0):
            found = checkpoint_before(plan, begun(plan), hour, 1)
            assert found.hour <= hour
            assert hour - found.hour <= LONGEST_WINDOW_HOURS
            # enough readings lie between that what went in lately can still be moved
            assert found.hour == 0.0 or hour - found.hour >= LAG_HOURS

    def test_near_enough_already(self):
        plan = weeks_plan(*self.HOURS)
        start = begun(plan)
        assert checkpoint_before(plan, start, LONGEST_WINDOW_HOURS, 1) is start

    def test_it_uses_nothing_read_or_done_later(self):
        plan = weeks_plan(*self.HOURS)
        start = begun(plan)
        found = checkpoint_before(plan, start, 800.0, 1)
        assert found.hour > 0.0
        later = replace(
            plan,
            observed=tuple(
                one if one.hour <= found.hour else replace(one, value=65.0) for one in plan.observed
            ),
            events=tuple(
                one if one.hour <= found.hour else fed(one.hour, caddy(20.0)) for one in plan.events
            ),
        )
        assert same(found, checkpoint_before(later, start, 800.0, 1))
        earlier = replace(plan, observed=tuple(replace(one, value=65.0) for one in plan.observed))
        assert not same(found, checkpoint_before(earlier, start, 800.0, 1))

    def test_a_long_silence_is_one_run(self):
        calls = []

        def counted(todo):
            calls.append(len(todo))
            return in_turn(todo)

        plan = weeks_plan(890.0, 900.0)
        found = checkpoint_before(plan, begun(plan), 900.0, 1, counted)
        assert calls == [4]
        assert 900.0 - LONGEST_WINDOW_HOURS <= found.hour <= 900.0 - LAG_HOURS


@pytest.fixture(name="plan", scope="module")
def read_record():
    return weeks_plan(100.0, 100.2, 270.0, 271.0, 440.0, weeks=3)


@pytest.fixture(name="stages", scope="module")
def followed(plan):
    watch = np.arange(150.0, 480.0, 10.0)
    return list(follow(plan, begun(plan), watch, 1, heights=(0.1,)))


class TestFollow:
    """The estimates a keeper would have had, one after the other."""

    def test_each_hour_watched_comes_once_from_the_last_visit_before(self, stages):
        hours = np.concatenate([stage.watch_hours for stage, _ in stages])
        assert hours.tolist() == np.arange(150.0, 480.0, 10.0).tolist()
        assert [stage.hour for stage, _ in stages] == [100.2, 271.0, 440.0]
        for stage, checkpoint in stages:
            assert checkpoint.hour <= stage.hour < stage.until
            assert (stage.watch_hours >= stage.hour).all()
            assert (stage.watch_hours < stage.until).all()
            assert stage.conditioned.watched.shape == (4, stage.watch_hours.size, WATCHED + 1)
            assert all(one.hour <= stage.hour for one in stage.conditioned.observed)

    def test_a_reading_changes_what_comes_after_it_alone(self, plan, stages):
        changed = replace(plan, observed=(*plan.observed[:-1], at_depth(440.0, 60.0)))
        watch = np.arange(150.0, 480.0, 10.0)
        again = list(follow(changed, begun(changed), watch, 1, heights=(0.1,)))
        for (one, _), (other, _) in zip(stages[:-1], again[:-1], strict=True):
            assert np.array_equal(
                one.conditioned.watched, other.conditioned.watched, equal_nan=True
            )
        assert not np.array_equal(
            again[-1][0].conditioned.watched[..., 0], stages[-1][0].conditioned.watched[..., 0]
        )

    def test_before_the_first_reading_there_is_an_estimate_too(self, plan):
        stages = list(follow(plan, begun(plan), np.array([20.0, 60.0, 120.0]), 1))
        assert [stage.hour for stage, _ in stages] == [20.0, 100.2]
        assert [stage.watch_hours.tolist() for stage, _ in stages] == [[20.0, 60.0], [120.0]]


class TestUsualLoads:
    """Loads to come, if the keeper goes on as before."""

    def plan(self, *days: float, acts: int = 0) -> Plan:
        loads = [fed(24.0 * day, caddy(5.0 + day)) for day in days]
        done = [Event(24.0 * day + 1.0, lambda column: None) for day in range(acts)]
        return replace(
            plan_of_loads(()), events=tuple(sorted([*loads, *done], key=lambda one: one.hour))
        )

    def test_they_come_at_the_usual_time_apart_in_their_order(self):
        found = usual_loads(self.plan(0, 3, 6, 9, acts=5), 24.0 * 9 + 2.0, 24.0 * 20)
        assert [one.hour / 24.0 for one in found] == pytest.approx([12.0, 15.0, 18.0])
        assert [one.load.mass for one in found] == pytest.approx([6.0, 9.0, 12.0])

    def test_what_lies_ahead_in_the_record_is_not_known(self):
        plan = self.plan(0, 3, 6, 9, 10, 11, 12, 13)
        found = usual_loads(plan, 24.0 * 9.5, 24.0 * 16)
        assert [one.hour / 24.0 for one in found] == pytest.approx([12.0, 15.0])

    def test_a_load_that_is_due_comes_within_the_hour(self):
        found = usual_loads(self.plan(0, 3, 6), 24.0 * 12, 24.0 * 16)
        assert found[0].hour == 24.0 * 12 + 1.0
        assert found[1].hour == pytest.approx(24.0 * 15 + 1.0)

    def test_rain_and_warmth_of_past_loads_do_not_come_again(self):
        load = replace(caddy(), known_mass=1.0, known_celsius=70.0, extra_water=3.0)
        plan = replace(plan_of_loads(()), events=tuple(fed(h, load) for h in (0.0, 48.0, 96.0)))
        found = usual_loads(plan, 100.0, 200.0)
        assert [one.load.extra_water for one in found] == [0.0, 0.0]
        assert {one.load.known_mass for one in found} == {0.0}

    @pytest.mark.parametrize("days", [(), (0,), (0, 3)])
    def test_without_a_habit_nothing_comes(self, days):
        assert usual_loads(self.plan(*days), 24.0 * 5, 24.0 * 30) == ()

    def test_a_flood_of_small_loads_is_held_to_two_a_day(self):
        plan = replace(plan_of_loads(()), events=tuple(fed(float(h)) for h in range(5)))
        assert len(usual_loads(plan, 5.0, 53.0)) == 4


@pytest.fixture(name="ready", scope="module")
def estimate_of_a_day():
    plan = weeks_plan(60.0, 130.0, weeks=3)
    return plan, condition(plan, begun(plan, 6), 200.5, 1).ensemble


class TestAhead:
    """Run on under weather of each member's own."""

    def tables(self, celsius: list[float], hours: int = 120) -> np.ndarray:
        table = np.zeros((len(celsius), hours, 6))
        table[:, :, 0] = np.array(celsius)[:, None]
        table[:, :, 1] = 0.7
        return table

    def test_each_member_has_the_weather_given(self, ready):
        plan, ensemble = ready
        air = [-10.0, -5.0, 0.0, 10.0, 20.0, 30.0]
        found = run_ahead(plan, ensemble, self.tables(air), 260.0, 1, watch_hours=(202.0, 260.0))
        outside = np.array([one.watched[:, 3] for one in found])
        offset = ensemble.normals["ambient_offset"]
        expected = np.array(air) + 2.0 * offset / 1.6449
        assert outside == pytest.approx(np.column_stack([expected, expected]), abs=1e-3)
        assert {one.column.hour for one in found} == {260.0}

    def test_warmer_weather_makes_a_warmer_lid(self, ready):
        plan, ensemble = ready
        cold, warm = (
            run_ahead(plan, ensemble, self.tables([air] * 6), 260.0, 1, watch_hours=(260.0,))
            for air in (-10.0, 25.0)
        )
        for one, other in zip(cold, warm, strict=True):
            assert other.watched[0, 1] > one.watched[0, 1] + 3.0

    def test_without_tables_it_is_the_weather_of_the_plan(self, ready):
        plan, ensemble = ready
        found = run_ahead(plan, ensemble, None, 260.0, 1, watch_hours=(230.0,))
        expected = plan.air.temperature_celsius(230.0)
        offset = 2.0 * ensemble.normals["ambient_offset"] / 1.6449
        outside = np.array([one.watched[0, 3] for one in found])
        assert outside == pytest.approx(expected + offset, abs=1e-3)

    def test_the_ensemble_stays_as_it_is(self, ready):
        plan, ensemble = ready
        before = [one.copy() for one in ensemble.columns]
        run_ahead(plan, ensemble, self.tables([5.0] * 6), 260.0, 1)
        for one, old in zip(ensemble.columns, before, strict=True):
            assert (one.state == old.state).all()
            assert one.hour == old.hour == 200.5

    def test_what_will_be_done_can_be_said(self, ready):
        plan, ensemble = ready
        fasting = run_ahead(plan, ensemble, None, 300.0, 1, coming=())
        loaded = run_ahead(plan, ensemble, None, 300.0, 1, coming=(fed(250.0, caddy(5.0)),))
        usual = run_ahead(plan, ensemble, None, 300.0, 1)
        for none, one, more in zip(fasting, loaded, usual, strict=True):
            masses = [column.column.ledger[0] for column in (none, one, more)]
            assert masses[0] < masses[1]
            assert masses[0] < masses[2]

    def test_the_same_seed_gives_the_same_loads(self, ready):
        plan, ensemble = ready
        one, two, other = (run_ahead(plan, ensemble, None, 300.0, seed) for seed in (1, 1, 2))
        masses = [[p.column.ledger[0] for p in passages] for passages in (one, two, other)]
        assert masses[0] == masses[1]
        assert masses[0] != masses[2]


def test_an_estimate_needs_no_readings_to_be_followed():
    plan = weeks_plan(weeks=2)
    ((stage, checkpoint),) = follow(plan, begun(plan), np.array([50.0, 100.0]), 1)
    assert (stage.hour, stage.until, checkpoint.hour) == (50.0, 101.0, 0.0)
    assert set(stage.conditioned.ensemble.normals) == set(global_names())
