"""What readings leave over, carried to the bed; the hottest layer is sought after it is added."""

from statistics import NormalDist

import numpy as np
import pytest

from slowfire.constants import OXYGEN_IN_AIR
from slowfire.estimate.discrepancy import (
    REACH_METRES,
    Leftover,
    corrected,
    corrected_hottest,
    correction,
    even_draws,
    told_oxygen,
    told_water,
)

GRID = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8]


def left_over(members, value=None, kelvin=4.0):
    if value is None:
        none = np.empty((0, members))
        return Leftover(np.empty(0), none, none, np.empty(0), kelvin)
    tips = np.full((1, members), 0.4)
    return Leftover(np.zeros(1), tips, np.full((1, members), value), np.full(1, 0.5), kelvin)


def bed(members, hours=3, celsius=40.0):
    profiles = np.full((members, hours, len(GRID)), celsius)
    return profiles[:, :, 0].copy(), np.full((members, hours), 0.4), profiles


@pytest.mark.parametrize("members", [5, 60, 401])
def test_even_draws_are_those_of_a_normal_law(members):
    drawn = even_draws(members, 3, 11)
    expected = NormalDist()
    shares = (np.arange(members) + 0.5) / members
    assert np.sort(drawn) == pytest.approx([expected.inv_cdf(one) for one in shares])
    assert np.array_equal(drawn, even_draws(members, 3, 11))
    assert not np.array_equal(drawn, even_draws(members, 3, 12))
    assert not np.array_equal(drawn, even_draws(members, 4, 11))


class TestCorrected:
    """The model's own error, where no reading is near."""

    def told(self, values, seed, kelvin=2.0):
        members, hours = values.shape
        none = left_over(members, kelvin=kelvin)
        return corrected(values, none, np.zeros(hours), np.zeros(values.shape), seed)

    @pytest.mark.parametrize("seed", [1, 2, 30])
    def test_the_mean_stays(self, seed):
        values = 40.0 + 5.0 * np.random.default_rng(seed).standard_normal((30, 3))
        wide = self.told(values, seed)
        assert wide.mean(axis=0) == pytest.approx(values.mean(axis=0))
        assert wide.shape == values.shape

    def test_the_variance_is_added(self):
        values = 3.0 * np.random.default_rng(1).standard_normal((400, 1))
        added = [self.told(values, seed).var() - values.var() for seed in range(40)]
        assert np.mean(added) == pytest.approx(4.0, rel=0.05)

    def test_a_sharp_ensemble_gets_the_error_alone(self):
        low, high = np.percentile(self.told(np.full((400, 2), 50.0), 3), [5.0, 95.0], axis=0)
        assert high - low == pytest.approx(np.full(2, 2.0 * 1.645 * 2.0), rel=0.03)

    def test_it_does_not_shake_a_series(self):
        series = np.linspace(20.0, 60.0, 50) + np.arange(30.0)[:, None]
        wide = self.told(series, 3)
        assert np.diff(wide, axis=1) == pytest.approx(np.diff(series, axis=1), abs=1e-9)

    def test_heights_above_the_stack_stay_unknown(self):
        values = np.array([[40.0, np.nan, np.nan], [42.0, 30.0, np.nan], [45.0, 31.0, np.nan]])
        assert (np.isnan(self.told(values, 1)) == np.isnan(values)).all()

    def test_the_seed_says_who_gets_which_error(self):
        values = np.arange(20.0)[:, None]
        assert (self.told(values, 1) == self.told(values, 1)).all()
        assert (self.told(values, 1) != self.told(values, 2)).any()


def test_of_an_even_bed_the_hottest_is_that_of_drawn_fields():
    """Against fields drawn by NumPy from the same covariance, no reading near."""
    members = 4000
    values, hot, profiles = bed(members, hours=1)
    told = corrected_hottest(values, hot, profiles, GRID, left_over(members), np.zeros(1), 3)
    apart = (np.array(GRID)[:, None] - np.array(GRID)[None, :]) / REACH_METRES
    covariance = 16.0 * np.exp(-0.5 * apart**2)
    draws = np.random.default_rng(5).multivariate_normal(np.full(8, 40.0), covariance, members)
    for percent in (5.0, 50.0, 95.0):
        expected = np.percentile(draws.max(axis=1), percent)
        assert np.percentile(told, percent) == pytest.approx(expected, abs=0.5)


def test_where_nothing_is_unsure_it_is_the_hottest_of_each_member():
    values, hot, profiles = bed(9)
    values += 2.0
    told = corrected_hottest(values, hot, profiles, GRID, left_over(9, kelvin=0.0), np.zeros(3), 1)
    assert np.array_equal(told, values)


def test_heights_above_the_stack_and_no_heights_at_all_are_left_out():
    values, hot, profiles = bed(9)
    profiles[:, :, 4:] = np.nan
    left = left_over(9, 1.0)
    told = corrected_hottest(values, hot, profiles, GRID, left, np.zeros(3), 1)
    assert np.isfinite(told).all()
    plain = corrected_hottest(values, hot, profiles[:, :, :0], (), left, np.zeros(3), 1)
    assert np.array_equal(plain, corrected(values, left, np.zeros(3), hot, 1))


def test_a_reading_pulls_the_bed_and_the_same_seed_tells_the_same():
    members = 200
    values, hot, profiles = bed(members)
    before = profiles.copy()
    hours = np.zeros(3)
    cold, warm = (
        corrected_hottest(values, hot, profiles, GRID, left_over(members, one), hours, 1)
        for one in (-5.0, 5.0)
    )
    assert np.median(warm) > np.median(cold) + 3.0
    again = corrected_hottest(values, hot, profiles, GRID, left_over(members, 5.0), hours, 1)
    assert np.array_equal(warm, again)
    assert np.array_equal(profiles, before)


def test_the_field_forgets_in_time_and_height():
    left = left_over(1, 5.0)
    near = correction(left, np.zeros(1), np.full((1, 1), 0.4))[0]
    later = correction(left, np.full(1, 240.0), np.full((1, 1), 0.4))[0]
    above = correction(left, np.zeros(1), np.full((1, 1), 0.8))[0]
    assert near > 4.0
    assert 0.0 < later < 1.0
    assert 0.0 <= above < 0.2


@pytest.mark.parametrize(
    ("told", "most", "logits"), [(told_water, 1.0, 0.2), (told_oxygen, OXYGEN_IN_AIR, 2.0)]
)
def test_shares_are_told_wide_within_what_can_be(told, most, logits):
    """An ensemble that agrees is told with the spread of the model, on the scale of the odds."""
    members = 60
    for share in (0.02, 0.5, 0.9):
        values = told(np.full((members, 2, 3), share * most), 3)
        assert values.shape == (members, 2, 3)
        assert (values > 0.0).all()
        assert (values < most).all()
        assert np.median(values[:, 0, 0]) == pytest.approx(share * most, rel=0.02)
        odds = np.log(values[:, 0, 0] / (most - values[:, 0, 0]))
        assert odds.std() == pytest.approx(logits, rel=0.03)
        # one error a member, the same along time and height
        assert np.ptp(values, axis=(1, 2)).max() < 1e-12


@pytest.mark.parametrize(("told", "most"), [(told_water, 1.0), (told_oxygen, OXYGEN_IN_AIR)])
def test_a_spread_of_its_own_is_kept(told, most):
    """Spread of members and of the model add up; the middle stays."""
    draws = np.random.default_rng(4)
    odds = draws.normal(0.5, 1.0, (401, 1))
    shares = most / (1.0 + np.exp(-odds))
    values = told(shares, 1)
    assert np.median(values) == pytest.approx(np.median(shares), rel=1e-6)
    wide = np.log(values / (most - values))
    assert wide.var() == pytest.approx(odds.var() + {1.0: 0.04}.get(most, 4.0), rel=0.1)


def test_what_is_not_there_stays_so():
    shares = np.full((9, 2), 0.6)
    shares[:, 1] = np.nan
    shares[3, 0] = np.nan
    values = told_water(shares, 1)
    assert np.isnan(values[:, 1]).all()
    assert np.isnan(values[3, 0])
    assert np.isfinite(np.delete(values[:, 0], 3)).all()


def test_fresh_air_and_none_at_all_are_told_as_they_are():
    """Far out on the scale of the odds the error moves nothing that can be seen."""
    airy = told_oxygen(np.full((40, 1), OXYGEN_IN_AIR), 1)
    assert airy.min() == pytest.approx(OXYGEN_IN_AIR, rel=1e-4)
    assert told_oxygen(np.zeros((40, 1)), 1).max() < 1e-4


def test_the_same_seed_draws_the_same():
    shares = np.full((12, 1), 0.3)
    assert np.array_equal(told_water(shares, 7), told_water(shares, 7))
    assert not np.array_equal(told_water(shares, 7), told_water(shares, 8))
