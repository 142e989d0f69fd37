"""The weeks around an estimate: medians and spreads of members that do not all reach so high."""

import numpy as np
import pytest

from slowfire.services.inside_series import DIGITS, _medians, _spreads

ROUNDED = 0.51 * 10.0**-DIGITS


@pytest.fixture(scope="module")
def members():
    draws = np.random.default_rng(1)
    values = draws.normal(40.0, 5.0, (61, 200))
    values[draws.random(values.shape) < 0.3] = np.nan
    values[:, 5] = np.nan
    values[:40, 6] = np.nan
    values[:, 7] = 33.0
    values[:, 8] = draws.normal(20.0, 1.0, 61)
    return values


def test_they_are_numpys_where_half_of_the_members_reach_so_high(members):
    """NumPy's nanpercentile, linear between the two nearest members, is the reference."""
    middle, spread = _medians(members), _spreads(members)
    low, half, high = np.nanpercentile(members[:, 6:], [5.0, 50.0, 95.0], axis=0)
    known = 2 * np.isfinite(members[:, 6:]).sum(axis=0) >= members.shape[0]
    assert known.sum() > 150
    for k in range(known.size):
        if known[k]:
            assert abs(middle[6 + k] - half[k]) <= ROUNDED
            assert abs(spread[6 + k] - 0.5 * (high[k] - low[k])) <= ROUNDED
        else:
            assert middle[6 + k] is None
            assert spread[6 + k] is None


def test_where_nobody_or_too_few_reach_nothing_is_told(members):
    assert _medians(members)[5:8] == (None, None, 33.0)
    assert _spreads(members)[5:8] == (None, None, 0.0)
