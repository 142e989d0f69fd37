"""A bin set up from four questions, and what happens to it from then on."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from uuid import uuid4
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from slowfire import records as r
from slowfire.errors import InvalidInput, SlowfireError
from slowfire.measures import default_measures
from slowfire.refusals import RefusedField
from slowfire.weather.towns import folded, town_named, towns

MOST_TOWNS = 8
# Sizes as people tell them apart: litres, width and height inside [cm].
SIZES = {
    "small": (150.0, 45.0, 74.0),
    "medium": (240.0, 52.0, 88.0),
    "large": (340.0, 60.0, 94.0),
}
# Sheets of each kind of wall and of its lid [mm]; common practice, no source.
WALLS: Mapping[str, tuple[tuple[tuple[str, float], ...], tuple[tuple[str, float], ...]]] = {
    "foam": ((("foam", 50.0),), (("foam", 30.0),)),
    "wood": ((("timber", 22.0),), (("timber", 22.0),)),
    "plastic": ((("plastic", 4.0),), (("plastic", 4.0),)),
    "not sure": ((("plastic", 4.0), ("foam", 10.0)), (("plastic", 4.0),)),
}
MOST_CADDIES = 60.0


@dataclass(frozen=True)
class Answers:
    """The four answers as numbers.

    Attributes
    ----------
    town : str
        Nearest town, as typed.
    size, wall : str
        Words of SIZES and WALLS.
    width_cm, height_cm : float or None
        Inside, if known better than by the size [cm].
    full : str
        empty or part full.
    level_cm : float
        From the rim down to the surface, if part full [cm].
    months : float
        For how long it has been in use, if part full.
    caddy_litres : float
        Of the caddy [L].
    caddies_a_week : float
        How many go in in a week [-].
    units : str
        metric or us.
    shared : bool
        Whether a school, a café or several homes use it.
    name : str
        Of the bin.
    """

    town: str
    size: str
    wall: str
    width_cm: float | None
    height_cm: float | None
    full: str
    level_cm: float
    months: float
    caddy_litres: float
    caddies_a_week: float
    units: str = "metric"
    shared: bool = False
    name: str = "Bin"


def towns_like(text: str) -> tuple[str, ...]:
    """Full names of towns that begin so, for who is still typing.

    Examples
    --------
    >>> towns_like("grazz"), towns_like("")
    ((), ())
    """
    wanted = folded(text)
    if not wanted:
        return ()
    found = [
        one.full_name
        for one in towns()
        if any(folded(name).startswith(wanted) for name in (one.name, *one.also))
    ]
    return tuple(found[:MOST_TOWNS])


def set_up(answers: Answers, now: datetime) -> tuple[r.Site, tuple[r.Entry, ...]]:
    """Make a site with one bin, and its first entries.

    Parameters
    ----------
    answers : Answers
        As given [-].
    now : datetime
        The present [-].

    Returns
    -------
    tuple of (Site, tuple of Entry)
        The vent at a crack, and a stock-take for a bin that is part full.

    Raises
    ------
    InvalidInput
        With the field, what is allowed and what to do.
    """
    if answers.size not in SIZES:
        raise RefusedField("size", f"size is {answers.size!r}; allowed is {', '.join(SIZES)}.")
    if answers.wall not in WALLS:
        raise RefusedField("wall", f"wall is {answers.wall!r}; allowed is {', '.join(WALLS)}.")
    try:
        town = town_named(answers.town)
    except SlowfireError as problem:
        raise RefusedField("town", str(problem)) from problem
    _, width, height = SIZES[answers.size]
    width, height = answers.width_cm or width, answers.height_cm or height
    _within("width", width, 15.0, 400.0, "cm")
    _within("height", height, 20.0, 300.0, "cm")
    _within("caddy_litres", answers.caddy_litres, 0.5, 60.0, "L")
    _within("caddies_a_week", answers.caddies_a_week, 0.0, MOST_CADDIES, "caddies a week")
    wall, lid = WALLS[answers.wall]
    bin_record = r.Bin(
        answers.name,
        "box",
        inside_width_cm=width,
        inside_depth_cm=width,
        inside_height_cm=height,
        wall=tuple(r.WallLayer(*one) for one in wall),
        lid=tuple(r.WallLayer(*one) for one in lid),
        stands_on="soil",
        vent_slot_length_cm=0.6 * width,
        base_inlet_area_cm2=25.0,
        shelter="normal",
        sun_share_percent=30.0,
        tub_litres=0.0,
    )
    site = r.Site(
        "Home",
        own_zone(),
        (bin_record,),
        (r.Thermometer("lid dial", "lid"), r.Thermometer("probe", "probe", depth_cm=25.0)),
        {"caddy": answers.caddy_litres, "scoop": 1.5},
        units=answers.units,
        latitude_degrees=town.latitude_degrees,
        longitude_degrees=town.longitude_degrees,
        weather=r.WeatherSetting("grid", town=town.full_name),
    )
    entries = [_entry(bin_record, now - timedelta(minutes=2), r.Vent("lid", "crack"))]
    if answers.full == "part full":
        _within("level_cm", answers.level_cm, 0.0, height, "cm")
        _within("months", answers.months, 0.0, 240.0, "months")
        since = (now - timedelta(days=30.4 * answers.months)).date()
        feed = None
        if answers.caddies_a_week > 0.0:
            feed = r.Amount(answers.caddies_a_week, "caddy")
        take = r.Stocktake(r.Length(answers.level_cm, "cm"), since, feed, mostly=("food waste",))
        entries.append(_entry(bin_record, now - timedelta(minutes=1), take))
    elif answers.full != "empty":
        raise RefusedField("full", f"read {answers.full!r}; allowed is empty or part full.")
    return site, tuple(entries)


def own_zone() -> str:
    """Name of the time zone of this machine; UTC where it cannot be told."""
    names = [os.environ.get("TZ", "")]
    try:
        names.append(Path("/etc/timezone").read_text(encoding="utf-8").strip())
    except OSError:
        names.append("")
    link = str(Path("/etc/localtime").resolve())
    names.append(link.split("zoneinfo/")[-1] if "zoneinfo/" in link else "")
    for name in names:
        if name:
            try:
                return ZoneInfo(name).key
            except (ZoneInfoNotFoundError, ValueError):
                continue
    return "UTC"


def measure_names(site: r.Site) -> tuple[str, ...]:
    """Measures to choose from: the keeper's own first."""
    usual = ("caddy", "scoop", "bucket", "litre", "kg")
    known = default_measures().with_own(site.measures)
    names = [*site.measures, *usual]
    return tuple(dict.fromkeys(one for one in names if _known(known, one)))


def _known(measures: object, name: str) -> bool:
    try:
        measures.named(name)  # type: ignore[attr-defined]
    except SlowfireError:
        return False
    return True


def _entry(bin_record: r.Bin, when: datetime, payload: r.Payload) -> r.Entry:
    return r.Entry(uuid4(), bin_record.name, when, payload, recorded=when)


def _within(field: str, value: float, low: float, high: float, unit: str) -> None:
    if not low <= value <= high:
        raise RefusedField(
            field, f"{value:g} {unit} is out of range; allowed is {low:g} to {high:g} {unit}."
        )


def number_of(field: str, text: str, blank: float | None = None) -> float | None:
    """Read a typed number; a comma is a decimal point too.

    Raises
    ------
    InvalidInput
        With the field.

    Examples
    --------
    >>> number_of("level", "12,5"), number_of("level", " ", 3.0)
    (12.5, 3.0)
    """
    plain = text.strip().replace(",", ".")
    if not plain:
        return blank
    try:
        value = float(plain)
    except ValueError as problem:
        raise RefusedField(field, f"read {text!r}; write a number, such as 12.5.") from problem
    if value != value or abs(value) > 1e9:
        raise InvalidInput(f"read {text!r}; write a number, such as 12.5.")
    return value
