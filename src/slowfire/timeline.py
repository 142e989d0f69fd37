"""From what was written to what is computed: vessel, start, acts and readings of one bin.

The only translator between a journal and the column. Every guess it makes is kept as a sentence.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from statistics import median

from slowfire import records as r
from slowfire.column.contents import Load
from slowfire.column.positions import (
    ADDED_WOOD,
    COVER_RESISTANCE,
    LOOSE_WOOD,
    N_STATE,
    N_WOOD,
    ROOFED,
    TEMPERATURE,
    WATER,
    WOOD,
)
from slowfire.column.simulate import Column
from slowfire.column.stocktake import Habit
from slowfire.errors import InvalidInput, SlowfireError
from slowfire.materials.feedstock import Packing, Portion, packing_named
from slowfire.materials.library import Library, load_library
from slowfire.measures import Amount, Measures, default_measures
from slowfire.timeline_vessel import WIND_SHARES, changed_bin, vessel_of
from slowfire.vessel import Vessel

OPENING_WIDTHS = {"shut": 0.0, "crack": 0.0015, "wider": 0.005, "open": 0.05}  # [m]
INLET_SHARES = {"shut": 0.0, "crack": 0.1, "wider": 0.5, "open": 1.0}

WHOLE_DEPTH = 5.0  # to the base [m]
WATERED_DEPTH = 0.2  # where no depth was written [m]
BLANKET_RESISTANCE = 1.0  # about 4 cm of felt or wool [m^2*K/W]
SHEET_RESISTANCE = 0.05
WET_WATER = 0.2  # rain or rinsing water in a load called wet [kg/kg]
DRY_SHARE = 0.5  # of its water a load called dry still has
FROZEN_CELSIUS = -5.0
ALL_LITRES = 1000.0
GAP_FACTOR = 2.5  # silence longer than this many usual intervals hides feeding
GAP_DAYS = 7.0
# What a stock-take assumes when it does not say [-]: our rule, common practice, no source.
USUAL_FOOD = "food_waste_household_mixed"
USUAL_WEEK_LITRES = 10.0
OLD_MATERIAL = "half_finished_compost"


@dataclass(frozen=True)
class Act:
    """Something that happens to the bin at an hour of the run.

    `load` is what went in, if any; `guessed` does a job of so many times the amount written.
    """

    hour: float
    words: str
    apply: Callable[[Column], None]
    load: Load | None = None
    guessed: Callable[[Column, float], None] | None = None


@dataclass(frozen=True)
class Observation:
    """Something measured or seen, for comparison; never fed back into the run."""

    hour: float
    payload: r.Reading | r.Look | r.Usual | r.Drain | r.DigOut


@dataclass(frozen=True)
class Start:
    """How a bin that was already running stood when its record began."""

    habit: Habit
    level_below_rim: float
    days: float
    old_material: Portion


@dataclass(frozen=True)
class Timeline:
    """One bin's record as the column needs it.

    Attributes
    ----------
    start : datetime
        Local midnight before the first entry: hour 0.
    vessel : Vessel
        At the start.
    stocktake : Start or None
        None for a bin that began empty.
    acts : tuple of Act
        In order of time.
    observations : tuple of Observation
        In order of time.
    assumptions : tuple of str
        Every guess made, one sentence each.
    last_hour : float
        Of the last entry [h].
    absences : tuple of tuple of float
        From when to when nothing was fed, as written [h].
    """

    start: datetime
    vessel: Vessel
    stocktake: Start | None
    acts: tuple[Act, ...]
    observations: tuple[Observation, ...]
    assumptions: tuple[str, ...]
    last_hour: float
    absences: tuple[tuple[float, float], ...] = ()


@dataclass
class _Reader:
    """State while the entries are read in order: settings may change on the way."""

    site: r.Site
    bin: r.Bin
    start: datetime
    library: Library
    measures: Measures
    acts: list[Act] = field(default_factory=list)
    observations: list[Observation] = field(default_factory=list)
    loads: list[tuple[float, tuple[Portion, ...]]] = field(default_factory=list)
    assumptions: dict[str, None] = field(default_factory=dict)

    def hour(self, when: datetime) -> float:
        return (when - self.start).total_seconds() / 3600.0

    def local(self, when: datetime) -> str:
        return when.astimezone(self.site.zone).strftime("%Y-%m-%d %H:%M")

    def assume(self, sentence: str) -> None:
        self.assumptions.setdefault(sentence)

    def act(self, when: datetime, words: str, apply: Callable[[Column], None]) -> None:
        self.acts.append(Act(self.hour(when), words, apply))

    def litres(self, amount: r.Amount) -> float:
        """Litres of water or liquid in an amount."""
        measure = self.measures.named(amount.unit)
        size = measure.litres if measure.litres is not None else float(measure.mass or 0.0)
        return amount.middle * size

    def portion(
        self, material: str, amount: r.Amount, packing: Packing | None = None, share: float = 1.0
    ) -> Portion:
        stuff = self.library.find(material)
        return self.measures.to_portion(stuff, Amount(amount.middle * share, amount.unit), packing)


def bin_timeline(
    site: r.Site,
    entries: Sequence[r.Entry],
    bin_name: str,
    library: Library | None = None,
    fill_silence: bool = True,
) -> Timeline:
    """Translate the entries of one bin.

    Parameters
    ----------
    site : Site
        The place with its bins, measures and materials [-].
    entries : sequence of Entry
        Entries in force, by time [-].
    bin_name : str
        Which bin [-].
    library : Library or None
        Materials; the shipped ones unless given [-].
    fill_silence : bool
        Whether usual loads are put into long silences; an estimate weighs them itself [-].

    Returns
    -------
    Timeline

    Raises
    ------
    InvalidInput
        If the bin has no entries, or an amount cannot be turned into kilograms; the message
        names the entry's time.
    UnknownName
        If there is no such bin, material or measure.
    """
    bin_record = site.bin_named(bin_name)
    own = [
        entry
        for entry in entries
        if entry.bin.casefold() == bin_record.name.casefold() or _comes_in(entry, bin_record)
    ]
    if not own:
        raise InvalidInput(
            f"The journal has no entries for '{bin_record.name}'; write at least one load or a "
            "stock-take."
        )
    known = (library or load_library()).with_own(
        [{"name": name, **typed} for name, typed in site.materials.items()]
    )
    first = min(entry.when for entry in own).astimezone(site.zone)
    # in UTC, since adding hours to a local time ignores the change of clocks
    start = first.replace(hour=0, minute=0, second=0, microsecond=0).astimezone(UTC)
    reader = _Reader(site, bin_record, start, known, default_measures().with_own(site.measures))
    vessel, guesses = vessel_of(bin_record)
    for sentence in guesses:
        reader.assume(sentence)
    stocktake = _first_stocktake(own)
    begun = None
    joined = {
        when: items
        for when, name, items in r.joined_loads(own)
        if name.casefold() == bin_record.name.casefold()
    }
    for entry in sorted(entries, key=lambda one: one.when):
        if entry not in own and not isinstance(entry.payload, r.Setting):
            continue
        if stocktake is not None and entry.when < stocktake.when:
            continue
        try:
            if entry is stocktake and isinstance(entry.payload, r.Stocktake):
                begun = _start(reader, entry.when, entry.payload, vessel)
            elif isinstance(entry.payload, r.Load):
                # rows of one time are one layer, read when the first of them comes
                items = joined.pop(entry.when, None)
                if items is not None:
                    _load(reader, entry.when, r.Load(items))
            else:
                _read(reader, entry)
        except SlowfireError as problem:
            raise type(problem)(
                f"{bin_record.name}, {entry.kind} of {reader.local(entry.when)}: {problem}"
            ) from problem
    if begun is None:
        reader.assume("The bin was empty when its record begins; write a stock-take if it was not.")
    last = max(reader.hour(entry.when) for entry in own)
    away = _absences(reader, entries)
    if fill_silence:
        _fill_silence(reader, away)
    reader.acts.sort(key=lambda act: act.hour)
    return Timeline(
        start,
        vessel,
        begun,
        tuple(reader.acts),
        tuple(reader.observations),
        tuple(reader.assumptions),
        last,
        tuple(away),
    )


def _comes_in(entry: r.Entry, bin_record: r.Bin) -> bool:
    """Whether this is a dig-out of another bin into this one."""
    return (
        isinstance(entry.payload, r.DigOut)
        and entry.payload.to is not None
        and entry.payload.to.casefold() == bin_record.name.casefold()
        and entry.bin.casefold() != bin_record.name.casefold()
    )


def _first_stocktake(own: Sequence[r.Entry]) -> r.Entry | None:
    """The stock-take that starts the record: before any load, or one that says since when."""
    for entry in sorted(own, key=lambda one: one.when):
        if isinstance(entry.payload, r.Stocktake):
            return entry
        if isinstance(entry.payload, r.Load):
            break
    since = [
        entry for entry in own if isinstance(entry.payload, r.Stocktake) and entry.payload.since
    ]
    return since[-1] if since else None


def _start(reader: _Reader, when: datetime, payload: r.Stocktake, vessel: Vessel) -> Start:
    days = 180.0
    if payload.since is not None:
        days = float((when.astimezone(reader.site.zone).date() - payload.since).days)
    else:
        reader.assume("Fed for half a year before the stock-take, since it does not say.")
    days = min(max(days, 7.0), 730.0)
    level = 0.5 * vessel.height
    if payload.level is not None:
        level = min(payload.level.metres, vessel.height)
    else:
        reader.assume("Half full at the stock-take, since it gives no level.")
    amount = payload.feed or r.Amount(USUAL_WEEK_LITRES, "litre")
    if payload.feed is None:
        reader.assume(f"{USUAL_WEEK_LITRES:g} L of kitchen waste a week before the stock-take.")
    names = [name for name in payload.mostly if name.strip()] or [USUAL_FOOD]
    load: list[Portion] = []
    for name in names:
        stuff = reader.library.find(name)
        packing: Packing | None = "loose" if stuff.packing_matters else None
        load.append(reader.portion(name, amount, packing, share=0.5 / len(names)))
    dry = {"absorbent", "bulking"}
    if not any(one.feedstock.structure_role in dry for one in load):
        volume = sum(one.litres for one in load)
        for name, share in (("office_paper_shredded", 0.5), ("bark_chips_fine", 0.15)):
            load.append(reader.portion(name, r.Amount(volume * share, "litre"), "loose"))
        reader.assume("Half a caddy of loose paper and some bark to each caddy before the record.")
    return Start(
        Habit(tuple(load), 3.5),
        level,
        days,
        reader.portion(OLD_MATERIAL, r.Amount(1.0, "litre")),
    )


def _read(reader: _Reader, entry: r.Entry) -> None:
    """Hand an entry to the function for its kind; kinds without effect on the bin have none."""
    payload = entry.payload
    if payload is None:
        return
    if isinstance(payload, r.DigOut) and _comes_in(entry, reader.bin):
        _moved_in(reader, entry.when, payload)
        return
    if isinstance(payload, r.Reading | r.Look | r.Usual | r.Drain | r.DigOut):
        reader.observations.append(Observation(reader.hour(entry.when), payload))
    translate = _TRANSLATORS.get(type(payload))
    if translate is not None:
        translate(reader, entry.when, payload)


def _load(reader: _Reader, when: datetime, payload: r.Load) -> None:
    portions: list[Portion] = []
    warmth: list[tuple[float, float]] = []
    days = [item.days for item in payload.items if item.days is not None]
    extra_water = 0.0
    for item in payload.items:
        kept = 1.0 - (item.held_back or 0.0) / 100.0
        packing = packing_named(item.packing)
        portion = reader.portion(item.material, item.amount, packing, share=kept)
        portions.append(portion)
        if item.temperature is not None:
            warmth.append((portion.mass, item.temperature.temperature_celsius))
        elif item.state == "frozen":
            warmth.append((portion.mass, FROZEN_CELSIUS))
        if item.state == "wet":
            extra_water += WET_WATER * portion.mass
        if item.state == "dry":
            moisture = portion.feedstock.moisture_content_wet_basis
            extra_water -= (1.0 - DRY_SHARE) * moisture * portion.mass
    hour = reader.hour(when)
    reader.loads.append((hour, tuple(portions)))
    total = sum(one.mass for one in portions)
    known = sum(mass for mass, _ in warmth)

    load = Load(
        tuple(portions),
        known,
        sum(m * t for m, t in warmth) / known if known > 0.0 else 0.0,
        extra_water,
        max(days) if days else 2.0,
    )
    reader.acts.append(Act(hour, f"load of {total:.1f} kg", _tipped(load), load))


def _moved_in(reader: _Reader, when: datetime, payload: r.DigOut) -> None:
    portion = reader.portion(OLD_MATERIAL, payload.weighed or payload.amount)
    reader.assume("What came over from another bin is taken as half-finished compost.")
    reader.act(when, f"{portion.litres:.0f} L from another bin", lambda c: _tip(c, portion))


def _tip(column: Column, portion: Portion) -> None:
    column.load((portion,))


def _stir(reader: _Reader, when: datetime, payload: r.Stir) -> None:
    depth = payload.depth.metres if payload.depth else WHOLE_DEPTH
    reader.act(when, f"stirred {depth * 100:.0f} cm", lambda c: c.stir(depth))


def _poke(reader: _Reader, when: datetime, payload: r.Poke) -> None:
    reader.act(when, "poked", lambda c: c.poke())


def _turn(reader: _Reader, when: datetime, payload: r.Turn) -> None:
    if payload.depth is None:
        reader.act(when, "turned", lambda c: c.turn())
    else:
        depth = payload.depth.metres
        reader.act(when, f"turned {depth * 100:.0f} cm", lambda c: c.stir(depth, 1.0))


def _vent(reader: _Reader, when: datetime, payload: r.Vent) -> None:
    if payload.where == "base":
        share = (
            min(payload.width.metres / 0.02, 1.0)
            if payload.width is not None
            else INLET_SHARES[payload.opening or "open"]
        )
        reader.act(when, f"base inlet {share:.0%} open", lambda c: c.set_inlet(share))
        return
    width = (
        payload.width.metres
        if payload.width is not None
        else OPENING_WIDTHS[payload.opening or "crack"]
    )
    reader.act(when, f"vent {width * 1000:.1f} mm", lambda c: c.set_vent(width))


def _cover(reader: _Reader, when: datetime, payload: r.Cover) -> None:
    gain = {"insulation": BLANKET_RESISTANCE, "sheet": SHEET_RESISTANCE, "roof": 0.0}[payload.what]

    def apply(column: Column) -> None:
        sign = 1.0 if payload.on else -1.0
        resistance = max(float(column.bin_state[COVER_RESISTANCE]) + sign * gain, 0.0)
        roofed = bool(column.bin_state[ROOFED])
        if payload.what in ("roof", "sheet"):
            roofed = payload.on
        column.set_cover(resistance, roofed)

    reader.act(when, f"{payload.what} {'on' if payload.on else 'off'}", apply)


def _move(reader: _Reader, when: datetime, payload: r.Move) -> None:
    def apply(column: Column) -> None:
        vessel = column.vessel
        if payload.shelter is not None:
            vessel = vessel._replace(wind_share=WIND_SHARES[payload.shelter])
        if payload.sun is not None:
            vessel = vessel._replace(sun_share=payload.sun / 100.0)
        column.vessel = vessel

    reader.act(when, f"moved to {payload.place}", apply)


def _water(reader: _Reader, when: datetime, payload: r.Water) -> None:
    litres = reader.litres(payload.amount)
    depth = payload.position.distance.metres if payload.position else WATERED_DEPTH
    if payload.position is not None and payload.position.origin == "base":
        depth = WHOLE_DEPTH
    reader.act(when, f"{litres:g} L of water", lambda c: c.water(litres, depth))


def _warm(reader: _Reader, when: datetime, payload: r.Warm) -> None:
    litres = reader.litres(payload.amount)
    celsius = payload.temperature.temperature_celsius
    depth = payload.position.distance.metres if payload.position else 0.1

    def apply(column: Column) -> None:
        under = depth
        if payload.position is not None and payload.position.origin == "base":
            under = max(column.section().fill_height - depth, 0.0)
        column.place_bottle(litres, celsius, under)

    reader.act(when, f"bottle of {litres:g} L at {celsius:.0f} C", apply)


def _drain(reader: _Reader, when: datetime, payload: r.Drain) -> None:
    litres = reader.litres(payload.amount)
    reader.act(when, f"{litres:g} L of liquid drawn", _draw)


def _draw(column: Column) -> None:
    # who draws liquid empties the tub, and the litres written are a reading; else a model that
    # leaches more than the bin would keep the difference for ever
    column.drain_tub(ALL_LITRES)


def _dig_out(reader: _Reader, when: datetime, payload: r.DigOut) -> None:
    # scales tell more than a barrow: what was weighed goes by its weight
    told = payload.weighed or payload.amount
    measure = reader.measures.named(told.unit)
    litres = None if measure.litres is None else told.middle * measure.litres
    kilograms = None if measure.mass is None else told.middle * measure.mass
    if payload.weighed is not None and kilograms is None:
        raise InvalidInput(
            f"weighed is {told.middle:g} {told.unit}; allowed is a weight, such as 12kg or 26lb."
        )

    def dig(column: Column, times: float) -> None:
        if litres is not None:
            dug = column.dig_out(litres=times * litres)
        else:
            dug = column.dig_out(kilograms=kilograms)
        if payload.oversize_back and dug[WOOD] > 0.0:
            row = column.state[0] * 0.0
            for position in (WOOD, N_WOOD, ADDED_WOOD, LOOSE_WOOD):
                row[position] = dug[position]
            row[WATER] = column.parameters.hold_wood * dug[WOOD] * 0.7
            row[TEMPERATURE] = dug[TEMPERATURE]
            column.load_row(row[:N_STATE])

    amount = f"{litres:g} L" if litres is not None else f"{kilograms:g} kg"
    words = f"dug out {amount}"
    guessed = dig if litres is not None else None
    reader.acts.append(Act(reader.hour(when), words, lambda c: dig(c, 1.0), guessed=guessed))


def _setting(reader: _Reader, when: datetime, payload: r.Setting) -> None:
    if payload.about == "measure":
        try:
            litres = float(payload.to.split()[0].replace(",", "."))
        except (ValueError, IndexError) as problem:
            raise InvalidInput(
                f"a measure is set to '{payload.to}'; write its litres, such as 7."
            ) from problem
        reader.measures = reader.measures.with_own({payload.name: litres})
    elif payload.about == "bin" and payload.name.casefold() == reader.bin.name.casefold():
        reader.bin = changed_bin(reader.bin, payload.key, payload.to)
        vessel, _ = vessel_of(reader.bin)

        def apply(column: Column) -> None:
            column.vessel = vessel

        reader.act(when, f"bin changed: {payload.key} {payload.to}", apply)


_TRANSLATORS: dict[type, Callable[..., None]] = {
    r.Stir: _stir,
    r.Poke: _poke,
    r.Turn: _turn,
    r.Vent: _vent,
    r.Cover: _cover,
    r.Move: _move,
    r.Water: _water,
    r.Warm: _warm,
    r.Drain: _drain,
    r.DigOut: _dig_out,
    r.Setting: _setting,
}


def _fill_silence(reader: _Reader, away: Sequence[tuple[float, float]]) -> None:
    """Put the usual load into long silences: silence is not 'nothing was fed'."""
    loads = sorted(reader.loads, key=lambda one: one[0])
    if len(loads) < 4:
        return
    gaps = [b[0] - a[0] for a, b in pairwise(loads)]
    usual_gap = median(gaps)
    limit = max(GAP_FACTOR * usual_gap, 24.0 * GAP_DAYS)
    middle = sorted(loads, key=lambda one: sum(p.mass for p in one[1]))[len(loads) // 2][1]
    for (before, _), (after, _) in pairwise(loads):
        if after - before <= limit:
            continue
        count = 0
        hour = before + usual_gap
        while hour < after - 0.5 * usual_gap:
            if not any(low <= hour <= high for low, high in away):
                usual = Load(middle)
                reader.acts.append(Act(hour, "usual load, assumed", _tipped(usual), usual))
                count += 1
            hour += usual_gap
        if count:
            begin = reader.local(reader.start + timedelta(hours=before))[:10]
            end = reader.local(reader.start + timedelta(hours=after))[:10]
            reader.assume(
                f"No load is written between {begin} and {end}; {count} usual loads are assumed. "
                "Write an absence if nothing went in."
            )


def _tipped(load: Load) -> Callable[[Column], None]:
    def apply(column: Column) -> None:
        air = column.air.temperature_celsius(column.hour)
        column.load_row(load.row(column.parameters, air))

    return apply


def _absences(reader: _Reader, entries: Sequence[r.Entry]) -> list[tuple[float, float]]:
    found = []
    for entry in entries:
        plan = entry.payload
        if (
            isinstance(plan, r.Calendar)
            and plan.what == "absence"
            and plan.starts is not None
            and plan.ends is not None
            and entry.bin.casefold() in ("", reader.bin.name.casefold())
        ):
            zone = reader.site.zone
            low = datetime(plan.starts.year, plan.starts.month, plan.starts.day, tzinfo=zone)
            high = datetime(plan.ends.year, plan.ends.month, plan.ends.day, 23, 59, tzinfo=zone)
            found.append((reader.hour(low), reader.hour(high)))
    return found
