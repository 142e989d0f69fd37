"""The section of a bin for a screen: a few zones by warmth, and where thermometers read."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from slowfire import records as r
from slowfire.errors import SlowfireError
from slowfire.materials.library import Library
from slowfire.services.inside import InsideLayer, InsideResult
from slowfire.services.today_dates import DAYS, MONTHS, short_day
from slowfire.units import UnitSystem, fahrenheit_from_celsius

FROZEN, COOL, WARM, HOT = 0.5, 20.0, 35.0, 45.0  # words by the middle of the estimate [degC]
MOST_ZONES = 5
LEAST_CM = 4.0  # a thinner zone joins its neighbour
MARK_DAYS = 14.0
USUAL_DEPTH_CM = 25.0  # of a probe of which nothing else is known
WORMS_BELOW = 35.0  # worms do not stay where it is hotter [degC]


@dataclass(frozen=True)
class Zone:
    """Neighbouring layers of one warmth, base first; heights above the floor."""

    from_cm: float
    to_cm: float
    word: str
    low: int
    mid: int
    high: int
    moisture_percent: int
    what: str
    from_readings: bool


@dataclass(frozen=True)
class Mark:
    """A thermometer reading in the section; height None for the dial in the lid."""

    name: str
    value: str
    day: str
    height_cm: float | None


def warmth_word(celsius: float) -> str:
    """Plain word for a temperature in the bin.

    Examples
    --------
    >>> [warmth_word(one) for one in (-2.0, 12.0, 28.0, 40.0, 58.0)]
    ['frozen', 'cool', 'mild', 'warm', 'hot']
    """
    if celsius >= HOT:
        return "hot"
    if celsius < FROZEN:
        return "frozen"
    return "warm" if celsius >= WARM else "mild" if celsius >= COOL else "cool"


def zones_of(
    library: Library,
    inside: InsideResult,
    entries: Sequence[r.Entry],
    zone: tzinfo,
    system: UnitSystem = "metric",
) -> tuple[Zone, ...]:
    """Join the slices of an estimate to a few zones by how warm they are, base first.

    Parameters
    ----------
    library : Library
        Materials of the site [-].
    inside : InsideResult
        The estimate [-].
    entries : sequence of Entry
        Of the bin, in force, by time [-].
    zone : tzinfo
        Clock of the place [-].
    system : str
        metric or us [-].

    Returns
    -------
    tuple of Zone
    """
    at = datetime.fromisoformat(inside.at)
    worms = _worms_seen([one for one in entries if one.when <= at])
    groups = _groups(inside.layers)
    coolest = [_weighted(group, lambda one: one.temperature_centre_celsius.mid) for group in groups]
    found = []
    for place, group in enumerate(groups):
        mid = coolest[place]
        ages = [one.age_days for one in group]
        what = _what(library, entries, min(ages), max(ages), at.astimezone(zone))
        if place == 0 and worms and FROZEN < mid < WORMS_BELOW:
            what = f"{what}, worms here"
        found.append(
            Zone(
                from_cm=group[0].height_cm,
                to_cm=group[-1].height_cm + group[-1].thickness_cm,
                word=warmth_word(mid),
                low=_whole(_weighted(group, lambda x: x.temperature_centre_celsius.low), system),
                mid=_whole(mid, system),
                high=_whole(_weighted(group, lambda x: x.temperature_centre_celsius.high), system),
                moisture_percent=round(_weighted(group, lambda x: x.moisture_percent.mid)),
                what=what,
                from_readings=any(one.basis == "from readings" for one in group),
            )
        )
    return tuple(found)


def marks_of(
    site: r.Site,
    entries: Sequence[r.Entry],
    inside: InsideResult,
    system: UnitSystem,
    now: datetime,
) -> tuple[Mark, ...]:
    """Last reading of each thermometer in the last two weeks, where it was taken.

    Parameters
    ----------
    site : Site
        The place [-].
    entries : sequence of Entry
        Of the bin, in force, by time [-].
    inside : InsideResult
        The estimate [-].
    system : str
        metric or us [-].
    now : datetime
        The present [-].

    Returns
    -------
    tuple of Mark
    """
    found: dict[str, Mark] = {}
    fill = inside.bin_height_cm - inside.fill_cm_below_rim.mid
    for one in reversed(entries):
        payload = one.payload
        if not isinstance(payload, r.Reading) or now - one.when > timedelta(days=MARK_DAYS):
            continue
        thermometer = site.thermometer_named(payload.thermometer)
        if thermometer.name in found or thermometer.kind not in ("lid", "probe"):
            continue
        height = None
        if thermometer.kind == "probe":
            if payload.position is not None:
                distance = 100.0 * payload.position.distance.metres
                height = distance if payload.position.origin == "base" else fill - distance
            else:
                height = fill - (thermometer.depth_cm or USUAL_DEPTH_CM)
            height = max(height, 0.0)
        celsius = payload.temperature.temperature_celsius
        value = f"{_whole(celsius, system)} {'°F' if system == 'us' else '°C'}"
        day = short_day(one.when.astimezone(site.zone), now.astimezone(site.zone))
        found[thermometer.name] = Mark(thermometer.name, value, day, height)
    return tuple(found.values())


def _whole(celsius: float, system: UnitSystem) -> int:
    return round(fahrenheit_from_celsius(celsius) if system == "us" else celsius)


def _groups(layers: Sequence[InsideLayer]) -> list[list[InsideLayer]]:
    """Runs of one warmth; the thinnest joins its thinner neighbour while there are too many."""
    groups: list[list[InsideLayer]] = []
    for layer in layers:
        word = warmth_word(layer.temperature_centre_celsius.mid)
        if groups and warmth_word(groups[-1][-1].temperature_centre_celsius.mid) == word:
            groups[-1].append(layer)
        else:
            groups.append([layer])
    while len(groups) > 1:
        sizes = [sum(one.thickness_cm for one in group) for group in groups]
        k = min(range(len(groups)), key=lambda i: sizes[i])
        if len(groups) <= MOST_ZONES and sizes[k] >= LEAST_CM:
            break
        other = k - 1 if k == len(groups) - 1 or (k > 0 and sizes[k - 1] < sizes[k + 1]) else k + 1
        first, last = min(k, other), max(k, other)
        groups[first : last + 1] = [groups[first] + groups[last]]
    return groups


def _weighted(group: Sequence[InsideLayer], of: Callable[[InsideLayer], float]) -> float:
    total = sum(one.thickness_cm for one in group)
    return sum(of(one) * one.thickness_cm for one in group) / max(total, 1e-9)


def _worms_seen(entries: Sequence[r.Entry]) -> bool:
    for one in reversed(entries):
        if isinstance(one.payload, r.Look | r.Stocktake) and one.payload.worms is not None:
            return one.payload.worms != "none"
    return False


def _what(
    library: Library, entries: Sequence[r.Entry], youngest: float, oldest: float, at: datetime
) -> str:
    """When the stuff of a zone went in, and what it was if it is young."""
    first, last = (at - timedelta(days=one) for one in (oldest, youngest))
    if oldest < 6.0:
        stuff = _stuff(library, entries, first, last)
        names = [DAYS[first.weekday()], DAYS[last.weekday()]]
        if names[0] == names[1]:
            return f"{names[1]}'s {stuff}"
        return f"{stuff} of {names[0][:3]} to {names[1][:3]}"
    if youngest < 6.0:
        stuff = _stuff(library, entries, last, last)
        since = (
            MONTHS[first.month - 1][:3]
            if oldest > 30.0
            else f"{first.day} {MONTHS[first.month - 1][:3]}"
        )
        return f"{since} to {DAYS[last.weekday()]}'s {stuff}"
    months = [MONTHS[first.month - 1][:3], MONTHS[last.month - 1][:3]]
    if (first.year, first.month) == (last.year, last.month):
        if first.day == last.day:
            return f"from {first.day} {months[0]}"
        return f"{first.day} to {last.day} {months[1]}"
    if (last.year - first.year) * 12 + last.month - first.month >= 12:
        return f"{months[0]} {first.year} to {months[1]} {last.year}"
    return f"{months[0]} to {months[1]}"


def _stuff(library: Library, entries: Sequence[r.Entry], first: datetime, last: datetime) -> str:
    """Food, or grass if that went in by itself."""
    half = timedelta(hours=36)
    words = set()
    for one in entries:
        if isinstance(one.payload, r.Load) and first - half <= one.when <= last + half:
            for item in one.payload.items:
                try:
                    stuff = library.find(item.material)
                except SlowfireError:
                    continue
                if stuff.group == "kitchen":
                    words.add("food")
                elif "grass" in stuff.id:
                    words.add("grass")
    if words == {"grass"}:
        return "grass"
    return "food and grass" if len(words) == 2 else "food"
