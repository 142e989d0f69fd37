"""The first visit: two ways in, four questions, and what is refused."""

from datetime import UTC, datetime, timedelta

import pytest

from slowfire.journal.store import open_store
from slowfire.services.bin_setup import set_up
from slowfire.services.transfer import export_archive

GOOD = {
    "town": "Graz, Austria",
    "units": "metric",
    "size": "medium",
    "wall": "foam",
    "full": "empty",
    "caddy_litres": "6",
    "caddies_a_week": "2",
}


def test_who_has_no_bin_is_led_to_the_two_buttons(empty):
    browser, _ = empty
    for path in ("/", "/record", "/mix", "/inside", "/entries"):
        page = browser.get(path)
        assert page.status == 200
        assert "Set up my bin" in page.response.text
        assert "Look round an example" in page.response.text


def test_four_answers_make_a_bin_and_lead_to_the_first_load(empty):
    browser, store = empty
    page = browser.post("/setup", GOOD)
    assert page.status == 200
    assert page.text("h1") == "Put the first load in"
    site = store.site()
    assert site.bins[0].wall[0].material == "foam"
    assert site.measures["caddy"] == 6.0
    assert [one.kind for one in store.entries()] == ["vent"]


def test_a_bin_that_is_part_full_gets_a_stock_take(empty):
    browser, store = empty
    browser.post("/setup", GOOD | {"full": "part full", "level_cm": "25", "months": "8"})
    take = store.entries()[1].payload
    assert take.level.metres == pytest.approx(0.25)
    assert take.feed.number == 2.0


def test_inches_and_gallons(empty):
    browser, store = empty
    browser.post(
        "/setup", GOOD | {"units": "us", "width": "20", "height": "30", "caddy_litres": "1.5"}
    )
    record = store.site().bins[0]
    assert record.inside_width_cm == pytest.approx(50.8)
    assert store.site().measures["caddy"] == pytest.approx(5.678, abs=0.001)
    assert store.site().units == "us"


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("town", "Grazz", "Did you mean"),
        ("town", "", "town"),
        ("width", "wide", "write a number"),
        ("width", "4000", "allowed is 15 to 400 cm"),
        ("height", "1", "allowed is 20 to 300 cm"),
        ("caddy_litres", "500", "allowed is 0.5 to 60 L"),
        ("caddies_a_week", "-1", "allowed is 0 to 60"),
        ("wall", "straw", "allowed is foam"),
        ("size", "huge", "allowed is small"),
    ],
)
def test_a_refused_answer_says_why_and_keeps_what_was_typed(empty, field, value, says):
    browser, store = empty
    page = browser.post("/setup", GOOD | {field: value})
    assert page.status == 422
    assert says in page.text(f"#wrong-{field}")
    assert page.value("town") == (value if field == "town" else "Graz, Austria")
    if field not in ("wall", "size"):
        assert page.value(field) == value
    assert not store.has_site()


def test_a_level_below_the_floor_is_refused(empty):
    browser, _ = empty
    page = browser.post("/setup", GOOD | {"full": "part full", "level_cm": "120"})
    assert "allowed is 0 to 88 cm" in page.text("#wrong-level_cm")


def test_setting_up_twice_changes_nothing(empty):
    browser, store = empty
    browser.post("/setup", GOOD)
    before = store.revision()
    browser.post("/setup", GOOD | {"size": "large"})
    assert store.revision() == before


def test_towns_are_found_without_accents(empty):
    browser, _ = empty
    assert "Zürich, Switzerland" in browser.get("/towns?begin=zuri").response.json()


def test_the_drawing_follows_what_is_typed(empty):
    browser, _ = empty
    narrow = browser.get("/setup/drawing?width=30&height=90&wall=foam").response.text
    assert "30 cm width" in narrow
    assert "20 in" not in narrow
    assert browser.get("/setup/drawing?width=x").status == 200


def test_a_saved_file_is_brought_in_on_the_first_visit(empty, tmp_path, answers):
    browser, store = empty
    with open_store(tmp_path / "other") as other:
        site, entries = set_up(answers, datetime.now(UTC) - timedelta(days=3))
        other.set_site(site)
        other.append(entries)
        saved = tmp_path / "saved.zip"
        export_archive(other.folder, saved)
    bad = browser.client.post("/import", files={"archive": ("bad.zip", b"no zip at all")})
    assert bad.status_code == 422
    assert "I have a file saved from slowfire" in bad.text
    assert 'role="alert"' in bad.text
    content = saved.read_bytes()
    good = browser.client.post("/import", files={"archive": ("saved.zip", content)})
    assert good.status_code == 200
    assert store.site().bins[0].name == "Bin"
    assert len(store.entries()) == len(entries)
