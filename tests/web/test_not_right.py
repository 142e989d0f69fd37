"""Not right, did it work, dry stuff at hand, and how far an estimate is."""

import json
import uuid
from datetime import UTC, datetime

import pytest

from slowfire import records as r
from slowfire.journal import joblog
from slowfire.services.today_complaint import COMPLAINTS


@pytest.mark.parametrize("what", COMPLAINTS)
def test_each_complaint_has_one_check_and_causes_in_order(ready, what):
    browser, _ = ready
    page = browser.get(f"/not-right?what={what}")
    assert page.status == 200
    assert page.text(".action strong")
    shares = [
        int(one.text().split("about ")[1].split(" in 100")[0]) for one in page.tree.css("ol li")
    ]
    assert shares
    assert shares == sorted(shares, reverse=True)


def test_an_unknown_complaint_is_refused_in_words(ready):
    browser, _ = ready
    page = browser.get("/not-right?what=boring")
    assert page.status == 422
    assert "boring" in page.text("main")


def test_advice_that_was_done_is_listed(ready):
    browser, store = ready
    assert "Nothing has been done" in browser.get("/worked").text("main")
    browser.post("/advice", {"what": "too dry", "answer": "done"})
    assert browser.get("/worked").tree.css_first("tr td") is not None
    assert store.entries()[-1].payload == r.Advice("too dry", "done")


def test_an_answer_to_advice_asks_for_no_new_estimate(ready):
    browser, store = ready
    before = store.revision()
    browser.post("/advice", {"what": "too dry", "answer": "postponed"})
    assert store.revision() == before
    browser.post("/record/all-as-usual")
    assert store.revision() > before


def test_dry_stuff_is_counted_and_a_load_takes_it_off(ready, key):
    browser, store = ready
    row = {"item": "office_paper_shredded", "amount": "60", "unit": "litre", "change": "counted"}
    assert browser.post("/record/stock", row | {"key": key}).status == 200
    assert store.entries()[-1].payload.change == "counted"
    bad = browser.post("/record/stock", row | {"amount": "heaps", "key": str(uuid.uuid4())})
    assert bad.status == 422


def test_progress_is_told_until_the_work_ends(ready):
    browser, _ = ready
    assert _events(browser) == [{"state": "none", "share": 0.0, "words": ""}]


def test_events_follow_a_job_to_its_end(ready):
    _, store = ready
    job = joblog.ask(store, "quick", "Bin", datetime.now(UTC))
    joblog.begin(store, job.number, "reading")
    told = joblog.told(store, job.number, pause=0.01)
    assert next(told).state == "running"
    joblog.go_on(store, job.number, 0.5, "half")
    assert next(told).share == 0.5
    joblog.end(store, job.number, joblog.DONE)
    assert [one.state for one in told] == ["done"]


def _events(browser):
    answer = browser.client.get("/progress/events")
    assert answer.headers["content-type"].startswith("text/event-stream")
    return [json.loads(one[6:]) for one in answer.text.splitlines() if one.startswith("data: ")]
