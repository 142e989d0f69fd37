"""World grid: nearest land, hemispheres, tropics, spread, assumptions and refusals."""

import subprocess
import sys
from datetime import UTC, datetime, timedelta, timezone

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slowfire.errors import InvalidInput, OutOfReach
from slowfire.weather.grid import at_place, members, nearest_land, spread_at

START = datetime(2025, 1, 1, tzinfo=UTC)


def great_circle_km(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Haversine distance, another form than the one under test."""
    (p, q), (r, s) = np.radians(a), np.radians(b)
    half = np.sin((r - p) / 2) ** 2 + np.cos(p) * np.cos(r) * np.sin((s - q) / 2) ** 2
    return float(2 * 6371.0 * np.arcsin(np.sqrt(half)))


def test_the_nearest_cell_holds_an_inland_place():
    cell = nearest_land(48.3, 16.4)
    assert (cell.latitude_degrees, cell.longitude_degrees) == (48.25, 16.25)
    assert cell.distance_km == pytest.approx(great_circle_km((48.3, 16.4), (48.25, 16.25)))


def test_the_date_line_is_no_edge():
    """Chukotka lies across it; land on both sides is near."""
    for longitude in (179.99, -179.99, 180.0, -180.0):
        cell = nearest_land(67.2, longitude)
        assert cell.distance_km < 30.0
        assert cell.distance_km == pytest.approx(
            great_circle_km((67.2, longitude), (cell.latitude_degrees, cell.longitude_degrees))
        )


@settings(max_examples=60, deadline=None)
@given(st.floats(-90.0, 90.0), st.floats(-180.0, 180.0))
def test_anywhere_gives_weather_or_says_how_far(latitude, longitude):
    try:
        air = at_place(latitude, longitude, 48.0, start=START)
    except OutOfReach as refusal:
        said = str(refusal)
        assert "km from" in said
        assert "allowed is up to 200 km" in said
        assert "weather file" in said
    else:
        assert air.hours.size == 49
        assert np.all(air.irradiance >= 0.0)


def test_mid_ocean_says_the_distance():
    with pytest.raises(OutOfReach, match=r"lies \d{4} km from 30, -45"):
        nearest_land(30.0, -45.0)


@pytest.mark.parametrize(("latitude", "longitude"), [(91.0, 0.0), (0.0, 181.0)])
def test_coordinates_off_the_globe(latitude, longitude):
    with pytest.raises(InvalidInput, match="allowed is -"):
        nearest_land(latitude, longitude)


def by_month(air) -> np.ndarray:
    """Means of twelve equal parts."""
    return air.temperature_celsius[:8760].reshape(12, 730).mean(axis=1)


def test_south_has_its_summer_in_january():
    north, south = (
        at_place(45.0, 10.0, 8760, start=START),
        at_place(-35.0, 147.0, 8760, start=START),
    )
    assert by_month(north)[0] < by_month(north)[6] - 10.0
    assert by_month(south)[0] > by_month(south)[6] + 5.0
    assert north.irradiance[:744].mean() < 0.5 * north.irradiance[4344:5088].mean()
    assert south.irradiance[:744].mean() > 1.5 * south.irradiance[4344:5088].mean()


def test_tropics_have_hardly_a_season():
    air = at_place(1.35, 103.8, 8760, start=START)
    assert np.ptp(by_month(air)) < 3.0
    sun = air.irradiance[:8760].reshape(12, 730).mean(axis=1)
    assert sun.min() > 0.8 * sun.max()


def test_noon_comes_from_the_longitude_not_from_the_clock():
    """Sun and warmth of Fiji are highest at Fiji's noon and afternoon."""
    air = at_place(
        -17.8, 178.0, 24.0, start=datetime(2025, 6, 1, tzinfo=timezone(timedelta(hours=12)))
    )
    assert 11 <= int(np.argmax(air.irradiance)) <= 13
    assert 14 <= int(np.argmax(air.temperature_celsius)) <= 17


def test_polar_night_is_dark():
    air = at_place(69.6, 19.0, 24.0, start=datetime(2025, 12, 21, tzinfo=UTC))
    assert air.irradiance.max() == 0.0
    light = at_place(69.6, 19.0, 24.0, start=datetime(2025, 6, 21, tzinfo=UTC))
    assert light.irradiance.min() > 0.0


def test_the_year_keeps_what_the_source_holds():
    """Mean, swing, sun and water of the year are those of the cell."""
    cell = nearest_land(50.8, 4.35)
    air = at_place(50.8, 4.35, 8760, start=START)
    assert air.temperature_celsius.mean() == pytest.approx(cell.settled_mean_celsius, abs=0.05)
    days = air.temperature_celsius[:8760].reshape(365, 24)
    assert np.ptp(days.mean(axis=1)) == pytest.approx(cell.yearly_swing_kelvin, abs=0.2)
    assert np.ptp(days, axis=1).mean() == pytest.approx(cell.daily_swing_kelvin, abs=0.3)
    assert air.irradiance.mean() == pytest.approx(cell.irradiance, rel=0.01)


def test_people_live_in_the_warmer_parts():
    """Around Graz by up to 3 K, on the flat by little, never colder than the cell."""
    hills, flat = nearest_land(47.07, 15.44), nearest_land(52.2, 21.0)
    assert 1.0 < hills.settled_mean_celsius - hills.mean_celsius <= 3.0
    assert hills.settled_mean_celsius <= hills.warmest_mean_nearby
    assert 0.0 <= flat.settled_mean_celsius - flat.mean_celsius < 0.4


def test_dry_land_gets_little_rain_and_rain_forest_much():
    assert nearest_land(25.0, 25.0).rain == "dry"  # Sahara
    assert nearest_land(-3.1, -60.0).rain == "wet"  # Manaus
    assert nearest_land(52.5, 13.4).rain == "usual"
    air = at_place(25.0, 25.0, 8766.0, start=START)
    assert air.rain_rate.sum() == pytest.approx(350.0, rel=0.01)


def test_what_is_stated_goes_first():
    air = at_place(47.1, 15.4, 8760, start=START, rain="wet", wind="windy", mean_celsius=9.9)
    assert air.temperature_celsius.mean() == pytest.approx(9.9, abs=0.05)
    assert set(air.wind_speed) == {4.5}
    said = " ".join(air.assumptions)
    assert "9.9 C, as stated" in said
    assert "1300 mm a year (wet, as stated)" in said
    assert "4.5 m/s (windy)" in said


def test_every_assumption_is_a_sentence():
    for one in at_place(52.5, 13.4, 24.0, start=START).assumptions:
        assert one[0].isupper()
        assert one.endswith(".")


def test_members_differ_as_much_as_measured():
    """Yearly means and days of forty drawn years against the numbers they were drawn with."""
    cell = nearest_land(50.8, 4.35)
    spread = spread_at(cell)
    drawn = members(50.8, 4.35, 8759.0, 40, 11, start=START)
    mean_year = at_place(50.8, 4.35, 8759.0, start=START)
    days = np.array([one.temperature_celsius for one in drawn]) - mean_year.temperature_celsius
    days = days.reshape(40, 365, 24).mean(axis=2)
    assert days.mean(axis=1).std() == pytest.approx(spread.year_to_year_kelvin, rel=0.35)
    assert days.std() == pytest.approx(spread.day_to_day_kelvin, rel=0.07)
    assert np.mean(days[:, 1:] * days[:, :-1]) / np.mean(days**2) == pytest.approx(
        spread.memory, abs=0.03
    )
    rain = np.array([one.rain_rate.sum() for one in drawn])
    assert rain.mean() == pytest.approx(750.0, rel=0.1)
    assert rain.std() > 30.0


def test_members_come_back_with_their_seed():
    three, five = (members(50.8, 4.35, 48.0, n, 3, start=START) for n in (3, 5))
    for one, again in zip(three, five, strict=False):
        np.testing.assert_array_equal(one.temperature_celsius, again.temperature_celsius)
    other = members(50.8, 4.35, 48.0, 1, 4, start=START)[0]
    assert not np.array_equal(other.temperature_celsius, three[0].temperature_celsius)


def test_spread_grows_with_the_season():
    calm, wild = spread_at(nearest_land(1.35, 103.8)), spread_at(nearest_land(50.0, -97.0))
    assert calm.day_to_day_kelvin < wild.day_to_day_kelvin
    assert 0.3 < wild.year_to_year_kelvin < 2.0


def test_nothing_of_it_is_loaded_before_it_is_asked_for():
    code = (
        "import sys, slowfire, slowfire.cli; "
        "sys.exit(any(m.startswith('slowfire.weather') or m == 'numpy' for m in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_hostile_numbers():
    with pytest.raises(InvalidInput, match="add one"):
        at_place(50.0, 4.0, 24.0, start=datetime(2025, 1, 1))
    with pytest.raises(InvalidInput, match="allowed is 1 to"):
        at_place(50.0, 4.0, 0.0)
    with pytest.raises(InvalidInput, match="rain is 'lots'"):
        at_place(50.0, 4.0, rain="lots")
    with pytest.raises(InvalidInput, match="count"):
        members(50.0, 4.0, 24.0, 0, 1)
