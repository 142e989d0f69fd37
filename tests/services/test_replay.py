"""The shipped example, replayed; and replays that cannot be."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from slowfire.errors import SlowfireError
from slowfire.journal import read_journal
from slowfire.services.replay import parse_at, replay, replay_at, result_of, temperature_at
from slowfire.services.section_words import (
    bands,
    reading_sentences,
    section_lines,
    summary_lines,
)

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "courtyard"


@pytest.fixture(scope="module")
def timber():
    return replay(EXAMPLE, "Timber bin")


def test_books_close_over_a_year(timber):
    assert timber.balance_error_relative < 1e-6


def test_section_is_ordered_and_bounded(timber):
    heights = [layer.height_cm for layer in timber.layers]
    assert heights == sorted(heights)
    assert heights[0] == 0.0
    top = timber.layers[-1]
    surface = timber.bin_height_cm - timber.fill_cm_below_rim
    assert top.height_cm + top.thickness_cm == pytest.approx(surface, abs=1e-6)
    for layer in timber.layers:
        assert 0.0 <= layer.moisture_percent <= 100.0
        assert 0.0 <= layer.oxygen_percent <= 21.0
        assert 0.0 < layer.free_air_space_percent < 100.0
        assert layer.age_days >= 0.0


def test_last_readings_stand_beside_the_simulation(timber):
    assert timber.readings
    for row in timber.readings:
        assert row.simulated_celsius is not None


def test_readings_come_from_a_truth_that_differs(timber):
    # invented data: the example's hidden truth has other rates, so the two must not agree exactly
    gaps = [abs(row.read_celsius - (row.simulated_celsius or 0.0)) for row in timber.readings]
    assert 0.0 < max(gaps) < 25.0


def test_an_earlier_date_shows_an_earlier_bin(timber):
    earlier = replay(EXAMPLE, "timber BIN", "2026-01-15")
    assert earlier.bin == "Timber bin"
    assert earlier.at.startswith("2026-01-15T12:00")
    assert max(layer.age_days for layer in earlier.layers) < 80.0
    assert earlier.layers != timber.layers


def test_liquid_adds_up_over_the_year():
    winter = replay(EXAMPLE, "Drum", "2026-01-15").liquid_litres_total
    autumn = replay(EXAMPLE, "Drum").liquid_litres_total
    assert 0.0 < winter < autumn


def test_a_bin_with_a_stocktake_starts_at_its_level():
    drum = replay(EXAMPLE, "Drum", "2025-11-01 09:30")
    assert drum.fill_cm_below_rim == pytest.approx(35.0, abs=4.0)


def test_progress_rises_to_the_end():
    seen = []
    replay(EXAMPLE, "Timber bin", "2025-12-01", progress=seen.append)
    assert seen == sorted(seen)
    assert 0.0 <= seen[0] < seen[-1] <= 1.0


def test_same_replay_twice_is_the_same(timber):
    assert replay(EXAMPLE, "Timber bin") == timber


def test_replay_at_gives_the_bin_itself():
    column = replay_at(EXAMPLE, "Timber bin", "2025-12-24")[1].column
    section = column.section()
    found = temperature_at(section, 0.5 * section.fill_height)
    assert found is not None
    assert temperature_at(section, -1.0) is None


@pytest.mark.parametrize(
    ("bin_name", "at", "message"),
    [
        ("Cellar", None, "Timber bin, Drum"),
        ("Drum", "2025-10-01", "allowed is 2025-11-01"),
        ("Drum", "2099-01-01", "allowed is 2025-11-01"),
        ("Drum", "next week", "2026-03-12"),
    ],
)
def test_what_cannot_be_replayed_says_why(bin_name, at, message):
    with pytest.raises(SlowfireError, match=message):
        replay(EXAMPLE, bin_name, at)


def test_a_date_alone_is_noon_on_the_site_clock():
    journal = read_journal(EXAMPLE)
    assert parse_at("2026-07-01", journal).isoformat() == "2026-07-01T12:00:00+02:00"
    assert parse_at("2026-07-01 08:30", journal).hour == 8


def test_readings_keep_the_time_on_the_clock_of_the_place():
    drum = replay(EXAMPLE, "Drum", "2026-07-12")
    assert {row.when[-5:] for row in drum.readings} <= {"17:30", "17:31"}


def test_text_follows_the_units_of_the_site(timber):
    metric = [*summary_lines(timber), *section_lines(timber), *reading_sentences(timber)]
    american = replace(timber, units="us")
    us = [*summary_lines(american), *section_lines(american), *reading_sentences(american)]
    assert any("°C" in line for line in metric)
    assert not any("°F" in line for line in metric)
    assert not any("°C" in line or " cm)" in line for line in us)
    assert any("°F" in line for line in us)


def test_bands_cover_the_stack_and_fit_a_phone(timber):
    found = bands(timber.layers)
    assert found[0].from_cm == 0.0
    for lower, upper in pairwise(found):
        assert upper.from_cm == pytest.approx(lower.to_cm, abs=1e-6)
    assert len(found) <= 12
    assert max(len(line) for line in section_lines(timber)) <= 72


def test_an_empty_bin_has_a_section_too(timber):
    lines = section_lines(replace(timber, layers=()))
    assert "  nothing in the bin" in lines


def test_a_tub_holds_no_more_than_it_can():
    _, wet = replay_at(EXAMPLE, "Drum", "2025-11-19")
    free = result_of(wet, "Drum")
    assert free.tub_litres > 0.2
    assert free.tub_over_litres == 0.0
    small = result_of(wet, "Drum", tub_holds_litres=0.1)
    assert small.tub_litres == 0.1
    assert small.tub_over_litres == pytest.approx(free.tub_litres - 0.1)
    assert "run over since it was emptied" in "\n".join(summary_lines(small))
    assert "run over" not in "\n".join(summary_lines(free))
