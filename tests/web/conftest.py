"""The whole app in process over a journal of its own."""

import uuid
from datetime import UTC, datetime, timedelta

import pytest
from selectolax.lexbor import LexborHTMLParser
from starlette.testclient import TestClient

from slowfire.journal.store import open_store
from slowfire.services.bin_setup import Answers, set_up
from slowfire.services.example import fill_example
from slowfire.web.app import make_app

NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)


class Page:
    """An answer with its HTML parsed."""

    def __init__(self, response):
        self.response = response
        self.status = response.status_code
        self.tree = LexborHTMLParser(response.text)

    def text(self, selector):
        found = self.tree.css_first(selector)
        return None if found is None else found.text(strip=True)

    def value(self, name, form="form"):
        found = self.tree.css_first(f'{form} [name="{name}"]')
        return None if found is None else found.attributes.get("value")


class Browser:
    """Follows links and sends forms, with and without script."""

    def __init__(self, client):
        self.client = client

    def get(self, path, **headers):
        return Page(self.client.get(path, headers=headers))

    def post(self, path, data=None, follow=True, **headers):
        return Page(
            self.client.post(path, data=data or {}, headers=headers, follow_redirects=follow)
        )


@pytest.fixture
def empty(tmp_path):
    """The app before anything is set up."""
    with open_store(tmp_path / "data") as store:
        yield Browser(TestClient(make_app(store))), store


@pytest.fixture
def answers():
    return Answers("Graz, Austria", "medium", "foam", None, None, "empty", 30.0, 6.0, 5.0, 2.0)


@pytest.fixture
def ready(tmp_path, answers):
    """The app with one bin."""
    with open_store(tmp_path / "data") as store:
        site, entries = set_up(answers, datetime.now(UTC) - timedelta(days=3))
        store.set_site(site)
        store.append(entries)
        yield Browser(TestClient(make_app(store))), store


@pytest.fixture(scope="module")
def example(tmp_path_factory):
    """The app with the example beside an empty journal."""
    folder = tmp_path_factory.mktemp("example")
    with open_store(folder / "own") as store:
        shown = fill_example(folder / "example")
        yield TestClient(make_app(store, None, shown))
        shown.close()


@pytest.fixture
def key():
    return str(uuid.uuid4())
