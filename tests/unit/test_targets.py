import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowfire.errors import InvalidInput, OutOfReach
from slowfire.materials.library import Portion, load_library
from slowfire.recipe.mixture import blend
from slowfire.recipe.targets import (
    Amendment,
    amendment_of,
    check_c_to_n_target,
    mass_for_c_to_n,
    mass_for_moisture,
    one_of,
    solve_both,
    water_for_moisture,
)

LIBRARY = load_library()
find = LIBRARY.find


def base_of(word, kilograms=10.0):
    return blend([Portion.from_mass(find(word), kilograms)])


def mixed(base, amendment, mass):
    return blend((*base.portions, *amendment.portions(mass)))


@given(st.floats(0.45, 0.84), st.sampled_from(["paper", "leaves", "card", "straw", "wood chips"]))
def test_moisture_answer_gives_the_moisture(target, word):
    base, amendment = base_of("peelings"), one_of(find(word))
    if target <= amendment.moisture_content_wet_basis + 0.005:
        return
    mass = mass_for_moisture(base, amendment, target)
    assert mixed(base, amendment, mass).moisture_content_wet_basis == pytest.approx(target)


@given(st.floats(20.0, 45.0), st.floats(0.0, 5.0))
def test_c_to_n_answer_gives_the_c_to_n_also_in_the_users_ratio(target, leaves):
    base = base_of("grass")
    amendment = amendment_of([find("leaves"), find("paper")], [leaves, 1.0])
    mass = mass_for_c_to_n(base, amendment, target)
    result = mixed(base, amendment, mass)
    assert result.c_to_n == pytest.approx(target)
    by_word = {p.feedstock.id: p.mass for p in result.portions[1:]}
    expected = by_word["office_paper_shredded"] * leaves
    assert by_word.get("leaves_mixed_autumn", 0.0) == pytest.approx(expected, abs=1e-9)


def test_greens_bring_c_to_n_down():
    base, grass = base_of("leaves"), one_of(find("grass"))
    mass = mass_for_c_to_n(base, grass, 30.0)
    assert mixed(base, grass, mass).c_to_n == pytest.approx(30.0)


def test_a_mix_without_nitrogen_can_be_brought_down():
    bare = LIBRARY.with_own([{"name": "bare", "like": "paper", "nitrogen_percent": 0}]).find("bare")
    base, grass = blend([Portion.from_mass(bare, 1.0)]), one_of(find("grass"))
    mass = mass_for_c_to_n(base, grass, 30.0)
    assert mixed(base, grass, mass).c_to_n == pytest.approx(30.0)
    with pytest.raises(OutOfReach, match=r"anything above 14\.8"):
        mass_for_c_to_n(base, grass, 12.0)


def test_already_there_needs_nothing():
    base = base_of("grass")
    assert mass_for_moisture(base, one_of(find("leaves")), base.moisture_content_wet_basis) == 0.0
    assert mass_for_c_to_n(base, one_of(find("leaves")), base.c_to_n) == 0.0
    assert water_for_moisture(base, base.moisture_content_wet_basis) == 0.0
    assert one_of(find("leaves")).portions(0.0) == ()


def test_out_of_reach_names_the_reachable_range():
    base, leaves = base_of("grass"), one_of(find("leaves"))
    for target in (0.9, 0.38, 0.2):
        with pytest.raises(OutOfReach, match=r"38\.0 % to 80\.0 %"):
            mass_for_moisture(base, leaves, target)
    for target in (10.0, 60.0):
        with pytest.raises(OutOfReach, match=r"14\.8 to 52\.2"):
            mass_for_c_to_n(base, leaves, target)


def test_a_target_next_to_the_amendment_takes_too_much():
    with pytest.raises(OutOfReach, match="allowed is up to 10 t"):
        mass_for_moisture(base_of("grass"), one_of(find("leaves")), 0.3801)


@pytest.mark.parametrize("target", [2.0, 7.9, 0.0, -5.0, float("nan"), 201.0, float("inf")])
def test_senseless_c_to_n_is_refused_with_the_range(target):
    with pytest.raises(OutOfReach, match="8 to 200"):
        check_c_to_n_target(target)


@pytest.mark.parametrize("target", [0.0, 1.0, -0.1, 60.0, float("nan")])
def test_senseless_moisture_is_refused(target):
    with pytest.raises(InvalidInput, match=r"allowed is 0\.05 to 0\.95"):
        mass_for_moisture(base_of("grass"), one_of(find("leaves")), target)
    with pytest.raises(InvalidInput, match=r"allowed is 0\.05 to 0\.95"):
        water_for_moisture(base_of("grass"), target)


def test_what_does_not_count_cannot_change_c_to_n():
    with pytest.raises(OutOfReach, match="does not count"):
        mass_for_c_to_n(base_of("grass"), one_of(find("biochar")), 30.0)
    with pytest.raises(OutOfReach, match="Nothing in the mix counts"):
        mass_for_c_to_n(base_of("wood ash"), one_of(find("grass")), 30.0)


def test_water_cannot_dry():
    with pytest.raises(OutOfReach, match="something dry"):
        water_for_moisture(base_of("grass"), 0.6)


def test_both_targets_side_by_side():
    both = solve_both(base_of("grass"), one_of(find("leaves")), 0.60, 30.0)
    assert both.conflict
    assert both.why_not == ()
    assert both.for_moisture.result.moisture_content_wet_basis == pytest.approx(0.60)
    assert both.for_moisture.result.c_to_n != pytest.approx(30.0, abs=0.5)
    assert both.for_c_to_n.result.c_to_n == pytest.approx(30.0)
    agreed = solve_both(
        base_of("grass"), one_of(find("leaves")), 0.60, both.for_moisture.result.c_to_n
    )
    assert not agreed.conflict


def test_one_target_out_of_reach_still_answers_the_other():
    both = solve_both(base_of("grass"), one_of(find("leaves")), 0.60, 80.0)
    assert both.for_c_to_n is None
    assert both.for_moisture is not None
    assert both.conflict
    assert "14.8 to 52.2" in both.why_not[0]
    with pytest.raises(OutOfReach, match="Moisture"):
        solve_both(base_of("grass"), one_of(find("leaves")), 0.9, 80.0)


def test_amendment_shares():
    assert amendment_of([find("leaves"), find("card")]).parts[0][1] == pytest.approx(0.5)
    with pytest.raises(InvalidInput, match="one number a material"):
        amendment_of([find("leaves")], [1.0, 2.0])
    for shares in ([0.0], [-1.0], [float("nan")]):
        with pytest.raises(InvalidInput):
            amendment_of([find("leaves")], shares)
    with pytest.raises(InvalidInput, match="at least one"):
        Amendment(())
