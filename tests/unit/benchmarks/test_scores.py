"""Scores against values worked out by hand and against chance of a known law."""

import numpy as np
import pytest

from benchmarks import scores
from slowfire.errors import InvalidInput


def test_interval_of_the_true_law_holds_nine_in_ten():
    draws = np.random.default_rng(3)
    middle = draws.normal(20.0, 10.0, 3000)
    members = middle + draws.normal(0.0, 2.0, (400, 3000))
    truth = middle + draws.normal(0.0, 2.0, 3000)
    # standard error of the share is 0.0055; a finite ensemble costs about 0.004
    assert scores.inside_share(truth, members) == pytest.approx(0.896, abs=0.018)
    narrow = middle + 0.5 * (members - middle)
    assert scores.inside_share(truth, narrow) < 0.65  # 59 % of a normal law within half the width


def test_interval_needs_members_that_fit():
    with pytest.raises(InvalidInput, match=r"\(members, hours\)"):
        scores.inside_share(np.zeros(4), np.zeros((3, 5)))


def test_heights_are_scored_only_inside_the_stack():
    truth = np.array([10.0, 20.0, np.nan, 40.0])
    members = np.array([[12.0, 21.0, 30.0, np.nan], [14.0, 21.0, 30.0, np.nan]])
    error, inside = scores.inside_shares_below_top(truth, members)
    assert error == pytest.approx(np.sqrt((3.0**2 + 1.0**2) / 2.0))
    assert inside == 0.0
    never = scores.inside_shares_below_top(np.full(4, np.nan), members)
    assert np.isnan(never).all()


def batch_of(hours: np.ndarray, load: float, top: float, after: float) -> np.ndarray:
    """A bump of 10 K that is highest some hours after a load."""
    return top * np.exp(-0.5 * ((hours - load - after) / 15.0) ** 2)


def test_peaks_are_those_that_rise_and_fall():
    hours = np.arange(0.0, 301.0)
    loads = [0.5, 100.5, 110.5, 200.5]
    hottest = 30.0 + batch_of(hours, 0.0, 10.0, 40.0) + batch_of(hours, 200.0, 1.5, 40.0)
    found = scores.true_peaks(hours, hottest, loads, 0.0, 300.0)
    # the second batch is flat, the load ten hours into it is part of it, the third rises by 1.5 K
    assert [(one.hour, one.begin, one.end) for one in found] == [(40.0, 0.5, 100.5)]
    assert found[0].celsius == pytest.approx(40.0)


def test_a_peak_cut_short_by_the_next_load_is_none():
    hours = np.arange(0.0, 101.0)
    assert scores.true_peaks(hours, 20.0 + 0.2 * hours, [1.0, 50.0], 0.0, 100.0) == []


@pytest.mark.parametrize(
    ("shift_hours", "shift_kelvin", "met"), [(0, 0.0, 1), (6, 1.5, 1), (12, 0.0, 0), (0, 2.5, 0)]
)
def test_peak_is_met_within_two_kelvin_and_eight_hours(shift_hours, shift_kelvin, met):
    hours = np.arange(0.0, 151.0)
    truth = 30.0 + batch_of(hours, 0.0, 10.0, 60.0)
    peaks = scores.true_peaks(hours, truth, [0.5], 0.0, 150.0)
    every = hours[::3]
    estimate = 30.0 + shift_kelvin + batch_of(every, 0.0, 10.0, 60.0 + shift_hours)
    assert len(peaks) == 1
    assert scores.peaks_met(peaks, every, estimate) == met


def test_lid_at_its_word_holds_the_last_reading():
    hours = np.array([0.0, 10.0, 20.0, 30.0])
    error, known = scores.lid_at_its_word(
        np.array([5.0, 25.0]), np.array([20.0, 30.0]), hours, np.array([0.0, 50.0, 60.0, 60.0])
    )
    assert known.tolist() == [False, True, True, True]
    assert error == pytest.approx(np.sqrt((30.0**2 + 40.0**2 + 30.0**2) / 3.0))


def test_forecast_is_scored_over_the_week_and_against_what_is_held():
    hours = np.arange(0.0, 1001.0)
    truth = 20.0 + 0.1 * hours
    ahead = np.arange(101.0, 300.0)  # beyond the week nothing counts
    members = (truth[101:300] + 1.0) + np.array([-2.0, 0.0, 2.0])[:, None]
    found = scores.forecast_errors([(100.0, ahead, members, 33.0)], hours, truth)
    leads = np.arange(1.0, 169.0)
    assert found.week == pytest.approx(1.0)
    assert found.seventh_day == pytest.approx(1.0)
    # held at 33 where the truth is 30 and rises by 0.1 K an hour
    assert found.persistence == pytest.approx(np.sqrt(np.mean((3.0 - 0.1 * leads) ** 2)))
    assert found.persistence_seventh_day == pytest.approx(
        np.sqrt(np.mean((3.0 - 0.1 * leads[-24:]) ** 2))
    )
    assert found.true_persistence == pytest.approx(np.sqrt(np.mean((0.1 * leads) ** 2)))
    assert found.inside == 1.0
    assert found.issues == 1


def test_no_forecast_is_no_number():
    found = scores.forecast_errors([], np.arange(5.0), np.arange(5.0))
    assert np.isnan(found.week)
    assert found.issues == 0


def test_cold_and_airless_takes_a_week_and_bears_a_stir():
    hours = np.arange(0.0, 600.0)
    hottest, air = np.full(600, 22.0), np.full(600, 10.0)
    oxygen = np.full(600, 0.15)
    oxygen[200:] = 0.005
    oxygen[300:310] = 0.05  # a stir let air in
    found = scores.cold_and_airless(hours, hottest, air, oxygen)
    first = int(np.flatnonzero(found)[0])
    # 152 of 168 hours are nine in ten: 100 of them before the stir, the last of the others at 361
    assert first == 361
    assert found[first:].all()
    assert not scores.cold_and_airless(hours, hottest + 10.0, air, oxygen).any()
    assert not scores.cold_and_airless(hours, hottest, air, np.full(600, 0.05)).any()


def test_cold_and_airless_refuses_gaps():
    with pytest.raises(InvalidInput, match="every hour"):
        scores.cold_and_airless(np.arange(0.0, 30.0, 3.0), *[np.zeros(10)] * 3)


def test_daily_mean_is_that_of_the_last_day():
    hourly = np.arange(100.0)
    assert scores.daily_mean(hourly)[50] == pytest.approx(np.mean(hourly[27:51]))


def test_reliability_of_honest_statements():
    draws = np.random.default_rng(5)
    stated = draws.random(20_000)
    outcomes = draws.random(20_000) < stated
    table = scores.reliability(stated, outcomes)
    # integral of p (1 - p) from 0 to 1
    assert table.brier_score == pytest.approx(1.0 / 6.0, abs=0.004)
    assert table.base_rate == pytest.approx(0.5, abs=0.012)
    assert table.skill == pytest.approx(1.0 / 3.0, abs=0.02)
    assert table.mean_gap < 0.015
    for count, told, seen in zip(table.count, table.stated, table.happened, strict=True):
        assert seen / count == pytest.approx(told / count, abs=0.04)


def test_overconfident_statements_are_seen_as_such():
    outcomes = np.arange(100) % 2 == 0
    table = scores.reliability(np.where(np.arange(100) % 4 < 2, 0.99, 0.01), outcomes)
    assert table.brier_score == pytest.approx((0.99**2 + 0.01**2) / 2.0)
    assert table.skill < 0.0
    assert table.mean_gap == pytest.approx(0.49)
    assert table.gap_in_all == pytest.approx(0.0)


def test_what_is_stated_too_often_shows_in_all():
    table = scores.reliability(np.full(10, 0.4), np.arange(10) == 3)
    assert table.gap_in_all == pytest.approx(0.3)
    assert np.isnan(scores.reliability(np.empty(0), np.empty(0, dtype=bool)).gap_in_all)


def test_tables_of_bins_add_up():
    one = scores.reliability(np.array([0.2, np.nan]), np.array([True, True]))
    two = scores.reliability(np.array([0.25, 1.0]), np.array([False, True]))
    both = scores.pooled([one, two])
    assert sum(both.count) == 3.0
    assert both.stated[2] == pytest.approx(0.45)
    assert both.happened[2] == 1.0
    assert both.brier_score == pytest.approx((0.8**2 + 0.25**2) / 3.0)
    assert np.isnan(scores.pooled([]).brier_score)


def test_a_probability_is_a_share():
    with pytest.raises(InvalidInput, match="0 to 1"):
        scores.reliability(np.array([50.0]), np.array([True]))
