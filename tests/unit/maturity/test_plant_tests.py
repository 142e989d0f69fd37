import pytest

from slowfire.errors import InvalidInput, UnknownName
from slowfire.estimate.looks import SQUEEZE_CLASSES
from slowfire.maturity.bin_tests import (
    SQUEEZES,
    air_space_trial,
    bag_trial,
    flask_trial,
    squeeze_trial,
)
from slowfire.maturity.compostables import compostable_answer
from slowfire.maturity.instructions import how_to, instructions
from slowfire.maturity.plant_tests import (
    cress_trial,
    extract_trial,
    weedkiller_test_wanted,
    weedkiller_trial,
)

CONTROL = {"sown_control": 20, "sprouted_control": 19}


class TestExtract:
    @pytest.mark.parametrize(
        ("sprouted", "verdict"),
        [(20, "pass"), (19, "pass"), (18, "marginal"), (16, "marginal"), (15, "fail"), (0, "fail")],
    )
    def test_limits_are_of_the_control(self, sprouted, verdict):
        assert extract_trial(20, 20, 20, sprouted).verdict == verdict

    def test_failed_control_is_refused_whatever_the_extract(self):
        for sprouted in (0, 15, 20):
            trial = extract_trial(20, 15, 20, sprouted)
            assert trial.verdict == "refused"
            assert trial.percent is None
        assert extract_trial(20, 16, 20, 16).verdict == "pass"

    @pytest.mark.parametrize("counts", [(9, 9, 20, 18), (20, 20, 9, 9)])
    def test_too_few_seeds(self, counts):
        assert extract_trial(*counts).verdict == "refused"

    @pytest.mark.parametrize("counts", [(20, 21, 20, 11), (20, 19, 20, -1), (0, 0, 20, 11)])
    def test_impossible_counts(self, counts):
        with pytest.raises(InvalidInput, match="sprouted"):
            extract_trial(*counts)


class TestCress:
    def test_green_with_a_control_passes(self):
        trial = cress_trial(20, 19, "green", 4.0, **CONTROL)
        assert trial.verdict == "pass"
        assert trial.decides

    def test_green_alone_is_no_pass_and_asks_for_a_control(self):
        trial = cress_trial(20, 20, "green", 5.0)
        assert trial.verdict == "marginal"
        assert not trial.decides
        assert "control" in trial.words

    def test_weak_is_no_pass(self):
        assert cress_trial(20, 19, "weak", 5.0, **CONTROL).verdict == "marginal"

    def test_yellow_before_day_five_is_looked_at_again(self):
        assert cress_trial(20, 19, "yellow", 4.0, **CONTROL).verdict == "refused"

    def test_brown_roots_are_immature(self):
        assert cress_trial(20, 19, "green", 5.0, roots="brown", **CONTROL).verdict == "fail"

    def test_yellow_control_is_refused(self):
        trial = cress_trial(20, 19, "yellow", 5.0, colour_control="yellow", **CONTROL)
        assert trial.verdict == "refused"

    def test_failed_control_is_refused(self):
        bad = {"sown_control": 20, "sprouted_control": 15}
        assert cress_trial(20, 10, "green", 5.0, **bad).verdict == "refused"

    def test_few_sprouts_fail_though_green(self):
        assert cress_trial(20, 12, "green", 5.0, **CONTROL).verdict == "fail"

    @pytest.mark.parametrize("day", [1.0, 11.0])
    def test_day_out_of_range_is_refused(self, day):
        assert cress_trial(20, 19, "green", day, **CONTROL).verdict == "refused"

    def test_bad_words(self):
        with pytest.raises(InvalidInput, match="colour"):
            cress_trial(20, 19, "purple", 5.0)
        with pytest.raises(InvalidInput, match="roots"):
            cress_trial(20, 19, "green", 5.0, roots="pink")
        with pytest.raises(InvalidInput, match="both counts"):
            cress_trial(20, 19, "green", 5.0, sown_control=20)


class TestWeedkiller:
    def test_needs_controls(self):
        for pots in ((4, 4, 0, 0), (4, 4, 2, 0), (2, 2, 4, 0)):
            assert weedkiller_trial(*pots, 20.0, 3).verdict == "refused"

    def test_cupped_controls_decide_nothing(self):
        assert weedkiller_trial(4, 4, 4, 1, 20.0, 3).verdict == "refused"

    def test_too_early_to_clear_but_not_to_condemn(self):
        assert weedkiller_trial(4, 0, 4, 0, 10.0, 2).verdict == "refused"
        assert weedkiller_trial(4, 4, 4, 0, 10.0, 2).verdict == "fail"

    def test_some_cupped_is_suspect(self):
        assert weedkiller_trial(4, 1, 4, 0, 20.0, 3).verdict == "marginal"

    def test_none_cupped_passes_with_a_caveat(self):
        trial = weedkiller_trial(4, 0, 4, 0, 20.0, 3)
        assert trial.verdict == "pass"
        assert "may be left" in trial.words

    def test_impossible_pots(self):
        with pytest.raises(InvalidInput, match="cupped"):
            weedkiller_trial(4, 5, 4, 0, 20.0, 3)

    def test_offered_when_suspects_were_brought_in(self):
        for name in ("cow manure", "Hay", "wheat straw", "lawn clippings"):
            assert name in weedkiller_test_wanted([name, "cardboard"])
        assert weedkiller_test_wanted(["coffee", "cardboard"]) is None


class TestBinTests:
    def test_squeezes_are_those_of_the_looks(self):
        assert set(SQUEEZES) == set(SQUEEZE_CLASSES)

    def test_squeeze(self):
        assert [squeeze_trial(one).verdict for one in SQUEEZES] == [
            "fail",
            "pass",
            "marginal",
            "fail",
        ]
        with pytest.raises(InvalidInput, match="damp"):
            squeeze_trial("wet")

    def test_air_space(self):
        assert air_space_trial(0.001, 0.01).verdict == "fail"
        assert air_space_trial(0.003, 0.01).verdict == "marginal"
        assert air_space_trial(0.005, 0.01).verdict == "pass"
        with pytest.raises(InvalidInput, match="Water"):
            air_space_trial(0.02, 0.01)

    def test_bag(self):
        assert bag_trial("earthy", 4.0).verdict == "pass"
        assert bag_trial("earthy", 2.0).verdict == "refused"
        assert bag_trial("ammonia", 2.0).verdict == "fail"
        with pytest.raises(InvalidInput, match="earthy"):
            bag_trial("nice", 4.0)

    @pytest.mark.parametrize(
        ("hottest", "room", "days", "squeeze", "verdict"),
        [
            (27.0, 20.0, 7.0, "damp", "pass"),
            (45.0, 20.0, 7.0, "damp", "marginal"),
            (55.0, 20.0, 7.0, "damp", "fail"),
            (55.0, 20.0, 2.0, "dry", "fail"),
            (27.0, 20.0, 4.0, "damp", "refused"),
            (27.0, 20.0, 7.0, "dry", "refused"),
            (27.0, 8.0, 7.0, "damp", "refused"),
        ],
    )
    def test_flask(self, hottest, room, days, squeeze, verdict):
        assert flask_trial(hottest, room, days, squeeze).verdict == verdict


def test_every_test_has_instructions_with_cautions():
    for told in instructions().values():
        assert len(told.steps) >= 3
        assert told.write_down
        assert "dust" in told.caution
    with pytest.raises(UnknownName, match="cress"):
        how_to("taste")


def test_compostables():
    assert compostable_answer("AS 5810").verdict == "yes"
    assert compostable_answer("biodegradable").verdict == "no"
    assert compostable_answer("not home compostable, EN 13432").verdict == "no"
    assert "moisten" in compostable_answer("home", 0.3).words
    assert "moisten" not in compostable_answer("home", 0.6).words
    with pytest.raises(InvalidInput):
        compostable_answer("home", 40.0)
