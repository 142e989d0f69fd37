"""What an entry holds as JSON text in the words of the text form, and back."""

import json

from slowfire.journal.cells import PAYLOAD_COLUMNS, read_payload, write_payload
from slowfire.kinds import Load, Payload
from slowfire.records import RETRACT


def payload_text(payload: Payload | None) -> str:
    """Write a payload.

    Parameters
    ----------
    payload : Payload or None
        What happened; None for a retraction [-].

    Returns
    -------
    str
        A JSON list with an object for each row that the text form would have.

    Examples
    --------
    >>> from slowfire.kinds import Stir
    >>> from slowfire.quantities import Length
    >>> payload_text(Stir(Length(12, "cm")))
    '[{"amount": "12", "unit": "cm"}]'
    """
    parts: tuple[dict[str, str], ...] = ()
    if isinstance(payload, Load):
        parts = tuple(write_payload(item) for item in payload.items)
    elif payload is not None:
        parts = (write_payload(payload),)
    plain = [{key: value for key, value in one.items() if value} for one in parts]
    return json.dumps(plain, ensure_ascii=False, sort_keys=True)


def payload_of(kind: str, text: str) -> Payload | None:
    """Read a payload that `payload_text` wrote.

    Parameters
    ----------
    kind : str
        Word for what happened [-].
    text : str
        JSON [-].

    Returns
    -------
    Payload or None
        None for a retraction.

    Raises
    ------
    SlowfireError
        If it was not written by `payload_text`.

    Examples
    --------
    >>> payload_of("stir", '[{"amount": "12", "unit": "cm"}]').depth.metres
    0.12
    """
    if kind == RETRACT:
        return None
    parts = [
        read_payload(kind, {column: one.get(column, "") for column in PAYLOAD_COLUMNS}, False)
        for one in json.loads(text)
    ]
    loads = [one for one in parts if isinstance(one, Load)]
    if loads:
        return Load(tuple(item for one in loads for item in one.items))
    return parts[0]
