"""How far the figures of a material may lie from the table."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from slowfire.errors import InvalidInput, UnknownName
from slowfire.materials.feedstock import Feedstock
from slowfire.materials.packaged import packaged_rows

_PUBLISHED_QUANTITIES = {
    "moisture_pct": ("moisture_content_wet_basis", 100.0),
    "nitrogen_pct": ("nitrogen_content", 100.0),
    "c_to_n": ("c_to_n", 1.0),
    "bulk_density_kg_per_m3": ("bulk_density", 1.0),
}


@dataclass(frozen=True)
class Spread:
    """Low and high of a quantity, in its unit, and where the two come from.

    Attributes
    ----------
    low : float
        Lower end, in the unit of the quantity [-].
    high : float
        Upper end, in the unit of the quantity [-].
    kind : str
        'published', 'rule' or 'own'.
    source : str
        What the two ends rest on.

    Raises
    ------
    InvalidInput
        If low is not below or at high.
    """

    low: float
    high: float
    kind: str
    source: str

    def __post_init__(self) -> None:
        if not 0.0 <= self.low <= self.high:
            raise InvalidInput(
                f"A spread from {self.low:g} to {self.high:g}: the low end must be 0 or more "
                "and not above the high end."
            )


@dataclass(frozen=True)
class SpreadRule:
    """Relative half-width of a quantity by kind of source; shares are widened in odds.

    Attributes
    ----------
    quantity : str
        Field of `Feedstock`, or c_to_n.
    is_share : bool
        True for a share of 1, widened in odds so that it stays inside 0 to 1.
    half_widths : Mapping
        Relative half-width by source kind, usual range 0.1 to 1 [-].
    basis : str
        What the widths rest on.
    """

    quantity: str
    is_share: bool
    half_widths: Mapping[str, float]
    basis: str

    def around(self, value: float, source_kind: str) -> Spread:
        """Low and high about a value: divided by and multiplied with one plus the half-width.

        Parameters
        ----------
        value : float
            The table value, in its own unit [-].
        source_kind : str
            found, memory, estimate or own.

        Returns
        -------
        Spread
            Of kind 'rule'.

        Raises
        ------
        UnknownName
            If nobody declared that kind of source.
        """
        if source_kind not in self.half_widths:
            raise UnknownName(
                f"Source kind '{source_kind}' is unknown; "
                f"allowed is one of {', '.join(self.half_widths)}."
            )
        factor = 1.0 + self.half_widths[source_kind]
        text = f"our rule for a value of kind '{source_kind}': {self.basis}"
        if not self.is_share:
            return Spread(value / factor, value * factor, "rule", text)
        if value >= 1.0:
            return Spread(1.0, 1.0, "rule", text)
        odds = value / (1.0 - value)
        low, high = odds / factor, odds * factor
        return Spread(low / (1.0 + low), high / (1.0 + high), "rule", text)


@cache
def load_spread_rules() -> Mapping[str, SpreadRule]:
    """Read the shipped rules for spreads nobody published.

    Returns
    -------
    Mapping
        Rule by quantity.
    """
    rules = {}
    for row in packaged_rows("spread_rules.csv"):
        widths = {k: float(row[k]) for k in ("found", "memory", "estimate", "own")}
        rules[row["quantity"]] = SpreadRule(
            row["quantity"], row["kind"] == "share", widths, row["basis"]
        )
    return rules


@cache
def load_published_spreads() -> Mapping[tuple[str, str], Spread]:
    """Read the shipped published ranges of the most used materials.

    Returns
    -------
    Mapping
        Spread by feedstock id and quantity.
    """
    spreads = {}
    for row in packaged_rows("spreads.csv"):
        quantity, scale = _PUBLISHED_QUANTITIES[row["quantity"]]
        note = f"; {row['note']}" if row["note"] else ""
        spreads[row["id"], quantity] = Spread(
            float(row["low"]) / scale,
            float(row["high"]) / scale,
            "published",
            f"{row['source']}; confidence {row['confidence']}{note}",
        )
    return spreads


def spread_of(
    feedstock: Feedstock, quantity: str, declared: Mapping[tuple[str, str], Spread]
) -> Spread:
    """Low and high of one quantity of a feedstock.

    Parameters
    ----------
    feedstock : Feedstock
        The material.
    quantity : str
        Field of `Feedstock`, such as nitrogen_content, or c_to_n.
    declared : Mapping
        Spreads known by feedstock id and quantity; the shipped rule serves the rest.

    Returns
    -------
    Spread
        In the unit of the quantity.

    Raises
    ------
    UnknownName
        If there is no such quantity.
    InvalidInput
        If the feedstock has no value for it, such as a particle density nobody measured.
    """
    if (feedstock.id, quantity) in declared:
        return declared[feedstock.id, quantity]
    rules = load_spread_rules()
    if quantity not in rules:
        raise UnknownName(f"No spread for '{quantity}'; known are {', '.join(sorted(rules))}.")
    value = getattr(feedstock, quantity)
    if value is None:
        raise InvalidInput(f"{feedstock.name} has no value for {quantity.replace('_', ' ')}.")
    return rules[quantity].around(value, feedstock.source_kind)
