"""Estimates are asked for by what is written; a page asks once and never goes round."""

from concurrent.futures import Executor, Future
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest

from slowfire.jobs import Jobs
from slowfire.journal import joblog
from slowfire.records import Amount, Entry, Load, LoadItem

BIN = "Bin"


class Waiting(Executor):
    """Takes calls and never runs them."""

    def submit(self, call, /, *args, **kwargs):
        return Future()


class Place:
    """A set-up bin, its app and the jobs asked for."""

    def __init__(self, browser, store):
        self.browser = browser
        self.store = store
        self.home = browser.client.app.state.home
        self.start()

    def start(self):
        self.home.jobs = Jobs(self.store, Waiting())

    def feed(self):
        items = (LoadItem("food_waste_household_mixed", Amount(1, "caddy")),)
        when = datetime.now(UTC) - timedelta(hours=1)
        self.store.append([Entry(uuid4(), BIN, when, Load(items))])

    def end_as(self, state):
        job = self.home.jobs.newest(BIN)
        joblog.end(self.store, job.number, state, "out of breath")

    @property
    def newest(self):
        found = self.home.jobs.newest(BIN)
        return 0 if found is None else found.number


@pytest.fixture
def place(ready):
    return Place(*ready)


@pytest.mark.parametrize("path", ["/", "/inside", "/entries?written=1", "/take-out", "/beds"])
def test_of_an_empty_bin_no_estimate_is_asked_for(place, path):
    page = place.browser.get(path)
    assert page.status == 200
    assert place.newest == 0
    assert page.tree.css_first("[data-progress]") is None
    assert page.tree.css_first('[role="alert"]') is None
    assert "estimate is being made" not in page.response.text


def test_what_is_written_about_an_empty_bin_asks_for_none(place, key):
    page = place.browser.post("/record/all-as-usual", {"bin": BIN, "key": key})
    assert page.text(".written").startswith("Written down.")
    assert "A new estimate" not in page.text(".written")
    assert place.newest == 0


def test_a_load_asks_for_one(place, key):
    page = place.browser.post("/record/usual", {"bin": BIN, "key": key})
    assert "A new estimate is being made." in page.text(".written")
    assert place.home.jobs.newest(BIN).state == joblog.WAITING


@pytest.mark.parametrize("state", [joblog.FAILED, joblog.STOPPED, joblog.DONE])
def test_however_an_estimate_ended_the_page_asks_once(place, state):
    place.feed()
    place.browser.get("/")
    first = place.newest
    assert first > 0
    place.end_as(state)
    for _ in range(3):
        page = place.browser.get("/")
    assert place.newest == first
    assert page.tree.css_first("[data-progress]") is None
    assert page.text("h1") == "There is no estimate yet"
    alerts = [one.text(strip=True) for one in page.tree.css('[role="alert"]')]
    said = ["It could not be computed: out of breath"]
    assert alerts == (said if state == joblog.FAILED else [])


def test_a_person_can_ask_again(place):
    place.feed()
    place.browser.get("/")
    first = place.newest
    place.end_as(joblog.STOPPED)
    page = place.browser.get("/")
    assert page.tree.css_first('form[action="/estimate"] button').text() == "Estimate now"
    page = place.browser.post("/estimate", {"bin": BIN})
    assert place.newest > first
    assert page.tree.css_first("[data-progress]").attributes["data-job"] == str(place.newest)


def test_what_is_written_next_asks_again(place, key):
    place.feed()
    place.browser.get("/")
    first = place.newest
    place.end_as(joblog.FAILED)
    place.browser.post("/record/usual", {"bin": BIN, "key": key})
    assert place.newest > first


def test_after_a_day_and_after_a_new_start_it_is_tried_again(place):
    place.feed()
    place.browser.get("/")
    place.end_as(joblog.FAILED)
    first = place.newest
    place.home.clock = lambda: datetime.now(UTC) + timedelta(days=1, minutes=1)
    place.browser.get("/")
    second = place.newest
    assert second > first
    place.end_as(joblog.FAILED)
    place.home.clock = lambda: datetime.now(UTC)
    place.browser.get("/")
    assert place.newest == second
    place.start()
    place.browser.get("/")
    assert place.newest > second
