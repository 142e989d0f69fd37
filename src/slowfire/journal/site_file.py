"""The site as a TOML file, and back."""

import json
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import fields
from functools import lru_cache
from pathlib import Path
from typing import Any

from slowfire.errors import InvalidInput, JournalError, UnknownName
from slowfire.garden_beds import GardenBed
from slowfire.refusals import RefusedField, nearest
from slowfire.site import Bin, Site, Thermometer, WallLayer, WeatherSetting
from slowfire.tables_text import number_text, read_text
from slowfire.vessel import find_wall_material

LARGEST_SITE_BYTES = 1_000_000
SITE_KEYS = (
    "name", "timezone", "units", "latitude_degrees", "longitude_degrees", "people",
    "measures_litres", "bins", "thermometers", "materials", "weather", "beds", "jurisdictions",
)  # fmt: skip
SHEETS = ("wall", "lid", "base")
PROPERTY_TYPES = (str, bool, int, float)


def read_site(path: Path) -> Site:
    """Return the site described by a site.toml.

    Parameters
    ----------
    path : Path
        The file [-].

    Raises
    ------
    JournalError
        With the line if something is missing, unknown or out of range.
    """
    return site_of_text(read_text(path, LARGEST_SITE_BYTES), path.name)


@lru_cache(maxsize=32)
def site_of_text(text: str, file: str = "site.toml") -> Site:
    """Return the site described by the text of a site.toml.

    Parameters
    ----------
    text : str
        What the file holds [-].
    file : str
        Its name, for messages [-].

    Raises
    ------
    JournalError
        With the line if something is missing, unknown or out of range.
    """
    try:
        typed = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as problem:
        raise JournalError(_broken(file, str(problem))) from problem
    reader = _SiteText(file, text)
    reader.known("", typed, SITE_KEYS)
    for key in ("name", "timezone"):
        if key not in typed:
            reader.refuse("", key, f'missing; write {key} = "..." at the top.')
    bins = reader.tables("bins", typed, lambda where, one: _bin(reader, where, one))
    thermometers = reader.tables(
        "thermometers", typed, lambda where, one: reader.build(where, Thermometer, one)
    )
    measures = reader.table("measures_litres", typed)
    materials = reader.table("materials", typed)
    for name, values in materials.items():
        where = f"materials.{name}"
        if not isinstance(values, dict):
            reader.refuse("materials", name, "allowed is a table of properties.")
        for key, value in values.items():
            for one in value if isinstance(value, list) else [value]:
                if not isinstance(one, PROPERTY_TYPES):
                    reader.refuse(where, key, "allowed is words, numbers, true or false.")
                reader.finite(where, key, one)
    weather = None
    if "weather" in typed:
        weather = reader.build("weather", WeatherSetting, reader.table("weather", typed))
    beds = reader.tables("beds", typed, lambda where, one: reader.build(where, GardenBed, one))
    rules = typed.get("jurisdictions", [])
    if not isinstance(rules, list) or not all(isinstance(one, str) for one in rules):
        reader.refuse("", "jurisdictions", 'allowed is a list of codes such as ["UK"].')
    people = typed.get("people", [])
    if not isinstance(people, list):
        reader.refuse("", "people", 'allowed is a list of names such as ["Ada", "Bo"].')
    plain = {
        key: typed[key]
        for key in ("units", "latitude_degrees", "longitude_degrees")
        if key in typed
    }
    try:
        return Site(
            typed["name"], typed["timezone"], tuple(bins), tuple(thermometers), measures,
            materials, tuple(people), weather=weather, beds=tuple(beds),
            jurisdictions=tuple(rules), **plain,
        )  # fmt: skip
    except RefusedField as problem:
        key = "measures_litres" if problem.field == "measures" else problem.field
        reader.refuse("measures_litres" if key in measures else "", key, str(problem))
        raise


def site_text(site: Site) -> str:
    """Return the TOML text of a site.

    Examples
    --------
    >>> drum = Bin("Drum", "cylinder", inside_diameter_cm=50, inside_height_cm=75)
    >>> print(site_text(Site("Yard", "UTC", (drum,))).splitlines()[0])
    name = "Yard"
    """
    lines = [_line("name", site.name), _line("timezone", site.timezone)]
    lines.append(_line("units", site.units))
    for key in ("latitude_degrees", "longitude_degrees"):
        if getattr(site, key) is not None:
            lines.append(_line(key, getattr(site, key)))
    if site.people:
        lines.append(_line("people", site.people))
    if site.jurisdictions:
        lines.append(_line("jurisdictions", site.jurisdictions))
    if site.measures:
        lines += ["", "[measures_litres]"]
        lines += [_line(_key(name), litres) for name, litres in site.measures.items()]
    for one in site.bins:
        lines += ["", "[[bins]]", *_fields(one)]
    for thermometer in site.thermometers:
        lines += ["", "[[thermometers]]", *_fields(thermometer)]
    for bed in site.beds:
        lines += ["", "[[beds]]", *_fields(bed)]
    for name, values in site.materials.items():
        lines += ["", f"[materials.{_key(name)}]"]
        lines += [_line(_key(key), value) for key, value in values.items()]
    if site.weather is not None:
        lines += ["", "[weather]", *_fields(site.weather)]
    return "\n".join(lines) + "\n"


class _SiteText:
    """The text of a site.toml, to tell on which line something stands."""

    def __init__(self, file: str, text: str) -> None:
        self.file = file
        self.text = text

    def refuse(self, where: str, key: str, message: str) -> None:
        """Raise JournalError naming the line of the key, or of its table if it is missing."""
        place = f"{where}.{key}" if where else key
        line, column = self._line_of(where, key)
        raise JournalError(f"{self.file}, line {line}, column {column}, {place}: {message}")

    def known(self, where: str, typed: Mapping[str, Any], allowed: tuple[str, ...]) -> None:
        """Refuse a key that is not one of the allowed."""
        for key in typed:
            if key not in allowed:
                self.refuse(
                    where,
                    key,
                    f"read {key}; allowed is {', '.join(allowed)}.{nearest(key, allowed)}",
                )

    def finite(self, where: str, key: str, value: object) -> None:
        """Refuse nan and inf, which TOML allows."""
        if isinstance(value, float) and not abs(value) < 1e15:
            self.refuse(where, key, f"read {value:g}; allowed is a finite number.")

    def table(self, key: str, typed: Mapping[str, Any]) -> dict[str, Any]:
        """Return a table of the file, empty if it is not there."""
        table = typed.get(key, {})
        if not isinstance(table, dict):
            self.refuse("", key, f"allowed is a table: begin it with a line [{key}].")
        return dict(table)

    def tables(
        self, key: str, typed: Mapping[str, Any], make: Callable[[str, dict[str, Any]], Any]
    ) -> list[Any]:
        """Return what `make` makes of each table of a list."""
        several = typed.get(key, [])
        if not isinstance(several, list) or not all(isinstance(one, dict) for one in several):
            self.refuse("", key, f"allowed is a list of tables: begin each with a line [[{key}]].")
        return [make(f"{key}[{place}]", one) for place, one in enumerate(several, start=1)]

    def build(self, where: str, record: Callable[..., Any], typed: dict[str, Any]) -> Any:
        """Return a record made of a table, or refuse it with the line."""
        names = tuple(one.name for one in fields(record))  # type: ignore[arg-type]
        self.known(where, typed, names)
        for key in ("name", "shape", "kind", "material", "thickness_mm", "area_m2", "planting"):
            if key in names and key not in typed:
                self.refuse(where, key, f"missing; a table of {where} needs {key} = ...")
        try:
            return record(**typed)
        except RefusedField as problem:
            self.refuse(where, problem.field, str(problem))
            raise
        except TypeError as problem:
            raise JournalError(f"{self.file}, {where}: a value is of the wrong sort.") from problem

    def _line_of(self, where: str, key: str) -> tuple[int, int]:
        lines = self.text.split("\n")
        start, end = 0, len(lines)
        if where:
            match = re.fullmatch(r"(\w+)(?:\[(\d+)\])?(.*)", where, re.DOTALL)
            name, place, rest = match.groups() if match else (where, None, "")
            head = rf"\s*\[\[?\s*{name}\b" if not rest.startswith(".") else rf"\s*\[\s*{name}\."
            heads = [number for number, line in enumerate(lines) if re.match(head, line)]
            if rest.startswith("."):
                heads = [number for number in heads if rest[1:].split(".")[0] in lines[number]]
            place_number = int(place or 1) - 1
            if place_number < len(heads):
                start = heads[place_number]
        later = [n for n, line in enumerate(lines) if n > start and re.match(r"\s*\[", line)]
        first_inside = start + 1 if where else start
        end = later[0] if later else end
        pattern = re.compile(rf'\s*"?{re.escape(key)}"?\s*=')
        for number in range(first_inside, end):
            if match := pattern.match(lines[number]):
                return number + 1, len(match[0]) - len(match[0].lstrip()) + 1
        if not where:
            for number, line in enumerate(lines):
                if re.match(rf"\s*\[\[?\s*{re.escape(key)}\b", line):
                    return number + 1, 1
        return start + 1, 1


def _bin(reader: _SiteText, where: str, typed: dict[str, Any]) -> Bin:
    made = dict(typed)
    for part in SHEETS:
        if part not in typed:
            continue
        sheets = typed[part]
        if not isinstance(sheets, list) or not all(isinstance(one, dict) for one in sheets):
            reader.refuse(
                where, part, f'allowed is {part} = [{{material = "foam", thickness_mm = 60}}].'
            )
        made[part] = tuple(_sheet(reader, where, part, one) for one in sheets)
    bin_made: Bin = reader.build(where, Bin, made)
    return bin_made


def _sheet(reader: _SiteText, where: str, part: str, typed: dict[str, Any]) -> WallLayer:
    if set(typed) != {"material", "thickness_mm"}:
        reader.refuse(
            where, part, f"read {', '.join(typed) or 'nothing'}; allowed is material, thickness_mm."
        )
    try:
        find_wall_material(str(typed["material"]))
        return WallLayer(**typed)
    except (InvalidInput, UnknownName) as problem:
        reader.refuse(where, part, str(problem))
        raise


def _broken(file: str, message: str) -> str:
    at = re.search(r"\(at (?:line (\d+), column (\d+)|end of document)\)", message)
    where = f", line {at[1]}, column {at[2]}" if at and at[1] else ""
    reason = re.sub(r"\s*\(at .*\)", "", message)
    return f'{file}{where}: {reason}; allowed is lines such as name = "Yard", words in quotes.'


def _fields(record: Bin | Thermometer | WeatherSetting | GardenBed) -> list[str]:
    """Return one line for each field that differs from what it is when left out."""
    return [
        _line(one.name, getattr(record, one.name))
        for one in fields(record)
        if getattr(record, one.name) != one.default
    ]


def _line(key: str, value: object) -> str:
    return f"{key} = {_value(value)}"


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z0-9_-]+", name) else _value(name)


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        # JSON's escapes are TOML's; letters stay as they are, but DEL must be escaped.
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        text = number_text(value)
        return text if "." in text else f"{text}.0"
    if isinstance(value, WallLayer):
        thickness = _value(value.thickness_mm)
        return f"{{material = {_value(value.material)}, thickness_mm = {thickness}}}"
    if isinstance(value, tuple | list):
        return f"[{', '.join(_value(one) for one in value)}]"
    raise InvalidInput(f"{value!r} cannot be written; allowed is a word, number, true or false.")
