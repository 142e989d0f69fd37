"""One action: each rule at its edge, and nothing to do when all is well."""

from dataclasses import replace

import pytest

from slowfire.advise.actions import Condition, Outlook, Slice, Spread, days_of_rest, next_action
from slowfire.advise.rules import limit, rules
from slowfire.errors import UnknownName


def near(mid: float, half: float = 0.5) -> Spread:
    return Spread(mid - half, mid, mid + half)


def layers(celsius: float = 45.0, moisture: float = 62.0, oxygen: float = 14.0):
    return tuple(
        Slice(place, near(celsius), near(moisture), near(oxygen)) for place in (0.2, 0.5, 0.8)
    )


WELL = Condition(
    hottest=near(45.0),
    lid=near(20.0),
    air=near(12.0),
    slices=layers(),
    room_cm=near(40.0),
    tub_percent=near(20.0),
    cold_airless=0.02,
    vent="crack",
    days_since_load=1.0,
    from_readings=True,
    ahead=(),
)


def test_all_well_is_nothing_to_do():
    action = next_action(WELL)
    assert action.name == "nothing"
    assert action.look_days == 7


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"hottest": near(71.0)}, "too hot"),
        ({"hottest": near(76.0), "slices": layers(76.0, 35.0)}, "hot and dry"),
        ({"hottest": near(76.0), "slices": layers(76.0, 55.0)}, "too hot"),
        ({"tub_percent": near(80.0)}, "tub"),
        ({"cold_airless": 0.6, "hottest": near(18.0)}, "airless"),
        ({"slices": layers(40.0, 78.0, 1.0)}, "airless"),
        ({"slices": layers(40.0, 78.0, 1.0), "vent": "shut"}, "vent"),
        ({"room_cm": near(6.0)}, "full"),
        ({"room_cm": near(15.0)}, "soon full"),
        ({"slices": layers(moisture=38.0)}, "too dry"),
        ({"hottest": near(-2.0), "air": near(-8.0)}, "frozen"),
        ({"hottest": near(14.0)}, "hungry"),
        ({"hottest": near(9.0), "air": near(2.0)}, "cold"),
        ({"hottest": near(14.0), "vent": "open"}, "vent"),
    ],
)
def test_each_trouble_has_its_action(changes, name):
    action = next_action(replace(WELL, **changes))
    assert action.name == name
    assert action.do.endswith(".")
    assert action.why.endswith(".")
    assert action.look_days >= 1
    assert set(action.rule_names) <= set(rules())


@pytest.mark.parametrize(
    ("rule", "make", "names"),
    [
        ("hot", lambda x: {"hottest": near(x)}, ("too hot",)),
        ("tub_full", lambda x: {"tub_percent": near(x)}, ("tub",)),
        ("full", lambda x: {"room_cm": near(x)}, ("full",)),
        ("nearly_full", lambda x: {"room_cm": near(x)}, ("full", "soon full")),
        ("too_dry", lambda x: {"slices": layers(moisture=x)}, ("too dry",)),
    ],
)
def test_a_rule_speaks_on_one_side_of_its_number_only(rule, make, names):
    number = limit(rule)
    spoke = {
        side: next_action(replace(WELL, **make(number + side))).name in names
        for side in (-1.0, 1.0)
    }
    assert sorted(spoke.values()) == [False, True]


def test_a_wide_estimate_does_not_send_anybody_digging():
    unsure = replace(WELL, room_cm=Spread(2.0, 14.0, 60.0))
    assert next_action(unsure).name not in ("full", "soon full")


def test_hot_dry_stuff_comes_with_the_fire_caution():
    action = next_action(replace(WELL, hottest=near(77.0), slices=layers(77.0, 30.0)))
    assert any("fire service" in one for one in action.cautions)
    assert any("stand back" in one for one in action.cautions)


def test_rest_ends_before_what_is_forecast():
    days = tuple(
        Outlook(f"2026-03-{k:02d}", near(50.0), 80.0 if k >= 5 else 0.0, None) for k in range(1, 15)
    )
    assert days_of_rest(replace(WELL, ahead=days)) == 4
    assert days_of_rest(replace(WELL, from_readings=False)) == 4


def test_chances_follow_the_percentiles():
    one = Spread(10.0, 20.0, 40.0)
    assert one.chance_above(20.0) == pytest.approx(0.5)
    assert one.chance_above(10.0) == pytest.approx(0.95)
    assert one.chance_above(40.0) == pytest.approx(0.05)
    assert one.chance_above(-100.0) == pytest.approx(1.0)
    assert one.chance_above(400.0) == pytest.approx(0.0)
    falling = [one.chance_above(x) for x in range(60)]
    assert falling == sorted(falling, reverse=True)


def test_every_rule_names_a_source_and_a_unit():
    for rule in rules().values():
        assert rule.source
        assert rule.unit
    with pytest.raises(UnknownName):
        limit("nothing of the kind")
