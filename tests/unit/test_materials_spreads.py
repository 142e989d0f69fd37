import dataclasses
import statistics

import pytest

from slowfire.errors import InvalidInput, UnknownName
from slowfire.materials.library import load_library, spread
from slowfire.materials.packaged import packaged_rows
from slowfire.materials.spreads import Spread, load_published_spreads, load_spread_rules

LIBRARY = load_library()


def test_published_spread_holds_the_table_value():
    published = load_published_spreads()
    assert len(published) == 88
    for (material, quantity), found in published.items():
        assert found.low <= getattr(LIBRARY.find(material), quantity) <= found.high
        assert found.kind == "published"


def test_published_figures_are_those_of_the_table_of_ranges():
    found = spread(LIBRARY.find("grass_clippings_fresh"), "moisture_content_wet_basis")
    assert (found.low, found.high) == (pytest.approx(0.70), pytest.approx(0.86))
    found = spread(LIBRARY.find("corrugated_cardboard"), "c_to_n")
    assert (found.low, found.high) == (200.0, 560.0)
    assert "confidence fair" in found.source


def test_rule_widens_with_poorer_sources_and_stays_possible():
    for rule in load_spread_rules().values():
        widths = rule.half_widths
        assert widths["found"] <= widths["memory"] <= widths["estimate"], rule.quantity
    for item in LIBRARY.feedstocks:
        for quantity in load_spread_rules():
            if getattr(item, quantity) is None:
                continue
            found = LIBRARY.spread(item, quantity)
            assert 0.0 <= found.low <= getattr(item, quantity) <= found.high
            if load_spread_rules()[quantity].is_share:
                assert found.high <= 1.0


@pytest.mark.parametrize("kind", ["found", "memory"])
def test_rule_is_the_rounded_median_of_the_published_spreads(kind):
    halves = [
        (float(row["high"]) / float(row["low"])) ** 0.5 - 1.0
        for row in packaged_rows("spreads.csv")
        if row["quantity"] == "nitrogen_pct" and LIBRARY.find(row["id"]).source_kind == kind
    ]
    median = statistics.median(halves)
    assert median <= load_spread_rules()["nitrogen_content"].half_widths[kind] < median + 0.05


def test_rule_divides_and_multiplies():
    feathers = LIBRARY.find("feathers")
    found = LIBRARY.spread(feathers, "nitrogen_content")
    assert found.kind == "rule"
    assert found.low == pytest.approx(0.145 / 1.35)
    assert found.high == pytest.approx(0.145 * 1.35)


def test_unknown_quantity_or_missing_value():
    with pytest.raises(UnknownName, match="nitrogen_content"):
        LIBRARY.spread(LIBRARY.find("coffee"), "colour")
    with pytest.raises(InvalidInput, match="no value"):
        LIBRARY.spread(LIBRARY.find("coffee"), "particle_density")
    odd = dataclasses.replace(LIBRARY.find("feathers"), source_kind="hearsay")
    with pytest.raises(UnknownName, match="hearsay"):
        LIBRARY.spread(odd, "nitrogen_content")


def test_spread_must_rise():
    with pytest.raises(InvalidInput, match="low end"):
        Spread(2.0, 1.0, "own", "test")
