"""Entries that waited on a phone: their time by the phone's clock, put right, and written once."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from uuid import UUID

from fastapi import Request
from fastapi.responses import JSONResponse, Response

from slowfire.errors import InvalidInput, SlowfireError
from slowfire.journal.store import Store
from slowfire.records import Entry
from slowfire.refusals import RefusedField
from slowfire.web.home import Home

HEADER = "x-slowfire-queue"
CLOCK_SLACK = timedelta(minutes=2)  # a phone's clock may be so far off without a correction
LONGEST_WAIT = timedelta(days=60)


def happened(typed: Mapping[str, str], now: datetime) -> datetime:
    """When something was typed on a phone that was out of reach, by the clock of this machine.

    A phone says when it was typed and what its clock shows as it is sent; the difference between
    that and the present is how wrong its clock is.

    Parameters
    ----------
    typed : mapping of str to str
        With `typed_at` and `sent_at`, ISO with offset; the present without them [-].
    now : datetime
        The present [-].

    Returns
    -------
    datetime
        Never after the present.

    Raises
    ------
    RefusedField
        If a time cannot be read, or it waited longer than 60 days.

    Examples
    --------
    >>> now = datetime(2026, 3, 14, 12, tzinfo=UTC)
    >>> late = {"typed_at": "2026-03-15T09:00:00+00:00", "sent_at": "2026-03-15T12:00:00+00:00"}
    >>> happened(late, now).isoformat()
    '2026-03-14T09:00:00+00:00'
    """
    if not typed.get("typed_at"):
        return now
    at = _moment("typed_at", typed["typed_at"])
    sent = _moment("sent_at", typed.get("sent_at") or typed["typed_at"])
    if sent < at or sent - at > LONGEST_WAIT:
        raise RefusedField("when", "it waited longer than 60 days; write it again with its date.")
    wrong = sent - now
    return min(at - wrong if abs(wrong) > CLOCK_SLACK else at, now)


def write_form(
    request: Request,
    home: Home,
    typed: Mapping[str, str],
    make: Callable[[datetime], Entry],
    refuse: Callable[[str, str], Response],
    done: Callable[[bool], Response],
) -> Response:
    """Write what a form makes; a phone that was out of reach is answered in JSON.

    Parameters
    ----------
    request : Request
        With the header of a phone that kept the form, or without.
    home : Home
        Whose journal.
    typed : mapping of str to str
        What was typed [-].
    make : callable
        Makes the entry, given when it was typed.
    refuse : callable
        Answers a page, given the field and what is wrong with it.
    done : callable
        Answers a page, given whether the entry is new.

    Returns
    -------
    Response
    """
    queued = HEADER in request.headers
    now = home.clock()
    try:
        entry = replace(make(happened(typed, now)), recorded=now)
        fresh = write_once(home.store, entry)
    except SlowfireError as problem:
        field = problem.field if isinstance(problem, RefusedField) else ""
        if queued:
            return JSONResponse({"message": str(problem), "field": field}, 422)
        return refuse(field, str(problem))
    home.refresh(entry.bin)
    if queued:
        return JSONResponse({"written": str(entry.id), "new": fresh})
    return done(fresh)


def write_once(store: Store, entry: Entry) -> bool:
    """Write an entry unless its id was written before.

    Parameters
    ----------
    store : Store
        The journal [-].
    entry : Entry
        To write [-].

    Returns
    -------
    bool
        False if it was there already, sent before or by the other hand at the same time.

    Raises
    ------
    InvalidInput
        If the id stands for something of another kind, or as `Store.append`.
    """
    if _there(store, entry.id, entry.kind):
        return False
    try:
        return bool(store.append([entry]).new)
    except InvalidInput:
        if _there(store, entry.id, entry.kind):
            return False
        raise


def _there(store: Store, own_id: UUID, kind: str) -> bool:
    known = store.entry(own_id)
    if known is not None and known.kind != kind:
        raise InvalidInput("That was sent already as something else; open the page anew.")
    return known is not None


def _moment(field: str, text: str) -> datetime:
    try:
        found = datetime.fromisoformat(text.replace("Z", "+00:00"))
    except ValueError as problem:
        raise RefusedField(field, f"read {text!r}; allowed is a time with its offset.") from problem
    return found if found.tzinfo else found.replace(tzinfo=UTC)
