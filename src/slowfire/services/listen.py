"""Listens to sensors until it is stopped: keeps what it hears, and feeds the journal."""

import asyncio
import contextlib
import hashlib
import socket
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from slowfire.errors import InvalidInput, JournalError, SlowfireError
from slowfire.journal import sensor_feed, sensorlog
from slowfire.journal.sensorlog import NEW, OTHER, Outcome
from slowfire.journal.store import Store, holds_store, open_store
from slowfire.sensors.measurement import Measurement
from slowfire.sensors.mqtt import FIRST_PAUSE, Broker, broker_at, hear, needs_mqtt
from slowfire.sensors.one_wire import read_bus
from slowfire.sensors.quality import WORDS
from slowfire.sensors.topics import Topic, read_topics
from slowfire.services.sensors import value_words
from slowfire.site import Site

SHORTEST, LONGEST = 1.0, 3600.0  # between two looks at a bus [s]
SETTLE_EVERY = 300.0  # [s]
THIN_EVERY = 6.0 * 3600.0  # [s]
MOST_WAITING = 30_000  # values held while they cannot be stored

Say = Callable[[str], None]


@dataclass(frozen=True)
class Sources:
    """What is listened to.

    Attributes
    ----------
    one_wire : Path or None
        Folder of the bus.
    broker : Broker or None
        And what it sends.
    topics : tuple of Topic
        The map of what it sends.
    every : float
        Between two looks at the bus [s].
    pause : float
        Before a lost broker is tried again the first time [s].
    """

    one_wire: Path | None = None
    broker: Broker | None = None
    topics: tuple[Topic, ...] = ()
    every: float = 60.0
    pause: float = FIRST_PAUSE


def sources(
    one_wire: str | None,
    mqtt: str | None,
    topics: str | None,
    every: float,
    secret: str | None = None,
    authority: str | None = None,
) -> Sources:
    """Check what is to be listened to.

    Parameters
    ----------
    one_wire : str or None
        Folder of the bus [-].
    mqtt, topics : str or None
        Address of a broker, and the file with the map of its topics [-].
    every : float
        Between two looks at the bus, 1 to 3600 [s].
    secret, authority : str or None
        Files with user and password, and with a certificate [-].

    Returns
    -------
    Sources

    Raises
    ------
    SlowfireError
        If nothing is named, or something named cannot be used.
    """
    if one_wire is None and mqtt is None:
        raise InvalidInput(
            "Say what to listen to: --one-wire FOLDER, or --mqtt URL with --topics FILE."
        )
    if not SHORTEST <= every <= LONGEST:
        raise InvalidInput(f"--every is {every:g} s; allowed is {SHORTEST:g} to {LONGEST:g} s.")
    if (mqtt is None) != (topics is None):
        raise InvalidInput("--mqtt URL and --topics FILE belong together; give both.")
    if mqtt is None or topics is None:
        return Sources(Path(str(one_wire)), every=every)
    needs_mqtt()
    broker = broker_at(mqtt, None if secret is None else Path(secret), authority)
    bus = None if one_wire is None else Path(one_wire)
    return Sources(bus, broker, read_topics(Path(topics)), every)


def listen(data: Path, chosen: Sources, say: Say, once: bool = False) -> None:
    """Listen until interrupted, or once.

    Parameters
    ----------
    data : Path
        The data folder [-].
    chosen : Sources
        What to listen to [-].
    say : callable
        Takes a line for people [-].
    once : bool
        Whether to stop after one look at everything [-].

    Raises
    ------
    SlowfireError
        If there is no journal, or, once, if nothing could be heard.
    """
    if not holds_store(data):
        raise JournalError(
            f"there is no journal in {data}; open the screens once and set up a bin."
        )
    with open_store(data) as store:
        store.site()
        asyncio.run(listening(store, chosen, say, once))


async def listening(store: Store, chosen: Sources, say: Say, once: bool = False) -> None:
    """Listen to everything at the same time; see `listen`."""
    try:
        await _all_ears(store, chosen, say, once)
    except ExceptionGroup as several:
        for one in several.exceptions:
            if isinstance(one, SlowfireError):
                raise one from several
        raise
    await asyncio.to_thread(_settle, store, say)


async def _all_ears(store: Store, chosen: Sources, say: Say, once: bool) -> None:
    """What is listened to, each by itself, and beside it what is made of it."""
    ears: list[asyncio.Task[None]] = []
    async with asyncio.TaskGroup() as group:
        if chosen.one_wire is not None:
            ears.append(group.create_task(_bus(store, chosen, say, once)))
        if chosen.broker is not None:
            ears.append(group.create_task(_broker(store, chosen, chosen.broker, say, once)))
        feed = group.create_task(_feed(store, say))
        for one in ears:
            await one
        feed.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await feed


async def _bus(store: Store, chosen: Sources, say: Say, once: bool) -> None:
    folder = chosen.one_wire or Path()
    told: set[str] = set()
    waiting: list[Measurement] = []
    while True:
        found = await asyncio.to_thread(read_bus, folder)
        problems = set(found.problems)
        for line in sorted(problems - told):
            say(line)
        told = problems
        waiting += found.measurements
        try:
            await asyncio.to_thread(_keep, store, waiting, "one-wire", say)
            waiting = []
        except SlowfireError as problem:
            if once:
                raise
            # a full disk may be emptied; meanwhile a day of values is held
            say(f"{problem}")
            waiting = waiting[-MOST_WAITING:]
        if once:
            return
        await asyncio.sleep(chosen.every)


async def _broker(store: Store, chosen: Sources, broker: Broker, say: Say, once: bool) -> None:
    async def kept(measurements: Sequence[Measurement]) -> None:
        await asyncio.to_thread(_keep, store, measurements, "mqtt", say)

    name = session_name(store.folder)
    await hear(broker, chosen.topics, name, kept, say, once, first_pause=chosen.pause)


async def _feed(store: Store, say: Say) -> None:
    """Make readings every few minutes, and thin now and then."""
    turns = round(THIN_EVERY / SETTLE_EVERY)
    turn = 0
    told: set[str] = set()
    while True:
        await asyncio.to_thread(_settle, store, say, told)
        if turn % turns == 0:
            try:
                await asyncio.to_thread(sensor_feed.thin, store, datetime.now(UTC))
            except SlowfireError as problem:
                say(f"{problem}")
        turn += 1
        await asyncio.sleep(SETTLE_EVERY)


def session_name(folder: Path) -> str:
    """Name of the listener at a broker: the same for a data folder of a computer every time."""
    text = f"{socket.gethostname()}\x1f{folder.resolve()}"
    return f"slowfire{hashlib.sha256(text.encode()).hexdigest()[:12]}"


def _keep(store: Store, measurements: Sequence[Measurement], kind: str, say: Say) -> None:
    if not measurements:
        return
    now = datetime.now(UTC)
    outcomes: list[Outcome] = []
    try:
        outcomes += sensorlog.keep(store, measurements, now, kind)
    except InvalidInput:
        # one that can never be kept must not keep out the others
        for one in measurements:
            try:
                outcomes += sensorlog.keep(store, [one], now, kind)
            except InvalidInput as problem:
                say(f"{problem} Left out.")
    for line in heard_lines(outcomes, store.site()):
        say(line)


def _settle(store: Store, say: Say, told: set[str] | None = None) -> None:
    try:
        done = sensor_feed.settle(store, datetime.now(UTC))
    except SlowfireError as problem:
        say(f"{problem}")
        return
    if done.readings or done.withdrawn:
        say(f"journal: {done.readings} readings written, {done.withdrawn} taken back")
    known = set() if told is None else told
    for line in done.problems:
        if line not in known:
            say(line)
    known |= set(done.problems)


def heard_lines(outcomes: Sequence[Outcome], site: Site) -> Iterator[str]:
    """What was heard, a line a value; what was there already is not told again."""
    for one in outcomes:
        measured = one.measurement
        at = measured.when.astimezone(site.zone).strftime("%Y-%m-%d %H:%M:%S")
        probe = (
            measured.device
            if measured.channel == "1"
            else (f"{measured.device}, {measured.channel}")
        )
        shown = f"{at}  {probe}: {value_words(measured, site.units)}"
        if one.kept:
            yield shown
        elif one.state == NEW:
            yield f"{shown}, left out: {WORDS[one.reason]}"
        elif one.state == OTHER:
            yield f"{shown}, left out: another value of this moment is kept already"
