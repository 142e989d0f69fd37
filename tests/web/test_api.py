"""The same results as the pages as JSON; nothing that is sent makes it stumble."""

import os
import uuid
from datetime import UTC, datetime, timedelta

import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from starlette.testclient import TestClient

from slowfire.services.example import fill_example
from slowfire.web.app import make_app

MANY = 200 if os.environ.get("SLOWFIRE_RANDOM") == "new" else 15


@pytest.fixture(scope="module")
def example(tmp_path_factory):
    """The app with an empty journal, and the example beside it."""
    from slowfire.journal.store import open_store

    folder = tmp_path_factory.mktemp("api")
    with open_store(folder / "own") as store:
        shown = fill_example(folder / "example")
        yield TestClient(make_app(store, None, shown))
        shown.close()


@pytest.fixture
def schema(example):
    return schemathesis.openapi.from_dict(example.get("/example/api/openapi.json").json())


def test_nothing_sent_by_chance_makes_it_stumble(example, schema):
    """schemathesis: whatever fits or does not fit the description, no answer is a 5xx."""
    seen = set()

    for result in schema.get_all_operations():
        operation = result.ok()

        @settings(
            max_examples=MANY,
            deadline=None,
            database=None,
            derandomize=MANY == 15,
            suppress_health_check=list(HealthCheck),
        )
        def tried(case):
            answer = example.request(
                case.method,
                "/example/api" + case.formatted_path,
                params=case.query or None,
                json=case.body if case.method == "POST" else None,
            )
            assert answer.status_code < 500, (case.method, case.path, case.query, case.body)
            seen.add((case.method, case.path))

        schema_strategy = operation.as_strategy()
        from hypothesis import given

        given(schema_strategy)(tried)()
    assert ("POST", "/entries") in seen
    assert len(seen) >= 10


def test_pages_and_programs_say_the_same(example):
    told = example.get("/example/api/today").json()
    page = example.get("/example/").text
    assert told["headline"] in page
    inside = example.get("/example/api/inside").json()
    assert {"low", "mid", "high"} <= set(inside["hottest_celsius"])
    assert len(example.get("/example/api/entries?most=5").json()["entries"]) == 5


def test_entries_are_written_once_and_refused_with_their_line(ready):
    browser, store = ready
    client = browser.client
    when = (datetime.now(UTC) - timedelta(hours=2)).isoformat()
    one = {"id": str(uuid.uuid4()), "when": when, "kind": "reading", "bin": "Bin"}
    one["rows"] = [{"item": "probe", "amount": "45", "unit": "C"}]
    for expected in (([one["id"]], []), ([], [one["id"]])):
        answer = client.post("/api/entries", json={"entries": [one]})
        assert answer.status_code == 200
        assert (answer.json()["new"], answer.json()["known"]) == expected
    count = len(store.entries())
    bad = {**one, "id": str(uuid.uuid4()), "rows": [{"item": "probe", "amount": "hot"}]}
    good = {**one, "id": str(uuid.uuid4())}
    refused = client.post("/api/entries", json={"entries": [good, bad]})
    assert refused.status_code == 422
    assert "line 2" in refused.json()["message"]
    assert len(store.entries()) == count


def test_what_is_not_there_is_404_with_a_word(ready):
    browser, _ = ready
    for path in ("/api/today", "/api/inside", "/api/series", "/api/today?bin=Nobody"):
        answer = browser.client.get(path)
        assert answer.status_code == 404
        assert answer.json()["message"]


def test_a_strange_site_cannot_write(ready):
    browser, store = ready
    before = store.revision()
    answer = browser.client.post(
        "/api/entries", json={"entries": []}, headers={"origin": "http://evil.example"}
    )
    assert answer.status_code == 403
    assert store.revision() == before
