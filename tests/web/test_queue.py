"""What waited on a phone is written once, at the time it was typed, whatever its clock shows."""

import uuid
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest

HEADER = {"x-slowfire-queue": "1"}


def typed(**more):
    return {"key": str(uuid.uuid4()), "bin": "Bin", **more}


def test_fifty_sendings_make_one_entry(ready):
    browser, store = ready
    before = len(store.entries())
    one = typed()
    answers = [browser.client.post("/record/usual", data=one, headers=HEADER) for _ in range(50)]
    assert {answer.status_code for answer in answers} == {200}
    assert [answer.json()["new"] for answer in answers].count(True) == 1
    assert len(store.entries()) == before + 1


@pytest.mark.parametrize(
    ("path", "fields"),
    [
        ("/take-out/dug", {"amount": "20", "unit": "litre", "weighed": "11"}),
        ("/tests/write", {"which": "bag", "days": "5", "swelling": "flat", "smell": "earthy"}),
    ],
)
def test_what_is_done_at_the_door_waits_on_a_phone_too(ready, path, fields):
    browser, store = ready
    now = datetime.now(UTC)
    then = now - timedelta(hours=3)
    one = typed(**fields, typed_at=then.isoformat(), sent_at=now.isoformat())
    answers = [browser.client.post(path, data=one, headers=HEADER) for _ in range(3)]
    assert [answer.json()["new"] for answer in answers] == [True, False, False]
    entry = store.entries()[-1]
    assert entry.bin == "Bin"
    assert abs(entry.when - then) < timedelta(minutes=3)
    assert abs(entry.recorded - now) < timedelta(minutes=1)
    refused = browser.client.post(path, data=typed(), headers=HEADER)
    assert refused.status_code == 422
    assert refused.json()["message"]


def test_two_phones_at_once_lose_nothing_and_double_nothing(ready):
    browser, store = ready
    before = len(store.entries())
    ones = [typed() for _ in range(12)]
    with ThreadPoolExecutor(8) as pool:
        answers = list(
            pool.map(
                lambda one: browser.client.post("/record/usual", data=one, headers=HEADER),
                ones * 3,
            )
        )
    assert {answer.status_code for answer in answers} == {200}
    assert len(store.entries()) == before + 12


@pytest.mark.parametrize("wrong", [timedelta(0), timedelta(days=1), timedelta(days=-1)])
def test_a_clock_that_is_wrong_by_a_day_is_put_right(ready, wrong):
    browser, store = ready
    now = datetime.now(UTC)
    one = typed(
        item="probe",
        amount="44",
        unit="C",
        typed_at=(now + wrong - timedelta(hours=5)).isoformat(),
        sent_at=(now + wrong).isoformat(),
    )
    answer = browser.client.post("/record/reading", data=one, headers=HEADER)
    assert answer.status_code == 200
    entry = store.entries()[-1]
    assert abs(entry.when - (now - timedelta(hours=5))) < timedelta(minutes=3)
    assert abs(entry.recorded - now) < timedelta(minutes=1)


@pytest.mark.parametrize(
    "times",
    [
        {"typed_at": "yesterday"},
        {"typed_at": "2026-03-01T00:00:00Z", "sent_at": "2026-02-01T00:00:00Z"},
        {"typed_at": "2025-01-01T00:00:00Z", "sent_at": "2026-02-01T00:00:00Z"},
    ],
)
def test_a_time_that_cannot_be_is_refused(ready, times):
    browser, store = ready
    before = store.revision()
    answer = browser.client.post("/record/usual", data=typed(**times), headers=HEADER)
    assert answer.status_code == 422
    assert answer.json()["message"]
    assert store.revision() == before


def test_what_is_wrong_is_said_to_the_phone(ready):
    browser, _ = ready
    one = typed(item="probe", amount="hot", unit="C")
    answer = browser.client.post("/record/reading", data=one, headers=HEADER)
    assert answer.status_code == 422
    assert answer.json()["field"] == "amount"


def test_a_key_cannot_be_taken_for_something_else(ready):
    browser, store = ready
    one = typed()
    browser.client.post("/record/usual", data=one, headers=HEADER)
    before = store.revision()
    other = {**one, "item": "probe", "amount": "40", "unit": "C"}
    answer = browser.client.post("/record/reading", data=other, headers=HEADER)
    assert answer.status_code == 422
    assert store.revision() == before


def test_sending_a_form_again_with_the_back_button_says_so(ready):
    browser, store = ready
    one = typed()
    browser.post("/record/usual", one)
    count = len(store.entries())
    again = browser.post("/record/usual", one)
    assert "already" in again.text("[role=status]")
    assert len(store.entries()) == count


def test_the_worker_answers_for_every_page(ready):
    browser, _ = ready
    answer = browser.client.get("/worker.js")
    assert answer.headers["content-type"].startswith("text/javascript")
    assert browser.client.get("/app.webmanifest").json()["start_url"] == "/"
