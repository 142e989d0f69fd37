"""Beds, batches and limits: who gets how much, and what is said about it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowfire.errors import InvalidInput, SlowfireError
from slowfire.garden import allot as module
from slowfire.garden.allot import Bed, Offer, allot, fits, most_volume
from slowfire.garden.nutrients import Batch, feeding, judge_limit, potting_share, woody_advice
from slowfire.garden.tables import find_planting, limits_of, nitrogen_limits, plantings
from slowfire.garden.volumes import layer_depth, layer_volume

BATCH = Batch(0.1, 60.0, 30.0, 0.6, 0.02, 0.1, 0.3, 9.0)
MARCH = Offer("March", BATCH, finished="yes")


def bed(name, planting, area=4.0, distance=5.0, way=""):
    return Bed(name, area, distance, find_planting(planting), way)


def test_trees_first_and_the_nearest_first():
    beds = [bed("kale", "kale"), bed("far hedge", "hedge", distance=30.0), bed("hedge", "hedge")]
    found = allot(beds, [MARCH], optimise=False)
    assert [round(one.volume, 6) for one in found.shares] == [0.0, 0.0, 0.1]
    assert found.method == "by turn"


def worth(beds, volumes):
    """What the optimisation seeks most of, written out bed by bed."""
    total = 0.0
    for one, volume in zip(beds, volumes, strict=True):
        cap, _ = most_volume(one, MARCH)
        first = min(volume, 0.5 * cap)
        good = module._weight(one) * (first + module.SECOND_HALF * (volume - first))
        total += good - module.WALKING * 2.0 * one.distance * volume / module.BARROW
    return total


def test_from_three_beds_up_it_is_optimised_and_as_good_as_by_turn():
    beds = [
        bed("kale", "kale", 6.0),
        bed("hedge", "hedge", 2.0, 40.0),
        bed("apple", "fruit_trees", 1.0, 3.0),
        bed("lawn", "lawn", 5.0),
    ]
    found = allot(beds, [MARCH])
    assert found.method == "optimised"
    turn = allot(beds, [MARCH], optimise=False)
    assert worth(beds, [one.volume for one in found.shares]) >= worth(
        beds, [one.volume for one in turn.shares]
    )


def test_of_two_alike_the_nearer_one_is_served_first():
    beds = [
        bed("far hedge", "hedge", 6.0, 22.0),
        bed("near quince", "fruit_trees", 9.0, 6.0),
        bed("beans", "beans", 2.0, 11.0),
    ]
    shares = {one.bed: one.volume for one in allot(beds, [MARCH]).shares}
    assert shares["near quince"] == pytest.approx(0.1)
    assert shares["far hedge"] == 0.0


def test_the_optimum_is_that_of_every_way_to_share_by_fortieths():
    """Against a plain search over all shares of three beds, walking and weights included."""
    beds = [
        bed("kale", "kale", 3.0, 30.0),
        bed("hedge", "hedge", 1.0, 60.0),
        bed("apple", "fruit_trees", 0.8, 5.0),
    ]
    caps = [most_volume(one, MARCH)[0] for one in beds]
    steps = np.linspace(0.0, 0.1, 41)
    best = max(
        worth(beds, (a, b, c))
        for a in steps
        for b in steps
        for c in steps
        if a + b + c <= 0.1 + 1e-12 and a <= caps[0] and b <= caps[1] and c <= caps[2]
    )
    found = worth(beds, [one.volume for one in allot(beds, [MARCH]).shares])
    assert found >= best - 1e-9


@given(
    st.lists(st.floats(0.1, 50.0), min_size=1, max_size=6),
    st.lists(st.floats(0.005, 0.4), min_size=1, max_size=3),
)
def test_never_more_than_there_is_and_nothing_lost(areas, volumes):
    kinds = ("kale", "hedge", "lawn", "potatoes", "fruit_trees", "new_bed")
    beds = [bed(f"bed {k}", kinds[k], area) for k, area in enumerate(areas)]
    offers = [
        Offer(f"batch {k}", Batch(v, 600 * v, 300 * v, 6 * v, 0.2 * v, v, 3 * v, 90 * v), "yes")
        for k, v in enumerate(volumes)
    ]
    found = allot(beds, offers)
    given_out = sum(one.volume for one in found.shares)
    assert given_out + sum(found.left.values()) == pytest.approx(sum(volumes), rel=1e-6)
    for one, share in zip(beds, found.shares, strict=True):
        assert share.depth <= (one.planting.most_depth or 1.0) * (1 + 1e-6)


def test_what_the_user_wants_is_kept_and_said_to_be_too_much():
    beds = [bed("kale", "kale", 1.0), bed("hedge", "hedge")]
    found = allot(beds, [MARCH], fixed={"kale": 0.09})
    assert found.shares[0].volume == pytest.approx(0.09)
    assert any("More than" in one for one in found.shares[0].cautions)
    assert found.shares[1].volume == pytest.approx(0.01)


def test_only_what_does_not_exist_is_refused():
    with pytest.raises(InvalidInput, match="100 L are there"):
        allot([bed("kale", "kale")], [MARCH], fixed={"kale": 0.2})


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: bed("x", "kale", area=-1.0), "Area of x"),
        (lambda: bed("x", "kale", distance=-1.0), "Distance of x"),
        (lambda: bed("x", "moss"), "There is no planting 'moss'"),
        (lambda: bed("x", "trees_shrubs", way="dug-in"), "mulch"),
        (lambda: allot([bed("x", "kale"), bed("x", "kale")], [MARCH]), "one name"),
        (lambda: allot([bed("x", "kale")], [MARCH], fixed={"y": 0.01}), "There is no bed 'y'"),
        (lambda: limits_of(["XX"]), "No limit is known"),
        (lambda: Batch(0.1, 10.0, 20.0, 0.1, 0.0, 0.0, 0.0, 1.0), "more than the wet mass"),
    ],
)
def test_what_cannot_be_is_refused_in_words(call, says):
    with pytest.raises(SlowfireError, match=says):
        call()


def test_seedlings_get_nothing_without_a_test():
    trays = bed("trays", "seed_trays")
    assert "cress test" in fits(trays, MARCH)
    assert fits(trays, Offer("May", BATCH, "yes", "yes")) == ""
    found = allot([trays], [MARCH])
    assert found.shares[0].volume == 0.0
    assert found.shares[0].limit == "no batch fits"


def test_unfinished_compost_goes_where_it_is_borne():
    raw = Offer("raw", BATCH, finished="no")
    assert fits(bed("kale", "kale"), raw)
    assert fits(bed("hedge", "hedge"), raw) == ""
    assert fits(bed("squash", "squash_melon"), raw) == ""


def test_salad_is_cautioned_unless_it_is_sanitised():
    salad = bed("salad", "lettuce")
    caution = allot([salad], [MARCH]).shares[0].cautions
    assert any("raw" in one for one in caution)
    clean = Offer("clean", BATCH, "yes", "yes", "yes")
    assert not any("raw" in one for one in allot([salad], [clean]).shares[0].cautions)


def test_two_places_and_the_stricter_one_first():
    both = limits_of(["UK", "AT"])
    nitrogen = [one for one in both if one.quantity == "nitrogen"]
    assert nitrogen[0].id == "AT_ARABLE"
    assert {one.jurisdiction for one in both} == {"UK", "AT"}
    wide = bed("new", "new_bed", 2.0)
    free, _name = most_volume(wide, MARCH)
    tied, limit = most_volume(wide, MARCH, both)
    assert tied < free
    assert limit == "Austria: arable land"


def test_chips_are_said_to_draw_nitrogen_only_when_dug_in():
    assert "draws nitrogen" in woody_advice(40.0, 0.4, dug_in=True)
    assert "no harm" in woody_advice(40.0, 0.4, dug_in=False)
    assert woody_advice(15.0, 0.05, dug_in=True) == ""


def test_salt_lowers_the_share_in_pots():
    assert potting_share(hungry=True)[0] == 0.5
    assert potting_share(hungry=True, conductivity_ms_per_cm=6.0)[0] == 0.1


def test_pots_get_a_mix_and_beds_do_not():
    """A fifth of the mix at the most, so five times the compost."""
    pots = bed("pots", "pots", 1.0)
    clean = Offer("clean", BATCH, "yes", "yes", "yes")
    for way in ("", "potting"):
        share = allot([bed("pots", "pots", 1.0, way=way)], [clean]).shares[0]
        assert share.volume == pytest.approx(0.02)
        assert share.mix == pytest.approx(0.02 / potting_share(hungry=False)[0])
        assert any("a fifth" in one and "half" in one for one in share.reasons)
    assert allot([pots], [MARCH]).shares[0].mix is None
    chips = Batch(0.1, 60.0, 30.0, 0.6, 0.02, 0.1, 0.3, 9.0, woody_share=0.3)
    told = allot([pots], [Offer("chips", chips, "yes", "yes", "yes")]).shares[0].reasons
    assert any("Sieve the chips out" in one for one in told)
    assert not any("on top" in one for one in told)
    on_soil = allot([bed("hedge", "hedge")], [clean]).shares[0]
    assert on_soil.mix is None
    assert not any("mix" in one for one in on_soil.reasons)


def test_depth_and_litres_are_one_function_there_and_back():
    share = allot([bed("hedge", "hedge", 4.0)], [MARCH]).shares[0]
    assert share.depth == pytest.approx(layer_depth(4.0, share.volume))
    most, _ = most_volume(bed("hedge", "hedge", 4.0), MARCH)
    assert most == pytest.approx(layer_volume(4.0, 0.075))


def test_every_row_has_its_source():
    assert all(one.source and one.confidence for one in plantings().values())
    assert all(one.source and one.confidence for one in nitrogen_limits().values())


@pytest.mark.parametrize(("carbon", "share"), [(15.0, 0.05), (9.0, 0.10), (6.0, 0.15)])
def test_availability_by_c_to_n(carbon, share):
    made = feeding(Batch(0.1, 60.0, 30.0, 0.6, 0.02, 0.1, 0.3, carbon))
    assert made.nitrogen_share == share
    assert made.nitrogen == pytest.approx(share * 0.6)


def test_a_limit_for_two_years_is_met_at_once():
    rule = nitrogen_limits()["UK_NVZ_COMPOST"]
    found = judge_limit(rule, BATCH, 0.008)
    assert found.met
    assert not judge_limit(rule, BATCH, 0.009).met
