"""Real questions about what is safe and what is finished, and the answers expected."""

import numpy as np
import pytest

from slowfire.hygiene.judge import judge_spots
from slowfire.hygiene.lethality import find_organism, log_reduction_history
from slowfire.hygiene.record import TemperatureRecord
from slowfire.hygiene.rules import choose_rules, find_rule
from slowfire.hygiene.seeds import seed_answer
from slowfire.hygiene.verdict import heat_verdict
from slowfire.maturity.compostables import compostable_answer
from slowfire.maturity.layer_verdicts import layer_verdicts
from slowfire.maturity.plant_tests import (
    cress_trial,
    extract_trial,
    weedkiller_test_wanted,
    weedkiller_trial,
)

THREE_DAYS = find_rule("US503_PFRP_VESSEL")


def fahrenheit(degrees):
    return (np.asarray(degrees, float) - 32.0) / 1.8


def probe(position, place, celsius, hours=None):
    hours = 24.0 * np.arange(len(celsius)) if hours is None else np.asarray(hours, float)
    return TemperatureRecord(position, place, 0.5, hours, np.asarray(celsius, float))


class TestSeedlingsFailInAlmostFinishedCompost:
    """Gardening mailing list, 28 Jan 1998: seeds soaked in water and in an extract."""

    def test_eleven_of_nineteen(self):
        trial = extract_trial(20, 19, 20, 11)
        assert round(trial.percent) == 58
        assert trial.verdict == "fail"
        assert "Not ready for seed; mulch only; retest in 4-8 weeks" in trial.words
        assert trial.retest_weeks == (4.0, 8.0)

    def test_pass_is_eighty_to_ninety_percent_of_the_control(self):
        assert extract_trial(20, 20, 20, 17).verdict == "marginal"
        assert extract_trial(20, 20, 20, 19).verdict == "pass"

    def test_no_judgement_by_a_control_below_eighty(self):
        trial = extract_trial(20, 15, 20, 11)
        assert trial.verdict == "refused"
        assert "control" in trial.words


class TestYellowCress:
    """Gardening pages: a sample in a bowl, cress looked at on day 3 to 5."""

    def test_yellow_on_day_five_is_immature_whatever_it_looks_like(self):
        for extra in ({}, {"sown_control": 20, "sprouted_control": 19}):
            trial = cress_trial(20, 19, "yellow", 5.0, **extra)
            assert trial.verdict == "fail"
            assert "Immature" in trial.words
            assert "however dark or crumbly" in trial.words
        assert "control" in cress_trial(20, 19, "yellow", 5.0).words

    def test_as_cool_as_the_air_is_needed_and_not_enough(self):
        one = np.ones(20)
        cool = layer_verdicts(8.0 * one, 2.0 * one, 14.0 * one, 80.0 * one)
        assert cool.finished.verdict == "not shown"
        assert any("needed, and no proof" in told for told in cool.finished.reasons)
        warm = layer_verdicts(8.0 * one, 6.0 * one, 14.0 * one, 80.0 * one)
        assert warm.finished.verdict == "no"


class TestSmallBinsNeverHot:
    """Household food-waste composting, 2017: 26.7 to 46.2 degC throughout, 1 of 3 failed E. "
    "coli."""

    @pytest.fixture
    def verdict(self):
        histories = np.zeros((30, 2, 41, 3))
        histories[:, :, :7] = 60.0 * 24.0  # two months at up to 46 degC
        records = [probe("middle", "centre", [26.7, 40.0, 46.2] * 20)]
        return heat_verdict(
            THREE_DAYS,
            histories,
            np.zeros(30),
            records,
            layer_base=0.4,
            layer_top=0.6,
            since_hour=0.0,
        )

    def test_no_heat_kill(self, verdict):
        assert verdict.verdict == "no"
        assert any("no heat kill" in one for one in verdict.reasons)
        assert "not sanitised" in verdict.advice
        assert "cure for longer" in verdict.advice
        assert "salad" in verdict.advice

    def test_time_alone_takes_no_germ_away(self):
        histories = np.zeros((30, 2, 41, 3))
        histories[:, :, :7] = 365.0 * 24.0
        coli = find_organism("ecoli_o157")
        assert log_reduction_history(coli, histories, np.zeros(30), edge=False).max() == 0.0

    def test_a_year_of_it_is_still_no(self):
        histories = np.zeros((30, 2, 41, 3))
        histories[:, :, :7] = 365.0 * 24.0
        for rule in dict(choose_rules(["US", "UK", "DE", "EU", "AU", "CA"]).rules).values():
            found = heat_verdict(
                rule[0],
                histories,
                np.zeros(30),
                layer_base=0.4,
                layer_top=0.6,
                since_hour=0.0,
                turning_hours=[100.0, 200.0, 300.0, 400.0, 500.0],
            )
            assert found.verdict == "no"


class TestNineProbePoints:
    """Growers' blog: nine sections of a bay above 131 degF for three days, centre 160 degF."""

    def test_all_nine_for_three_days(self):
        records = [
            probe(f"section {k}", "centre" if k == 5 else "edge", fahrenheit([131, 150, 160, 140]))
            for k in range(1, 10)
        ]
        judged = judge_spots(THREE_DAYS, records)
        assert judged.everywhere
        assert len(judged.judgements) == 9
        assert all(one.longest_gap_hours == 24.0 for one in judged.judgements)

    def test_only_what_was_hot_is_done(self):
        records = [probe("centre", "centre", fahrenheit([140, 150, 160, 150]))]
        records += [probe("left side", "edge", fahrenheit([120, 125, 128, 126]))]
        judged = judge_spots(THREE_DAYS, records)
        assert not judged.everywhere
        assert "move what lay at left side to the middle and count again" in judged.words

    def test_material_moved_in_starts_over(self):
        record = probe("centre", "centre", [60.0] * 7)
        assert judge_spots(THREE_DAYS, [record], since_hour=72.0).judgements[0].met
        assert not judge_spots(THREE_DAYS, [record], since_hour=96.0).judgements[0].met

    def test_one_probe(self):
        judged = judge_spots(THREE_DAYS, [probe("core", "centre", [60.0] * 4)])
        assert judged.words.startswith("The core met it for 3.0 days, edges unknown")

    def test_missing_days_are_not_hot_and_the_gap_is_said(self):
        judged = judge_spots(THREE_DAYS, [probe("core", "centre", [60.0] * 3, [0.0, 24.0, 72.0])])
        assert not judged.judgements[0].met
        assert judged.judgements[0].longest_gap_hours == 48.0
        assert any("48.0 hours" in one for one in judged.judgements[0].reasons)


class TestWeedSeeds:
    """Six species heated in the laboratory, 2007; the bin sits at 45 degC."""

    def test_purslane_at_45(self):
        assert seed_answer("purslane", 45.0, 24.0 * 60).verdict == "no"

    def test_black_nightshade_at_45(self):
        answer = seed_answer("black nightshade", 45.0, 24.0 * 60)
        assert answer.verdict == "not reliably"
        assert "slowly" in answer.words

    @pytest.mark.parametrize("seed", ["purslane", "black nightshade", "tumble pigweed"])
    def test_days_at_55(self, seed):
        answer = seed_answer(seed, 55.0, 72.0)
        assert answer.verdict == "yes for these six"
        assert "laboratory seed in wet heat" in answer.words
        assert "hard seeds" in answer.words
        assert "dock" in answer.words

    def test_never_all_weed_seeds(self):
        assert not seed_answer("all", 70.0, 500.0).verdict.startswith("yes")
        assert seed_answer("dock", 70.0, 500.0).verdict == "no"
        assert seed_answer("hard seed", 70.0, 136.0).verdict == "no"


class TestWeedkillerTraces:
    """Extension protocol, Mar 2011: 3 to 6 pots each, peas, 2 to 3 weeks."""

    def test_offered_for_imported_manure_hay_straw_and_clippings(self):
        for one in ("manure", "hay", "straw", "treated lawn clippings"):
            assert weedkiller_test_wanted([one]) is not None

    def test_control_normal_and_test_cupped(self):
        trial = weedkiller_trial(6, 5, 6, 0, 18.0, 3)
        assert trial.verdict == "fail"
        assert "lawn grass" in trial.words
        assert "not on vegetables" in trial.words
        assert "three years" in trial.words
        assert "Neither heat nor more composting takes it out" in trial.words

    def test_decided_only_against_controls(self):
        assert weedkiller_trial(6, 6, 0, 0, 18.0, 3).verdict == "refused"
        assert weedkiller_trial(6, 6, 6, 6, 18.0, 3).verdict == "refused"


class TestCompostableBags:
    """Food blog experiment, 2019: home films gone or in scraps, an industrial pouch unchanged."""

    def test_home(self):
        answer = compostable_answer("for home composting")
        assert answer.verdict == "yes"
        assert answer.weeks == (8.0, 26.0)
        assert "tear it open" in answer.words

    def test_industrial_only(self):
        answer = compostable_answer("industrially compostable, EN 13432")
        assert answer.verdict == "no"
        assert answer.weeks is None
