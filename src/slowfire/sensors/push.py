"""Values that a device sends to this computer by HTTP: who may, and what the body says."""

import csv
import hashlib
import hmac
import io
import json
import secrets
from collections.abc import Mapping, Sequence
from datetime import datetime

from slowfire.errors import InvalidInput
from slowfire.refusals import RefusedField
from slowfire.sensors.measurement import (
    FIRST_CHANNEL,
    TEMPERATURE,
    Measurement,
    number_of,
    time_of,
)

LARGEST_BODY = 2_000_000  # bytes
MOST_VALUES = 20_000  # of one body
KEYS = ("channel", "when", "value", "unit", "quantity")
TOKEN_BYTES = 32


class NotAllowed(InvalidInput):
    """A body without the token of a device."""


def new_token() -> str:
    """Draw a token for a device; it is shown once, and only its hash is kept."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def token_hash(token: str) -> str:
    """What is kept of a token; drawn from 256 bits, it needs no slow hash.

    Examples
    --------
    >>> len(token_hash("abc"))
    64
    """
    return hashlib.sha256(token.encode()).hexdigest()


def pushed(
    body: bytes,
    token: str,
    devices: Mapping[str, str],
    now: datetime,
    units: Mapping[str, str] | None = None,
) -> tuple[Measurement, ...]:
    """Read what a device sent.

    Parameters
    ----------
    body : bytes
        JSON, one object or a list of them, or lines of CSV with a heading; each with value, and
        if need be channel, when, unit, quantity; up to 2 MB and 20000 values [-].
    token : str
        Token of the device [-].
    devices : mapping of str to str
        Name of the device by the hash of its token [-].
    now : datetime
        The present, for values that come without a time [-].
    units : mapping of str to str or None
        Unit of each channel, for values that come without one; C if it is not named [-].

    Returns
    -------
    tuple of Measurement

    Raises
    ------
    NotAllowed
        If no device has this token.
    InvalidInput
        If the body cannot be read; then none of it is taken.

    Examples
    --------
    >>> from datetime import UTC
    >>> known = {token_hash("secret"): "north"}
    >>> now = datetime(2026, 3, 2, 9, tzinfo=UTC)
    >>> pushed(b'{"value": 41.5}', "secret", known, now)[0].si
    41.5
    """
    device = device_of(token, devices)
    if len(body) > LARGEST_BODY:
        raise InvalidInput(f"The body has {len(body)} bytes; allowed is up to {LARGEST_BODY}.")
    try:
        text = body.decode("utf-8-sig").strip()
    except UnicodeDecodeError as problem:
        raise InvalidInput(
            "The body is not in UTF-8; allowed is JSON or CSV in UTF-8."
        ) from problem
    if not text:
        raise InvalidInput('The body is empty; send JSON such as {"value": 41.5}.')
    rows = _of_json(text) if text[0] in "[{" else _of_csv(text)
    if len(rows) > MOST_VALUES:
        raise InvalidInput(f"{len(rows)} values were sent; allowed is up to {MOST_VALUES} at once.")
    return tuple(
        _measurement(device, place, row, now, units or {}) for place, row in enumerate(rows, 1)
    )


def device_of(token: str, devices: Mapping[str, str]) -> str:
    """Name of the device that a token belongs to.

    Raises
    ------
    NotAllowed
        If there is none.
    """
    given = token_hash(token)
    for known, name in devices.items():
        if hmac.compare_digest(known, given):
            return name
    raise NotAllowed(
        "This token belongs to no device; make one with slowfire sensors --token NAME and send it "
        "as Authorization: Bearer TOKEN."
    )


def _of_json(text: str) -> Sequence[Mapping[str, object]]:
    try:
        found = json.loads(text)
    except (ValueError, RecursionError) as problem:
        raise InvalidInput(
            f'The body is no JSON ({str(problem)[:80]}); send such as {{"value": 41.5}}.'
        ) from problem
    rows = found if isinstance(found, list) else [found]
    for place, row in enumerate(rows, start=1):
        if not isinstance(row, dict):
            raise InvalidInput(f"Value {place} is {str(row)[:40]!r}; allowed is an object.")
        for key in row:
            if key not in KEYS:
                raise InvalidInput(
                    f"Value {place} holds {str(key)[:40]!r}; allowed is {', '.join(KEYS)}."
                )
    return rows


def _of_csv(text: str) -> Sequence[Mapping[str, object]]:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        lines = [[cell.strip() for cell in line] for line in reader if any(line)] or [[""]]
    except csv.Error as problem:
        raise InvalidInput(f"The CSV cannot be read ({problem}); close every quote.") from problem
    heading = [cell.casefold() for cell in lines[0]]
    if "value" not in heading or len(set(heading)) < len(heading) or set(heading) - set(KEYS):
        raise InvalidInput(
            f"The first line reads {','.join(lines[0])[:80]!r}; allowed is a heading of "
            f"{', '.join(KEYS)}, of which value must be there."
        )
    rows = []
    for place, cells in enumerate(lines[1:], start=1):
        if len(cells) != len(heading):
            raise InvalidInput(
                f"Value {place} has {len(cells)} cells; allowed is {len(heading)}, as in the "
                "heading."
            )
        rows.append({key: cell for key, cell in zip(heading, cells, strict=True) if cell})
    return rows


def _measurement(
    device: str, place: int, row: Mapping[str, object], now: datetime, units: Mapping[str, str]
) -> Measurement:
    if "value" not in row:
        raise InvalidInput(f'Value {place} has no value; send such as {{"value": 41.5}}.')
    channel = str(row.get("channel", FIRST_CHANNEL))
    quantity = str(row.get("quantity", TEMPERATURE))
    usual = {TEMPERATURE: units.get(channel, "C"), "relative_humidity": "%", "battery": "V"}
    try:
        return Measurement(
            device,
            channel,
            time_of(row["when"]) if row.get("when") is not None else now,
            number_of(row["value"]),
            quantity,
            str(row.get("unit", usual.get(quantity, ""))),
        )
    except RefusedField as problem:
        raise InvalidInput(f"Value {place}: {problem}") from problem
