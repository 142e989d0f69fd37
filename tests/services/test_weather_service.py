"""The weather service: places, files, months, and what it refuses."""

import dataclasses
from pathlib import Path

import numpy as np
import pvlib
import pytest

from slowfire.errors import InvalidInput, OutOfReach, SlowfireError, UnknownName
from slowfire.journal import read_journal
from slowfire.services.weather import weather
from slowfire.weather import site_weather

STATION = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
SITE = """name = "Yard"
timezone = "Europe/Vienna"
{place}
[[bins]]
name = "Drum"
shape = "cylinder"
inside_diameter_cm = 50
inside_height_cm = 75
{weather}
"""


def journal(folder: Path, place: str = "", weather_table: str = ""):
    """A journal with this place and weather."""
    (folder / "site.toml").write_text(SITE.format(place=place, weather=weather_table))
    (folder / "entries.csv").write_text(
        "when,bin,kind,item,amount,unit\n2026-03-02 18:30,Drum,load,kitchen scraps,1,kg\n"
    )
    return read_journal(folder)


def air_of(found, hours: float = 48.0):
    """Weather of the site from the first entry on."""
    return site_weather(found.site, found.entries[0].when, hours, found.weather_file)


def test_a_town_by_months():
    found = weather("Vienna")
    assert found.source == "grid"
    assert [one.month for one in found.months] == list(range(1, 13))
    assert sum(one.days for one in found.months) == 365
    mean = sum(one.mean_celsius * one.days for one in found.months) / 365
    assert mean == pytest.approx(found.mean_celsius)
    for one in found.months:
        assert one.lowest_celsius < one.mean_celsius < one.highest_celsius
        assert 0 < one.relative_humidity_percent <= 100
        assert one.walls_w_per_m2 > 0
    january, july = found.months[0], found.months[6]
    assert january.mean_celsius < july.mean_celsius - 15
    # walls gain on the level when the sun is low
    assert january.walls_w_per_m2 / january.irradiance_w_per_m2 > (
        1.2 * july.walls_w_per_m2 / july.irradiance_w_per_m2
    )
    assert sum(one.rain_mm for one in found.months) == pytest.approx(750, rel=0.01)


def test_coordinates_and_town_agree():
    by_name = weather("Nairobi")
    by_place = weather(None, by_name.latitude_degrees, by_name.longitude_degrees)
    assert by_place.months == by_name.months


def test_some_days_and_a_drawn_year():
    june = weather("Vienna", start="2026-06-01", days=30)
    assert [one.month for one in june.months] == [6]
    assert june.months[0].days == 30
    one, again, other = (weather("Vienna", seed=seed) for seed in (1, 1, 2))
    assert one == again
    assert one.months != other.months


def test_a_file_with_its_own_place():
    found = weather(file=STATION)
    assert found.source == "typical_year"
    assert found.place.startswith("GREENSBORO")
    assert found.latitude_degrees == pytest.approx(36.1)
    assert found.climate is None
    assert found.mean_celsius == pytest.approx(14.4, abs=0.1)  # as pvlib reads it


def test_written_weather_is_read_by_a_journal(tmp_path):
    """By any name of zone: times carry their offset."""
    target = tmp_path / "weather.csv"
    made = weather("Vienna", start="2026-03-02", days=10, write=target)
    assert made.written == str(target)
    found = journal(tmp_path)
    assert found.weather_file == target
    air = site_weather(found.site, found.entries[0].when, 24.0, found.weather_file)
    assert air.assumptions == ()
    assert air.hours[-1] == 240.0
    again = weather(file=target)
    assert again.source == "measured"
    assert again.mean_celsius == pytest.approx(made.mean_celsius, abs=1e-4)
    with pytest.raises(InvalidInput, match="is there already"):
        weather("Vienna", write=target)


@pytest.mark.parametrize(
    ("arguments", "error", "said"),
    [
        ({}, InvalidInput, "Say where"),
        ({"latitude_degrees": 48.0}, InvalidInput, "Say where"),
        ({"town": "Vienna", "latitude_degrees": 48.0}, InvalidInput, "not both"),
        ({"latitude_degrees": 30.0, "longitude_degrees": -45.0}, OutOfReach, "km from"),
        ({"town": "Springfield"}, UnknownName, "Springfield, IL"),
        ({"town": "Vienna", "start": "spring"}, InvalidInput, "is not a date"),
        ({"town": "Vienna", "start": "1066-01-01"}, InvalidInput, "1970 to 2099"),
        ({"town": "Vienna", "days": 0.0}, InvalidInput, "1 to 3660"),
        ({"town": "Vienna", "rain": "lots"}, InvalidInput, "dry, usual, wet"),
        ({"town": "Vienna", "seed": -1}, InvalidInput, "seed"),
        ({"file": STATION, "town": "Vienna"}, InvalidInput, "own place"),
        ({"file": "none.csv"}, SlowfireError, "there is no none.csv"),
    ],
)
def test_what_is_refused(arguments, error, said):
    with pytest.raises(error, match=said):
        weather(**arguments)


def test_days_of_a_plain_file_are_its_own(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text("when,temperature_celsius\n2026-01-01,5\n2026-01-02,7\n")
    with pytest.raises(InvalidInput, match="own days"):
        weather(file=path, days=3)
    found = weather(file=path)
    assert found.months[0].walls_w_per_m2 is None
    assert weather(None, 48.0, 16.0, path).months[0].walls_w_per_m2 > 0


PLACE = "latitude_degrees = 48.2\nlongitude_degrees = 16.4"


def test_a_site_with_a_place_gets_its_weather(tmp_path):
    air = air_of(journal(tmp_path, PLACE))
    assert "land cell at 48.25 north, 16.25 east" in air.assumptions[0]


def test_a_site_without_a_place_gets_a_mild_year_and_is_told(tmp_path):
    air = air_of(journal(tmp_path, "latitude_degrees = 48.2"))
    assert "neither weather nor latitude and longitude" in air.assumptions[0]


def test_a_site_in_mid_ocean_gets_a_mild_year_and_is_told(tmp_path):
    air = air_of(journal(tmp_path, "latitude_degrees = 30\nlongitude_degrees = -45"))
    assert "nearest land" in air.assumptions[0]
    assert "mild inland year is assumed" in air.assumptions[0]


def test_a_site_may_name_a_town(tmp_path):
    found = journal(tmp_path, PLACE, '[weather]\nkind = "grid"\ntown = "Nairobi"\nrain = "wet"')
    air = air_of(found, 8760.0)
    assert "south" in air.assumptions[0]
    assert "1300 mm" in " ".join(air.assumptions)
    warmer = journal(tmp_path, PLACE, '[weather]\nkind = "grid"\nmean_celsius = 21')
    assert air_of(warmer, 8760.0).temperature_celsius.mean() == pytest.approx(21.0, abs=0.1)


def test_a_drawn_year_by_its_seed(tmp_path):
    texts = ['[weather]\nkind = "grid"\nseed = 3', '[weather]\nkind = "grid"\nseed = 4']
    first, second = (air_of(journal(tmp_path, PLACE, text), 240.0) for text in texts)
    assert not np.array_equal(first.temperature_celsius, second.temperature_celsius)


@pytest.mark.parametrize(
    ("place", "table", "said"),
    [
        ("", '[weather]\nkind = "grid"', r"site.toml, line 9, .*needs town"),
        ("", '[weather]\nkind = "grid"\ntown = ""', "town is empty"),
        (PLACE, '[weather]\nkind = "seasonal"\nmean_celsius = 9\ntown = "Graz"', "town belongs to"),
        (PLACE, '[weather]\nkind = "grid"\ndaily_swing_kelvin = 9', "take it out"),
        (PLACE, '[weather]\nkind = "grid"\nnoise_kelvin = 2', "needs a seed"),
        (PLACE, '[weather]\nkind = "grid"\nmean_celsius = 60', "-40 to 50"),
    ],
)
def test_a_bad_setting_is_refused_where_it_stands(tmp_path, place, table, said):
    with pytest.raises(SlowfireError, match=said):
        journal(tmp_path, place, table)


def test_an_unknown_town_of_a_site_is_named(tmp_path):
    found = journal(tmp_path, "", '[weather]\nkind = "grid"\ntown = "Vianna"')
    with pytest.raises(UnknownName, match=r"weather\.town: no town .*Did you mean"):
        air_of(found)


def test_an_epw_or_tmy3_beside_the_journal(tmp_path):
    (tmp_path / "station.csv").write_bytes(STATION.read_bytes())
    found = journal(tmp_path, "", '[weather]\nkind = "file"\nfile = "station.csv"')
    air = air_of(found)
    assert "GREENSBORO" in air.assumptions[0]
    assert air.start == found.entries[0].when


def test_a_result_is_plain():
    """All of it goes to JSON."""
    for one in dataclasses.asdict(weather("Vienna", days=40)).values():
        assert isinstance(one, str | float | int | tuple | type(None))
