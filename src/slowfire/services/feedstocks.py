"""The materials slowfire knows: a list, or one material's sheet with spread and source."""

from dataclasses import dataclass

from slowfire.errors import InvalidInput, UnknownName
from slowfire.materials.feedstock import Feedstock
from slowfire.materials.library import Library, load_library

# Key of the sheet, field of Feedstock, scale to that key's unit, words, unit.
_QUANTITIES = (
    ("moisture_percent", "moisture_content_wet_basis", 100.0, "water, as added", "%"),
    ("carbon_percent_of_dry_matter", "carbon_content", 100.0, "carbon, dry", "%"),
    ("nitrogen_percent_of_dry_matter", "nitrogen_content", 100.0, "nitrogen, dry", "%"),
    ("c_to_n", "c_to_n", 1.0, "C:N", ""),
    ("volatile_solids_percent_of_dry_matter", "volatile_solids", 100.0, "volatile solids", "%"),
    ("lignin_percent_of_dry_matter", "lignin_content", 100.0, "lignin, dry", "%"),
    ("bulk_density_kg_per_m3", "bulk_density", 1.0, "density, loose", "kg/m3"),
    ("dense_bulk_density_kg_per_m3", "dense_bulk_density", 1.0, "density, pressed", "kg/m3"),
    (
        "water_holding_kg_per_kg_dry_matter",
        "water_holding_capacity",
        1.0,
        "water it holds",
        "kg/kg dry",
    ),
    ("phosphorus_percent_of_dry_matter", "phosphorus_content", 100.0, "phosphorus, dry", "%"),
    ("potassium_percent_of_dry_matter", "potassium_content", 100.0, "potassium, dry", "%"),
)


@dataclass(frozen=True)
class Quantity:
    """One figure of a material.

    Attributes
    ----------
    key : str
        Name with its unit.
    words : str
        For people.
    unit : str
        For people.
    value, low, high : float or None
        In the unit of the key; low and high None where nothing is known of the spread.
    spread_source : str
        What low and high rest on.
    """

    key: str
    words: str
    unit: str
    value: float | None
    low: float | None
    high: float | None
    spread_source: str


@dataclass(frozen=True)
class Sheet:
    """One material.

    Attributes
    ----------
    feedstock, name, group : str
        Id, name and kind.
    words : tuple of str
        Other names.
    structure : str
        bulking, absorbent, wet or neutral.
    ask_loose_or_dense : bool
        Whether a volume of it must say loose or dense.
    counts_in_c_to_n : bool
        Whether its carbon and nitrogen count.
    quantities : tuple of Quantity
        Figures with their spread.
    source, source_kind, cautions : str
        Where the figures come from, and what to watch.
    """

    feedstock: str
    name: str
    group: str
    words: tuple[str, ...]
    structure: str
    ask_loose_or_dense: bool
    counts_in_c_to_n: bool
    quantities: tuple[Quantity, ...]
    source: str
    source_kind: str
    cautions: str


def _quantity(
    library: Library, stuff: Feedstock, key: str, field: str, scale: float, words: str, unit: str
) -> Quantity:
    value = getattr(stuff, field)
    low = high = None
    source = ""
    try:
        spread = library.spread(stuff, field)
    except (InvalidInput, UnknownName):
        pass
    else:
        low, high, source = scale * spread.low, scale * spread.high, spread.source
    return Quantity(key, words, unit, None if value is None else scale * value, low, high, source)


def sheet_of(stuff: Feedstock, library: Library | None = None) -> Sheet:
    """Everything known of one material.

    Parameters
    ----------
    stuff : Feedstock
        The material.
    library : Library or None
        Where it comes from; None for the shipped one.

    Returns
    -------
    Sheet
        With spreads and sources.

    Examples
    --------
    >>> sheet = sheet_of(load_library().find("peelings"))
    >>> [(q.value, q.low, q.high) for q in sheet.quantities if q.key == "moisture_percent"]
    [(85.0, 78.0, 92.0)]
    """
    known = library or load_library()
    return Sheet(
        stuff.id,
        stuff.name,
        stuff.group,
        stuff.words,
        stuff.structure_role,
        stuff.packing_matters,
        stuff.counts_in_c_to_n,
        tuple(_quantity(known, stuff, *row) for row in _QUANTITIES),
        stuff.source,
        stuff.source_kind,
        stuff.cautions,
    )


def feedstocks(word: str | None = None) -> tuple[Sheet, ...]:
    """List materials, or find the one a word means.

    Parameters
    ----------
    word : str or None
        An id, a name or an everyday word; None for all.

    Returns
    -------
    tuple of Sheet
        One where the word means one material, else all that fit.

    Raises
    ------
    UnknownName
        If nothing fits, with near misses.

    Examples
    --------
    >>> [sheet.feedstock for sheet in feedstocks("grass clippings")]
    ['grass_clippings_fresh']
    >>> len(feedstocks("straw")) >= 1
    True
    """
    library = load_library()
    if word is None or not word.strip():
        return tuple(sheet_of(stuff, library) for stuff in library.feedstocks)
    try:
        return (sheet_of(library.find(word), library),)
    except UnknownName:
        fitting = library.search(word)
        if not fitting:
            raise
        return tuple(sheet_of(stuff, library) for stuff in fitting)
