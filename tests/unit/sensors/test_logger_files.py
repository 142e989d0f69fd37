"""Files of loggers: layouts are guessed, doubts are asked about, errors name line and column."""

import pytest

from slowfire.errors import InvalidInput, JournalError
from slowfire.sensors.logger import (
    guess,
    mapping_of,
    mapping_text,
    mapping_words,
    read,
    text_of,
)

ZONE = "Europe/Vienna"


def values(text, zone=ZONE, **more):
    mapping = guess(text, zone, **more)
    assert mapping_of(mapping_text(mapping)) == mapping
    return [
        (one.channel, one.when.isoformat()[:16], round(one.si, 3))
        for one in read(text, mapping, "logger", "file.csv")
    ]


def test_commas_points_and_iso_times():
    text = "Time,Core (°C),Lid (°C)\n2026-03-02 10:00:00,41.5,12\n2026-03-02T10:15,41.6,\n"
    assert values(text) == [
        ("Core", "2026-03-02T09:00", 41.5),
        ("Lid", "2026-03-02T09:00", 12.0),
        ("Core", "2026-03-02T09:15", 41.6),
    ]


def test_semicolons_decimal_commas_and_days_first():
    text = (
        "Nr;Datum;Uhrzeit;Kern [°C];Feuchte [%]\n1;31.12.2025;23:45;41,5;80\n"
        "2;1.1.2026;0:00;41,25;81\n"
    )
    assert values(text) == [
        ("Kern", "2025-12-31T22:45", 41.5),
        ("Feuchte", "2025-12-31T22:45", 80.0),
        ("Kern", "2025-12-31T23:00", 41.25),
        ("Feuchte", "2025-12-31T23:00", 81.0),
    ]


def test_tabs_fahrenheit_and_a_clock_of_twelve_hours():
    text = (
        "Plot title: yard\n\nDate\tTemp, °F\n03/14/26 12:05:00 AM\t131.0\n"
        "03/14/26 01:05:00 PM\t32\n"
    )
    assert [one[1:] for one in values(text, "UTC")] == [
        ("2026-03-14T00:05", 55.0),
        ("2026-03-14T13:05", 0.0),
    ]


def test_seconds_and_no_headings():
    assert values("1772442000,41.5\n1772442060,41.6\n", unit="C") == [
        ("1", "2026-03-02T09:00", 41.5),
        ("1", "2026-03-02T09:01", 41.6),
    ]


def test_offsets_in_the_file_count_more_than_the_zone():
    text = "when,t C\n2026-03-02T10:00:00+05:00,1\n2026-03-02T10:00:00Z,2\n"
    assert [one[1] for one in values(text)] == ["2026-03-02T05:00", "2026-03-02T10:00"]


def test_the_hour_met_twice_in_autumn():
    text = "when,t C\n" + "".join(
        f"2026-10-25 0{h}:{m},1\n"
        for h, m in [(2, "00"), (2, "30"), (2, "00"), (2, "30"), (3, "00")]
    )
    assert [one[1][11:] for one in values(text)] == ["00:00", "00:30", "01:00", "01:30", "02:00"]


def test_a_unit_nobody_says_is_asked_for():
    text = "when,core\n2026-03-02 10:00,41.5\n"
    with pytest.raises(InvalidInput, match=r"column 2 \(core\).*--unit"):
        guess(text, ZONE)
    assert values(text, unit="F")[0][2] == pytest.approx((41.5 - 32) / 1.8, abs=1e-3)


def test_an_order_of_dates_nobody_can_tell_is_asked_for():
    text = "when,core C\n03/02/2026 10:00,1\n04/02/2026 10:00,2\n"
    with pytest.raises(InvalidInput, match="--dates"):
        guess(text, ZONE)
    assert [one[1][:10] for one in values(text, order="day-first")] == ["2026-02-03", "2026-02-04"]
    assert [one[1][:10] for one in values(text, order="month-first")] == [
        "2026-03-02",
        "2026-04-02",
    ]
    shown = text + "13/02/2026 10:00,3\n"
    assert values(shown)[0][1][:10] == "2026-02-03"


def test_errors_name_line_and_column():
    text = "when;core C;lid C\n1.3.2026 10:00;41,5;1\n32.3.2026 10:00;1;2\n2.3.2026 10:00;hot;3\n"
    mapping = guess(text, ZONE)
    with pytest.raises(JournalError) as refused:
        read(text, mapping, "logger", "file.csv")
    words = str(refused.value)
    assert "file.csv, line 3, column 1" in words
    assert "file.csv, line 4, column 2 (core)" in words
    assert "'hot'" in words


def test_what_loggers_write_for_nothing_is_left_out():
    text = "when,core C\n2026-03-02 10:00,---\n2026-03-02 10:01,NaN\n2026-03-02 10:02,1.5\n"
    assert [one[2] for one in values(text)] == [1.5]


def test_two_columns_of_one_name_keep_apart():
    text = "when,t °C,t °C\n2026-03-02 10:00,1,2\n"
    assert [one[0] for one in values(text)] == ["t", "t 3"]


def test_a_file_with_another_layout_than_kept_is_refused():
    mapping = guess("when;core C\n1.3.2026 10:00;41,5\n", ZONE)
    with pytest.raises(JournalError, match="line 2, column 1"):
        read("when,core C\n2026-03-01 10:00,41.5\n", mapping, "logger", "file.csv")


@pytest.mark.parametrize("text", ["", "a\nb\n", "when,core C\n", "when,note\n2026-03-02 10:00,x\n"])
def test_files_without_times_or_values_are_refused(text):
    with pytest.raises(InvalidInput):
        guess(text, ZONE)


def test_the_layout_in_words():
    words = "\n".join(mapping_words(guess("when;core °F\n31.3.2026 10:00;41,5\n", ZONE)))
    for one in ("semicolon", "decimal comma", "day-first", "Europe/Vienna", "core", "in F"):
        assert one in words


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_letters_of_any_program(encoding):
    text = "when;core °F\n31.3.2026 18:30;131\n"
    read_back = text_of(text.encode(encoding), "log.csv")
    assert values(read_back)[0] == ("core", "2026-03-31T16:30", 55.0)


def test_what_is_no_text_is_refused():
    with pytest.raises(InvalidInput, match="no text"):
        text_of(b"PK\x03\x04\x00\x00\x81", "log.xlsx")
