import math

import pytest

from slowfire.errors import InvalidInput, UnknownName
from slowfire.hygiene.packaged import packaged_text
from slowfire.hygiene.rules import FILE, choose_rules, find_rule, hygiene_rules, read_rules


def spoilt(old, new):
    text = packaged_text(FILE)
    assert old in text
    return text.replace(old, new, 1)


def test_every_rule_can_be_told():
    for rule in hygiene_rules().values():
        assert f"{rule.lower_celsius:g}" in rule.words
        assert rule.source


def test_each_jurisdiction_has_a_rule_that_is_judged():
    judged = {rule.jurisdiction for rule in hygiene_rules().values() if rule.use == "default"}
    assert judged == {rule.jurisdiction for rule in hygiene_rules().values()}


def test_an_index_is_no_run_of_hours():
    with pytest.raises(InvalidInput, match="no run of hours"):
        _ = find_rule("US503_TT_A").needed_hours


def test_silent_rule_is_unbroken_unless_it_asks_for_turnings():
    assert find_rule("UK_CW_VESSEL60").unbroken
    assert not find_rule("US_NOP_WINDROW").unbroken


def test_unknown_rule_names_the_known():
    with pytest.raises(UnknownName, match="UK_PAS100"):
        find_rule("UK_PAS")


class TestChoice:
    def test_stricter_is_said_and_both_are_told(self):
        choice = choose_rules(["us", "UK"])
        assert choice.strictest == "UK"
        assert "US: " in choice.words
        assert "UK: " in choice.words
        assert "The stricter is UK" in choice.words

    def test_one_alone_has_nothing_stricter(self):
        assert "stricter" not in choose_rules(["DE"]).words

    def test_easiest_way_of_each_is_compared(self):
        """Germany's ways all ask for more than 72 h at 55 degC; its easiest still does."""
        assert choose_rules(["CA", "DE"]).strictest == "DE"

    def test_each_says_what_holds_at_home(self):
        for rule in hygiene_rules().values():
            told = choose_rules([rule.jurisdiction]).home
            assert told
            assert all(one.startswith(f"{rule.jurisdiction}: ") for one in told)
        assert any("no ruminants or pigs" in one for one in choose_rules(["UK"]).home)

    def test_order_does_not_matter(self):
        names = ["US", "EU", "DE", "AU", "CA", "UK"]
        assert choose_rules(names).strictest == choose_rules(names[::-1]).strictest

    @pytest.mark.parametrize("names", [["Atlantis"], ["US", "Atlantis"], []])
    def test_unknown_is_refused(self, names):
        with pytest.raises(InvalidInput, match="US-CA"):
            choose_rules(names)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "US_NOP_VESSEL,US,default,in-vessel or static aerated,55",
            "US_NOP_VESSEL,US,default,in-vessel or static aerated,hot",
            "lower_celsius",
        ),
        (
            "US_NOP_VESSEL,US,default,in-vessel or static aerated,55,77",
            "US_NOP_VESSEL,US,default,in-vessel or static aerated,55,50",
            "above 55",
        ),
        ("US_NOP_VESSEL,US,default", "US_NOP_VESSEL,US,always", "use is 'always'"),
        ("US_NOP_VESSEL,US", "US_NOP_VESSEL,", "jurisdiction"),
        ("US_NOP_WINDROW,", "US_NOP_VESSEL,", "stands twice"),
        ("consecutive,", "unbroken,", "column consecutive is missing"),
        ("7 CFR 205.203(c)(2)(ii),found", "7 CFR 205.203(c)(2)(ii),sure", "confidence"),
    ],
)
def test_spoilt_file_names_line_and_fault(old, new, message):
    with pytest.raises(InvalidInput, match="line") as caught:
        read_rules(spoilt(old, new))
    assert message in str(caught.value)


def test_edited_hours_take_effect():
    edited = read_rules(
        spoilt(
            "AU_GROWER_VESSEL,AU,default,in-vessel,55,,72",
            "AU_GROWER_VESSEL,AU,default,in-vessel,55,,96",
        )
    )
    assert edited["AU_GROWER_VESSEL"].needed_hours == 96.0


def test_severity_is_hours_at_55():
    rule = find_rule("US503_PFRP_VESSEL")
    assert rule.severity == pytest.approx(72.0)
    assert math.isinf(rule.upper_celsius)
