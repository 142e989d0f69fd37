"""Take out, beds, can I add it, register and sensors, as pages."""

import json
import uuid
from dataclasses import asdict, replace
from datetime import UTC, datetime
from importlib.resources import files

import numpy as np
import pytest

from slowfire.hygiene.record import TemperatureRecord
from slowfire.journal.store import Kept
from slowfire.services.heat_kills import heat_kills
from slowfire.services.kept_results import result_of
from slowfire.services.layers import LayersResult
from slowfire.services.refresh import LAYERS


def key():
    return str(uuid.uuid4())


def test_the_example_tells_four_verdicts_apart(example):
    text = example.get("/example/take-out").text
    for word in ("Active", "Sanitised", "Finished", "Fit for seedlings"):
        assert word in text
    assert "Not a legal pass" in text
    sheet = example.get("/example/take-out/sheet.pdf")
    assert sheet.headers["content-type"] == "application/pdf"
    assert sheet.content.startswith(b"%PDF")


def test_the_example_tells_what_heat_killed(example):
    text = example.get("/example/take-out").text
    assert "heat killed nothing that counts" in text
    assert "model alone" in text
    for word in ("Salmonella", "Purslane", "Clubroot", "never promised", "no proof", "Singh"):
        assert word in text, word


def keep_layers(store, kills):
    """The layers of the example, with other heat, as the estimate of the bin of a journal."""
    name = store.site().bins[0].name
    shipped = files("slowfire").joinpath("data", "example", "results.json")
    rows = json.loads(shipped.read_text(encoding="utf-8"))
    payload = next(one["payload"] for one in rows if one["kind"] == LAYERS)
    found = result_of(LayersResult, json.dumps(payload))
    layers = tuple(replace(one, heat_kills=kills) for one in found.layers)
    told = json.dumps(asdict(replace(found, bin=name, layers=layers)))
    store.put_result(Kept(LAYERS, name, store.revision(), "", datetime.now(UTC), told))


def kills(edge, dry=0.0, places=()):
    histories = np.zeros((20, 2, 41, 3))
    histories[:, 0, :24] = 240.0
    histories[:, 1, : max(edge - 39, 0)] = 240.0
    times = np.arange(0.0, 241.0, 12.0)
    records = [
        TemperatureRecord(f"{place} probe", place, 0.1, times, np.full(21, 62.0))
        for place in places
    ]
    return heat_kills(
        histories,
        np.full(20, dry),
        records,
        since_hour=0.0,
        until_hour=240.0,
        longest_gap_hours=30.0,
    )


def cells(page, word):
    """The row of a table that begins with a word."""
    for row in page.tree.css("#heat-kills tr"):
        told = [one.text(strip=True) for one in row.css("td")]
        if told and told[0].startswith(word):
            return told
    return None


def test_heat_that_nobody_read_is_of_the_model_alone(ready):
    browser, store = ready
    keep_layers(store, kills(60))
    page = browser.get("/take-out?anyway=1")
    assert "model alone" in page.text("#heat-kills")
    assert cells(page, "Salmonella") == ["Salmonella", "6 or more", "6 or more", "not read"]
    assert cells(page, "Purslane")[1] == "not reliably"
    assert cells(page, "Potato cyst")[1] == "not shown"
    assert cells(page, "Clubroot")[1] == "never promised"
    assert "from assumptions" in page.text("#heat-kills summary")


def test_heat_that_was_read_at_core_and_edge_is_a_yes_for_six(ready):
    browser, store = ready
    keep_layers(store, kills(60, places=("centre", "edge")))
    page = browser.get("/take-out?anyway=1")
    assert cells(page, "Salmonella")[3] == "6 or more"
    assert cells(page, "Purslane")[1] == "yes for these six"
    assert cells(page, "Dock")[1] == "no"
    assert cells(page, "All weed seeds")[1] == "not reliably"
    assert "Never say it of other weeds" in page.text("#heat-kills")
    assert "from readings" in page.text("#heat-kills summary")


@pytest.mark.parametrize(("edge", "dry"), [(39, 0.0), (60, 500.0)], ids=["cool edge", "too dry"])
def test_a_cool_edge_or_dry_stuff_kills_nothing(ready, edge, dry):
    browser, store = ready
    keep_layers(store, kills(edge, dry))
    page = browser.get("/take-out?anyway=1")
    assert cells(page, "Salmonella")[1] == "none"
    assert cells(page, "Purslane")[1] == "no"
    assert "heat killed nothing that counts" in page.text("#heat-kills")


def test_an_older_estimate_says_that_it_is_still_to_come(ready):
    browser, store = ready
    keep_layers(store, None)
    page = browser.get("/take-out?anyway=1")
    assert page.status == 200
    assert page.tree.css_first("#heat-kills") is None
    assert "told with the next estimate" in page.response.text
    assert browser.client.get("/take-out/sheet.pdf").content.startswith(b"%PDF")


@pytest.mark.parametrize(
    ("query", "says"),
    [("door=wide", "number"), ("door=500", "door"), ("door=-3", "door"), ("mesh=500", "Mesh")],
)
def test_a_door_or_sieve_that_cannot_be_comes_back_with_a_word(example, query, says):
    answer = example.get(f"/example/take-out?{query}")
    assert answer.status_code == 422
    assert says.lower() in answer.text.lower()


def test_beds_of_the_example_get_their_share(example):
    text = example.get("/example/beds?anyway=1").text
    assert "Quince and currants" in text
    assert "not shown to be ready" in text
    more = example.get("/example/beds?anyway=1&fix2=5&litres=40").text
    assert "40 L to share out" in more
    bad = example.get("/example/beds?anyway=1&litres=lots")
    assert bad.status_code == 422


@pytest.mark.parametrize(
    ("query", "says"),
    [
        ("liquid=2&colour=dark&smell=none", "18.0 L of water"),
        ("liquid=1&ec=12&colour=dark&smell=earthy", "1 in 8"),
        ("liquid=1&colour=yellow", "Not on plants"),
    ],
)
def test_liquid_is_thinned_or_refused(example, query, says):
    answer = example.get(f"/example/beds?{query}")
    assert answer.status_code == 200
    assert says in answer.text


@pytest.mark.parametrize("query", ["liquid=x", "liquid=-1", "liquid=1&ec=-4", "liquid=1&age=old"])
def test_liquid_that_cannot_be_is_refused(example, query):
    assert example.get(f"/example/beds?{query}").status_code == 422


@pytest.mark.parametrize(
    ("thing", "says"),
    [
        ("orange peel", "into this bin"),
        ("clubroot", "not into compost"),
        ("bread", "chances in 100"),
    ],
)
def test_where_a_thing_goes(example, thing, says):
    assert says in example.get("/example/where", params={"thing": thing}).text


def test_an_unknown_thing_is_404_in_words(example):
    answer = example.get("/example/where", params={"thing": "<script>alert(1)</script>"})
    assert answer.status_code == 404
    assert "leave it out" in answer.text
    assert "<script>alert" not in answer.text


def test_the_register_is_a_table_and_a_sheet(example):
    table = example.get("/example/register.csv")
    assert table.text.startswith("when,what,")
    assert example.get("/example/register.pdf").content.startswith(b"%PDF")


def test_a_dig_out_is_written(ready):
    browser, store = ready
    page = browser.post(
        "/take-out/dug",
        {"key": key(), "amount": "20", "unit": "litre", "sieve": "13", "back": "yes",
         "weighed": "11"},
    )  # fmt: skip
    assert page.status == 200
    entry = store.entries()[-1]
    assert entry.kind == "dig_out"
    assert (entry.payload.weighed.number, entry.payload.weighed.unit) == (11.0, "kg")
    assert entry.payload.oversize_back is True
    for data in (
        {"amount": "lots"},
        {"amount": ""},
        {"amount": "5", "unit": "shipload"},
        {"amount": "5", "unit": "litre", "weighed": "heavy"},
    ):
        assert browser.post("/take-out/dug", {"key": key(), **data}).status == 422


def test_a_test_of_what_lies_at_the_door_is_one_tap_away(ready):
    browser, _ = ready
    link = browser.get("/take-out").tree.css_first("#test a").attributes["href"]
    assert "What your tests said" in browser.get(link).text("main")


def test_the_job_may_be_paused(ready):
    browser, _ = ready
    browser.post("/take-out/step", {"number": "3"})
    page = browser.get("/take-out")
    assert len(page.tree.css('[aria-current="step"]')) == 1
    assert "go on later" in page.text("#job")
    browser.post("/take-out/step", {"number": "0"})
    assert browser.get("/take-out").tree.css_first('[aria-current="step"]') is None
    assert browser.post("/take-out/step", {"number": "99"}).status == 422


def test_beds_are_kept_and_used(ready):
    browser, store = ready
    beds = {"name0": "Kale", "area0": "4", "planting0": "kale", "far0": "9", "way0": "dug-in"}
    assert browser.post("/beds", {**beds, "code": "UK"}).status == 200
    site = store.site()
    assert (site.beds[0].name, site.beds[0].area_m2, site.beds[0].way) == ("Kale", 4.0, "dug-in")
    assert site.jurisdictions == ("UK",)
    use = {"key": key(), "what": "compost", "amount": "12", "bed": "Kale", "how": "dug-in"}
    assert browser.post("/beds/use", use).status == 200
    assert store.entries()[-1].payload.bed == "Kale"


@pytest.mark.parametrize(
    "wrong",
    [
        {"area0": "-2"},
        {"area0": "large"},
        {"area0": ""},
        {"far0": "far"},
        {"planting0": "moss"},
        {"way0": "seedlings"},
    ],
)
def test_a_bed_that_cannot_be_stays_on_the_screen(ready, wrong):
    browser, store = ready
    beds = {"name0": "Kale", "area0": "4", "planting0": "kale", "far0": "9", "way0": ""}
    page = browser.post("/beds", {**beds, **wrong})
    assert page.status == 422
    assert page.tree.css_first("[role=alert]") is not None
    assert page.value("name0", "form#beds") == "Kale"
    assert store.site().beds == ()


def test_a_loggers_file_and_a_token(ready):
    browser, _ = ready
    rows = "time,temperature C\n" + "".join(
        f"2026-03-0{day} 12:00,{40 + day}\n" for day in range(1, 6)
    )
    answer = browser.client.post(
        "/sensors/file", data={"device": "probe"}, files={"file": ("log.csv", rows)}
    )
    assert answer.status_code in (200, 422)
    assert "alert" in answer.text or "status" in answer.text
    bad = browser.client.post(
        "/sensors/file", data={"device": "probe"}, files={"file": ("log.csv", b"\xff\xfe\x00")}
    )
    assert bad.status_code == 422
    made = browser.post("/sensors/token", {"name": "Box in the yard"})
    assert made.status == 200
    assert made.text(".address")


def test_a_probe_is_told_where_it_sits_and_wrong_words_are_kept(ready):
    browser, _ = ready
    rows = b"when,celsius\n2026-03-10 10:00,41\n2026-03-10 13:00,42\n"
    browser.client.post("/sensors/file", data={"device": "box"}, files={"file": ("log.csv", rows)})
    page = browser.get("/sensors")
    assert "feeds no thermometer" in page.response.text
    form = {
        name: page.value(name, 'form[action$="/sensors/place"]')
        for name in ("device", "channel", "kind")
    }
    meter = page.tree.css('select[name="thermometer"] option')[1].text()
    said = form | {"thermometer": meter, "tip": "30 cm", "origin": "surface", "spot": "centre"}
    none = browser.post("/sensors/place", said | {"thermometer": ""})
    assert none.status == 422
    assert none.value("tip", 'form[action$="/sensors/place"]') == "30 cm"
    wrong = browser.post("/sensors/place", said | {"tip": "deep down"})
    assert wrong.status == 422
    assert wrong.text("[role=alert]").startswith("depth: read 'deep'")
    assert wrong.value("tip", 'form[action$="/sensors/place"]') == "deep down"
    done = browser.post("/sensors/place", said | {"tip": "30"})
    assert done.status == 200
    assert f"stands for {meter}" in done.text('[role="status"]')
    assert "30 cm" in browser.get("/sensors").response.text
