"""Items of a load as they are typed, and the measure to answer in."""

from collections.abc import Sequence
from dataclasses import dataclass

from slowfire.errors import InvalidInput
from slowfire.materials.feedstock import Feedstock, Packing, Portion, packing_named
from slowfire.materials.library import Library
from slowfire.measures import Amount, Measures
from slowfire.recipe.optimise import AtHand
from slowfire.recipe.scoring import is_dry_stuff

WATER = "water"
# Containers to advise in, small to large, where the user's own does not fit the size of the load.
_LADDER = ("scoop", "caddy", "bucket", "barrow", "bulk bag")
_MOST_OF_A_MEASURE = 4.0  # so many of a measure in a load, then the next larger one
_LEAST_OF_A_MEASURE = 0.5


@dataclass(frozen=True)
class Typed:
    """One item of the load as it was typed."""

    feedstock: Feedstock | None  # None for water
    amount: Amount
    portion: Portion | None
    water: float  # [kg]
    weighed: bool


def _split_packing(text: str) -> tuple[str, Packing | None]:
    """Take a last word 'loose' or 'dense' off."""
    words = text.split()
    packing = packing_named(words[-1]) if words else None
    if packing is not None:
        return " ".join(words[:-1]), packing
    return text.strip(), None


def is_water(word: str) -> bool:
    """Whether a word means water, which is no material.

    Parameters
    ----------
    word : str
        As typed.

    Returns
    -------
    bool
        True for water in any case.

    Examples
    --------
    >>> is_water(" Water ")
    True
    """
    return word.strip().casefold() == WATER


class ItemReader:
    """Reads items with one set of measures and materials.

    Parameters
    ----------
    library : Library
        Materials to look up.
    measures : Measures
        Measures to look up.
    packing : str or None
        loose or dense, for materials where it matters and was not said with the item.
    """

    def __init__(self, library: Library, measures: Measures, packing: Packing | None) -> None:
        self.library = library
        self.measures = measures
        self.packing = packing

    def _packing_of(self, feedstock: Feedstock, said: Packing | None) -> Packing | None:
        if said is not None:
            return said
        return self.packing if feedstock.packing_matters else None

    def item(self, text: str) -> Typed:
        """Read one ITEM=AMOUNT.

        Parameters
        ----------
        text : str
            Such as 'peelings=1 caddy' or 'paper=0.5 caddy loose'.

        Returns
        -------
        Typed
            The material, the amount as typed and what it means.

        Raises
        ------
        InvalidInput
            If it cannot be read, or loose or dense must be said.
        UnknownName
            If nobody declared the material or the measure.
        """
        word, mark, typed = text.partition("=")
        if not mark or not word.strip() or not typed.strip():
            raise InvalidInput(
                f"'{text}' is not ITEM=AMOUNT; write a material, an equals sign and an amount, "
                'such as "peelings=1 caddy".'
            )
        amount_text, said = _split_packing(typed)
        amount = self.measures.parse_amount(amount_text)
        if is_water(word):
            measure = self.measures.named(amount.measure)
            water = amount.number * (
                measure.mass if measure.mass is not None else measure.litres or 0
            )
            return Typed(None, amount, None, water, False)
        feedstock = self.library.find(word)
        portion = self.measures.to_portion(feedstock, amount, self._packing_of(feedstock, said))
        weighed = self.measures.named(amount.measure, feedstock).mass is not None
        return Typed(feedstock, amount, portion, 0.0, weighed)

    def offered(self, text: str, load: Sequence[Typed]) -> AtHand:
        """Read one of what is at hand.

        Parameters
        ----------
        text : str
            A material, perhaps with 'loose' or 'dense', perhaps with what there is of it, such as
            'paper=2 caddies loose'.
        load : sequence of Typed
            The load, whose packing holds for the same material.

        Returns
        -------
        AtHand
            With its packing and stock.

        Raises
        ------
        InvalidInput
            If loose or dense must be said.
        UnknownName
            If nobody declared the material or the measure.
        """
        word, mark, typed = text.partition("=")
        typed, said_behind = _split_packing(typed)
        word, said = _split_packing(word)
        feedstock = self.library.find(word)
        in_load = [t.portion.packing for t in load if t.portion and t.feedstock == feedstock]
        packing = self._packing_of(feedstock, said or said_behind or (in_load or [None])[0])
        stock = None
        if mark:
            amount = self.measures.parse_amount(typed)
            stock = self.measures.to_portion(feedstock, amount, packing).litres
        if packing is None and feedstock.packing_matters:
            caddy = self.measures.named("caddy").litres or 5.0
            raise InvalidInput(
                f"Say how you measure {feedstock.name}, loose or dense: a caddy is "
                f"{caddy * feedstock.bulk_density:.0f} g tipped in loosely (--loose) but "
                f"{caddy * feedstock.dense_bulk_density:.0f} g pressed down by hand (--dense)."
            )
        return AtHand(feedstock, packing, stock)


class Scale:
    """Which measure to advise in: the user's own where its size suits the load, else a common one.

    Parameters
    ----------
    measures : Measures
        Measures with the user's sizes.
    load : sequence of Typed
        The load as typed.
    """

    def __init__(self, measures: Measures, load: Sequence[Typed]) -> None:
        self.measures = measures
        wet = [t for t in load if t.feedstock is not None and not is_dry_stuff(t.feedstock)]
        used = [measures.named(t.amount.measure, t.feedstock) for t in wet or load]
        own = [m.name for m in used if m.litres and m.assumption != "exact" and not m.only_for]
        self.names = (*dict.fromkeys(own), *_LADDER)

    def measure(self, litres: float) -> tuple[str, float]:
        """Name and litres of the measure for so many litres of load."""
        for name in self.names:
            size = self.measures.named(name).litres or 0.0
            if size and _LEAST_OF_A_MEASURE <= litres / size <= _MOST_OF_A_MEASURE:
                return name, size
        name = _LADDER[0] if litres < 1.0 else _LADDER[-1]
        return name, self.measures.named(name).litres or 1.0

    def step(self, litres: float) -> float:
        """A quarter of it [L]."""
        return self.measure(litres)[1] / 4.0
