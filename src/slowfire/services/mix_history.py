"""What a journal says about dry stuff: how it is usually used, and how much is left."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from statistics import median

from slowfire.errors import SlowfireError
from slowfire.journal import Journal
from slowfire.materials.feedstock import Packing, Portion, packing_named
from slowfire.materials.library import Library
from slowfire.measures import Amount, Measures
from slowfire.recipe.optimise import AtHand
from slowfire.recipe.scoring import is_dry_stuff
from slowfire.records import LoadItem, Stock, joined_loads

LOADS_LOOKED_AT = 12
FEWEST_LOADS = 3  # fewer make no habit


@dataclass(frozen=True)
class History:
    """Dry stuff in one bin's past loads and at the site.

    Attributes
    ----------
    ratios : dict of str to float
        Litres of each dry material to one litre of the rest, in a usual load [-].
    packing : dict of str to str or None
        How each was measured last.
    stock_litres : dict of str to float
        What is left of each material that was ever counted, bought or gathered [L].
    """

    ratios: dict[str, float]
    packing: dict[str, Packing | None]
    stock_litres: dict[str, float]

    def habit(self, load: Sequence[Portion], library: Library, step: float) -> tuple[Portion, ...]:
        """What the keeper usually adds to such a load, beyond what is in it already.

        In whole steps, and no more than the journal says is left.

        Parameters
        ----------
        load : sequence of Portion
            What is to go in [-].
        library : Library
            Where the materials are [-].
        step : float
            A quarter of the measure in use [litre].

        Returns
        -------
        tuple of Portion
        """
        wet = sum(one.litres for one in load if not is_dry_stuff(one.feedstock))
        already = {one.feedstock.id for one in load}
        found = []
        for name, ratio in self.ratios.items():
            if name in already or ratio <= 0.0:
                continue
            stuff = library.find(name)
            litres = max(round(ratio * wet / step), 1) * step
            litres = min(litres, self.stock_litres.get(name, litres))
            if litres <= 0.0:
                continue
            packing = self.packing.get(name)
            found.append(Portion(stuff, litres * stuff.density(packing) / 1000.0, litres, packing))
        return tuple(found)

    def limited(self, offered: Sequence[AtHand]) -> tuple[list[AtHand], list[str]]:
        """Limit what is at hand to what the journal says is left.

        Parameters
        ----------
        offered : sequence of AtHand
            As named by the user; an amount said there goes before the journal's [-].

        Returns
        -------
        tuple of (list of AtHand, list of str)
            The same with their stock, and a sentence for each that was limited.
        """
        result, words = [], []
        for one in offered:
            left = self.stock_litres.get(one.feedstock.id)
            if one.stock_litres is None and left is not None:
                result.append(replace(one, stock_litres=left))
                words.append(f"{one.feedstock.name}: {left:.0f} L left, by the journal.")
            else:
                result.append(one)
        return result, words


def read_history(
    journal: Journal, bin_name: str, library: Library, measures: Measures, at: datetime
) -> History:
    """Read the use and the stock of dry stuff up to a time.

    Parameters
    ----------
    journal : Journal
        As read [-].
    bin_name : str
        Whose habit [-].
    library, measures : Library, Measures
        With those of the site [-].
    at : datetime
        Later entries are left out [-].

    Returns
    -------
    History
    """
    entries = [entry for entry in journal.effective if entry.when <= at]
    stock: dict[str, float] = {}
    moves: list[tuple[datetime, int, str, float, str]] = []
    loads = joined_loads(entries)
    for entry in entries:
        if isinstance(entry.payload, Stock):
            held = entry.payload
            found = _portion(library, measures, held.material, held.amount.middle, held.amount.unit)
            if found is not None:
                moves.append((entry.when, 0, found.feedstock.id, found.litres, held.change))
            elif held.amount.middle == 0.0:
                name = library.find(held.material).id
                moves.append((entry.when, 0, name, 0.0, held.change))
    own: list[list[Portion]] = []
    for when, name, items in loads:
        portions = [
            one for item in items if (one := portion_of(library, measures, item)) is not None
        ]
        for one in portions:
            moves.append((when, 1, one.feedstock.id, one.litres, "used"))
        if name.casefold() == bin_name.casefold():
            own.append(portions)
    for _, _, name, litres, change in sorted(moves, key=lambda move: move[:2]):
        if change == "counted":
            stock[name] = litres
        elif change in ("bought", "gathered"):
            stock[name] = stock.get(name, 0.0) + litres
        elif name in stock:
            stock[name] = max(stock[name] - litres, 0.0)
    packing: dict[str, Packing | None] = {}
    for portions in own:
        packing |= {one.feedstock.id: one.packing for one in portions}
    return History(_ratios(own[-LOADS_LOOKED_AT:]), packing, stock)


def _ratios(loads: Sequence[Sequence[Portion]]) -> dict[str, float]:
    """Median litres of each dry material to one litre of the rest; none seldom used counts."""
    shares: list[dict[str, float]] = []
    for portions in loads:
        wet = sum(one.litres for one in portions if not is_dry_stuff(one.feedstock))
        if wet > 0.0:
            shares.append(
                {
                    one.feedstock.id: one.litres / wet
                    for one in portions
                    if is_dry_stuff(one.feedstock)
                }
            )
    if len(shares) < FEWEST_LOADS:
        return {}
    names = dict.fromkeys(name for share in shares for name in share)
    found = {name: median(share.get(name, 0.0) for share in shares) for name in names}
    return {name: ratio for name, ratio in found.items() if ratio > 0.0}


def portion_of(library: Library, measures: Measures, item: LoadItem) -> Portion | None:
    """What went in of one item of a load; None where the amount is nothing or cannot be told."""
    packing = packing_named(item.packing)
    kept = 1.0 - (item.held_back or 0.0) / 100.0
    number = item.amount.middle * kept
    return _portion(library, measures, item.material, number, item.amount.unit, packing)


def _portion(
    library: Library,
    measures: Measures,
    material: str,
    number: float,
    unit: str,
    packing: Packing | None = None,
) -> Portion | None:
    """A portion, or None where the amount is nothing or cannot be told."""
    if number <= 0.0:
        return None
    stuff = library.find(material)
    if packing is None and stuff.packing_matters:
        packing = "loose"  # a sack or a heap in store is tipped, not pressed
    try:
        return measures.to_portion(stuff, Amount(number, unit), packing)
    except SlowfireError:
        return None
