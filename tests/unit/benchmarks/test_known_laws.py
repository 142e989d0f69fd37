"""What readings can show of a bin whose laws and walls are known."""

import json

import estimate_page
import pytest

from benchmarks import known_laws
from benchmarks.hidden_bins import hidden_bin
from slowfire.estimate import condition, member
from slowfire.estimate.priors import setting_of
from slowfire.timeline import bin_timeline


@pytest.fixture(scope="module")
def hidden():
    return hidden_bin(8)


def test_every_member_has_the_true_laws_and_walls_and_loads_of_its_own(hidden):
    described = bin_timeline(hidden.site, hidden.records["two_depths"], "Hidden bin").vessel
    with known_laws.true_laws(hidden):
        one = member.setting_of({"wall_loss": 2.0, "wet_mass": 1.0}, 3)
        other = condition.setting_of({"rate_rapid": -2.0, "wet_mass": -1.0}, 4)
    for setting in (one, other):
        assert setting.parameters.rate_rapid == hidden.parameters.rate_rapid
        assert setting.parameters.conductivity_factor == hidden.parameters.conductivity_factor
        assert setting.vessel(described) == hidden.walls
    assert one.factors["wet_mass"] > 1.0 > other.factors["wet_mass"]
    assert member.setting_of is setting_of
    assert condition.setting_of is setting_of


def test_what_the_keeper_changes_stays_changed(hidden):
    described = bin_timeline(hidden.site, hidden.records["two_depths"], "Hidden bin").vessel
    wider = described._replace(inlet_area=0.5 * described.inlet_area)
    with known_laws.true_laws(hidden):
        seen = member.setting_of({}, 0).vessel(wider)
    assert seen.inlet_area == wider.inlet_area
    assert seen.wall_resistance == hidden.walls.wall_resistance


def test_rows_are_pooled_and_the_page_tells_them(tmp_path, monkeypatch):
    row = {
        "commit": "abc", "measured": "2026-01-01T00:00:00+00:00",
        "hottest_error": 3.0, "hottest_inside": 0.8, "peaks": 4, "peaks_met": 1,
        "back": {"hottest_error": 2.0, "peaks_met": 2},
        "forecast": {"week": 3.0, "persistence": 4.0, "issues": 1},
    }  # fmt: skip
    other = row | {"hottest_error": 5.0, "peaks": 0, "peaks_met": 0}
    other |= {"back": {"hottest_error": 4.0, "peaks_met": 0}}
    told = known_laws.pooled([row, other])
    assert (told["hottest_error"], told["back_error"]) == (4.0, 3.0)
    assert (told["peaks_met_share"], told["back_peaks_met_share"]) == (0.25, 0.5)
    assert told["forecast_better"] == pytest.approx(0.25)
    path = tmp_path / "known.json"
    path.write_text(json.dumps(told), encoding="utf-8")
    monkeypatch.setattr(estimate_page, "KNOWN", path)
    assert "| peaks met looking back | 50.0 % |" in estimate_page.best_text()
