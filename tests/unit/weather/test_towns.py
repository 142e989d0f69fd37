"""Towns by name."""

import csv
from importlib.resources import files

import pytest

from slowfire.errors import UnknownName
from slowfire.weather.towns import folded, town_named, towns


@pytest.mark.parametrize(
    ("typed", "name", "country"),
    [
        ("zurich", "Zürich", "Switzerland"),
        ("ZÜRICH", "Zürich", "Switzerland"),
        ("sao paulo", "São Paulo", "Brazil"),
        ("lodz", "Łódź", "Poland"),
        ("Cologne", "Köln", "Germany"),
        ("  birmingham ,  united kingdom", "Birmingham", "United Kingdom"),
        ("Birmingham, al", "Birmingham", "United States"),
        ("Birmingham, AL, United States", "Birmingham", "United States"),
        ("Reykjavik", "Reykjavík", "Iceland"),
    ],
)
def test_names_as_people_type_them(typed, name, country):
    found = town_named(typed)
    assert (found.name, found.country) == (name, country)


def test_several_of_a_name_are_listed_and_each_pick_works():
    with pytest.raises(UnknownName, match='"Springfield, IL, United States"') as refusal:
        town_named("Springfield")
    picks = [part.split('"')[0] for part in str(refusal.value).split('; "')[1:]]
    assert len(picks) >= 2
    for pick in picks:
        assert town_named(pick).full_name == pick


def test_unknown_names_get_close_ones():
    with pytest.raises(UnknownName, match=r"Did you mean .*Bruxelles|Did you mean .*Brussels"):
        town_named("Brusels")
    with pytest.raises(UnknownName, match="Else give latitude and longitude"):
        town_named("Qqqqq")
    with pytest.raises(UnknownName, match='allowed is "Graz, Austria"'):
        town_named("Graz, Germany")
    with pytest.raises(UnknownName, match="allowed is"):
        town_named("")


def test_every_town_can_be_picked_by_its_full_name():
    assert len(towns()) > 4000
    for one in towns():
        assert town_named(one.full_name) == one, one.full_name


def test_coordinates_of_known_towns():
    """From memory, to a tenth of a degree."""
    for name, latitude, longitude in (
        ("Vienna", 48.2, 16.4),
        ("Sydney, Australia", -33.9, 151.2),
        ("Nairobi", -1.3, 36.8),
        ("New York", 40.7, -74.0),
    ):
        found = town_named(name)
        assert found.latitude_degrees == pytest.approx(latitude, abs=0.1)
        assert found.longitude_degrees == pytest.approx(longitude, abs=0.1)


def test_the_table_is_small_and_its_plain_names_are_plain():
    raw = files("slowfire").joinpath("data", "towns.csv").read_bytes()
    assert len(raw) < 250_000
    for row in csv.DictReader(raw.decode("utf-8").splitlines()):
        if row["ascii_name"]:
            assert folded(row["ascii_name"]) == folded(row["name"])
