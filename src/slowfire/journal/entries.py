"""Entries as rows of text, and back."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from uuid import UUID, uuid5

from slowfire.errors import InvalidInput, UnknownName
from slowfire.journal.cells import PAYLOAD_COLUMNS, read_payload, write_payload
from slowfire.kinds import Load, LoadItem, Reading, Setting, Test
from slowfire.records import KINDS, RETRACT, SITE_WIDE, Entry, effective_entries
from slowfire.refusals import RefusedField, nearest
from slowfire.site import Site
from slowfire.tables_text import CellError, Problems, TextTable, read_time, time_text

COLUMNS = (
    "id", "when", "bin", "kind", *PAYLOAD_COLUMNS, "who", "recorded", "corrects",
)  # fmt: skip
REQUIRED = ("when", "kind")
# Ids of rows written without one are made in this space; it must never change.
ROW_SPACE = UUID("6f0d3b52-9c1e-4a57-8f6e-2d1c7a90b4e3")

__all__ = [
    "COLUMNS", "REQUIRED", "check_entry", "effective_entries", "entry_cells", "read_row",
    "read_rows", "settled", "write_rows",
]  # fmt: skip


def read_rows(table: TextTable, site: Site) -> tuple[Entry, ...]:
    """Return the entries of a table in the order of its rows.

    Rows of a load that follow each other with one id are one entry. A row without an id gets one
    made from its content. An entry met again unchanged is left out.

    Parameters
    ----------
    table : TextTable
        Rows with the columns of `COLUMNS` [-].
    site : Site
        The place whose bins, people and time zone the rows use [-].

    Raises
    ------
    JournalError
        If a cell cannot be read, an id stands for two contents or a corrected id is missing.
    """
    problems = Problems(table.file)
    found: list[tuple[int, Entry]] = []
    seen: dict[str, int] = {}
    for row in table.rows:
        try:
            entry = read_row(row.cells, site, table.decimal_comma)
        except CellError as problem:
            problems.add(row.line, problem.column, problem.message)
            continue
        if entry.id == _NO_ID:
            entry = _with_id(entry, _row_id(entry, seen))
        elif found and (joined := _joined(found[-1][1], entry)):
            found[-1] = (found[-1][0], joined)
            continue
        found.append((row.line, entry))
    return settled(found, problems)


def settled(found: Sequence[tuple[int, Entry]], problems: Problems) -> tuple[Entry, ...]:
    """Return the entries of one file, each once, or say on which lines they do not fit together.

    Parameters
    ----------
    found : sequence of tuple
        Line and entry, in the order of the file [-].
    problems : Problems
        What was wrong in the file so far [-].

    Raises
    ------
    JournalError
        If there are problems, an id stands for two contents, or a corrected id is missing.
    """
    lines: dict[UUID, int] = {}
    kept: dict[UUID, Entry] = {}
    for line, entry in found:
        first = kept.setdefault(entry.id, entry)
        if first != entry and not _part_of(entry, first):
            problems.add(
                line,
                "id",
                f"read {entry.id}; line {lines[entry.id]} has the same id with other content: "
                "give this row a new id, and the old one under corrects if it replaces it.",
            )
        lines.setdefault(entry.id, line)
    for entry in kept.values():
        if entry.corrects is not None and entry.corrects not in kept:
            problems.add(
                lines[entry.id],
                "corrects",
                f"read {entry.corrects}; allowed is the id of an entry in this file.",
            )
    problems.stop()
    try:
        effective_entries(kept.values())
    except InvalidInput as problem:
        ringed = next((one for one in kept.values() if str(one.id) in str(problem)), None)
        problems.add(lines[ringed.id] if ringed else 1, "corrects", str(problem))
        problems.stop()
    return tuple(kept.values())


def write_rows(entries: Sequence[Entry], site: Site) -> list[tuple[str, ...]]:
    """Return the rows of entries in the order of `COLUMNS`; a load gives one for each item."""
    rows: list[tuple[str, ...]] = []
    for entry in entries:
        for cells in entry_cells(entry):
            cells["id"] = str(entry.id)
            cells["when"] = time_text(entry.when, site.zone)
            if entry.recorded is not None:
                cells["recorded"] = time_text(entry.recorded, site.zone)
            rows.append(tuple(cells.get(column, "") for column in COLUMNS))
    return rows


def check_entry(entry: Entry, site: Site) -> None:
    """Refuse an entry that names a bin, person or thermometer the site does not have.

    Raises
    ------
    InvalidInput
        With the names there are.
    """
    names = [one.name for one in site.bins]
    if entry.bin and entry.bin not in names:
        raise RefusedField("bin", _unknown("bin", entry.bin, names))
    if site.people and entry.who and entry.who not in site.people:
        raise RefusedField("who", _unknown("person", entry.who, site.people))
    payload = entry.payload
    thermometer = payload.thermometer if isinstance(payload, Reading | Test) else None
    if isinstance(payload, Setting):
        if payload.about == "bin" and payload.name not in names:
            raise RefusedField("item", _unknown("bin", payload.name, names))
        if payload.about == "thermometer":
            thermometer = payload.name
    if thermometer is not None:
        try:
            site.thermometer_named(thermometer)
        except UnknownName as problem:
            column = "value" if isinstance(payload, Test) else "item"
            raise RefusedField(column, str(problem)) from problem


_NO_ID = UUID(int=0)


def read_row(cells: Mapping[str, str], site: Site, decimal_comma: bool) -> Entry:
    """Return the entry of one row; without an id its id is all zeros.

    Raises
    ------
    CellError
        With the column, what was read and what is allowed.
    """
    kind = cells["kind"].casefold().replace(" ", "_").replace("-", "_")
    if kind not in KINDS and kind != RETRACT:
        allowed = [*KINDS, RETRACT]
        raise CellError(
            "kind",
            f"read {cells['kind']!r}; allowed is {', '.join(allowed)}.{nearest(kind, allowed)}",
        )
    when = _time("when", cells["when"], site)
    recorded = _time("recorded", cells["recorded"], site) if cells.get("recorded") else None
    own_id = _uuid("id", cells.get("id", "")) or _NO_ID
    corrects = _uuid("corrects", cells.get("corrects", ""))
    name = _bin(cells.get("bin", ""), kind, site)
    if kind == RETRACT:
        for column in PAYLOAD_COLUMNS[:-1]:
            if cells.get(column):
                raise CellError(
                    column,
                    f"read {cells[column]!r}; allowed is nothing: a retract only takes back.",
                )
        payload = None
    else:
        payload = read_payload(kind, cells, decimal_comma)
    note = "" if kind == "note" else cells.get("note", "")
    try:
        entry = Entry(
            own_id, name, when, payload, recorded, cells.get("who", ""), note, corrects,
            kind == RETRACT,
        )  # fmt: skip
        check_entry(entry, site)
    except RefusedField as problem:
        column = problem.field if problem.field in COLUMNS else "kind"
        raise CellError(column, f"read {cells.get(column, '')!r}; {problem}") from problem
    return entry


def _time(column: str, text: str, site: Site) -> datetime:
    if not text:
        raise CellError(column, "read nothing; write when it was, such as 2026-03-12 18:30.")
    try:
        return read_time(text, site.zone)
    except InvalidInput as problem:
        raise CellError(column, str(problem)) from problem


def _uuid(column: str, text: str) -> UUID | None:
    if not text:
        return None
    try:
        value = UUID(text)
    except ValueError as problem:
        raise CellError(
            column,
            f"read {text!r}; allowed is a UUID of 32 hex digits, or nothing.",
        ) from problem
    if value == _NO_ID:
        raise CellError(column, f"read {text!r}; a UUID of zeros names nothing: leave it empty.")
    return value


def _bin(text: str, kind: str, site: Site) -> str:
    names = [one.name for one in site.bins]
    if text:
        wanted = " ".join(text.split()).casefold()
        for name in names:
            if name.casefold() == wanted:
                return name
        raise CellError("bin", f"read {text!r}; {_unknown('bin', text, names)}")
    if kind in SITE_WIDE:
        return ""
    if len(names) == 1:
        return names[0]
    raise CellError(
        "bin", f"read nothing; a {kind} belongs to a bin: allowed is {', '.join(names)}."
    )


def _unknown(what: str, name: str, names: Sequence[str]) -> str:
    return (
        f"no {what} of that name is in site.toml; allowed is {', '.join(names)}."
        f"{nearest(name, names)}"
    )


def entry_cells(entry: Entry) -> list[dict[str, str]]:
    """Return the cells of an entry but id and times, one row for each item of a load."""
    payload = entry.payload
    parts: Sequence[dict[str, str]]
    if payload is None:
        parts = [dict.fromkeys(PAYLOAD_COLUMNS, "")]
    elif isinstance(payload, Load):
        parts = [write_payload(item) for item in payload.items]
    else:
        parts = [write_payload(payload)]
    for cells in parts:
        cells["bin"] = entry.bin
        cells["kind"] = entry.kind
        cells["note"] = cells["note"] or entry.note
        cells["who"] = entry.who
        cells["corrects"] = str(entry.corrects) if entry.corrects else ""
    return list(parts)


def _row_id(entry: Entry, seen: dict[str, int]) -> UUID:
    """Make an id from what a row says, so that the same row always gets the same one."""
    cells = entry_cells(entry)[0]
    cells["when"] = entry.when.astimezone(UTC).isoformat()
    cells["recorded"] = entry.recorded.astimezone(UTC).isoformat() if entry.recorded else ""
    content = "\x1f".join(f"{column}={cells[column]}" for column in COLUMNS[1:])
    seen[content] = seen.get(content, 0) + 1
    return uuid5(ROW_SPACE, content if seen[content] == 1 else f"{content}\x1f#{seen[content]}")


def _with_id(entry: Entry, own_id: UUID, items: tuple[LoadItem, ...] = ()) -> Entry:
    return replace(entry, id=own_id, payload=Load(items) if items else entry.payload)


def _joined(earlier: Entry, later: Entry) -> Entry | None:
    """Join the next row of a load that carries the same id; None if it is another entry."""
    if not (isinstance(earlier.payload, Load) and isinstance(later.payload, Load)):
        return None
    if _with_id(later, later.id, earlier.payload.items) != earlier:
        return None
    items = dict.fromkeys((*earlier.payload.items, *later.payload.items))
    return _with_id(earlier, earlier.id, tuple(items))


def _part_of(row: Entry, whole: Entry) -> bool:
    """Tell whether a row repeats one item of a load met before."""
    if not (isinstance(row.payload, Load) and isinstance(whole.payload, Load)):
        return False
    return (
        set(row.payload.items) <= set(whole.payload.items)
        and _with_id(row, row.id, whole.payload.items) == whole
    )
