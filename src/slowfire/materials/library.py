"""The shipped feedstocks and a user's own: loading, checking, looking up."""

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache, cached_property

from slowfire.errors import InvalidInput, UnknownName
from slowfire.materials.feedstock import Feedstock, Packing, Portion, pressed_density
from slowfire.materials.names import plain_form
from slowfire.materials.own import own_feedstock
from slowfire.materials.packaged import packaged_rows
from slowfire.materials.spreads import Spread, load_published_spreads, spread_of

__all__ = ["Feedstock", "Library", "Packing", "Portion", "Spread", "load_library", "spread"]

SUGGESTIONS = 3


def _listed(feedstocks: Iterable[Feedstock]) -> str:
    return ", ".join(f"{item.id} ({item.name})" for item in feedstocks)


def _unique(feedstocks: Iterable[Feedstock]) -> tuple[Feedstock, ...]:
    return tuple({item.id: item for item in feedstocks}.values())


@dataclass(frozen=True, eq=False)
class Library:
    """A set of feedstocks that can be looked up by id, name or everyday word.

    Attributes
    ----------
    feedstocks : tuple of Feedstock
        All materials; ids are unique.
    declared_spreads : Mapping
        Published or user-given spreads by feedstock id and quantity.

    Raises
    ------
    InvalidInput
        If two feedstocks share an id, or two claim the same word before any other.
    """

    feedstocks: tuple[Feedstock, ...]
    declared_spreads: Mapping[tuple[str, str], Spread] = field(default_factory=dict)

    def __post_init__(self) -> None:
        seen: set[str] = set()
        claimed: dict[str, str] = {}
        for item in self.feedstocks:
            if item.id in seen:
                raise InvalidInput(f"Two materials are called '{item.id}'; give one another id.")
            seen.add(item.id)
            for word in item.preferred_words:
                other = claimed.setdefault(plain_form(word), item.id)
                if other != item.id:
                    raise InvalidInput(
                        f"'{word}' is claimed by {other} and by {item.id}; leave it to one."
                    )

    @cached_property
    def _by_name(self) -> dict[str, Feedstock]:
        names: dict[str, Feedstock] = {}
        for item in self.feedstocks:
            names.setdefault(plain_form(item.name), item)
        for item in self.feedstocks:
            names[plain_form(item.id)] = item
        return names

    @cached_property
    def _by_word(self) -> dict[str, tuple[Feedstock, ...]]:
        words: dict[str, tuple[Feedstock, ...]] = {}
        for item in self.feedstocks:
            for word in {plain_form(w): None for w in item.words}:
                words[word] = (*words.get(word, ()), item)
        return words

    @cached_property
    def _preferred(self) -> dict[str, Feedstock]:
        return {plain_form(w): item for item in self.feedstocks for w in item.preferred_words}

    def find(self, word: str) -> Feedstock:
        """Find the one material a user means.

        Parameters
        ----------
        word : str
            An id, a name or an everyday word; case and plural do not matter.

        Returns
        -------
        Feedstock
            The material.

        Raises
        ------
        UnknownName
            If nothing fits (with up to three near misses), or several do and none comes first.

        Examples
        --------
        >>> load_library().find("Tea bag").id
        'tea_leaves'
        """
        key = plain_form(word)
        if key in self._preferred:
            return self._preferred[key]
        if key in self._by_name:
            return self._by_name[key]
        fitting = self._by_word.get(key, ())
        if len(fitting) == 1:
            return fitting[0]
        if fitting:
            raise UnknownName(f"'{word}' could be any of {_listed(fitting)}. Say which one.")
        if key in _answers():
            raise UnknownName(f"'{word.strip()}' {_answers()[key]}.")
        near = self._near(key)
        hint = f"Did you mean {_listed(near)}? " if near else ""
        raise UnknownName(
            f"No material is called '{word}'. {hint}"
            "`slowfire feedstocks` lists them all; one of your own goes into site.toml under "
            "[materials]."
        )

    def _near(self, key: str) -> tuple[Feedstock, ...]:
        names: dict[str, list[Feedstock]] = {k: [v] for k, v in self._by_name.items()}
        for word, items in self._by_word.items():
            first = self._preferred.get(word)
            names.setdefault(word, []).extend([first] if first else items)

        def alike(text: str, cutoff: float) -> list[Feedstock]:
            close = difflib.get_close_matches(text, names, n=SUGGESTIONS, cutoff=cutoff)
            return [item for name in close for item in names[name]]

        tokens = [token for token in key.split() if len(token) > 2]
        holding = [item for token in tokens for item in self.search(token)]
        similar = [item for token in (key, *tokens) for item in alike(token, 0.75)]
        return _unique([*alike(key, 0.85), *holding, *similar])[:SUGGESTIONS]

    def search(self, word: str) -> tuple[Feedstock, ...]:
        """List the materials whose id, name or words contain a word, best first.

        Parameters
        ----------
        word : str
            Part of an id, a name or an everyday word; empty lists all.

        Returns
        -------
        tuple of Feedstock
            What fits; may be empty.

        Examples
        --------
        >>> [item.id for item in load_library().search("bark")][:2]
        ['bark_chips_fine', 'bark_nuggets']
        """
        key = plain_form(word)
        if not key:
            return self.feedstocks
        ranked: list[list[Feedstock]] = [[], [], [], []]
        for item in self.feedstocks:
            names = [plain_form(text) for text in (item.id, item.name, *item.words)]
            if self._preferred.get(key) is item:
                ranked[0].append(item)
            elif key in names:
                ranked[1].append(item)
            elif any(f" {key} " in f" {name} " for name in names):
                ranked[2].append(item)
            elif any(key in name for name in names):
                ranked[3].append(item)
        return tuple(item for rank in ranked for item in rank)

    def spread(self, feedstock: Feedstock, quantity: str) -> Spread:
        """Low and high of one quantity: published or given by the user, else by our rule.

        Parameters
        ----------
        feedstock : Feedstock
            The material.
        quantity : str
            Field of `Feedstock`, such as nitrogen_content, or c_to_n.

        Returns
        -------
        Spread
            In the unit of the quantity.

        Raises
        ------
        UnknownName
            If there is no such quantity.
        InvalidInput
            If the feedstock has no value for it.

        Examples
        --------
        >>> library = load_library()
        >>> library.spread(library.find("coffee"), "moisture_content_wet_basis").low
        0.5
        """
        return spread_of(feedstock, quantity, self.declared_spreads)

    def with_own(self, feedstocks: Iterable[Mapping[str, object]]) -> "Library":
        """Add a user's own materials; one with a known id or word comes before the shipped one.

        Parameters
        ----------
        feedstocks : iterable of Mapping
            Each with `name`, `like` and what differs, see `own.own_feedstock`.

        Returns
        -------
        Library
            A new library; this one is unchanged.

        Raises
        ------
        InvalidInput
            If an entry is wrong or two share an id.
        UnknownName
            If a similar material is unknown.

        Examples
        --------
        >>> mine = {"name": "Hotel scraps", "like": "food waste", "moisture_percent": 80}
        >>> load_library().with_own([mine]).find("hotel scraps").moisture_content_wet_basis
        0.8
        """
        added: list[Feedstock] = []
        spreads = dict(self.declared_spreads)
        for entry in feedstocks:
            item, given = own_feedstock(entry, self.find)
            added.append(item)
            spreads = {k: v for k, v in spreads.items() if k[0] != item.id} | given
        taken = {item.id for item in added}
        kept = [_without_words(item, added) for item in self.feedstocks if item.id not in taken]
        return Library((*kept, *added), spreads)


def _without_words(shipped: Feedstock, own: list[Feedstock]) -> Feedstock:
    """A shipped material that no longer claims the words a user gave to an own one."""
    claimed = {plain_form(w) for item in own for w in item.preferred_words}
    if not any(plain_form(w) in claimed for w in shipped.preferred_words):
        return shipped
    left = tuple(w for w in shipped.preferred_words if plain_form(w) not in claimed)
    return replace(shipped, preferred_words=left)


@cache
def _answers() -> Mapping[str, str]:
    """What to say to words that are no material, on purpose."""
    return {
        plain_form(word): row["answer"]
        for row in packaged_rows("no_material.csv")
        for word in _split(row["words"])
    }


def _split(cell: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in cell.split(";") if part.strip())


def _feedstock(row: Mapping[str, str], words: Mapping[str, str]) -> Feedstock:
    bulk_density = float(row["bulk_density_kg_per_m3_loose"])
    piece = row["particle_density_or_blank"]
    particle_density = float(piece) if piece else None
    wood = words["bulking_wood"] == "yes"
    dense = words["dense_kg_per_m3"]
    return Feedstock(
        id=row["id"],
        name=row["name"],
        group=row["group"],
        words=_split(words["words"]),
        moisture_content_wet_basis=float(row["moisture_pct_wet"]) / 100.0,
        carbon_content=float(row["carbon_pct_dry"]) / 100.0,
        nitrogen_content=float(row["nitrogen_pct_dry"]) / 100.0,
        volatile_solids=float(row["volatile_solids_pct_dry"]) / 100.0,
        lignin_content=float(row["lignin_pct_dry"]) / 100.0,
        fast_fraction=float(row["fast_fraction_of_vs"]),
        slow_fraction=float(row["slow_fraction_of_vs"]),
        resistant_fraction=float(row["resistant_fraction_of_vs"]),
        bulk_density=bulk_density,
        dense_bulk_density=(
            float(dense) if dense else pressed_density(bulk_density, particle_density, wood)
        ),
        particle_density=particle_density,
        phosphorus_content=float(row["p_pct_dry"]) / 100.0,
        potassium_content=float(row["k_pct_dry"]) / 100.0,
        water_holding_capacity=float(row["water_holding_kg_per_kg_dry"]),
        structure_role=row["structure_role"],
        bulking_wood=wood,
        particle_size=float(row["typical_particle_mm"]) / 1000.0,
        source=row["source"],
        source_kind=row["source_kind"],
        cautions=row["cautions"],
        counts_in_c_to_n=words["counts_in_c_to_n"] == "yes",
        packing_matters=words["packing_matters"] == "yes",
        preferred_words=_split(words["preferred"]),
    )


@cache
def load_library() -> Library:
    """Read the shipped feedstocks, their everyday words and their published spreads.

    Returns
    -------
    Library
        The same object at every call.

    Notes
    -----
    Ours: the everyday words and which material they mean first.

    Examples
    --------
    >>> len(load_library().feedstocks)
    91
    """
    words = {row["id"]: row for row in packaged_rows("words.csv")}
    items = tuple(_feedstock(row, words[row["id"]]) for row in packaged_rows("feedstocks.csv"))
    return Library(items, load_published_spreads())


def spread(feedstock: Feedstock, quantity: str) -> Spread:
    """Low and high of one quantity of a shipped feedstock, published or by our rule.

    Parameters
    ----------
    feedstock : Feedstock
        The material.
    quantity : str
        Field of `Feedstock`, such as nitrogen_content, or c_to_n.

    Returns
    -------
    Spread
        In the unit of the quantity.

    Raises
    ------
    UnknownName
        If there is no such quantity.
    InvalidInput
        If the feedstock has no value for it.
    """
    return load_library().spread(feedstock, quantity)
