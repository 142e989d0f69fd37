"""What is known of a bin is changed on the screen; wrong answers come back with a word beside."""

import io
import zipfile

import pytest


def form(browser, selector):
    tree = browser.get("/setup").tree
    typed = {}
    for one in tree.css(f"{selector} input, {selector} select"):
        attributes = one.attributes
        if attributes.get("type") == "radio" and "checked" not in attributes:
            continue
        value = attributes.get("value") or ""
        if one.tag == "select":
            chosen = one.css_first("option[selected]") or one.css_first("option")
            value = chosen.attributes.get("value") or chosen.text()
        typed[attributes["name"]] = value
    return typed


def test_a_form_sent_as_it_came_changes_nothing(ready):
    browser, store = ready
    before, revision = store.site(), store.revision()
    for part in ("bin", "place", "measures", "thermometers"):
        assert browser.post(f"/setup/{part}", form(browser, f"form#{part}")).status == 200
    assert store.site() == before
    assert store.revision() == revision


def test_a_bin_is_put_right(ready):
    browser, store = ready
    typed = form(browser, "form#bin") | {"wall": "timber 20 + wool 60", "tub_litres": "8,5"}
    page = browser.post("/setup/bin", typed)
    assert "Changed." in page.text("[role=status]")
    record = store.site().bins[0]
    assert [(one.material, one.thickness_mm) for one in record.wall] == [
        ("timber", 20.0),
        ("wool", 60.0),
    ]
    assert record.tub_litres == 8.5
    assert store.entries()[-1].kind != "setting"


def test_a_change_of_today_is_an_entry(ready):
    browser, store = ready
    before = store.site()
    typed = form(browser, "form#bin") | {"roofed": "yes", "since": "today"}
    browser.post("/setup/bin", typed)
    assert store.site() == before
    last = store.entries()[-1]
    assert (last.kind, last.payload.key, last.payload.to) == ("setting", "roofed", "yes")


@pytest.mark.parametrize(
    ("part", "field", "value", "says"),
    [
        ("bin", "inside_width_cm", "wide", "number"),
        ("bin", "inside_width_cm", "2000", "1000"),
        ("bin", "wall", "marble 20", "marble"),
        ("bin", "wall", "foam", "foam 60"),
        ("bin", "sun_share_percent", "140", "100"),
        ("bin", "door_height_cm", "400", "300"),
        ("place", "town", "Nowhereville", "Nowhereville"),
        ("place", "timezone", "Mars/Base", "Mars/Base"),
        ("measures", "litres0", "lots", "number"),
        ("measures", "litres0", "-2", "0.01"),
        ("thermometers", "depth0", "deep", "number"),
    ],
)
def test_a_wrong_answer_stays_with_a_word_beside_it(ready, part, field, value, says):
    browser, store = ready
    before = store.site()
    page = browser.post(f"/setup/{part}", form(browser, f"form#{part}") | {field: value})
    assert page.status == 422
    assert says in " ".join(one.text() for one in page.tree.css("[role=alert]"))
    assert store.site() == before


def test_the_door_is_measured_once(ready):
    browser, store = ready
    page = browser.get("/take-out")
    assert page.tree.css_first('[name="door"]').attributes["placeholder"] == "30"
    assert "Nobody measured the door" in page.response.text
    browser.post("/setup/bin", form(browser, "form#bin") | {"door_height_cm": "24"})
    assert store.site().bins[0].door_height_cm == 24.0
    browser.post(
        "/setup/bin", form(browser, "form#bin") | {"door_height_cm": "20", "since": "today"}
    )
    page = browser.get("/take-out")
    assert page.tree.css_first('[name="door"]').attributes["placeholder"] == "20"
    assert "Nobody measured the door" not in page.response.text


def test_own_measures_and_thermometers(ready):
    browser, store = ready
    typed = form(browser, "form#measures") | {"name2": "blue tub", "litres2": "12.5"}
    browser.post("/setup/measures", typed)
    assert store.site().measures["blue tub"] == 12.5
    typed = form(browser, "form#thermometers")
    typed |= {"name2": "spare dial", "kind2": "lid", "depth2": "", "bias2": "-1"}
    browser.post("/setup/thermometers", typed)
    assert store.site().thermometer_named("spare dial").bias_kelvin == -1.0


def test_american_units_are_turned_round(ready):
    browser, store = ready
    browser.post("/setup/place", form(browser, "form#place") | {"units": "us"})
    typed = form(browser, "form#bin")
    inches = {"inside_width_cm": "20", "tub_litres": "2", "door_height_cm": "10"}
    browser.post("/setup/bin", typed | inches)
    record = store.site().bins[0]
    assert record.door_height_cm == pytest.approx(25.4)
    assert record.inside_width_cm == pytest.approx(50.8)
    assert record.tub_litres == pytest.approx(7.57, abs=0.01)


def test_another_heap_comes_and_goes(ready):
    browser, store = ready
    new = {
        "name": "Leaf heap",
        "shape": "heap",
        "inside_width_cm": "100",
        "inside_depth_cm": "100",
        "inside_height_cm": "80",
    }
    assert browser.post("/setup/add-bin", new).status == 200
    assert [one.name for one in store.site().bins] == ["Bin", "Leaf heap"]
    again = browser.post("/setup/add-bin", new)
    assert again.status == 422
    assert "already" in again.text("[role=alert]")
    assert browser.post("/setup/take-away", {"bin": "Leaf heap"}).status == 200
    assert len(store.site().bins) == 1
    only = browser.post("/setup/take-away", {"bin": "Bin"})
    assert only.status == 422


def test_everything_is_saved_as_one_file_and_brought_in_again(ready, key):
    browser, store = ready
    browser.post("/record/note", {"key": key, "note": "a windy day"})
    answer = browser.client.get("/export.zip")
    assert answer.headers["content-type"] == "application/zip"
    assert zipfile.ZipFile(io.BytesIO(answer.content)).testzip() is None
    count = len(store.entries())
    back = browser.client.post(
        "/import", files={"archive": ("saved.zip", answer.content, "application/zip")}
    )
    assert back.status_code == 200
    assert len(store.entries()) == count
    for content in (b"", b"no zip at all"):
        bad = browser.client.post("/import", files={"archive": ("bad.zip", content)})
        assert bad.status_code == 422
        assert "alert" in bad.text


def test_the_drawing_follows_what_is_typed(ready):
    browser, _ = ready
    text = browser.get(
        "/setup/drawing?inside_width_cm=33&inside_height_cm=71&wall=foam+50&units=metric"
    ).response.text
    assert "33 cm width" in text
    assert "71 cm" in text


def test_the_paper_log_has_room_to_write(ready):
    browser, _ = ready
    page = browser.get("/paper")
    assert page.status == 200
    assert len(page.tree.css("table.ruled tr")) > 20
    assert "caddy" in page.text("main")
