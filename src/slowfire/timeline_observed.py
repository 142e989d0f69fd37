"""From readings and looks as written to observations that an ensemble can predict."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import partial

from slowfire import records as r
from slowfire.errors import InvalidInput, SlowfireError
from slowfire.estimate import looks
from slowfire.estimate.observe import (
    Observed,
    fill_level,
    lid_closed,
    liquid_drained,
    pushed_in,
    weight_dug_out,
)
from slowfire.estimate.priors import LOOSENED
from slowfire.estimate.readings import (
    Instrument,
    Place,
    ice_water_check,
    infrared_surface,
    infrared_wall,
    lid_dial,
    outside_air,
    probe,
)
from slowfire.estimate.thermometer import Stem
from slowfire.estimate.typed import Typed
from slowfire.measures import Measures, default_measures
from slowfire.timeline import Timeline

# Common practice, no source: what a keeper's thermometers are like when nothing is said.
BIAS_SPREADS = {"lid": 1.5, "probe": 1.0, "infrared": 1.5, "air": 1.0}  # [K]
USUAL_DEPTH = 0.25  # of a probe whose depth is not said [m]
USUAL_DEPTH_SPREAD = 0.12
DOOR_HEIGHT = 0.15  # of a probe pushed in at the door [m]
PLACE_SPREAD = 0.03  # of a depth that is said [m]
DIAL_STEP = 2.0  # a lid dial read to a whole degree is no better than this [K]
DIAL_FIVES = 4  # readings, all of them multiples of five, that show a scale of fives
KELVIN_PER_FAHRENHEIT = 1.0 / 1.8
STOCKTAKE_LEVEL_SPREAD = 0.06  # a level from memory or before the bin was levelled [m]
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


@dataclass
class _Watcher:
    """What is known of thermometers and measures while observations are read in order."""

    site: r.Site
    bin: r.Bin
    timeline: Timeline
    measures: Measures
    scales: dict[str, tuple[float, ...]]
    thermometers: dict[str, r.Thermometer] = field(default_factory=dict)
    seen: list[Observed] = field(default_factory=list)
    implied: list[Observed] = field(default_factory=list)
    typed: list[Typed] = field(default_factory=list)

    def thermometer(self, name: str) -> r.Thermometer:
        key = " ".join(name.split()).casefold()
        if key not in self.thermometers:
            self.thermometers[key] = self.site.thermometer_named(name)
        return self.thermometers[key]

    def when(self, hour: float) -> datetime:
        return (self.timeline.start + timedelta(hours=hour)).astimezone(self.site.zone)

    def add(self, source: int, *found: Observed) -> None:
        self.seen.extend(replace(one, source=source) for one in found)


def bin_observed(
    site: r.Site, bin_name: str, timeline: Timeline, entries: Sequence[r.Entry] = ()
) -> tuple[Observed, ...]:
    """Translate what was measured and seen of one bin.

    Parameters
    ----------
    site : Site
        The place with its thermometers and measures [-].
    bin_name : str
        Which bin [-].
    timeline : Timeline
        Its record, as made by `timeline.bin_timeline` [-].
    entries : sequence of Entry
        Entries in force; from them come the feel and the worms of the stock-take, thermometers
        held into ice water, and changes of thermometers and measures [-].

    Returns
    -------
    tuple of Observed
        By hour; `source` is the place in `timeline.observations`, -1 for what came from entries.

    Raises
    ------
    InvalidInput
        If a reading cannot be used; the message names its time.
    UnknownName
        If there is no such bin, thermometer or measure.
    """
    return tuple(_watched(site, bin_name, timeline, entries).seen)


def bin_implied(
    site: r.Site, bin_name: str, timeline: Timeline, entries: Sequence[r.Entry] = ()
) -> tuple[Observed, ...]:
    """Gather what readings tell of how full a bin is, though nobody wrote it.

    Parameters
    ----------
    site, bin_name, timeline, entries
        As in `bin_observed` [-].

    Returns
    -------
    tuple of Observed
        By hour: the stack is no lower than a probe went in, and no higher than the lid.

    Raises
    ------
    InvalidInput, UnknownName
        As `bin_observed`.
    """
    return tuple(_watched(site, bin_name, timeline, entries).implied)


def bin_typed(
    site: r.Site, bin_name: str, timeline: Timeline, entries: Sequence[r.Entry] = ()
) -> tuple[Typed, ...]:
    """List the thermometer readings of one bin as typed, for questions about them.

    Parameters
    ----------
    site, bin_name, timeline, entries
        As in `bin_observed` [-].

    Returns
    -------
    tuple of Typed
        By hour, with the same `source` as the observation made from each.

    Raises
    ------
    InvalidInput, UnknownName
        As `bin_observed`.
    """
    return tuple(_watched(site, bin_name, timeline, entries).typed)


def _watched(
    site: r.Site, bin_name: str, timeline: Timeline, entries: Sequence[r.Entry]
) -> _Watcher:
    watcher = _Watcher(
        site,
        site.bin_named(bin_name),
        timeline,
        default_measures().with_own(site.measures),
        _scales(timeline),
    )
    # what holds from an hour on comes before what was seen at it
    todo: list[tuple[float, int, str, Callable[[], None]]] = []
    for hour, entry in _hours_of(timeline, entries):
        own = entry.bin.casefold() == watcher.bin.name.casefold()
        if isinstance(entry.payload, r.Setting):
            todo.append((hour, 0, entry.kind, partial(_change, watcher, entry.payload)))
        elif isinstance(entry.payload, r.Test) and entry.payload.which == "ice-water":
            todo.append((hour, 1, entry.kind, partial(_ice_water, watcher, hour, entry.payload)))
        elif isinstance(entry.payload, r.Stocktake) and own and hour >= 0.0:
            todo.append((hour, 1, entry.kind, partial(_stocktake, watcher, hour, entry.payload)))
    for source, seen in enumerate(timeline.observations):
        read = _TRANSLATORS.get(type(seen.payload))
        if read is not None:
            step = partial(read, watcher, seen.hour, seen.payload, source)
            todo.append((seen.hour, 1, seen.payload.kind, step))
    for hour, _, kind, act in sorted(todo, key=lambda one: one[:2]):
        try:
            act()
        except SlowfireError as problem:
            when = watcher.when(hour).strftime("%Y-%m-%d %H:%M")
            raise type(problem)(f"{watcher.bin.name}, {kind} of {when}: {problem}") from problem
    return watcher


def _hours_of(timeline: Timeline, entries: Iterable[r.Entry]) -> Iterable[tuple[float, r.Entry]]:
    for entry in entries:
        yield (entry.when - timeline.start).total_seconds() / 3600.0, entry


def _scales(timeline: Timeline) -> dict[str, tuple[float, ...]]:
    """All numbers typed for each thermometer, from which the step of its scale is told."""
    values: dict[str, tuple[float, ...]] = {}
    for seen in timeline.observations:
        if isinstance(seen.payload, r.Reading):
            key = seen.payload.thermometer.casefold()
            values[key] = (*values.get(key, ()), seen.payload.temperature.value)
    return values


def _resolution(values: Sequence[float], unit: str, kind: str) -> float:
    """Step of the scale in kelvin, as far as the numbers typed give it away."""
    kelvin = 1.0 if unit == "C" else KELVIN_PER_FAHRENHEIT
    if len(values) >= DIAL_FIVES and all(value % 5.0 == 0.0 for value in values):
        return 5.0 * kelvin
    if all(value % 1.0 == 0.0 for value in values):
        return max(kelvin, DIAL_STEP if kind == "lid" else 0.0)
    if all((2.0 * value) % 1.0 == 0.0 for value in values):
        return 0.5 * kelvin
    return 0.1 * kelvin


def _instrument(watcher: _Watcher, thermometer: r.Thermometer, unit: str) -> Instrument:
    values = watcher.scales.get(thermometer.name.casefold(), ())
    return Instrument(
        thermometer.name,
        _resolution(values, unit, thermometer.kind),
        thermometer.bias_kelvin,
        BIAS_SPREADS[thermometer.kind],
        Stem() if thermometer.kind == "probe" else None,
    )


def _change(watcher: _Watcher, payload: r.Setting) -> None:
    if payload.about == "measure":
        litres = _number(payload)
        watcher.measures = watcher.measures.with_own({payload.name: litres})
    elif payload.about == "thermometer":
        known = watcher.thermometer(payload.name)
        if payload.key == "kind":
            changed = replace(known, kind=payload.to.strip().casefold())
        elif payload.key == "depth_cm":
            changed = replace(known, depth_cm=_number(payload))
        else:
            changed = replace(known, bias_kelvin=_number(payload))
        watcher.thermometers[known.name.casefold()] = changed
    elif (
        payload.about == "bin"
        and payload.key == "tub_litres"
        and payload.name.casefold() == watcher.bin.name.casefold()
    ):
        watcher.bin = replace(watcher.bin, tub_litres=_number(payload))


def _number(payload: r.Setting) -> float:
    try:
        return float(payload.to.split()[0].replace(",", "."))
    except (ValueError, IndexError) as problem:
        raise InvalidInput(
            f"{payload.key} of {payload.name} is set to '{payload.to}'; allowed is a number."
        ) from problem


def _reading(watcher: _Watcher, hour: float, payload: r.Reading, source: int) -> None:
    thermometer = watcher.thermometer(payload.thermometer)
    celsius = payload.temperature.temperature_celsius
    instrument = _instrument(watcher, thermometer, payload.temperature.unit)
    shown = f"{thermometer.name} {payload.temperature.value:g} °{payload.temperature.unit}"
    depth, height, spread, said = _place(thermometer, payload)
    at = Typed(
        hour,
        _day(watcher.when(hour)),
        thermometer.name,
        thermometer.kind,
        payload.temperature.value,
        payload.temperature.unit,
        depth if thermometer.kind == "probe" else None,
        height if thermometer.kind == "probe" else None,
        payload.spot,
        source,
    )
    if thermometer.kind == "air":
        found = outside_air(hour, celsius, instrument, f"{shown} in the air")
    elif thermometer.kind == "lid":
        found = lid_dial(hour, celsius, instrument, f"{shown} in the lid")
    elif thermometer.kind == "infrared":
        if payload.spot == "door" or height is not None:
            wall = DOOR_HEIGHT if height is None else height
            found = infrared_wall(hour, celsius, instrument, wall, f"{shown} at the wall")
        else:
            found = infrared_surface(hour, celsius, instrument, f"{shown} at the surface")
    elif payload.spot == "lid" and payload.position is None:
        # the tip hung in the air under the lid, where no sun falls on it
        at = replace(at, depth=None)
        shaded = replace(instrument, stem=None)
        found = lid_dial(hour, celsius, shaded, f"{shown} under the lid")
    else:
        place = Place(depth, height, payload.spot, spread)
        found = probe(hour, celsius, instrument, place, words=f"{shown}, {said}")
    watcher.typed.append(at)
    watcher.add(source, found)
    if at.depth is not None and spread < USUAL_DEPTH_SPREAD:
        watcher.implied.append(pushed_in(hour, at.depth))
    vessel = watcher.timeline.vessel
    closed = thermometer.kind in ("probe", "lid") and vessel.lidded > 0.0
    if closed and not any(one.kind == "room" and one.hour == hour for one in watcher.implied):
        watcher.implied.append(lid_closed(hour, vessel.height))


def _place(
    thermometer: r.Thermometer, payload: r.Reading
) -> tuple[float | None, float | None, float, str]:
    """Depth or height of the tip, how well it is known, and the same in words."""
    if payload.position is not None:
        metres = payload.position.distance.metres
        where = "below the surface" if payload.position.origin == "surface" else "above the base"
        words = f"{payload.position.distance} {where}"
        if payload.position.origin == "base":
            return None, metres, PLACE_SPREAD, words
        return metres, None, PLACE_SPREAD, words
    if thermometer.kind == "infrared":
        return None, None, PLACE_SPREAD, ""
    if payload.spot == "door":
        return None, DOOR_HEIGHT, 2.0 * PLACE_SPREAD, "at the door"
    if thermometer.depth_cm is not None:
        metres = thermometer.depth_cm / 100.0
        return metres, None, PLACE_SPREAD, f"{thermometer.depth_cm:g} cm below the surface"
    words = f"depth not said, taken as {100.0 * USUAL_DEPTH:.0f} cm"
    return USUAL_DEPTH, None, USUAL_DEPTH_SPREAD, words


def _look(watcher: _Watcher, hour: float, payload: r.Look, source: int) -> None:
    if payload.level is not None:
        below = payload.level.metres
        words = f"surface {payload.level} below the rim"
        watcher.add(source, fill_level(hour, below, words=words))
    if payload.smell is not None:
        watcher.add(source, looks.smell(hour, payload.smell))
    if payload.squeeze is not None:
        watcher.add(source, looks.squeeze(hour, payload.squeeze))
    if payload.steam is not None:
        watcher.add(source, looks.steam(hour, payload.steam))
    if payload.larvae in ("few", "many"):
        watcher.add(source, looks.larvae(hour))
    if payload.worms != "none" and (payload.worms is not None or payload.worms_at is not None):
        watcher.add(source, looks.worms_at(hour, payload.worms_at or "somewhere"))


def _usual(watcher: _Watcher, hour: float, payload: r.Usual, source: int) -> None:
    watcher.add(source, looks.usual(hour))


def _drain(watcher: _Watcher, hour: float, payload: r.Drain, source: int) -> None:
    measure = watcher.measures.named(payload.amount.unit)
    size = measure.litres if measure.litres is not None else float(measure.mass or 0.0)
    litres = payload.amount.middle * size
    width = 0.0
    if payload.amount.number_to is not None:
        width = (payload.amount.number_to - payload.amount.number) * size
    holds = watcher.bin.tub_litres or float("inf")
    # no more comes out of a tub than it holds, so one that gave more holds more
    holds = max(holds, litres)
    words = "tub empty" if litres == 0.0 else f"{litres:g} L of liquid drawn"
    watcher.add(source, liquid_drained(hour, litres, width / 3.0, holds, words))


def _dig_out(watcher: _Watcher, hour: float, payload: r.DigOut, source: int) -> None:
    litres = watcher.measures.named(payload.amount.unit).litres
    if payload.weighed is None or litres is None:
        return
    mass = payload.weighed.middle * float(watcher.measures.named(payload.weighed.unit).mass or 0.0)
    size = payload.amount.middle * litres
    watcher.add(source, weight_dug_out(hour, mass, size, LOOSENED))


def _stocktake(watcher: _Watcher, hour: float, payload: r.Stocktake) -> None:
    if payload.level is not None:
        words = f"surface {payload.level} below the rim at the stock-take"
        level = fill_level(hour, payload.level.metres, STOCKTAKE_LEVEL_SPREAD, words)
        watcher.add(-1, level)
    if payload.squeeze is not None:
        watcher.add(-1, looks.squeeze(hour, payload.squeeze))
    if payload.worms in ("few", "many"):
        watcher.add(-1, looks.worms_at(hour, "somewhere"))


def _ice_water(watcher: _Watcher, hour: float, payload: r.Test) -> None:
    if payload.thermometer is None or payload.shown is None:
        return
    known = {one.casefold() for one in watcher.scales}
    if payload.thermometer.casefold() not in known:
        return
    thermometer = watcher.thermometer(payload.thermometer)
    instrument = _instrument(watcher, thermometer, payload.shown.unit)
    words = f"{thermometer.name} {payload.shown} in ice water"
    celsius = payload.shown.temperature_celsius
    watcher.add(-1, ice_water_check(max(hour, 0.0), celsius, instrument, words))


def _day(when: datetime) -> str:
    return f"{when.day} {MONTHS[when.month - 1]}"


_TRANSLATORS: dict[type, Callable[..., None]] = {
    r.Reading: _reading,
    r.Look: _look,
    r.Usual: _usual,
    r.Drain: _drain,
    r.DigOut: _dig_out,
}
