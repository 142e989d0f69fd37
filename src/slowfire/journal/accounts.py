"""Who may enter a journal: people with passwords, their devices, codes, and a brake on guessing."""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any

from argon2 import PasswordHasher
from argon2.exceptions import Argon2Error, InvalidHashError
from sqlalchemy import delete, func, insert, select, update

from slowfire.errors import InvalidInput, SlowfireError
from slowfire.journal.database import reading, writing
from slowfire.journal.store import Store
from slowfire.journal.tables import CODES, FAILURES, PEOPLE, ROTA, SESSIONS
from slowfire.refusals import RefusedField, name_text

KEEPER, VIEWER = "keeper", "viewer"
ROLES = (KEEPER, VIEWER)
LID, PAIRING, PROGRAM = "lid", "pairing", "program"
SHORTEST, LONGEST = 10, 200  # letters of a password
SESSION_LIFE = timedelta(days=30)
SEEN_EVERY = timedelta(minutes=5)
PAIRING_LIFE = timedelta(minutes=10)
FREE_TRIES = 5  # before a log-in has to wait
FIRST_WAIT = timedelta(seconds=30)
LONGEST_WAIT = timedelta(hours=1)
FORGIVEN = timedelta(days=1)


class WrongPassword(SlowfireError):
    """A log-in that does not fit; it never says whether name or password is wrong."""


class TooOften(SlowfireError):
    """A log-in that must wait."""


@dataclass(frozen=True)
class Person:
    """Somebody with an account: a keeper, who may do everything, or a viewer, who may look."""

    number: int
    name: str
    role: str
    made: datetime


@dataclass(frozen=True)
class Device:
    """One browser that is logged in."""

    number: int
    person: int
    name: str
    made: datetime
    seen: datetime


@dataclass(frozen=True)
class Code:
    """A code at a lid, a link for a phone, or the key of a program; its secret is not kept."""

    number: int
    kind: str
    name: str
    bin: str
    person: int | None
    made: datetime
    ended: datetime | None
    used: datetime | None


@cache
def _hasher() -> PasswordHasher:
    return PasswordHasher()


def hashed(secret: str) -> str:
    """Hash of a random secret; long random words need no slow one.

    Examples
    --------
    >>> len(hashed("a secret"))
    64
    """
    return hashlib.sha256(secret.encode()).hexdigest()


def any_people(store: Store) -> bool:
    """Whether anybody has an account; without one the journal is open on its own machine."""
    with reading(store.engine) as connection:
        return connection.execute(select(func.count()).select_from(PEOPLE)).scalar_one() > 0


def people(store: Store) -> tuple[Person, ...]:
    """Everybody with an account, by name."""
    with reading(store.engine) as connection:
        rows = connection.execute(select(PEOPLE).order_by(PEOPLE.c.folded)).mappings()
        return tuple(_person(row) for row in rows)


def person_named(store: Store, name: str) -> Person | None:
    """Somebody by name; None if there is nobody of it."""
    chosen = select(PEOPLE).where(PEOPLE.c.folded == name.strip().casefold())
    with reading(store.engine) as connection:
        row = connection.execute(chosen).mappings().first()
    return None if row is None else _person(row)


def add_person(
    store: Store, name: str, role: str, password: str | None, now: datetime | None = None
) -> Person:
    """Give somebody an account.

    Parameters
    ----------
    store : Store
        The journal [-].
    name : str
        One that nobody has yet [-].
    role : str
        keeper or viewer [-].
    password : str or None
        10 to 200 letters; None for somebody who comes in by a link alone [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].

    Returns
    -------
    Person

    Raises
    ------
    RefusedField
        With the field and what is allowed.
    """
    name = name_text("name", name)
    if role not in ROLES:
        raise RefusedField("role", f"role is {role!r}; allowed is {', '.join(ROLES)}.")
    kept = "" if password is None else _hasher().hash(_checked(password, name))
    row = {
        "name": name,
        "folded": name.casefold(),
        "role": role,
        "password": kept,
        "made": now or datetime.now(UTC),
    }
    with writing(store.engine) as connection:
        there = select(PEOPLE.c.number).where(PEOPLE.c.folded == row["folded"])
        if connection.execute(there).first() is not None:
            raise RefusedField("name", f"{name} has an account already; choose another name.")
        first = connection.execute(select(func.count()).select_from(PEOPLE)).scalar_one() == 0
        if first and (role != KEEPER or not kept):
            raise RefusedField("role", "the first account is a keeper's, with a password.")
        connection.execute(insert(PEOPLE).values(row))
        return _person(
            connection.execute(select(PEOPLE).where(PEOPLE.c.folded == row["folded"]))
            .mappings()
            .one()
        )


def set_password(store: Store, person: Person, password: str, keep: str = "") -> None:
    """Change a password; every device of that person but one is logged out.

    Raises
    ------
    RefusedField
        If it is too short, too long or the name itself.
    """
    kept = _hasher().hash(_checked(password, person.name))
    with writing(store.engine) as connection:
        mine = PEOPLE.c.number == person.number
        connection.execute(update(PEOPLE).where(mine).values(password=kept))
        others = (SESSIONS.c.person == person.number) & (SESSIONS.c.secret != hashed(keep))
        connection.execute(delete(SESSIONS).where(others))


def set_role(store: Store, number: int, role: str) -> None:
    """Make somebody a keeper or a viewer.

    Raises
    ------
    RefusedField
        If the role is unknown, or the last keeper would be none.
    """
    if role not in ROLES:
        raise RefusedField("role", f"role is {role!r}; allowed is {', '.join(ROLES)}.")
    with writing(store.engine) as connection:
        if role != KEEPER:
            _refuse_last_keeper(connection, number)
        connection.execute(update(PEOPLE).where(PEOPLE.c.number == number).values(role=role))


def remove_person(store: Store, number: int) -> None:
    """Take an account away with its devices and links.

    Raises
    ------
    RefusedField
        If it is the last keeper's and others remain.
    """
    with writing(store.engine) as connection:
        _refuse_last_keeper(connection, number)
        connection.execute(delete(SESSIONS).where(SESSIONS.c.person == number))
        connection.execute(delete(CODES).where(CODES.c.person == number))
        connection.execute(delete(PEOPLE).where(PEOPLE.c.number == number))


def log_in(
    store: Store, name: str, password: str, address: str, device: str, now: datetime | None = None
) -> str:
    """Check a password and begin a session.

    Parameters
    ----------
    store : Store
        The journal [-].
    name, password : str
        As typed [-].
    address : str
        Where it comes from; failures are counted for it and for the name [-].
    device : str
        Name of the browser, for the list of devices [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].

    Returns
    -------
    str
        The secret of the session, always a new one.

    Raises
    ------
    TooOften
        If it failed too often lately.
    WrongPassword
        If name or password are wrong.
    """
    now = now or datetime.now(UTC)
    counted = (f"name {name.strip().casefold()[:120]}", f"address {address[:60]}")
    _refuse_if_waiting(store, counted, now)
    chosen = select(PEOPLE).where(PEOPLE.c.folded == name.strip().casefold())
    with reading(store.engine) as connection:
        row = connection.execute(chosen).mappings().first()
    kept = row["password"] if row is not None and row["password"] else _nobody()
    try:
        _hasher().verify(kept, password[:LONGEST])
        known = row is not None and bool(row["password"])
    except (Argon2Error, InvalidHashError):
        known = False
    if not known or row is None:
        _count_failure(store, counted, now)
        raise WrongPassword("Name or password is wrong; try again, or ask a keeper.")
    with writing(store.engine) as connection:
        connection.execute(delete(FAILURES).where(FAILURES.c.what.in_(counted)))
    return begin_session(store, int(row["number"]), device, now)


def begin_session(store: Store, person: int, device: str, now: datetime | None = None) -> str:
    """Begin a session of somebody who has shown who they are; gives its secret."""
    now = now or datetime.now(UTC)
    secret = secrets.token_urlsafe(32)
    with writing(store.engine) as connection:
        connection.execute(delete(SESSIONS).where(SESSIONS.c.expires < now))
        last = connection.execute(select(func.max(SESSIONS.c.number))).scalar() or 0
        connection.execute(
            insert(SESSIONS).values(
                secret=hashed(secret),
                number=last + 1,
                person=person,
                device=device[:200],
                made=now,
                seen=now,
                expires=now + SESSION_LIFE,
            )
        )
    return secret


def person_of(store: Store, secret: str, now: datetime | None = None) -> Person | None:
    """Whose session a secret is; None if it is nobody's or has ended."""
    now = now or datetime.now(UTC)
    chosen = (
        select(PEOPLE, SESSIONS.c.seen)
        .join(SESSIONS, SESSIONS.c.person == PEOPLE.c.number)
        .where((SESSIONS.c.secret == hashed(secret)) & (SESSIONS.c.expires > now))
    )
    with reading(store.engine) as connection:
        row = connection.execute(chosen).mappings().first()
    if row is None:
        return None
    if now - row["seen"] > SEEN_EVERY:
        with writing(store.engine) as connection:
            mine = SESSIONS.c.secret == hashed(secret)
            later = {"seen": now, "expires": now + SESSION_LIFE}
            connection.execute(update(SESSIONS).where(mine).values(later))
    return _person(row)


def devices(store: Store, person: int | None = None) -> tuple[Device, ...]:
    """Browsers that are logged in, of one person or of all, the one seen last first."""
    chosen = select(SESSIONS).order_by(SESSIONS.c.seen.desc())
    if person is not None:
        chosen = chosen.where(SESSIONS.c.person == person)
    with reading(store.engine) as connection:
        return tuple(
            Device(row["number"], row["person"], row["device"], row["made"], row["seen"])
            for row in connection.execute(chosen).mappings()
        )


def log_out(store: Store, secret: str) -> None:
    """End a session."""
    with writing(store.engine) as connection:
        connection.execute(delete(SESSIONS).where(SESSIONS.c.secret == hashed(secret)))


def end_device(store: Store, number: int, person: int | None = None) -> None:
    """End the session of a device, of one person if given."""
    mine = SESSIONS.c.number == number
    if person is not None:
        mine &= SESSIONS.c.person == person
    with writing(store.engine) as connection:
        connection.execute(delete(SESSIONS).where(mine))


def make_code(
    store: Store,
    kind: str,
    name: str,
    bin_name: str = "",
    person: int | None = None,
    now: datetime | None = None,
) -> str:
    """Make a code at a lid, a one-time link for a phone, or the key of a program.

    Parameters
    ----------
    store : Store
        The journal [-].
    kind : str
        lid, pairing or program [-].
    name : str
        What it is called in lists [-].
    bin_name : str
        Bin that a code at a lid is for [-].
    person : int or None
        Whose phone is to come in [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].

    Returns
    -------
    str
        Its secret, which is shown once and not kept.
    """
    now = now or datetime.now(UTC)
    secret = secrets.token_urlsafe(24)
    row: dict[str, Any] = {
        "secret": hashed(secret),
        "kind": kind,
        "name": name_text("name", name),
        "bin": bin_name,
        "person": person,
        "made": now,
        "expires": now + PAIRING_LIFE if kind == PAIRING else None,
    }
    with writing(store.engine) as connection:
        old = (CODES.c.kind == PAIRING) & (CODES.c.expires < now - FORGIVEN)
        connection.execute(delete(CODES).where(old))
        connection.execute(insert(CODES).values(row))
    return secret


def codes(store: Store, kind: str) -> tuple[Code, ...]:
    """Codes of a kind that still hold, the newest first."""
    chosen = select(CODES).where((CODES.c.kind == kind) & CODES.c.ended.is_(None))
    with reading(store.engine) as connection:
        rows = connection.execute(chosen.order_by(CODES.c.number.desc())).mappings()
        return tuple(_code(row) for row in rows)


def code_of(store: Store, kind: str, secret: str, now: datetime | None = None) -> Code | None:
    """The code of a secret; None if there is none, or it was revoked or is too old."""
    now = now or datetime.now(UTC)
    chosen = select(CODES).where(
        (CODES.c.secret == hashed(secret)) & (CODES.c.kind == kind) & CODES.c.ended.is_(None)
    )
    with reading(store.engine) as connection:
        row = connection.execute(chosen).mappings().first()
    if row is None or (row["expires"] is not None and row["expires"] < now):
        return None
    return _code(row)


def revoke(store: Store, number: int, now: datetime | None = None) -> None:
    """End a code for good."""
    with writing(store.engine) as connection:
        mine = (CODES.c.number == number) & CODES.c.ended.is_(None)
        connection.execute(update(CODES).where(mine).values(ended=now or datetime.now(UTC)))


def pair(store: Store, secret: str, device: str, now: datetime | None = None) -> str:
    """Turn a one-time link into a session; it works once and for ten minutes.

    Raises
    ------
    WrongPassword
        If it was used, or is too old.
    """
    now = now or datetime.now(UTC)
    found = code_of(store, PAIRING, secret, now)
    with writing(store.engine) as connection:
        mine = (CODES.c.secret == hashed(secret)) & CODES.c.ended.is_(None)
        spent = update(CODES).where(mine).values(ended=now, used=now)
        once = found is not None and connection.execute(spent).rowcount == 1
    if not once or found is None or found.person is None:
        raise WrongPassword("This link was used already or is older than ten minutes; ask again.")
    return begin_session(store, found.person, device, now)


def rota(store: Store) -> dict[int, str]:
    """Who feeds on which day of the week, 0 for Monday."""
    with reading(store.engine) as connection:
        return {row.weekday: row.name for row in connection.execute(select(ROTA))}


def set_rota(store: Store, names: dict[int, str]) -> None:
    """Change who feeds on which day; empty names are left out."""
    rows = [
        {"weekday": day, "name": name_text("name", name)}
        for day, name in sorted(names.items())
        if name.strip() and 0 <= day <= 6
    ]
    with writing(store.engine) as connection:
        connection.execute(delete(ROTA))
        if rows:
            connection.execute(insert(ROTA), rows)


@cache
def _nobody() -> str:
    """A hash that nothing fits, so that an unknown name takes as long as a known one."""
    return _hasher().hash(secrets.token_urlsafe(16))


def _checked(password: str, name: str) -> str:
    if not SHORTEST <= len(password) <= LONGEST:
        raise RefusedField(
            "password",
            f"the password has {len(password)} letters; allowed is {SHORTEST} to {LONGEST}: "
            "three or four words that do not belong together are good.",
        )
    if password.casefold().strip() in (name.casefold(), "password" * 2, "slowfire" * 2) or (
        len(set(password)) < 4
    ):
        raise RefusedField("password", "that is too easy to guess; take three or four words.")
    return password


def _refuse_if_waiting(store: Store, counted: tuple[str, ...], now: datetime) -> None:
    chosen = select(func.max(FAILURES.c.until)).where(FAILURES.c.what.in_(counted))
    with reading(store.engine) as connection:
        until = connection.execute(chosen).scalar()
    if until is not None:
        until = until.replace(tzinfo=UTC) if until.tzinfo is None else until
        if until > now:
            seconds = int((until - now).total_seconds()) + 1
            raise TooOften(f"Too many failed log-ins; try again in {seconds} s.")


def _count_failure(store: Store, counted: tuple[str, ...], now: datetime) -> None:
    with writing(store.engine) as connection:
        connection.execute(delete(FAILURES).where(FAILURES.c.until < now - FORGIVEN))
        for what in counted:
            mine = FAILURES.c.what == what
            before = connection.execute(select(FAILURES.c.count).where(mine)).scalar() or 0
            over = before + 1 - FREE_TRIES
            wait = timedelta(0) if over < 0 else min(FIRST_WAIT * 2 ** min(over, 12), LONGEST_WAIT)
            values = {"what": what, "count": before + 1, "until": now + wait}
            if connection.execute(update(FAILURES).where(mine).values(values)).rowcount == 0:
                connection.execute(insert(FAILURES).values(values))


def _refuse_last_keeper(connection: Any, number: int) -> None:
    keepers = connection.execute(
        select(PEOPLE.c.number).where((PEOPLE.c.role == KEEPER) & (PEOPLE.c.password != ""))
    ).scalars()
    every = connection.execute(select(func.count()).select_from(PEOPLE)).scalar_one()
    if set(keepers) == {number} and every > 1:
        raise RefusedField("role", "the last keeper stays; make somebody else a keeper first.")


def _person(row: Any) -> Person:
    return Person(row["number"], row["name"], row["role"], row["made"])


def _code(row: Any) -> Code:
    return Code(*(row[name] for name in Code.__dataclass_fields__))


def forget_everybody(store: Store) -> None:
    """Take every account, device and code away, so that the journal is open here again.

    Raises
    ------
    InvalidInput
        If there is no account.
    """
    if not any_people(store):
        raise InvalidInput("Nobody has an account here.")
    with writing(store.engine) as connection:
        for table in (SESSIONS, CODES, FAILURES, PEOPLE):
            connection.execute(delete(table))
