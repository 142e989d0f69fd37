"""What the fit left: values in use, ranges kept, draws that may be run."""

import re

import numpy as np
import pytest

from slowfire.column.parameters import priors
from slowfire.column.posterior import fit, fitted_draws, fitted_spreads


def test_the_values_in_use_are_those_of_the_fit():
    for name, one in fitted_spreads().items():
        assert priors()[name].value == pytest.approx(one.value, rel=1e-3), name


def test_what_is_left_lies_inside_the_range():
    for name, one in fitted_spreads().items():
        prior = priors()[name]
        assert prior.low <= one.low < one.high <= prior.high, name
        assert 0.0 < one.spread_left < 1.5, name


def test_draws_stay_inside_the_ranges_and_keep_the_spread():
    draws = fitted_draws()
    assert len(draws) == fit().members
    for name, one in fitted_spreads().items():
        values = np.array([getattr(draw, name) for draw in draws])
        assert priors()[name].low <= values.min() < values.max() <= priors()[name].high
        assert np.quantile(values, [0.05, 0.95]) == pytest.approx([one.low, one.high], rel=2e-3)


def test_the_fit_names_its_commit():
    assert re.fullmatch(r"[0-9a-f]{7,40}", fit().commit)
    assert fit().passed <= fit().rows
