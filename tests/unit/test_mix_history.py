"""Habit and stock as a journal tells them."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from slowfire import records as r
from slowfire.journal import Journal
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.measures import default_measures
from slowfire.recipe.optimise import AtHand
from slowfire.services.mix_history import read_history

START = datetime(2026, 3, 2, 9, tzinfo=UTC)
SITE = r.Site(
    "Yard",
    "UTC",
    (
        r.Bin("Box", "cylinder", inside_diameter_cm=50, inside_height_cm=80),
        r.Bin("Other", "cylinder", inside_diameter_cm=50, inside_height_cm=80),
    ),
)
LIBRARY = load_library()


def entry(payload: r.Payload, days: float, bin_name: str = "Box") -> r.Entry:
    return r.Entry(uuid4(), bin_name, START + timedelta(days=days), payload)


def load(days: float, paper: float, bin_name: str = "Box") -> r.Entry:
    items = [r.LoadItem("peelings", r.Amount(10, "litre"))]
    if paper:
        items.append(r.LoadItem("shredded paper", r.Amount(paper, "litre"), "loose"))
    return entry(r.Load(tuple(items)), days, bin_name)


def history(*entries: r.Entry, days: float = 100.0):
    return read_history(
        Journal(SITE, tuple(entries)),
        "Box",
        LIBRARY,
        default_measures(),
        START + timedelta(days=days),
    )


def test_habit_is_the_median_share_of_the_last_loads():
    found = history(*(load(k, paper) for k, paper in enumerate([4.0, 5.0, 6.0, 20.0, 5.0])))
    assert found.ratios == {"office_paper_shredded": pytest.approx(0.5)}
    peelings = LIBRARY.find("peelings")
    usual = found.habit([Portion(peelings, 8.0, 20.0, None)], LIBRARY, 1.25)
    assert [(p.feedstock.id, p.litres) for p in usual] == [
        ("office_paper_shredded", pytest.approx(10.0))
    ]


def test_few_loads_or_another_bin_make_no_habit():
    assert history(load(0, 5.0), load(1, 5.0)).ratios == {}
    assert history(load(9, 0.0), *(load(k, 5.0, "Other") for k in range(5))).ratios == {}


def test_what_is_in_the_load_already_is_not_added_again():
    found = history(*(load(k, 5.0) for k in range(4)))
    paper = LIBRARY.find("shredded paper")
    mixed = [
        Portion(LIBRARY.find("peelings"), 4.0, 10.0, None),
        Portion(paper, 0.1, 2.0, "loose"),
    ]
    assert found.habit(mixed, LIBRARY, 1.25) == ()


def test_stock_falls_with_each_load_of_any_bin():
    counted = entry(r.Stock("shredded paper", r.Amount(30, "litre"), "bin", "counted"), 0.0)
    bought = entry(r.Stock("shredded paper", r.Amount(10, "litre"), "bin", "bought"), 3.5)
    found = history(
        counted, load(1, 5.0), load(2, 5.0, "Other"), load(3, 5.0), bought, load(4, 5.0)
    )
    assert found.stock_litres["office_paper_shredded"] == pytest.approx(20.0)


def test_a_later_count_starts_anew_and_stock_never_turns_negative():
    first = entry(r.Stock("shredded paper", r.Amount(4, "litre"), "bin", "counted"), 0.0)
    assert history(first, load(1, 5.0)).stock_litres["office_paper_shredded"] == 0.0
    again = entry(r.Stock("shredded paper", r.Amount(50, "litre"), "bin", "counted"), 5.0)
    found = history(first, load(1, 5.0), again, load(6, 5.0))
    assert found.stock_litres["office_paper_shredded"] == pytest.approx(45.0)


def test_stock_counts_only_up_to_the_time_asked():
    counted = entry(r.Stock("shredded paper", r.Amount(30, "litre"), "bin", "counted"), 0.0)
    found = history(counted, load(1, 5.0), load(8, 5.0), days=4.0)
    assert found.stock_litres["office_paper_shredded"] == pytest.approx(25.0)


def test_offers_are_limited_to_what_is_left_unless_an_amount_was_said():
    counted = entry(r.Stock("shredded paper", r.Amount(30, "litre"), "bin", "counted"), 0.0)
    paper = LIBRARY.find("shredded paper")
    found = history(counted, load(1, 5.0))
    limited, words = found.limited([AtHand(paper, "loose")])
    assert limited[0].stock_litres == pytest.approx(25.0)
    assert words == ["Office paper, shredded: 25 L left, by the journal."]
    said, words = found.limited([AtHand(paper, "loose", 3.0)])
    assert said[0].stock_litres == 3.0
    assert words == []


def test_habit_ends_with_the_stock():
    counted = entry(r.Stock("shredded paper", r.Amount(20, "litre"), "bin", "counted"), 0.0)
    loads = [load(k, 5.0) for k in range(1, 4)]
    peelings = [Portion(LIBRARY.find("peelings"), 8.0, 20.0, None)]
    found = history(counted, *loads)
    assert found.habit(peelings, LIBRARY, 1.25)[0].litres == pytest.approx(5.0)
    assert history(counted, *loads, load(4, 5.0)).habit(peelings, LIBRARY, 1.25) == ()
