"""One action: each rule on both sides of its number, and nothing to do when all is well."""

import subprocess
import sys

import pytest
from conditions import WELL, bin_like, cool, days, layers, near
from hypothesis import given
from hypothesis import strategies as st

from slowfire.advise.actions import Said, everything_of, next_action, rest
from slowfire.advise.condition import Looks, Spread
from slowfire.advise.rules import is_action, limit, look_days, rules


def name_of(state, said=(), acts=None):
    return next_action(state, said, acts).action.name


def test_all_well_is_nothing_to_do_for_a_week():
    decision = next_action(WELL)
    assert decision.action.name == "nothing"
    assert decision.action.look_days == limit("rest_most")
    assert decision.chance is None


# The rule's number, a bin that lies at a number, the action, and on which side it speaks.
EDGES = [
    ("hot", lambda x: bin_like(hottest=near(x)), "too hot", 1),
    ("very_hot", lambda x: bin_like(hottest=near(x), slices=layers(x, 35.0)), "hot and dry", 1),
    ("dry_for_heat", lambda x: bin_like(hottest=near(77), slices=layers(77, x)), "hot and dry", -1),
    ("tub_full", lambda x: bin_like(tub_percent=near(x)), "tub", 1),
    ("airy", lambda x: bin_like(vent="shut", slices=layers(oxygen=x)), "shut vent", -1),
    ("airy", lambda x: bin_like(base_inlet="shut", slices=layers(oxygen=x)), "shut inlet", -1),
    ("too_wet", lambda x: bin_like(slices=layers(moisture=x, oxygen=1.0)), "airless", 1),
    ("little_oxygen", lambda x: bin_like(slices=layers(moisture=79.0, oxygen=x)), "airless", -1),
    ("full", lambda x: bin_like(room_cm=near(x)), "full", -1),
    ("young_base", lambda x: bin_like(room_cm=near(5.0), slices=layers(age=x)), "full", 1),
    ("young_base", lambda x: bin_like(room_cm=near(5.0), slices=layers(age=x)), "overfull", -1),
    ("young_base", lambda x: bin_like(room_cm=near(15.0), slices=layers(age=x)), "soon full", 1),
    ("nearly_full", lambda x: bin_like(room_cm=near(x)), "soon full", -1),
    ("few_weeks", lambda x: bin_like(weeks_of_room=near(x)), "soon full", -1),
    ("too_dry", lambda x: bin_like(slices=layers(moisture=x)), "too dry", -1),
    ("frozen", lambda x: cool(x, air=near(-9.0)), "frozen", -1),
    ("cool_above_air", lambda x: bin_like(hottest=near(12.0 + x), vent="open"), "wide vent", -1),
    ("too_dry", lambda x: bin_like(slices=layers(moisture=x), vent="wider"), "wide vent", -1),
    ("cold_above_air", lambda x: cool(12.0 + x, fed_percent_a_week=1.0), "hungry", -1),
    ("cold_above_air", lambda x: cool(12.0 + x), "draught", -1),
    ("little_food", lambda x: cool(15.0, fed_percent_a_week=x), "hungry", -1),
    ("cold_air", lambda x: cool(8.0, air=near(x)), "cold", -1),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "make", "name", "side"), EDGES)
def test_a_rule_speaks_on_one_side_of_its_number_only(rule, make, name, side):
    number = limit(rule)
    assert name_of(make(number + 0.1 * side)) == name
    assert name_of(make(number - 0.1 * side)) != name


@pytest.mark.parametrize(
    ("needed", "make", "name"),
    [
        ("chance", lambda p: bin_like(cold_airless=p), "airless"),
        ("chance", lambda p: bin_like(vent="shut", cold_airless=p), "shut vent"),
    ],
)
def test_a_chance_must_be_reached(needed, make, name):
    assert name_of(make(limit(needed) / 100.0 + 0.01)) == name
    assert name_of(make(limit(needed) / 100.0 - 0.01)) != name


def test_what_costs_work_must_be_surer():
    # 60 in 100 are short of room: enough to empty a tub, not enough to dig
    unsure = Spread(0.0, limit("full") - 2.0, 22.0)
    assert 0.5 < unsure.chance_below(limit("full")) < limit("sure_chance") / 100.0
    assert name_of(bin_like(room_cm=unsure, weeks_of_room=None)) not in ("full", "overfull")


@pytest.mark.parametrize(
    ("rule", "state", "amount", "number"),
    [
        ("water_dose", bin_like(slices=layers(moisture=35.0)), "water", 3.5),
        ("heat_water_dose", bin_like(hottest=near(77.0), slices=layers(77.0, 30.0)), "water", 5.5),
        ("dug_depth", bin_like(room_cm=near(5.0)), "dig", 54.0),
        ("batch", cool(14.0, fed_percent_a_week=1.0), "food", 2.0),
        ("dry_stuff_dose", bin_like(slices=layers(moisture=79.0, oxygen=1.0)), "dry", 0.75),
        ("coarse_dose", bin_like(slices=layers(moisture=79.0, oxygen=1.0)), "coarse", 1.0),
    ],
)
def test_amounts_follow_the_rules_and_the_floor(rule, state, amount, number):
    action = next_action(state).action
    assert rule in action.rule_names
    # a floor of 0.36 m2; water in half litres
    assert action.amounts[amount].number == pytest.approx(number)


def test_dry_stuff_advised_stays_below_one_and_a_half_caddies():
    assert limit("dry_stuff_dose") <= 1.5
    assert 0.5 * limit("batch") <= 1.5


@pytest.mark.parametrize(
    ("rule", "state", "what", "low", "high"),
    [
        ("normal_liquid", bin_like(tub_percent=near(90.0)), "liquid", None, 1.0),
        ("watered_rise_least", bin_like(slices=layers(moisture=30.0)), "warmer", 2.0, 12.0),
        ("watered_rise_most", bin_like(slices=layers(moisture=30.0)), "warmer", 2.0, 12.0),
        ("fed_rise_least", cool(14.0, fed_percent_a_week=1.0), "warmer", 5.0, None),
        ("hot", bin_like(hottest=near(72.0)), "hottest", None, 70.0),
    ],
)
def test_what_should_be_seen_then_can_be_checked(rule, state, what, low, high):
    action = next_action(state).action
    assert rule in action.rule_names
    assert (action.expect.what, action.expect.low, action.expect.high) == (what, low, high)


def test_hot_dry_stuff_comes_with_the_fire_caution_and_is_not_to_be_opened():
    action = next_action(bin_like(hottest=near(77.0), slices=layers(77.0, 30.0))).action
    said = " ".join(action.cautions)
    for words in ("fire service", "do not open or fork", "Stand back", "children"):
        assert words in said
    assert "burning" in action.stop


@pytest.mark.parametrize("trouble", everything_of(bin_like(vent="shut", looks=Looks(smell="sour"))))
def test_every_action_is_whole(trouble):
    action = trouble.action
    assert action.do[0].isupper()
    assert action.do.endswith(".")
    assert action.why.endswith(".")
    assert action.look_days >= 1.0
    assert is_action(action.name)
    assert set(action.rule_names) <= set(rules())
    assert 0.0 <= trouble.chance <= 1.0


def test_danger_goes_before_chores_and_chores_before_work():
    state = bin_like(
        hottest=near(72.0), tub_percent=near(95.0), room_cm=near(2.0), looks=Looks(rodents="seen")
    )
    speaking = [one.action.name for one in everything_of(state) if one.speaks]
    assert speaking == ["too hot", "check rats or mice", "tub", "full", "soon full"]


@pytest.mark.parametrize(
    ("looks", "name"),
    [
        (Looks(rodents="droppings"), "check rats or mice"),
        (Looks(bulge=True), "check bulging"),
        (Looks(fault="drain"), "check leaking"),
        (Looks(smell="ammonia"), "check ammonia"),
        (Looks(squeeze="trickle"), "check soggy"),
        (Looks(flies="many"), "check flies"),
        (Looks(rodents="none", smell="earthy", flies="few", squeeze="drops"), "nothing"),
    ],
)
def test_what_was_seen_or_smelled_is_asked_after(looks, name):
    assert name_of(bin_like(looks=looks)) == name


# --- no flapping

DRY = bin_like(slices=layers(moisture=35.0))
# likely enough to stand, not likely enough to be given
HARDLY_DRY = bin_like(
    slices=tuple(
        one.__class__(one.place, one.celsius, Spread(40.0, 44.5, 54.0), one.oxygen_percent, 150.0)
        for one in layers()
    )
)


def test_an_action_that_was_given_stands_while_its_reason_is_still_likely():
    assert name_of(HARDLY_DRY) == "nothing"
    decision = next_action(HARDLY_DRY, [Said("too dry", "given", 1.0)])
    assert (decision.action.name, decision.standing) == ("too dry", "given")


def test_it_falls_when_contradicted_or_two_days_old():
    given_lately = [Said("too dry", "given", 1.0)]
    assert name_of(WELL, given_lately) == "nothing"
    edge = limit("stands_days")
    assert name_of(HARDLY_DRY, [Said("too dry", "given", edge - 0.1)]) == "too dry"
    assert name_of(HARDLY_DRY, [Said("too dry", "given", edge + 0.1)]) == "nothing"


def test_the_first_time_it_was_given_counts():
    said = [Said("too dry", "given", one) for one in (0.3, 1.2, 2.2)]
    assert name_of(HARDLY_DRY, said) == "nothing"
    # given anew after its two days were over
    said = [Said("too dry", "given", one) for one in (0.3, 2.4)]
    assert name_of(HARDLY_DRY, said) == "too dry"


def test_release_is_the_drop_below_what_called_for_it():
    chance = HARDLY_DRY.chance_dry(limit("too_dry"))
    needed = limit("sure_chance") / 100.0
    assert needed - limit("release_drop") / 100.0 <= chance < needed


def test_a_standing_action_gives_way_to_heat_only():
    said = [Said("too dry", "given", 1.0)]
    full_and_dry = bin_like(slices=layers(moisture=35.0), tub_percent=near(95.0))
    assert name_of(full_and_dry) == "tub"
    assert name_of(full_and_dry, said) == "too dry"
    hot = bin_like(hottest=near(72.0), slices=layers(72.0, 44.0))
    assert name_of(hot, said) == "too hot"


def test_what_was_done_is_given_its_time():
    decision = next_action(DRY, [Said("too dry", "done", 1.0)])
    assert (decision.action.name, decision.standing) == ("nothing", "waiting")
    assert decision.waits_for == "too dry"
    assert decision.action.look_days == pytest.approx(look_days("too dry") - 1.0)
    # afterwards it is said again if it is still so
    assert name_of(DRY, [Said("too dry", "done", look_days("too dry") + 0.1)]) == "too dry"


def test_nothing_else_is_changed_meanwhile_but_chores_and_heat():
    said = [Said("too dry", "done", 1.0)]
    assert name_of(cool(15.0, fed_percent_a_week=1.0), said) == "nothing"
    assert name_of(bin_like(tub_percent=near(95.0)), said) == "tub"
    assert name_of(bin_like(hottest=near(72.0)), said) == "too hot"


def test_chores_and_checks_that_were_done_silence_only_themselves():
    state = bin_like(slices=layers(moisture=35.0), tub_percent=near(95.0))
    assert name_of(state, [Said("tub", "done", 0.5)]) == "too dry"
    only = bin_like(tub_percent=near(95.0))
    decision = next_action(only, [Said("tub", "done", 0.5)])
    assert (decision.action.name, decision.standing) == ("nothing", "waiting")
    rats = bin_like(slices=layers(moisture=35.0), looks=Looks(rodents="seen"))
    assert name_of(rats, [Said("check rats or mice", "done", 0.5)]) == "too dry"


def test_rats_speak_though_another_action_stands_or_waits():
    state = bin_like(slices=layers(moisture=35.0), looks=Looks(rodents="seen"))
    for answer in ("given", "done"):
        assert name_of(state, [Said("too dry", answer, 0.5)]) == "check rats or mice"


def test_heat_that_was_answered_waits_with_its_caution():
    state = bin_like(hottest=near(77.0), slices=layers(77.0, 30.0))
    eased = next_action(state, [Said("hot and dry", "given", 0.3)], {"water": 0.1})
    # watered: what is left to do is to hold food back
    assert eased.action.name == "too hot"
    said = [Said("hot and dry", "done", 0.2), Said("too hot", "done", 0.1)]
    waiting = next_action(state, said)
    assert (waiting.action.name, waiting.standing) == ("nothing", "waiting")
    assert any("fire service" in one for one in waiting.action.cautions)
    assert waiting.action.look_days <= 1.0


def test_the_job_in_the_journal_counts_as_done():
    given_before = [Said("too dry", "given", 1.5)]
    assert next_action(DRY, given_before, {"water": 1.0}).standing == "waiting"
    # water from before the advice answers nothing
    assert next_action(DRY, given_before, {"water": 3.0}).standing == "given"


@pytest.mark.parametrize(
    ("answer", "rule"), [("postponed", "postponed_days"), ("not-right", "declined_days")]
)
def test_what_was_put_off_stays_away_for_its_time(answer, rule):
    edge = limit(rule)
    decision = next_action(DRY, [Said("too dry", answer, edge - 0.1)])
    assert (decision.action.name, decision.standing) == ("nothing", "put off")
    assert name_of(DRY, [Said("too dry", answer, edge + 0.1)]) == "too dry"


def test_what_was_put_off_lets_others_speak():
    state = bin_like(slices=layers(moisture=35.0), weeks_of_room=near(1.0))
    assert name_of(state) == "too dry"
    assert name_of(state, [Said("too dry", "not-right", 1.0)]) == "soon full"


def test_words_on_actions_nobody_knows_are_left_out():
    assert name_of(DRY, [Said("open the vent to crack", "done", 0.5)]) == "too dry"


# --- the rest


def test_rest_ends_the_day_before_what_is_forecast():
    def state(**changes):
        coming = [*days(count=14)]
        for k in range(4, 14):
            coming[k] = coming[k].__class__(**{**vars(coming[k]), **changes})
        return bin_like(ahead=tuple(coming))

    assert rest(state(over_70_percent=80.0)) == (4.0, "hot")
    assert rest(state(cold_airless_percent=80.0)) == (4.0, "airless")
    assert rest(state(hottest=near(13.0))) == (4.0, "cold")
    assert rest(WELL) == (limit("rest_most"), "time")
    assert rest(bin_like(read=frozenset())) == (limit("rest_assumed"), "time")
    assert rest(bin_like(weeks_of_room=near(2.5))) == (3.5, "room")
    soon = bin_like(ahead=days(over=90.0))
    assert rest(soon)[0] == limit("rest_least")


def test_a_wide_band_is_not_called_warm():
    wide = bin_like(hottest=Spread(2.0, 30.0, 2.0 + limit("wide_band") + 1.0))
    assert "not well known" in next_action(wide).action.why
    assert "not well known" not in next_action(WELL).action.why


@given(
    st.floats(-20.0, 80.0), st.floats(10.0, 90.0), st.floats(0.0, 21.0), st.floats(-5.0, 60.0),
    st.floats(0.0, 100.0), st.floats(-15.0, 35.0), st.sampled_from(["", "shut", "crack", "open"]),
)  # fmt: skip
def test_there_is_always_one_action_and_it_is_the_same_each_time(
    hot, moisture, oxygen, room, tub, air, vent
):
    state = bin_like(
        hottest=near(hot, 3.0), slices=layers(hot, moisture, oxygen), room_cm=near(room, 4.0),
        tub_percent=near(tub, 9.0), air=near(air), vent=vent, ahead=days(hot, air),
    )  # fmt: skip
    decision = next_action(state)
    assert decision == next_action(state)
    assert decision.action.look_days > 0.0
    if decision.action.name != "nothing":
        # shown and not answered, the same bin says the same a day later
        said = [Said(decision.action.name, "given", 1.0)]
        assert next_action(state, said).action.name == decision.action.name


@given(st.lists(st.floats(-30.0, 90.0), min_size=3, max_size=3), st.floats(-50.0, 120.0))
def test_chances_fall_with_the_number_and_stay_chances(points, number):
    low, mid, high = sorted(points)
    one = Spread(low, mid, high)
    chance = one.chance_above(number)
    assert 0.0 <= chance <= 1.0
    assert one.chance_above(number + 1.0) <= chance + 1e-12
    assert one.chance_below(number) == pytest.approx(1.0 - chance)


def test_advice_loads_no_compiler_and_no_database():
    code = (
        "import sys, slowfire.advise.actions, slowfire.advise.causes, slowfire.advise.scoring;"
        "print([m for m in ('numba', 'scipy', 'numpy', 'sqlalchemy', 'fastapi') "
        "if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("side", [-0.1, 0.1])
def test_one_small_dose_is_said_not_to_be_enough_for_very_dry_stuff(side):
    why = next_action(bin_like(slices=layers(moisture=limit("very_dry") + side))).action.why
    assert ("several such doses" in why) == (side < 0.0)


@pytest.mark.parametrize("side", [-0.1, 0.1])
def test_a_level_that_is_not_known_is_looked_at_before_anything_is_dug_or_planned(side):
    wide = limit("known_level") + side
    full = next_action(bin_like(room_cm=Spread(5.0 - wide, 4.0, 5.0))).action
    assert full.name == "full"
    assert full.do.startswith("See how far" if side > 0.0 else "Dig")
    soon = bin_like(room_cm=Spread(17.0 - wide, 15.0, 17.0))
    assert (name_of(soon) == "soon full") == (side < 0.0)
