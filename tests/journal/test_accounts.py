"""Accounts: passwords, sessions, codes and the brake on guessing, on both databases."""

from datetime import UTC, datetime, timedelta

import pytest

from slowfire.errors import InvalidInput
from slowfire.journal import accounts
from slowfire.refusals import RefusedField

NOW = datetime(2026, 3, 14, 12, tzinfo=UTC)
WORDS = "barrow lantern quince"


@pytest.fixture
def keeper(store):
    return accounts.add_person(store, "Ada", "keeper", WORDS, NOW)


def test_a_password_is_kept_as_a_slow_hash_alone(store, keeper):
    from sqlalchemy import select

    from slowfire.journal.tables import PEOPLE

    with store.engine.connect() as connection:
        kept = connection.execute(select(PEOPLE.c.password)).scalar_one()
    assert kept.startswith("$argon2id$")
    assert WORDS not in kept


def test_log_in_and_out(store, keeper):
    secret = accounts.log_in(store, " ada ", WORDS, "10.0.0.5", "a phone", NOW)
    assert accounts.person_of(store, secret, NOW).name == "Ada"
    other = accounts.log_in(store, "Ada", WORDS, "10.0.0.5", "a phone", NOW)
    assert other != secret
    accounts.log_out(store, secret)
    assert accounts.person_of(store, secret, NOW) is None
    assert accounts.person_of(store, other, NOW).name == "Ada"


def test_a_session_ends_by_itself_and_lives_on_while_used(store, keeper):
    secret = accounts.begin_session(store, keeper.number, "a phone", NOW)
    later = NOW + timedelta(days=20)
    assert accounts.person_of(store, secret, later) is not None
    assert accounts.person_of(store, secret, later + timedelta(days=20)) is not None
    assert accounts.person_of(store, secret, later + timedelta(days=51)) is None


@pytest.mark.parametrize(
    ("name", "password"), [("Ada", "wrong words here"), ("Nobody", WORDS), ("Ada", ""), ("", "")]
)
def test_a_wrong_log_in_never_says_what_was_wrong(store, keeper, name, password):
    with pytest.raises(accounts.WrongPassword, match="Name or password is wrong"):
        accounts.log_in(store, name, password, "10.0.0.5", "x", NOW)


def test_guessing_is_braked_more_and_more_and_forgiven_after_a_right_one(store, keeper):
    for _ in range(accounts.FREE_TRIES):
        with pytest.raises(accounts.WrongPassword):
            accounts.log_in(store, "Ada", "wrong words here", "10.0.0.5", "x", NOW)
    with pytest.raises(accounts.TooOften, match=r"try again in 3[01] s"):
        accounts.log_in(store, "Ada", WORDS, "10.0.0.5", "x", NOW)
    # the name is braked from elsewhere too, and the address for other names
    with pytest.raises(accounts.TooOften):
        accounts.log_in(store, "Ada", WORDS, "10.0.0.6", "x", NOW)
    with pytest.raises(accounts.TooOften):
        accounts.log_in(store, "Bo", WORDS, "10.0.0.5", "x", NOW)
    after = NOW + timedelta(seconds=31)
    with pytest.raises(accounts.WrongPassword):
        accounts.log_in(store, "Ada", "wrong words here", "10.0.0.5", "x", after)
    with pytest.raises(accounts.TooOften, match=r"try again in 6[01] s"):
        accounts.log_in(store, "Ada", WORDS, "10.0.0.5", "x", after)
    assert accounts.log_in(store, "Ada", WORDS, "10.0.0.5", "x", after + timedelta(seconds=61))
    with pytest.raises(accounts.WrongPassword):
        accounts.log_in(store, "Ada", "wrong words here", "10.0.0.5", "x", after)


@pytest.mark.parametrize("password", ["short", "aaaaaaaaaaaaaaa", "x" * 201, "passwordpassword"])
def test_passwords_that_will_not_do(store, password):
    with pytest.raises(RefusedField):
        accounts.add_person(store, "Ada", "keeper", password, NOW)
    assert not accounts.any_people(store)


def test_the_first_is_a_keeper_and_the_last_keeper_stays(store):
    with pytest.raises(RefusedField, match="keeper"):
        accounts.add_person(store, "Bo", "viewer", WORDS, NOW)
    ada = accounts.add_person(store, "Ada", "keeper", WORDS, NOW)
    bo = accounts.add_person(store, "Bo", "viewer", WORDS, NOW)
    with pytest.raises(RefusedField, match="already"):
        accounts.add_person(store, "ADA", "viewer", WORDS, NOW)
    for attempt in (
        lambda: accounts.remove_person(store, ada.number),
        lambda: accounts.set_role(store, ada.number, "viewer"),
    ):
        with pytest.raises(RefusedField, match="last keeper"):
            attempt()
    accounts.set_role(store, bo.number, "keeper")
    accounts.remove_person(store, ada.number)
    assert [one.name for one in accounts.people(store)] == ["Bo"]


def test_a_new_password_logs_other_devices_out(store, keeper):
    here = accounts.begin_session(store, keeper.number, "laptop", NOW)
    there = accounts.begin_session(store, keeper.number, "phone", NOW)
    accounts.set_password(store, keeper, "another three words", keep=here)
    assert accounts.person_of(store, here, NOW) is not None
    assert accounts.person_of(store, there, NOW) is None


def test_devices_are_listed_and_ended(store, keeper):
    secret = accounts.begin_session(store, keeper.number, "phone", NOW)
    accounts.begin_session(store, keeper.number, "laptop", NOW)
    assert {one.name for one in accounts.devices(store, keeper.number)} == {"phone", "laptop"}
    number = next(one.number for one in accounts.devices(store) if one.name == "phone")
    accounts.end_device(store, number, person=keeper.number + 1)
    assert accounts.person_of(store, secret, NOW) is not None
    accounts.end_device(store, number, person=keeper.number)
    assert accounts.person_of(store, secret, NOW) is None


def test_a_link_works_once_and_for_ten_minutes(store, keeper):
    link = accounts.make_code(store, "pairing", "Ada", person=keeper.number, now=NOW)
    session = accounts.pair(store, link, "phone", NOW + timedelta(minutes=9))
    assert accounts.person_of(store, session, NOW + timedelta(minutes=9)).name == "Ada"
    with pytest.raises(accounts.WrongPassword):
        accounts.pair(store, link, "another phone", NOW + timedelta(minutes=9))
    late = accounts.make_code(store, "pairing", "Ada", person=keeper.number, now=NOW)
    with pytest.raises(accounts.WrongPassword):
        accounts.pair(store, late, "phone", NOW + timedelta(minutes=11))


def test_a_code_at_a_lid_holds_until_it_is_ended(store, keeper):
    code = accounts.make_code(store, "lid", "Yard", "Box", now=NOW)
    found = accounts.code_of(store, "lid", code, NOW + timedelta(days=400))
    assert (found.name, found.bin) == ("Yard", "Box")
    assert accounts.code_of(store, "program", code, NOW) is None
    accounts.revoke(store, found.number, NOW)
    assert accounts.code_of(store, "lid", code, NOW) is None
    assert accounts.codes(store, "lid") == ()


def test_the_rota(store):
    accounts.set_rota(store, {0: "Ada", 3: " Bo ", 5: "", 9: "nobody"})
    assert accounts.rota(store) == {0: "Ada", 3: "Bo"}


def test_open_to_all_again(store, keeper):
    accounts.forget_everybody(store)
    assert not accounts.any_people(store)
    with pytest.raises(InvalidInput):
        accounts.forget_everybody(store)
