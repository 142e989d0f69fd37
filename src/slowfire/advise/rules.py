"""Thresholds of the advice, from one editable file with a source for each."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from slowfire.errors import UnknownName


@dataclass(frozen=True)
class Rule:
    """One threshold with its unit, source and reason."""

    name: str
    number: float
    unit: str
    source: str
    note: str


@cache
def rules() -> Mapping[str, Rule]:
    """Every threshold by name.

    Returns
    -------
    mapping of str to Rule
        In the order of the file.

    Examples
    --------
    >>> rules()["hot"].number, rules()["hot"].unit
    (70.0, 'degC')
    """
    text = files("slowfire.advise").joinpath("action_rules.csv").read_text(encoding="utf-8")
    return {
        row["name"]: Rule(
            row["name"], float(row["number"]), row["unit"], row["source"], row["note"]
        )
        for row in csv.DictReader(text.splitlines())
    }


def limit(name: str) -> float:
    """Number of a threshold in its unit.

    Raises
    ------
    UnknownName
        If there is none of that name.

    Examples
    --------
    >>> limit("too_dry")
    45.0
    """
    known = rules()
    if name not in known:
        raise UnknownName(f"There is no rule '{name}'; known are {', '.join(known)}.")
    return known[name].number
