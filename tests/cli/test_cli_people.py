"""Accounts from the command line, and what serve asks before it shares."""

import pytest
from typer.testing import CliRunner

from slowfire.cli import app
from slowfire.errors import InvalidInput
from slowfire.journal import accounts
from slowfire.journal.store import open_store
from slowfire.web.sharing import greeting, must_have_keeper

WORDS = "barrow lantern quince"


def run(*arguments, words=""):
    return CliRunner().invoke(app, list(arguments), input=words)


def test_from_nobody_to_somebody_and_back(tmp_path):
    data = ["--data", str(tmp_path)]
    assert "Nobody has an account" in run("people", "list", *data).output
    assert run("people", "add", "Ada", *data, words=f"{WORDS}\n").exit_code == 0
    assert run("people", "add", "Bo", "--viewer", *data, words=f"{WORDS}\n").exit_code == 0
    listed = run("people", "list", *data).output
    assert "Ada: keeper" in listed
    assert "Bo: viewer" in listed
    assert run("people", "password", "Ada", *data, words="another three words\n").exit_code == 0
    with open_store(tmp_path) as store:
        assert accounts.log_in(store, "Ada", "another three words", "x", "y")
    assert run("people", "remove", "Bo", *data).exit_code == 0
    assert run("people", "forget-all", *data).exit_code == 0
    assert "Nobody" in run("people", "list", *data).output


@pytest.mark.parametrize(
    "arguments", [("password", "Nobody"), ("remove", "Nobody"), ("forget-all",), ("add", "Ada")]
)
def test_what_cannot_be_is_refused(tmp_path, arguments):
    done = run("people", *arguments, "--data", str(tmp_path), words="short\n")
    assert done.exception is not None


def test_sharing_asks_for_the_first_keeper(tmp_path):
    with pytest.raises(InvalidInput, match="--keeper"):
        must_have_keeper(tmp_path, None, lambda _: WORDS)
    must_have_keeper(tmp_path, "Ada", lambda _: WORDS)
    must_have_keeper(tmp_path, None, lambda _: pytest.fail("asked again"))
    with open_store(tmp_path) as store:
        assert [one.name for one in accounts.people(store)] == ["Ada"]


def test_the_greeting_gives_a_link_that_works_once(tmp_path):
    must_have_keeper(tmp_path, "Ada", lambda _: WORDS)
    told = greeting(tmp_path, "http", ("bin.home.example",), 8321)
    assert "can read along" in told
    link = next(line.strip() for line in told.splitlines() if "/pair/" in line)
    secret = link.rsplit("/", 1)[1]
    with open_store(tmp_path) as store:
        assert accounts.pair(store, secret, "phone")
        with pytest.raises(accounts.WrongPassword):
            accounts.pair(store, secret, "phone")


def test_plain_http_without_sharing_is_refused(tmp_path):
    done = run("serve", "--plain-http", "--data", str(tmp_path))
    assert isinstance(done.exception, InvalidInput)
