"""Heat histories of members, alone and with readings."""

import dataclasses

import numpy as np
import pytest

from slowfire.column import positions
from slowfire.errors import InvalidInput
from slowfire.hygiene import history as histories
from slowfire.hygiene.history import (
    counted_hours,
    ensemble_heat,
    share_hotter,
    share_qualified,
)
from slowfire.hygiene.record import TemperatureRecord
from slowfire.hygiene.rules import find_rule
from slowfire.hygiene.verdict import heat_verdict

RULE = find_rule("US503_PFRP_VESSEL")
LAYER = {"layer_base": 0.3, "layer_top": 0.45, "since_hour": 0.0}


def heated(centre_hours, edge_hours, celsius=60.0, members=20):
    """Members whose centre and edge were at one temperature for one run."""
    found = np.zeros((members, 2, positions.N_DEGREES, 3))
    reached = int(celsius) - positions.DEGREE_LOW + 1
    found[:, positions.CENTRE, :reached] = centre_hours
    found[:, positions.EDGE, :reached] = edge_hours
    return found


def read(place, celsius=60.0, days=4, height=0.4):
    hours = 24.0 * np.arange(days + 1)
    return TemperatureRecord(f"{place} probe", place, height, hours, np.full(days + 1, celsius))


def test_positions_are_those_of_the_column():
    assert histories.DEGREE_LOW == positions.DEGREE_LOW
    assert histories.DEGREES == positions.N_DEGREES
    assert (histories.CENTRE, histories.EDGE) == (positions.CENTRE, positions.EDGE)
    assert (histories.TOTAL, histories.LONGEST, histories.PRESENT) == (
        positions.TOTAL,
        positions.LONGEST,
        positions.CURRENT,
    )


class TestCountedHours:
    def test_dry_hours_come_off(self):
        hours = counted_hours(RULE, heated(80.0, 75.0), np.full(20, 4.0))
        assert hours[0].tolist() == [76.0, 71.0]

    def test_too_hot_hours_come_off(self):
        history = heated(100.0, 0.0, 79.0, members=1)
        rule = find_rule("US_NOP_VESSEL")
        assert counted_hours(rule, history, np.zeros(1))[0, 0] == 0.0
        assert counted_hours(rule, heated(100.0, 0.0, 77.0, 1), np.zeros(1))[0, 0] == 100.0

    def test_added_up_or_longest_as_the_rule_counts(self):
        history = heated(400.0, 0.0, members=1)
        history[..., positions.LONGEST] = 70.0
        assert counted_hours(RULE, history, np.zeros(1))[0, 0] == 70.0
        windrow = find_rule("US503_PFRP_WINDROW")
        assert counted_hours(windrow, history, np.zeros(1))[0, 0] == 400.0

    def test_after_mixing_only_the_present_run_counts(self):
        history = heated(100.0, 100.0, members=1)
        history[..., positions.CURRENT] = 90.0
        assert counted_hours(RULE, history, np.zeros(1), 80.0)[0, 0] == 80.0
        assert counted_hours(RULE, history, np.zeros(1), 300.0)[0, 0] == 90.0

    def test_limit_between_degrees_goes_up(self):
        rule = dataclasses.replace(RULE, lower_celsius=60.5)
        assert counted_hours(rule, heated(80.0, 80.0, 60.0, 1), np.zeros(1))[0, 0] == 0.0

    def test_hotter_hours_inside_are_wanted(self):
        rule = find_rule("US503_PSRP")
        history = heated(130.0, 130.0, 50.0, 1)
        assert counted_hours(rule, history, np.zeros(1))[0, 0] < 120.0
        history[:, :, :16, positions.TOTAL] = 130.0
        assert counted_hours(rule, history, np.zeros(1))[0, 0] == 130.0

    @pytest.mark.parametrize(
        ("history", "dry"),
        [
            (np.zeros((3, 2, 40, 3)), np.zeros(3)),
            (np.zeros((3, 2, 41, 3)), np.zeros(2)),
            (np.full((3, 2, 41, 3), np.nan), np.zeros(3)),
            (np.full((3, 2, 41, 3), -1.0), np.zeros(3)),
        ],
    )
    def test_bad_arrays_are_refused(self, history, dry):
        with pytest.raises(InvalidInput):
            counted_hours(RULE, history, dry)


class TestShare:
    def test_of_a_parabola(self):
        """Area found by counting rings of a parabola."""
        r = (np.arange(100000) + 0.5) / 100000
        temperature = 66.0 - (66.0 - 41.0) * r**2
        counted = np.average(temperature >= 55.0, weights=r)
        assert float(share_hotter(55.0, 66.0, 41.0)) == pytest.approx(counted, abs=1e-4)

    @pytest.mark.parametrize(
        ("centre", "edge", "share"),
        [(60.0, 56.0, 1.0), (54.0, 40.0, 0.0), (55.0, 55.0, 1.0), (50.0, 60.0, 0.5)],
    )
    def test_ends(self, centre, edge, share):
        assert float(share_hotter(55.0, centre, edge)) == pytest.approx(share)

    def test_from_hours(self):
        found = share_qualified(np.array([[144.0, 0.0], [72.0, 72.0], [71.0, 10.0]]), 72.0)
        assert found.tolist() == [0.5, 1.0, 0.0]


class TestEnsemble:
    def test_layers_by_members(self):
        history = np.stack([heated(80.0, 10.0), heated(0.0, 0.0)], axis=1)
        found = ensemble_heat(RULE, history, np.zeros((20, 2)))
        assert found.centre.tolist() == [1.0, 0.0]
        assert found.edge.tolist() == [0.0, 0.0]
        assert found.share[0] == pytest.approx(8.0 / 70.0)
        assert found.centre_hours.tolist() == [80.0, 0.0]

    def test_both_at_once_may_be_less_likely_than_either(self):
        history = heated(80.0, 80.0)
        history[:10, 0] = 0.0
        history[10:, 1] = 0.0
        found = ensemble_heat(RULE, history, np.zeros(20))
        assert (float(found.centre), float(found.edge), float(found.whole)) == (0.5, 0.5, 0.0)

    def test_turnings_are_wanted(self):
        rule = find_rule("US503_PFRP_WINDROW")
        history = heated(400.0, 400.0)
        assert float(ensemble_heat(rule, history, np.zeros(20), turnings=4).edge) == 0.0
        assert float(ensemble_heat(rule, history, np.zeros(20), turnings=5).edge) == 1.0

    def test_runs_need_their_hours(self):
        rule = find_rule("AU_AS4454_LOW")
        assert float(ensemble_heat(rule, heated(80, 80), np.zeros(20), turnings=3).edge) == 0.0
        assert float(ensemble_heat(rule, heated(216, 216), np.zeros(20), turnings=3).edge) == 1.0

    def test_single_precision_of_the_column_does_not_cost_the_pass(self):
        """The kernel adds steps of 12 minutes up in single precision."""
        run = np.float32(0.0)
        for _ in range(360):
            run += np.float32(0.2)
        assert run != 72.0
        met = ensemble_heat(RULE, heated(float(run), 0.0), np.zeros(20))
        assert float(met.centre) == 1.0
        assert float(ensemble_heat(RULE, heated(71.9, 0.0), np.zeros(20)).centre) == 0.0

    def test_no_member_is_refused(self):
        with pytest.raises(InvalidInput, match="no members"):
            ensemble_heat(RULE, np.zeros((0, 2, 41, 3)), np.zeros(0))


class TestVerdict:
    def verdict(self, history, *records, **given):
        return heat_verdict(RULE, history, np.zeros(history.shape[0]), records, **(LAYER | given))

    def test_model_alone_never_says_yes(self):
        found = self.verdict(heated(500.0, 500.0, 70.0))
        assert found.verdict == "not shown"
        assert found.probability == 1.0
        assert found.basis == "from assumptions"
        assert found.longest_gap_hours is None

    def test_model_alone_says_no(self):
        found = self.verdict(heated(0.0, 0.0))
        assert found.verdict == "no"
        assert "keep it off salad" in found.advice

    def test_yes_by_readings_at_centre_and_edge_with_the_model(self):
        found = self.verdict(heated(96.0, 96.0), read("centre"), read("edge"))
        assert found.verdict == "yes"
        assert found.basis == "from readings"
        assert "edge probe (edge)" in found.spot
        assert found.hours == 96.0
        assert found.longest_gap_hours == 24.0
        assert found.caution.startswith("Not a legal pass")

    def test_one_probe_names_the_core_and_leaves_the_edge(self):
        found = self.verdict(heated(96.0, 96.0), read("centre"))
        assert found.verdict == "not shown"
        assert [one.verdict for one in found.spots] == ["yes", "not shown"]
        assert any("edge is unknown" in one for one in found.reasons)

    def test_hot_core_with_a_cold_edge_is_no(self):
        assert self.verdict(heated(96.0, 0.0), read("centre")).verdict == "no"

    def test_readings_the_model_does_not_bear_are_not_shown(self):
        found = self.verdict(heated(10.0, 10.0), read("centre"), read("edge"))
        assert found.verdict == "not shown"
        assert any("does not bear it" in one for one in found.reasons)

    def test_gap_in_the_readings_is_no_proof(self):
        hours = np.array([0.0, 24.0, 60.0, 84.0])
        holed = TemperatureRecord("p", "centre", 0.4, hours, np.full(4, 60.0))
        found = self.verdict(heated(96.0, 96.0), holed, read("edge"))
        assert found.verdict == "not shown"
        assert found.longest_gap_hours == 36.0

    def test_the_model_must_not_speak_against_the_readings(self):
        history = heated(96.0, 96.0)
        both = (read("centre"), read("edge"))
        history[:2] = 0.0
        assert self.verdict(history, *both).verdict == "yes"
        assert self.verdict(history, *both, likely=0.95).verdict == "not shown"
        history[: history.shape[0] // 2 + 1] = 0.0
        assert self.verdict(history, *both).verdict == "not shown"

    def test_a_thermometer_read_too_seldom_shows_and_refutes_nothing(self):
        twice_a_week = TemperatureRecord("s", "centre", 0.4, [0.0, 84.0, 168.0], [60.0, 50.0, 60.0])
        alone = self.verdict(heated(96.0, 96.0), twice_a_week, read("edge"))
        assert alone.verdict == "not shown"
        assert any("too seldom" in one for one in alone.reasons)
        beside = self.verdict(heated(96.0, 96.0), twice_a_week, read("centre"), read("edge"))
        assert beside.verdict == "yes"

    def test_a_thermometer_read_daily_that_did_not_meet_it_refutes(self):
        hours = np.arange(0.0, 121.0, 24.0)
        cool = TemperatureRecord("c", "centre", 0.4, hours, np.full(hours.size, 50.0))
        found = self.verdict(heated(96.0, 96.0), cool, read("centre"), read("edge"))
        assert found.verdict == "not shown"

    @pytest.mark.parametrize(("height", "near"), [(0.21, True), (0.19, False), (0.56, False)])
    def test_only_thermometers_near_the_layer_speak(self, height, near):
        found = self.verdict(heated(96.0, 96.0), read("centre", height=height))
        assert (found.basis == "from readings") is near

    def test_reach_is_an_argument(self):
        far = read("centre", height=0.6)
        assert self.verdict(heated(96.0, 96.0), far, reach=0.2).basis == "from readings"

    def test_readings_before_the_load_do_not_count(self):
        both = (read("centre"), read("edge"))
        assert self.verdict(heated(96.0, 96.0), *both, since_hour=30.0).verdict == "not shown"

    def test_mixing_starts_the_proof_over(self):
        both = (read("centre", days=8), read("edge", days=8))
        history = heated(192.0, 192.0)
        late = self.verdict(history, *both, hours_since_mixed=48.0, until_hour=192.0)
        assert late.verdict == "no"
        enough = self.verdict(history, *both, hours_since_mixed=72.0, until_hour=192.0)
        assert enough.verdict == "yes"
        with pytest.raises(InvalidInput, match="until_hour"):
            self.verdict(history, *both, hours_since_mixed=48.0)

    def test_missing_turnings_are_not_shown_and_said(self):
        history = heated(400.0, 400.0)
        rule = find_rule("US503_PFRP_WINDROW")
        found = heat_verdict(rule, history, np.zeros(20), turning_hours=[50.0], **LAYER)
        assert found.verdict == "not shown"
        assert found.probability == 0.0
        assert any("1 of the 5 times" in one for one in found.reasons)
        assert not any("no heat kill" in one for one in found.reasons)
        cold = heat_verdict(rule, heated(10.0, 10.0), np.zeros(20), **LAYER)
        assert cold.verdict == "no"
        assert not any("no heat kill" in one for one in cold.reasons)

    def test_a_rule_from_memory_says_so(self):
        found = heat_verdict(find_rule("EU2019_1009_70"), heated(0, 0), np.zeros(20), **LAYER)
        assert any("from memory" in one for one in found.reasons)
        assert not any("from memory" in one for one in self.verdict(heated(0, 0)).reasons)

    def test_a_failed_reading_stands_against_the_model(self):
        found = self.verdict(heated(96.0, 96.0), read("centre", 50.0), read("edge"))
        assert found.verdict == "not shown"
