"""Drawings: well-formed, true to the numbers, words never over one another."""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slowfire.journal.store import open_store
from slowfire.services.example import fill_example
from slowfire.services.inside import InsideResult
from slowfire.services.inside_series import InsideSeries
from slowfire.services.kept_results import result_of
from slowfire.services.today import Mark, TodayResult, Zone, today
from slowfire.web import drawing, pictures


def bin_of(zones, marks=(), height=90.0, tub=0.4):
    fill = max((one.to_cm for one in zones), default=0.0)
    return TodayResult(
        "Bin <1>", "2026-03-14T18:00+01:00", "°C", "", "", "", "", "", "", "nothing", (),
        "12 to 14 °C in the air under the lid", "vent: crack", "8 °C outside", tuple(zones),
        tuple(marks), height, fill, "", "tub about 40 % full", "", "", tub, (),
    )  # fmt: skip


def zones_of(thick):
    found, base = [], 0.0
    for k, one in enumerate(thick):
        zone = Zone(base, base + one, "warm", 30, 38, 44, 60, "Jan & Feb", k % 2 == 0)
        found.append(zone)
        base += one
    return found


def texts(svg):
    tree = ET.fromstring(svg)
    return [
        (float(one.get("x")), float(one.get("y")), one.get("class"), "".join(one.itertext()))
        for one in tree.iter()
        if one.tag.endswith("text")
    ]


@settings(max_examples=60)
@given(st.lists(st.floats(0.5, 40.0), min_size=0, max_size=5))
def test_words_of_zones_never_lie_over_one_another(thick):
    total = sum(thick) or 1.0
    zones = zones_of([one * 85.0 / max(total, 85.0) for one in thick])
    svg = drawing.section_drawing(bin_of(zones), 50.0)
    rows = sorted(y for x, y, kind, _ in texts(svg) if kind == "label")
    assert len(rows) == len(zones)
    assert all(b - a >= 30.0 for a, b in pairwise(rows))
    assert all(y > 0.0 for y in rows)


def test_the_section_is_true_to_its_proportions():
    svg = drawing.section_drawing(bin_of(zones_of([45.0])), 60.0)
    tree = ET.fromstring(svg)
    air = next(one for one in tree.iter() if one.get("class") == "bin-air")
    zone = next(one for one in tree.iter() if (one.get("class") or "").startswith("zone"))
    assert float(air.get("height")) / float(air.get("width")) == pytest.approx(1.5, rel=0.01)
    assert float(zone.get("height")) / float(air.get("height")) == pytest.approx(0.5, rel=0.01)


def test_nothing_is_tinted_that_was_not_read():
    svg = drawing.section_drawing(bin_of(zones_of([20.0, 20.0])), 50.0)
    assert svg.count("zone tint-3") == 1
    assert svg.count("zone hatched") == 1


def test_names_are_escaped_and_nothing_runs():
    marks = [Mark("probe", "51 °C", "Sat", 20.0), Mark("dial", "12 °C", "Sat", None)]
    svg = drawing.section_drawing(bin_of(zones_of([40.0]), marks), 50.0)
    assert "Bin &lt;1&gt;" in svg
    assert "style=" not in svg
    assert "<script" not in svg
    assert "51 °C, Sat" in "".join(text for *_, text in texts(svg))


def test_an_empty_bin_is_drawn():
    svg = drawing.section_drawing(bin_of([], tub=None), 50.0)
    assert "The bin is empty." in svg
    ET.fromstring(svg)


@pytest.mark.parametrize("given", [(None, None, None), (60.0, 90.0, 6.0), (400.0, 20.0, 0.0)])
def test_the_set_up_drawing_takes_what_is_known(given):
    svg = drawing.setup_drawing(*given, False)
    ET.fromstring(svg)
    assert ("width?" in svg) == (given[0] is None)


@pytest.fixture(scope="module")
def example(tmp_path_factory):
    with fill_example(tmp_path_factory.mktemp("example")) as store:
        name = store.site().bins[0].name
        yield (
            store.site(),
            store.entries(),
            result_of(InsideResult, store.result("inside", name).payload),
            result_of(InsideSeries, store.result("series", name).payload),
        )


def celsius(value):
    return f"{round(value)} °C"


def test_the_example_opens_with_its_estimates(example):
    site, entries, inside, series = example
    now = max(one.when for one in entries)
    seen = today(site, entries, inside, now)
    assert seen.headline
    assert seen.zones
    assert len(series.times) == len(series.hottest_mid)
    assert len(series.centre) == len(series.heights_cm)


def test_pictures_are_well_formed_and_small(example):
    series = example[3]
    for svg in (
        pictures.depth_time_picture(series, celsius),
        pictures.band_picture(series, celsius),
        pictures.scale_legend(celsius),
    ):
        ET.fromstring(svg)
        assert "style=" not in svg
        assert len(svg) < 60_000


def test_bands_hold_their_middles_and_the_table_says_the_same(example):
    series = example[3]
    for low, mid, high in zip(
        series.hottest_low, series.hottest_mid, series.hottest_high, strict=True
    ):
        assert low <= mid <= high
    rows = pictures.table_rows(series, celsius)
    first = re.match(r"(-?\d+) to (-?\d+) °C", rows[0][1])
    assert int(first[1]) == round(series.hottest_low[0])
    assert int(first[2]) == round(series.hottest_high[0])


def test_the_example_is_copied_once(tmp_path):
    with fill_example(tmp_path) as store:
        before = store.revision()
    with open_store(tmp_path) as store:
        assert store.revision() == before
    with fill_example(tmp_path) as store:
        assert store.revision() == before
