import pytest

from slowfire.errors import InvalidInput, UnknownName
from slowfire.materials.library import load_library
from slowfire.materials.packaged import packaged_rows
from slowfire.measures import Amount, Measure, default_measures, parse_amount, to_portion

LIBRARY = load_library()
MEASURES = default_measures()


@pytest.mark.parametrize(
    ("text", "number", "measure"),
    [
        ("1 caddy", 1.0, "caddy"),
        ("2 caddies", 2.0, "caddy"),
        ("0.5 Caddy", 0.5, "caddy"),
        (".5 caddy", 0.5, "caddy"),
        ("1/2 caddy", 0.5, "caddy"),
        ("½ caddy", 0.5, "caddy"),
        ("1½ buckets", 1.5, "bucket"),
        ("1 1/2 buckets", 1.5, "bucket"),
        ("2.5 L", 2.5, "litre"),
        ("2.5L", 2.5, "litre"),
        ("300 g", 300.0, "gram"),
        ("20000 g", 20000.0, "gram"),
        ("3 lbs", 3.0, "pound"),
        ("2 US gallons", 2.0, "US gallon"),
        ("2 imperial gallons", 2.0, "imperial gallon"),
        ("1 bag of tea", 1.0, "tea bag"),
        ("3 cu ft", 3.0, "cubic foot"),
    ],
)
def test_amounts_people_write(text, number, measure):
    assert parse_amount(text) == Amount(number, measure)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("caddy", "not an amount"),
        ("", "not an amount"),
        ("3", "no measure"),
        ("-1 caddy", "above 0"),
        ("0 L", "above 0"),
        ("nan L", "above 0"),
        ("inf kg", "above 0"),
        ("1e9 L", "above 0 to 1e\\+06"),
        ("1/0 L", "divides by zero"),
        ("2,5 L", "point"),
        ("1 gallon", r"US gallon .* or imperial gallon"),
        ("2 gal", "two sizes"),
        ("1 pint", "two sizes"),
    ],
)
def test_senseless_amounts_are_refused(text, message):
    with pytest.raises(InvalidInput, match=message):
        parse_amount(text)


def test_unknown_measure_offers_a_near_one():
    with pytest.raises(UnknownName, match="Did you mean caddy"):
        parse_amount("1 cady")


@pytest.mark.parametrize(
    ("text", "material", "kilograms"),
    # household measures table, containers filled loosely to the brim [kg], and items
    [
        ("1 caddy", "food waste", 2.1),
        ("1 caddy", "peelings", 2.0),
        ("1 caddy", "coffee", 2.3),
        ("1 bucket", "food waste", 6.0),
        ("1 bucket", "grass", 3.1),
        ("1 trug", "peelings", 16.0),
        ("1 barrow", "coffee", 29.0),
        ("1 mower box", "grass", 11.0),
        ("1 bulk bag", "wood chips", 190.0),
        ("500 A4 sheets", "shredded paper", 2.5),
        ("1 ream", "shredded paper", 2.5),
    ],
)
def test_household_measures(text, material, kilograms):
    portion = to_portion(LIBRARY.find(material), parse_amount(text))
    # printed to two digits, and chips are printed at 0.25-0.28 kg/L
    assert portion.mass == pytest.approx(kilograms, rel=0.03)


def test_same_word_means_another_sheet_for_newspaper():
    paper, news = LIBRARY.find("shredded paper"), LIBRARY.find("newspaper")
    sheets = parse_amount("10 sheets")
    assert to_portion(paper, sheets).mass == pytest.approx(0.050)
    assert to_portion(news, sheets).mass == pytest.approx(0.110)
    with pytest.raises(InvalidInput, match="not of Spent coffee"):
        to_portion(LIBRARY.find("coffee"), sheets)


def test_volume_of_paper_asks_loose_or_dense_and_mass_does_not():
    paper = LIBRARY.find("shredded paper")
    with pytest.raises(InvalidInput, match=r"225 g .*--loose.* 450 g .*--dense"):
        to_portion(paper, parse_amount("1 caddy"))
    assert to_portion(paper, parse_amount("1 caddy"), "loose").mass == pytest.approx(0.225)
    assert to_portion(paper, parse_amount("1 caddy"), "dense").mass == pytest.approx(0.450)
    by_mass = to_portion(paper, parse_amount("90 g"))
    assert (by_mass.mass, by_mass.packing) == (pytest.approx(0.09), None)
    assert by_mass.litres == pytest.approx(2.0)


def test_peelings_need_no_packing_but_may_have_one():
    peelings = LIBRARY.find("peelings")
    assert to_portion(peelings, parse_amount("1 caddy")).mass == pytest.approx(2.0)
    assert to_portion(peelings, parse_amount("1 caddy"), "dense").mass == pytest.approx(2.75)


def test_own_sizes():
    mine = MEASURES.with_own({"caddy": 7.0, "blue tub": 12})
    peelings = LIBRARY.find("peelings")
    assert to_portion(peelings, mine.parse_amount("1 kitchen caddy"), None, mine).litres == 7.0
    assert to_portion(peelings, mine.parse_amount("2 blue tubs"), None, mine).litres == 24.0
    assert MEASURES.named("caddy").litres == 5.0
    assert "as you set it" in mine.named("caddy").assumption
    assert mine.named("bucket") == MEASURES.named("bucket")


def test_own_measure_may_take_over_another_name():
    mine = MEASURES.with_own({"tub": 9.0})
    assert mine.named("tub").litres == 9.0
    assert mine.named("trug").litres == 40.0


@pytest.mark.parametrize(
    "sizes",
    [
        {"caddy": 0.0},
        {"caddy": -5},
        {"caddy": float("nan")},
        {"caddy": "7"},
        {"caddy": True},
        {"caddy": 1e7},
        {"litre": 2.0},
        {"gallon": 4.0},
        {"": 4.0},
    ],
)
def test_senseless_own_sizes_are_refused(sizes):
    with pytest.raises(InvalidInput):
        MEASURES.with_own(sizes)


def test_absurd_volume_is_refused_with_the_range():
    with pytest.raises(InvalidInput, match="allowed is above 0 to 20000 L"):
        to_portion(LIBRARY.find("peelings"), parse_amount("100000 L"))
    with pytest.raises(InvalidInput, match="allowed is above 0 to 10000 kg"):
        to_portion(LIBRARY.find("peelings"), parse_amount("11000 kg"))


def test_a_measure_is_a_volume_or_a_mass():
    with pytest.raises(InvalidInput, match="either"):
        Measure("thing", 1.0, 1.0, "test")
    with pytest.raises(InvalidInput, match="either"):
        Measure("thing", None, None, "test")


def test_every_shipped_measure_is_found_by_all_its_names_and_states_its_basis():
    ids = {item.id for item in LIBRARY.feedstocks}
    for row in packaged_rows("measures.csv"):
        assert row["assumption"]
        meant = [i for i in row["only_for"].split(";") if i]
        assert set(meant) <= ids, row["name"]
        feedstock = LIBRARY.find(meant[0]) if meant else LIBRARY.find("peelings")
        for word in [row["name"], *filter(None, row["words"].split(";"))]:
            assert MEASURES.named(word, feedstock).name == row["name"], word
