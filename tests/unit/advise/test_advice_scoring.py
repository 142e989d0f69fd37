"""Did it work: judged by readings first, then by the estimate, never by a wide one."""

import pytest
from conditions import near

from slowfire.advise.actions import ACT_OF
from slowfire.advise.condition import Spread
from slowfire.advise.rules import is_action, limit
from slowfire.advise.scoring import JUDGES, Evidence, score


def seen(**more):
    return Evidence(days=4.0, wanted_days=4.0, **more)


@pytest.mark.parametrize(
    ("name", "evidence", "verdict"),
    [
        ("tub", seen(drained=2.5), "worked"),
        ("tub", seen(drained=0.0), "did not"),
        ("tub", seen(), "can't tell"),
        ("too dry", seen(squeeze="damp"), "worked"),
        ("too dry", seen(squeeze="dry", same_spot=9.0), "did not"),
        ("too dry", seen(same_spot=6.5), "worked"),
        ("too dry", seen(same_spot=-1.0), "did not"),
        ("too dry", seen(before=near(40.0, 1.0), after=near(48.0, 1.0)), "worked"),
        ("too dry", seen(before=near(40.0, 20.0), after=near(48.0, 20.0)), "can't tell"),
        ("hungry", seen(before=near(20.0, 1.0), after=near(21.0, 1.0)), "did not"),
        ("hungry", seen(), "can't tell"),
        ("airless", seen(smell="earthy"), "worked"),
        ("airless", seen(smell="rotten-egg"), "did not"),
        ("airless", seen(squeeze="trickle"), "did not"),
        ("airless", seen(squeeze="drops", smell="none"), "can't tell"),
        ("shut vent", seen(), "can't tell"),
        ("too hot", seen(after=near(62.0)), "worked"),
        ("too hot", seen(after=near(74.0)), "did not"),
        ("too hot", seen(after=Spread(62.0, 70.0, 78.0)), "can't tell"),
        ("hot and dry", seen(after=near(73.0)), "worked"),
        ("full", seen(room_cm=near(25.0), dug=1.0), "worked"),
        ("full", seen(room_cm=near(4.0)), "did not"),
        ("full", seen(room_cm=Spread(0.0, 12.0, 40.0)), "can't tell"),
        ("cold", seen(), "can't tell"),
    ],
)
def test_verdict(name, evidence, verdict):
    found = score(name, evidence)
    assert found.verdict == verdict
    assert found.reason.endswith(".")
    found.reason.format(**dict.fromkeys(found.numbers, ""))


def test_it_is_not_judged_before_its_time_unless_it_has_worked():
    early = Evidence(days=1.0, wanted_days=4.0, same_spot=0.0)
    assert score("hungry", early).verdict == "too early"
    assert score("hungry", Evidence(1.0, 4.0, same_spot=9.0)).verdict == "worked"


@pytest.mark.parametrize("side", [-0.1, 0.1])
def test_the_rise_that_counts_is_that_of_the_rules(side):
    for name, rule in (("hungry", "fed_rise_least"), ("too dry", "watered_rise_least")):
        verdict = score(name, seen(same_spot=limit(rule) + side)).verdict
        assert verdict == ("worked" if side > 0.0 else "did not")


def test_judges_and_jobs_are_of_actions_that_exist():
    assert all(is_action(name) for name in (*JUDGES, *ACT_OF))
