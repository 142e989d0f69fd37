"""Tests as a page: written and judged at once, refused with what was typed, sums, and the layer."""

import uuid

import pytest

CRESS = {
    "which": "cress", "sown": "20", "sprouted": "19", "control_sprouted": "19", "days": "5",
    "growth": "green", "control_growth": "green",
}  # fmt: skip


def key():
    return str(uuid.uuid4())


def written_in(store):
    return [one for one in store.entries() if one.kind == "test"]


def test_before_an_estimate_the_page_says_what_is_not_known(ready):
    browser, _ = ready
    page = browser.get("/tests")
    assert page.status == 200
    said = page.text("#said")
    assert "No test was written down" in said
    assert "No estimate has been made yet" in said
    assert "the C:N" in said
    # a way to do each, its steps and its caution
    for place in ("squeeze", "air-space", "bag", "flask", "cress", "extract", "weedkiller"):
        way = page.tree.css_first(f"details#{place}")
        assert len(way.css("ol li")) >= 3
        assert "dust" in way.css_first(".caution").text()
        assert way.css_first("form") is not None


def test_a_link_from_record_opens_the_way_it_names(ready):
    browser, _ = ready
    links = [one.attributes["href"] for one in browser.get("/record").tree.css("#tests a")]
    assert len(links) == 6
    for link in links:
        page = browser.get(link)
        opened = [one.attributes["id"] for one in page.tree.css("details[open]")]
        assert opened == [link.rsplit("#", 1)[1]]
    more = [one.attributes["href"] for one in browser.get("/more").tree.css("main a")]
    assert any(one.startswith("/tests") for one in more)


def test_a_test_is_written_and_its_verdict_told_at_once(ready):
    browser, store = ready
    page = browser.post("/tests/write", {"key": key(), **CRESS})
    assert page.status == 200
    assert str(page.response.url).endswith("#said")
    assert "Passed" in page.text("#said h3")
    assert "100 % of the control" in page.text("#said")
    (entry,) = written_in(store)
    assert entry.payload.control_growth == "green"


def test_a_failed_control_is_refused_a_verdict(ready):
    browser, _ = ready
    page = browser.post("/tests/write", {"key": key(), **CRESS, "control_sprouted": "9"})
    assert "Cannot be judged" in page.text("#said h3")
    assert "The control itself failed" in page.text("#said")
    assert "a test with plants" in page.text("#said")


def test_sending_twice_writes_once(ready):
    browser, store = ready
    same = {"key": key(), **CRESS}
    browser.post("/tests/write", same)
    browser.post("/tests/write", same)
    assert len(written_in(store)) == 1


@pytest.mark.parametrize(
    ("typed", "way", "says"),
    [
        (CRESS | {"days": ""}, "cress", "on which day"),
        (CRESS | {"sprouted": "21"}, "cress", "20"),
        (CRESS | {"sown": "many"}, "cress", "many"),
        (
            {
                "which": "flask", "warmest": "27", "surroundings": "20", "days": "7",
                "squeeze": "dry",
            },
            "flask",
            "moisten",
        ),
        ({"which": "water-fill", "sample": "10", "water": "12"}, "air-space", "allowed"),
        ({"which": "bag", "days": "5", "swelling": "flat"}, "bag", "smells"),
        ({"which": "pea", "growth": "green", "control_growth": "green"}, "weedkiller", "days"),
    ],
)  # fmt: skip
def test_what_cannot_be_comes_back_with_what_was_typed(ready, typed, way, says):
    browser, store = ready
    page = browser.post("/tests/write", {"key": key(), "note": "by the door", **typed})
    assert page.status == 422
    opened = page.tree.css_first("details[open]")
    assert opened.attributes["id"] == way
    assert says in opened.css_first("[role=alert]").text()
    assert page.value("note", f"#{way} form") == "by the door"
    for name, value in typed.items():
        field = page.tree.css_first(f'#{way} form input[name="{name}"]')
        if field is not None:
            assert field.attributes["value"] == value
    assert written_in(store) == []


def test_a_test_nobody_knows_is_refused(ready):
    browser, store = ready
    page = browser.post("/tests/write", {"key": key(), "which": "<b>taste"})
    assert page.status == 422
    assert "<b>taste" not in page.response.text
    assert written_in(store) == []


@pytest.mark.parametrize(
    ("query", "says"),
    [
        ("sum=squeeze&squeeze=dry", "moisten"),
        ("sum=extract&sown_water=20&sprouted_water=19&sown_extract=20&sprouted_extract=11", "58 %"),
        ("sum=extract&sown_water=20&sprouted_water=9&sown_extract=20&sprouted_extract=9", "failed"),
        ("sum=drying&wet=200&dried=130&container=50&mass_unit=gram", "60 % water"),
        (
            "sum=bucket&full=8&empty=1&volume=14&mass_unit=kilogram&volume_unit=litre",
            "500 kg a cubic metre",
        ),
        ("sum=laboratory&figure=carbon-dioxide&value=16", "4.36 mg carbon"),
    ],
)
def test_sums(example, query, says):
    answer = example.get(f"/example/tests?{query}")
    assert answer.status_code == 200
    assert says in answer.text
    assert 'id="answer"' in answer.text


@pytest.mark.parametrize(
    "query",
    [
        "sum=taste",
        "sum=drying&wet=200&dried=900&container=50&mass_unit=gram",
        "sum=laboratory&figure=carbon&value=lots",
    ],
)
def test_sums_that_cannot_be(example, query):
    answer = example.get(f"/example/tests?{query}")
    assert answer.status_code == 422
    assert 'id="answer"' not in answer.text


def test_the_page_of_a_layer_tells_how_quiet_it_is(example):
    text = example.get("/example/inside/layer?number=0").text
    for word in (
        "How quiet is it?", "mmol a kg of organic matter and hour", "mg carbon dioxide a gram",
        "Carbon to nitrogen", "Ammonium", "Curing", "a test of stability", "from memory",
    ):  # fmt: skip
        assert word in text
    assert "/example/tests?bin=" in text
    assert "none counts for a layer above it" not in text
    count = 0
    while example.get(f"/example/inside/layer?number={count}").status_code == 200:
        count += 1
    top = example.get(f"/example/inside/layer?number={count - 1}").text
    assert "none counts for a layer above it" in top


def test_hay_calls_for_peas_until_they_have_decided(ready):
    browser, _ = ready
    hay = {"item0": "meadow_hay", "amount0": "1", "unit0": "caddy", "key": key()}
    assert "traces of weedkiller" not in browser.get("/record").text("#tests")
    browser.post("/record/load", hay)
    assert "Meadow hay can carry" in browser.get("/record").text("#tests")
    assert "Meadow hay can carry" in browser.get("/tests").text("main .question")
    peas = {"which": "pea", "growth": "green", "control_growth": "green", "days": "20"}
    browser.post("/tests/write", {"key": key(), **peas})
    page = browser.get("/tests")
    assert page.tree.css_first("main .question") is None
    assert "Smaller traces" in page.text("#said")
    assert "traces of weedkiller" not in browser.get("/record").text("#tests")
    browser.post("/record/load", hay | {"key": key()})
    assert "Meadow hay can carry" in browser.get("/record").text("#tests")


@pytest.mark.parametrize(
    ("mark", "says"),
    [
        ("home", "Look for it after 8 to 26 weeks"),
        ("EN 13432", "the hottest layer of this bin has had"),
        ("biodegradable", "alone does not mean that"),
        ("none", "only what is marked for home composting"),
    ],
)
def test_a_bag_is_asked_by_its_mark(example, mark, says):
    page = example.get("/example/where", params={"thing": "compostable bag", "mark": mark})
    assert page.status_code == 200
    assert says in page.text


def test_a_bag_before_an_estimate_and_things_without_a_mark(ready):
    browser, _ = ready
    page = browser.get("/where?thing=compostable+bag&mark=EN+13432")
    assert "Not into this bin" in page.text("#bag h2")
    assert "this bin has had" not in page.text("#bag")
    assert browser.get("/where?thing=compostable+bag").tree.css_first("#bag") is None
    assert browser.get("/where?thing=bread&mark=home").tree.css_first("[name=mark]") is None


def test_hay_in_can_i_add_it_leads_to_the_peas(ready):
    browser, _ = ready
    page = browser.get("/where?thing=hay")
    assert "/tests?bin=" in page.tree.css_first(".action a").attributes["href"]
    # what goes nowhere needs no test
    assert browser.get("/where?thing=weed+and+feed").tree.css_first(".action a") is None


def test_flies_ask_whether_larvae_can_live_in_the_newest_layer(example):
    assert "larvae of soldier flies" in example.get("/example/not-right?what=flies").text
