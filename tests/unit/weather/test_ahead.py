"""Weather of each run: where it starts, how it spreads, and that it comes back with its seed."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pvlib
import pytest
from scipy import integrate

from slowfire.column.simulate import Air
from slowfire.errors import InvalidInput, OutOfReach
from slowfire.site import Bin, Site, WeatherSetting
from slowfire.weather import read_typical_year
from slowfire.weather.ahead import draw_members, forecast_error, hourly_process
from slowfire.weather.forecast import Forecast
from slowfire.weather.grid import nearest_land, spread_at
from slowfire.weather.sunlight import sun_path
from slowfire.weather.usual import (
    FILE_PLACE_KELVIN,
    GRID_PLACE_KELVIN,
    UNSAID_PLACE_KELVIN,
    mean_of_typical_year,
    site_coordinates,
    usual_at_place,
    usual_weather,
)

STATION = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
DRUM = (Bin("Drum", "cylinder", inside_diameter_cm=50, inside_height_cm=75),)
VIENNA = Site("Yard", "Europe/Vienna", DRUM, latitude_degrees=48.2, longitude_degrees=16.4)
NOW = datetime(2026, 3, 1, 9, tzinfo=UTC)
FORTNIGHT = 24 * 14


def table_file(folder: Path, begin: datetime, departures: np.ndarray, extra: str = "") -> Path:
    """A weather.csv with these departures from the usual year of Vienna, hour by hour."""
    usual = usual_weather(VIENNA, begin, departures.size + 1, begin).normal
    heading = "when,temperature_celsius" + (f",{extra.split('=')[0]}" if extra else "")
    tail = f",{extra.split('=')[1]}" if extra else ""
    rows = [
        f"{(begin + timedelta(hours=hour)).isoformat()},"
        f"{usual.temperature_celsius[hour] + departure:.4f}{tail}"
        for hour, departure in enumerate(departures)
    ]
    path = folder / "weather.csv"
    path.write_text("\n".join([heading, *rows]) + "\n", encoding="utf-8")
    return path


def departures(drawn) -> np.ndarray:
    """Of each run's temperature from the usual."""
    return drawn.tables[:, :, 0] - drawn.usual_celsius


def foretold(departure: float, issued: datetime = NOW, hours: int = FORTNIGHT, **more) -> Forecast:
    """A forecast this far from the usual year of Vienna."""
    usual = usual_weather(VIENNA, NOW, hours, NOW).normal.temperature_celsius
    return Forecast("here", issued, NOW, {"temperature_celsius": usual + departure, **more})


class TestNothingKnown:
    """Without a table and a forecast the climate's spread is there from the first hour on."""

    usual = usual_weather(VIENNA, NOW, 24 * 60, NOW)
    drawn = draw_members(usual, 300, 5, NOW)

    def test_days_and_years_stray_as_measured(self):
        spread = spread_at(nearest_land(48.2, 16.4))
        days = departures(self.drawn)[:, :1440].reshape(300, 60, 24).mean(axis=2)
        wanted = np.sqrt(
            spread.day_to_day_kelvin**2 + spread.offset_kelvin**2 + GRID_PLACE_KELVIN**2
        )
        assert days.std() == pytest.approx(wanted, rel=0.05)
        for day in (0, 13, 59):
            assert days[:, day].std() == pytest.approx(wanted, rel=0.15)
            assert days[:, day].mean() == pytest.approx(0.0, abs=4.0 * wanted / np.sqrt(300))
        # the offset of a run is constant, so it counts whole in the product of neighbouring days
        offset = spread.offset_kelvin**2 + GRID_PLACE_KELVIN**2
        memory = (np.mean(days[:, 1:] * days[:, :-1]) - offset) / (np.mean(days**2) - offset)
        assert memory == pytest.approx(spread.memory, abs=0.04)

    def test_means_of_rain_wind_sun_and_humidity_are_those_of_the_year(self):
        tables, normal = self.drawn.tables, self.usual.normal
        assert tables[:, :, 1].mean() == pytest.approx(normal.relative_humidity.mean(), abs=0.01)
        assert tables[:, :, 2].mean() == pytest.approx(normal.wind_speed.mean(), rel=0.03)
        assert tables[:, :, 3].mean() == pytest.approx(normal.rain_rate.mean(), rel=0.05)
        assert tables[:, :, 4].mean() == pytest.approx(normal.irradiance.mean(), rel=0.02)

    def test_it_rains_on_dull_and_damp_days(self):
        # solar days, so that the six hours of a shower lie in one
        begin = round((24.0 - (9.0 + 16.4 / 15.0)) % 24.0)
        whole = self.drawn.tables[:, begin : begin + 24 * 58].reshape(300, 58, 24, 6)
        wet = whole[:, :, 2:22, 3].sum(axis=2) > 0.0
        assert wet.mean() == pytest.approx(0.35, abs=0.02)
        sun = whole[:, :, :, 4].mean(axis=2)
        assert sun[wet].mean() < 0.8 * sun[~wet].mean()
        humidity = whole[:, :, :, 1].mean(axis=2)
        assert humidity[wet].mean() > humidity[~wet].mean() + 0.05

    def test_no_day_is_clearer_than_a_clear_sky(self):
        path = sun_path(NOW, self.usual.normal.hours, 48.2, 16.4)
        above = path.above_the_air[:1440].reshape(60, 24).sum(axis=1)
        light = self.drawn.tables[:, :1440, 4].reshape(300, 60, 24).sum(axis=2)
        assert (light / above).max() < 0.8
        assert (light / above).min() > 0.05

    def test_tables_are_what_the_column_reads(self):
        air = Air(self.drawn.tables[7])
        assert air.table.shape == (1441, 6)
        night = self.drawn.tables[:, :, 4] == 0.0
        assert np.all(self.drawn.tables[:, :, 5][night] == 0.0)
        assert self.drawn.tables[:, :, 5].mean() > 0.0


class TestSeed:
    """A run's weather belongs to its seed, its number and the date."""

    usual = usual_weather(VIENNA, NOW, 48, NOW)

    def test_the_same_again(self):
        one, again = (draw_members(self.usual, 4, 9, NOW).tables for _ in range(2))
        np.testing.assert_array_equal(one, again)
        other = draw_members(self.usual, 4, 10, NOW).tables
        assert not np.any(np.all(one[:, :, 0] == other[:, :, 0], axis=1))

    def test_the_number_of_runs_changes_none_of_them(self):
        few, many = (draw_members(self.usual, n, 9, NOW).tables for n in (2, 7))
        np.testing.assert_array_equal(few, many[:2])

    def test_with_a_table_and_a_forecast_neither(self, tmp_path):
        path = table_file(tmp_path, NOW - timedelta(days=6), np.linspace(-2.0, 3.0, 24 * 6 + 1))
        usual = usual_weather(VIENNA, NOW - timedelta(days=2), 24 * 9, NOW, path)
        told = foretold(4.0, hours=24 * 7)
        few, many = (draw_members(usual, n, 9, NOW, told).tables for n in (2, 7))
        np.testing.assert_array_equal(few, many[:2])

    @pytest.mark.parametrize("earlier_hours", [1, 24 * 5, 24 * 80])
    def test_a_longer_look_back_changes_nothing(self, earlier_hours):
        begin = NOW - timedelta(hours=earlier_hours)
        longer = draw_members(usual_weather(VIENNA, begin, earlier_hours + 48, NOW), 3, 9, NOW)
        here = draw_members(self.usual, 3, 9, NOW)
        np.testing.assert_allclose(longer.tables[:, earlier_hours:], here.tables, atol=1e-9)


class TestOwnTable:
    """Measured hours are certain; after them runs spread as a first-order process does."""

    @pytest.fixture(name="drawn")
    def after_a_warm_spell(self, tmp_path):
        # nothing unusual for weeks, then two days 5 K warm
        was = np.zeros(24 * 40 + 1)
        was[-48:] = 5.0
        path = table_file(tmp_path, NOW - timedelta(days=40), was, "irradiance_w_per_m2=55")
        usual = usual_weather(VIENNA, NOW - timedelta(days=3), 24 * 23, NOW, path)
        return draw_members(usual, 600, 3, NOW)

    def test_what_was_measured_is_certain(self, drawn):
        there = departures(drawn)[:, 24 : 24 * 3 + 1]
        np.testing.assert_allclose(there.mean(axis=0)[1:], 5.0, atol=0.1)
        assert there.std(axis=0).max() < 0.4
        assert drawn.measured_until == NOW
        sun = drawn.tables[:, : 24 * 3 + 1, 4]
        assert sun.mean() == pytest.approx(55.0, rel=0.02)
        # rain was not: days differ as ever
        assert 0.2 < np.mean(drawn.tables[:, : 24 * 3, 3].sum(axis=1) > 0.0) < 1.0

    def test_the_warm_spell_fades_as_days_forget(self, drawn):
        """Exact for the process: e^(-kt), with k from the memory of daily means."""
        rate, _ = hourly_process(spread_at(nearest_land(48.2, 16.4)).memory)
        # the place's own mean is learnt from forty days, of which two were warm
        learnt = departures(drawn)[:, -1].mean()
        assert 0.0 < learnt < 0.6
        for days in (1, 2, 4):
            left = departures(drawn)[:, 24 * (3 + days)].mean()
            assert left == pytest.approx(5.0 * np.exp(-rate * days), abs=0.6)

    def test_the_spread_grows_to_the_climates(self, drawn):
        spread = spread_at(nearest_land(48.2, 16.4))
        rate, share = hourly_process(spread.memory)
        hourly = spread.day_to_day_kelvin / np.sqrt(share)
        grown = departures(drawn)[:, 24 * 3 :].std(axis=0)
        for hours in (3, 12, 24, 48):
            # no guess is better than that from the last hour of an exact first-order process
            least = hourly * np.sqrt(1.0 - np.exp(-2.0 * rate * hours / 24.0))
            assert 0.93 * least < grown[hours] < 1.08 * hourly
        assert np.all(np.diff([grown[hours] for hours in (0, 2, 6, 12, 24, 60)]) > 0.0)
        assert grown[24 * 12 :].mean() == pytest.approx(hourly, rel=0.08)

    def test_nobody_jumps_where_the_table_ends(self, drawn):
        steps = np.abs(np.diff(departures(drawn), axis=1))
        usual_step = np.quantile(steps[:, 24 * 10 :], 0.999)
        assert steps[:, 24 * 3].max() < 1.5 * usual_step + 1.0

    def test_a_place_that_is_always_colder_stays_so(self, tmp_path):
        """Sixty days of 3 K below the grid; what is learnt is the mean of a Gaussian posterior."""
        path = table_file(tmp_path, NOW - timedelta(days=60), np.full(24 * 60 + 1, -3.0))
        usual = usual_weather(VIENNA, NOW, FORTNIGHT + 24 * 10, NOW, path)
        drawn = draw_members(usual, 600, 3, NOW)
        spread = spread_at(nearest_land(48.2, 16.4))
        rate, share = hourly_process(spread.memory)
        hours = np.arange(24 * 60)
        covariance = np.exp(-rate / 24.0 * np.abs(hours[:, None] - hours))
        of_mean = spread.day_to_day_kelvin**2 / share * covariance.mean()
        place = spread.offset_kelvin**2 + GRID_PLACE_KELVIN**2
        wanted = -3.0 * place / (place + of_mean)
        late = departures(drawn)[:, -120:].mean(axis=1)
        assert late.mean() == pytest.approx(wanted, abs=0.4)
        assert wanted < -2.0

    def test_rows_ahead_are_a_forecast_made_now(self, tmp_path):
        """A table that runs on past the present is not taken as measured there."""
        path = table_file(tmp_path, NOW - timedelta(days=5), np.full(24 * 12, 4.0))
        usual = usual_weather(VIENNA, NOW - timedelta(days=1), 24 * 9, NOW, path)
        drawn = draw_members(usual, 300, 3, NOW)
        assert drawn.measured_until == NOW
        assert drawn.foretold_until == NOW + timedelta(hours=24 * 7 - 1)
        grown = departures(drawn).std(axis=0)
        assert grown[24] < 0.5 < 1.2 < grown[48] < grown[24 * 6]
        assert departures(drawn)[:, 48].mean() == pytest.approx(4.0, abs=0.8)

    def test_a_table_that_ended_long_ago_is_forgotten(self, tmp_path):
        path = table_file(tmp_path, NOW - timedelta(days=400), np.full(240, 9.0))
        usual = usual_weather(VIENNA, NOW, 48, NOW, path)
        assert usual.before_hours == 0
        drawn = draw_members(usual, 50, 3, NOW)
        without = draw_members(usual_weather(VIENNA, NOW, 48, NOW), 50, 3, NOW)
        np.testing.assert_allclose(drawn.tables, without.tables)
        assert drawn.measured_until is None

    def test_one_that_ended_days_ago_has_faded(self, tmp_path):
        path = table_file(tmp_path, NOW - timedelta(days=5), np.full(24 * 2, 6.0))
        usual = usual_weather(VIENNA, NOW, 240, NOW, path)
        drawn = draw_members(usual, 400, 3, NOW)
        # three days on a quarter is left, and some of it is taken for the place
        assert 1.0 < departures(drawn)[:, 0].mean() < 3.2
        assert drawn.tables.shape == (400, 241, 6)
        assert drawn.measured_until == NOW - timedelta(days=3, hours=1)


class TestForecast:
    """Runs follow a forecast, the less the farther ahead."""

    def test_the_mean_follows_and_the_spread_grows(self):
        usual = usual_weather(VIENNA, NOW, 24 * 20, NOW)
        drawn = draw_members(usual, 500, 2, NOW, foretold(6.0))
        mean, spread = departures(drawn).mean(axis=0), departures(drawn).std(axis=0)
        weight, _ = forecast_error(24.0 * np.arange(14.0))
        climate = departures(draw_members(usual, 500, 2, NOW)).std(axis=0)
        np.testing.assert_allclose(mean[: 24 * 14 : 24], 6.0 * weight, atol=0.8)
        assert 1.2 < spread[0] < 2.0
        assert np.all(np.diff([spread[24 * day] for day in (0, 2, 4, 7, 10)]) > 0.0)
        assert spread[24 * 13] == pytest.approx(climate[24 * 13], rel=0.12)
        assert spread[24 * 19] == pytest.approx(climate[24 * 19], rel=0.05)
        assert abs(mean[24 * 19]) < 1.0
        assert drawn.foretold_until == NOW + timedelta(days=14)

    @pytest.mark.parametrize("day_to_day", [2.5, 3.0, 3.5])
    def test_errors_are_those_of_published_verification(self, day_to_day):
        """Root mean square 1.5 to 2 K a day ahead, the climate's by day 10 to 14; from memory."""
        usual = usual_weather(VIENNA, NOW, FORTNIGHT, NOW)
        usual = replace(usual, spread=replace(usual.spread, day_to_day_kelvin=day_to_day))
        spread = departures(draw_members(usual, 600, 2, NOW, foretold(0.0))).std(axis=0)
        assert 1.4 < spread[12:36].mean() < 2.0
        _, share = hourly_process(usual.spread.memory)
        climate = np.sqrt(day_to_day**2 / share + usual.place_kelvin**2)
        assert spread[24 * 10 : 24 * 11].mean() > 0.85 * climate
        assert spread[24 * 13 :].mean() == pytest.approx(climate, rel=0.1)

    def test_an_old_forecast_counts_for_less(self):
        usual = usual_weather(VIENNA, NOW, 48, NOW)
        fresh = departures(draw_members(usual, 400, 2, NOW, foretold(6.0)))
        old = departures(draw_members(usual, 400, 2, NOW, foretold(6.0, NOW - timedelta(days=4))))
        assert old[:, 0].std() > 1.3 * fresh[:, 0].std()
        assert old[:, 0].mean() < fresh[:, 0].mean() - 1.0

    def test_days_follow_its_rain_the_sooner_the_more(self):
        hours = FORTNIGHT + 1
        rain = np.full(hours, 0.5)
        told = foretold(0.0, rain_rate=rain, wind_speed=np.full(hours, 9.0))
        usual = usual_weather(VIENNA, NOW, FORTNIGHT, NOW)
        drawn = draw_members(usual, 400, 2, NOW, told)
        # where a day follows, it rains at every hour
        follows = np.mean(drawn.tables[:, :, 3] > 0.0, axis=0)
        assert follows[24] > 0.85
        assert follows[24 * 13] < 0.5
        assert np.all(np.diff(follows[12::48]) < 0.1)
        there = drawn.tables[:, 24:36, 2]
        assert np.median(there) == pytest.approx(9.0, rel=0.1)
        assert there.std() > 0.5
        # what it does not hold is drawn as ever
        plain = draw_members(usual, 400, 2, NOW)
        np.testing.assert_array_equal(drawn.tables[:, :, 4], plain.tables[:, :, 4])

    def test_measured_weather_passes_over_into_it(self, tmp_path):
        path = table_file(tmp_path, NOW - timedelta(days=10), np.full(24 * 10 + 1, -2.0))
        usual = usual_weather(VIENNA, NOW - timedelta(days=1), FORTNIGHT, NOW, path)
        drawn = draw_members(usual, 400, 2, NOW, foretold(5.0))
        mean, spread = departures(drawn).mean(axis=0), departures(drawn).std(axis=0)
        assert mean[24] == pytest.approx(-2.0, abs=0.1)
        assert spread[24] < 0.4 < spread[30] < spread[48] < 2.2
        assert -2.0 < mean[30] < mean[48] < mean[72]
        weight, _ = forecast_error(48.0)
        assert mean[72] == pytest.approx(5.0 * weight, abs=0.6)

    def test_one_that_begins_later_or_lies_outside(self):
        usual = usual_weather(VIENNA, NOW, 72, NOW)
        late = replace(foretold(6.0), start=NOW + timedelta(days=2))
        drawn = draw_members(usual, 300, 2, NOW, late)
        mean = departures(drawn).mean(axis=0)
        assert mean[60] > mean[30] > mean[0]
        gone = replace(foretold(6.0), start=NOW - timedelta(days=60))
        outside = draw_members(usual, 3, 2, NOW, gone)
        assert outside.foretold_until is None
        np.testing.assert_array_equal(outside.tables, draw_members(usual, 3, 2, NOW).tables)


def test_the_law_of_errors_is_the_logistic_one():
    """Solved step by step from dE/dt = a E (1 - E); weight and error make one."""
    solved = integrate.solve_ivp(
        lambda _, error: 0.35 * error * (1.0 - error), (0.0, 14.0), [0.275], rtol=1e-9, atol=1e-12,
        t_eval=np.arange(15.0),
    )  # fmt: skip
    weight, error = forecast_error(24.0 * np.arange(15.0))
    np.testing.assert_allclose(error, solved.y[0], rtol=1e-6)
    np.testing.assert_allclose(weight**2 + error**2, 1.0)
    assert forecast_error(-5.0) == forecast_error(0.0)


@pytest.mark.parametrize("memory", [0.3, 0.74, 0.9])
def test_daily_means_of_the_process_have_the_memory_wanted(memory):
    """By quadrature of the covariance e^(-k |t - s|) over one day and over two."""
    rate, share = hourly_process(memory)

    def covariance(shift: float) -> float:
        inner = integrate.dblquad(
            lambda s, t: np.exp(-rate * abs(t + shift - s)), 0.0, 1.0, 0.0, lambda t: t
        )[0]
        return (
            inner
            + integrate.dblquad(
                lambda s, t: np.exp(-rate * abs(t + shift - s)), 0.0, 1.0, lambda t: t, 1.0
            )[0]
        )

    assert covariance(0.0) == pytest.approx(share, rel=1e-6)
    assert covariance(1.0) / covariance(0.0) == pytest.approx(memory, rel=1e-6)


class TestTypicalYear:
    """The one year of an EPW or TMY3 file: its mean is usual, its days are drawn."""

    year = read_typical_year(STATION)

    def test_mean_year_and_spread_are_those_of_the_file(self):
        mean, spread = mean_of_typical_year(self.year)
        name = "temperature_celsius"
        assert mean.values[name].mean() == pytest.approx(self.year.values[name].mean(), abs=0.05)
        assert mean.values["irradiance_w_per_m2"].min() >= 0.0
        days = (self.year.values[name] - mean.values[name]).reshape(-1, 24).mean(axis=1)
        # neighbouring days of the mean year hardly differ, those of the file by degrees
        assert np.abs(np.diff(mean.values[name].reshape(-1, 24).mean(axis=1))).max() < 0.3
        assert spread.day_to_day_kelvin == pytest.approx(days.std())
        assert spread.memory == pytest.approx(np.corrcoef(days[1:], days[:-1])[0, 1], abs=0.03)
        assert 3.0 < spread.day_to_day_kelvin < 6.0
        assert 0.5 < spread.memory < 0.8

    def test_a_site_with_such_a_file(self):
        site = Site("Yard", "America/New_York", DRUM)
        usual = usual_weather(site, NOW, 24 * 30, NOW, STATION)
        assert usual.latitude_degrees == pytest.approx(36.1)
        assert usual.place_kelvin == FILE_PLACE_KELVIN
        assert usual.measured is None
        days = departures(draw_members(usual, 300, 4, NOW))[:, :720].reshape(300, 30, 24)
        wanted = np.hypot(usual.spread.day_to_day_kelvin, FILE_PLACE_KELVIN)
        assert days.mean(axis=2).std() == pytest.approx(wanted, rel=0.07)


def test_air_that_is_stated_constant_stays_so():
    site = replace(VIENNA, weather=WeatherSetting("constant", 12.0))
    drawn = draw_members(usual_weather(site, NOW, 48, NOW), 3, 1, NOW)
    assert np.all(drawn.tables[:, :, 0] == 12.0)
    np.testing.assert_array_equal(drawn.tables[0], drawn.tables[2])


def test_what_is_usual_by_what_the_site_says(tmp_path):
    nowhere = Site("Yard", "Europe/Vienna", DRUM)
    unsaid = usual_weather(nowhere, NOW, 48, NOW)
    assert unsaid.place_kelvin == UNSAID_PLACE_KELVIN
    assert "mild inland year is assumed" in unsaid.normal.assumptions[0]
    # a drawn year of the setting is not what is usual
    seasonal = replace(nowhere, weather=WeatherSetting("seasonal", 9.0, 20.0, 8.0, seed=4,
                                                       noise_kelvin=2.0))  # fmt: skip
    usual = usual_weather(seasonal, NOW, 48, NOW)
    assert usual.spread.day_to_day_kelvin == 2.0
    again = usual_weather(
        replace(seasonal, weather=replace(seasonal.weather, seed=5)), NOW, 48, NOW
    )
    np.testing.assert_array_equal(
        usual.normal.temperature_celsius, again.normal.temperature_celsius
    )
    town = replace(nowhere, weather=WeatherSetting("grid", town="Nairobi"))
    assert site_coordinates(town, NOW)[0] == pytest.approx(-1.28, abs=0.1)
    assert usual_weather(town, NOW, 48, NOW).spread.day_to_day_kelvin < 2.0
    assert site_coordinates(nowhere, NOW) == (48.0, 15.0)
    # a table without a place
    path = table_file(tmp_path, NOW - timedelta(days=3), np.zeros(73))
    named = replace(nowhere, weather=WeatherSetting("file", file="weather.csv", rain="wet"))
    found = usual_weather(named, NOW, 48, NOW, path)
    assert "does not say where it is" in found.normal.assumptions[0]
    assert any("1300 mm" in one for one in found.normal.assumptions)
    assert found.measured_names == {"temperature_celsius"}
    ocean = replace(nowhere, latitude_degrees=30.0, longitude_degrees=-45.0)
    assert usual_weather(ocean, NOW, 48, NOW).place_kelvin == UNSAID_PLACE_KELVIN


def test_a_place_by_the_grid_is_that_of_a_site_there():
    place = usual_at_place(48.2, 16.4, NOW, 48)
    site = usual_weather(VIENNA, NOW, 48, NOW)
    np.testing.assert_array_equal(place.normal.temperature_celsius, site.normal.temperature_celsius)
    assert (place.spread, place.place_kelvin) == (site.spread, site.place_kelvin)
    with pytest.raises(OutOfReach, match="km from"):
        usual_at_place(30.0, -45.0, NOW, 48)


def test_assumptions_are_sentences(tmp_path):
    path = table_file(tmp_path, NOW - timedelta(days=3), np.zeros(73))
    usual = usual_weather(VIENNA, NOW, 48, NOW, path)
    said = draw_members(usual, 2, 1, NOW, foretold(1.0)).assumptions
    for one in said:
        assert one[0].isupper()
        assert one.endswith(".")
    assert any("counts as measured" in one for one in said)
    assert any("follow the forecast of here" in one for one in said)


def test_refusals():
    usual = usual_weather(VIENNA, NOW, 48, NOW)
    with pytest.raises(InvalidInput, match="members is 0; allowed is 1 to 10000"):
        draw_members(usual, 0, 1, NOW)
    with pytest.raises(InvalidInput, match="seed is -1"):
        draw_members(usual, 1, -1, NOW)
    with pytest.raises(InvalidInput, match=r"now is .* without an offset"):
        draw_members(usual, 1, 1, datetime(2026, 3, 1))
    with pytest.raises(InvalidInput, match=r"start is .* without an offset"):
        usual_weather(VIENNA, datetime(2026, 3, 1), 48, NOW)
    with pytest.raises(InvalidInput, match="hours is 0 h; allowed is 1 to 90000 h"):
        usual_weather(VIENNA, NOW, 0, NOW)
