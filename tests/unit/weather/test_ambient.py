"""Assumed weather: means, swings, classes, noise and refusals."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slowfire.errors import InvalidInput
from slowfire.site import Bin, Site, WeatherSetting
from slowfire.weather import Ambient, constant, seasonal, site_weather
from slowfire.weather.ambient import RAIN_MM_PER_YEAR, WIND_M_PER_S, day_length

SITE = Site("Yard", "Europe/Vienna", (Bin("Drum", "cylinder", inside_diameter_cm=50,
            inside_height_cm=75),))  # fmt: skip


def test_a_constant_stays_constant() -> None:
    """Every hour has the values given."""
    at = constant(-5.0, 48.0, wind_speed=1.5).at(np.array([0.0, 7.3, 48.0]))
    np.testing.assert_array_equal(at.temperature_celsius, [-5.0, -5.0, -5.0])
    np.testing.assert_array_equal(at.wind_speed, [1.5, 1.5, 1.5])


def test_a_year_has_its_mean_swings_and_coldest_day() -> None:
    """Daily means swing by Y about the mean, lowest on the coldest day; hours swing by D."""
    year = seasonal(10.0, 20.0, 8.0, coldest_day=20.0)
    days = year.temperature_celsius[: 365 * 24].reshape(365, 24)
    means = days.mean(axis=1)
    assert means.mean() == pytest.approx(10.0, abs=0.05)
    assert np.ptp(means) == pytest.approx(20.0, abs=0.1)
    assert 1 + np.argmin(means) == pytest.approx(20, abs=1)
    assert np.ptp(days, axis=1).mean() == pytest.approx(8.0, abs=0.15)
    assert np.argmin(days[100]) == 4
    assert year.rain_rate[1:].sum() == pytest.approx(RAIN_MM_PER_YEAR["usual"], rel=0.01)


def test_the_clock_of_the_place_sets_day_and_hour() -> None:
    """Started at noon in July, hour 0 is warm and sunny."""
    start = datetime(2026, 7, 15, 12, tzinfo=ZoneInfo("Europe/Vienna"))
    july = seasonal(10.0, 20.0, 8.0, start=start, hours=48.0)
    assert july.temperature_celsius[0] > 20.0
    assert july.irradiance[0] > 400.0
    assert july.irradiance[12] == 0.0


def test_classes_order_rain_and_wind() -> None:
    """Dry is drier than wet, sheltered calmer than windy."""
    made = [seasonal(10, 20, 8, hours=24, rain=r, wind=w) for r, w in
            (("dry", "sheltered"), ("usual", "normal"), ("wet", "windy"))]  # fmt: skip
    assert made[0].rain_rate[1] < made[1].rain_rate[1] < made[2].rain_rate[1]
    assert [one.wind_speed[0] for one in made] == sorted(WIND_M_PER_S.values())
    assert any("1300 mm a year (wet)" in one for one in made[2].assumptions)


def test_days_are_long_in_summer_and_twelve_hours_at_the_equator() -> None:
    """Geometry: equinox and equator 12 h; complement across the equator; polar night and day."""
    assert day_length(81.0, 52.0) == pytest.approx(12.0, abs=0.05)
    assert day_length(172.0, 0.0) == pytest.approx(12.0, abs=1e-6)
    assert day_length(172.0, 52.0) + day_length(172.0, -52.0) == pytest.approx(24.0)
    assert day_length(172.0, 80.0) == pytest.approx(24.0)
    assert day_length(355.0, 80.0) == pytest.approx(0.0)


def test_noise_repeats_with_its_seed_and_has_its_spread() -> None:
    """Same seed, same weather; anomalies have the stated spread and memory."""
    still = seasonal(10.0, 20.0, 8.0, hours=40 * 8766)
    one = seasonal(10.0, 20.0, 8.0, hours=40 * 8766, noise_kelvin=3.0, seed=4)
    again = seasonal(10.0, 20.0, 8.0, hours=40 * 8766, noise_kelvin=3.0, seed=4)
    other = seasonal(10.0, 20.0, 8.0, hours=40 * 8766, noise_kelvin=3.0, seed=5)
    np.testing.assert_array_equal(one.temperature_celsius, again.temperature_celsius)
    assert not np.array_equal(one.temperature_celsius, other.temperature_celsius)
    anomalies = (one.temperature_celsius - still.temperature_celsius)[::24]
    assert anomalies.std() == pytest.approx(3.0, rel=0.05)
    assert np.corrcoef(anomalies[:-1], anomalies[1:])[0, 1] == pytest.approx(0.75, abs=0.03)
    assert one.rain_rate.sum() == pytest.approx(still.rain_rate.sum(), rel=0.05)
    assert np.mean(one.rain_rate == 0.0) > 0.8


@settings(deadline=None, max_examples=60)
@given(
    st.floats(-40, 50), st.floats(0, 70), st.floats(0, 40), st.floats(1, 366),
    st.floats(-90, 90), st.floats(0, 15), st.integers(0, 99),
)  # fmt: skip
def test_any_season_gives_weather_within_its_bounds(
    mean: float, year: float, day: float, coldest: float, latitude: float, noise: float, seed: int
) -> None:
    """Whatever is allowed to be typed gives air that the constructor accepts."""
    made = seasonal(mean, year, day, coldest, 400.0, latitude_degrees=latitude,
                    noise_kelvin=noise, seed=seed)  # fmt: skip
    assert made.hours[-1] == 400.0
    assert np.all(made.irradiance <= 1000.0)


def test_values_between_hours_lie_on_a_line() -> None:
    """Half-way is the mean; a float gives floats; outside is refused with the range."""
    air = seasonal(10.0, 20.0, 8.0, hours=48.0)
    half = air.at(9.5).temperature_celsius
    assert isinstance(half, float)
    assert half == pytest.approx(air.temperature_celsius[9:11].mean())
    with pytest.raises(InvalidInput, match="hour of the weather is 49 h; allowed is 0 to 48 h"):
        air.at(49.0)
    with pytest.raises(InvalidInput, match="allowed is 0 to 48 h"):
        air.at(np.array([1.0, float("nan")]))


def test_bad_weather_is_refused() -> None:
    """Lengths, order, range, nan, naive start, unknown class."""
    hours = np.arange(3.0)
    good = [hours, hours + 10.0, np.full(3, 0.7), hours, hours, hours]
    Ambient(None, *good)
    cases = [
        (0, hours[::-1], "do not rise"),
        (0, np.array([1.0]), "at least two"),
        (1, np.arange(4.0), "has 4 values; allowed is 3"),
        (1, np.array([1.0, np.nan, 2.0]), "at hour 1: temperature_celsius is nan"),
        (1, np.array([1.0, 2.0, 72.0]), "at hour 2: temperature_celsius is 72 C; .*-60 to 60 C"),
        (2, np.array([70.0, 70.0, 70.0]), "relative_humidity is 70; allowed is 0 to 1"),
        (4, np.array([0.0, -1.0, 0.0]), "rain_rate is -1"),
    ]
    for place, values, said in cases:
        bad = list(good)
        bad[place] = values
        with pytest.raises(InvalidInput, match=said):
            Ambient(None, *bad)
    with pytest.raises(InvalidInput, match="without an offset"):
        Ambient(datetime(2026, 1, 1), *good)
    with pytest.raises(InvalidInput, match="rain is 'damp'; allowed is dry, usual, wet"):
        seasonal(10, 20, 8, rain="damp")


def test_arrays_cannot_be_changed_afterwards() -> None:
    """The weather is a value: neither its arrays nor the caller's change it."""
    hours = np.arange(3.0)
    air = Ambient(None, hours, hours, np.full(3, 0.7), hours, hours, hours)
    hours[0] = -9.0
    assert air.temperature_celsius[0] == 0.0
    with pytest.raises(ValueError, match="read-only"):
        air.temperature_celsius[0] = 5.0


def test_a_site_gives_its_weather() -> None:
    """Constant, seasonal and nothing said."""
    start = datetime(2026, 1, 15, tzinfo=UTC)
    unsaid = site_weather(SITE, start, 24.0)
    assert "neither weather nor latitude and longitude" in unsaid.assumptions[0]
    assert "mild inland year is assumed" in unsaid.assumptions[0]
    assert "year of 10 C on average" in unsaid.assumptions[1]
    setting = WeatherSetting("constant", 7.0, relative_humidity_percent=60)
    still = site_weather(Site("Yard", "UTC", SITE.bins, weather=setting), start, 24.0)
    assert set(still.temperature_celsius) == {7.0}
    assert set(still.relative_humidity) == {0.6}
    assert still.start == start
