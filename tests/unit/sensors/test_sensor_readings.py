"""From quarters of an hour to the reading of three hours, and its entry."""

from dataclasses import replace
from datetime import UTC, datetime
from uuid import UUID

from slowfire.quantities import Length, Position
from slowfire.sensors.readings import (
    QUARTER,
    WINDOW,
    Quarter,
    Source,
    reading_entry,
    said,
    window_reading,
    withdrawal,
)

DAY = 8 * WINDOW
NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
SOURCE = Source("north", "core", "Box", "probe", Position(Length(30, "cm")), "centre")


def quarters(*means):
    return [Quarter(DAY + k * QUARTER, mean, mean, mean, 15) for k, mean in enumerate(means)]


def test_the_middle_stands_for_a_quiet_window():
    when, celsius = window_reading(quarters(*(40.0 + 0.1 * k for k in range(12))))
    assert celsius == 40.5
    assert when.hour == 1


def test_a_peak_inside_the_window_is_read_at_its_time():
    when, celsius = window_reading(quarters(40, 41, 46, 43, 41, 40, 40, 40, 40, 40, 40, 40))
    assert (celsius, when.hour, when.minute) == (46.0, 0, 37)


def test_a_dip_inside_the_window_likewise():
    assert window_reading(quarters(40, 40, 40, 37, 40, 40, 40, 40, 40, 40, 40, 40))[1] == 37.0


def test_a_slope_is_no_peak():
    assert window_reading(quarters(*range(30, 42)))[1] == 35.0


def test_what_there_is_stands_for_a_window_with_gaps():
    assert window_reading(quarters(40.04)[:1])[1] == 40.0
    assert window_reading([]) is None


def test_the_entry_is_the_same_however_often_it_is_made():
    found = window_reading(quarters(*[40.0] * 12))
    first, again = (reading_entry(SOURCE, 0, found, recorded=NOW) for _ in range(2))
    assert first == again
    assert first.id.version == 5
    assert first.payload.temperature.temperature_celsius == 40.0
    assert (first.bin, first.payload.thermometer, first.payload.spot) == ("Box", "probe", "centre")
    assert "north, core" in first.note


def test_whatever_differs_gets_another_id():
    found = window_reading(quarters(*[40.0] * 12))
    when, celsius = found
    made = [
        reading_entry(SOURCE, 0, found),
        reading_entry(SOURCE, WINDOW, found),
        reading_entry(SOURCE, 0, (when, celsius + 0.1)),
        reading_entry(SOURCE, 0, found, corrects=UUID(int=5)),
        reading_entry(SOURCE, 0, found, after=UUID(int=5)),
        *(
            reading_entry(replace(SOURCE, **{name: "other"}), 0, found)
            for name in ("device", "channel", "bin", "thermometer")
        ),
        reading_entry(replace(SOURCE, spot="edge"), 0, found),
        reading_entry(replace(SOURCE, position=None), 0, found),
    ]
    assert len({one.id for one in made}) == len(made)
    assert said(SOURCE, found) != said(replace(SOURCE, position=None), found)


def test_a_withdrawal_names_what_it_takes_back():
    back = withdrawal(UUID(int=7), "Box", NOW, NOW)
    assert back.retracts
    assert back.corrects == UUID(int=7)
    assert back == withdrawal(UUID(int=7), "Box", NOW, NOW)
