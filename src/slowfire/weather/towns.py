"""Larger towns of the world by name (GeoNames, CC BY 4.0, see src/slowfire/data/README.md)."""

import csv
import difflib
import io
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from slowfire.errors import UnknownName

MOST_LISTED = 12
MOST_SUGGESTED = 5
LETTERS = str.maketrans("łŁøØđĐı", "lLoOdDi")  # those that are no letter with an accent


@dataclass(frozen=True)
class Town:
    """A town and where it lies.

    Attributes
    ----------
    name, country : str
        As they are written [-].
    region : str
        State, in the United States; else empty [-].
    also : tuple of str
        Other names it goes by [-].
    latitude_degrees, longitude_degrees : float
        North and east positive [degree].
    """

    name: str
    country: str
    region: str
    also: tuple[str, ...]
    latitude_degrees: float
    longitude_degrees: float

    @property
    def full_name(self) -> str:
        """The name with what tells it from others of that name."""
        return ", ".join(one for one in (self.name, self.region, self.country) if one)


@lru_cache(maxsize=1)
def towns() -> tuple[Town, ...]:
    """Return all towns known, by name."""
    text = files("slowfire").joinpath("data", "towns.csv").read_text(encoding="utf-8")
    return tuple(
        Town(
            row["name"],
            row["country"],
            row["region"],
            tuple(one for one in row["also"].split(";") if one),
            float(row["latitude_degrees"]),
            float(row["longitude_degrees"]),
        )
        for row in csv.DictReader(io.StringIO(text))
    )


@lru_cache(maxsize=1)
def _by_name() -> dict[str, list[Town]]:
    found: dict[str, list[Town]] = {}
    for one in towns():
        for name in (one.name, *one.also):
            found.setdefault(folded(name), []).append(one)
    return found


def folded(text: str) -> str:
    """Return a name without accents, capital letters and marks between its words.

    Examples
    --------
    >>> folded("Saint-Étienne")
    'saint etienne'
    """
    apart = unicodedata.normalize("NFKD", text.translate(LETTERS))
    plain = "".join(letter for letter in apart if not unicodedata.combining(letter))
    kept = "".join(letter if letter.isalnum() else " " for letter in plain)
    return " ".join(kept.casefold().split())


def town_named(name: str) -> Town:
    """Return the town of this name; accents and capital letters do not matter.

    Parameters
    ----------
    name : str
        A name, or where there are several a name, a comma and the country or state [-].

    Returns
    -------
    Town
        The one that is meant [-].

    Raises
    ------
    UnknownName
        If there is none, with close names, or several, with their countries.

    Examples
    --------
    >>> town_named("ZURICH").country
    'Switzerland'
    """
    word, *where = (folded(part) for part in name.split(","))
    of_that_name = _by_name().get(word, [])
    meant = [
        one
        for one in of_that_name
        if all(part in (folded(one.country), folded(one.region)) for part in where if part)
    ]
    if len(meant) == 1:
        return meant[0]
    if not of_that_name:
        close = difflib.get_close_matches(word, list(_by_name()), MOST_SUGGESTED, cutoff=0.75)
        names = sorted({_by_name()[one][0].name for one in close})
        ask = f" Did you mean {', '.join(names)}?" if names else ""
        raise UnknownName(
            f"no town of the list is called {name!r}; allowed is a town of over 100,000 people "
            f"or a capital, by its own name or the usual English one.{ask} Else give latitude "
            "and longitude."
        )
    several = meant or of_that_name
    listed = "; ".join(f'"{one.full_name}"' for one in several[:MOST_LISTED])
    more = f" and {len(several) - MOST_LISTED} more" if len(several) > MOST_LISTED else ""
    if meant:
        raise UnknownName(f"{name!r} names {len(several)} towns; allowed is one of {listed}{more}.")
    raise UnknownName(f"there is no {name!r}; allowed is {listed}{more}.")
