"""Devices that measure by themselves: what there is, what was left out, and how it is changed."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from slowfire.errors import InvalidInput, JournalError, SlowfireError
from slowfire.journal import sensor_devices, sensor_feed, sensorlog
from slowfire.journal.sensorlog import KNOWN, NEW, OTHER, SUMMARISED, Outcome
from slowfire.journal.store import Store, holds_store, open_store
from slowfire.quantities import Length, Position
from slowfire.refusals import name_text, one_of
from slowfire.sensors import logger, push
from slowfire.sensors.measurement import FIRST_CHANNEL, Measurement, milliseconds
from slowfire.sensors.quality import WORDS, Reason, gaps
from slowfire.sensors.readings import Source
from slowfire.site import Bin, Site
from slowfire.tables_text import read_number, read_time
from slowfire.units import fahrenheit_from_celsius

GAPS_LOOKED_FOR = timedelta(days=7)
SHOWN_UNITS = {"temperature": "°C", "relative_humidity": "%", "battery": "V"}
SPOTS = ("centre", "edge", "corner", "door", "lid")


@dataclass(frozen=True)
class ProbeShown:
    """One probe of a device.

    Attributes
    ----------
    channel, quantity, unit : str
        Its name, what it measures, and the unit taken where none is sent.
    bin, thermometer : str
        What it stands for; empty if it feeds nothing.
    where : str
        Position in words.
    last_when : datetime or None
        When it said something last.
    last_value : float or None
        What, in C, percent or volt [-].
    last_words : str
        The same in words, with what was decided about it.
    gaps : tuple of str
        Silences of the last week.
    """

    channel: str
    quantity: str
    unit: str
    bin: str
    thermometer: str
    where: str
    last_when: datetime | None
    last_value: float | None
    last_words: str
    gaps: tuple[str, ...]


@dataclass(frozen=True)
class DeviceShown:
    """One device with its probes."""

    name: str
    kind: str
    has_token: bool
    probes: tuple[ProbeShown, ...]


@dataclass(frozen=True)
class DecisionShown:
    """A stretch of values left out: its number, of which probe, why, how many, and in words."""

    number: int
    device: str
    channel: str
    reason: str
    values: int
    overruled: bool
    words: str


@dataclass(frozen=True)
class SensorsResult:
    """What there is.

    Attributes
    ----------
    devices : tuple of DeviceShown
        By name.
    decisions : tuple of DecisionShown
        The newest first.
    """

    devices: tuple[DeviceShown, ...]
    decisions: tuple[DecisionShown, ...]


@dataclass(frozen=True)
class TakenIn:
    """What came of a logger's file, or of what was heard.

    Attributes
    ----------
    values, new, known, left_out, other, summarised : int
        In all; new; there already; new but left out; of a moment that holds another value;
        of times summed up already [-].
    readings : int
        Written into the journal [-].
    words : tuple of str
        The same for people.
    """

    values: int
    new: int
    known: int
    left_out: int
    other: int
    summarised: int
    readings: int
    words: tuple[str, ...]


def sensors(data: Path, now: datetime | None = None, latest: int = 20) -> SensorsResult:
    """List devices with their last values, and the decisions made last.

    Parameters
    ----------
    data : Path
        The data folder [-].
    now : datetime or None
        The present [-].
    latest : int
        Decisions shown [-].

    Returns
    -------
    SensorsResult

    Raises
    ------
    JournalError
        If there is no journal.
    """
    present = now or datetime.now(UTC)
    with _opened(data) as store:
        site = store.site()
        shown = tuple(
            DeviceShown(
                one.name,
                one.kind,
                one.has_token,
                tuple(_probe(store, site, probe, present) for probe in one.probes),
            )
            for one in sensor_devices.devices(store)
        )
        made = tuple(_decision(one, site) for one in sensorlog.decisions(store, latest))
    return SensorsResult(shown, made)


def add(
    data: Path,
    name: str,
    kind: str = "push",
    channel: str = FIRST_CHANNEL,
    bin_name: str | None = None,
    thermometer: str | None = None,
    depth: str | None = None,
    height: str | None = None,
    spot: str | None = None,
    unit: str | None = None,
    since: str | None = None,
    now: datetime | None = None,
) -> str:
    """Write a device down, and say which thermometer of which bin one of its probes is.

    Parameters
    ----------
    data : Path
        The data folder [-].
    name, kind, channel : str
        The probe; kind is one-wire, mqtt, push or logger [-].
    bin_name, thermometer : str or None
        What it stands for; without them it is only kept [-].
    depth, height : str or None
        Where its tip sits, below the surface or above the base, such as 30 cm [-].
    spot : str or None
        centre, edge, corner, door or lid [-].
    unit : str or None
        Unit where none is sent [-].
    since : str or None
        From when on; at first all it ever said, later from now on [-].
    now : datetime or None
        The present [-].

    Returns
    -------
    str
        What was done.

    Raises
    ------
    SlowfireError
        If there is no such bin or thermometer, or a length cannot be read.
    """
    present = now or datetime.now(UTC)
    with _opened(data) as store:
        site = store.site()
        placed = bin_name is not None or thermometer is not None
        if not placed and any(one is not None for one in (depth, height, spot, unit, since)):
            raise InvalidInput("Say with --bin and --thermometer what the probe stands for.")
        if depth is not None and height is not None:
            raise InvalidInput("Give --depth or --height, not both.")
        device = name_text("device", name)
        source = None
        if placed:
            if thermometer is None:
                raise InvalidInput("Say with --thermometer which one it is, such as probe.")
            bin_there = site.bin_named(bin_name) if bin_name else _only_bin(site)
            position = _position(depth, "surface") or _position(height, "base")
            if spot is not None:
                one_of("spot", spot, SPOTS)
            source = Source(
                device, name_text("channel", channel), bin_there.name,
                site.thermometer_named(thermometer).name, position, spot,
            )  # fmt: skip
        begin = None if since is None else milliseconds(read_time(since, site.zone))
        fresh = sensor_devices.add_device(store, device, kind, present)
        words = f"{device} is added" if fresh else f"{device} was there already"
        if source is None:
            return f"{words}."
        sensor_devices.place_probe(store, source, unit, begin, milliseconds(present))
        done = sensor_feed.settle(store, present)
    told = f"{words}; channel {source.channel} stands for {source.thermometer} of {source.bin}"
    return (
        f"{told}; {done.readings} readings of it are in the journal."
        if done.readings
        else (f"{told}.")
    )


def token(data: Path, name: str, now: datetime | None = None) -> str:
    """Make a new token for a device, adding it if need be; it is shown here and never again."""
    fresh = push.new_token()
    with _opened(data) as store:
        sensor_devices.add_device(store, name, "push", now or datetime.now(UTC))
        sensor_devices.set_token(store, name_text("device", name), push.token_hash(fresh))
    return fresh


def overrule(data: Path, number: int, now: datetime | None = None) -> str:
    """Turn a decision round; what the journal says follows at once."""
    present = now or datetime.now(UTC)
    with _opened(data) as store:
        counts = sensorlog.overrule(store, number)
        done = sensor_feed.settle(store, present)
    what = "count now" if counts else "are left out again"
    return f"The values of decision {number} {what}; {_settled_words(done)}."


def leave_out(
    data: Path,
    name: str,
    start: str,
    end: str,
    channel: str | None = None,
    now: datetime | None = None,
) -> str:
    """Leave out what a device said between two times; the readings made of it are taken back."""
    present = now or datetime.now(UTC)
    with _opened(data) as store:
        zone = store.site().zone
        begin, until = read_time(start, zone), read_time(end, zone)
        if begin > until:
            raise InvalidInput(f"{start} comes after {end}; write the earlier time first.")
        numbers = sensorlog.leave_out(store, name, channel, begin, until, present)
        done = sensor_feed.settle(store, present)
    told = ", ".join(str(one) for one in numbers)
    return f"Left out as decision {told}; {_settled_words(done)}."


def take_in(
    data: Path,
    file: Path,
    name: str,
    unit: str | None = None,
    dates: str | None = None,
    zone: str | None = None,
    guess_again: bool = False,
    now: datetime | None = None,
) -> TakenIn:
    """Take in the file of a logger; how it is laid out is kept for the next one.

    Parameters
    ----------
    data : Path
        The data folder [-].
    file : Path
        The logger's file [-].
    name : str
        Of the logger; added if it is not known [-].
    unit : str or None
        C or F, where the file does not say it [-].
    dates : str or None
        day-first, month-first, year-first or seconds, where the file does not show it [-].
    zone : str or None
        Time zone of the logger's clock; that of the place if None [-].
    guess_again : bool
        Whether to forget how earlier files were laid out [-].
    now : datetime or None
        The present [-].

    Returns
    -------
    TakenIn

    Raises
    ------
    SlowfireError
        With line and column of what cannot be read; then nothing is taken in.
    """
    present = now or datetime.now(UTC)
    try:
        with file.open("rb") as stream:
            raw = stream.read(logger.LARGEST_FILE + 1)
    except OSError as problem:
        raise JournalError(f"{file} cannot be read: {problem.strerror}.") from problem
    text = logger.text_of(raw, file.name)
    with _opened(data) as store:
        device = name_text("device", name)
        known = {one.name: one.mapping for one in sensor_devices.devices(store)}
        told = any(one is not None for one in (unit, dates, zone))
        if known.get(device) and not guess_again and not told:
            mapping = logger.mapping_of(known[device])
            words = [f"{file.name} is read as the files of {device} were before:"]
        else:
            place = store.site().timezone
            mapping = logger.guess(text, zone or place, unit, dates, file.name)
            words = [f"{file.name} looks so (if not: --unit, --dates, --zone):"]
        found = logger.read(text, mapping, device, file.name)
        sensor_devices.add_device(store, device, "logger", present)
        sensor_devices.set_mapping(store, device, logger.mapping_text(mapping))
        outcomes = sensorlog.keep(store, found, present, "logger")
        done = sensor_feed.settle(store, present)
        sensor_feed.thin(store, present)
        placed = any(
            probe.source is not None
            for one in sensor_devices.devices(store)
            if one.name == device
            for probe in one.probes
        )
    words += [f"  {line}" for line in logger.mapping_words(mapping)]
    words += outcome_words(outcomes)
    words.append(f"{_settled_words(done)}.")
    if not placed:
        words.append(
            f"{device} feeds no thermometer yet: slowfire sensors --add {device!r} --channel "
            "CHANNEL --bin BIN --thermometer NAME."
        )
    return _taken(outcomes, done.readings, words)


def pusher(store: Store, token_sent: str) -> str:
    """Name of the device with this token.

    Raises
    ------
    NotAllowed
        If there is none.
    """
    return push.device_of(token_sent, sensor_devices.tokens(store))


def take_push(store: Store, body: bytes, token_sent: str, now: datetime | None = None) -> TakenIn:
    """Keep what a device pushed; sent twice with its times, it changes nothing.

    Parameters
    ----------
    store : Store
        The journal [-].
    body : bytes
        As `sensors.push.pushed` reads it [-].
    token_sent : str
        Token of the device [-].
    now : datetime or None
        The present [-].

    Returns
    -------
    TakenIn
        Only once it is on the disk.

    Raises
    ------
    NotAllowed
        If no device has this token.
    InvalidInput
        If the body cannot be read.
    """
    present = now or datetime.now(UTC)
    known = sensor_devices.tokens(store)
    device = push.device_of(token_sent, known)
    found = push.pushed(body, token_sent, known, present, sensor_devices.units(store, device))
    outcomes = sensorlog.keep(store, found, present)
    done = sensor_feed.settle(store, present)
    return _taken(outcomes, done.readings, outcome_words(outcomes))


def outcome_words(outcomes: Sequence[Outcome]) -> list[str]:
    """What came of measurements, in a few lines."""
    states = Counter(one.state for one in outcomes)
    reasons = Counter(one.reason for one in outcomes if one.state == NEW and not one.kept)
    kept = states[NEW] - sum(reasons.values())
    parts = [f"{kept} values kept"]
    if states[KNOWN]:
        parts.append(f"{states[KNOWN]} there already")
    if states[OTHER]:
        parts.append(f"{states[OTHER]} of a moment that holds another value (the first one stays)")
    if states[SUMMARISED]:
        parts.append(f"{states[SUMMARISED]} of times summed up already")
    lines = [", ".join(parts)]
    lines += [f"left out {count}: {WORDS[reason]}" for reason, count in sorted(reasons.items())]
    return lines


def value_words(one: Measurement, units: str = "metric") -> str:
    """A value with its unit, in those of the place."""
    return _value(one.si, one.quantity, units)


def _value(si: float, quantity: str, units: str) -> str:
    if quantity == "temperature" and units == "us":
        return f"{float(fahrenheit_from_celsius(si)):.1f} °F"
    return f"{si:.1f} {SHOWN_UNITS[quantity]}"


def _taken(outcomes: Sequence[Outcome], readings: int, words: Sequence[str]) -> TakenIn:
    states = Counter(one.state for one in outcomes)
    left_out = sum(one.state == NEW and not one.kept for one in outcomes)
    return TakenIn(
        len(outcomes), states[NEW], states[KNOWN], left_out, states[OTHER], states[SUMMARISED],
        readings, tuple(words),
    )  # fmt: skip


def _settled_words(done: sensor_feed.Settled) -> str:
    parts = [f"{done.readings} readings written into the journal"]
    if done.withdrawn:
        parts.append(f"{done.withdrawn} taken back")
    return "; ".join([", ".join(parts), *done.problems])


def _probe(store: Store, site: Site, probe: sensor_devices.Probe, now: datetime) -> ProbeShown:
    last = sensor_devices.last_value(store, probe.number)
    since = milliseconds(now - GAPS_LOOKED_FOR)
    moments = np.array(sensor_devices.moments_since(store, probe.number, since)) / 1000.0
    silent = gaps(moments, now.timestamp()) if len(moments) else []
    words = "nothing yet"
    if last is not None:
        words = f"{_value(last.value, probe.quantity, site.units)}, {_local(last.when, site)}"
        if last.reason != Reason.KEPT:
            words += f", {'overruled: ' if last.overruled else 'left out: '}{WORDS[last.reason]}"
    source = probe.source
    where = ""
    if source is not None:
        origin = "below the surface"
        if source.position is not None:
            if source.position.origin == "base":
                origin = "above the base"
            where = f"{source.position.distance} {origin}"
        where = ", ".join(one for one in (where, source.spot) if one)
    return ProbeShown(
        probe.channel,
        probe.quantity,
        probe.unit,
        source.bin if source is not None else "",
        source.thermometer if source is not None else "",
        where,
        None if last is None else last.when,
        None if last is None else last.value,
        words,
        tuple(
            f"silent from {_at(begin, site)} to "
            f"{'now' if end >= now.timestamp() else _at(end, site)}"
            for begin, end in silent
        ),
    )


def _decision(one: sensorlog.DecisionMade, site: Site) -> DecisionShown:
    span = _local(one.begin, site)
    if one.until != one.begin:
        span += f" to {_local(one.until, site)}"
    state = "; counts all the same, as you said" if one.overruled else ""
    many = "1 value" if one.count == 1 else f"{one.count} values"
    words = f"{one.device}, {one.channel}, {span}: {many}, {WORDS[one.reason]}{state}"
    return DecisionShown(
        one.number, one.device, one.channel, one.reason.name.lower(), one.count, one.overruled,
        words,
    )  # fmt: skip


def _at(seconds: float, site: Site) -> str:
    return _local(datetime.fromtimestamp(seconds, UTC), site)


def _local(when: datetime, site: Site) -> str:
    return when.astimezone(site.zone).strftime("%Y-%m-%d %H:%M")


def _only_bin(site: Site) -> Bin:
    if len(site.bins) > 1:
        names = ", ".join(one.name for one in site.bins)
        raise InvalidInput(f"Say with --bin which one it is in: {names}.")
    return site.bins[0]


def _position(text: str | None, origin: str) -> Position | None:
    if text is None:
        return None
    number, _, unit = text.strip().partition(" ")
    name = "depth" if origin == "surface" else "height"
    if not unit:
        raise InvalidInput(f"{name}: read {text!r}; write a number and a unit, such as 30 cm.")
    try:
        return Position(Length(read_number(number), unit), origin)
    except SlowfireError as problem:
        raise InvalidInput(f"{name}: {problem}") from None


def _opened(data: Path) -> Store:
    if not holds_store(data):
        raise JournalError(
            f"there is no journal in {data}; open the screens once and set up a bin."
        )
    return open_store(data)
