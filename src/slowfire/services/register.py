"""The register of a school or community site: who put in what and when, and what was seen."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from slowfire import records as r
from slowfire.errors import InvalidInput, SlowfireError
from slowfire.materials.library import Library
from slowfire.measures import Measures, default_measures
from slowfire.recipe.scoring import is_dry_stuff
from slowfire.services.amounts import litres_of
from slowfire.services.entry_words import entry_words
from slowfire.services.mix_history import portion_of
from slowfire.services.record import site_library
from slowfire.units import KILOGRAMS_PER_POUND, LITRES_PER_US_GALLON, format_temperature

SHOWN = (
    "load", "reading", "look", "stir", "poke", "turn", "water", "drain", "dig_out", "test", "use",
    "vent", "cover", "worms",
)  # fmt: skip
NOTES = (
    "Amounts are as people wrote them, in their own measures; kilograms from usual densities.",
    "A record for inspectors where they ask for one; whether a permit or exemption is needed, ask "
    "the local authority.",
)


@dataclass(frozen=True)
class RegisterRow:
    """One entry in words."""

    when: str
    what: str
    words: str
    who: str


@dataclass(frozen=True)
class RegisterResult:
    """Entries in force of a bin from one day to another, and their totals.

    Attributes
    ----------
    site, bin, first, last : str
        Which, and from when to when.
    rows : tuple of RegisterRow
        By time.
    totals : tuple of (str, str)
        What went in and came out.
    notes : tuple of str
        How to read it.
    """

    site: str
    bin: str
    first: str
    last: str
    rows: tuple[RegisterRow, ...]
    totals: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]


def register(
    site: r.Site,
    entries: Sequence[r.Entry],
    bin_name: str,
    first: date | None = None,
    last: date | None = None,
) -> RegisterResult:
    """Gather the register of a bin.

    Parameters
    ----------
    site : Site
        The place [-].
    entries : sequence of Entry
        In force, by time [-].
    bin_name : str
        Which bin [-].
    first, last : date or None
        From and to, both counted; everything if None [-].

    Returns
    -------
    RegisterResult

    Raises
    ------
    InvalidInput
        If the last day lies before the first.
    """
    record = site.bin_named(bin_name)
    if first is not None and last is not None and last < first:
        raise InvalidInput(f"The last day {last} lies before the first {first}; turn them round.")
    library, measures = site_library(site), default_measures().with_own(site.measures)
    rows: list[RegisterRow] = []
    totals = {"Food and other wet stuff in": 0.0, "Dry stuff in": 0.0}
    out, hottest = 0.0, None
    for one in entries:
        day = one.when.astimezone(site.zone).date()
        if one.bin.casefold() != record.name.casefold() or one.kind not in SHOWN:
            continue
        if (first is not None and day < first) or (last is not None and day > last):
            continue
        when = one.when.astimezone(site.zone).strftime("%Y-%m-%d %H:%M")
        what = one.kind.replace("_", " ")
        words = "; ".join(each for each in (entry_words(site, one), one.note) if each)
        rows.append(RegisterRow(when, what, words, one.who))
        if isinstance(one.payload, r.Load):
            for item in one.payload.items:
                dry, kilograms = _kilograms(library, measures, item)
                totals["Dry stuff in" if dry else "Food and other wet stuff in"] += kilograms
        elif isinstance(one.payload, r.DigOut):
            out += litres_of(measures, one.payload.amount)
        elif isinstance(one.payload, r.Reading):
            kind = site.thermometer_named(one.payload.thermometer).kind
            celsius = one.payload.temperature.temperature_celsius
            if kind == "probe" and (hottest is None or celsius > hottest):
                hottest = celsius
    us = site.units == "us"
    told = [
        (name, f"{value / KILOGRAMS_PER_POUND:.0f} lb" if us else f"{value:.0f} kg")
        for name, value in totals.items()
    ]
    told.append(("Compost out", f"{out / LITRES_PER_US_GALLON:.0f} gal" if us else f"{out:.0f} L"))
    if hottest is not None:
        told.append(
            ("Highest probe reading", format_temperature(hottest, "us" if us else "metric"))
        )
    return RegisterResult(
        site.name,
        record.name,
        str(first or (rows[0].when[:10] if rows else "-")),
        str(last or (rows[-1].when[:10] if rows else "-")),
        tuple(rows),
        tuple(told),
        NOTES,
    )


def _kilograms(library: Library, measures: Measures, item: r.LoadItem) -> tuple[bool, float]:
    try:
        found = portion_of(library, measures, item)
        return is_dry_stuff(library.find(item.material)), 0.0 if found is None else found.mass
    except SlowfireError:
        return False, 0.0
