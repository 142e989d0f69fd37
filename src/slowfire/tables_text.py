"""Tables kept in text files: size, encoding, delimiter, decimal comma, numbers and times."""

import csv
import io
import os
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

from slowfire.errors import InvalidInput, JournalError
from slowfire.refusals import nearest

LARGEST_BYTES = 16_000_000
LARGEST_CELL = 30_000
MOST_PROBLEMS = 10
DELIMITERS = (",", ";", "\t")
NUMBER = re.compile(r"[-+]?(\d+(\.\d*)?|\.\d+)([eE][-+]?\d+)?", re.ASCII)
FRACTIONS = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3"}
FRACTION = re.compile(r"(?:(\d{1,6})\s+)?(\d{1,3})/(\d{1,3})", re.ASCII)
TIME_EXAMPLES = "2026-03-12 18:30, 2026-03-12 18:30+01:00 or 2026-03-12 (read as noon)"


FORMULA = re.compile(r"'*[=+\-@\t\r]")
PLAIN_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?")


class CellError(JournalError):
    """What is wrong in one cell; the reader adds file and line.

    Parameters
    ----------
    column : str
        Heading of the column [-].
    message : str
        What was read and what is allowed [-].
    """

    def __init__(self, column: str, message: str) -> None:
        super().__init__(message)
        self.column = column
        self.message = message


class Problems:
    """Collects what is wrong in one file, up to ten, to report all at once."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.lines: list[str] = []

    def add(self, line: int, column: str, message: str) -> None:
        """Note a problem; the tenth stops the reading."""
        self.lines.append(f"{self.file}, line {line}, column {column}: {message}")
        if len(self.lines) >= MOST_PROBLEMS:
            self.stop()

    def stop(self) -> None:
        """Raise JournalError if there is any problem."""
        if len(self.lines) == 1:
            raise JournalError(self.lines[0])
        if self.lines:
            most = "at least " if len(self.lines) >= MOST_PROBLEMS else ""
            raise JournalError(
                "\n".join(
                    [
                        f"{self.file} cannot be used: {most}{len(self.lines)} problems to put "
                        "right first.",
                        *self.lines,
                    ]
                )
            )


@dataclass(frozen=True)
class Row:
    """One row of a table: where it starts and its cells by column."""

    line: int
    cells: dict[str, str]


@dataclass(frozen=True)
class TextTable:
    """A table as read: its rows, and whether its numbers may carry a decimal comma."""

    file: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    decimal_comma: bool


def read_text(path: Path, largest_bytes: int = LARGEST_BYTES) -> str:
    """Return the text of a file that is small enough and in UTF-8.

    Parameters
    ----------
    path : Path
        File to read [-].
    largest_bytes : int
        Refused above this size, before it is read [-].

    Raises
    ------
    JournalError
        If it is missing, a folder, unreadable, too large, empty or in another encoding.
    """
    try:
        size = os.stat(path).st_size
        if path.is_dir():
            raise JournalError(f"{path.name} is a folder; a file of that name is needed ({path}).")
        if size > largest_bytes:
            raise JournalError(
                f"{path.name} has {size / 1e6:.1f} MB; allowed is up to "
                f"{largest_bytes / 1e6:g} MB: keep one file a place and a few years."
            )
        with open(path, "rb") as stream:
            raw = stream.read(largest_bytes + 1)
    except FileNotFoundError as problem:
        raise JournalError(
            f"there is no {path.name} in {path.parent}; check the folder or make that file."
        ) from problem
    except OSError as problem:
        raise JournalError(f"{path} cannot be read: {problem.strerror}.") from problem
    if len(raw) > largest_bytes:
        raise JournalError(f"{path.name} grew past {largest_bytes / 1e6:g} MB while it was read.")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = raw.count(b"\n", 0, problem.start) + 1
        raise JournalError(
            f"{path.name}, line {line}: the letters are not in UTF-8; in the spreadsheet choose "
            '"CSV UTF-8" or set the encoding to UTF-8 when saving.'
        ) from problem
    if "\x00" in text:
        line = text.count("\n", 0, text.index("\x00")) + 1
        raise JournalError(
            f"{path.name}, line {line}: the file holds binary data; save it as plain text in UTF-8."
        )
    if not text.strip():
        raise JournalError(f"{path.name} is empty; its first line names the columns.")
    return text


def read_table(path: Path, allowed: Sequence[str], required: Sequence[str]) -> TextTable:
    """Return the rows of a CSV file whose first line names its columns.

    Commas, semicolons or tabs may part the cells; with the latter two a decimal comma is read.

    Parameters
    ----------
    path : Path
        File to read [-].
    allowed : sequence of str
        Columns there may be, in any order [-].
    required : sequence of str
        Columns there must be [-].

    Raises
    ------
    JournalError
        If the file or its heading cannot be read, or a row has more cells than the heading.
    """
    file = path.name
    text = read_text(path)
    header = text.lstrip("\r\n").split("\n", 1)[0]
    delimiter = max(DELIMITERS, key=header.count)
    problems = Problems(file)
    rows: list[Row] = []
    columns: tuple[str, ...] = ()
    for line, cells in _lines(text, delimiter, problems):
        if not any(cells):
            continue
        if not columns:
            columns = _columns(cells, line, allowed, required, problems)
            problems.stop()
            continue
        if any(cells[len(columns) :]):
            problems.add(
                line,
                f"{len(columns) + 1}",
                f"read {len(cells)} cells; allowed is {len(columns)}, as in the heading: "
                f"put text that holds {delimiter!r} in double quotes.",
            )
            continue
        padded = [*cells, *[""] * (len(columns) - len(cells))]
        rows.append(Row(line, dict(zip(columns, padded, strict=False))))
    problems.stop()
    return TextTable(file, columns, tuple(rows), delimiter != ",")


def write_table(path: Path, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Write a CSV file in UTF-8 with commas; an old file is replaced only when all is written.

    A cell that a spreadsheet would take for a formula gets an apostrophe, which reading takes off.
    """
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([plain_cell(cell) for cell in row] for row in rows)
    write_text(path, stream.getvalue())


def plain_cell(text: str) -> str:
    """A cell that no spreadsheet computes: what looks like a formula gets an apostrophe.

    Examples
    --------
    >>> plain_cell("=1+1"), plain_cell("-5"), plain_cell("'=1"), plain_cell("paper")
    ("'=1+1", '-5', "''=1", 'paper')
    """
    if FORMULA.match(text) and not PLAIN_NUMBER.fullmatch(text):
        return f"'{text}"
    return text


def typed_cell(text: str) -> str:
    """What stood in a cell before `plain_cell`.

    Examples
    --------
    >>> typed_cell("'=1+1"), typed_cell("''=1"), typed_cell("'tis")
    ('=1+1', "'=1", "'tis")
    """
    return text[1:] if text.startswith("'") and FORMULA.match(text) else text


def write_text(path: Path, text: str) -> None:
    """Write a file so that a crash leaves the old one or the new one, never half of it.

    Raises
    ------
    JournalError
        If the folder cannot be written.
    """
    beside = path.with_name(path.name + ".new")
    try:
        with open(beside, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(beside, path)
    except OSError as problem:
        raise JournalError(f"{path} cannot be written: {problem.strerror}.") from problem


def read_number(text: str, decimal_comma: bool = False) -> float:
    """Return the number written in a cell.

    Parameters
    ----------
    text : str
        Such as 2, 2.5, 1/2, 1 1/2 or ½ [-].
    decimal_comma : bool
        True if 2,5 is allowed [-].

    Raises
    ------
    InvalidInput
        If it is no finite number.

    Examples
    --------
    >>> read_number("2,5", decimal_comma=True), read_number("1 1/2")
    (2.5, 1.5)
    """
    plain = text.strip().replace("\u2212", "-")
    for sign, words in FRACTIONS.items():
        plain = plain.replace(sign, f" {words}").strip()
    if "," in plain:
        if not decimal_comma:
            raise InvalidInput(
                f"read {text!r}; allowed is a decimal point, as in {plain.replace(',', '.')} "
                "(a decimal comma only where semicolons part the columns)."
            )
        if plain.count(",") > 1 or "." in plain:
            raise InvalidInput(
                f"read {text!r}; allowed is one decimal sign and no sign between thousands."
            )
        plain = plain.replace(",", ".")
    if fraction := FRACTION.fullmatch(plain):
        whole, top, bottom = (int(one or 0) for one in fraction.groups())
        if bottom:
            return whole + top / bottom
    if not NUMBER.fullmatch(plain):
        raise InvalidInput(f"read {text!r}; allowed is a number such as 2, 2.5 or 1/2.")
    value = float(plain)
    if abs(value) > 1e15:
        raise InvalidInput(f"read {text!r}; allowed is a number up to 1000000.")
    return value


def number_text(value: float) -> str:
    """Return the shortest text that reads back as the same number, without an exponent.

    Examples
    --------
    >>> number_text(2.0), number_text(1e-7)
    ('2', '0.0000001')
    """
    text = format(Decimal(repr(float(value))), "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def read_time(text: str, zone: ZoneInfo) -> datetime:
    """Return a written time in UTC.

    Without an offset it is read in `zone`: of the hour met twice in autumn the first is taken; a
    time skipped in spring is counted on from the hour before it. A date alone is noon.

    Parameters
    ----------
    text : str
        Such as 2026-03-12 18:30, with or without seconds and offset [-].
    zone : ZoneInfo
        Time zone of the place [-].

    Raises
    ------
    InvalidInput
        If it is not written so, or lies outside 1970 to 2099.

    Examples
    --------
    >>> read_time("2026-03-12", ZoneInfo("Europe/Vienna")).isoformat()
    '2026-03-12T11:00:00+00:00'
    """
    plain = text.strip()
    refused = InvalidInput(f"read {text!r}; allowed is {TIME_EXAMPLES}.")
    if not re.match(r"\d{4}-\d\d-\d\d($|[ T]\d)", plain, re.ASCII):
        raise refused
    try:
        when = datetime.fromisoformat(plain)
    except ValueError as problem:
        raise InvalidInput(f"{refused} There is no such day or hour.") from problem
    if not 1970 <= when.year < 2100:
        raise InvalidInput(f"read {text!r}; allowed is 1970 to 2099. Is the year right?")
    if len(plain) == 10:
        when = datetime.combine(when.date(), time(12))
    if when.tzinfo is None:
        when = when.replace(tzinfo=zone)
    return when.astimezone(UTC)


def time_text(when: datetime, zone: ZoneInfo) -> str:
    """Return a time on the clock of `zone`, with its offset."""
    local = when.astimezone(zone)
    exact = "microseconds" if local.microsecond else "seconds" if local.second else "minutes"
    return local.isoformat(" ", timespec=exact)


def _lines(text: str, delimiter: str, problems: Problems) -> Iterator[tuple[int, list[str]]]:
    """Yield the line on which each row starts, and its cells without space at their ends."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    start = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as problem:
            problems.add(start, "1", f"the row cannot be read ({problem}); close every quote.")
            problems.stop()
        if any(len(cell) > LARGEST_CELL for cell in cells):
            problems.add(
                start, "1", f"a cell has over {LARGEST_CELL} letters; allowed is fewer: shorten it."
            )
            problems.stop()
        yield start, [typed_cell(cell.strip()) for cell in cells]
        start = reader.line_num + 1


def _columns(
    cells: Sequence[str],
    line: int,
    allowed: Sequence[str],
    required: Sequence[str],
    problems: Problems,
) -> tuple[str, ...]:
    names = [cell.casefold().replace(" ", "_") for cell in cells]
    while names and not names[-1]:
        names.pop()
    for place, name in enumerate(names, start=1):
        if name not in allowed:
            problems.add(
                line,
                f"{place}",
                f"the heading reads {cells[place - 1]!r}; allowed is {', '.join(allowed)}."
                f"{nearest(name, allowed)}",
            )
        elif name in names[: place - 1]:
            problems.add(line, f"{place}", f"the heading {name} stands twice; keep one.")
    missing = [name for name in required if name not in names]
    if missing:
        problems.add(
            line,
            missing[0],
            f"the heading lacks {', '.join(missing)}; the first line names the columns "
            f"{', '.join(allowed)}, of which {', '.join(required)} must be there.",
        )
    return tuple(names)
