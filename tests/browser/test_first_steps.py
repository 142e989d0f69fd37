"""From the first visit to the first entries, as a newcomer would go."""

import pytest
from make_page_pictures import PAGES

EXAMPLE = [path for path in PAGES.values() if path.startswith("example/")]


def set_up(page, address):
    page.goto(address)
    page.get_by_role("link", name="Set up my bin").click()
    page.get_by_label("Nearest larger town").fill("Graz, Austria")
    page.get_by_role("button", name="Make my bin").click()


def test_four_questions_then_the_first_mix_in_few_taps(page, address):
    set_up(page, address)
    taps = 0
    for role, name in (
        ("link", "Plan the first load"),
        ("button", "Say what it needs"),
        ("button", "Did that"),
    ):
        page.get_by_role(role, name=name).click()
        taps += 1
    assert page.get_by_role("status").inner_text().startswith("Written down.")
    assert taps <= 8


def test_the_usual_caddy_is_one_tap_and_a_reading_at_most_four(page, address):
    set_up(page, address)
    page.get_by_role("button", name="Usual caddy").click()
    assert "Written down." in page.get_by_role("status").inner_text()
    page.get_by_role("link", name="Today", exact=True).first.click()
    page.get_by_role("link", name="Temperature").click()
    page.get_by_label("Shows").fill("21")
    page.get_by_role("button", name="Write down the temperature").click()
    assert "lid dial: 21" in page.locator(".entries").inner_text()


def test_taking_back(page, address):
    set_up(page, address)
    page.get_by_role("button", name="All as usual").click()
    page.get_by_role("button", name="Take back: all as usual").click()
    assert "all as usual" not in page.locator("main").inner_text()


def settled(page, seconds=3.0):
    """How often a page is shown anew while nobody touches it."""
    shown = []
    page.on("framenavigated", lambda frame: shown.append(frame.url))
    page.wait_for_timeout(1000.0 * seconds)
    return shown


def test_the_page_of_a_new_bin_keeps_still(page, address):
    set_up(page, address)
    assert settled(page) == []
    page.get_by_role("button", name="All as usual").click()
    page.wait_for_url("**/entries**")
    page.get_by_role("link", name="Today", exact=True).first.click()
    assert settled(page) == []
    assert page.get_by_role("alert").count() == 0


def stopped(page, address):
    """Stop an estimate by its button; a short one may end first, so another is asked for."""
    from playwright.sync_api import TimeoutError as TooLate

    for _ in range(6):
        page.goto(address)
        page.get_by_role("button", name="Usual caddy").click()
        page.wait_for_url("**/entries**")
        page.get_by_role("link", name="Today", exact=True).first.click()
        try:
            page.get_by_role("button", name="Stop").click(timeout=2000)
            page.get_by_role("button", name="Estimate now").wait_for(timeout=5000)
        except TooLate:
            continue
        return True
    return False


def test_an_estimate_that_was_stopped_stays_stopped(page, address):
    set_up(page, address)
    assert stopped(page, address)
    assert settled(page) == []
    page.get_by_role("button", name="Estimate now").click()
    page.get_by_role("button", name="Estimate now").wait_for(state="detached", timeout=60_000)
    page.locator(".facts-list").wait_for(timeout=60_000)
    page.locator("[data-progress]").wait_for(state="detached", timeout=60_000)
    assert settled(page) == []
    assert "Estimate of" in page.locator(".facts-list").inner_text()


def test_what_is_typed_outlives_the_end_of_work(page, address):
    set_up(page, address)
    page.get_by_role("button", name="Usual caddy").click()
    page.wait_for_url("**/entries**")
    page.get_by_role("link", name="Mix", exact=True).first.click()
    page.get_by_role("button", name="Say what it needs").click()
    page.locator(".waiting progress").wait_for()
    page.get_by_label("How much").nth(1).fill("2.5")
    page.locator(".waiting .ready").wait_for(timeout=60_000)
    assert page.get_by_label("How much").nth(1).input_value() == "2.5"
    page.get_by_role("link", name="Show it").click()
    page.get_by_text("Tried in your bin as it is now").wait_for()


def test_keyboard_alone_sets_up_a_bin(page, address):
    page.goto(address)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the content"
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**/setup")
    page.get_by_label("Nearest larger town").focus()
    page.keyboard.type("Graz, Austria")
    page.keyboard.press("Enter")
    page.wait_for_url(f"{address}/")
    assert "first load" in page.locator("h1").inner_text()


def test_without_script_everything_works(plain_page, address):
    set_up(plain_page, address)
    plain_page.get_by_role("button", name="Usual caddy").click()
    assert "Written down." in plain_page.get_by_role("status").inner_text()


def test_a_wrong_answer_stays_on_the_screen(page, address):
    page.goto(f"{address}/setup")
    page.get_by_label("Nearest larger town").fill("Grazz")
    with page.expect_response("**/setup"):
        page.get_by_role("button", name="Make my bin").click()
    page.wait_for_selector("#wrong-town")
    assert page.get_by_label("Nearest larger town").input_value() == "Grazz"


@pytest.mark.parametrize("path", EXAMPLE)
def test_the_example_opens_at_once_and_nothing_runs_over_the_edge(page, shared_address, path):
    page.goto(f"{shared_address}/{path}")
    assert page.locator("main h1").count() == 1
    # all that unfolds lies open; 320 px is a phone with its text enlarged
    page.evaluate("document.querySelectorAll('details').forEach(e => e.open = true)")
    for width in (page.viewport_size["width"], 320):
        page.set_viewport_size({"width": width, "height": 844})
        over = page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        assert over <= 0, width


@pytest.mark.parametrize("path", EXAMPLE)
def test_words_of_the_tabs_keep_to_one_line(page, shared_address, path):
    page.goto(f"{shared_address}/{path}")
    heights = page.evaluate(
        """() => [...document.querySelectorAll(".tabs a")]
        .filter(e => e.offsetParent !== null).map(e => e.getBoundingClientRect().height)"""
    )
    assert max(heights) < 60


@pytest.mark.parametrize("path", EXAMPLE)
def test_what_can_be_tapped_is_large_enough_and_named(page, shared_address, path):
    page.goto(f"{shared_address}/{path}")
    small = page.evaluate(
        """() => [...document.querySelectorAll("button, .button, nav a, input, select, summary")]
        .filter(e => e.type !== "hidden" && e.offsetParent !== null)
        .filter(e => (e.closest("label.inline") || e).getBoundingClientRect().height < 43)
        .map(e => e.outerHTML.slice(0, 80))"""
    )
    assert small == []
    unnamed = page.evaluate(
        """() => [...document.querySelectorAll("input, select")]
        .filter(e => e.type !== "hidden" && !e.closest("label") && !e.getAttribute("aria-label"))
        .map(e => e.outerHTML.slice(0, 80))"""
    )
    assert unnamed == []


def test_the_example_refuses_to_be_written_in(page, shared_address):
    page.goto(f"{shared_address}/example/")
    assert page.get_by_role("button", name="Usual caddy").count() == 0
