import pytest

from slowfire.errors import InvalidInput, UnknownName
from slowfire.materials.library import load_library

LIBRARY = load_library()


def own(**entry):
    return LIBRARY.with_own([entry])


def test_what_is_not_stated_is_as_the_similar_material():
    library = own(name="Cafe grounds", like="coffee", moisture_percent=70)
    mine, coffee = library.find("cafe grounds"), LIBRARY.find("coffee")
    assert mine.id == "cafe_grounds"
    assert mine.moisture_content_wet_basis == 0.7
    assert mine.nitrogen_content == coffee.nitrogen_content
    assert mine.source_kind == coffee.source_kind
    assert mine.group == "own"
    assert library.find("coffee") is coffee
    assert len(LIBRARY.feedstocks) == 91


def test_an_own_material_comes_before_the_shipped_one():
    library = own(name="Peelings", like="peelings", nitrogen_percent=2.5)
    assert library.find("peelings").nitrogen_content == 0.025
    assert library.find("peelings").source_kind == "own"
    assert library.find("fruit_veg_peelings_mixed").nitrogen_content == pytest.approx(0.022)


def test_a_known_id_replaces_the_shipped_one():
    library = own(name="My grounds", id="coffee_grounds", like="coffee", moisture_percent=70)
    assert len(library.feedstocks) == 91
    assert library.find("my grounds").moisture_content_wet_basis == 0.7


def test_a_range_is_kept_as_spread():
    library = own(name="Hutch", like="rabbit", moisture_percent=[40, 60])
    hutch = library.find("hutch")
    spread = library.spread(hutch, "moisture_content_wet_basis")
    assert (spread.low, spread.high, spread.kind) == (0.4, 0.6, "own")
    assert hutch.moisture_content_wet_basis == pytest.approx(0.5)


def test_c_to_n_sets_the_nitrogen():
    mine = own(name="List straw", like="straw", c_to_n=90).find("list straw")
    assert mine.c_to_n == pytest.approx(90.0)


def test_dense_follows_a_stated_loose_density():
    mine = own(name="Bale paper", like="paper", bulk_density_kg_per_m3=120).find("bale paper")
    assert mine.dense_bulk_density == pytest.approx(1.6 * 120)


@pytest.mark.parametrize(
    ("entry", "message"),
    [
        ({"like": "coffee"}, "name"),
        ({"name": "X"}, "like"),
        ({"name": "X", "like": "coffee", "moistur_percent": 5}, "Did you mean moisture_percent"),
        ({"name": "X", "like": "coffee", "moisture_percent": "wet"}, "one number, or two"),
        ({"name": "X", "like": "coffee", "moisture_percent": True}, "one number, or two"),
        ({"name": "X", "like": "coffee", "moisture_percent": [60, 40]}, "one number, or two"),
        ({"name": "X", "like": "coffee", "moisture_percent": 170}, "moisture content"),
        ({"name": "X", "like": "coffee", "nitrogen_percent": 2, "c_to_n": 20}, "give one"),
        ({"name": "X", "like": "coffee", "c_to_n": 0.2}, "1 to 5000"),
        ({"name": "X", "like": "coffee", "fast_percent": 90}, "add up to"),
        ({"name": "X", "like": "coffee", "bulking_wood": "no"}, "true or false"),
        ({"name": "X", "like": "coffee", "words": "espresso"}, "list of words"),
    ],
)
def test_wrong_entries_are_refused(entry, message):
    with pytest.raises(InvalidInput, match=message):
        LIBRARY.with_own([entry])


def test_unknown_model_is_refused():
    with pytest.raises(UnknownName, match="qqqqqq"):
        own(name="X", like="qqqqqq")


def test_two_own_materials_of_one_name_are_refused():
    entry = {"name": "X", "like": "coffee"}
    with pytest.raises(InvalidInput, match="Two materials"):
        LIBRARY.with_own([entry, entry])


def test_two_own_materials_may_not_claim_one_word():
    first = {"name": "X", "like": "coffee", "words": ["mud"]}
    second = {"name": "Y", "like": "coffee", "words": ["mud"]}
    with pytest.raises(InvalidInput, match="claimed by"):
        LIBRARY.with_own([first, second])
