"""From a written record and its weather to the plan of an estimate."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from uuid import uuid4
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from slowfire import records as r
from slowfire.estimate.plan import Plan
from slowfire.services.estimate_plan import hourly_air, plan_of, table_until, weather_to_come
from slowfire.site import WeatherSetting
from slowfire.timeline import bin_timeline
from slowfire.weather import Ambient, site_weather

VIENNA = ZoneInfo("Europe/Vienna")
DRUM = r.Bin("Drum", "cylinder", inside_diameter_cm=50, inside_height_cm=75)
SITE = r.Site("Yard", "Europe/Vienna", (DRUM,), latitude_degrees=48.2, longitude_degrees=16.4)
MARCH = datetime(2026, 3, 20, tzinfo=UTC)


def table_of(start: datetime, celsius: np.ndarray, step: float = 1.0) -> Ambient:
    """Measured weather of which all but the temperature is odd and the same."""
    n = celsius.size
    return Ambient(
        start, step * np.arange(n), celsius, np.full(n, 0.33), np.full(n, 7.0), np.full(n, 0.2),
        np.full(n, 111.0),
    )  # fmt: skip


def epoch_table(start: datetime, hours: int, step: float = 1.0) -> Ambient:
    """The temperature tells the hour of the world: a kelvin every hundred hours from 1 March."""
    begin = datetime(2026, 3, 1, tzinfo=UTC).timestamp()
    at = start.timestamp() + 3600.0 * step * np.arange(int(hours / step) + 1)
    return table_of(start, (at - begin) / 360000.0, step)


def hour_of_the_world(when: datetime) -> float:
    return (when.timestamp() - datetime(2026, 3, 1, tzinfo=UTC).timestamp()) / 360000.0


class TestHourlyAir:
    """Measured while the table lasts, of the usual year besides."""

    def test_without_a_table_it_is_the_usual_year(self):
        air = hourly_air(SITE, None, MARCH, 100.0)
        usual = site_weather(SITE, MARCH, 101.0)
        assert air.table.shape == (101, 6)
        assert air.table[:, 0] == pytest.approx(usual.temperature_celsius[:101])
        assert air.table[:, 3] == pytest.approx(usual.rain_rate[:101])
        # walls get less than the level at noon in March, more than nothing by day
        sunny = air.table[:, 4] > 100.0
        assert sunny.any()
        assert (air.table[sunny, 5] > 0.0).all()

    def test_a_table_counts_for_its_own_hours_alone(self):
        table = epoch_table(MARCH + timedelta(hours=48), 24)
        air = hourly_air(SITE, table, MARCH, 100.0)
        usual = hourly_air(SITE, None, MARCH, 100.0)
        inside = slice(48, 73)
        expected = [hour_of_the_world(MARCH + timedelta(hours=h)) for h in range(48, 73)]
        assert air.table[inside, 0] == pytest.approx(expected)
        for column, value in ((1, 0.33), (2, 7.0), (3, 0.2), (4, 111.0)):
            assert (air.table[inside, column] == value).all()
        for outside in (slice(0, 48), slice(73, 101)):
            assert (air.table[outside] == usual.table[outside]).all()

    def test_a_table_may_begin_before_and_end_after(self):
        table = epoch_table(MARCH - timedelta(hours=500), 1000)
        air = hourly_air(SITE, table, MARCH, 100.0)
        expected = [hour_of_the_world(MARCH + timedelta(hours=h)) for h in range(101)]
        assert air.table[:, 0] == pytest.approx(expected)
        # the sun on walls is that of the measured light
        assert np.ptp(air.table[:, 4]) == 0.0

    def test_a_table_of_other_hours_changes_nothing(self):
        usual = hourly_air(SITE, None, MARCH, 100.0)
        for begin in (-500, 200):
            table = epoch_table(MARCH + timedelta(hours=begin), 100)
            assert (hourly_air(SITE, table, MARCH, 100.0).table == usual.table).all()

    def test_a_table_of_every_third_hour_is_joined_by_straight_lines(self):
        table = epoch_table(MARCH, 99, step=3.0)
        air = hourly_air(SITE, table, MARCH, 99.0)
        expected = [hour_of_the_world(MARCH + timedelta(hours=h)) for h in range(100)]
        assert air.table[:, 0] == pytest.approx(expected)

    def test_a_site_with_a_file_has_the_usual_year_around_it(self):
        filed = replace(SITE, weather=WeatherSetting("file", file="weather.csv"))
        table = epoch_table(MARCH + timedelta(hours=48), 24)
        plain = hourly_air(SITE, table, MARCH, 100.0)
        assert hourly_air(filed, table, MARCH, 100.0).table == pytest.approx(plain.table)

    @pytest.mark.parametrize(
        ("start", "begin"),
        [
            # clocks go forward in the night to 29 March, and back in that to 25 October
            (datetime(2026, 3, 27, tzinfo=VIENNA), datetime(2026, 3, 26, tzinfo=VIENNA)),
            (datetime(2026, 3, 30, tzinfo=VIENNA), datetime(2026, 3, 26, tzinfo=VIENNA)),
            (datetime(2026, 10, 27, tzinfo=VIENNA), datetime(2026, 10, 20, tzinfo=VIENNA)),
            (datetime(2026, 3, 30, tzinfo=UTC), datetime(2026, 3, 26, tzinfo=VIENNA)),
            (
                datetime(2026, 3, 27, tzinfo=timezone(timedelta(hours=-5))),
                datetime(2026, 3, 26, tzinfo=VIENNA),
            ),
        ],
    )
    def test_hours_are_those_that_pass_when_clocks_change(self, start, begin):
        table = epoch_table(begin, 24 * 12)
        air = hourly_air(SITE, table, start, 72.0)
        at = start.astimezone(UTC)
        expected = [hour_of_the_world(at + timedelta(hours=h)) for h in range(73)]
        assert air.table[:, 0] == pytest.approx(expected, abs=1e-9)
        usual = hourly_air(SITE, None, start, 72.0)
        assert (usual.table == hourly_air(SITE, None, at, 72.0).table).all()


class TestToCome:
    """Weather of each member, from what was known."""

    ISSUED = 24.0 * 9 + 7.5

    def measured(self, after: float = 0.0, hours: int = 24 * 30) -> Ambient:
        """A month of measured air, with departures from the usual that change when issued."""
        usual = site_weather(SITE, MARCH, hours + 1.0).temperature_celsius[: hours + 1]
        departure = np.where(np.arange(hours + 1) <= self.ISSUED, 4.0, after)
        return table_of(MARCH, usual + departure)

    def test_shape_and_limits(self):
        found = weather_to_come(SITE, self.measured(), MARCH, self.ISSUED, 48.0, 5, 1)
        assert found.shape[0] == 5
        assert found.shape[1] >= 49
        assert found.shape[2] == 6
        assert np.isfinite(found).all()
        assert ((found[:, :, 1] >= 0.0) & (found[:, :, 1] <= 1.0)).all()
        assert (found[:, :, 2:] >= 0.0).all()

    def test_nothing_after_the_present_is_used(self):
        one, other, short = (
            weather_to_come(SITE, table, MARCH, self.ISSUED, 24.0 * 7, 4, 1)
            for table in (
                self.measured(0.0),
                self.measured(-15.0),
                table_until(self.measured(), self.ISSUED),
            )
        )
        assert (one == other).all()
        assert (one == short).all()

    def test_it_begins_where_measured_weather_ends(self):
        table = self.measured()
        found = weather_to_come(SITE, table, MARCH, self.ISSUED, 24.0 * 14, 40, 1)
        first = table.at(np.array([np.floor(self.ISSUED)])).temperature_celsius[0]
        # within what a garden thermometer may be off
        assert found[:, 0, 0] == pytest.approx(np.full(40, first), abs=1.5)
        usual = site_weather(SITE, MARCH, 24.0 * 30).temperature_celsius
        ahead = found[:, :, 0] - usual[int(self.ISSUED) : int(self.ISSUED) + found.shape[1]]
        # a warm spell lasts for a day, and is partly forgotten after a week
        assert 2.5 < ahead[:, 12].mean() < 5.0
        assert ahead[:, 24 * 12].mean() < 3.0
        assert ahead[:, 24 * 12].std() > 2.0 * ahead[:, 3].std()

    def test_the_table_of_the_run_fits_on_at_the_whole_hour(self):
        """Row k is the hour floor(issued) + k, as `run_ahead` joins it."""
        found = weather_to_come(SITE, self.measured(), MARCH, self.ISSUED, 48.0, 4, 1)
        usual = hourly_air(SITE, None, MARCH + timedelta(hours=int(self.ISSUED)), 48.0)
        sun = found[:, :49, 4].mean(axis=0)
        night = usual.table[:, 4] == 0.0
        assert night.any()
        assert (sun[night] == 0.0).all()

    def test_the_same_seed_gives_the_same_weather(self):
        one, two, other = (
            weather_to_come(SITE, self.measured(), MARCH, self.ISSUED, 48.0, 4, seed)
            for seed in (3, 3, 4)
        )
        assert (one == two).all()
        assert (one != other).any()

    @pytest.mark.parametrize("begin", [24.0 * 9 + 7.0, 24.0 * 10, 24.0 * 60])
    def test_a_table_that_has_hardly_begun_says_nothing_yet(self, begin):
        late = epoch_table(MARCH + timedelta(hours=begin), 24 * 9)
        found = weather_to_come(SITE, late, MARCH, self.ISSUED, 48.0, 3, 1)
        assert (found == weather_to_come(SITE, None, MARCH, self.ISSUED, 48.0, 3, 1)).all()

    @pytest.mark.parametrize("day", [datetime(2026, 3, 26), datetime(2026, 10, 22)])
    def test_hours_are_those_that_pass_when_clocks_change(self, day):
        local = day.replace(tzinfo=VIENNA)
        at = local.astimezone(UTC)
        issued = 24.0 * 5
        for table in (None, epoch_table(at, 24 * 9)):
            one, other = (
                weather_to_come(SITE, table, start, issued, 48.0, 3, 1) for start in (local, at)
            )
            assert (one == other).all()

    def test_a_table_up_to_an_hour(self):
        table = epoch_table(MARCH, 50)
        cut = table_until(table, 20.0)
        assert cut.hours[-1] == 20.0
        assert cut.start == table.start
        assert (cut.temperature_celsius == table.temperature_celsius[:21]).all()
        assert table_until(table, 20.9).hours[-1] == 20.0


def entry(payload: r.Payload, when: datetime) -> r.Entry:
    return r.Entry(uuid4(), "Drum", when, payload)


def load(kilograms: float = 3.0) -> r.Load:
    return r.Load((r.LoadItem("peelings", r.Amount(kilograms, "kg")),))


def reading(celsius: float) -> r.Reading:
    place = r.Position(r.Length(20.0, "cm"), "surface")
    return r.Reading("probe", r.Temperature(celsius, "C"), place)


class TestPlan:
    """What an estimate of one bin is made from."""

    ENTRIES = (
        entry(load(3.0), datetime(2026, 3, 27, 18, tzinfo=VIENNA)),
        entry(load(4.0), datetime(2026, 3, 28, 18, tzinfo=VIENNA)),
        entry(reading(31.0), datetime(2026, 3, 29, 18, tzinfo=VIENNA)),
        entry(load(5.0), datetime(2026, 3, 30, 18, tzinfo=VIENNA)),
    )

    def plan(self, table: Ambient | None = None) -> tuple[Plan, datetime]:
        return plan_of(SITE, self.ENTRIES, "Drum", table, 96.0)

    def test_loads_and_readings_stand_at_the_hours_that_passed(self):
        plan, start = self.plan()
        assert start == datetime(2026, 3, 27, tzinfo=VIENNA)
        # the day on which clocks went forward had 23 hours
        assert [one.hour for one in plan.events if one.load] == [18.0, 42.0, 89.0]
        assert [one.load.mass for one in plan.events if one.load] == [3.0, 4.0, 5.0]
        assert [(one.hour, one.kind) for one in plan.observed] == [
            (65.0, "probe"),
            (65.0, "reach"),
            (65.0, "room"),
        ]
        assert [one.value for one in plan.observed if one.kind == "probe"] == [31.0]
        assert plan.begin is None
        assert plan.air.table.shape[0] >= 96 + 24
        assert plan.measured_until < 0.0
        assert 2.0 < plan.day_to_day_kelvin < 6.0

    def test_the_vessel_and_the_acts_are_those_of_the_timeline(self):
        plan, start = self.plan()
        line = bin_timeline(SITE, self.ENTRIES, "Drum", fill_silence=False)
        assert (plan.vessel, start) == (line.vessel, line.start)
        assert [one.hour for one in plan.events] == [one.hour for one in line.acts]

    def test_measured_weather_and_how_far_it_reaches(self):
        begin = datetime(2026, 3, 26, 12, tzinfo=VIENNA)
        plan, start = self.plan(epoch_table(begin, 84))
        # 84 hours after noon of the 26th by the clock of winter
        assert plan.measured_until == pytest.approx(72.0)
        expected = [hour_of_the_world(start + timedelta(hours=h)) for h in (0, 40, 72)]
        assert plan.air.table[[0, 40, 72], 0] == pytest.approx(expected)
        assert plan.air.table[73, 1] != 0.33

    def test_silence_is_not_filled(self):
        late = entry(load(), datetime(2026, 4, 30, 18, tzinfo=VIENNA))
        plan, _ = plan_of(SITE, (*self.ENTRIES, late), "Drum", None, 900.0)
        assert len([one for one in plan.events if one.load]) == 4

    def test_a_stock_take_begins_with_the_weather_before_it(self):
        noon = datetime(2026, 3, 27, 12, tzinfo=VIENNA)
        since = r.Stocktake(
            level=r.Length(35.0, "cm"), since=noon.date() - timedelta(days=40), mostly=("peelings",)
        )
        begin = datetime(2026, 3, 20, tzinfo=UTC)
        table = epoch_table(begin, 24 * 14)
        plan, start = plan_of(SITE, (entry(since, noon), *self.ENTRIES), "Drum", table, 96.0)
        assert plan.begin is not None
        assert plan.begin.days == 40.0
        assert plan.begin.level_below_rim == pytest.approx(0.35)
        # the last hour of that weather is the hour 0 of the plan
        assert plan.begin.air.table.shape[0] == 40 * 24 + 1
        assert plan.begin.air.table[-1] == pytest.approx(plan.air.table[0])
        assert plan.begin.air.table[-1, 0] == pytest.approx(hour_of_the_world(start))
        usual = hourly_air(SITE, None, start - timedelta(days=40), 24.0)
        assert (plan.begin.air.table[:25] == usual.table).all()
