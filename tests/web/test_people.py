"""Who may enter, and what each may do: keepers, viewers, the code at a lid, programs, nobody."""

import re
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from starlette.testclient import TestClient

from slowfire.journal import accounts
from slowfire.journal.store import open_store
from slowfire.services.bin_setup import set_up
from slowfire.web.app import make_app

WORDS = "barrow lantern quince"
FAR = "https://bin.home.example:8321"


class Far:
    """A browser on another machine, over TLS."""

    def __init__(self, app, base=FAR, client=("10.0.0.5", 40000)):
        self.client = TestClient(app, base_url=base, client=client, follow_redirects=False)

    def get(self, path, **headers):
        return self.client.get(path, headers=headers)

    def token(self, path="/record"):
        found = re.search(r'name="csrf" value="([0-9a-f]+)"', self.client.get(path).text)
        return found.group(1) if found else ""

    def post(self, path, data=None, csrf=True, **headers):
        given = dict(data or {})
        if csrf:
            given["csrf"] = self.token()
        headers.setdefault("origin", str(self.client.base_url))
        return self.client.post(path, data=given, headers=headers)

    def log_in(self, name="Ada", password=WORDS):
        return self.post("/sign-in", {"name": name, "password": password}, csrf=False)


@pytest.fixture
def shared(tmp_path, answers):
    """An app with a keeper and a viewer."""
    with open_store(tmp_path / "data") as store:
        site, entries = set_up(answers, datetime.now(UTC) - timedelta(days=3))
        store.set_site(site)
        store.append(entries)
        accounts.add_person(store, "Ada", "keeper", WORDS)
        accounts.add_person(store, "Bo", "viewer", WORDS)
        app = make_app(store, None, None, ("bin.home.example",))
        yield app, store


@pytest.fixture
def ada(shared):
    browser = Far(shared[0])
    assert browser.log_in().status_code == 303
    return browser


def test_nobody_sees_a_page_without_signing_in(shared):
    browser = Far(shared[0])
    for path in ("/", "/record", "/inside", "/entries", "/setup", "/people", "/export.zip"):
        answer = browser.get(path)
        assert answer.status_code == 303
        assert answer.headers["location"].startswith("/sign-in")
    assert browser.get("/api/entries").status_code == 401
    assert browser.post("/record/usual", csrf=False).status_code == 303


def test_with_accounts_the_machine_itself_signs_in_too(shared):
    here = Far(shared[0], "http://127.0.0.1:8321", ("127.0.0.1", 40000))
    assert here.get("/").status_code == 303


def test_the_cookie_is_out_of_reach_of_script_and_other_sites(shared):
    cookie = Far(shared[0]).log_in().headers["set-cookie"]
    assert cookie.startswith("__Host-slowfire=")
    for word in ("HttpOnly", "Secure", "SameSite=lax", "Path=/"):
        assert word in cookie
    plain = Far(shared[0], "http://bin.home.example:8321").log_in().headers["set-cookie"]
    assert plain.startswith("slowfire=")
    assert "HttpOnly" in plain
    assert "Secure" not in plain


def test_a_session_begins_anew_with_each_sign_in(shared):
    browser = Far(shared[0])
    browser.client.headers["cookie"] = "__Host-slowfire=chosen-by-somebody-else"
    given = browser.log_in().headers["set-cookie"]
    assert "chosen-by-somebody-else" not in given
    assert accounts.person_of(shared[1], "chosen-by-somebody-else") is None


def test_signing_out_ends_it_on_the_server(ada, shared):
    secret = ada.client.cookies.get("__Host-slowfire")
    ada.post("/sign-out")
    assert accounts.person_of(shared[1], secret) is None


def test_a_form_without_the_token_of_its_session_is_refused(ada, shared):
    before = shared[1].revision()
    for data in ({}, {"csrf": "0" * 64}):
        assert ada.post("/record/all-as-usual", data, csrf=False).status_code == 403
    assert shared[1].revision() == before
    assert ada.post("/record/all-as-usual").status_code == 303
    assert shared[1].revision() > before


def test_every_form_of_a_signed_in_page_carries_the_token(ada):
    for path in ("/", "/record", "/mix", "/entries", "/setup", "/people", "/me"):
        text = ada.get(path).text
        forms = re.findall(r'<form method="post".*?</form>', text, re.S)
        assert all('name="csrf"' in one for one in forms), path


def test_another_site_cannot_send_a_form(ada, shared):
    before = shared[1].revision()
    token = ada.token()
    for headers in (
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": "http://bin.home.example:8321.evil.example"},
    ):
        answer = ada.client.post("/record/all-as-usual", data={"csrf": token}, headers=headers)
        assert answer.status_code == 403
    answer = ada.client.post(
        "/record/all-as-usual", data={"csrf": token}, headers={"sec-fetch-site": "cross-site"}
    )
    assert answer.status_code == 403
    assert shared[1].revision() == before


def test_what_somebody_writes_bears_the_name(ada, shared):
    ada.post("/record/all-as-usual")
    assert shared[1].entries()[-1].who == "Ada"


def test_a_viewer_looks_and_does_not_write(shared):
    browser = Far(shared[0])
    browser.log_in("Bo")
    before = shared[1].revision()
    for path in ("/", "/record", "/inside", "/entries"):
        assert browser.get(path).status_code == 200
    for path in ("/record/usual", "/setup/bin", "/advice", "/import", "/people/add"):
        assert browser.post(path).status_code == 403
    assert browser.client.post("/api/entries", json={"entries": []}).status_code == 403
    assert browser.get("/people").status_code == 403
    assert shared[1].revision() == before
    assert browser.post("/sign-out").status_code == 303


def test_guessing_is_braked(shared):
    browser = Far(shared[0])
    answers = [browser.log_in(password="wrong words here").status_code for _ in range(7)]
    assert answers == [422] * 5 + [429] * 2
    assert browser.log_in().status_code == 429


def test_a_sign_in_leads_nowhere_else(shared):
    for then in ("https://evil.example/", "//evil.example", "/\\evil.example", "javascript:x"):
        browser = Far(shared[0])
        answer = browser.post(
            "/sign-in", {"name": "Ada", "password": WORDS, "then": then}, csrf=False
        )
        assert answer.headers["location"] == "/"


def test_a_phone_comes_in_by_a_link_once(ada, shared):
    number = accounts.person_named(shared[1], "Ada").number
    page = ada.post(f"/people/{number}/link").text
    path = re.search(r"https://bin\.home\.example:8321(/pair/[\w-]+)", page).group(1)
    phone = Far(shared[0], client=("10.0.0.9", 4))
    assert phone.get(path).status_code == 200
    assert phone.get("/").status_code == 303
    assert phone.post(path, csrf=False).status_code == 303
    assert phone.get("/").status_code == 200
    assert Far(shared[0]).post(path, csrf=False).status_code == 404


def test_the_code_at_the_lid_writes_what_went_in_and_nothing_else(ada, shared):
    app, store = shared
    page = ada.post("/people/code", {"kind": "lid", "name": "Yard", "bin": "Bin"}).text
    path = re.search(r"(/lid/[\w-]+)", page).group(1)
    helper = Far(app, client=("10.0.0.7", 4))
    first = helper.get(path).text
    assert "Not fed today" in first
    assert "/setup" not in first
    assert helper.post(f"{path}/usual", {"key": str(uuid.uuid4())}, csrf=False).status_code == 303
    assert "Already fed today" in helper.get(path).text
    assert store.entries()[-1].kind == "load"
    helper.post(f"{path}/wrong", {"wrong": "plastic bags"}, csrf=False)
    assert "1 × plastic bags" in helper.get(path).text
    before = len(store.entries())
    for what in ("reading", "look", "dig_out", "note", "vent"):
        answer = helper.post(f"{path}/{what}", {"note": "x", "amount": "1"}, csrf=False)
        assert answer.status_code == 422
    for path_ in ("/", "/entries", "/inside", "/api/entries"):
        assert helper.get(path_).status_code in (303, 401)
    assert len(store.entries()) == before


def test_an_ended_code_writes_nothing(ada, shared):
    app, store = shared
    page = ada.post("/people/code", {"kind": "lid", "name": "Yard", "bin": "Bin"}).text
    path = re.search(r"(/lid/[\w-]+)", page).group(1)
    number = accounts.codes(store, "lid")[0].number
    ada.post(f"/people/code/{number}/revoke")
    before = len(store.entries())
    helper = Far(app)
    assert helper.get(path).status_code == 422
    assert helper.post(f"{path}/usual", csrf=False).status_code == 422
    assert helper.get("/lid/made-up-by-somebody").status_code == 422
    assert len(store.entries()) == before


def test_absence_is_never_shown_at_the_lid(ada, shared):
    from slowfire import records as r

    app, store = shared
    away = r.Calendar(
        "absence", starts=datetime(2026, 3, 1).date(), ends=datetime(2026, 3, 9).date()
    )
    store.append([r.Entry(uuid.uuid4(), "", datetime.now(UTC), away, note="in Rome")])
    page = ada.post("/people/code", {"kind": "lid", "name": "Yard", "bin": "Bin"}).text
    path = re.search(r"(/lid/[\w-]+)", page).group(1)
    shown = Far(app).get(path).text
    assert "absence" not in shown
    assert "Rome" not in shown


def test_a_program_has_a_key_for_the_api_alone(ada, shared):
    page = ada.post("/people/code", {"kind": "program", "name": "Logger"}).text
    key = re.search(r'<p class="address">([\w-]+)</p>', page).group(1)
    program = Far(shared[0], client=("10.0.0.8", 4))
    assert program.get("/api/entries", authorization=f"Bearer {key}").status_code == 200
    assert program.get("/api/entries", authorization="Bearer wrong").status_code == 401
    assert program.get("/entries", authorization=f"Bearer {key}").status_code == 303
    number = accounts.codes(shared[1], "program")[0].number
    ada.post(f"/people/code/{number}/revoke")
    assert program.get("/api/entries", authorization=f"Bearer {key}").status_code == 401


def test_the_first_account_is_given_on_the_machine_itself(tmp_path, answers):
    with open_store(tmp_path / "data") as store:
        app = make_app(store, None, None, ("bin.home.example",))
        assert Far(app).get("/welcome").status_code == 403
        assert Far(app).post("/people/add", {"name": "Eve", "password": WORDS}).status_code == 403
        here = Far(app, "http://127.0.0.1:8321", ("127.0.0.1", 4))
        bad = here.post("/people/add", {"name": "Ada", "password": "short"}, csrf=False)
        assert bad.status_code == 422
        assert 'value="Ada"' in bad.text
        assert (
            here.post("/people/add", {"name": "Ada", "password": WORDS}, csrf=False).status_code
            == 303
        )
        assert Far(app).log_in().status_code == 303


def test_own_password_and_devices(ada, shared):
    assert ada.post("/me/password", {"old": "wrong words here", "new": WORDS}).status_code == 422
    assert ada.post("/me/password", {"old": WORDS, "new": "short"}).status_code == 422
    assert ada.post("/me/password", {"old": WORDS, "new": "another three words"}).status_code == 200
    assert ada.get("/me").status_code == 200
    assert Far(shared[0]).log_in().status_code == 422
    assert Far(shared[0]).log_in(password="another three words").status_code == 303
