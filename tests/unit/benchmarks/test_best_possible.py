"""What could be known at best: knows the truth of its hour, and not what comes."""

import json

import estimate_page
import numpy as np
import pytest

from benchmarks import best_possible
from benchmarks.hidden_bins import hidden_bin

SEED = 8


@pytest.fixture(scope="module")
def hidden():
    return hidden_bin(SEED, best_possible.ISSUE_DAYS)


def test_the_bin_kept_at_an_hour_is_the_truth_of_that_hour(hidden):
    assert len(hidden.truth.kept) == 12
    for hour, column in hidden.truth.kept.items():
        assert column.hour == hour
        assert best_possible._hottest(column) == pytest.approx(hidden.truth.hottest[hour])


def test_with_the_loads_and_the_weather_that_came_it_tells_the_truth(hidden):
    """Same laws, same acts: what lacks is nothing but the draining of the tub."""
    hour = min(hidden.truth.kept)
    hours = hour + np.arange(3.0, 73.0, 3.0)
    coming = [one for one in hidden.loads if hour < one.hour < hours[-1]]
    found = best_possible._ahead(hidden.truth.kept[hour], hidden.truth.column.air, coming, hours)
    true = np.interp(hours, hidden.truth.hours, hidden.truth.hottest)
    assert np.abs(found - true).max() < 0.3


def test_nothing_after_the_issue_is_used(hidden):
    """Other loads and weather later change nothing of the loads expected."""
    now = float(min(hidden.truth.kept))
    draws = np.random.default_rng(1)
    known = best_possible.loads_to_come(hidden.loads, now, now + 168.0, draws)
    before = [one for one in hidden.loads if one.hour <= now]
    again = best_possible.loads_to_come(before, now, now + 168.0, np.random.default_rng(1))
    assert known == again
    assert all(now < one.hour <= now + 168.0 for one in known)


def test_without_three_loads_nothing_is_expected(hidden):
    assert best_possible.loads_to_come(hidden.loads[:2], 1e6, 2e6, np.random.default_rng(1)) == []


def test_rows_are_pooled_by_issues_and_the_page_tells_them(tmp_path, monkeypatch):
    row = {
        "commit": "abc", "measured": "2026-01-01T00:00:00+00:00",
        "ahead": {"week": 3.0, "true_persistence": 4.0, "inside": 0.8, "issues": 1},
        "written": {"hottest_error": 5.0, "hottest_bias": 0.0, "peaks": 4, "peaks_met": 1},
    }  # fmt: skip
    other = row | {
        "ahead": {"week": 6.0, "true_persistence": 8.0, "inside": 0.6, "issues": 3},
        "written": {"hottest_error": 7.0, "hottest_bias": 0.0, "peaks": 0, "peaks_met": 0},
    }
    told = best_possible.pooled([row, other])
    assert told["forecast_error"] == pytest.approx(np.sqrt((9.0 + 3 * 36.0) / 4))
    assert told["forecast_better_than_true"] == pytest.approx(0.25)
    assert told["peaks_met_share"] == 0.25
    path = tmp_path / "best.json"
    path.write_text(json.dumps(told), encoding="utf-8")
    monkeypatch.setattr(estimate_page, "BEST", path)
    assert "| so better than holding the truth | 25.0 % |" in estimate_page.best_text()
