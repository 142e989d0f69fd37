"""Tests of one's own: forms, sums, what calls for peas, and a bag that is called compostable."""

import dataclasses
from datetime import UTC, datetime, timedelta

import pytest

from slowfire.errors import InvalidInput
from slowfire.kinds import Test as OwnTest
from slowfire.measures import default_measures
from slowfire.quantities import Temperature
from slowfire.refusals import RefusedField
from slowfire.services.bin_setup import Answers, set_up
from slowfire.services.compostable_bag import bag_answer
from slowfire.services.layer_tests import done_tests, judged
from slowfire.services.own_tests import FIGURES, cells_of, checked, sum_answer, weedkiller_wanted
from slowfire.services.record import entry_of

NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)
GRAMS = {"mass_unit": "gram"}
BUCKET = {"mass_unit": "kilogram", "volume_unit": "litre", "full": "8", "empty": "1"}


@pytest.fixture
def site():
    answers = Answers("Graz, Austria", "medium", "foam", None, None, "empty", 30.0, 6.0, 5.0, 2.0)
    return set_up(answers, NOW - timedelta(days=60))[0]


def load(site, material, days=1):
    row = {"item": material, "amount": "1", "unit": "caddy"}
    return entry_of(site, site.bins[0].name, "load", row, NOW - timedelta(days=days))


class TestSums:
    def test_water_by_drying(self, site):
        typed = GRAMS | {"wet": "200", "dried": "130", "container": "50"}
        found = sum_answer("drying", site, typed, 0.55)
        assert found.title == "60 % water"
        assert any("about 55 %" in one for one in found.words)
        assert sum_answer("drying", site, typed | {"wet": "200,0"}).title == "60 % water"

    def test_a_bucket_in_both_systems(self, site):
        found = sum_answer("bucket", site, BUCKET | {"volume": "14"}, None, 480.0)
        assert found.title == "500 kg a cubic metre"
        assert any("480 kg" in one for one in found.words)
        us = dataclasses.replace(site, units="us")
        typed = {"mass_unit": "pound", "volume_unit": "US gallon", "full": "30", "empty": "2"}
        assert sum_answer("bucket", us, typed | {"volume": "5"}).title == "1131 lb a cubic yard"

    @pytest.mark.parametrize(
        ("volume", "says"), [("30", "Light"), ("14", "breathes"), ("10", "Heavy")]
    )
    def test_a_bucket_is_light_or_heavy(self, site, volume, says):
        assert says in sum_answer("bucket", site, BUCKET | {"volume": volume}).words[0]

    def test_a_squeeze(self, site):
        assert sum_answer("squeeze", site, {"squeeze": "damp"}).title == "Passed"
        assert "moisten" in sum_answer("squeeze", site, {"squeeze": "dry"}).words[0]

    def test_an_extract_beside_its_control(self, site):
        seeds = {"sown_water": "20", "sprouted_water": "19", "sown_extract": "20"}
        found = sum_answer("extract", site, seeds | {"sprouted_extract": "11"})
        assert found.title == "Failed"
        assert "58 %" in found.words[0]
        spoilt = sum_answer(
            "extract", site, seeds | {"sprouted_water": "9", "sprouted_extract": "9"}
        )
        assert spoilt.title == "Cannot be judged"
        assert "control itself failed" in spoilt.words[0]

    # Edges and sources as in data/maturity_classes.csv; 400 mg and 12.5 mmol oxygen are one limit.
    @pytest.mark.parametrize(
        ("figure", "value", "verdict", "source"),
        [
            ("oxygen-mmol", "25", "pass", "2019/1009"),
            ("oxygen-mmol", "25.1", "fail", "2019/1009"),
            ("oxygen-mg", "399", "pass", "CCME"),
            ("oxygen-mg", "801", "fail", "2019/1009"),
            ("carbon", "4", "pass", "CCME"),
            ("carbon", "4.1", "fail", "BSI PAS 100"),
            ("carbon-dioxide", "14.6", "pass", "CCME"),
            ("carbon-dioxide", "16", "fail", "BSI PAS 100"),
            ("c-to-n", "25", "pass", "CCQC"),
            ("c-to-n", "25.5", "fail", "CCQC"),
            ("ammonium", "500", "pass", "CCQC"),
            ("ammonium", "501", "fail", "CCQC"),
            ("ammonium-to-nitrate", "3", "pass", "TMECC"),
            ("ammonium-to-nitrate", "3.1", "fail", "TMECC"),
        ],
    )
    def test_a_figure_of_a_laboratory(self, site, figure, value, verdict, source):
        found = sum_answer("laboratory", site, {"figure": figure, "value": value})
        assert found.trial.verdict == verdict
        assert found.trial.decides
        assert source in found.source

    def test_every_figure_is_told_in_the_other_unit(self, site):
        told = sum_answer("laboratory", site, {"figure": "carbon", "value": "4"}).words
        assert "13.9 mmol oxygen" in told[1]
        told = sum_answer("laboratory", site, {"figure": "oxygen-mg", "value": "800"}).words
        assert "25.0 mmol" in told[1]
        assert set(FIGURES) >= {"carbon", "carbon-dioxide"}

    @pytest.mark.parametrize(
        ("name", "typed", "field"),
        [
            ("squeeze", {"squeeze": "wettish"}, "squeeze"),
            ("drying", GRAMS | {"wet": "lots", "dried": "1", "container": "1"}, "wet"),
            ("drying", GRAMS | {"wet": "200"}, "dried"),
            ("drying", {"wet": "1", "dried": "1", "container": "1"}, "mass_unit"),
            ("extract", {"sown_water": "20.5"}, "sown_water"),
            ("bucket", BUCKET | {"volume": "9", "volume_unit": "shipload"}, "volume_unit"),
            ("laboratory", {"figure": "taste", "value": "3"}, "figure"),
            ("laboratory", {"figure": "carbon", "value": ""}, "value"),
        ],
    )
    def test_what_cannot_be_names_its_field(self, site, name, typed, field):
        with pytest.raises(RefusedField) as refused:
            sum_answer(name, site, typed)
        assert refused.value.field == field

    @pytest.mark.parametrize(
        ("name", "typed", "says"),
        [
            ("drying", GRAMS | {"wet": "200", "dried": "300", "container": "50"}, "allowed"),
            ("bucket", BUCKET | {"full": "1", "empty": "8", "volume": "14"}, "swapped"),
            ("laboratory", {"figure": "carbon", "value": "-2"}, "allowed"),
            ("taste", {}, "known are"),
        ],
    )
    def test_numbers_that_cannot_be_are_refused(self, site, name, typed, says):
        with pytest.raises(InvalidInput, match=says):
            sum_answer(name, site, typed)


CRESS = {
    "sown": "20", "sprouted": "19", "control_sprouted": "19", "days": "5", "growth": "green",
    "control_growth": "green",
}  # fmt: skip


class TestForms:
    def payload(self, site, which, typed):
        return entry_of(site, "Bin", "test", cells_of(which, typed, "C"), NOW).payload

    def test_cress_is_written_and_judged(self, site):
        made = self.payload(site, "cress", CRESS)
        assert checked(site, made).verdict == "pass"

    @pytest.mark.parametrize("left_out", ["days", "growth", "control_growth"])
    def test_without_it_cress_cannot_be_judged(self, site, left_out):
        with pytest.raises(RefusedField) as refused:
            cells_of("cress", {**CRESS, left_out: " "}, "C")
        assert refused.value.field == left_out

    def test_a_failed_control_is_written_and_refused_a_verdict(self, site):
        made = self.payload(site, "radish", CRESS | {"control_sprouted": "12"})
        assert checked(site, made).verdict == "refused"

    def test_a_dry_sample_is_not_written_unless_it_failed(self, site):
        typed = {"warmest": "27", "surroundings": "20", "days": "7", "squeeze": "dry"}
        made = self.payload(site, "flask", typed)
        assert checked(site, made, "damp").verdict == "pass"
        with pytest.raises(RefusedField, match="moisten"):
            checked(site, made, "dry")
        hot = self.payload(site, "flask", typed | {"warmest": "62"})
        assert checked(site, hot, "dry").verdict == "fail"

    def test_more_water_than_the_bucket_holds_is_refused(self, site):
        made = self.payload(site, "water-fill", {"sample": "10", "water": "11"})
        with pytest.raises(InvalidInput, match="Water"):
            checked(site, made)
        good = self.payload(site, "water-fill", {"sample": "10", "water": "4,5"})
        assert checked(site, good).verdict == "pass"

    def test_a_test_nobody_knows(self):
        with pytest.raises(RefusedField, match="taste"):
            cells_of("taste", {}, "C")


class TestWhatIsNotWritten:
    """What was left out of a row never makes it pass."""

    def test_peas_without_days(self):
        peas = OwnTest("pea", growth="green", control_growth="green")
        assert judged(peas, default_measures()).verdict == "refused"
        late = OwnTest("pea", growth="green", control_growth="green", days=20.0)
        assert judged(late, default_measures()).verdict == "pass"
        hurt = OwnTest("pea", growth="cupped", control_growth="green")
        assert judged(hurt, default_measures()).verdict == "fail"
        both = OwnTest("pea", growth="cupped", control_growth="cupped", days=20.0)
        assert "controls are cupped" in judged(both, default_measures()).words

    @pytest.mark.parametrize(("warmest", "verdict"), [(27.0, "refused"), (62.0, "fail")])
    def test_a_flask_without_days(self, warmest, verdict):
        degrees = {"warmest": Temperature(warmest, "C"), "surroundings": Temperature(20.0, "C")}
        found = judged(OwnTest("flask", **degrees), default_measures())
        assert found.verdict == verdict
        assert found.decides == (verdict == "fail")
        assert judged(OwnTest("flask", days=7.0, **degrees), default_measures()).decides

    @pytest.mark.parametrize(("swelling", "verdict"), [("flat", "refused"), ("burst", "fail")])
    def test_a_bag_without_a_smell(self, swelling, verdict):
        bag = OwnTest("bag", days=5.0, swelling=swelling)
        assert judged(bag, default_measures()).verdict == verdict

    def test_numbers_that_cannot_be_are_told_and_not_hidden(self, site):
        row = {"item": "water-fill", "value": "sample=2litre water=3litre"}
        entry = entry_of(site, "Bin", "test", row, NOW)
        (found,) = done_tests(site, [entry], "Bin", NOW)
        assert found.trial.verdict == "refused"
        assert "allowed" in found.trial.words
        assert done_tests(site, [entry], "Bin", NOW + timedelta(days=50)) == ()


class TestWeedkillerWanted:
    def test_hay_and_manure_call_for_peas(self, site):
        entries = [load(site, "meadow_hay"), load(site, "horse_manure_straw")]
        told = weedkiller_wanted(site, entries, site.bins[0].name)
        assert told.startswith("Meadow hay")
        assert "orse manure" in told

    def test_kitchen_food_does_not(self, site):
        assert weedkiller_wanted(site, [load(site, "fruit_veg_peelings_mixed")]) is None
        assert weedkiller_wanted(site, []) is None

    def test_compost_calls_for_them_once_it_was_bought(self, site):
        assert weedkiller_wanted(site, [load(site, "finished_compost")]) is None
        row = {"item": "finished_compost", "amount": "40", "unit": "litre"}
        made = [
            entry_of(site, "Bin", "stock", row | {"value": f"change={how}"}, NOW)
            for how in ("gathered", "bought")
        ]
        assert weedkiller_wanted(site, made[:1]) is None
        assert "Bought finished compost" in weedkiller_wanted(site, made[1:])

    def test_what_another_bin_got_does_not_count(self, site):
        assert weedkiller_wanted(site, [load(site, "meadow_hay")], "Other") is None


class TestBag:
    def test_without_an_estimate_the_mark_alone_speaks(self):
        assert bag_answer("home", None, None).weeks == (8.0, 26.0)
        told = bag_answer("EN 13432", None, None)
        assert told.verdict == "no"
        assert "this bin" not in told.words
        assert bag_answer("none", None, None).verdict == "no"
