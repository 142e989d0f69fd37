"""Take out, beds, can I add it, register and sensors, as pages."""

import uuid

import pytest
from starlette.testclient import TestClient

from slowfire.journal.store import open_store
from slowfire.services.example import fill_example
from slowfire.web.app import make_app


@pytest.fixture(scope="module")
def example(tmp_path_factory):
    folder = tmp_path_factory.mktemp("use")
    with open_store(folder / "own") as store:
        shown = fill_example(folder / "example")
        yield TestClient(make_app(store, None, shown))
        shown.close()


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


def test_a_dig_out_and_a_test_are_written(ready):
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
    cress = {
        "which": "cress",
        "sown": "20",
        "sprouted": "11",
        "control_sprouted": "19",
        "days": "5",
    }
    assert browser.post("/take-out/test", {"key": key(), **cress}).status == 200
    assert store.entries()[-1].payload.sprouted == 11.0
    for data in (
        {"amount": "lots"},
        {"amount": ""},
        {"amount": "5", "unit": "shipload"},
        {"amount": "5", "unit": "litre", "weighed": "heavy"},
    ):
        assert browser.post("/take-out/dug", {"key": key(), **data}).status == 422
    assert browser.post("/take-out/test", {"key": key(), "which": "cress"}).status == 422


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
