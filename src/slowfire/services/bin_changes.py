"""What is known of a place changed from a form: a bin, its measures, thermometers, the weather."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import uuid4

from slowfire import records as r
from slowfire.errors import InvalidInput, SlowfireError
from slowfire.measures import default_measures
from slowfire.refusals import RefusedField
from slowfire.services.bin_setup import number_of
from slowfire.site import SETTING_KEYS, SIZE_NAMES
from slowfire.timeline_vessel import changed_bin
from slowfire.units import LITRES_PER_US_GALLON
from slowfire.weather.towns import town_named

CM_PER_INCH = 2.54
LENGTHS = (
    "inside_width_cm", "inside_depth_cm", "inside_height_cm", "inside_diameter_cm",
    "top_diameter_cm", "bottom_diameter_cm", "vent_slot_length_cm", "door_height_cm",
)  # fmt: skip
NUMBERS = ("base_inlet_area_cm2", "sun_share_percent", "open_share_percent")
WORDS = ("stands_on", "lid_leak", "shelter")
SHEETS = ("wall", "lid", "base")
FLAGS = ("roofed", "slatted")
EDITED = (*LENGTHS, *NUMBERS, *WORDS, *SHEETS, *FLAGS, "tub_litres")
MOST_ROWS = 40


@dataclass(frozen=True)
class Changed:
    """A site after a form, and entries that say so where the change is of today."""

    site: r.Site
    entries: tuple[r.Entry, ...] = ()


def typed_of(record: r.Bin, units: str) -> dict[str, str]:
    """What a form shows of a bin, lengths in cm or inches, liquid in litres or gallons.

    Examples
    --------
    >>> typed_of(r.Bin("Drum", "cylinder", inside_diameter_cm=50.8, inside_height_cm=75.0,
    ...     wall=(r.WallLayer("foam", 50.0),)), "us")["inside_diameter_cm"]
    '20'
    """
    us = units == "us"
    typed = {"shape": record.shape}
    for name in EDITED:
        value = getattr(record, name)
        if value is None:
            typed[name] = ""
        elif name in SHEETS:
            typed[name] = " + ".join(f"{one.material} {one.thickness_mm:g}" for one in value)
        elif name in FLAGS:
            typed[name] = "yes" if value else "no"
        elif name in LENGTHS and us:
            typed[name] = f"{value / CM_PER_INCH:.3g}"
        elif name == "tub_litres" and us:
            typed[name] = f"{value / LITRES_PER_US_GALLON:.3g}"
        else:
            typed[name] = f"{value:g}" if isinstance(value, float) else str(value)
    return typed


def bin_changed(
    site: r.Site, name: str, typed: Mapping[str, str], now: datetime, from_today: bool
) -> Changed:
    """Change a bin: put right what was described wrongly, or write a change of today.

    Parameters
    ----------
    site : Site
        As it is [-].
    name : str
        Which bin [-].
    typed : mapping of str to str
        Properties by name, in the units of the site; what did not change is left alone [-].
    now : datetime
        The present [-].
    from_today : bool
        Whether the bin was as described until now; else it always was as typed [-].

    Returns
    -------
    Changed
        Without a difference, the site as it was.

    Raises
    ------
    RefusedField
        With the field, what was read and what is allowed.
    """
    old = site.bin_named(name)
    before = typed_of(old, site.units)
    made = old
    changes: list[tuple[str, str]] = []
    for field in EDITED:
        text = typed.get(field, before[field]).strip()
        if text == before[field]:
            continue
        if not text and field in ("lid", "base"):
            made = replace(made, **{field: ()})  # type: ignore[arg-type]
            changes.append((field, text))
            continue
        plain = _plain(field, text, site.units)
        try:
            made = changed_bin(made, field, plain)
        except RefusedField:
            raise
        except SlowfireError as problem:
            raise RefusedField(field, str(problem)) from problem
        changes.append((field, plain))
    if not from_today:
        return Changed(_with_bin(site, old.name, made))
    entries = []
    for field, text in changes:
        if field not in SETTING_KEYS["bin"] or not text:
            raise RefusedField(
                field, f"{field} cannot change from a day on; say that it always was so."
            )
        payload = r.Setting("bin", old.name, field, text)
        entries.append(r.Entry(uuid4(), old.name, now, payload, now))
    return Changed(site, tuple(entries))


def bin_added(site: r.Site, typed: Mapping[str, str]) -> r.Site:
    """Add a bin or heap to a place.

    Parameters
    ----------
    site : Site
        As it is [-].
    typed : mapping of str to str
        name, shape, its sizes and wall, in the units of the site [-].

    Returns
    -------
    Site

    Raises
    ------
    RefusedField
        With the field, what was read and what is allowed.
    """
    name = typed.get("name", "").strip()
    if not name:
        raise RefusedField("name", "give it a name, such as Leaf heap.")
    if any(one.name.casefold() == name.casefold() for one in site.bins):
        raise RefusedField("name", f"there is a bin named {name} already; choose another name.")
    shape = typed.get("shape", "box")
    sizes: dict[str, float] = {}
    for field in SIZE_NAMES:
        text = typed.get(field, "").strip()
        if text:
            sizes[field] = float(_plain(field, text, site.units))
    try:
        made = r.Bin(name, shape, **sizes)  # type: ignore[arg-type]
        if typed.get("wall", "").strip() and shape != "heap":
            made = changed_bin(made, "wall", typed["wall"])
    except RefusedField:
        raise
    except SlowfireError as problem:
        raise RefusedField("wall", str(problem)) from problem
    return replace(site, bins=(*site.bins, made))


def measures_changed(site: r.Site, rows: Sequence[tuple[str, str]]) -> r.Site:
    """Change the keeper's own measures.

    Parameters
    ----------
    site : Site
        As it is [-].
    rows : sequence of (str, str)
        Name and size in litres, or gallons; rows without a name are left out [-].

    Returns
    -------
    Site

    Raises
    ------
    RefusedField
        With the row, what was read and what is allowed.
    """
    found: dict[str, float] = {}
    for k, (name, size) in enumerate(rows[:MOST_ROWS]):
        if not name.strip():
            continue
        litres = number_of(f"litres{k}", size)
        if litres is None:
            raise RefusedField(f"litres{k}", f"say how much a {name.strip()} holds.")
        litres *= LITRES_PER_US_GALLON if site.units == "us" else 1.0
        if not 0.01 <= litres <= 2000.0:
            raise RefusedField(
                f"litres{k}", f"{name.strip()} holds {litres:g} L; allowed is 0.01 to 2000 L."
            )
        found[name.strip()] = litres
    try:
        default_measures().with_own(found)
        return replace(site, measures=found)
    except SlowfireError as problem:
        raise RefusedField("measures", str(problem)) from problem


def thermometers_changed(site: r.Site, rows: Sequence[Mapping[str, str]]) -> r.Site:
    """Change the thermometers of a place.

    Parameters
    ----------
    site : Site
        As it is [-].
    rows : sequence of mapping
        name, kind, depth and bias as typed; rows without a name are left out [-].

    Returns
    -------
    Site

    Raises
    ------
    RefusedField
        With the row, what was read and what is allowed.
    """
    us = site.units == "us"
    found = []
    for k, row in enumerate(rows[:MOST_ROWS]):
        name = row.get("name", "").strip()
        if not name:
            continue
        depth = number_of(f"depth{k}", row.get("depth", ""))
        bias = number_of(f"bias{k}", row.get("bias", ""), 0.0) or 0.0
        if depth is not None and us:
            depth *= CM_PER_INCH
        try:
            found.append(
                r.Thermometer(name, row.get("kind", "probe"), depth, bias / 1.8 if us else bias)
            )
        except RefusedField as problem:
            raise RefusedField(f"{problem.field}{k}", str(problem)) from problem
    try:
        return replace(site, thermometers=tuple(found))
    except SlowfireError as problem:
        raise RefusedField("thermometers", str(problem)) from problem


def place_changed(site: r.Site, typed: Mapping[str, str]) -> r.Site:
    """Change the name of a place, its town, units and clock.

    Parameters
    ----------
    site : Site
        As it is [-].
    typed : mapping of str to str
        name, town, units, timezone and forecast_url [-].

    Returns
    -------
    Site

    Raises
    ------
    RefusedField
        With the field, what was read and what is allowed.
    """
    made = replace(
        site,
        name=typed.get("name", site.name).strip() or site.name,
        units=typed.get("units", site.units),
        timezone=typed.get("timezone", site.timezone).strip() or site.timezone,
    )
    weather = made.weather
    town = typed.get("town", "").strip()
    if town and (weather is None or weather.kind == "grid") and town != _town(site):
        try:
            there = town_named(town)
        except SlowfireError as problem:
            raise RefusedField("town", str(problem)) from problem
        weather = replace(weather or r.WeatherSetting("grid"), town=there.full_name)
        made = replace(
            made,
            latitude_degrees=there.latitude_degrees,
            longitude_degrees=there.longitude_degrees,
        )
    if weather is not None and "forecast_url" in typed:
        url = typed["forecast_url"].strip() or None
        weather = replace(weather, forecast_url=url)
    return replace(made, weather=weather)


def _town(site: r.Site) -> str:
    return site.weather.town or "" if site.weather is not None else ""


def _with_bin(site: r.Site, name: str, made: r.Bin) -> r.Site:
    return replace(site, bins=tuple(made if one.name == name else one for one in site.bins))


def _plain(field: str, text: str, units: str) -> str:
    """The text in the units that a site keeps."""
    if field not in (*LENGTHS, *NUMBERS, "tub_litres"):
        return text
    value = number_of(field, text)
    if value is None:
        raise RefusedField(field, f"{field} is empty; write a number.")
    if units == "us" and field in LENGTHS:
        value *= CM_PER_INCH
    elif units == "us" and field == "tub_litres":
        value *= LITRES_PER_US_GALLON
    return f"{value:.10g}"


def bin_taken_away(site: r.Site, name: str, entries: Sequence[r.Entry]) -> r.Site:
    """Take a bin away of which nothing was written.

    Raises
    ------
    InvalidInput
        If something was written of it, or it is the only one.
    """
    record = site.bin_named(name)
    if len(site.bins) == 1:
        raise InvalidInput(f"{record.name} is the only bin; add another before it goes.")
    if any(one.bin.casefold() == record.name.casefold() for one in entries):
        raise InvalidInput(
            f"{record.name} stays, since entries tell of it; write a note that it is gone."
        )
    return replace(site, bins=tuple(one for one in site.bins if one.name != record.name))
