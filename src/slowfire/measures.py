"""Kitchen measures: what was typed, to litres, to kilograms of a material."""

import difflib
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache, cached_property

from slowfire.errors import InvalidInput, UnknownName
from slowfire.materials.feedstock import (
    MAX_PORTION_LITRES,
    MAX_PORTION_MASS,
    Feedstock,
    Packing,
    Portion,
)
from slowfire.materials.names import plain_form
from slowfire.materials.packaged import packaged_rows

MAX_NUMBER = 1_000_000.0
# Some names stand for two sizes on the two sides of an ocean, so one alone is refused.
_TWO_SIZES = {
    "gallon": ("US gallon (3.79 L)", "imperial gallon (4.55 L)"),
    "gal": ("US gallon (3.79 L)", "imperial gallon (4.55 L)"),
    "quart": ("US quart (0.95 L)", "imperial quart (1.14 L)"),
    "qt": ("US quart (0.95 L)", "imperial quart (1.14 L)"),
    "pint": ("US pint (0.47 L)", "imperial pint (0.57 L)"),
    "pt": ("US pint (0.47 L)", "imperial pint (0.57 L)"),
}
_PIECES = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3"}
_DECIMAL = r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:e[-+]?\d+)?"
_AMOUNT = re.compile(
    rf"""^\s*(?:
        (?P<whole>\d+)\s+(?P<top>\d+)\s*/\s*(?P<bottom>\d+)
        |(?P<top_only>[-+]?\d+)\s*/\s*(?P<bottom_only>\d+)
        |(?P<decimal>{_DECIMAL}|[-+]?(?:nan|inf(?:inity)?)(?![a-z]))
        )\s*(?P<measure>\S.*?)?\s*$""",
    re.VERBOSE | re.IGNORECASE,
)
_EXAMPLES = "write a number and a measure, such as '1 caddy', '1/2 bucket', '2.5 L' or '300 g'"


@dataclass(frozen=True)
class Measure:
    """One way of saying how much.

    Attributes
    ----------
    name : str
        Such as caddy.
    litres : float or None
        Its volume, usual range 0.001 to 1000 [L]; None for a mass.
    mass : float or None
        Its mass, usual range 0.001 to 20 [kg]; None for a volume.
    assumption : str
        What its size rests on.
    words : tuple of str
        Other names.
    only_for : tuple of str
        Ids of the materials it is meant for; empty for all.

    Raises
    ------
    InvalidInput
        If it is neither or both of a volume and a mass, or out of range.
    """

    name: str
    litres: float | None
    mass: float | None
    assumption: str
    words: tuple[str, ...] = ()
    only_for: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if (self.litres is None) == (self.mass is None):
            raise InvalidInput(f"A {self.name} must be either a volume or a mass.")
        if self.litres is not None:
            _check_above_zero(f"The size of a {self.name}", self.litres, 5000.0, "L")
        if self.mass is not None:
            _check_above_zero(f"The mass of a {self.name}", self.mass, 5000.0, "kg")


@dataclass(frozen=True)
class Amount:
    """What was typed: a number and the name of a measure.

    Attributes
    ----------
    number : float
        How many, above 0 to 1000000 [-].
    measure : str
        Name of the measure.

    Raises
    ------
    InvalidInput
        If the number is negative, zero, not finite or absurd.
    """

    number: float
    measure: str

    def __post_init__(self) -> None:
        _check_above_zero("An amount", self.number, MAX_NUMBER, self.measure)


def _check_above_zero(name: str, value: float, high: float, unit: str) -> None:
    if not (math.isfinite(value) and 0.0 < value <= high):
        raise InvalidInput(f"{name} is {value:g} {unit}; allowed is above 0 to {high:g} {unit}.")


@dataclass(frozen=True, eq=False)
class Measures:
    """The measures a user has, with the sizes that hold for this user.

    Attributes
    ----------
    measures : tuple of Measure
        All of them; two of one name must be meant for different materials.
    """

    measures: tuple[Measure, ...]

    @cached_property
    def _by_word(self) -> dict[str, tuple[Measure, ...]]:
        words: dict[str, tuple[Measure, ...]] = {}
        for measure in self.measures:
            for word in {plain_form(w): None for w in (measure.name, *measure.words)}:
                words[word] = (*words.get(word, ()), measure)
        return words

    def named(self, word: str, feedstock: Feedstock | None = None) -> Measure:
        """Find a measure by one of its names.

        Parameters
        ----------
        word : str
            Such as caddy, L, lb, US gallon.
        feedstock : Feedstock or None
            The material measured, for measures that mean one material only, such as a sheet.

        Returns
        -------
        Measure
            The one that fits.

        Raises
        ------
        UnknownName
            If nobody declared it.
        InvalidInput
            If it stands for two sizes (gallon), or is not a measure of that material.

        Examples
        --------
        >>> default_measures().named("caddies").litres
        5.0
        """
        key = plain_form(word)
        fitting = self._by_word.get(key, ())
        if not fitting:
            if key in _TWO_SIZES:
                us, imperial = _TWO_SIZES[key]
                raise InvalidInput(f"'{word}' could be two sizes; say {us} or {imperial}.")
            near = difflib.get_close_matches(key, self._by_word, n=2, cutoff=0.6)
            hint = f" Did you mean {' or '.join(self._by_word[n][0].name for n in near)}?"
            raise UnknownName(
                f"No measure is called '{word}'.{hint if near else ''} "
                "Known are caddy, bucket, scoop, handful, bag, barrow, sheet, litres, kg, lb and "
                "more; name your own with its litres, such as caddy = 7."
            )
        if feedstock is None:
            return fitting[0]
        for measure in fitting:
            if not measure.only_for or feedstock.id in measure.only_for:
                return measure
        meant = ", ".join(material for measure in fitting for material in measure.only_for)
        raise InvalidInput(
            f"A {fitting[0].name} is a measure of {meant}, not of {feedstock.name}; "
            "give litres, kg or a container."
        )

    def with_own(self, sizes: Mapping[str, float]) -> "Measures":
        """Set the size of a measure in litres, or name a new one.

        Parameters
        ----------
        sizes : Mapping
            Litres by name, usual range 0.01 to 1000 [L].

        Returns
        -------
        Measures
            A new set; this one is unchanged.

        Raises
        ------
        InvalidInput
            If a size is not a number above 0, or would change an exact unit.

        Examples
        --------
        >>> default_measures().with_own({"caddy": 7.0}).named("caddy").litres
        7.0
        """
        measures = list(self.measures)
        for name, litres in sizes.items():
            key = plain_form(name)
            if not key or isinstance(litres, bool) or not isinstance(litres, int | float):
                raise InvalidInput(
                    f"The size of '{name}' is {litres!r}; write its litres as a number above 0."
                )
            old = self._by_word.get(key, ())
            if any(m.assumption == "exact" for m in old) or key in _TWO_SIZES:
                raise InvalidInput(f"'{name}' is a fixed unit; give your measure another name.")
            words = old[0].words if old and plain_form(old[0].name) == key else ()
            own = Measure(name, float(litres), None, "as you set it", words)
            others = [m for m in measures if plain_form(m.name) != key]
            measures = [own, *(_without_word(m, key) for m in others)]
        return Measures(tuple(measures))

    def parse_amount(self, text: str) -> Amount:
        """Read an amount as people write it.

        Parameters
        ----------
        text : str
            Such as '1 caddy', '1/2 bucket', '1 1/2 scoops', '2.5 L', '300 g'.

        Returns
        -------
        Amount
            The number and the name of the measure.

        Raises
        ------
        InvalidInput
            If there is no number, no measure, or the number is negative, zero or absurd.
        UnknownName
            If nobody declared the measure.

        Examples
        --------
        >>> default_measures().parse_amount("1 1/2 scoops")
        Amount(number=1.5, measure='scoop')
        """
        plain = text
        for sign, fraction in _PIECES.items():
            plain = plain.replace(sign, f" {fraction}")
        match = _AMOUNT.match(plain)
        if match is None:
            raise InvalidInput(f"'{text}' is not an amount; {_EXAMPLES}.")
        number = _number(match, text)
        word = match["measure"]
        if word is None:
            raise InvalidInput(f"'{text.strip()}' has no measure; {_EXAMPLES}.")
        if word.startswith(","):
            raise InvalidInput(
                f"'{text.strip()}' has a comma in the number; write the decimals after a point, "
                "such as 2.5 L, and thousands without a mark, such as 1000 g."
            )
        return Amount(number, self.named(word.removeprefix("of ")).name)

    def to_portion(
        self, feedstock: Feedstock, amount: Amount, packing: Packing | None = None
    ) -> Portion:
        """Turn an amount of a material into kilograms and litres.

        A volume times the loose or pressed density, or a mass over it.

        Parameters
        ----------
        feedstock : Feedstock
            The material.
        amount : Amount
            What was typed.
        packing : str or None
            'loose', 'dense', or None where it was not said; a volume of paper, card, leaves, straw
            or hay must say it, a mass need not.

        Returns
        -------
        Portion
            With mass and volume.

        Raises
        ------
        InvalidInput
            If loose or dense must be said, or the amount is absurd.
        UnknownName
            If nobody declared the measure.

        Examples
        --------
        >>> from slowfire.materials.library import load_library
        >>> measures = default_measures()
        >>> paper = load_library().find("shredded paper")
        >>> measures.to_portion(paper, measures.parse_amount("2 caddies"), "loose").mass
        0.45
        """
        measure = self.named(amount.measure, feedstock)
        if measure.mass is not None:
            mass = amount.number * measure.mass
            _check_above_zero(f"{feedstock.name}", mass, MAX_PORTION_MASS, "kg")
            return Portion.from_mass(feedstock, mass, packing)
        litres = amount.number * (measure.litres or 0.0)
        _check_above_zero(f"{feedstock.name}", litres, MAX_PORTION_LITRES, "L")
        if packing is None and feedstock.packing_matters:
            loose = litres * feedstock.bulk_density
            dense = litres * feedstock.dense_bulk_density
            raise InvalidInput(
                f"Say how {feedstock.name} was measured, loose or dense: {amount.number:g} "
                f"{amount.measure} is {loose:.0f} g tipped in loosely (--loose) but {dense:.0f} g "
                "pressed down by hand (--dense). A weight needs neither."
            )
        return Portion(feedstock, litres * feedstock.density(packing) / 1000.0, litres, packing)


def _without_word(measure: Measure, key: str) -> Measure:
    kept = tuple(w for w in measure.words if plain_form(w) != key)
    return measure if kept == measure.words else replace(measure, words=kept)


def _number(match: re.Match[str], text: str) -> float:
    if match["decimal"] is not None:
        return float(match["decimal"])
    top = float(match["top"] or match["top_only"])
    bottom = float(match["bottom"] or match["bottom_only"])
    if bottom == 0.0:
        raise InvalidInput(f"'{text.strip()}' divides by zero; {_EXAMPLES}.")
    return float(match["whole"] or 0.0) + top / bottom


def _split(cell: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in cell.split(";") if part.strip())


@cache
def default_measures() -> Measures:
    """Read the shipped measures; containers are stated assumptions a user can change.

    Returns
    -------
    Measures
        The same object at every call.

    Notes
    -----
    Ours, where the assumption of a measure names no source.

    Examples
    --------
    >>> default_measures().named("bucket").litres
    14.0
    """
    return Measures(
        tuple(
            Measure(
                row["name"],
                float(row["litres"]) if row["litres"] else None,
                float(row["kilograms"]) if row["kilograms"] else None,
                row["assumption"],
                _split(row["words"]),
                _split(row["only_for"]),
            )
            for row in packaged_rows("measures.csv")
        )
    )


def parse_amount(text: str, measures: Measures | None = None) -> Amount:
    """Read an amount as people write it.

    Parameters
    ----------
    text : str
        Such as '1 caddy', '1/2 bucket', '2.5 L', '300 g'.
    measures : Measures or None
        The user's measures; None for the shipped ones.

    Returns
    -------
    Amount
        The number and the name of the measure.

    Raises
    ------
    InvalidInput
        If there is no number, no measure, or the number is negative, zero or absurd.
    UnknownName
        If nobody declared the measure.

    Examples
    --------
    >>> parse_amount("0.5 caddy")
    Amount(number=0.5, measure='caddy')
    """
    return (measures or default_measures()).parse_amount(text)


def to_portion(
    feedstock: Feedstock,
    amount: Amount,
    packing: Packing | None = None,
    measures: Measures | None = None,
) -> Portion:
    """Turn an amount of a material into kilograms and litres.

    Parameters
    ----------
    feedstock : Feedstock
        The material.
    amount : Amount
        What was typed.
    packing : str or None
        'loose', 'dense', or None where it was not said.
    measures : Measures or None
        The user's measures; None for the shipped ones.

    Returns
    -------
    Portion
        With mass and volume.

    Raises
    ------
    InvalidInput
        If loose or dense must be said, or the amount is absurd.
    UnknownName
        If nobody declared the measure.

    Examples
    --------
    >>> from slowfire.materials.library import load_library
    >>> to_portion(load_library().find("food waste"), parse_amount("1 caddy")).mass
    2.125
    """
    return (measures or default_measures()).to_portion(feedstock, amount, packing)
