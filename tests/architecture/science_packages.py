"""Which packages must document every argument, and how their docstrings are read."""

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable
from dataclasses import dataclass

# Packages, or single modules, whose public functions take and give numbers.
SCIENCE_PACKAGES = (
    "slowfire.physics",
    "slowfire.biology",
    "slowfire.vessel",
    "slowfire.garden",
    "slowfire.liquid",
    "slowfire.taking_out",
    "slowfire.where_it_goes",
    "slowfire.build",
    "slowfire.recipe.mixture",
    "slowfire.recipe.targets",
    "slowfire.recipe.bucket_tests",
    "slowfire.hygiene",
    "slowfire.maturity",
    "slowfire.estimate",
    "slowfire.sensors.quality",
    "slowfire.column.parameters",
    "slowfire.column.contents",
    "slowfire.column.section",
    "slowfire.column.stocktake",
    "slowfire.column.ledger",
)

# Unit of an array whose entries differ in unit; its text must name the list that gives each.
MIXED = "mixed"
_UNIT = re.compile(r"\[([^\[\]]+)\]")
_ENTRY = re.compile(r"^(\*{0,2}\w+(?:, \*{0,2}\w+)*) : (.+)$")


@dataclass(frozen=True)
class Entry:
    """One documented argument: its type as written and the text below it."""

    type_text: str
    description: str

    @property
    def unit(self) -> str | None:
        """The first bracketed unit in the description, None if there is none."""
        found = _UNIT.search(self.description)
        return found.group(1) if found else None


def public_functions() -> list[tuple[str, Callable[..., object]]]:
    """Dotted name and function, for each public function defined in the science packages."""
    found = []
    for name in SCIENCE_PACKAGES:
        top = importlib.import_module(name)
        modules = [top]
        for entry in pkgutil.iter_modules(getattr(top, "__path__", []), name + "."):
            if not entry.name.rsplit(".", 1)[1].startswith("_"):
                modules.append(importlib.import_module(entry.name))
        for module in modules:
            for function_name, function in inspect.getmembers(module, inspect.isfunction):
                if not function_name.startswith("_") and function.__module__ == module.__name__:
                    found.append((f"{module.__name__}.{function_name}", function))
    return found


def sections(function: Callable[..., object]) -> dict[str, str]:
    """Text of each underlined section of a docstring; the part before them is under ''."""
    lines = (inspect.getdoc(function) or "").splitlines()
    result: dict[str, list[str]] = {"": []}
    current = ""
    position = 0
    while position < len(lines):
        line = lines[position]
        below = lines[position + 1] if position + 1 < len(lines) else ""
        if line and below and set(below) == {"-"} and len(below) == len(line):
            current = line
            result[current] = []
            position += 2
            continue
        result[current].append(line)
        position += 1
    return {name: "\n".join(body).strip() for name, body in result.items()}


def entries(section: str) -> dict[str, Entry]:
    """Arguments of a Parameters section by name."""
    result: dict[str, Entry] = {}
    names: list[str] = []
    type_text = ""
    body: list[str] = []

    def close() -> None:
        for name in names:
            result[name] = Entry(type_text, " ".join(body))

    for line in section.splitlines():
        match = _ENTRY.match(line)
        if match:
            close()
            names = [name.lstrip("*") for name in match.group(1).split(", ")]
            type_text, body = match.group(2), []
        elif line.strip():
            body.append(line.strip())
    close()
    return result


def arguments(function: Callable[..., object]) -> list[str]:
    """Public argument names in order."""
    return [name for name in inspect.signature(function).parameters if not name.startswith("_")]


def takes_numbers(type_text: str) -> bool:
    """Whether a documented type is a number or an array of numbers, which must bear a unit."""
    first = re.split(r"[\s,]", type_text, maxsplit=1)[0]
    return first in {"float", "int", "ndarray"}
