"""What must not come in: foreign names, forwarded requests, path tricks, too much, too slow."""

import asyncio

import pytest
from starlette.testclient import TestClient

from slowfire.web.security import LARGEST_BODY, Guard, host_of


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/..%2f..%2fapp.py",
        "/static/%2e%2e/%2e%2e/security.py",
        "/static//etc/passwd",
        "/photos/..%2f..%2fjournal.db",
        "/lid/..%2f..%2fentries",
        "/entries/..%2f..%2f",
        "/%00",
    ],
)
def test_no_path_leads_out(ready, path):
    browser, _ = ready
    answer = browser.client.get(path)
    assert answer.status_code in (404, 422)
    assert "import" not in answer.text
    assert "root:" not in answer.text


def test_too_much_is_refused_by_what_is_said_and_by_what_comes(ready):
    browser, _ = ready
    said = browser.client.post(
        "/record/note", content=b"x", headers={"content-length": str(LARGEST_BODY + 1)}
    )
    assert said.status_code == 413

    def endless():
        for _ in range(LARGEST_BODY // 65536 + 2):
            yield b"x" * 65536

    form = {"content-type": "application/x-www-form-urlencoded"}
    came = browser.client.post("/record/note", content=endless(), headers=form)
    assert came.status_code == 413
    odd = browser.client.post("/record/note", content=b"x", headers={"content-length": "-1"})
    assert odd.status_code == 400


def test_a_body_that_does_not_come_is_not_waited_for():
    async def reads(scope, receive, send):
        while (await receive()).get("more_body"):
            pass

    async def tried():
        sent = []

        async def never():
            await asyncio.sleep(60)

        async def send(message):
            sent.append(message)

        scope = {
            "type": "http",
            "method": "POST",
            "path": "/record/note",
            "headers": [(b"host", b"127.0.0.1")],
            "client": ("127.0.0.1", 1),
        }
        await Guard(reads, slowest_piece=0.05)(scope, never, send)
        return sent[0]["status"]

    assert asyncio.run(tried()) == 408


@pytest.mark.parametrize(
    ("named", "host"),
    [
        ("localhost", "localhost"),
        ("LOCALHOST:80", "localhost"),
        ("127.0.0.1:8321", "127.0.0.1"),
        ("[::1]:8321", "::1"),
        ("127.0.0.1@evil.example", ""),
        ("evil.example/127.0.0.1", ""),
        ("", ""),
    ],
)
def test_the_name_it_is_asked_by(named, host):
    assert host_of(named) == host


def test_every_answer_has_its_headers(ready):
    browser, _ = ready
    for path in ("/", "/nowhere", "/static/slowfire.css", "/api/bins", "/setup/drawing"):
        headers = browser.client.get(path).headers
        assert "script-src 'self'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"


def test_no_answer_allows_other_sites_to_read(ready):
    browser, _ = ready
    answer = browser.client.options(
        "/api/entries",
        headers={"origin": "https://evil.example", "access-control-request-method": "POST"},
    )
    assert "access-control-allow-origin" not in answer.headers


def test_under_tls_browsers_are_told_to_stay_there(ready):
    browser, _ = ready
    far = TestClient(browser.client.app, base_url="https://localhost")
    assert "max-age" in far.get("/").headers["strict-transport-security"]
    assert "strict-transport-security" not in browser.client.get("/").headers


def test_addresses_that_could_run_in_a_table_are_written_as_text(ready, key):
    browser, store = ready
    browser.post("/record/note", {"key": key, "note": "=HYPERLINK(1)"})
    from slowfire.journal import read_journal
    from slowfire.services.transfer import export_text

    target = store.folder.parent / "text"
    export_text(store.folder, target)
    text = (target / "entries.csv").read_text("utf-8")
    assert ",'=HYPERLINK(1)" in text
    assert read_journal(target).entries[-1].payload.text == "=HYPERLINK(1)"
