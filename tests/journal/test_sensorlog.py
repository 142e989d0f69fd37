"""What devices measured, in SQLite and PostgreSQL: nothing twice, every decision reversible."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import numpy as np
import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import func, inspect, select, update

from slowfire import records as r
from slowfire.errors import InvalidInput, UnknownName
from slowfire.journal import sensor_devices, sensor_feed, sensorlog
from slowfire.journal.database import MIGRATIONS, writing
from slowfire.journal.store import open_store
from slowfire.journal.tables import (
    SENSOR_DECISIONS,
    SENSOR_SUMMARIES,
    SENSOR_VALUES,
    SENSOR_WINDOWS,
)
from slowfire.quantities import Length, Position
from slowfire.sensors.measurement import Measurement, milliseconds
from slowfire.sensors.quality import Reason
from slowfire.sensors.readings import Source

BIN = r.Bin("Box", "box", inside_width_cm=50, inside_depth_cm=50, inside_height_cm=90)
SITE = r.Site(
    "Yard",
    "Europe/Vienna",
    (BIN, replace(BIN, name="Second")),
    (r.Thermometer("dial", "lid"), r.Thermometer("core", "probe", depth_cm=30)),
)
START = datetime(2026, 3, 2, tzinfo=UTC)
SOURCE = Source("north", "1", "Box", "core")


@pytest.fixture
def filled(store):
    store.set_site(SITE)
    return store


def series(count, step=60.0, start=START, level=45.0, seed=1, device="north"):
    """A probe in a bin: slow swing and small noise."""
    noise = np.random.default_rng(seed).normal(0.0, 0.1, count)
    return [
        Measurement(
            device,
            "1",
            start + timedelta(seconds=step * k),
            round(float(level + 5.0 * np.sin(step * k / 13750.0) + noise[k]), 3),
        )
        for k in range(count)
    ]


def changed(measurements, place, value):
    measurements[place] = replace(measurements[place], value=value)


def count(store, table):
    with store.engine.connect() as connection:
        return connection.execute(select(func.count()).select_from(table)).scalar_one()


def in_force(store):
    return r.effective_entries(store.entries())


def placed(store, source=SOURCE, **more):
    sensor_devices.add_device(store, source.device, "push", START)
    sensor_devices.place_probe(store, source, now=milliseconds(START), **more)


def test_sent_twice_or_in_another_order_changes_nothing(filled):
    day = series(600)
    changed(day, 300, 70.0)
    now = START + timedelta(days=1)
    first = sensorlog.keep(filled, day, now)
    assert sum(one.kept for one in first) == 599
    for again in (day, day[::-1], day[100:200]):
        assert {one.state for one in sensorlog.keep(filled, again, now)} == {"known"}
    assert count(filled, SENSOR_VALUES) == 600
    assert count(filled, SENSOR_DECISIONS) == 1


def test_one_by_one_is_decided_as_all_at_once(filled):
    day = series(180, step=300.0)
    for place, value in ((20, 70.0), (60, 85.0), (90, 131.0), (91, 131.5)):
        changed(day, place, value)
    other = [replace(one, device="south") for one in day]
    for one in day:
        sensorlog.keep(filled, [one], one.when)
    sensorlog.keep(filled, other, other[-1].when)
    made = sensorlog.decisions(filled, 100)
    by_device = {
        device: sorted((one.reason, one.begin, one.until, one.count) for one in made
                       if one.device == device)
        for device in ("north", "south")
    }  # fmt: skip
    assert by_device["north"] == by_device["south"]
    assert [one[0] for one in by_device["north"]] == [Reason.UNIT, Reason.FAULT, Reason.SPIKE]


def test_another_value_of_one_moment_is_told_and_the_first_stays(filled):
    (one,) = series(1)
    sensorlog.keep(filled, [one], START)
    (outcome,) = sensorlog.keep(filled, [replace(one, value=one.value + 1.0)], START)
    assert outcome.state == "other value"
    probe = sensor_devices.devices(filled)[0].probes[0].number
    assert sensor_devices.last_value(filled, probe).value == one.value


def test_a_jump_waits_and_is_confirmed_by_what_follows(filled):
    calm = series(20)
    step = [
        replace(one, when=one.when + timedelta(minutes=20), value=one.value + 20.0) for one in calm
    ]
    sensorlog.keep(filled, calm, START + timedelta(hours=1))
    outcomes = sensorlog.keep(filled, step[:5], START + timedelta(hours=1))
    assert {one.reason for one in outcomes} == {Reason.JUMP}
    sensorlog.keep(filled, step[5:], START + timedelta(hours=1))
    assert sensorlog.decisions(filled) == ()


def test_readings_at_most_every_three_hours_and_only_of_what_is_over(filled):
    sensorlog.keep(filled, series(600), START + timedelta(hours=10))
    placed(filled)
    done = sensor_feed.settle(filled, START + timedelta(hours=10))
    assert (done.readings, done.problems) == (3, ())
    readings = in_force(filled)
    assert [one.when.hour for one in readings] == [1, 4, 7]
    assert all(isinstance(one.payload, r.Reading) for one in readings)
    revision = filled.revision()
    for _ in range(3):
        assert sensor_feed.settle(filled, START + timedelta(hours=10)).readings == 0
    assert filled.revision() == revision


def test_left_out_values_never_enter_and_overruling_writes_and_takes_back(filled):
    bad = series(400, level=45.0)
    for place in range(180, 360):
        changed(bad, place, 150.0)
    sensorlog.keep(filled, bad, START + timedelta(hours=8))
    placed(filled, SOURCE)
    now = START + timedelta(hours=8)
    sensor_feed.settle(filled, now)
    assert [one.when.hour for one in in_force(filled)] == [1]
    (decision,) = sensorlog.decisions(filled)
    assert (decision.reason, decision.count) == (Reason.UNIT, 180)
    # even overruled, such a value cannot be a reading, and holds nothing up
    sensorlog.overrule(filled, decision.number)
    assert sensor_feed.settle(filled, now).problems == ()
    sensorlog.keep(filled, series(400, start=START + timedelta(hours=9)), now + timedelta(days=1))
    sensor_feed.settle(filled, now + timedelta(days=1))
    assert [one.when.hour for one in in_force(filled)] == [1, 6, 10, 13, 15]


def test_what_a_person_leaves_out_is_taken_back_and_brought_back(filled):
    sensorlog.keep(filled, series(600), START + timedelta(hours=10))
    placed(filled)
    now = START + timedelta(hours=10)
    sensor_feed.settle(filled, now)
    before = [(one.when, one.payload) for one in in_force(filled)]
    end = START + timedelta(hours=3, minutes=30)
    (number,) = sensorlog.leave_out(filled, "north", None, START, end, now)
    done = sensor_feed.settle(filled, now)
    assert done.withdrawn == 1
    assert [one.when.hour for one in in_force(filled)] == [4, 7]
    for round_ in range(3):
        assert sensorlog.overrule(filled, number)
        sensor_feed.settle(filled, now)
        assert [(one.when, one.payload) for one in in_force(filled)] == before, round_
        assert not sensorlog.overrule(filled, number)
        sensor_feed.settle(filled, now)
        assert len(in_force(filled)) == 2


def test_overruling_a_stuck_probe_brings_its_readings_and_goes_on(filled):
    still = [
        Measurement("north", "1", START + timedelta(minutes=5 * k), 41.3) for k in range(12 * 30)
    ]
    sensorlog.keep(filled, still, START + timedelta(hours=30))
    placed(filled)
    now = START + timedelta(hours=31)
    sensor_feed.settle(filled, now)
    few = len(in_force(filled))
    (decision,) = sensorlog.decisions(filled)
    assert decision.reason == Reason.STUCK
    sensorlog.overrule(filled, decision.number)
    sensor_feed.settle(filled, now)
    assert len(in_force(filled)) > few
    (outcome,) = sensorlog.keep(filled, [replace(still[-1], when=START + timedelta(hours=30))], now)
    assert outcome.kept


def test_what_comes_late_corrects_the_reading(filled):
    day = series(180)
    sensorlog.keep(filled, day[:60], START + timedelta(hours=4))
    placed(filled)
    now = START + timedelta(hours=4)
    sensor_feed.settle(filled, now)
    (first,) = in_force(filled)
    sensorlog.keep(filled, day[60:], now)
    sensor_feed.settle(filled, now)
    (second,) = in_force(filled)
    assert second.corrects == first.id
    assert second.when.hour == 1


def test_what_a_person_took_back_or_corrected_stays_so(filled):
    day = series(360)
    sensorlog.keep(filled, day[:60] + day[180:240], START + timedelta(hours=7))
    placed(filled)
    now = START + timedelta(hours=7)
    sensor_feed.settle(filled, now)
    first, second = in_force(filled)
    own = r.Reading("core", r.Temperature(50, "C"))
    filled.append(
        [
            r.Entry(uuid4(), "Box", now, None, now, corrects=first.id, retracts=True),
            r.Entry(uuid4(), "Box", second.when, own, now, corrects=second.id),
        ]
    )
    sensorlog.keep(filled, day, now)
    sensor_feed.settle(filled, now)
    (left,) = in_force(filled)
    assert left.payload == own


def test_a_crash_in_the_middle_leaves_all_to_be_done(filled, monkeypatch):
    sensorlog.keep(filled, series(600), START + timedelta(hours=10))
    placed(filled)
    now = START + timedelta(hours=10)
    with monkeypatch.context() as patch:

        def crash(*_arguments):
            raise KeyboardInterrupt

        patch.setattr(sensor_feed, "_write_windows", crash)
        with pytest.raises(KeyboardInterrupt):
            sensor_feed.settle(filled, now)
    assert filled.entries() == []
    sensor_feed.settle(filled, now + timedelta(minutes=5))
    assert len(filled.entries()) == 3


def test_another_place_holds_from_then_on(filled):
    sensorlog.keep(filled, series(600), START + timedelta(hours=10))
    placed(filled)
    sensor_feed.settle(filled, START + timedelta(hours=10))
    moved = replace(SOURCE, bin="Second", position=Position(Length(20, "cm"), "base"))
    later = START + timedelta(hours=10)
    sensor_devices.place_probe(filled, moved, now=milliseconds(later))
    more = series(400, start=START + timedelta(hours=10), seed=2)
    sensorlog.keep(filled, more, START + timedelta(hours=17))
    sensor_feed.settle(filled, START + timedelta(hours=17))
    assert [(one.bin, one.when.hour) for one in in_force(filled)] == [
        ("Box", 1), ("Box", 4), ("Box", 7), ("Second", 10), ("Second", 13),
    ]  # fmt: skip
    sensor_devices.place_probe(filled, moved, since=0)
    sensor_feed.settle(filled, START + timedelta(hours=17))
    assert {one.bin for one in in_force(filled)} == {"Second"}
    assert len(in_force(filled)) == 5
    for name in ("Box", "Second"):
        # what a page asks for: the entries of one bin make sense alone
        r.effective_entries(filled.entries(name))


def test_a_bin_that_is_gone_is_told_and_the_readings_wait(filled):
    sensorlog.keep(filled, series(600), START + timedelta(hours=10))
    placed(filled, replace(SOURCE, bin="Second"))
    filled.set_site(replace(SITE, bins=(BIN,)))
    done = sensor_feed.settle(filled, START + timedelta(hours=10))
    assert done.readings == 0
    assert "Second" in done.problems[0]
    filled.set_site(SITE)
    assert sensor_feed.settle(filled, START + timedelta(hours=10)).readings == 3


def test_thinning_keeps_readings_and_refuses_what_was_summed_up(filled):
    day = series(600)
    changed(day, 300, 70.0)
    sensorlog.keep(filled, day, START + timedelta(hours=10))
    placed(filled)
    late = START + timedelta(days=15)
    before = sensor_feed.quarters(filled, 1, 0, 10**14)
    done = sensor_feed.thin(filled, late)
    assert done.summed == 599
    assert count(filled, SENSOR_SUMMARIES) == 40
    assert count(filled, SENSOR_VALUES) == 1
    after = sensor_feed.quarters(filled, 1, 0, 10**14)
    assert after == before
    assert sensor_feed.settle(filled, late).readings == 4
    states = [one.state for one in sensorlog.keep(filled, day, late)]
    assert states.count("summarised") == 599
    # the spike was not summed up; overruled, it is
    (decision,) = sensorlog.decisions(filled)
    sensorlog.overrule(filled, decision.number)
    sensor_feed.thin(filled, late)
    assert count(filled, SENSOR_VALUES) == 0
    (joined,) = [one for one in sensor_feed.quarters(filled, 1, 0, 10**14) if one.high == 70.0]
    assert joined.count == 15
    with pytest.raises(InvalidInput, match="no longer"):
        sensorlog.overrule(filled, decision.number)


def test_settling_again_after_a_lost_note_writes_nothing_twice(filled):
    sensorlog.keep(filled, series(600), START + timedelta(hours=10))
    placed(filled)
    now = START + timedelta(hours=10)
    sensor_feed.settle(filled, now)
    with writing(filled.engine) as connection:
        connection.execute(update(SENSOR_WINDOWS).values(due=True, entry=None, said=""))
    sensor_feed.settle(filled, now + timedelta(minutes=5))
    assert len(filled.entries()) == 3


def test_many_who_keep_and_settle_at_once_agree(filled):
    day = series(720)
    placed(filled)
    now = START + timedelta(hours=13)

    def work(part):
        for place in range(part, 720, 80):
            sensorlog.keep(filled, day[place : place + 40], now)
            sensor_feed.settle(filled, now)

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(work, (0, 20, 40, 60)))
    assert count(filled, SENSOR_VALUES) == 720
    written = in_force(filled)
    assert [one.when.hour for one in written] == [1, 4, 7, 10]
    with filled.engine.connect() as connection:
        for one in written:
            begin = milliseconds(one.when) - 450_000
            (quarter,) = sensor_feed.quarters(filled, 1, begin, begin + 900_000)
            assert one.payload.temperature.value == pytest.approx(quarter.mean, abs=0.051)
        assert connection.execute(select(func.count()).where(SENSOR_WINDOWS.c.due)).scalar() == 0


def test_two_probes_cannot_be_one_thermometer(filled):
    placed(filled)
    with pytest.raises(InvalidInput, match="already"):
        placed(filled, replace(SOURCE, device="south"))
    placed(filled, replace(SOURCE, device="south", position=Position(Length(10, "cm"))))
    placed(filled)


def test_a_gap_filled_late_is_taken_though_the_time_is_summed_up(filled):
    day = series(600)
    sensorlog.keep(filled, day[:200] + day[400:], START + timedelta(hours=10))
    late = START + timedelta(days=15)
    sensor_feed.thin(filled, late)
    states = [one.state for one in sensorlog.keep(filled, day, late)]
    # the two quarters at the ends of the gap are summed up already
    assert states.count("new") == 180
    sensor_feed.thin(filled, late)
    assert count(filled, SENSOR_SUMMARIES) == 40


def test_hours_after_more_than_a_year(filled):
    sensorlog.keep(filled, series(600), START + timedelta(hours=10))
    mean = np.average(
        [one.mean for one in sensor_feed.quarters(filled, 1, 0, 10**14)],
        weights=[one.count for one in sensor_feed.quarters(filled, 1, 0, 10**14)],
    )
    sensor_feed.thin(filled, START + timedelta(days=500))
    kept = sensor_feed.quarters(filled, 1, 0, 10**14)
    assert len(kept) == 10
    assert sum(one.count for one in kept) == 600
    assert np.average([one.mean for one in kept], weights=[one.count for one in kept]) == (
        pytest.approx(mean)
    )
    late = START + timedelta(days=500)
    assert {one.state for one in sensorlog.keep(filled, series(600), late)} == {"summarised"}


def test_left_out_values_stay_ninety_days_from_the_decision(filled):
    day = series(100)
    changed(day, 50, 70.0)
    sensorlog.keep(filled, day, START + timedelta(days=60))
    sensor_feed.thin(filled, START + timedelta(days=140))
    assert count(filled, SENSOR_VALUES) == 1
    sensor_feed.thin(filled, START + timedelta(days=151))
    assert count(filled, SENSOR_VALUES) == 0


def test_wrong_clocks_are_kept_apart(filled):
    day = series(10)
    wrong = [
        replace(day[0], when=datetime(1970, 1, 1, 0, 5, tzinfo=UTC)),
        replace(day[0], when=START + timedelta(days=30)),
    ]
    outcomes = sensorlog.keep(filled, [*day, *wrong], START + timedelta(hours=1))
    assert [one.reason for one in outcomes[-2:]] == [Reason.CLOCK] * 2
    placed(filled)
    sensor_feed.settle(filled, START + timedelta(days=60))
    assert [one.when.day for one in in_force(filled)] == [2]
    probe = sensor_devices.devices(filled)[0].probes[0].number
    assert sensor_devices.last_value(filled, probe).when == day[-1].when


def test_devices_and_tokens(filled):
    assert sensor_devices.add_device(filled, " north ", "push", START)
    assert not sensor_devices.add_device(filled, "north", "mqtt", START)
    sensor_devices.set_token(filled, "north", "a" * 64)
    sensor_devices.set_token(filled, "north", "b" * 64)
    assert sensor_devices.tokens(filled) == {"b" * 64: "north"}
    with pytest.raises(UnknownName, match="Did you mean north"):
        sensor_devices.set_token(filled, "nort", "c" * 64)
    with pytest.raises(InvalidInput, match="kind"):
        sensor_devices.add_device(filled, "east", "radio", START)


def test_devices_nobody_knows_are_not_written_down_without_end(filled, monkeypatch):
    monkeypatch.setattr(sensorlog, "MOST_DEVICES", 3)
    for k in range(3):
        sensorlog.keep(filled, [Measurement(f"d{k}", "1", START, 20.0)], START)
    with pytest.raises(InvalidInput, match="up to 3"):
        sensorlog.keep(filled, [Measurement("d3", "1", START, 20.0)], START)
    assert len(sensor_devices.devices(filled)) == 3


def test_channels_of_a_device_are_not_written_down_without_end(filled, monkeypatch):
    monkeypatch.setattr(sensorlog, "MOST_CHANNELS", 3)
    many = [Measurement("north", f"c{k}", START, 20.0) for k in range(4)]
    with pytest.raises(InvalidInput, match="up to 3"):
        sensorlog.keep(filled, many, START)
    assert sensor_devices.devices(filled) == ()


def test_a_journal_of_the_form_before_gets_the_tables_and_keeps_its_entries(tmp_path):
    with open_store(tmp_path) as store:
        store.set_site(SITE)
        store.append([r.Entry(uuid4(), "Box", START, r.Stir())])
        config = Config()
        config.set_main_option("script_location", MIGRATIONS.as_posix())
        with writing(store.engine) as connection:
            config.attributes["connection"] = connection
            command.downgrade(config, "0001")
        assert not inspect(store.engine).has_table("sensor_values")
    with open_store(tmp_path) as store:
        assert inspect(store.engine).has_table("sensor_values")
        assert len(store.entries()) == 1
        assert sensorlog.keep(store, series(1), START)[0].kept


def test_humidity_of_a_probe_is_another_probe_and_feeds_nothing(filled):
    both = [
        Measurement("north", "1", START, 20.0),
        Measurement("north", "1", START, 80.0, "relative_humidity", "%"),
    ]
    assert all(one.kept for one in sensorlog.keep(filled, both, START))
    (device,) = sensor_devices.devices(filled)
    assert [(one.channel, one.quantity) for one in device.probes] == [
        ("1", "temperature"), ("1 relative_humidity", "relative_humidity"),
    ]  # fmt: skip
    with pytest.raises(InvalidInput, match="only a temperature"):
        sensor_devices.place_probe(filled, replace(SOURCE, channel="1 relative_humidity"))


def test_unknown_decisions_and_empty_stretches_are_told(filled):
    with pytest.raises(InvalidInput, match="no decision 7"):
        sensorlog.overrule(filled, 7)
    sensorlog.keep(filled, series(3), START)
    with pytest.raises(InvalidInput, match="Nothing"):
        sensorlog.leave_out(
            filled, "north", None, START - timedelta(days=2), START - timedelta(days=1), START
        )
    assert sensorlog.decisions(filled) == ()
