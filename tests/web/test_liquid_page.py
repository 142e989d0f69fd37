"""The liquid on the page of the beds: from the kept estimate, never from the model itself."""

import json
import uuid
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from importlib.resources import files

import pytest

from slowfire import records as r
from slowfire.journal.store import Kept

ROWS = json.loads(
    (files("slowfire") / "data" / "example" / "results.json").read_text(encoding="utf-8")
)
PAYLOAD = next(one["payload"] for one in ROWS if one["kind"] == "inside")


@pytest.fixture
def bin_with(ready):
    """Keeps an estimate with such a tub, of an hour ago, for the one bin."""
    browser, store = ready
    now = datetime.now(UTC)

    def keep(holds=6.0, units="metric", litres=(1.0, 2.0, 3.0), older=False, entries=(), **changes):
        site = store.site()
        name = site.bins[0].name
        store.set_site(replace(site, units=units, bins=(replace(site.bins[0], tub_litres=holds),)))

        def span(low, mid, high):
            return {"low": low, "mid": mid, "high": high}

        tub = {
            "liquid_percent": 100.0,
            "strength_ms_per_cm": span(6.0, 9.0, 12.0),
            "weekly_litres": span(0.2, 0.5, 0.9),
            "rain_litres": span(0.0, 0.0, 0.0),
            "thinned_ms_per_cm": span(6.0, 9.0, 12.0),
            "days_to_spill": [10.0, 20.0, 40.0],
            "ahead_days": 14.0,
        } | {
            key: span(*value) if isinstance(value, tuple) else value
            for key, value in changes.items()
        }
        payload = PAYLOAD | {
            "bin": name,
            "at": (now - timedelta(hours=1)).isoformat(timespec="minutes"),
            "tub_litres": span(*litres),
            "tub": tub,
        }
        if older:
            del payload["tub"], payload["dug_out_percent"]
        store.append(
            [
                r.Entry(uuid.uuid4(), name, now - timedelta(hours=hours), one, now)
                for hours, one in entries
            ]
        )
        store.put_result(Kept("inside", name, store.revision(), "model", now, json.dumps(payload)))
        return browser, store

    return keep


def section(page):
    return " ".join(page.tree.css_first("#liquid").text(separator=" ").split())


def test_what_is_in_the_tub_and_when_it_runs_over(bin_with):
    browser, _ = bin_with()
    said = section(browser.get("/beds"))
    assert "about 2.0 L (1.0 to 3.0)" in said
    assert "about 9 mS/cm (6 to 12). An estimate; a meter is better." in said
    assert "At this flow the tub runs over between" in said
    assert "For what is in the tub: Add 18.0 L of water to 2.0 L (1 in 10)." in said
    assert "soil only" in said


def test_the_form_shows_the_estimate_and_types_nothing(bin_with):
    browser, _ = bin_with()
    page = browser.get("/beds")
    for name, hint in (("liquid", "about 2"), ("ec", "about 9"), ("target", "1.5")):
        field = page.tree.css_first(f'#liquid [name="{name}"]').attributes
        assert not field.get("value")
        assert field["placeholder"] == hint
    asked = section(browser.get("/beds?liquid=&ec=&target=&age=0"))
    assert "Add 18.0 L of water to 2.0 L" in asked
    assert "Nobody measured it" in asked
    strong = section(browser.get("/beds?liquid=1&ec=&target=0.5&age=0&colour=dark&smell=none"))
    assert "1 in 24" in strong
    old = section(browser.get("/beds?liquid=1&ec=&target=&age=0.5&colour=dark&smell=none"))
    assert "1 in 10" in old
    assert "Its strength is not known" in old


@pytest.mark.parametrize(
    ("query", "field", "says"),
    [
        ("liquid=1&target=9", "target", "0.2 to 4 mS/cm"),
        ("liquid=1&target=half", "target", "write a number"),
        ("liquid=1&ec=500", "ec", "0 to 100 mS/cm"),
        ("liquid=1&age=-3", "age", "Age of the liquid"),
        ("liquid=5000", "liquid", "0.01 L to 1000 L"),
    ],
)
def test_what_cannot_be_is_said_beside_its_field_and_kept(bin_with, query, field, says):
    browser, _ = bin_with()
    page = browser.get(f"/beds?{query}")
    assert page.status == 422
    assert says in page.text(f"#wrong-{field}")
    typed = dict(one.split("=") for one in query.split("&"))
    assert page.tree.css_first(f'#liquid [name="{field}"]').attributes["value"] == typed[field]


def test_without_an_amount_anywhere_it_asks_for_one(ready):
    browser, _ = ready
    page = browser.get("/beds?liquid=&ec=5&target=&age=0")
    assert page.status == 422
    assert "say how much there is" in page.text("#wrong-liquid")
    assert "no estimate of this bin yet" in section(page)


def test_no_tub_size_leads_to_set_up(bin_with):
    browser, _ = bin_with(holds=0.0, days_to_spill=None)
    page = browser.get("/beds")
    assert "No tub size is written" in section(page)
    link = page.tree.css_first('#liquid a[href^="/setup"]').attributes["href"]
    assert browser.get(link).value("tub_litres", "form") is not None


def test_a_full_tub_a_dry_week_and_rain(bin_with):
    browser, _ = bin_with(litres=(6.0, 6.0, 6.0), days_to_spill=[0.0, 0.0, 0.0])
    assert "full by the estimate: empty it" in section(browser.get("/beds"))
    browser, _ = bin_with(weekly_litres=(0.0, 0.0, 0.0), days_to_spill=[None, None, None])
    said = section(browser.get("/beds"))
    assert "does not run over within 8 weeks" in said
    assert "Rain" not in said
    browser, _ = bin_with(rain_litres=(0.5, 2.0, 4.0), thinned_ms_per_cm=(3.0, 4.0, 6.0))
    assert "thinned to about 4 mS/cm (3 to 6)" in section(browser.get("/beds"))


def test_an_older_kept_result_still_shows_its_litres(bin_with):
    browser, _ = bin_with(older=True)
    said = section(browser.get("/beds"))
    assert "about 2.0 L" in said
    assert "the next estimate tells" in said
    assert browser.get("/inside").status == 200


def test_us_gallons_and_inches(bin_with):
    browser, _ = bin_with(units="us")
    said = section(browser.get("/beds"))
    assert "0.53 US gal (0.26 to 0.79)" in said
    assert " L " not in said
    asked = section(browser.get("/beds?liquid=2&ec=6&target=1.5&age=0&colour=dark&smell=none"))
    assert "Add 6 US gal of water to 2 US gal (1 in 4)." in asked
    assert "to 260 US gal" in browser.get("/beds?liquid=5000").text("#wrong-liquid")


def test_drawn_liquid_waits_with_its_age_until_it_is_used(bin_with):
    dark = r.Drain(r.Amount(1.5, "litre"), "dark", "none", 3.0)
    browser, store = bin_with(entries=[(5.0, dark)])
    said = section(browser.get("/beds"))
    assert "1.5 L drawn on" in said
    assert "5 hours old" in said
    assert "(1 in 2)" in said
    beds = {"name0": "Kale", "area0": "4", "planting0": "kale", "far0": "9", "way0": ""}
    browser.post("/beds", beds)
    use = {"key": str(uuid.uuid4()), "what": "liquid", "amount": "1.5", "bed": "Kale"}
    assert browser.post("/beds/use", use | {"how": "drench"}).status == 200
    assert store.entries()[-1].kind == "use"
    assert "Drawn and not used yet" not in section(browser.get("/beds"))


def test_a_tub_emptied_since_is_not_told_by_the_older_estimate(bin_with):
    browser, _ = bin_with(entries=[(0.2, r.Drain(r.Amount(2.0, "litre")))])
    said = section(browser.get("/beds"))
    assert "after the last estimate" in said
    assert "about 2.0 L (1.0 to 3.0)" not in said


def test_today_names_a_near_day(bin_with):
    browser, _ = bin_with(litres=(3.0, 4.0, 5.0), days_to_spill=[2.0, 6.0, 12.0])
    assert "may run over about" in browser.get("/").response.text
    browser, _ = bin_with()
    assert "may run over about" not in browser.get("/").response.text
