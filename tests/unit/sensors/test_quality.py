"""What is believed and what is not: faults put in on purpose are found, and what a bin does stays.

The limits are common practice, no source.
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slowfire.sensors.quality import Reason, gaps, judge

START = 1.8e9
NOW = START + 1e8
MINUTE, HOUR = 60.0, 3600.0


def said(values, step=MINUTE, **more):
    seconds = START + step * np.arange(float(len(values)))
    return [Reason(code).name for code in judge(seconds, np.array(values, float), NOW, **more)]


def bin_day(minutes=1440, level=45.0, seed=1):
    """A bin: slow swing, and the noise of a probe with sixteenths of a degree."""
    noise = np.random.default_rng(seed).normal(0.0, 0.08, minutes)
    swing = 6.0 * np.sin(np.arange(minutes) / 1440.0 * 2.0 * np.pi)
    return np.round(16.0 * (level + swing + noise)) / 16.0


def test_a_plain_day_is_kept_whole():
    assert set(said(bin_day())) == {"KEPT"}


@pytest.mark.parametrize(
    ("value", "reason"),
    [
        (131.0, "UNIT"),  # 55 C in Fahrenheit
        (318.0, "UNIT"),  # 45 C in kelvin
        (85.0, "FAULT"),
        (-127.0, "FAULT"),
        (-55.0, "RANGE"),
        (200.0, "RANGE"),
        (70.0, "SPIKE"),
        (20.0, "SPIKE"),
    ],
)
def test_one_wrong_value_in_a_day(value, reason):
    day = bin_day()
    day[700] = value
    found = said(day)
    assert found[700] == reason
    assert set(found[:700] + found[701:]) == {"KEPT"}


def test_an_open_lid_of_ten_minutes_is_left_out_and_one_of_an_hour_is_told():
    day = bin_day()
    day[300:310] -= 25.0
    assert said(day).count("SPIKE") == 10
    day = bin_day()
    day[300:360] -= 25.0
    assert set(said(day)) == {"KEPT"}


def test_a_glitch_in_several_hops_is_one_spike():
    day = bin_day()
    day[300:304] = [62.0, 75.0, 63.0, 60.0]
    found = said(day)
    assert found[300:304] == ["SPIKE"] * 4
    assert found[304:310] == ["KEPT"] * 6


def test_a_step_that_lasts_is_believed_once_it_lasted():
    before, after = [40.0, 40.1, 40.2], [60.0, 60.1, 60.2, 60.0, 60.1]
    assert said(before + after)[3:] == ["JUMP"] * 5
    longer = before + [60.0 + 0.1 * (k % 3) for k in range(20)]
    assert set(said(longer)) == {"KEPT"}


def test_an_hourly_probe_may_move_more_between_two_values():
    assert set(said([40.0, 48.0, 55.0, 48.0, 40.0], step=HOUR)) == {"KEPT"}
    assert said([40.0, 40.2, 75.0, 40.1, 40.0], step=HOUR)[2] == "SPIKE"


def test_values_far_apart_are_not_compared():
    assert set(said([10.0, 60.0, 12.0], step=5 * HOUR)) == {"KEPT"}


def test_stuck_after_twelve_hours_where_tenths_are_shown():
    values = [41.3] * (15 * 60)
    found = said(values)
    first = found.index("STUCK")
    assert 12 * 60 <= first <= 12 * 60 + 1
    assert set(found[first:]) == {"STUCK"}
    assert said([*values, 41.4])[-1] == "KEPT"


def test_whole_degrees_may_stand_for_two_days():
    assert "STUCK" not in said([20.0] * 47, step=HOUR)
    assert "STUCK" in said([20.0] * 60, step=HOUR)


def test_stuck_since_before_the_stretch_looked_at():
    assert said([41.3] * 10, same_since=START - 13 * HOUR) == ["STUCK"] * 10
    assert said([41.3, 41.4], same_since=START - 13 * HOUR) == ["STUCK", "KEPT"]


def test_fahrenheit_taken_for_celsius_goes_on_until_it_is_back():
    fahrenheit = [20.0 * 1.8 + 32.0] * 10
    assert said([20.0, 20.1, *fahrenheit, 20.0]) == ["KEPT"] * 2 + ["UNIT"] * 10 + ["KEPT"]
    assert said(fahrenheit, first=Reason.UNIT) == ["UNIT"] * 10


def test_fahrenheit_that_falls_into_the_range_of_celsius_is_still_fahrenheit():
    cooling = [90.0, 87.0, 84.0, 81.0, 78.0]
    assert said([32.0, 32.1, *cooling, 31.0, 31.1]) == ["KEPT"] * 2 + ["UNIT"] * 5 + ["KEPT"] * 2


def test_a_bin_that_creeps_above_the_range_is_hot_and_not_in_fahrenheit():
    assert said([83.5, 84.5, 86.0, 87.0, 86.0, 84.5]) == [
        "KEPT", "KEPT", "RANGE", "RANGE", "RANGE", "KEPT",
    ]  # fmt: skip


def test_values_around_a_range_fault_at_the_start_are_not_drawn_in():
    assert said([131.0, 50.0, 50.1, 50.2], first=Reason.UNIT) == ["UNIT"] + ["KEPT"] * 3


def test_a_clock_that_was_never_set_or_runs_ahead():
    seconds = np.array([100.0, START, NOW + 600.0, NOW + 7200.0])
    found = judge(seconds, np.array([20.0, 20.1, 20.2, 20.3]), NOW)
    assert [Reason(code).name for code in found] == ["CLOCK", "KEPT", "KEPT", "CLOCK"]


def test_humidity_and_battery_have_ranges_of_their_own():
    assert said([50.0, 101.0], quantity="relative_humidity") == ["KEPT", "RANGE"]
    assert said([3.3, -1.0], quantity="battery") == ["KEPT", "RANGE"]


def test_gaps():
    seconds = START + np.array([0.0, 60.0, 4 * HOUR, 4 * HOUR + 60.0])
    found = gaps(seconds, START + 10 * HOUR)
    assert found == [
        (START + 60.0, START + 4 * HOUR),
        (START + 4 * HOUR + 60.0, START + 10 * HOUR),
    ]
    assert gaps(seconds[:0], START) == []


@settings(max_examples=60)
@given(
    st.lists(st.floats(-200.0, 400.0), max_size=60),
    st.lists(st.floats(1.0, 2e4), min_size=60, max_size=60),
)
def test_nothing_outside_the_range_is_ever_kept(values, steps):
    seconds = START + np.cumsum(np.array(steps[: len(values)]))
    shown = np.array(values, float)
    codes = judge(seconds, shown, NOW)
    assert len(codes) == len(values)
    kept = shown[codes == 0]
    assert np.all((kept >= -40.0) & (kept <= 85.0))


@settings(max_examples=30)
@given(st.integers(0, 10_000), st.floats(0.0, 60.0))
def test_no_quiet_bin_loses_a_value(seed, level):
    assert set(said(bin_day(600, level, seed))) == {"KEPT"}
