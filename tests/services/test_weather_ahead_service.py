"""The fourteen days ahead: of a place, of a journal, with measured and foretold weather."""

import dataclasses
import json
import threading
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from slowfire.errors import InvalidInput, OutOfReach, UnknownName
from slowfire.journal import read_journal
from slowfire.services.weather_ahead import (
    default_cache_folder,
    site_forecast,
    weather_ahead,
)

NOW = datetime(2026, 3, 27, 15, 30, tzinfo=UTC)
SITE = """name = "Yard"
timezone = "Europe/Vienna"
latitude_degrees = 48.2
longitude_degrees = 16.4
[[bins]]
name = "Drum"
shape = "cylinder"
inside_diameter_cm = 50
inside_height_cm = 75
"""


@pytest.fixture(name="journal")
def journal_folder(tmp_path: Path) -> Path:
    folder = tmp_path / "journal"
    folder.mkdir()
    (folder / "site.toml").write_text(SITE)
    (folder / "entries.csv").write_text(
        "when,bin,kind,item,amount,unit\n2026-03-02 18:30,Drum,load,kitchen scraps,1,kg\n"
    )
    return folder


@pytest.fixture(name="service")
def warm_service():
    """A service on this machine that foretells 20 C for ten days; counts how often it is asked."""
    asked: list[str] = []

    class Answer(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            times = [(NOW + timedelta(hours=one)).isoformat() for one in range(-2, 240)]
            held = {"hourly": {"time": times, "temperature_celsius": [20.0] * len(times)}}
            body = json.dumps(held).encode()
            self.send_response(200)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Answer)
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/{{latitude}}/{{longitude}}", asked
    server.shutdown()
    server.server_close()
    thread.join()


def name_forecast(journal: Path, url: str) -> None:
    """Turn the forecast on."""
    (journal / "site.toml").write_text(
        f'{SITE}\n[weather]\nkind = "grid"\nforecast_url = "{url}"\n'
    )


def test_a_town_by_days():
    found = weather_ahead(town="Vienna", now=NOW)
    assert [one.date for one in found.days] == [
        (NOW + timedelta(days=one)).date().isoformat() for one in range(14)
    ]
    for one in found.days:
        assert one.coldest_celsius < one.low_celsius < one.middle_celsius
        assert one.middle_celsius < one.high_celsius < one.warmest_celsius
        assert one.low_celsius < one.usual_celsius < one.high_celsius
        assert 0.0 < one.rain_chance_percent < 60.0
    # rain comes to that of the year
    assert sum(one.rain_mm for one in found.days) == pytest.approx(750 / 365.25 * 14, rel=0.15)
    assert found.forecast_host is None
    assert found == weather_ahead(town="Vienna", now=NOW)


def test_days_are_those_of_the_clock_even_when_it_changes(journal):
    """Clocks go forward in the night to 29 March; each date stands once."""
    found = weather_ahead(journal, now=NOW)
    assert [one.date for one in found.days][:4] == [
        "2026-03-27", "2026-03-28", "2026-03-29", "2026-03-30",
    ]  # fmt: skip
    assert len({one.date for one in found.days}) == 14
    assert found.now == "2026-03-27T16:30+01:00"


def test_measured_hours_narrow_the_first_days(journal):
    rows = [f"{(NOW - timedelta(hours=one)).isoformat()},{12.0}" for one in range(24 * 20, -1, -1)]
    (journal / "weather.csv").write_text("\n".join(["when,temperature_celsius", *rows]) + "\n")
    found = weather_ahead(journal, now=NOW)
    assert found.measured_until is not None
    assert found.measured_until.startswith("2026-03-27T16:")
    widths = [one.high_celsius - one.low_celsius for one in found.days]
    assert widths[0] < 0.5 * widths[1] < 0.5 * widths[7]


def test_a_forecast_is_fetched_only_where_the_site_names_one(journal, service, tmp_path):
    url, asked = service
    folder = tmp_path / "cache"
    plain = weather_ahead(journal, now=NOW, cache_folder=folder)
    assert (asked, plain.forecast_host) == ([], None)
    assert not folder.exists()
    name_forecast(journal, url)
    found = weather_ahead(journal, now=NOW, cache_folder=folder)
    assert asked == ["/48.2/16.4"]
    assert found.forecast_host == "127.0.0.1"
    assert found.fetched_now
    assert found.forecast_age_hours == 0.0
    assert found.days[1].middle_celsius > plain.days[1].high_celsius
    assert found.days[1].high_celsius - found.days[1].low_celsius < (
        0.7 * (plain.days[1].high_celsius - plain.days[1].low_celsius)
    )
    later = weather_ahead(journal, now=NOW + timedelta(hours=3), cache_folder=folder)
    assert len(asked) == 1
    assert later.forecast_age_hours == pytest.approx(3.0)
    assert not later.fetched_now
    again = weather_ahead(journal, now=NOW + timedelta(hours=3), cache_folder=folder, ask_now=True)
    assert len(asked) == 2
    assert again.fetched_now


def test_without_network_the_usual_weather_is_taken_and_it_is_said(journal, tmp_path):
    plain = weather_ahead(journal, now=NOW)
    name_forecast(journal, "http://127.0.0.1:9/{latitude}/{longitude}")
    found = weather_ahead(journal, now=NOW, cache_folder=tmp_path, ask_now=True)
    assert found.days == plain.days
    assert found.assumptions[0].startswith("No forecast could be had from 127.0.0.1: ")
    answer = site_forecast(read_journal(journal).site, NOW, tmp_path)
    assert answer is not None
    assert answer.forecast is None


def test_a_site_without_a_forecast_has_none(journal):
    assert site_forecast(read_journal(journal).site, NOW) is None


def test_forecasts_are_kept_in_the_users_cache(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert default_cache_folder() == tmp_path / "slowfire" / "forecasts"
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setenv("HOME", str(tmp_path))
    assert default_cache_folder() == tmp_path / ".cache" / "slowfire" / "forecasts"


@pytest.mark.parametrize(
    ("arguments", "error", "said"),
    [
        ({}, InvalidInput, "Say where"),
        ({"latitude_degrees": 48.0}, InvalidInput, "Say where"),
        ({"town": "Vienna", "latitude_degrees": 48.0}, InvalidInput, "not both"),
        ({"town": "Vienna", "ask_now": True}, InvalidInput, "give --journal"),
        ({"town": "Springfield"}, UnknownName, "Springfield, IL"),
        ({"latitude_degrees": 30.0, "longitude_degrees": -45.0}, OutOfReach, "km from"),
        ({"town": "Vienna", "rain": "lots"}, InvalidInput, "dry, usual, wet"),
    ],
)
def test_what_is_refused(arguments, error, said):
    with pytest.raises(error, match=said):
        weather_ahead(**arguments)


def test_what_a_journal_says_itself_is_refused(journal):
    with pytest.raises(InvalidInput, match="own place"):
        weather_ahead(journal, "Vienna")
    with pytest.raises(InvalidInput, match="under \\[weather\\]"):
        weather_ahead(journal, rain="wet")
    with pytest.raises(InvalidInput, match=r"names no forecast; write forecast_url = "):
        weather_ahead(journal, ask_now=True)


def test_a_result_is_plain():
    """All of it goes to JSON."""
    for one in dataclasses.asdict(weather_ahead(town="Vienna", now=NOW)).values():
        assert isinstance(one, str | float | int | tuple | type(None))
