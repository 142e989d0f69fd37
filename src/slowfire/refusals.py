"""Checks of what a person typed; each refusal names the field, the allowed range and what to do."""

import difflib
import math
import unicodedata
from collections.abc import Iterable

from slowfire.errors import InvalidInput

LONGEST_NAME = 120
LONGEST_TEXT = 20_000


class RefusedField(InvalidInput):
    """A value that a record refuses, with the name of its field.

    Parameters
    ----------
    field : str
        Name of the field of the record [-].
    message : str
        What is wrong, what is allowed and what to do [-].
    """

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


def nearest(word: str, allowed: Iterable[str]) -> str:
    """Return " Did you mean ...?" for the closest allowed word, or nothing.

    Examples
    --------
    >>> nearest("raeding", ["reading", "load"])
    ' Did you mean reading?'
    """
    by_folded = {one.casefold(): one for one in allowed}
    typed = word.casefold()
    close = [one for one in by_folded if len(typed) > 2 and one.startswith(typed)]
    close = close or difflib.get_close_matches(typed, list(by_folded), n=1, cutoff=0.6)
    return f" Did you mean {by_folded[close[0]]}?" if close else ""


def one_of(field: str, value: str, allowed: Iterable[str]) -> str:
    """Return `value` if it is one of the allowed words, else refuse it with the list."""
    words = tuple(allowed)
    if value not in words:
        raise RefusedField(
            field,
            f"{field} is {value!r}; allowed is {', '.join(words)}.{nearest(str(value), words)}",
        )
    return value


def number_in(
    field: str, value: float, low: float, high: float, unit: str = "", advice: str = ""
) -> float:
    """Return `value` as a float inside [low, high], else refuse it with the range.

    Examples
    --------
    >>> number_in("water", 5, 0, 100, "litre")
    5.0
    """
    suffix = f" {unit}" if unit else ""
    allowed = f"allowed is {low:.10g} to {high:.10g}{suffix}."
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise RefusedField(field, f"{field} is {value!r}, not a number; {allowed}")
    if not math.isfinite(value) or not low <= value <= high:
        end = f" {advice}" if advice else ""
        raise RefusedField(field, f"{field} is {value:g}{suffix}; {allowed}{end}")
    return float(value)


def name_text(field: str, value: str) -> str:
    """Return a name of one line with single spaces, or refuse it.

    Examples
    --------
    >>> name_text("bin", " Timber   bin ")
    'Timber bin'
    """
    if not isinstance(value, str):
        raise RefusedField(field, f"{field} is {value!r}; write it as words.")
    name = " ".join(value.split())
    if not name:
        raise RefusedField(field, f"{field} is empty; write a name of 1 to {LONGEST_NAME} letters.")
    if len(name) > LONGEST_NAME:
        raise RefusedField(
            field, f"{field} has {len(name)} letters; allowed is 1 to {LONGEST_NAME}: shorten it."
        )
    if '"' in name or _unprintable(name):
        raise RefusedField(
            field,
            f"{field} is {name!r}; allowed is any letter, digit or sign but the double quote and "
            "control characters: take them out.",
        )
    return name


def free_text(field: str, value: str) -> str:
    """Return text of several lines without space at its ends, or refuse it."""
    if not isinstance(value, str):
        raise RefusedField(field, f"{field} is {value!r}; write it as words.")
    text = value.replace("\r\n", "\n").replace("\r", "\n").strip()
    if len(text) > LONGEST_TEXT:
        raise RefusedField(
            field, f"{field} has {len(text)} letters; allowed is up to {LONGEST_TEXT}: shorten it."
        )
    if _unprintable(text.replace("\n", " ").replace("\t", " ")):
        raise RefusedField(
            field, f"{field} holds a control character; allowed is plain text: take it out."
        )
    return text


def _unprintable(text: str) -> bool:
    return any(unicodedata.category(letter) in ("Cc", "Cs") for letter in text)
