"""Thresholds of the advice, from one editable file with a source for each."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from slowfire.errors import InvalidInput, UnknownName

FILE = "action_rules.csv"
PLAIN_SOURCES = ("common practice, no source", "reported case", "ours")
CONFIDENCES = ("found", "from memory", "common practice", "ours")


@dataclass(frozen=True)
class Rule:
    """One threshold with its unit, source, how sure that is, and its reason."""

    name: str
    number: float
    unit: str
    source: str
    confidence: str
    note: str


@cache
def rules() -> Mapping[str, Rule]:
    """Every threshold by name.

    Returns
    -------
    mapping of str to Rule
        In the order of the file.

    Raises
    ------
    InvalidInput
        If the file holds a name twice, no number, or no unit, source or confidence.

    Examples
    --------
    >>> rules()["hot"].number, rules()["hot"].unit
    (70.0, 'degC')
    """
    text = files("slowfire.advise").joinpath(FILE).read_text(encoding="utf-8")
    return read_rules(text)


def read_rules(text: str) -> dict[str, Rule]:
    """Read thresholds from text of the form of the packaged file.

    Parameters
    ----------
    text : str
        Comma-separated, with the headings of `Rule` [-].

    Returns
    -------
    dict of str to Rule

    Raises
    ------
    InvalidInput
        With the line and what is wrong with it.

    Examples
    --------
    >>> head = "name,number,unit,source,confidence,note"
    >>> read_rules(head + "\\nhot,70,degC,ours,ours,ease off")["hot"].number
    70.0
    """
    found: dict[str, Rule] = {}
    for line, row in enumerate(csv.DictReader(text.splitlines()), start=2):
        name = (row.get("name") or "").strip()
        where = f"{FILE}, line {line}"
        if None in row:
            raise InvalidInput(f"{where}: too many cells; put a note with a comma in quotes.")
        if not name or name in found:
            raise InvalidInput(f"{where}: the name {name!r} is missing or stands twice.")
        try:
            number = float(row.get("number") or "")
        except ValueError as problem:
            raise InvalidInput(
                f"{where}: the number of {name} is {row.get('number')!r}; write one such as 45."
            ) from problem
        cells = {key: (row.get(key) or "").strip() for key in ("unit", "source", "note")}
        confidence = (row.get("confidence") or "").strip()
        if not cells["unit"] or not cells["source"] or confidence not in CONFIDENCES:
            raise InvalidInput(
                f"{where}: {name} needs a unit, a source and a confidence of "
                f"{', '.join(CONFIDENCES)}; for a fact without a source write "
                f"'{PLAIN_SOURCES[0]}'."
            )
        found[name] = Rule(name, number, cells["unit"], cells["source"], confidence, cells["note"])
    return found


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


def share(name: str) -> float:
    """A threshold in percent as a share [-].

    Examples
    --------
    >>> share("chance")
    0.5
    """
    return limit(name) / 100.0


def is_action(name: str) -> bool:
    """Whether a name is that of an action that a rule can hold ready.

    Examples
    --------
    >>> is_action("too dry"), is_action("check flies"), is_action("nothing")
    (True, True, False)
    """
    return name.startswith("check ") or _look_rule(name) in rules()


def look_days(action: str) -> float:
    """Days from an action to the next look [day].

    Examples
    --------
    >>> look_days("hot and dry"), look_days("check flies")
    (1.0, 2.0)
    """
    return limit("look_check" if action.startswith("check ") else _look_rule(action))


def _look_rule(action: str) -> str:
    return f"look_{action.replace(' ', '_')}"
