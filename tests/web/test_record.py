"""Record: every form writes its entry once, and nothing typed is lost."""

from datetime import UTC, datetime, timedelta

import pytest

from slowfire import records as r


def last(store):
    return store.entries()[-1]


def test_the_usual_caddy_is_one_tap(ready, key):
    browser, store = ready
    assert browser.get("/").tree.css_first('form[action="/record/usual"] button') is not None
    page = browser.post("/record/usual", {"key": key})
    assert page.text("[role=status]").startswith("Written down.")
    assert isinstance(last(store).payload, r.Load)


def test_a_form_sent_fifty_times_writes_one_entry(ready, key):
    browser, store = ready
    before = len(store.entries())
    for _ in range(50):
        browser.post("/record/reading", {"key": key, "item": "lid dial", "amount": "21"})
    assert len(store.entries()) == before + 1


@pytest.mark.parametrize(
    ("what", "typed", "kind", "check"),
    [
        ("reading", {"item": "probe", "amount": "45,5", "unit": "C", "depth": "20"}, "reading",
         lambda p: p.temperature.value == 45.5 and p.position.distance.metres == 0.2),
        ("reading", {"item": "lid dial", "amount": "70", "unit": "F"}, "reading",
         lambda p: p.temperature.unit == "F"),
        ("load", {"item0": "coffee_grounds", "amount0": "2", "unit0": "scoop",
                  "item1": "office_paper_shredded", "amount1": "0.5", "unit1": "caddy",
                  "packing1": "loose"}, "load",
         lambda p: len(p.items) == 2 and p.items[1].packing == "loose"),
        ("look", {"smell": "sour", "level": "30", "steam": "yes"}, "look",
         lambda p: p.smell == "sour" and p.level.metres == 0.3 and p.steam is True),
        ("all-as-usual", {}, "usual", lambda p: True),
        ("stir", {"amount": "12", "unit": "cm"}, "stir", lambda p: p.depth.metres == 0.12),
        ("stir", {"amount": "", "unit": "cm"}, "stir", lambda p: p.depth is None),
        ("poke", {}, "poke", lambda p: True),
        ("vent", {"opening": "shut"}, "vent", lambda p: p.opening == "shut"),
        ("water", {"amount": "3", "unit": "litre"}, "water", lambda p: p.amount.number == 3.0),
        ("drain", {"amount": "0", "unit": "litre"}, "drain", lambda p: p.amount.number == 0.0),
        ("dig_out", {"amount": "20", "unit": "litre"}, "dig_out",
         lambda p: p.amount.number == 20.0),
        ("dig_out", {"amount": "20", "unit": "litre", "weighed": "12,5"}, "dig_out",
         lambda p: (p.weighed.number, p.weighed.unit) == (12.5, "kg")),
        ("cover", {"item": "insulation", "on": "no"}, "cover", lambda p: p.on is False),
        ("warm", {"amount": "2", "unit": "litre", "celsius": "80"}, "warm",
         lambda p: p.temperature.value == 80.0),
        ("note", {"note": "moved the chips"}, "note", lambda p: p.text == "moved the chips"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("script", [False, True])
def test_each_form_writes_its_entry(ready, key, what, typed, kind, check, script):
    browser, store = ready
    headers = {"hx-request": "true"} if script else {}
    page = browser.post(f"/record/{what}", {"key": key, **typed}, **headers)
    assert page.status == 200, page.text("[role=alert]")
    assert last(store).kind == kind
    assert check(last(store).payload)


@pytest.mark.parametrize(
    ("what", "typed", "field", "says"),
    [
        ("reading", {"amount": "hot", "item": "probe"}, "amount", "hot"),
        ("reading", {"amount": "", "item": "probe"}, "amount", "degrees"),
        ("reading", {"amount": "400", "item": "probe", "unit": "C"}, None, "allowed"),
        ("reading", {"amount": "20", "item": "thermo"}, None, "thermo"),
        ("load", {"item0": "coffee_grounds", "amount0": "lots", "unit0": "scoop"}, None, "lots"),
        ("load", {"item0": "coffee_grounds", "amount0": ""}, None, "how much"),
        ("load", {"item0": "moon rock", "amount0": "1", "unit0": "scoop"}, None, "moon rock"),
        ("look", {}, None, "says nothing"),
        ("look", {"level": "far down"}, None, "far down"),
        ("vent", {"opening": "ajar"}, None, "ajar"),
        ("dig_out", {"amount": "-3", "unit": "litre"}, None, "-3"),
        ("dig_out", {"amount": "3", "unit": "litre", "weighed": "heavy"}, None, "heavy"),
        ("water", {"amount": "3", "unit": "thimble full"}, None, "thimble"),
        ("note", {"note": ""}, None, "needs text"),
    ],
)
def test_bad_input_comes_back_with_a_word_beside_it(ready, key, what, typed, field, says):
    browser, store = ready
    before = len(store.entries())
    page = browser.post(f"/record/{what}", {"key": key, **typed})
    told = " ".join(one.text() for one in page.tree.css("[role=alert]"))
    if what == "water" and page.status == 200:
        pytest.fail("a measure nobody knows was written")
    assert page.status == 422
    assert says in told
    assert len(store.entries()) == before
    for name, value in typed.items():
        if value and name not in ("unit", "unit0", "item", "item0", "opening"):
            assert f'value="{value}"' in page.response.text, name


def test_backdating(ready, key):
    browser, store = ready
    when = (datetime.now(UTC) - timedelta(days=2)).strftime("%Y-%m-%dT%H:%M")
    browser.post("/record/stir", {"key": key, "when": when})
    assert (datetime.now(UTC) - last(store).when) > timedelta(days=1.5)


def test_the_future_is_refused(ready, key):
    browser, _ = ready
    when = (datetime.now(UTC) + timedelta(days=2)).strftime("%Y-%m-%dT%H:%M")
    page = browser.post("/record/stir", {"key": key, "when": when})
    assert page.status == 422
    assert "still to come" in page.response.text


def test_the_thermometer_used_last_is_remembered(ready, key):
    browser, _ = ready
    first = browser.get("/record").tree.css_first("#reading option[selected]").text()
    assert first == "lid dial"
    browser.post("/record/reading", {"key": key, "item": "probe", "amount": "40", "unit": "C"})
    assert browser.get("/record").tree.css_first("#reading option[selected]").text() == "probe"


def test_taking_back_and_changing(ready, key):
    browser, store = ready
    browser.post("/record/reading", {"key": key, "item": "probe", "amount": "40", "unit": "C"})
    path = f"/entries/{key}"
    form = browser.get(path)
    assert form.value("amount") == "40"
    when = form.value("when")
    browser.post(path, {"item": "probe", "amount": "44", "unit": "C", "when": when})
    shown = browser.get("/entries").response.text
    assert "probe: 44" in shown
    assert "probe: 40" not in shown
    changed = next(one for one in store.entries() if one.corrects is not None)
    browser.post(f"/entries/{changed.id}/take-back")
    shown = browser.get("/entries").response.text
    assert "probe: 44" not in shown
    assert "probe: 40" in shown


def test_a_wrong_change_keeps_what_was_typed(ready, key):
    browser, _ = ready
    browser.post("/record/reading", {"key": key, "item": "probe", "amount": "40", "unit": "C"})
    page = browser.post(f"/entries/{key}", {"item": "probe", "amount": "x", "unit": "C"})
    assert page.status == 422
    assert page.value("amount") == "x"


def test_an_entry_nobody_wrote(ready):
    browser, _ = ready
    page = browser.get("/entries/00000000-0000-0000-0000-000000000001")
    assert page.status == 422
    assert "no such entry" in page.text("[role=alert]")
