"""What advice rests on, read from an estimate and from what was written of a bin."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from slowfire import records as r
from slowfire.advise.actions import Said
from slowfire.advise.condition import Condition, Looks, Outlook, Slice, Spread
from slowfire.advise.rules import limit, share
from slowfire.errors import SlowfireError
from slowfire.materials.feedstock import Portion, packing_named
from slowfire.materials.library import Library
from slowfire.measures import Amount, Measures, default_measures
from slowfire.recipe.scoring import is_dry_stuff
from slowfire.services.inside import InsideResult, Range
from slowfire.services.record import site_library

DAY, WEEK = timedelta(days=1), timedelta(days=7)
FED_DAYS, RAW_DAYS = 14.0, 28.0  # looked back for food, and for all that takes room
SHORTEST_DAYS = 7.0  # a habit of fewer days is none
CRACK_METRES, WIDER_METRES = 0.004, 0.02


@dataclass(frozen=True)
class Measuring:
    """Materials and measures of a site, put together once."""

    library: Library
    measures: Measures

    @classmethod
    def of(cls, site: r.Site) -> "Measuring":
        """Those of a site."""
        return cls(site_library(site), default_measures().with_own(site.measures))

    def portions(self, items: Sequence[r.LoadItem]) -> list[Portion]:
        """Items of a load as portions; what cannot be told is left out."""
        found = []
        for item in items:
            kept = 1.0 - (item.held_back or 0.0) / 100.0
            try:
                stuff = self.library.find(item.material)
                packing = packing_named(item.packing)
                if packing is None and stuff.packing_matters:
                    packing = "loose"
                amount = Amount(item.amount.middle * kept, item.amount.unit)
                found.append(self.measures.to_portion(stuff, amount, packing))
            except SlowfireError:
                continue
        return found

    def litres(self, amount: r.Amount) -> float:
        """Litres of an amount of liquid; nothing if the measure is unknown."""
        try:
            measure = self.measures.named(amount.unit)
        except SlowfireError:
            return 0.0
        return amount.middle * (measure.litres or measure.mass or 0.0)


def in_force(entries: Sequence[r.Entry]) -> list[r.Entry]:
    """Entries in force, from everything written or from what is in force already."""
    known = {one.id for one in entries}
    if all(one.corrects is None or one.corrects in known for one in entries):
        return r.effective_entries(entries)
    return sorted(entries, key=lambda one: one.when)


def own_entries(standing: Sequence[r.Entry], name: str, now: datetime) -> list[r.Entry]:
    """Of the entries in force, those of a bin up to a time."""
    return [one for one in standing if one.bin == name and one.when <= now]


def condition_of(
    measuring: Measuring,
    bin_record: r.Bin,
    entries: Sequence[r.Entry],
    inside: InsideResult,
    now: datetime,
) -> Condition:
    """What advice rests on.

    Parameters
    ----------
    measuring : Measuring
        Of the site [-].
    bin_record : Bin
        The bin [-].
    entries : sequence of Entry
        Of this bin, in force, up to now, by time [-].
    inside : InsideResult
        The estimate [-].
    now : datetime
        The present [-].

    Returns
    -------
    Condition
    """
    total = sum(one.thickness_cm for one in inside.layers)
    area = floor_area(bin_record)
    room = spread(inside.fill_cm_below_rim)
    at = datetime.fromisoformat(inside.at)
    return Condition(
        hottest=spread(inside.hottest_celsius),
        lid=spread(inside.lid_celsius),
        air=spread(inside.air_celsius),
        slices=tuple(
            Slice(
                (one.height_cm + 0.5 * one.thickness_cm) / total,
                spread(one.temperature_centre_celsius),
                spread(one.moisture_percent),
                spread(one.oxygen_percent),
                one.age_days,
            )
            for one in inside.layers
            if total > 0.0
        ),
        room_cm=room,
        tub_percent=_tub(measuring, bin_record.tub_litres, entries, inside, now),
        cold_airless=inside.cold_airless_probability,
        vent=opening(entries, "lid"),
        base_inlet=opening(entries, "base"),
        fed_percent_a_week=_fed(measuring, entries, 10.0 * area * total, now),
        weeks_of_room=_weeks(measuring, entries, area, room, now),
        area_m2=area,
        read=_read(entries, now),
        looks=looks_of(entries, now),
        ahead=tuple(
            Outlook(
                float((date.fromisoformat(one.date) - at.date()).days),
                spread(one.hottest_celsius),
                spread(one.air_celsius),
                one.over_70_celsius_percent,
                one.cold_airless_percent,
            )
            for one in inside.forecast
        ),
    )


def spread(value: Range) -> Spread:
    """A range of an estimate as advice takes it."""
    return Spread(value.low, value.mid, value.high)


def floor_area(bin_record: r.Bin) -> float:
    """Inside, halfway up a cone [m^2]."""
    if bin_record.inside_width_cm and bin_record.inside_depth_cm:
        return bin_record.inside_width_cm * bin_record.inside_depth_cm / 1e4
    ends = (bin_record.top_diameter_cm, bin_record.bottom_diameter_cm)
    known = [one for one in (bin_record.inside_diameter_cm, *ends) if one]
    return math.pi * (sum(known) / len(known) / 200.0) ** 2


def opening(entries: Sequence[r.Entry], where: str) -> str:
    """Opening of a vent as last written; a width counts as the nearest word."""
    for one in reversed(entries):
        if isinstance(one.payload, r.Vent) and one.payload.where == where:
            if one.payload.opening is not None:
                return one.payload.opening
            metres = one.payload.width.metres if one.payload.width is not None else 0.0
            if metres == 0.0:
                return "shut"
            if metres <= CRACK_METRES:
                return "crack"
            return "wider" if metres <= WIDER_METRES else "open"
    return ""


def looks_of(entries: Sequence[r.Entry], now: datetime) -> Looks:
    """What was seen of late, the newest word on each; a newer 'all as usual' clears it."""
    since = now - timedelta(days=limit("looked_days"))
    found: dict[str, object] = {}
    newest = 0.0
    for one in reversed(entries):
        if one.when < since or isinstance(one.payload, r.Usual):
            break
        if not isinstance(one.payload, r.Look):
            continue
        newest = newest or (now - one.when) / DAY
        for name in ("smell", "squeeze", "flies", "rodents", "fault", "bulge"):
            value = getattr(one.payload, name)
            if value is not None:
                found.setdefault(name, value)
    return Looks(**found, days_ago=newest)  # type: ignore[arg-type]


def said_of(entries: Sequence[r.Entry], now: datetime) -> tuple[Said, ...]:
    """Advice entries with the days since."""
    return tuple(
        Said(one.payload.what, one.payload.answer, (now - one.when) / DAY)
        for one in entries
        if isinstance(one.payload, r.Advice)
    )


def acts_of(entries: Sequence[r.Entry], now: datetime) -> Mapping[str, float]:
    """Days since each kind of thing was last done [day]."""
    return {one.kind: (now - one.when) / DAY for one in entries}


def litres_a_week(
    measuring: Measuring,
    entries: Sequence[r.Entry],
    now: datetime,
    days: float,
    *,
    food_only: bool,
) -> float | None:
    """What went in of late, by volume as it went in [L/week]; None if not known.

    Nothing written does not mean that nothing was fed.
    """
    begins = [one.when for one in entries if isinstance(one.payload, r.Load | r.Stocktake)]
    if not begins:
        return None
    span = min((now - min(begins)) / DAY, days)
    since = now - timedelta(days=days)
    loads = [
        one.payload for one in entries if isinstance(one.payload, r.Load) and one.when >= since
    ]
    if not loads or span < SHORTEST_DAYS:
        return None
    litres = sum(
        each.litres
        for load in loads
        for each in measuring.portions(load.items)
        if not (food_only and is_dry_stuff(each.feedstock))
    )
    return 7.0 * litres / span


def _tub(
    measuring: Measuring,
    holds: float,
    entries: Sequence[r.Entry],
    inside: InsideResult,
    now: datetime,
) -> Spread | None:
    """How full the tub is, by what came from it before if somebody looked twice or more."""
    if not holds:
        return None
    drained = _drained(measuring, entries, now)
    if len(drained) < 2:
        tub = inside.tub_litres
        return Spread(*(100.0 * one / holds for one in (tub.low, tub.mid, tub.high)))
    first, last = drained[0][0], drained[-1][0]
    rate = sum(litres for _, litres in drained[1:]) / max((last - first) / WEEK, 0.5)
    gone = (now - last) / WEEK
    rates = (0.5 * rate, rate, max(2.0 * rate, limit("normal_liquid")))
    return Spread(*(min(100.0 * one * gone / holds, 100.0) for one in rates))


def _drained(
    measuring: Measuring, entries: Sequence[r.Entry], now: datetime
) -> list[tuple[datetime, float]]:
    """When the tub was looked into of late, and the litres that came [L]."""
    since = now - timedelta(days=limit("tub_looked_days"))
    return [
        (one.when, measuring.litres(one.payload.amount))
        for one in entries
        if isinstance(one.payload, r.Drain) and one.when >= since
    ]


def _fed(
    measuring: Measuring, entries: Sequence[r.Entry], stack_litres: float, now: datetime
) -> float | None:
    food = litres_a_week(measuring, entries, now, FED_DAYS, food_only=True)
    if food is None or stack_litres <= 0.0:
        return None
    return 100.0 * food / stack_litres


def _weeks(
    measuring: Measuring, entries: Sequence[r.Entry], area: float, room: Spread, now: datetime
) -> Spread | None:
    raw = litres_a_week(measuring, entries, now, RAW_DAYS, food_only=False)
    if not raw:
        return None
    litres = [10.0 * area * max(one, 0.0) for one in (room.low, room.mid, room.high)]
    stays = [share(one) for one in ("stays_most", "stays", "stays_least")]
    return Spread(*(one / (raw * part) for one, part in zip(litres, stays, strict=True)))


def _read(entries: Sequence[r.Entry], now: datetime) -> frozenset[str]:
    """What was read in the last week; of the tub, whether it was looked into twice of late."""
    found = set()
    since = now - timedelta(days=limit("tub_looked_days"))
    if sum(isinstance(one.payload, r.Drain) and one.when >= since for one in entries) > 1:
        found.add("tub")
    for one in entries:
        if now - one.when > WEEK:
            continue
        payload = one.payload
        if isinstance(payload, r.Reading):
            found.add("temperature")
        elif isinstance(payload, r.Look | r.Stocktake):
            if payload.squeeze is not None:
                found.add("moisture")
            if payload.level is not None:
                found.add("level")
    return frozenset(found)
