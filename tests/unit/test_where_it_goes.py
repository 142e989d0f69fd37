"""Can I add it? Every material of the library has an answer; heat decides where it must."""

import pytest

from slowfire.errors import InvalidInput, UnknownName
from slowfire.materials.library import load_library
from slowfire.where_it_goes import find_places, places, read_places, where_it_goes


def test_every_material_of_the_library_has_a_place():
    known = {one for place in places() for one in place.feedstocks}
    missing = [one.id for one in load_library().feedstocks if one.id not in known]
    assert missing == []
    assert known <= {one.id for one in load_library().feedstocks}


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        ("Orange peels", "citrus"),
        ("tea bags", "tea_bags"),
        ("TEABAG", "tea_bags"),
        ("dog poo", "pet_waste"),
        ("Japanese knotweed", "knotweed"),
        ("rhubarb", "rhubarb"),
        ("office_paper_shredded", "paper"),
        ("compostable bag", "liner_industrial"),
        ("home compostable bag", "liner_home"),
        ("barbecue ash", "ash_coal"),
    ],
)
def test_things_are_found_by_the_words_people_use(word, expected):
    assert find_places(word)[0].id == expected


def test_an_unknown_thing_is_said_to_be_unknown():
    with pytest.raises(UnknownName, match="leave it out"):
        find_places("zorblax")
    with pytest.raises(UnknownName):
        find_places("  ")


@pytest.mark.parametrize("name", ["meat_cooked", "bread", "weeds_seed", "blight"])
def test_what_needs_heat_goes_in_only_where_heat_is(name):
    place = next(one for one in places() if one.id == name)
    hot = where_it_goes(place, 62.0, 0.95)
    cold = where_it_goes(place, 25.0, 0.01)
    unknown = where_it_goes(place)
    assert hot.destination == "bin"
    assert hot.computed
    assert cold.destination != "bin"
    assert unknown.destination == cold.destination
    assert "Measure first" in " ".join(unknown.reasons)


@pytest.mark.parametrize("name", ["clubroot", "white_rot", "wilt", "wart", "knotweed", "pet_waste"])
def test_what_is_never_promised_goes_nowhere_however_hot(name):
    place = next(one for one in places() if one.id == name)
    assert where_it_goes(place, 70.0, 1.0).destination == "nowhere"


def test_every_row_names_its_source():
    assert all(one.source and one.confidence and one.why for one in places())
    assert len({one.id for one in places()}) == len(places()) > 90


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("a,Thing,,,sea,,,So,,ours,ours", "line 2"),
        ("a,Thing,,,bin,55,,So,,ours,ours", "go together"),
        ("a,Thing,,,bin,,,,,ours,ours", "a reason"),
        ("a,Thing,,,bin,,,So,,ours", "too many or too few"),
    ],
)
def test_a_broken_table_names_its_line(row, says):
    head = "id,name,words,feedstocks,destination,hot_celsius,otherwise,why,how,source,confidence"
    with pytest.raises(InvalidInput, match=says):
        read_places(f"{head}\n{row}")
