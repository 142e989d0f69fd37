"""Entries as lines of JSON, one entry a line, and back; the words are those of the text form."""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import UTC
from typing import Any

from slowfire.journal.cells import PAYLOAD_COLUMNS
from slowfire.journal.entries import entry_cells, read_row, settled
from slowfire.kinds import Load
from slowfire.records import Entry
from slowfire.refusals import nearest
from slowfire.site import Site
from slowfire.tables_text import CellError, Problems

HEAD = ("id", "when", "bin", "kind", "who", "recorded", "corrects", "note")
ROW = tuple(column for column in PAYLOAD_COLUMNS if column != "note")
KEYS = (*HEAD, "rows")
NEEDED = ("id", "when", "kind")


def entry_line(entry: Entry) -> str:
    """Write an entry as one line of JSON, times in UTC.

    Examples
    --------
    >>> from datetime import datetime
    >>> from uuid import UUID
    >>> from slowfire.kinds import Usual
    >>> entry_line(Entry(UUID(int=7), "Box", datetime(2026, 3, 2, 9, tzinfo=UTC), Usual()))
    '{"id": "00000000-0000-0000-0000-000000000007", "when": "2026-03-02T09:00:00+00:00", "bin": \
"Box", "kind": "usual"}'
    """
    parts = entry_cells(entry)
    head = {**parts[0], "id": str(entry.id), "when": entry.when.astimezone(UTC).isoformat()}
    if entry.recorded is not None:
        head["recorded"] = entry.recorded.astimezone(UTC).isoformat()
    line: dict[str, Any] = {key: head[key] for key in HEAD if head.get(key)}
    rows = [{column: one[column] for column in ROW if one.get(column)} for one in parts]
    if any(rows):
        line["rows"] = rows
    return json.dumps(line, ensure_ascii=False)


def read_lines(lines: Iterable[str], site: Site, file: str) -> tuple[Entry, ...]:
    """Return the entries of lines that `entry_line` wrote.

    Parameters
    ----------
    lines : iterable of str
        One entry each; empty ones are left out [-].
    site : Site
        The place they belong to [-].
    file : str
        Name of the file, for messages [-].

    Raises
    ------
    JournalError
        With file, line, column, what was read and what is allowed; up to ten problems, one a line.
    """
    problems = Problems(file)
    found: list[tuple[int, Entry]] = []
    for number, text in enumerate(lines, start=1):
        if not text.strip():
            continue
        try:
            found.append((number, _entry(text, site)))
        except CellError as problem:
            problems.add(number, problem.column, problem.message)
    return settled(found, problems)


def _entry(text: str, site: Site) -> Entry:
    try:
        line = json.loads(text)
    except (ValueError, RecursionError) as problem:
        place = getattr(problem, "colno", 1)
        shown = text.strip()[max(place - 1, 0) :][:20]
        raise CellError(
            f"{place}", f'read {shown!r}; allowed is one entry in JSON, such as {{"id": ...}}.'
        ) from problem
    head, rows = _checked(line)
    parts = [read_row({**head, **row}, site, False) for row in rows]
    items = [item for one in parts if isinstance(one.payload, Load) for item in one.payload.items]
    if items:
        return replace(parts[0], payload=Load(tuple(items)))
    if len(parts) > 1:
        raise CellError("rows", f"read {len(parts)} rows; allowed is one, but for a load.")
    return parts[0]


def _checked(line: object) -> tuple[dict[str, str], list[dict[str, str]]]:
    """Head and rows of a line, all of them words."""
    if not isinstance(line, dict):
        raise CellError("1", f"read {line!r:.40}; allowed is an object with {', '.join(KEYS)}.")
    rows = line.pop("rows", [{}])
    head = dict(_words(line, HEAD))
    for key in NEEDED:
        if not head.get(key):
            raise CellError(key, f"read nothing; every line needs {', '.join(NEEDED)}.")
    if not isinstance(rows, list) or not rows or not all(isinstance(one, dict) for one in rows):
        raise CellError("rows", f"read {rows!r:.40}; allowed is a list of objects.")
    empty = dict.fromkeys((*HEAD, *PAYLOAD_COLUMNS), "")
    return empty | head, [dict(_words(one, ROW)) for one in rows]


def _words(given: Mapping[str, object], allowed: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for key, value in given.items():
        if key not in allowed:
            raise CellError(
                key, f"read {key!r}; allowed is {', '.join(allowed)}.{nearest(key, allowed)}"
            )
        if not isinstance(value, str):
            raise CellError(key, f"read {value!r:.40}; allowed is words in quotes.")
        yield key, value
