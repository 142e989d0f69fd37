"""How quiet a layer is, in words: both families of units, classes with their edges and sources."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from slowfire.maturity.bin_tests import bag_trial, flask_trial
from slowfire.maturity.plant_tests import cress_trial, weedkiller_trial
from slowfire.maturity.stability import (
    carbon_dioxide_rate,
    carbon_rate,
    carbon_rate_of_oxygen,
    oxygen_rate_of_carbon,
)
from slowfire.services.inside import Range
from slowfire.services.layers import Heat, LayerFate, Verdict
from slowfire.services.maturity_words import ammonium_of, group_rule, quiet_rows

NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)
NOTHING = Range(0.0, 0.0, 0.0)


def just(value):
    return Range(value, value, value)


def layer_of(oxygen=20.0, c_to_n=15.0, active="not shown", **changes):
    """A layer that went in a hundred days ago."""
    verdict = Verdict("not shown", None, "from assumptions", ())
    made = LayerFate(
        height_cm=0.0,
        thickness_cm=10.0,
        age_days=100.0,
        active=Verdict(active, None, "from assumptions", ()),
        sanitised=verdict,
        finished=verdict,
        fit_for_seedlings=verdict,
        heat=Heat("EU", "", 0.0, None, 0.0, "no", "no", NOTHING),
        temperature_celsius=just(20.0),
        moisture_percent=just(60.0),
        c_to_n=just(c_to_n),
        oxygen_uptake_mmol_per_kg_hour=just(oxygen),
        worms_percent=NOTHING,
        up_to={"ammoniacal_g": just(2.0), "dry_kg": just(10.0)},
        first_added=(NOW - timedelta(days=120)).isoformat(),
        last_added=(NOW - timedelta(days=100)).isoformat(),
        hot_hours={"40": just(240.0)},
    )
    return replace(made, **changes)


def row(layer, name, below=None):
    return next(one for one in quiet_rows(layer, below, NOW) if one.name.startswith(name))


# Edges and sources as in data/maturity_classes.csv.
@pytest.mark.parametrize(
    ("oxygen", "verdict", "says", "source"),
    [
        (12.5, "pass", "at rest", "CCME PN1340"),
        (12.6, "pass", "settled", "2019/1009"),
        (25.0, "pass", "settled", "2019/1009"),
        (25.1, "fail", "still at work", "2019/1009"),
    ],
)
def test_oxygen_uptake_at_the_edges(oxygen, verdict, says, source):
    found = row(layer_of(oxygen), "Oxygen")
    assert found.verdict == verdict
    assert says in found.means
    assert source in found.source
    assert "from memory" in found.source


# 4 mg carbon is the Canadian limit; by equal volumes that is 13.9 mmol oxygen.
@pytest.mark.parametrize(
    ("oxygen", "verdict", "says"),
    [(13.88, "pass", "stable"), (13.9, "fail", "moderately unstable"), (35.0, "fail", "raw")],
)
def test_carbon_dioxide_at_the_edges(oxygen, verdict, says):
    found = row(layer_of(oxygen), "Carbon dioxide")
    assert found.verdict == verdict
    assert says in found.means
    assert "TMECC" in found.source


@pytest.mark.parametrize(
    ("c_to_n", "verdict"), [(25.0, "pass"), (25.1, "fail"), (2.0, "pass"), (1e4, "fail")]
)
def test_ratio_at_the_edge_and_beyond_what_can_be(c_to_n, verdict):
    assert row(layer_of(c_to_n=c_to_n), "Carbon to nitrogen").verdict == verdict


def test_both_families_of_units_are_told():
    oxygen, mass = row(layer_of(12.5), "Oxygen").told
    assert oxygen == "12 mmol a kg of organic matter and hour"
    assert mass == "400 mg a kg and hour"
    carbon, gas = row(layer_of(12.5), "Carbon dioxide").told
    assert carbon.startswith("3.6 mg carbon a gram")
    assert gas.startswith("13 mg carbon dioxide a gram")


def test_the_way_back_of_each_unit():
    assert carbon_rate(carbon_dioxide_rate(3.3)) == pytest.approx(3.3)
    assert oxygen_rate_of_carbon(carbon_rate_of_oxygen(17.0, 0.8), 0.8) == pytest.approx(17.0)


def test_a_range_over_an_edge_says_neither_yes_nor_no():
    found = row(layer_of(oxygen_uptake_mmol_per_kg_hour=Range(10.0, 20.0, 60.0)), "Oxygen")
    assert found.verdict == "not shown"
    assert "'at rest' to 'active'" in found.means
    assert found.means.startswith("Not sure")


def test_ammonium_is_that_of_the_layer_alone():
    upper = layer_of(up_to={"ammoniacal_g": just(8.0), "dry_kg": just(20.0)})
    assert ammonium_of(layer_of(), None) == pytest.approx(200.0)
    assert ammonium_of(upper, layer_of()) == pytest.approx(600.0)
    assert row(layer_of(), "Ammonium").verdict == "pass"
    assert row(upper, "Ammonium", layer_of()).verdict == "fail"
    assert "CCQC" in row(upper, "Ammonium", layer_of()).source
    empty = layer_of(up_to={"ammoniacal_g": just(0.0), "dry_kg": just(0.0)})
    assert ammonium_of(empty, None) is None
    assert not [one for one in quiet_rows(empty, None, NOW) if one.name == "Ammonium"]


def test_curing_is_no_more_than_can_be_known():
    found = row(layer_of(), "Curing")
    assert found.told == ("at most 90 days",)  # a hundred, ten of them hot
    assert found.verdict == "not shown"
    fresh = layer_of(last_added=(NOW - timedelta(days=20)).isoformat(), hot_hours={"40": NOTHING})
    assert row(fresh, "Curing").verdict == "fail"
    assert "CCME" in row(fresh, "Curing").source
    assert "not begun" in row(layer_of(active="yes"), "Curing").told[0]
    assert row(layer_of(active="yes"), "Curing").verdict == "fail"


def test_the_rule_of_groups_says_what_is_wanting():
    control = {"sown_control": 20, "sprouted_control": 19}
    flask = flask_trial(27.0, 20.0, 7.0)
    cress = cress_trial(20, 19, "green", 5.0, **control)
    told = group_rule(layer_of(), []).words
    assert "a test of stability" in told
    assert "a test with plants" in told
    assert group_rule(layer_of(), [flask, cress]).mature
    assert not group_rule(layer_of(c_to_n=30.0), [flask, cress]).mature
    assert "the C:N" in group_rule(None, [flask, cress]).words


def test_a_nose_is_no_test_of_stability_and_a_failed_control_no_test_of_plants():
    control = {"sown_control": 20, "sprouted_control": 19}
    cress = cress_trial(20, 19, "green", 5.0, **control)
    assert "a test of stability" in group_rule(layer_of(), [bag_trial("earthy", 5.0), cress]).words
    assert "failed" in group_rule(layer_of(), [bag_trial("sour", 5.0), cress]).words
    spoilt = cress_trial(20, 19, "green", 5.0, sown_control=20, sprouted_control=10)
    flask = flask_trial(27.0, 20.0, 7.0)
    assert "a test with plants" in group_rule(layer_of(), [flask, spoilt]).words
    peas = weedkiller_trial(4, 4, 4, 0, 20.0, 3)
    assert not group_rule(layer_of(), [flask, cress, peas]).mature
