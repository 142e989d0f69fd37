"""Today at a bin: one action, the section, and what is known of how full and how sure."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from slowfire import records as r
from slowfire.advise.actions import Action, Condition, Outlook, Slice, Spread, next_action
from slowfire.records import effective_entries
from slowfire.services.inside import InsideLayer, InsideResult, Range
from slowfire.services.inside_words import fit_words
from slowfire.units import METRES_PER_INCH, UnitSystem, fahrenheit_from_celsius

COOL, WARM, HOT = 20.0, 35.0, 45.0  # words of a layer by its middle estimate [degC]
MOST_ZONES = 5
STANDS_HOURS = 48.0  # an action stands until done, contradicted or so old
DAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


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


@dataclass(frozen=True)
class TodayResult:
    """What the first screen shows; temperatures in the site's own unit.

    Attributes
    ----------
    bin : str
        Its name.
    at : str
        Of the estimate, ISO.
    unit : str
        °C or °F.
    headline, why, facts, look_again, expect, stop : str
        The action in words; empty where there is nothing to say.
    action : str
        Name of the action, under which an answer is written.
    cautions : tuple of str
        Where a hazard is met.
    lid, vent, air : str
        In words.
    zones : tuple of Zone
        Base first.
    marks : tuple of Mark
        Last reading of each thermometer.
    bin_height_cm, fill_cm : float
        Of the inside [cm].
    room, tub, sure, last : str
        In words; empty where unknown.
    tub_share : float or None
        Liquid over what the tub holds [-].
    questions : tuple of str
        What the estimate would like to know.
    """

    bin: str
    at: str
    unit: str
    headline: str
    why: str
    facts: str
    look_again: str
    expect: str
    stop: str
    action: str
    cautions: tuple[str, ...]
    lid: str
    vent: str
    air: str
    zones: tuple[Zone, ...]
    marks: tuple[Mark, ...]
    bin_height_cm: float
    fill_cm: float
    room: str
    tub: str
    sure: str
    last: str
    tub_share: float | None
    questions: tuple[str, ...]


def today(
    site: r.Site, entries: Sequence[r.Entry], inside: InsideResult, now: datetime
) -> TodayResult:
    """Say what to do at a bin, from an estimate that was made before.

    Parameters
    ----------
    site : Site
        The place [-].
    entries : sequence of Entry
        Everything written [-].
    inside : InsideResult
        The last estimate [-].
    now : datetime
        The present [-].

    Returns
    -------
    TodayResult
        The same for the same arguments.

    Raises
    ------
    UnknownName
        If the estimate is of a bin that the site no longer has.
    """
    bin_record = site.bin_named(inside.bin)
    own = [
        one for one in effective_entries(entries) if one.bin == bin_record.name and one.when <= now
    ]
    state = condition_of(bin_record, own, inside, now)
    system: UnitSystem = "us" if site.units == "us" else "metric"
    action = next_action(state)
    when = datetime.fromisoformat(inside.at)
    look = when + timedelta(days=action.look_days)
    answered = _answered(own, action, now)
    words = _Words(system)
    fill = max(inside.bin_height_cm - inside.fill_cm_below_rim.mid, 0.0)
    return TodayResult(
        bin=bin_record.name,
        at=inside.at,
        unit=words.degree,
        headline="Done. Nothing more to do for now." if answered == "done" else action.do,
        why=action.why,
        facts=words.facts(action),
        look_again=f"{DAY_NAMES[look.weekday()]} {look.day} {MONTH_NAMES[look.month - 1]}",
        expect=_expected(action, inside, words),
        stop=action.stop,
        action=action.name,
        cautions=action.cautions,
        lid=f"{words.span(inside.lid_celsius)} in the air under the lid",
        vent=_vent_words(state.vent),
        air=f"{words.figure(inside.air_celsius.mid)} outside",
        zones=zones_of(inside, own, now, system),
        marks=_marks(site, own, inside, system, now),
        bin_height_cm=inside.bin_height_cm,
        fill_cm=fill,
        room=words.room(inside.fill_cm_below_rim),
        tub=_tub_words(state.tub_percent),
        sure=fit_words(inside),
        last=_last_words(own, now),
        tub_share=None if state.tub_percent is None else state.tub_percent.mid / 100.0,
        questions=tuple(one.words for one in inside.questions),
    )


def condition_of(
    bin_record: r.Bin, entries: Sequence[r.Entry], inside: InsideResult, now: datetime
) -> Condition:
    """What advice rests on, from an estimate and what was written of the bin.

    Parameters
    ----------
    bin_record : Bin
        The bin [-].
    entries : sequence of Entry
        Of this bin, in force, up to now [-].
    inside : InsideResult
        The estimate [-].
    now : datetime
        The present [-].

    Returns
    -------
    Condition
    """
    total = sum(one.thickness_cm for one in inside.layers)
    slices = tuple(
        Slice(
            (one.height_cm + 0.5 * one.thickness_cm) / total,
            _spread(one.temperature_centre_celsius),
            _spread(one.moisture_percent),
            _spread(one.oxygen_percent),
        )
        for one in inside.layers
        if total > 0.0
    )
    holds = bin_record.tub_litres
    tub = None
    if holds:
        tub = Spread(*(100.0 * one / holds for one in _ends(inside.tub_litres)))
    loads = [one.when for one in entries if isinstance(one.payload, r.Load)]
    since = None if not loads else (now - loads[-1]).total_seconds() / 86400.0
    return Condition(
        hottest=_spread(inside.hottest_celsius),
        lid=_spread(inside.lid_celsius),
        air=_spread(inside.air_celsius),
        slices=slices,
        room_cm=_spread(inside.fill_cm_below_rim),
        tub_percent=tub,
        cold_airless=inside.cold_airless_probability,
        vent=_vent(entries),
        days_since_load=since,
        from_readings=inside.fit.basis == "from readings",
        ahead=tuple(
            Outlook(
                one.date,
                _spread(one.hottest_celsius),
                one.over_70_celsius_percent,
                one.cold_airless_percent,
            )
            for one in inside.forecast
        ),
    )


def zones_of(
    inside: InsideResult,
    entries: Sequence[r.Entry],
    now: datetime,
    system: UnitSystem = "metric",
) -> tuple[Zone, ...]:
    """Join the slices of an estimate to a few zones by how warm they are, base first.

    Parameters
    ----------
    inside : InsideResult
        The estimate [-].
    entries : sequence of Entry
        Of the bin, in force [-].
    now : datetime
        The present [-].
    system : str
        metric or us [-].

    Returns
    -------
    tuple of Zone
    """
    groups: list[list[InsideLayer]] = []
    for layer in inside.layers:
        word = warmth_word(layer.temperature_centre_celsius.mid)
        if groups and warmth_word(groups[-1][-1].temperature_centre_celsius.mid) == word:
            groups[-1].append(layer)
        else:
            groups.append([layer])
    while len(groups) > MOST_ZONES:
        sizes = [sum(one.thickness_cm for one in group) for group in groups]
        k = min(range(len(groups)), key=lambda i: sizes[i])
        other = k - 1 if k == len(groups) - 1 or (k > 0 and sizes[k - 1] < sizes[k + 1]) else k + 1
        first, last = min(k, other), max(k, other)
        groups[first : last + 1] = [groups[first] + groups[last]]
    words = _Words(system)
    worms = _worms_seen(entries)
    found = []
    for place, group in enumerate(groups):
        low = _weighted(group, lambda one: one.temperature_centre_celsius.low)
        mid = _weighted(group, lambda one: one.temperature_centre_celsius.mid)
        high = _weighted(group, lambda one: one.temperature_centre_celsius.high)
        moisture = _weighted(group, lambda one: one.moisture_percent.mid)
        ages = [one.age_days for one in group]
        what = _what(min(ages), max(ages), now)
        if place == 0 and worms and mid < HOT:
            what = f"{what}, worms here"
        found.append(
            Zone(
                from_cm=group[0].height_cm,
                to_cm=group[-1].height_cm + group[-1].thickness_cm,
                word=warmth_word(mid),
                low=words.whole(low),
                mid=words.whole(mid),
                high=words.whole(high),
                moisture_percent=round(moisture),
                what=what,
                from_readings=any(one.basis == "from readings" for one in group),
            )
        )
    return tuple(found)


def warmth_word(celsius: float) -> str:
    """Plain word for a temperature in the bin.

    Examples
    --------
    >>> [warmth_word(one) for one in (12.0, 28.0, 40.0, 58.0)]
    ['cool', 'mild', 'warm', 'hot']
    """
    if celsius >= HOT:
        return "hot"
    return "warm" if celsius >= WARM else "mild" if celsius >= COOL else "cool"


class _Words:
    """Numbers in the unit of the site."""

    def __init__(self, system: UnitSystem) -> None:
        self.system = system
        self.degree = "°F" if system == "us" else "°C"

    def whole(self, celsius: float) -> int:
        return round(fahrenheit_from_celsius(celsius) if self.system == "us" else celsius)

    def figure(self, celsius: float) -> str:
        return f"{self.whole(celsius)} {self.degree}"

    def span(self, celsius: Range) -> str:
        return f"{self.whole(celsius.low)} to {self.whole(celsius.high)} {self.degree}"

    def length(self, centimetres: float) -> str:
        if self.system == "us":
            return f"{centimetres / 100.0 / METRES_PER_INCH:.0f} in"
        return f"{centimetres:.0f} cm"

    def facts(self, action: Action) -> str:
        told = []
        for name, number, unit in action.facts:
            if unit == "degC":
                told.append(f"{name} {self.figure(number)}")
            elif unit == "cm":
                told.append(f"{name} {self.length(number)}")
            else:
                told.append(f"{name} {number:.0f} {unit}")
        return ", ".join(told)

    def room(self, below_rim: Range) -> str:
        low, high = max(below_rim.low, 0.0), max(below_rim.high, 0.0)
        if self.length(low) == self.length(high):
            return f"{self.length(high)} of room below the rim"
        return f"{self.length(low).split()[0]} to {self.length(high)} of room below the rim"


def _spread(value: Range) -> Spread:
    return Spread(value.low, value.mid, value.high)


def _ends(value: Range) -> tuple[float, float, float]:
    return (value.low, value.mid, value.high)


def _weighted(group: Sequence[InsideLayer], of: Callable[[InsideLayer], float]) -> float:
    total = sum(one.thickness_cm for one in group)
    return sum(of(one) * one.thickness_cm for one in group) / max(total, 1e-9)


def _vent(entries: Sequence[r.Entry]) -> str:
    """Opening of the lid vent as last written; a width counts as the nearest word."""
    for one in reversed(entries):
        if isinstance(one.payload, r.Vent) and one.payload.where == "lid":
            if one.payload.opening is not None:
                return one.payload.opening
            metres = one.payload.width.metres if one.payload.width is not None else 0.0
            return (
                "shut" if metres == 0.0
                else "crack" if metres <= 0.004
                else "wider" if metres <= 0.02
                else "open"
            )  # fmt: skip
    return ""


def _vent_words(vent: str) -> str:
    return f"vent: {vent}" if vent else "vent: never written down"


def _tub_words(tub: Spread | None) -> str:
    return "" if tub is None else f"tub about {min(max(tub.mid, 0.0), 100.0):.0f} % full"


def _last_words(entries: Sequence[r.Entry], now: datetime) -> str:
    loads = [one.when for one in entries if isinstance(one.payload, r.Load)]
    if not loads:
        return "Nothing has been put in yet."
    days = (now - loads[-1]).days
    ago = "today" if days == 0 else "yesterday" if days == 1 else f"{days} days ago"
    return f"Last load {ago}."


def _expected(action: Action, inside: InsideResult, words: _Words) -> str:
    if not action.expect or not inside.forecast:
        return ""
    day = inside.forecast[min(action.look_days, len(inside.forecast)) - 1]
    return f"hottest layer {words.span(day.hottest_celsius)}"


def _answered(entries: Sequence[r.Entry], action: Action, now: datetime) -> str:
    """The answer to this action, if it was given within the time an action stands."""
    for one in reversed(entries):
        if isinstance(one.payload, r.Advice) and one.payload.what == action.name:
            if (now - one.when).total_seconds() / 3600.0 <= STANDS_HOURS:
                return one.payload.answer
            break
    return ""


def _worms_seen(entries: Sequence[r.Entry]) -> bool:
    for one in reversed(entries):
        if isinstance(one.payload, r.Look) and one.payload.worms is not None:
            return one.payload.worms != "none"
        if isinstance(one.payload, r.Stocktake) and one.payload.worms is not None:
            return one.payload.worms != "none"
    return False


def _what(youngest: float, oldest: float, now: datetime) -> str:
    """When the stuff of a zone went in."""
    first, last = now - timedelta(days=oldest), now - timedelta(days=youngest)
    if oldest < 7.0:
        names = [DAY_NAMES[first.weekday()], DAY_NAMES[last.weekday()]]
        return names[1] if names[0] == names[1] else f"{names[0]} to {names[1]}"
    months = [MONTH_NAMES[first.month - 1][:3], MONTH_NAMES[last.month - 1][:3]]
    if first.month == last.month and first.year == last.year:
        return f"{first.day} to {last.day} {months[1]}" if first.day < last.day else months[1]
    return f"{months[0]} to {months[1]}"


def _marks(
    site: r.Site,
    entries: Sequence[r.Entry],
    inside: InsideResult,
    system: UnitSystem,
    now: datetime,
) -> tuple[Mark, ...]:
    words = _Words(system)
    found: dict[str, Mark] = {}
    fill = inside.bin_height_cm - inside.fill_cm_below_rim.mid
    for one in reversed(entries):
        payload = one.payload
        if not isinstance(payload, r.Reading) or (now - one.when) > timedelta(days=14):
            continue
        thermometer = site.thermometer_named(payload.thermometer)
        if thermometer.name in found or thermometer.kind not in ("lid", "probe"):
            continue
        height = None
        if thermometer.kind == "probe":
            if payload.position is not None:
                distance = 100.0 * payload.position.distance.metres
                height = distance if payload.position.origin == "base" else fill - distance
            elif thermometer.depth_cm is not None:
                height = fill - thermometer.depth_cm
            else:
                height = fill - 25.0
            height = max(height, 0.0)
        day = DAY_NAMES[one.when.astimezone(site.zone).weekday()][:3]
        value = words.figure(payload.temperature.temperature_celsius)
        found[thermometer.name] = Mark(thermometer.name, value, day, height)
    return tuple(found.values())
