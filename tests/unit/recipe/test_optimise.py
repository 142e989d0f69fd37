import dataclasses
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slowfire.errors import InvalidInput
from slowfire.materials.library import Portion, load_library
from slowfire.recipe.mixture import blend
from slowfire.recipe.optimise import (
    FINE_MARGIN,
    MAT_LAYER,
    MOST_VOLUMES,
    AtHand,
    optimise,
    quarter_grid,
    wet_litres,
)
from slowfire.recipe.scoring import (
    MIDDLE,
    Ingredient,
    MixTable,
    corner_weights,
    is_dry_stuff,
    robust_penalty,
)

LIBRARY = load_library()
find = LIBRARY.find
CADDY = 5.0


def caddies(word, number=1.0, packing="loose"):
    """So many caddies of 5 L, at the table's loose or pressed density."""
    stuff = find(word)
    said = packing if stuff.packing_matters else None
    return AtHand(stuff, said).portion(number * CADDY)


def at_hand(*words, packing="loose"):
    return [AtHand(find(w), packing if find(w).packing_matters else None) for w in words]


def quarter_caddy(litres):
    return CADDY / 4.0


def plan(load, hand, **options):
    return optimise(load, hand, quarter_caddy, **options)


def amounts(found):
    return {p.feedstock.id: p.litres / CADDY for p in found.additions}


parts = st.lists(
    st.builds(
        Portion.from_mass,
        st.sampled_from(LIBRARY.feedstocks),
        st.floats(0.05, 10.0),
        st.sampled_from(["loose", "dense", None]),
    ),
    min_size=1,
    max_size=5,
)


@given(parts, st.floats(0.0, 3.0))
def test_many_mixes_at_once_agree_with_one_at_a_time(portions, water):
    table = MixTable(tuple(Ingredient.of(p) for p in portions), LIBRARY.spread)
    litres = np.array([[p.litres for p in portions]])
    many = table.evaluate(litres, water)
    one = blend(portions, water)
    assert many.moisture_content_wet_basis[MIDDLE, 0] == pytest.approx(
        one.moisture_content_wet_basis, rel=1e-9
    )
    assert many.settled_free_air_space[MIDDLE, 0] == pytest.approx(
        one.settled_free_air_space, rel=1e-7, abs=1e-9
    )
    if one.c_to_n is None:
        assert np.isinf(many.c_to_n[MIDDLE, 0])
    else:
        assert many.c_to_n[MIDDLE, 0] == pytest.approx(one.c_to_n, rel=1e-9)


def test_spread_widens_the_answer_and_its_weights_add_up():
    load = caddies("peelings")
    mixes = MixTable((Ingredient.of(load),), LIBRARY.spread).evaluate(np.array([[CADDY]]))
    moisture = mixes.moisture_content_wet_basis[:, 0]
    published = LIBRARY.spread(find("peelings"), "moisture_content_wet_basis")
    assert published.low < moisture.min() < moisture.max() < published.high
    assert corner_weights().sum() == pytest.approx(1.0)


def test_grid_holds_every_mix_once():
    grid = quarter_grid([6, 6, 6, 6], 6)
    assert len({tuple(row) for row in grid.tolist()}) == len(grid)
    assert grid.sum(axis=1).max() == 6
    assert ((grid > 0).sum(axis=1) <= 3).all()
    # four amounts that add up to at most six: C(10, 4); less those of all four: C(6, 4)
    assert len(grid) == 210 - 15


def test_search_finds_the_best_of_all_mixes():
    load = [caddies("peelings")]
    hand = at_hand("paper", "chips")
    found = plan(load, hand)
    quarters = [(a, b) for a in range(7) for b in range(7) if a + b <= 6]

    def cost(a, b):
        extra = [h.portion(n * CADDY / 4) for h, n in zip(hand, (a, b), strict=True) if n]
        whole = [*load, *extra]
        table = MixTable(tuple(Ingredient.of(p) for p in whole), LIBRARY.spread)
        mixes = table.evaluate(np.array([[p.litres for p in whole]]))
        effort = sum(0.06 * (n / 4 + (n / 4) ** 2) for n in (a, b))
        return float(robust_penalty(mixes)[0]) + effort

    best = min(quarters, key=lambda pair: cost(*pair))
    got = amounts(found)
    assert (got["office_paper_shredded"] * 4, got["prunings_chipped_woody"] * 4) == best


# Common practice, no source: half a caddy of loose shredded paper and some chips to a caddy of
# kitchen waste does well; kitchen waste by itself does not.
@pytest.mark.parametrize("chips", ["bark", "chips"])
@pytest.mark.parametrize("share", [0.15, 0.2, 0.25])
def test_usual_load_is_fine(chips, share):
    load = [caddies("food"), caddies("paper", 0.5), caddies(chips, share)]
    found = plan(load, at_hand("paper", "chips"))
    assert found.verdict == "fine"
    assert found.additions == ()
    assert found.cost_before - found.cost_after <= FINE_MARGIN


def test_food_alone_wants_about_half_a_caddy_of_paper_and_some_chips():
    found = plan([caddies("food")], at_hand("paper", "chips"))
    assert found.verdict == "add"
    got = amounts(found)
    assert 0.25 <= got["office_paper_shredded"] <= 0.75
    assert 0.25 <= got["prunings_chipped_woody"] <= 0.5


def test_dense_paper_needs_less_room_than_loose():
    loose = plan([caddies("peelings")], at_hand("paper"))
    dense = plan([caddies("peelings")], at_hand("paper", packing="dense"))
    assert loose.verdict == dense.verdict == "add"
    assert sum(amounts(dense).values()) < sum(amounts(loose).values())


def test_grass_goes_in_thinly_whatever_the_textbook_says():
    load = [AtHand(find("grass")).portion(50.0)]
    found = plan(load, at_hand("leaves"))
    assert found.verdict == "hold_back"
    assert found.reason == "mats"
    layer = sum(p.litres for p in found.now) / 1000.0 / 0.3
    assert layer <= MAT_LAYER + 1e-9
    assert found.held_back_share == pytest.approx(1.0 - 15.0 / 50.0)


def test_little_grass_is_added_to_and_not_held_back():
    assert plan([caddies("grass")], at_hand("leaves")).verdict == "add"


def test_too_wet_for_one_and_a_half_volumes_is_held_back():
    found = plan([caddies("cucumber")], at_hand("paper"))
    assert found.verdict == "hold_back"
    assert found.held_back_share == 0.5
    assert found.after.moisture_content_wet_basis > 0.78


@pytest.mark.parametrize("hand", [[], at_hand("coffee"), [AtHand(find("paper"), "loose", 0.0)]])
def test_nothing_dry_at_hand(hand):
    found = plan([caddies("peelings")], hand)
    assert found.verdict == "none_at_hand"
    assert found.held_back_share == 0.5


def test_airy_load_needs_nothing_even_with_nothing_at_hand():
    assert plan([caddies("food"), caddies("card", 0.75)], []).verdict == "fine"


def test_dry_load_is_wetted():
    found = plan([caddies("leaves", 4.0)], at_hand("paper"))
    assert found.verdict == "add"
    assert found.additions == ()
    assert found.water_litres > 0.5
    assert 0.5 < found.after.moisture_content_wet_basis <= 0.6 + 1e-9
    assert found.after.water_to_spare >= -1e-9


def test_coffee_is_added_by_the_quarter_at_most():
    found = plan([caddies("windfalls", 2.0)], at_hand("coffee", "paper", "chips"))
    assert amounts(found).get("coffee_grounds", 0.0) <= 0.25 * 2.0


def test_never_more_than_one_and_a_half_volumes_counting_what_is_in_already():
    load = [caddies("peelings"), caddies("paper", 1.0)]
    for words in (("leaves",), ("paper", "chips"), ("sawdust", "card", "leaves")):
        found = plan([caddies("peelings")], at_hand(*words))
        assert sum(amounts(found).values()) <= MOST_VOLUMES + 1e-9
        found = plan(load, at_hand(*words))
        assert sum(amounts(found).values()) <= 0.5 + 1e-9


def test_amounts_are_quarters_and_within_stock():
    hand = [AtHand(find("paper"), "loose", 0.5 * CADDY), AtHand(find("chips"), None, 2.0 * CADDY)]
    got = amounts(plan([caddies("peelings")], hand))
    assert got["office_paper_shredded"] <= 0.5
    for number in got.values():
        assert (4.0 * number) == pytest.approx(round(4.0 * number))


def test_habit_is_kept_when_it_does():
    paper = caddies("paper", 0.5)
    found = plan([caddies("food")], at_hand("paper", "chips"), habit=[paper])
    assert found.verdict == "fine"
    assert amounts(found) == {"office_paper_shredded": 0.5}


@pytest.mark.parametrize("mineral", ["egg shells", "wood ash"])
def test_ash_and_shells_leave_c_to_n_alone(mineral):
    plain = plan([caddies("food")], at_hand("paper"))
    extra = plan([caddies("food"), Portion.from_mass(find(mineral), 0.05)], at_hand("paper"))
    assert extra.before.c_to_n == pytest.approx(plain.before.c_to_n)
    assert extra.verdict == plain.verdict


def test_size_of_the_load_does_not_matter():
    small = plan([caddies("food")], at_hand("paper", "chips"))
    load = [dataclasses.replace(p, mass=2 * p.mass, litres=2 * p.litres) for p in [caddies("food")]]
    big = optimise(load, at_hand("paper", "chips"), lambda litres: CADDY / 2.0)
    assert amounts(big) == {key: 2.0 * value for key, value in amounts(small).items()}


def test_wet_layer_below_asks_for_more():
    wet = blend([Portion.from_mass(find("food"), 20.0), Portion.from_mass(find("cucumber"), 20.0)])
    airy = blend([Portion.from_mass(find("compost_oversize_wood"), 20.0)])
    load, hand = [caddies("food"), caddies("paper", 0.25)], at_hand("paper", "chips")
    in_wet, in_airy = (plan(load, hand, into=layer) for layer in (wet, airy))
    assert in_airy.verdict == "fine"
    assert in_wet.cost_before > in_airy.cost_before


def test_weighed_paper_leaves_less_doubt_than_paper_by_volume():
    # peelings with just enough paper: the spread of its density is what hurts
    load = [caddies("peelings"), caddies("paper", 1.0)]
    by_volume = plan(load, [])
    weighed = plan(load, [], weighed=[False, True])
    assert weighed.cost_before < by_volume.cost_before


@settings(deadline=None)
@given(
    st.lists(
        st.sampled_from(["food", "peelings", "grass", "coffee", "bread", "leaves", "apples"]),
        min_size=1,
        max_size=3,
        unique=True,
    ),
    st.lists(st.sampled_from(["paper", "card", "chips", "leaves", "sawdust"]), max_size=3),
)
def test_plans_hold_together(words, hand):
    stuff = at_hand(*dict.fromkeys(hand))
    found = plan([caddies(word) for word in words], stuff)
    assert found.verdict in ("fine", "add", "hold_back", "none_at_hand")
    assert 0.0 <= found.held_back_share <= 1.0
    if found.verdict == "fine":
        assert found.additions == ()
        assert found.water_litres == 0.0
    if found.verdict == "add":
        assert found.additions or found.water_litres > 0.0
        assert found.cost_after <= found.cost_before
    if found.verdict == "none_at_hand":
        assert not any(is_dry_stuff(one.feedstock) for one in stuff)
    put_in = sum(p.mass for p in found.now) + sum(p.mass for p in found.additions)
    assert found.after.mass == pytest.approx(put_in + found.water_litres)


def test_add_with_water_alone_is_possible_so_add_needs_something():
    found = plan([caddies("straw", 2.0)], [])
    assert found.verdict == "add"
    assert found.water_litres > 0.0


def test_dry_stuff_by_kind():
    dry = ["paper", "card", "leaves", "chips", "straw", "hay", "sawdust", "bark"]
    wet = [
        "food",
        "grass",
        "coffee",
        "bread",
        "egg shells",
        "wood ash",
        "feathers",
        "finished compost",
    ]
    assert all(is_dry_stuff(find(word)) for word in dry)
    assert not any(is_dry_stuff(find(word)) for word in wet)
    assert wet_litres([caddies("leaves", 2.0)]) == 10.0


@pytest.mark.parametrize(
    "call",
    [
        lambda: plan([], at_hand("paper")),
        lambda: plan(
            [caddies("food")], at_hand("paper", "card", "chips", "leaves", "straw", "hay", "bark")
        ),
        lambda: optimise([caddies("food")], [], lambda litres: float("nan")),
        lambda: optimise([caddies("food")], [], lambda litres: -1.0),
        lambda: AtHand(find("paper"), "loose", -1.0),
        lambda: plan([caddies("food")], [], weighed=[True, False]),
    ],
)
def test_bad_input_is_refused(call):
    with pytest.raises(InvalidInput):
        call()


def test_search_is_quick_enough_to_answer_at_once():
    load, hand = [caddies("food", 4.0)], at_hand("paper", "chips", "leaves")
    plan(load, hand)
    # the best of several, so that a busy machine does not decide
    times = []
    for _ in range(5):
        start = time.perf_counter()
        plan(load, hand)
        times.append(time.perf_counter() - start)
    assert min(times) < 0.05
