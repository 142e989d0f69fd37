"""The tub of every member: flow, rain, strength and days, against sums done by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from slowfire.column.positions import (
    L_LIQUID_OUT,
    L_MASS_DUG,
    L_MASS_LOADED,
    L_WATER_IN,
    N_BIN,
    N_LEDGER,
    TUB_NITROGEN,
    TUB_POTASSIUM,
    TUB_WATER,
)
from slowfire.services.inside_tub import ENDLESS_DAYS, dug_shares, tubs_of

DAYS = 14.0


def member(litres=0.0, potassium=0.0, nitrogen=0.0, loaded=0.0, dug=0.0):
    around, books = np.zeros(N_BIN), np.zeros(N_LEDGER)
    around[TUB_WATER], around[TUB_POTASSIUM] = litres, potassium
    around[TUB_NITROGEN] = nitrogen
    books[L_LIQUID_OUT], books[L_WATER_IN] = 3.0, 2.0
    books[L_MASS_LOADED], books[L_MASS_DUG] = loaded, dug
    return SimpleNamespace(bin_state=around, ledger=books)


def estimate(members, drained=0.0, rained=0.0, into_tub=0.0, begin=None):
    """Members after two weeks in which so much drained, rained in, and fell into the tub [L]."""
    later = [
        (one.bin_state[TUB_WATER] + drained + into_tub, 3.0 + drained, 2.0 + rained)
        for one in members
    ]
    return SimpleNamespace(
        found=SimpleNamespace(ensemble=SimpleNamespace(columns=members)),
        liquid_later=np.array(later),
        hour=100.0,
        days=(124.0, 100.0 + 24.0 * DAYS),
        record=SimpleNamespace(plan=SimpleNamespace(begin=begin)),
    )


def test_flow_and_days_of_a_steady_drip():
    """1.4 L in two weeks is 0.1 L a day, so the 4 L of room last 40 days."""
    found = tubs_of(estimate([member(2.0, 0.002)] * 10, drained=1.4), 6.0)
    assert found.weekly == pytest.approx(0.7)
    assert found.days == pytest.approx(40.0)
    assert found.rain == pytest.approx(0.0)
    assert found.ahead_days == DAYS


def test_strength_is_that_of_the_liquid_and_rain_halves_it():
    """2 g of potassium in 1 L: 51 mmol, half as much again, 7.7 mS/cm."""
    found = tubs_of(estimate([member(1.0, 0.002)] * 10, drained=0.2, rained=0.7, into_tub=0.3), 6.0)
    assert found.strength == pytest.approx(1.5 * 2.0 / 0.0391 / 10.0, rel=1e-9)
    assert found.rain == pytest.approx(1.0)
    assert found.thinned == pytest.approx(0.5 * found.strength)
    with_nitrogen = tubs_of(estimate([member(1.0, 0.002, 0.0005)] * 10), 6.0)
    assert (with_nitrogen.strength > found.strength).all()


def test_a_dry_fortnight_never_spills_and_a_full_tub_has_spilled():
    dry = tubs_of(estimate([member(2.0, 0.002)] * 10), 6.0)
    assert dry.days == pytest.approx(ENDLESS_DAYS)
    assert dry.weekly == pytest.approx(0.0)
    full = tubs_of(estimate([member(9.0, 0.002)] * 10, drained=1.0), 6.0)
    assert full.days == pytest.approx(0.0)


def test_no_size_no_day():
    assert tubs_of(estimate([member(2.0, 0.002)] * 10, drained=1.0), 0.0).days is None


def test_an_empty_tub_has_no_strength_and_few_wet_members_tell_none():
    empty = tubs_of(estimate([member()] * 20), 6.0)
    assert empty.strength is None
    assert empty.thinned is None
    assert empty.liquid_share == 0.0
    assert tubs_of(estimate([member()] * 19 + [member(1.0, 0.002)]), 6.0).strength is None
    some = tubs_of(estimate([member()] * 17 + [member(1.0, 0.002)] * 3), 6.0)
    assert np.isfinite(some.strength).sum() == 3
    assert some.liquid_share == pytest.approx(0.15)


def test_what_was_dug_over_what_went_in():
    assert dug_shares(estimate([member(loaded=179.7, dug=106.7)] * 4)) == pytest.approx(
        0.594, abs=0.001
    )
    assert dug_shares(estimate([member(loaded=100.0)] * 4)) is None
    assert dug_shares(estimate([member(loaded=100.0, dug=40.0)] * 4, begin=object())) is None
