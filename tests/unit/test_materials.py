import dataclasses
import math

import pytest

from slowfire.errors import InvalidInput, UnknownName
from slowfire.materials.feedstock import pressed_density
from slowfire.materials.library import Library, Portion, load_library
from slowfire.materials.names import plain_form
from slowfire.materials.packaged import packaged_rows

LIBRARY = load_library()
BULKING_WOOD = {
    "prunings_chipped_woody",
    "arborist_chips_with_leaf",
    "conifer_chips",
    "hardwood_chips_seasoned",
    "bark_chips_fine",
    "bark_nuggets",
    "nut_shells",
    "compost_oversize_wood",
    "compost_oversize_bark",
}


def test_every_row_loads_and_load_is_cached():
    assert [f.id for f in LIBRARY.feedstocks] == [r["id"] for r in packaged_rows("feedstocks.csv")]
    assert len(LIBRARY.feedstocks) == 91
    assert load_library() is LIBRARY


def test_contents_are_fractions_of_the_table():
    row = {r["id"]: r for r in packaged_rows("feedstocks.csv")}["coffee_grounds"]
    coffee = LIBRARY.find("coffee_grounds")
    assert coffee.moisture_content_wet_basis == float(row["moisture_pct_wet"]) / 100
    assert coffee.nitrogen_content == float(row["nitrogen_pct_dry"]) / 100
    assert coffee.particle_density is None
    assert coffee.particle_size == pytest.approx(0.0005)
    assert coffee.bulk_density == 450.0


def test_printed_c_to_n_follows_from_the_two_columns():
    printed = {r["id"]: float(r["c_to_n"]) for r in packaged_rows("feedstocks.csv")}
    for item in LIBRARY.feedstocks:
        assert item.c_to_n == pytest.approx(printed[item.id], rel=0.02), item.id


def test_marks():
    assert {f.id for f in LIBRARY.feedstocks if f.bulking_wood} == BULKING_WOOD
    left_out = {f.id for f in LIBRARY.feedstocks if not f.counts_in_c_to_n}
    assert left_out == {"egg_shell_crushed", "wood_ash", "biochar"}
    asked = {f.id for f in LIBRARY.feedstocks if f.packing_matters}
    assert {"office_paper_shredded", "corrugated_cardboard", "wheat_straw"} <= asked
    assert {f.id for f in LIBRARY.feedstocks if f.id.startswith("leaves_")} <= asked
    assert {f.id for f in LIBRARY.feedstocks if f.group == "paper"} <= asked
    assert not asked & BULKING_WOOD


def test_every_material_has_words_and_every_word_finds_something():
    def outcome(word):
        try:
            return LIBRARY.find(word).id
        except UnknownName as refusal:
            return str(refusal)

    for item in LIBRARY.feedstocks:
        assert item.words, item.id
        for word in item.words:
            # found, given over to the commoner material, or offered as a choice
            found = outcome(word)
            commoner = any(f.id == found and f.preferred_words for f in LIBRARY.feedstocks)
            assert item.id in found or commoner, (item.id, word, found)


@pytest.mark.parametrize(
    ("word", "material"),
    [
        ("peelings", "fruit_veg_peelings_mixed"),
        ("Veggie scraps", "fruit_veg_peelings_mixed"),
        ("GRASS", "grass_clippings_fresh"),
        ("card", "corrugated_cardboard"),
        ("paper", "office_paper_shredded"),
        ("tea bag", "tea_leaves"),
        ("tea bags", "tea_leaves"),
        ("chips", "prunings_chipped_woody"),
        ("bark", "bark_chips_fine"),
        ("leaf", "leaves_mixed_autumn"),
        ("fall leaves", "leaves_mixed_autumn"),
        ("food", "food_waste_household_mixed"),
        ("coffee", "coffee_grounds"),
        ("zucchini", "watery_fruit_veg"),
        ("Lawn clippings, fresh", "grass_clippings_fresh"),
        ("office-paper shredded", "office_paper_shredded"),
        ("nut_shells", "nut_shells"),
    ],
)
def test_find(word, material):
    assert LIBRARY.find(word).id == material


def test_shared_word_without_a_first_choice_lists_the_choices():
    with pytest.raises(UnknownName, match="could be any of") as refusal:
        LIBRARY.find("manure")
    assert "horse_manure_straw" in str(refusal.value)
    assert "sheep_manure" in str(refusal.value)


def test_unknown_word_offers_near_misses():
    with pytest.raises(UnknownName, match="Did you mean") as refusal:
        LIBRARY.find("bananna skins")
    message = str(refusal.value)
    assert "banana_skins" in message
    assert "`slowfire feedstocks` lists them all" in message
    assert message.count("(") <= 3


def test_hopeless_word_offers_none():
    with pytest.raises(UnknownName) as refusal:
        LIBRARY.find("qqqqqq")
    assert "Did you mean" not in str(refusal.value)
    assert "slowfire feedstocks" in str(refusal.value)


def test_search_ranks_and_may_be_empty():
    found = [f.id for f in LIBRARY.search("straw")]
    assert found[0] == "wheat_straw"
    assert {"oat_barley_straw", "horse_manure_straw"} <= set(found)
    assert LIBRARY.search("qqqqqq") == ()
    assert len(LIBRARY.search("")) == 91


def test_plain_form_is_stable():
    for item in LIBRARY.feedstocks:
        for word in item.words:
            assert plain_form(plain_form(word)) == plain_form(word)
            assert plain_form(word.upper()) == plain_form(word)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"moisture_content_wet_basis": -0.1}, "allowed is 0 to"),
        ({"moisture_content_wet_basis": 1.0}, "0.99"),
        ({"nitrogen_content": math.nan}, "nan"),
        ({"nitrogen_content": 0.5, "carbon_content": 0.4}, "nitrogen content"),
        ({"carbon_content": 0.99}, "carbon content"),
        ({"lignin_content": 0.99}, "lignin content"),
        ({"fast_fraction": 0.5}, "add up to"),
        ({"bulk_density": 0.0}, "bulk density"),
        ({"bulk_density": math.inf}, "bulk density"),
        ({"dense_bulk_density": 100.0}, "dense bulk density"),
        ({"particle_density": 200.0}, "particle density"),
        ({"water_holding_capacity": -1.0}, "water holding capacity"),
        ({"structure_role": "fluffy"}, "bulking, absorbent, wet, neutral"),
    ],
)
def test_contradictory_contents_are_refused(changes, message):
    with pytest.raises(InvalidInput, match=message):
        dataclasses.replace(LIBRARY.find("peelings"), **changes)


def test_c_to_n_without_nitrogen_is_none():
    assert dataclasses.replace(LIBRARY.find("paper"), nitrogen_content=0.0).c_to_n is None


@pytest.mark.parametrize("mass", [0.0, -1.0, math.nan, math.inf, 1e6])
def test_portion_refuses_absurd_masses(mass):
    with pytest.raises(InvalidInput, match="allowed is above 0 to"):
        Portion.from_mass(LIBRARY.find("peelings"), mass)


def test_portion_volume_follows_the_packing():
    paper = LIBRARY.find("paper")
    assert Portion.from_mass(paper, 0.45).litres == pytest.approx(10.0)
    assert Portion.from_mass(paper, 0.45, "dense").litres == pytest.approx(5.0)
    with pytest.raises(InvalidInput, match="loose or dense"):
        Portion(paper, 1.0, 1.0, "tight")


def test_dense_is_never_below_loose_nor_above_a_piece():
    for item in LIBRARY.feedstocks:
        assert item.dense_bulk_density >= item.bulk_density, item.id
    # household measures table, pressed by hand (estimates): card 0.09, straw or hay 0.10, wood
    # chips 0.32 kg/L
    assert LIBRARY.find("card").dense_bulk_density == 90.0
    assert LIBRARY.find("straw").dense_bulk_density == 100.0
    assert LIBRARY.find("arborist chips").dense_bulk_density == 320.0
    assert pressed_density(230.0, 240.0, False) == 230.0


@pytest.mark.parametrize(
    ("loose", "pressed"),
    # the pairs of the household measures table, kg/L x 1000; the rule is coarse: within a third
    [
        (400, 550),
        (425, 600),
        (500, 700),
        (450, 650),
        (220, 350),
        (50, 100),
        (110, 170),
        (50, 90),
        (45, 90),
        (600, 800),
        (1150, 1350),
        (75, 150),
    ],
)
def test_rule_for_pressed_density_is_near_the_household_table(loose, pressed):
    assert pressed_density(loose, None, False) == pytest.approx(pressed, rel=0.33)


def test_two_materials_may_not_share_an_id_or_a_first_choice():
    peelings, paper = LIBRARY.find("peelings"), LIBRARY.find("paper")
    with pytest.raises(InvalidInput, match="Two materials"):
        Library((peelings, peelings))
    rival = dataclasses.replace(paper, preferred_words=("Peeling",))
    with pytest.raises(InvalidInput, match="claimed by"):
        Library((peelings, rival))


@pytest.mark.parametrize(
    ("word", "answer"),
    [
        ("browns", "say which"),
        ("Greens", "say which"),
        ("cat litter", "on purpose"),
        ("cooking oil", "into card"),
        ("coal ash", "clean wood"),
        ("water", "as water added"),
    ],
)
def test_words_that_are_no_material_get_an_answer(word, answer):
    with pytest.raises(UnknownName, match=answer):
        LIBRARY.find(word)


def test_no_answer_hides_a_material():
    for row in packaged_rows("no_material.csv"):
        for word in row["words"].split(";"):
            with pytest.raises(UnknownName):
                LIBRARY.find(word)
