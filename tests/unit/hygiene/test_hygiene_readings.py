"""Rules over readings with gaps, dips, turnings and dryness."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowfire.errors import InvalidInput
from slowfire.hygiene.judge import judge_record, judge_spots
from slowfire.hygiene.record import TemperatureRecord, hot_time
from slowfire.hygiene.rules import find_rule

THREE_DAYS = find_rule("US503_PFRP_VESSEL")


def readings(hours, celsius, place="centre", position="probe"):
    celsius = np.broadcast_to(np.asarray(celsius, float), np.shape(hours))
    return TemperatureRecord(position, place, 0.4, np.asarray(hours, float), celsius)


@pytest.mark.parametrize(("hours", "met"), [(71.9, False), (72.0, True), (72.1, True)])
def test_edge_of_three_days(hours, met):
    record = readings([0.0, 24.0, 48.0, 60.0, hours], 55.0)
    assert judge_record(THREE_DAYS, record).met is met


def test_just_below_the_limit_is_cold():
    assert judge_record(THREE_DAYS, readings(range(0, 200, 12), 54.99)).hours == 0.0


def test_a_dip_restarts_the_count():
    celsius = [60.0, 60.0, 60.0, 54.0, 60.0, 60.0, 60.0]
    judged = judge_record(THREE_DAYS, readings(range(0, 7 * 24, 24), celsius))
    assert not judged.met
    assert judged.hours == 48.0
    assert judged.hot.total_hours == 96.0


def test_missing_days_are_not_hot():
    judged = judge_record(THREE_DAYS, readings([0.0, 24.0, 72.0, 96.0], 60.0))
    assert not judged.met
    assert judged.hot.total_hours == 48.0
    assert judged.longest_gap_hours == 48.0
    assert any("48.0 hours lie in gaps" in one for one in judged.reasons)


def test_gap_allowed_is_an_argument():
    record = readings([0.0, 36.0, 72.0], 60.0)
    assert not judge_record(THREE_DAYS, record).met
    assert judge_record(THREE_DAYS, record, longest_gap_hours=36.0).met


def test_silence_after_the_last_reading_is_a_gap():
    found = hot_time(readings([0.0, 24.0], 60.0), 55.0, until_hour=100.0)
    assert found.longest_gap_hours == 76.0
    assert found.total_hours == 24.0


def test_proof_starts_over_after_mixing():
    record = readings(range(0, 121, 24), 60.0)
    assert judge_record(THREE_DAYS, record, since_hour=48.0).met
    assert not judge_record(THREE_DAYS, record, since_hour=49.0).met


def test_above_the_upper_limit_does_not_count():
    rule = find_rule("US_NOP_VESSEL")
    judged = judge_record(rule, readings(range(0, 121, 24), [60, 60, 78, 60, 60, 60]))
    assert not judged.met
    assert judged.hours == 48.0
    assert any("outside the rule" in one for one in judged.reasons)


class TestAddedUp:
    rule = find_rule("US503_PFRP_WINDROW")
    record = readings(range(0, 24 * 17, 24), [60.0] * 8 + [50.0] + [60.0] * 8)

    def test_hours_add_up_over_a_dip(self):
        judged = judge_record(self.rule, self.record)
        assert judged.hours == 14 * 24.0
        assert not judged.met

    def test_turnings_must_fall_into_the_hot_time(self):
        longer = readings(range(0, 24 * 19, 24), [60.0] * 8 + [50.0] + [60.0] * 10)
        inside = [72.0, 144.0, 216.0, 288.0, 360.0]
        assert judge_record(self.rule, longer, turning_hours=inside).met
        assert not judge_record(self.rule, longer, turning_hours=[*inside[:4], 600.0]).met

    def test_turnings_too_close_count_once(self):
        rule = find_rule("UK_CW_WINDROW")
        record = readings(range(0, 24 * 9, 24), 61.0)
        assert judge_record(rule, record, turning_hours=[24.0, 72.0, 120.0]).met
        close = judge_record(rule, record, turning_hours=[24.0, 60.0, 96.0])
        assert close.turnings == 2
        assert not close.met


def test_a_run_before_each_turning():
    rule = find_rule("AU_AS4454_LOW")
    record = readings(range(0, 24 * 13, 24), 58.0)
    assert judge_record(rule, record, turning_hours=[72.0, 144.0, 216.0]).met
    early = judge_record(rule, record, turning_hours=[72.0, 120.0, 216.0])
    assert early.turnings == 2
    assert not early.met


def test_hotter_hours_inside_the_run():
    rule = find_rule("US503_PSRP")
    warm = readings(range(0, 121, 4), 42.0)
    assert not judge_record(rule, warm).met
    celsius = np.full(31, 42.0)
    celsius[10:12] = 56.0
    assert judge_record(rule, readings(range(0, 121, 4), celsius)).met


class TestSoft:
    rule = find_rule("DE_BIOABFV_65")

    def test_weekend_does_not_start_the_count_anew(self):
        hours = [0.0, 24.0, 48.0, 114.0, 138.0]
        judged = judge_record(self.rule, readings(hours, 66.0), moisture_content_wet_basis=0.5)
        assert judged.hours == 72.0
        assert judged.met

    def test_a_longer_break_does(self):
        hours = [0.0, 24.0, 48.0, 124.0, 148.0]
        judged = judge_record(self.rule, readings(hours, 66.0), moisture_content_wet_basis=0.5)
        assert judged.hours == 48.0

    @pytest.mark.parametrize(("moisture", "met"), [(None, None), (0.39, False), (0.40, True)])
    def test_water_is_a_condition(self, moisture, met):
        record = readings(range(0, 97, 24), 66.0)
        judged = judge_record(self.rule, record, moisture_content_wet_basis=moisture)
        assert judged.moisture_met is met
        assert judged.met is (met is True)


class TestSpots:
    def test_one_probe_leaves_the_edges_unknown(self):
        judged = judge_spots(THREE_DAYS, [readings(range(0, 97, 24), 60.0)])
        assert judged.words.startswith("The core met it for 4.0 days, edges unknown")
        assert not judged.everywhere

    def test_no_reading_is_refused(self):
        with pytest.raises(InvalidInput, match="no readings"):
            judge_spots(THREE_DAYS, [])


@pytest.mark.parametrize(
    ("hours", "celsius", "message"),
    [
        ([0.0, 0.0], [60.0, 60.0], "rise"),
        ([1.0, 0.0], [60.0, 60.0], "rise"),
        ([0.0], [160.0], "°F"),
        ([0.0], [np.nan], "°F"),
        ([], [], "at least one"),
    ],
)
def test_record_refuses(hours, celsius, message):
    with pytest.raises(InvalidInput, match=message):
        TemperatureRecord("probe", "centre", 0.4, np.asarray(hours), np.asarray(celsius))


def test_record_refuses_places_and_heights():
    with pytest.raises(InvalidInput, match="centre or edge"):
        TemperatureRecord("probe", "lid", 0.4, np.array([0.0]), np.array([20.0]))
    with pytest.raises(InvalidInput, match="Height"):
        TemperatureRecord("probe", "edge", -1.0, np.array([0.0]), np.array([20.0]))


@given(st.lists(st.floats(20.0, 80.0), min_size=2, max_size=40), st.integers(0, 39))
def test_leaving_a_reading_out_never_adds_heat(celsius, left_out):
    """Unmeasured time is not hot: fewer readings, no more hours, unless it hides a dip."""
    hours = np.arange(len(celsius)) * 24.0
    whole = hot_time(readings(hours, celsius), 55.0)
    k = left_out % len(celsius)
    keep = np.arange(len(celsius)) != k
    less = hot_time(readings(hours[keep], np.asarray(celsius)[keep]), 55.0)
    assert less.total_hours <= whole.total_hours + 1e-9
    assert less.longest_hours <= whole.longest_hours + 1e-9


@given(st.lists(st.floats(20.0, 80.0), min_size=2, max_size=40))
def test_hours_fall_with_the_limit(celsius):
    record = readings(np.arange(len(celsius)) * 12.0, celsius)
    totals = [hot_time(record, float(limit)).total_hours for limit in range(40, 80, 5)]
    assert totals == sorted(totals, reverse=True)
    assert totals[0] <= record.hours[-1]
