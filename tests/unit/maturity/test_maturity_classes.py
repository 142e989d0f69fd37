import pytest

from slowfire.errors import InvalidInput
from slowfire.hygiene.packaged import packaged_text
from slowfire.maturity.chemistry import (
    ammonium_class,
    ammonium_to_nitrate_class,
    c_to_n_class,
    curing_class,
    mature_by_groups,
)
from slowfire.maturity.classes import FILE, read_scales, scales
from slowfire.maturity.plant_tests import cress_trial, extract_trial
from slowfire.maturity.stability import (
    carbon_dioxide_class,
    carbon_rate,
    oxygen_mass_rate,
    oxygen_mole_rate,
    oxygen_rate_of_carbon,
    oxygen_uptake_class,
    self_heating_class,
)


def test_every_class_names_words_source_and_verdict():
    for scale in scales().values():
        for one in scale.classes:
            assert one.words
            assert one.source
            assert one.verdict in ("pass", "marginal", "fail")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "oxygen_uptake,mmol/(kg*hour),stability,settled,25",
            "oxygen_uptake,mmol/(kg*hour),stability,settled,5",
            "rise",
        ),
        ("growth,percent,plants,good,,no", "growth,percent,plants,good,200,no", "empty up_to"),
        (
            "growth,percent,plants,poor,80,no,fail",
            "growth,percent,plants,poor,80,no,bad",
            "verdict",
        ),
    ],
)
def test_spoilt_file_is_refused(old, new, message):
    text = packaged_text(FILE)
    assert old in text
    with pytest.raises(InvalidInput, match=message):
        read_scales(text.replace(old, new, 1))


def test_units_go_there_and_back():
    assert oxygen_mole_rate(oxygen_mass_rate(17.3)) == pytest.approx(17.3)
    assert oxygen_rate_of_carbon(6.0, 0.8) == pytest.approx(oxygen_rate_of_carbon(6.0) / 0.8)


def test_the_two_units_of_carbon_dioxide_are_not_mixed_up():
    """16 mg carbon dioxide is moderately unstable as carbon; 16 mg carbon would be raw."""
    assert carbon_dioxide_class(carbon_rate(16.0)).name == "moderately unstable"
    assert carbon_dioxide_class(16.0).name == "raw"


@pytest.mark.parametrize(
    ("function", "value"),
    [
        (oxygen_uptake_class, -1.0),
        (carbon_dioxide_class, float("nan")),
        (self_heating_class, 200.0),
        (c_to_n_class, 2.0),
        (ammonium_class, -5.0),
        (ammonium_to_nitrate_class, float("inf")),
        (curing_class, -1.0),
        (carbon_rate, -1.0),
        (oxygen_mass_rate, -1.0),
        (oxygen_mole_rate, -1.0),
    ],
)
def test_senseless_values_are_refused(function, value):
    with pytest.raises(InvalidInput, match="allowed"):
        function(value)


class TestGroups:
    rest = self_heating_class(8.0)
    plants = extract_trial(20, 19, 20, 19)

    def test_needs_ratio_rest_and_plants(self):
        assert mature_by_groups(14.0, [self.rest, self.plants]).mature
        assert mature_by_groups(14.0, [self.rest, ammonium_class(60.0)]).mature
        assert not mature_by_groups(26.0, [self.rest, self.plants]).mature
        assert not mature_by_groups(None, [self.rest, self.plants]).mature
        assert not mature_by_groups(14.0, [self.rest]).mature
        assert not mature_by_groups(14.0, [self.plants]).mature

    def test_says_what_is_wanting(self):
        told = mature_by_groups(28.0, []).words
        assert "25 or less (it is 28)" in told
        assert "a test of stability" in told
        assert "a test with plants" in told

    def test_one_failed_test_is_enough(self):
        bad = extract_trial(20, 19, 20, 11)
        assert not mature_by_groups(14.0, [self.rest, self.plants, bad]).mature

    def test_cress_without_a_control_does_not_count(self):
        assert not mature_by_groups(14.0, [self.rest, cress_trial(20, 20, "green", 5.0)]).mature
