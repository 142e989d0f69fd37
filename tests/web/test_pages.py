"""Every page opens, with and without an estimate, and keeps foreign hands off."""

import pytest

PAGES = (
    "/", "/record", "/mix", "/inside", "/take-out", "/beds", "/where", "/entries", "/setup",
    "/more", "/tests",
)  # fmt: skip
OTHERS = ("/worked", "/not-right", "/paper", "/people", "/sensors", "/out-of-reach", "/sign-in")


@pytest.mark.parametrize("path", PAGES)
def test_every_page_opens_before_there_is_an_estimate(ready, path):
    browser, _ = ready
    page = browser.get(path)
    assert page.status == 200
    assert page.tree.css_first("main h1") is not None
    assert page.tree.css_first('nav [aria-current="page"]') is not None


@pytest.mark.parametrize("path", PAGES)
def test_a_block_is_the_content_alone(ready, path):
    browser, _ = ready
    whole = browser.get(path).response.text
    part = browser.get(path, **{"hx-request": "true"}).response.text
    assert "<nav" not in part
    assert len(part) < len(whole)


@pytest.mark.parametrize("path", PAGES + OTHERS)
def test_no_script_or_style_stands_in_a_page(ready, path):
    browser, _ = ready
    page = browser.get(path)
    assert "style=" not in page.response.text
    assert all(one.attributes.get("src") for one in page.tree.css("script"))
    assert "default-src 'none'" in page.response.headers["content-security-policy"]
    assert "http://" not in page.response.text.replace("http://www.w3.org", "")


@pytest.mark.parametrize(
    "headers",
    [
        {"host": "evil.example"},
        {"origin": "http://evil.example"},
        {"x-forwarded-for": "10.0.0.1"},
        {"forwarded": "for=10.0.0.1"},
    ],
)
def test_others_are_refused(ready, headers):
    browser, store = ready
    before = store.revision()
    assert browser.post("/record/all-as-usual", **headers).status == 403
    assert store.revision() == before


def test_a_page_that_is_not_there(ready):
    browser, _ = ready
    page = browser.get("/nowhere")
    assert page.status == 404
    assert page.tree.css_first("main a") is not None


def test_mix_says_what_a_load_needs_and_hands_it_over(ready):
    browser, store = ready
    page = browser.get(
        "/mix?asked=1&item0=fruit_veg_peelings_mixed&amount0=2&unit0=caddy"
        "&have=office_paper_shredded&have=bark_chips_fine"
    )
    assert page.status == 200
    assert page.text(".action h2")
    # more than one caddy of paper goes with two of peelings
    assert page.text(".action li").split()[1] == "caddies"
    form = page.tree.css_first('form[action="/record/load"]')
    typed = {one.attributes["name"]: one.attributes["value"] for one in form.css("input")}
    assert typed["item0"] == "fruit_veg_peelings_mixed"
    done = browser.post("/record/load", typed)
    assert done.status == 200
    assert store.entries()[-1].kind == "load"


@pytest.mark.parametrize(
    ("query", "says"),
    [
        ("asked=1&item0=coffee_grounds&amount0=x&unit0=caddy", "x"),
        ("asked=1&item0=&amount0=2&unit0=caddy", "say what it is"),
        ("asked=1", "how much"),
        ("asked=1&item0=unobtainium&amount0=2&unit0=caddy", "unobtainium"),
    ],
)
def test_mix_refuses_with_a_word(ready, query, says):
    browser, _ = ready
    page = browser.get(f"/mix?{query}")
    assert page.status == 422
    assert says in " ".join(one.text() for one in page.tree.css("[role=alert]"))


def test_names_are_escaped(ready, key):
    browser, _ = ready
    browser.post("/record/note", {"key": key, "note": "<script>alert(1)</script>"})
    text = browser.get("/entries").response.text
    assert "<script>alert" not in text
    assert "&lt;script&gt;" in text
