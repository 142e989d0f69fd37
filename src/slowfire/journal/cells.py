"""Payloads as the cells of a row, and back: one table of slots for each kind."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from slowfire import kinds as k
from slowfire.errors import InvalidInput
from slowfire.quantities import METRES_PER_UNIT, Amount, Length, Position, Temperature
from slowfire.refusals import RefusedField, nearest
from slowfire.site import ABOUT, SHELTERS
from slowfire.tables_text import CellError, number_text, read_number

PAYLOAD_COLUMNS = ("item", "amount", "unit", "at", "value", "note")
_ONE = r"[-+−]?\s*[\d.½¼¾⅓⅔][\d.,/½¼¾⅓⅔ ]*"
QUANTITY = re.compile(rf"({_ONE}(?:\s*(?:to|-|–)\s*{_ONE})?)\s*(.*)", re.ASCII | re.DOTALL)
RANGE = re.compile(r"([^-–]+?)\s*(?:to|-|–)\s*(.+)")
PAIR = re.compile(r'(?:(\w+)=)?("[^"]*"|\S+)(?:\s+|$)', re.ASCII)
POSITION = re.compile(
    r"(.*?)\s*(?:(?:below|under|from) (?:the )?(surface)|(?:above|over|from) (?:the )?(base)|deep)?"
)


@dataclass(frozen=True)
class Form:
    """How one sort of value is written: reader, writer, what to write, and its allowed words."""

    read: Callable[[str, str, bool], Any]
    write: Callable[[Any], tuple[str, str]]
    example: str
    words: tuple[str, ...] = ()


@dataclass(frozen=True)
class Slot:
    """Where one field of a payload stands in a row."""

    name: str
    column: str
    form: Form
    needed: bool = False


def split_quantity(text: str) -> tuple[str, str]:
    """Part "2-3 scoops" into its number and its unit.

    Examples
    --------
    >>> split_quantity("2 to 3 scoops"), split_quantity("55C")
    (('2 to 3', 'scoops'), ('55', 'C'))
    """
    match = QUANTITY.fullmatch(text.strip())
    return (match[1].strip(), match[2].strip()) if match else (text.strip(), "")


def read_amount(text: str, unit: str, decimal_comma: bool) -> Amount:
    """Return an amount, a range such as 2 to 3 included."""
    span = RANGE.fullmatch(text)
    if span and not re.search(r"[eE][-+]?\d+$", text):
        low, high = (read_number(one, decimal_comma) for one in span.groups())
        return Amount(low, unit, high)
    return Amount(read_number(text, decimal_comma), unit)


def write_amount(amount: Amount) -> tuple[str, str]:
    """Return number and unit; a range with the word to, which no spreadsheet takes for a date."""
    text = number_text(amount.number)
    if amount.number_to is not None:
        text = f"{text} to {number_text(amount.number_to)}"
    return text, amount.unit


def _read_temperature(text: str, unit: str, decimal_comma: bool) -> Temperature:
    return Temperature(read_number(text, decimal_comma), unit)


def _read_length(text: str, unit: str, decimal_comma: bool) -> Length:
    return Length(read_number(text, decimal_comma), unit)


def _write_measured(typed: Temperature | Length) -> tuple[str, str]:
    return number_text(typed.value), typed.unit


def _read_position(text: str, _unit: str, decimal_comma: bool) -> Position:
    match = POSITION.fullmatch(text)
    distance = match[1] if match else text
    number, unit = split_quantity(distance)
    origin = "base" if match and match[3] else "surface"
    try:
        return Position(_read_length(number, unit, decimal_comma), origin)
    except InvalidInput as problem:
        raise InvalidInput(
            f"{problem} Write a position as 20 cm below surface or 30 cm above base."
        ) from problem


def _write_position(position: Position) -> tuple[str, str]:
    side = "below surface" if position.origin == "surface" else "above base"
    return f"{number_text(position.distance.value)} {position.distance.unit} {side}", ""


def _read_date(text: str, _unit: str, _decimal_comma: bool) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError as problem:
        raise InvalidInput(f"read {text!r}; allowed is a date such as 2026-03-12.") from problem
    if not 1970 <= day.year < 2100:
        raise InvalidInput(f"read {text!r}; allowed is 1970 to 2099. Is the year right?")
    return day


def _read_flag(text: str, _unit: str, _decimal_comma: bool) -> bool:
    word = text.casefold()
    if word in ("yes", "on", "true"):
        return True
    if word in ("no", "off", "false"):
        return False
    raise InvalidInput(f"read {text!r}; allowed is yes or no (on or off).")


def _number_with(before: str, after: str) -> Form:
    """Write a number with fixed signs around it, such as 25% or 1:10."""

    def read(text: str, _unit: str, decimal_comma: bool) -> float:
        plain = text.replace(" ", "")
        if not (plain.startswith(before) and plain.endswith(after)):
            raise InvalidInput(f"read {text!r}; allowed is a number written as {before}25{after}.")
        return read_number(plain[len(before) : len(plain) - len(after)], decimal_comma)

    return Form(read, lambda v: (f"{before}{number_text(v)}{after}", ""), f"{before}25{after}")


def _words(*allowed: str) -> Form:
    def read(text: str, _unit: str, _decimal_comma: bool) -> str:
        word = text.casefold().replace(" ", "-").replace("_", "-")
        return word if word in allowed else text

    return Form(read, lambda v: (v, ""), ", ".join(allowed), allowed)


NAME = Form(lambda text, _u, _d: text, lambda v: (v, ""), "a name")
NAMES = Form(
    lambda text, _u, _d: tuple(one.strip() for one in text.split("+")),
    lambda v: ("+".join(v), ""),
    "names joined by +",
)
FLAG = Form(_read_flag, lambda v: ("yes" if v else "no", ""), "yes or no", ("yes", "no"))
ON_OFF = Form(_read_flag, lambda v: ("on" if v else "off", ""), "on or off", ("on", "off"))
DATE = Form(_read_date, lambda v: (v.isoformat(), ""), "2026-03-12")
AMOUNT = Form(read_amount, write_amount, "2 scoop, 3 litre or 2 to 3 kg")
TEMPERATURE = Form(_read_temperature, _write_measured, "55 C or 131 F")
LENGTH = Form(_read_length, _write_measured, f"20 cm (or {', '.join(METRES_PER_UNIT)})")
PLACE = Form(_read_position, _write_position, "20 cm below surface or 30 cm above base")
NUMBER = _number_with("", "")
PERCENT = _number_with("", "%")
CONDUCTIVITY = _number_with("", "mS/cm")
DILUTION = _number_with("1:", "")

_REACH = (Slot("depth", "amount", LENGTH), Slot("tool", "item", NAME))
SLOTS: dict[str, tuple[Slot, ...]] = {
    "stocktake": (
        Slot("level", "amount", LENGTH),
        Slot("since", "value", DATE),
        Slot("feed", "value", AMOUNT),
        Slot("dug", "value", DATE),
        Slot("squeeze", "value", _words(*k.SQUEEZES)),
        Slot("worms", "value", _words(*k.COUNTS)),
        Slot("mostly", "value", NAMES),
    ),
    "load": (
        Slot("material", "item", NAME, needed=True),
        Slot("amount", "amount", AMOUNT, needed=True),
        Slot("packing", "value", _words(*k.PACKINGS)),
        Slot("state", "value", _words(*k.STATES)),
        Slot("days", "value", NUMBER),
        Slot("held_back", "value", PERCENT),
        Slot("temperature", "value", TEMPERATURE),
    ),
    "reading": (
        Slot("thermometer", "item", NAME, needed=True),
        Slot("temperature", "amount", TEMPERATURE, needed=True),
        Slot("position", "at", PLACE),
        Slot("spot", "value", _words(*k.SPOTS)),
    ),
    "look": (
        Slot("level", "amount", LENGTH),
        Slot("smell", "value", _words(*k.SMELLS)),
        Slot("squeeze", "value", _words(*k.SQUEEZES)),
        Slot("flies", "value", _words(*k.COUNTS)),
        Slot("larvae", "value", _words(*k.COUNTS)),
        Slot("worms", "value", _words(*k.COUNTS)),
        Slot("worms_at", "value", _words(*k.WORM_PLACES)),
        Slot("rodents", "value", _words(*k.RODENTS)),
        Slot("steam", "value", FLAG),
        Slot("bulge", "value", FLAG),
        Slot("fault", "value", _words(*k.FAULTS)),
        Slot("plastic", "value", _words(*k.COUNTS)),
    ),
    "usual": (),
    "stir": _REACH,
    "poke": _REACH,
    "turn": _REACH,
    "vent": (
        Slot("where", "item", _words(*k.VENTS)),
        Slot("opening", "value", _words(*k.OPENINGS)),
        Slot("width", "amount", LENGTH),
    ),
    "cover": (
        Slot("what", "item", _words(*k.COVERS), needed=True),
        Slot("on", "value", ON_OFF, needed=True),
    ),
    "move": (
        Slot("place", "item", NAME, needed=True),
        Slot("shelter", "value", _words(*SHELTERS)),
        Slot("sun", "value", PERCENT),
    ),
    "water": (Slot("amount", "amount", AMOUNT, needed=True), Slot("position", "at", PLACE)),
    "warm": (
        Slot("amount", "amount", AMOUNT, needed=True),
        Slot("temperature", "value", TEMPERATURE, needed=True),
        Slot("position", "at", PLACE),
    ),
    "drain": (
        Slot("amount", "amount", AMOUNT, needed=True),
        Slot("colour", "value", _words(*k.COLOURS)),
        Slot("smell", "value", _words(*k.SMELLS)),
        Slot("conductivity", "value", CONDUCTIVITY),
    ),
    "dig_out": (
        Slot("amount", "amount", AMOUNT, needed=True),
        Slot("to", "item", NAME),
        Slot("side", "at", _words(*k.SIDES)),
        Slot("sieve", "value", LENGTH),
        Slot("oversize_back", "value", FLAG),
        Slot("weighed", "value", AMOUNT),
    ),
    "worms": (
        Slot("amount", "amount", AMOUNT, needed=True),
        Slot("source", "value", NAME),
        Slot("to", "item", NAME),
    ),
    "test": (
        Slot("which", "item", _words(*k.TESTS), needed=True),
        Slot("days", "value", NUMBER),
        Slot("sown", "value", NUMBER),
        Slot("sprouted", "value", NUMBER),
        Slot("control_sprouted", "value", NUMBER),
        Slot("growth", "value", _words(*k.GROWTHS)),
        Slot("control_growth", "value", _words(*k.GROWTHS)),
        Slot("swelling", "value", _words(*k.SWELLINGS)),
        Slot("smell", "value", _words(*k.SMELLS)),
        Slot("sample", "value", AMOUNT),
        Slot("water", "value", AMOUNT),
        Slot("warmest", "value", TEMPERATURE),
        Slot("surroundings", "value", TEMPERATURE),
        Slot("thermometer", "value", NAME),
        Slot("shown", "value", TEMPERATURE),
    ),
    "use": (
        Slot("what", "item", NAME, needed=True),
        Slot("amount", "amount", AMOUNT, needed=True),
        Slot("bed", "at", NAME, needed=True),
        Slot("how", "value", _words(*k.USES)),
        Slot("dilution", "value", DILUTION),
    ),
    "stock": (
        Slot("material", "item", NAME, needed=True),
        Slot("amount", "amount", AMOUNT, needed=True),
        Slot("where", "at", _words(*k.STORES)),
        Slot("change", "value", _words(*k.CHANGES)),
    ),
    "calendar": (
        Slot("what", "item", _words(*k.PLANS), needed=True),
        Slot("amount", "amount", AMOUNT),
        Slot("starts", "value", DATE),
        Slot("ends", "value", DATE),
        Slot("repeat", "value", _words(*k.REPEATS)),
    ),
    "advice": (
        Slot("what", "item", NAME, needed=True),
        Slot("answer", "value", _words(*k.ANSWERS), needed=True),
    ),
    "photo": (Slot("sha256", "item", NAME, needed=True),),
    "note": (Slot("text", "note", NAME, needed=True),),
    "setting": (
        Slot("about", "value", _words(*ABOUT), needed=True),
        Slot("name", "item", NAME, needed=True),
        Slot("key", "at", NAME, needed=True),
        Slot("to", "value", NAME, needed=True),
    ),
}
CLASSES: dict[str, Callable[..., Any]] = {one.kind: one for one in k.PAYLOADS}


def read_payload(kind: str, cells: Mapping[str, str], decimal_comma: bool) -> k.Payload:
    """Return the payload that the cells of a row describe; a load row gives one item.

    Parameters
    ----------
    kind : str
        One of the kinds [-].
    cells : mapping of str to str
        Text by column; a column that is not there counts as empty [-].
    decimal_comma : bool
        True if 2,5 is a number [-].

    Raises
    ------
    CellError
        If a cell is missing, not understood or refused; it names the column.
    """
    slots = SLOTS[kind]
    pairs = _read_pairs(kind, cells.get("value", ""))
    used = {slot.column for slot in slots} | {"note"}
    if "amount" in used:
        used.add("unit")
    for column in PAYLOAD_COLUMNS:
        if column not in used and cells.get(column, ""):
            raise CellError(
                column,
                f"read {cells[column]!r}; allowed is nothing: a {kind} has no {column}. "
                "Free words belong under note.",
            )
    values: dict[str, Any] = {}
    for slot in slots:
        text, unit = _typed(slot, cells, pairs)
        if not text and not unit:
            if slot.needed:
                raise CellError(
                    slot.column,
                    f"read nothing; a {kind} needs {slot.name.replace('_', ' ')} here: "
                    f"{_hint(slot)}.",
                )
            continue
        try:
            values[slot.name] = slot.form.read(text, unit, decimal_comma)
        except InvalidInput as problem:
            raise _problem(slot, problem, cells, text) from problem
    try:
        if kind == "load":
            return k.Load((k.LoadItem(**values),))
        made: k.Payload = CLASSES[kind](**values)
        return made
    except InvalidInput as problem:
        field = getattr(problem, "field", "")
        by_name = {slot.name: slot for slot in slots}
        slot = by_name.get(field) or (slots[0] if slots else Slot("", "kind", NAME))
        raise _problem(slot, problem, cells, cells.get(slot.column, "")) from problem


def write_payload(payload: k.Payload | k.LoadItem) -> dict[str, str]:
    """Return the cells of a payload by column; of a load, those of one item."""
    kind = "load" if isinstance(payload, k.LoadItem) else payload.kind
    cells = dict.fromkeys(PAYLOAD_COLUMNS, "")
    pairs: list[str] = []
    for slot in SLOTS[kind]:
        value = getattr(payload, slot.name)
        if value is None or value == ():
            continue
        text, unit = slot.form.write(value)
        if slot.column == "value":
            whole = f"{text}{unit}"
            quoted = f'"{whole}"' if re.search(r"\s", whole) or not whole else whole
            pairs.append(f"{slot.name}={quoted}")
        else:
            cells[slot.column] = text
            if slot.column == "amount":
                cells["unit"] = unit
    cells["value"] = " ".join(pairs)
    return cells


def _typed(slot: Slot, cells: Mapping[str, str], pairs: Mapping[str, str]) -> tuple[str, str]:
    quantity = slot.form in (AMOUNT, TEMPERATURE, LENGTH)
    if slot.column == "value":
        text = pairs.get(slot.name, "")
        return split_quantity(text) if quantity and text else (text, "")
    text = cells.get(slot.column, "")
    if slot.column != "amount":
        return text, ""
    unit = cells.get("unit", "")
    return (text, unit) if unit or not text else split_quantity(text)


def _read_pairs(kind: str, text: str) -> dict[str, str]:
    """Return the key=value pairs of a cell; a bare word is given to the one key that allows it."""
    slots = {slot.name: slot for slot in SLOTS[kind] if slot.column == "value"}
    pairs: dict[str, str] = {}
    start = 0
    while start < len(text):
        match = PAIR.match(text, start)
        if not match:
            raise CellError("value", f"read {text!r}; close the double quote in it.")
        start = match.end()
        key, word = match[1], match[2]
        if word.startswith('"') and word.endswith('"') and len(word) > 1:
            word = word[1:-1]
        elif '"' in word:
            raise CellError("value", f"read {text!r}; close the double quote in it.")
        if key is None:
            key = _key_of(kind, word, slots)
        elif key not in slots:
            raise CellError(
                "value",
                f"read {key}=; allowed for a {kind} is "
                f"{', '.join(f'{one}=' for one in slots) or 'nothing'}.{nearest(key, slots)}",
            )
        if key in pairs:
            raise CellError("value", f"read {text!r}; {key} stands twice: keep one.")
        if not word:
            raise CellError("value", f"read {key}=; write {_hint(slots[key])} behind it.")
        pairs[key] = word
    return pairs


def _key_of(kind: str, word: str, slots: Mapping[str, Slot]) -> str:
    fitting = [name for name, slot in slots.items() if word.casefold() in slot.form.words]
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        raise CellError(
            "value",
            f"read {word!r}, which may be {' or '.join(fitting)}; write {fitting[0]}={word}.",
        )
    choices = [word for slot in slots.values() for word in slot.form.words]
    raise CellError(
        "value",
        f"read {word!r}; allowed for a {kind} is "
        f"{'; '.join(f'{name}={_hint(slot)}' for name, slot in slots.items()) or 'nothing'}."
        f"{nearest(word, choices)}",
    )


def _hint(slot: Slot) -> str:
    return slot.form.example


def _problem(slot: Slot, problem: InvalidInput, cells: Mapping[str, str], text: str) -> CellError:
    column = slot.column
    if column == "amount" and isinstance(problem, RefusedField) and problem.field == "unit":
        column = "unit"
    message = str(problem)
    if column == "value":
        return CellError(column, f"read {cells.get(column, '')!r}; {slot.name}: {message}")
    if message.startswith("read "):
        return CellError(column, message)
    return CellError(column, f"read {(cells.get(column, '') or text)!r}; {message}")
