"""Complaints: ranked by clues, one check, sourced."""

import re
from pathlib import Path

import pytest
from conditions import WELL, bin_like, cool, layers, near
from hypothesis import given
from hypothesis import strategies as st

import slowfire
from slowfire.advise.causes import CLUES, COMPLAINTS, SMELLS, causes, clues_of, ranked_causes
from slowfire.advise.condition import Looks
from slowfire.advise.rules import PLAIN_SOURCES
from slowfire.errors import UnknownName


def first(complaint, state, **more):
    return ranked_causes(complaint, clues_of(state, **more)).likely[0].cause.words


@pytest.mark.parametrize("complaint", [*COMPLAINTS, *SMELLS])
def test_every_complaint_has_causes_a_check_and_shares_that_add_up(complaint):
    ranked = ranked_causes(complaint, clues_of(WELL))
    assert len(ranked.likely) >= 2
    assert sum(one.share for one in ranked.likely) == pytest.approx(1.0)
    assert ranked.check
    assert ranked.then


def test_every_cause_is_sourced_and_asks_for_one_thing():
    path = Path(slowfire.__file__).parent / "sources.bib"
    keys = set(re.findall(r"^@\w+\{(\w+),", path.read_text("utf-8"), re.M))
    for one in causes():
        assert one.source in keys or one.source in PLAIN_SOURCES, one.words
        if one.source == PLAIN_SOURCES[0]:
            assert one.confidence == "common practice"
        assert one.raised_by, one.words
        assert ". " not in one.check


def test_every_clue_is_used():
    used = {clue for one in causes() for clue in (*one.raised_by, *one.lowered_by)}
    assert used == set(CLUES)
    assert set(clues_of(WELL)) == set(CLUES)


def test_cold_is_put_down_to_what_the_bin_shows():
    hungry = cool(14.0, fed_percent_a_week=1.0, read=frozenset())
    assert first("cold", hungry) == "Too little fresh food for what lies there"
    wet = bin_like(hottest=near(15.0), slices=layers(15.0, 80.0, 1.0), cold_airless=0.9)
    assert first("cold", wet) == "It is wet and airless inside"
    dry = bin_like(hottest=near(15.0), slices=layers(15.0, 30.0), read=frozenset())
    assert first("cold", dry) == "It is too dry to work"
    assert "lid" in first("cold", WELL)


def test_a_hand_in_it_knows_more_than_the_estimate():
    felt = bin_like(slices=layers(moisture=30.0), looks=Looks(squeeze="trickle"))
    clues = clues_of(felt)
    assert (clues["wet"], clues["dry"]) == (1.0, 0.0)


def test_a_nest_goes_before_bait_in_a_dry_heap():
    dry = bin_like(slices=layers(moisture=30.0))
    assert "dry and undisturbed" in first("rats or mice", dry)
    assert "way in" in first("rats or mice", bin_like(looks=Looks(fault="door")))


def test_rats_come_with_the_caution_on_leptospirosis():
    caution = ranked_causes("rats or mice", {}).caution
    assert "leptospirosis" in caution
    assert "doctor" in caution


def test_any_smell_is_meant_by_smells():
    ranked = ranked_causes("Smells ", clues_of(WELL))
    assert {one.cause.complaint for one in ranked.likely} == set(SMELLS)


def test_an_unknown_complaint_is_refused_with_those_that_are_known():
    with pytest.raises(UnknownName, match="rats or mice"):
        ranked_causes("sad", {})


@given(st.sampled_from([*COMPLAINTS, *SMELLS]), st.sampled_from(CLUES))
def test_a_clue_moves_only_the_causes_that_name_it_for_it(complaint, clue):
    before = {one.cause.words: one.share for one in ranked_causes(complaint, {}).likely}
    after = ranked_causes(complaint, {clue: 1.0}).likely
    named = {one.cause.words for one in after if clue in one.cause.raised_by}
    if named and len(named) < len(after):
        assert sum(one.share for one in after if one.cause.words in named) > sum(
            before[words] for words in named
        )


def test_ammonia_after_a_fresh_load_is_put_down_to_the_load():
    grass = bin_like(hottest=near(60.0), slices=layers(60.0, 50.0))
    assert "food or grass" in first("ammonia", grass, days_since_load=1.0)


def test_flies_do_not_breed_in_frost_nor_in_heat():
    for celsius, chance in ((2.0, 0.0), (25.0, 1.0), (50.0, 0.0)):
        assert clues_of(bin_like(slices=layers(celsius)))["cold_top"] == pytest.approx(chance)


def test_a_vent_that_is_a_crack_does_not_dry_a_bin():
    dry = bin_like(slices=layers(moisture=30.0))
    assert "vent" not in first("dry", dry)
    assert "vent" in first("dry", bin_like(slices=layers(moisture=30.0), vent="open"))
