"""Files of data loggers: how one is laid out is guessed, shown, and kept for the next time."""

import csv
import io
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

from slowfire.errors import InvalidInput
from slowfire.refusals import one_of
from slowfire.sensors.measurement import FIRST_CHANNEL, TEMPERATURE, Measurement, unit_of
from slowfire.site import zone_named
from slowfire.tables_text import Problems

ORDERS = ("year-first", "day-first", "month-first", "seconds")
LARGEST_FILE = 64_000_000  # bytes
LOOKED_AT = 200  # lines from which the layout is guessed
MISSING = ("", "-", "--", "---", "nan", "na", "n/a", "null", "err", "error", "open", "overflow")
TIME_WORDS = ("time", "date", "when", "timestamp", "zeit", "datum", "uhrzeit", "heure", "fecha")
NUMBER = re.compile(r"[-+]?\d+([.,]\d+)?", re.ASCII)
SECONDS = re.compile(r"1\d{9}(\d{3})?(\.\d+)?", re.ASCII)
DATE = re.compile(r"(\d{1,4})[-./](\d{1,2})[-./](\d{1,4})(?=$|[ T,])", re.ASCII)
CLOCK = re.compile(
    r"(\d{1,2})[:.h](\d{2})(?:[:.](\d{2})(?:[.,](\d{1,6}))?)?\s*([AaPp])?\.?[Mm]?\.?"
    r"\s*(Z|[-+]\d\d:?\d\d)?$",
    re.ASCII,
)
UNIT_IN_HEADING = re.compile(
    r"(?:°|º|deg(?:rees?)?[ .]*)\s*([cfk])\b|[(\[ _,]([cfk])[)\]]?\s*$"
    r"|\b(celsius|fahrenheit|kelvin)\b",
    re.IGNORECASE,
)
HUMIDITY_WORDS = ("humid", "rh", "feucht", "%")
BATTERY_WORDS = ("batt", "volt")


@dataclass(frozen=True)
class Column:
    """A column of values: its place from 0, the channel it becomes, what it is, in which unit."""

    place: int
    channel: str
    quantity: str
    unit: str


@dataclass(frozen=True)
class Mapping:
    """How a logger's file is laid out.

    Attributes
    ----------
    delimiter : str
        Between cells.
    decimal_comma : bool
        Whether 21,5 is a number.
    heading : int
        Line of the headings, from 1; 0 if there are none [-].
    date, clock : int
        Places of the columns of date and time of day; the same if one column holds both [-].
    order : str
        year-first, day-first, month-first, or seconds since 1970.
    zone : str
        Time zone of the logger's clock.
    columns : tuple of Column
        Those with values.
    """

    delimiter: str
    decimal_comma: bool
    heading: int
    date: int
    clock: int
    order: str
    zone: str
    columns: tuple[Column, ...]


def text_of(raw: bytes, file: str) -> str:
    """The text of a logger's file, in UTF-8, UTF-16 or the letters of older Windows programs.

    Raises
    ------
    InvalidInput
        If it is too large, or no text.

    Examples
    --------
    >>> text_of("21 °C".encode("cp1252"), "log.csv")
    '21 °C'
    """
    if len(raw) > LARGEST_FILE:
        raise InvalidInput(f"{file} has over {LARGEST_FILE / 1e6:g} MB; take it in in parts.")
    wide = raw[:2] in (b"\xff\xfe", b"\xfe\xff")
    for encoding in ("utf-16",) if wide else ("utf-8-sig", "cp1252"):
        try:
            text = raw.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\x00" not in text:
            return text
    raise InvalidInput(f"{file} is no text; export it from the logger's program as CSV.")


def guess(
    text: str,
    zone: str,
    unit: str | None = None,
    order: str | None = None,
    file: str = "the file",
) -> Mapping:
    """Guess how a file is laid out; what cannot be told from it is asked for, never assumed.

    Parameters
    ----------
    text : str
        Its content [-].
    zone : str
        Time zone of the logger's clock [-].
    unit : str or None
        Unit of the temperatures, where the headings do not say it [-].
    order : str or None
        Order of day, month and year, where the dates do not show it [-].
    file : str
        Its name, for messages [-].

    Returns
    -------
    Mapping

    Raises
    ------
    InvalidInput
        If there is no time or no value, or the unit or the order of dates must be said.

    Examples
    --------
    >>> found = guess("when;core °C\\n31.3.2026 18:30;21,5\\n", "Europe/Vienna")
    >>> found.delimiter, found.decimal_comma, found.order, found.columns[0].channel
    (';', True, 'day-first', 'core')
    """
    zone_named(zone)
    if order is not None:
        one_of("dates", order, ORDERS)
    lines = text.lstrip("\ufeff").splitlines()[:LOOKED_AT]
    delimiter = _delimiter(lines)
    rows = [(number, cells) for number, cells in _rows(lines, delimiter) if any(cells)]
    first = next((one for one, (_, cells) in enumerate(rows) if _holds_time(cells)), None)
    if first is None:
        raise InvalidInput(
            f"{file}: no line holds a date and time such as 2026-03-12 18:30 in its cells; "
            "export it as CSV."
        )
    body = [cells for _, cells in rows[first:] if _holds_time(cells)]
    width = max(len(cells) for cells in body)
    headings, line = _headings(rows[:first], width)
    date, clock = _time_places(body)
    comma = delimiter != "," and any(
        NUMBER.fullmatch(cell) and "," in cell for cells in body for cell in cells
    )
    columns = tuple(_columns(body, headings, {date, clock}, comma, unit, file))
    if not columns:
        raise InvalidInput(f"{file}: no column beside the time holds numbers.")
    found = order or _order([cells[date] for cells in body if len(cells) > date], file)
    return Mapping(delimiter, comma, line, date, clock, found, zone, columns)


def read(text: str, mapping: Mapping, device: str, file: str) -> tuple[Measurement, ...]:
    """Read a file that is laid out so; empty cells are left out.

    Parameters
    ----------
    text : str
        Its content [-].
    mapping : Mapping
        Its layout [-].
    device : str
        Name of the logger [-].
    file : str
        Its name, for messages [-].

    Returns
    -------
    tuple of Measurement

    Raises
    ------
    JournalError
        With line, column, what was read and what is allowed; up to ten problems.
    """
    problems = Problems(file)
    zone = zone_named(mapping.zone)
    found: list[Measurement] = []
    lines = text.lstrip("\ufeff").splitlines()
    started = False
    last: datetime | None = None
    for number, cells in _rows(lines, mapping.delimiter):
        if number <= mapping.heading or not any(cells):
            continue
        if not started and not _holds_time(cells):
            continue
        started = True
        try:
            when = last = _when(cells, mapping, zone, last)
        except InvalidInput as problem:
            problems.add(number, f"{mapping.date + 1}", str(problem))
            continue
        for column in mapping.columns:
            cell = cells[column.place] if column.place < len(cells) else ""
            if cell.casefold() in MISSING:
                continue
            try:
                value = _number(cell, mapping.decimal_comma)
                found.append(
                    Measurement(device, column.channel, when, value, column.quantity, column.unit)
                )
            except InvalidInput as problem:
                problems.add(number, f"{column.place + 1} ({column.channel})", str(problem))
    problems.stop()
    if not found:
        raise InvalidInput(f"{file} holds no values where they were before; --guess-again.")
    return tuple(found)


def mapping_words(mapping: Mapping) -> tuple[str, ...]:
    """A layout in lines for people."""
    names = {",": "comma", ";": "semicolon", "\t": "tab"}
    clock = "" if mapping.clock == mapping.date else f", time of day in column {mapping.clock + 1}"
    sign = "comma" if mapping.decimal_comma else "point"
    heading = f"headings in line {mapping.heading}" if mapping.heading else "no headings"
    return (
        f"cells parted by {names[mapping.delimiter]}, decimal {sign}, {heading}",
        f"date in column {mapping.date + 1}{clock}, {mapping.order}, clock of {mapping.zone}",
        *(
            f"column {one.place + 1}: {one.channel}, {one.quantity.replace('_', ' ')} in {one.unit}"
            for one in mapping.columns
        ),
    )


def mapping_text(mapping: Mapping) -> str:
    """A layout as JSON, to be kept."""
    return json.dumps(asdict(mapping), ensure_ascii=False)


def mapping_of(text: str) -> Mapping:
    """A layout that `mapping_text` wrote.

    Examples
    --------
    >>> one = guess("when,core C\\n2026-03-31 18:30,21.5", "UTC")
    >>> mapping_of(mapping_text(one)) == one
    True
    """
    content = json.loads(text)
    columns = tuple(Column(**one) for one in content.pop("columns"))
    return Mapping(columns=columns, **content)


def _rows(lines: Sequence[str], delimiter: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO("\n".join(lines), newline=""), delimiter=delimiter)
    start = 1
    try:
        for cells in reader:
            yield start, [cell.strip() for cell in cells]
            start = reader.line_num + 1
    except csv.Error as problem:
        raise InvalidInput(f"Line {start} cannot be read ({problem}).") from problem


def _delimiter(lines: Sequence[str]) -> str:
    """The sign that parts most lines alike; a comma may be a decimal one."""
    best, most = ",", 0
    for sign in (";", "\t", ","):
        counts = [line.count(sign) for line in lines if line.strip()]
        usual = max(set(counts), key=lambda one: (counts.count(one), one), default=0)
        alike = counts.count(usual) if usual else 0
        if alike > most:
            best, most = sign, alike
    return best


def _holds_time(cells: Sequence[str]) -> bool:
    return any(DATE.match(cell) or SECONDS.fullmatch(cell) for cell in cells)


def _headings(above: Sequence[tuple[int, list[str]]], width: int) -> tuple[list[str], int]:
    """The last line above the values that is about as wide as they are."""
    for number, cells in reversed(above):
        if sum(bool(cell) for cell in cells) >= min(2, width):
            return cells, number
    return [], above[-1][0] if above else 0


def _time_places(body: Sequence[Sequence[str]]) -> tuple[int, int]:
    cells = body[0]
    date = next(k for k, one in enumerate(cells) if DATE.match(one) or SECONDS.fullmatch(one))
    if SECONDS.fullmatch(cells[date]) or len(cells[date].split()) > 1 or "T" in cells[date]:
        return date, date
    for place, one in enumerate(cells):
        if place != date and ":" in one and CLOCK.fullmatch(one):
            return date, place
    return date, date


def _columns(
    body: Sequence[Sequence[str]],
    headings: Sequence[str],
    times: set[int],
    comma: bool,
    unit: str | None,
    file: str,
) -> Iterator[Column]:
    width = max(len(cells) for cells in body)
    seen: set[str] = set()
    for place in range(width):
        cells = [one[place] for one in body if place < len(one)]
        shown = [one for one in cells if one.casefold() not in MISSING]
        numbers = [one for one in shown if NUMBER.fullmatch(one) and (comma or "," not in one)]
        if place in times or not numbers or 2 * len(numbers) < len(shown):
            continue
        heading = headings[place] if place < len(headings) else ""
        if place < min(times) and _counts_up(numbers):
            continue
        quantity = _quantity(heading)
        if any(word in heading.casefold() for word in TIME_WORDS):
            continue
        found = _unit(heading, quantity) or (unit if quantity == TEMPERATURE else None)
        if found is None:
            raise InvalidInput(
                f"{file}, column {place + 1} ({heading or 'without a heading'}): its unit is not "
                "said; give --unit C or --unit F, as the logger is set."
            )
        name = UNIT_IN_HEADING.sub("", heading).strip(" ()[]_,;:-%") or FIRST_CHANNEL
        name = name.replace('"', "")[:60]
        while name in seen:
            name = f"{name} {place + 1}"
        seen.add(name)
        yield Column(place, name, quantity, unit_of(quantity, found))


def _counts_up(numbers: Sequence[str]) -> bool:
    """Whether a column only numbers the rows."""
    if len(numbers) < 2 or not all(one.isdecimal() for one in numbers):
        return False
    return all(int(b) - int(a) == 1 for a, b in pairwise(numbers))


def _quantity(heading: str) -> str:
    plain = heading.casefold()
    if any(word in plain for word in HUMIDITY_WORDS):
        return "relative_humidity"
    if any(word in plain for word in BATTERY_WORDS):
        return "battery"
    return TEMPERATURE


def _unit(heading: str, quantity: str) -> str | None:
    if quantity != TEMPERATURE:
        return "%" if quantity == "relative_humidity" else "V"
    found = UNIT_IN_HEADING.search(heading)
    if found is None:
        return None
    word = next(one for one in found.groups() if one)
    return word[0].upper()


def _order(cells: Sequence[str], file: str) -> str:
    """Order of day, month and year, if any date shows it."""
    if any(SECONDS.fullmatch(cell) for cell in cells):
        return "seconds"
    parts = [found.groups() for cell in cells if (found := DATE.match(cell))]
    if any(len(one[0]) == 4 for one in parts):
        return "year-first"
    if any(int(one[0]) > 12 for one in parts):
        return "day-first"
    if any(int(one[1]) > 12 for one in parts):
        return "month-first"
    if all("." in cell.split(" ")[0] for cell in cells):
        return "day-first"
    raise InvalidInput(
        f"{file}: {cells[0]!r} may be day first or month first; give --dates day-first or --dates "
        "month-first."
    )


def _when(
    cells: Sequence[str], mapping: Mapping, zone: ZoneInfo, last: datetime | None
) -> datetime:
    date = cells[mapping.date] if mapping.date < len(cells) else ""
    if mapping.order == "seconds":
        if not SECONDS.fullmatch(date):
            raise InvalidInput(f"read {date!r}; allowed is seconds since 1970.")
        seconds = float(date)
        return datetime.fromtimestamp(seconds / 1000.0 if seconds > 1e11 else seconds, UTC)
    found = DATE.match(date)
    clock, shown = date[found.end() :] if found else "", date
    if mapping.clock != mapping.date:
        clock = cells[mapping.clock] if mapping.clock < len(cells) else ""
        shown = f"{date} {clock}"
    told = CLOCK.fullmatch(clock.strip(" T,"))
    if found is None or told is None:
        raise InvalidInput(f"read {shown[:60]!r}; allowed is a date and time of day.")
    places = {"year-first": (0, 1, 2), "day-first": (2, 1, 0), "month-first": (2, 0, 1)}
    year, month, day = (int(found[1 + place]) for place in places[mapping.order])
    hour, minute, second = int(told[1]), int(told[2]), int(told[3] or 0)
    if told[5]:
        hour = hour % 12 + (12 if told[5].casefold() == "p" else 0)
    offset = told[6]
    try:
        when = datetime(year + 2000 if year < 100 else year, month, day, hour, minute, second)
        if offset:
            return datetime.fromisoformat(when.isoformat() + offset).astimezone(UTC)
    except ValueError as problem:
        raise InvalidInput(f"read {shown[:60]!r}; there is no such day or hour.") from problem
    local = when.replace(tzinfo=zone)
    again = when.replace(tzinfo=zone, fold=1)
    # of the hour met twice in autumn the second comes after what was read before
    if last is not None and local.astimezone(UTC) <= last < again.astimezone(UTC):
        local = again
    return local.astimezone(UTC)


def _number(cell: str, comma: bool) -> float:
    plain = cell.replace(",", ".") if comma else cell
    if not NUMBER.fullmatch(cell) or (not comma and "," in cell):
        sign = "comma" if comma else "point"
        raise InvalidInput(f"read {cell[:40]!r}; allowed is a number with a decimal {sign}.")
    return float(plain)
