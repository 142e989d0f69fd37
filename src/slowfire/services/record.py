"""What was typed into a form turned into an entry; the words are those of the text form."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from uuid import UUID, uuid4

from slowfire import records as r
from slowfire.errors import SlowfireError
from slowfire.journal.cells import PAYLOAD_COLUMNS, read_payload
from slowfire.materials.library import Library, load_library
from slowfire.measures import Measure, default_measures
from slowfire.refusals import RefusedField
from slowfire.services.mix_words import amount_words
from slowfire.tables_text import CellError

# A clock a little fast is no mistake; a day ahead is.
AHEAD = timedelta(hours=1)
FOODS = ("kitchen",)
DECIMAL_COMMA = re.compile(r"^(\d+),(\d+)$")


@dataclass(frozen=True)
class UsualLoad:
    """The load that one tap records: its items, and words for the button."""

    items: tuple[r.LoadItem, ...]
    words: str


def when_of(text: str, site: r.Site, now: datetime) -> datetime:
    """When something happened, by the clock of the place; now if nothing is typed.

    Raises
    ------
    InvalidInput
        If it is no time, or still to come.
    """
    if not text.strip():
        return now
    try:
        local = datetime.fromisoformat(text.strip())
    except ValueError as problem:
        raise RefusedField(
            "when", f"read {text!r}; write a date and time such as 2026-03-12 18:30."
        ) from problem
    when = local if local.tzinfo else local.replace(tzinfo=site.zone)
    if when > now + AHEAD:
        raise RefusedField(
            "when", f"{text} is still to come; write when it happened, or leave it empty for now."
        )
    return when.astimezone(UTC)


def entry_of(
    site: r.Site,
    bin_name: str,
    kind: str,
    cells: Mapping[str, str],
    now: datetime,
    own_id: UUID | None = None,
    corrects: UUID | None = None,
    who: str = "",
) -> r.Entry:
    """Make an entry of one row of cells.

    Parameters
    ----------
    site : Site
        The place [-].
    bin_name : str
        Which bin [-].
    kind : str
        Word for what happened [-].
    cells : mapping of str to str
        when, item, amount, unit, at, value and note, as typed [-].
    now : datetime
        The present [-].
    own_id : UUID or None
        Made by whoever sends it; a new one if None [-].
    corrects : UUID or None
        The entry this one replaces [-].
    who : str
        Who wrote it [-].

    Returns
    -------
    Entry

    Raises
    ------
    RefusedField
        With the field, what was read and what is allowed.
    """
    row = {column: cells.get(column, "").strip() for column in PAYLOAD_COLUMNS}
    # a form has no columns to part, so a comma is a decimal point
    row["amount"] = DECIMAL_COMMA.sub(r"\1.\2", row["amount"])
    note = "" if kind == "note" else row["note"]
    if kind == "load" and not row["item"]:
        raise RefusedField("item", "say what went in, such as peelings.")
    try:
        payload = read_payload(kind, row, False)
        if isinstance(payload, r.Load):
            payload = r.Load(tuple(_known_item(site, item) for item in payload.items))
        elif isinstance(payload, r.Water | r.Drain | r.DigOut | r.Warm):
            _known_measure(site, payload.amount.unit)
            if isinstance(payload, r.DigOut) and payload.weighed is not None:
                _known_weight(site, payload.weighed.unit)
        when = when_of(cells.get("when", ""), site, now)
        return r.Entry(
            own_id or uuid4(), bin_name, when, payload, now, who, note, corrects=corrects
        )
    except CellError as problem:
        raise RefusedField(problem.column, problem.message) from problem


def load_of(
    site: r.Site,
    bin_name: str,
    rows: Sequence[Mapping[str, str]],
    when: str,
    now: datetime,
    own_id: UUID | None = None,
) -> r.Entry:
    """Make one load of several rows; rows without an amount are left out.

    Raises
    ------
    RefusedField
        If nothing is left, or a row cannot be read.
    """
    items: list[r.LoadItem] = []
    for row in rows:
        if not row.get("amount", "").strip() or not row.get("item", "").strip():
            continue
        made = entry_of(site, bin_name, "load", row, now)
        if isinstance(made.payload, r.Load):
            items += made.payload.items
    if not items:
        raise RefusedField("amount", "say how much of at least one thing went in, such as 1.")
    happened = when_of(when, site, now)
    load = r.Load(tuple(dict.fromkeys(items)))
    return r.Entry(own_id or uuid4(), bin_name, happened, load, now)


def retraction_of(entry: r.Entry, now: datetime) -> r.Entry:
    """Take an entry back."""
    return r.Entry(uuid4(), entry.bin, now, None, now, corrects=entry.id, retracts=True)


def site_library(site: r.Site) -> Library:
    """The shipped materials and the keeper's own."""
    library = load_library()
    if not site.materials:
        return library
    return library.with_own({"name": name, **values} for name, values in site.materials.items())


def usual_load(site: r.Site, entries: Sequence[r.Entry]) -> UsualLoad:
    """The load that was written last with food in it; one caddy with paper if there is none."""
    library = site_library(site)
    for one in reversed(entries):
        if not isinstance(one.payload, r.Load):
            continue
        try:
            groups = [library.find(item.material).group for item in one.payload.items]
        except SlowfireError:
            continue
        if any(group in FOODS for group in groups):
            items = tuple(
                r.LoadItem(item.material, item.amount, item.packing, item.state)
                for item in one.payload.items
            )
            return UsualLoad(items, load_words(site, items))
    items = (
        r.LoadItem("food_waste_household_mixed", r.Amount(1.0, "caddy")),
        r.LoadItem("office_paper_shredded", r.Amount(0.5, "caddy"), "loose"),
    )
    return UsualLoad(items, load_words(site, items))


def load_words(site: r.Site, items: Sequence[r.LoadItem]) -> str:
    """Say a load in words, such as 'one caddy of peelings, half a caddy of office paper'."""
    library = site_library(site)
    return ", ".join(
        f"{amount_words(one.amount.middle, one.amount.unit)} of {_name_in(library, one.material)}"
        for one in items
    )


def material_name(site: r.Site, material: str) -> str:
    """The name of a material within a sentence; as written if nobody knows it."""
    return _name_in(site_library(site), material)


def _name_in(library: Library, material: str) -> str:
    try:
        name = library.find(material).name
    except SlowfireError:
        name = material
    return name[:1].lower() + name[1:]


def last_thermometer(site: r.Site, entries: Sequence[r.Entry]) -> str:
    """The thermometer used last; the dial in the lid if none was."""
    for one in reversed(entries):
        if isinstance(one.payload, r.Reading):
            return site.thermometer_named(one.payload.thermometer).name
    for thermometer in site.thermometers:
        if thermometer.kind == "lid":
            return thermometer.name
    return site.thermometers[0].name if site.thermometers else "lid dial"


def _known_item(site: r.Site, item: r.LoadItem) -> r.LoadItem:
    """Refuse a material or measure nobody knows while its field is still on the screen."""
    library = site_library(site)
    try:
        library.find(item.material)
    except SlowfireError as problem:
        raise RefusedField("item", str(problem)) from problem
    _known_measure(site, item.amount.unit)
    return item


def _known_weight(site: r.Site, unit: str) -> None:
    if _known_measure(site, unit, "weighed").mass is None:
        raise RefusedField("weighed", f"read {unit!r}; allowed is a weight, such as kg or lb.")


def _known_measure(site: r.Site, unit: str, field: str = "unit") -> Measure:
    try:
        return default_measures().with_own(site.measures).named(unit)
    except SlowfireError as problem:
        raise RefusedField(field, str(problem)) from problem
