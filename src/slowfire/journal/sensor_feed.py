"""From stored values to readings in the journal, and old values into summaries."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import numpy as np
from sqlalchemy import Connection, delete, insert, select, update

from slowfire.errors import SlowfireError
from slowfire.journal.database import reading, writing
from slowfire.journal.sensor_devices import Probe, probe_of
from slowfire.journal.sensorlog import counting
from slowfire.journal.store import Store, append_within
from slowfire.journal.tables import (
    ENTRIES,
    SENSOR_DECISIONS,
    SENSOR_DEVICES,
    SENSOR_PROBES,
    SENSOR_SUMMARIES,
    SENSOR_VALUES,
    SENSOR_WINDOWS,
)
from slowfire.records import Entry
from slowfire.sensors.measurement import TEMPERATURE, milliseconds
from slowfire.sensors.quality import HIGHEST, LOWEST
from slowfire.sensors.readings import (
    HOUR,
    QUARTER,
    WINDOW,
    Quarter,
    Source,
    reading_entry,
    said,
    window_of,
    window_reading,
    withdrawal,
)

PATIENCE = 20 * 60_000  # what comes late, or must still be confirmed, is waited for [ms]
DAY = 24 * HOUR
RAW_DAYS = 14  # values are kept one by one
LEFT_OUT_DAYS = 90  # and those left out so long, so that they can be taken after all
QUARTER_DAYS = 400  # quarters of an hour; hours after that
AT_ONCE = 300  # windows settled in one go
IDS_AT_ONCE = 400  # asked for in one question


@dataclass(frozen=True)
class Settled:
    """What became of the windows that were due.

    Attributes
    ----------
    readings : int
        Written into the journal, corrections with them [-].
    withdrawn : int
        Taken back since nothing is left of them [-].
    problems : tuple of str
        Why a probe could not be read in, for people.
    """

    readings: int
    withdrawn: int
    problems: tuple[str, ...] = ()


@dataclass(frozen=True)
class Thinned:
    """How many values were summed up, and how many left out were deleted."""

    summed: int
    deleted: int


def settle(store: Store, now: datetime) -> Settled:
    """Write into the journal what the windows that are over have to say.

    At most one reading of a probe in three hours; its id follows from what it says, so that doing
    it twice, or breaking off in the middle, changes nothing. What changed since is corrected, and
    taken back where nothing is left. What a person corrected or took back stays so.

    Parameters
    ----------
    store : Store
        The journal [-].
    now : datetime
        The present [-].

    Returns
    -------
    Settled
    """
    over = milliseconds(now) - WINDOW - PATIENCE
    readings = withdrawn = 0
    problems: list[str] = []
    for probe in _placed(store, over):
        while True:
            try:
                with writing(store.engine) as connection:
                    # one transaction, so that a value that comes meanwhile is not overlooked
                    entries, rows = _due(connection, probe, over, now)
                    if entries:
                        append_within(connection, entries)
                    _write_windows(connection, probe.number, rows)
            except SlowfireError as problem:
                problems.append(f"{_told(probe)}: {problem}")
                break
            readings += sum(not one.retracts for one in entries)
            withdrawn += sum(one.retracts for one in entries)
            if len(rows) < AT_ONCE:
                break
    return Settled(readings, withdrawn, tuple(problems))


def quarters(store: Store, probe: int, begin: int, end: int) -> list[Quarter]:
    """What was kept of a probe by quarters of an hour, from one time until before another [ms]."""
    with reading(store.engine) as connection:
        return _quarters(connection, probe, begin, end)


def thin(store: Store, now: datetime) -> Thinned:
    """Sum up what is older than 14 days by quarters of an hour, and after 400 days by hours.

    Parameters
    ----------
    store : Store
        The journal [-].
    now : datetime
        The present [-].

    Returns
    -------
    Thinned
    """
    present = milliseconds(now)
    summed = deleted = 0
    with reading(store.engine) as connection:
        probes = connection.execute(select(SENSOR_PROBES.c.number)).scalars().all()
    for number in probes:
        with writing(store.engine) as connection:
            cut = (present - RAW_DAYS * DAY) // QUARTER * QUARTER
            summed += _sum_up(connection, number, cut)
            old = select(SENSOR_DECISIONS.c.number).where(
                SENSOR_DECISIONS.c.probe == number,
                SENSOR_DECISIONS.c.made < now - timedelta(days=LEFT_OUT_DAYS),
            )
            forgotten = (SENSOR_VALUES.c.probe == number) & (
                (SENSOR_VALUES.c.moment < cut) & SENSOR_VALUES.c.decision.in_(old)
            )
            deleted += connection.execute(delete(SENSOR_VALUES).where(forgotten)).rowcount
            _to_hours(connection, number, (present - QUARTER_DAYS * DAY) // HOUR * HOUR)
    return Thinned(summed, deleted)


def _placed(store: Store, over: int) -> list[Probe]:
    """Probes that stand for a thermometer and have windows to be settled."""
    due = select(SENSOR_WINDOWS.c.probe).where(
        SENSOR_WINDOWS.c.due, SENSOR_WINDOWS.c.moment <= over
    )
    chosen = (
        select(SENSOR_PROBES, SENSOR_DEVICES.c.name)
        .join(SENSOR_DEVICES, SENSOR_DEVICES.c.number == SENSOR_PROBES.c.device)
        .where(
            SENSOR_PROBES.c.bin != "",
            SENSOR_PROBES.c.quantity == TEMPERATURE,
            SENSOR_PROBES.c.number.in_(due),
        )
        .order_by(SENSOR_PROBES.c.number)
    )
    with reading(store.engine) as connection:
        rows = connection.execute(chosen).mappings().all()
    return [probe_of(row, row["name"]) for row in rows]


def _told(probe: Probe) -> str:
    source = probe.source
    return "" if source is None else f"{source.device}, {source.channel}, in {source.bin}"


def _due(
    connection: Connection, probe: Probe, over: int, now: datetime
) -> tuple[list[Entry], list[dict[str, Any]]]:
    """Entries of the windows that are due and over, and what the windows say then."""
    source = probe.source
    chosen = (
        select(SENSOR_WINDOWS)
        .where(
            SENSOR_WINDOWS.c.due,
            SENSOR_WINDOWS.c.probe == probe.number,
            SENSOR_WINDOWS.c.moment <= over,
        )
        .order_by(SENSOR_WINDOWS.c.moment)
        .limit(AT_ONCE)
    )
    windows = connection.execute(chosen).mappings().all()
    if source is None or not windows:
        return [], []
    by_window: dict[int, list[Quarter]] = {}
    last = windows[-1]["moment"] + WINDOW
    for one in _quarters(connection, probe.number, windows[0]["moment"], last):
        by_window.setdefault(window_of(one.begin), []).append(one)
    answers = _answers(connection, windows)
    entries: list[Entry] = []
    rows: list[dict[str, Any]] = []
    for row in windows:
        begin = row["moment"]
        written = {"moment": begin, "entry": row["entry"], "said": row["said"]}
        if begin >= window_of(probe.since):
            found = _writable(window_reading(by_window.get(begin, ())))
            made = _entries_of(source, row, found, now)
            # what a person corrected or took back stays so
            if answers.get(row["entry"], set()) - {str(one.id) for one in made}:
                made = []
            entries += made
            if made:
                written["entry"] = str(made[-1].id)
                written["said"] = "" if found is None else said(source, found)
        rows.append(written)
    return entries, rows


def _writable(found: tuple[datetime, float] | None) -> tuple[datetime, float] | None:
    """What was found, unless no reading may say it: a person may overrule even that."""
    return found if found is not None and LOWEST <= found[1] <= HIGHEST else None


def _entries_of(
    source: Source, row: Any, found: tuple[datetime, float] | None, now: datetime
) -> list[Entry]:
    """What must be written so that the journal says of a window what was found."""
    window, before = row["moment"], row["said"]
    last = UUID(row["entry"]) if row["entry"] else None
    if found is not None and said(source, found) == before:
        return []
    if not before or last is None:
        # never written, or taken back
        return [] if found is None else [reading_entry(source, window, found, last, None, now)]
    old_bin, when = _bin_and_time(before)
    if found is not None and source.bin == old_bin:
        return [reading_entry(source, window, found, None, last, now)]
    back = withdrawal(last, old_bin, when, now)
    if found is None:
        return [back]
    return [back, reading_entry(source, window, found, back.id, None, now)]


def _bin_and_time(before: str) -> tuple[str, datetime]:
    parts = before.split("|")
    return "|".join(parts[:-5]), datetime.fromisoformat(parts[-4])


def _answers(connection: Connection, windows: Sequence[Any]) -> dict[str | None, set[str]]:
    """Ids of what corrects or takes back the entries of these windows."""
    ids = [row["entry"] for row in windows if row["entry"]]
    found: dict[str | None, set[str]] = {}
    for begin in range(0, len(ids), IDS_AT_ONCE):
        chosen = select(ENTRIES.c.corrects, ENTRIES.c.id).where(
            ENTRIES.c.corrects.in_(ids[begin : begin + IDS_AT_ONCE])
        )
        for corrects, own_id in connection.execute(chosen):
            found.setdefault(corrects, set()).add(own_id)
    return found


def _write_windows(connection: Connection, probe: int, rows: Iterable[dict[str, Any]]) -> None:
    for row in rows:
        mine = (SENSOR_WINDOWS.c.probe == probe) & (SENSOR_WINDOWS.c.moment == row["moment"])
        values = {"due": False, "entry": row["entry"], "said": row["said"]}
        connection.execute(update(SENSOR_WINDOWS).where(mine).values(values))


def _quarters(connection: Connection, probe: int, begin: int, end: int) -> list[Quarter]:
    values = SENSOR_VALUES.c
    chosen = (
        select(values.moment, values.value)
        .where(
            values.probe == probe,
            values.moment >= begin,
            values.moment < end,
            counting(values.decision),
        )
        .order_by(values.moment)
    )
    found = {one.begin: one for one in _summed(connection.execute(chosen).all())}
    old = SENSOR_SUMMARIES.c
    kept = select(SENSOR_SUMMARIES).where(
        old.probe == probe, old.moment >= begin, old.moment < end, counting(old.decision)
    )
    for row in connection.execute(kept).mappings():
        one = Quarter(row["moment"], row["mean"], row["low"], row["high"], row["count"])
        found[one.begin] = _joined(one, found[one.begin]) if one.begin in found else one
    return [found[key] for key in sorted(found)]


def _summed(rows: Sequence[Any], span: int = QUARTER) -> list[Quarter]:
    """Values, rising in time, as one mean with its lowest and highest for each span."""
    if not rows:
        return []
    moments = np.array([row[0] for row in rows], dtype=np.int64)
    shown = np.array([row[1] for row in rows])
    starts = np.concatenate(([0], np.flatnonzero(np.diff(moments // span)) + 1))
    counts = np.diff(np.append(starts, len(shown)))
    means = np.add.reduceat(shown, starts) / counts
    lows, highs = np.minimum.reduceat(shown, starts), np.maximum.reduceat(shown, starts)
    return [
        Quarter(
            int(moments[start]) // span * span, float(mean), float(low), float(high), int(count)
        )
        for start, mean, low, high, count in zip(starts, means, lows, highs, counts, strict=True)
    ]


def _joined(one: Quarter, other: Quarter) -> Quarter:
    count = one.count + other.count
    mean = (one.mean * one.count + other.mean * other.count) / count
    return Quarter(one.begin, mean, min(one.low, other.low), max(one.high, other.high), count)


def _sum_up(connection: Connection, probe: int, cut: int) -> int:
    """Put what was kept before a time into summaries; how many values there were [-]."""
    values = SENSOR_VALUES.c
    mine = (values.probe == probe) & (values.moment < cut) & counting(values.decision)
    chosen = select(values.moment, values.value).where(mine).order_by(values.moment)
    rows = connection.execute(chosen).all()
    if not rows:
        return 0
    _write_summaries(connection, probe, _summed(rows), QUARTER // 1000)
    connection.execute(delete(SENSOR_VALUES).where(mine))
    return len(rows)


def _write_summaries(
    connection: Connection, probe: int, found: Sequence[Quarter], seconds: int
) -> None:
    """Write summaries, joined with what is there."""
    old = SENSOR_SUMMARIES.c
    span = (old.probe == probe) & old.moment.between(found[0].begin, found[-1].begin)
    there = {
        row["moment"]: row
        for row in connection.execute(select(SENSOR_SUMMARIES).where(span)).mappings()
    }
    fresh: list[dict[str, Any]] = []
    for one in found:
        row = there.get(one.begin)
        if row is not None:
            before = Quarter(one.begin, row["mean"], row["low"], row["high"], row["count"])
            one = _joined(before, one)
        content = {"mean": one.mean, "low": one.low, "high": one.high, "count": one.count}
        if row is None:
            fresh.append({"probe": probe, "moment": one.begin, "seconds": seconds, **content})
        else:
            mine = (old.probe == probe) & (old.moment == one.begin)
            connection.execute(update(SENSOR_SUMMARIES).where(mine).values(content))
    if fresh:
        connection.execute(insert(SENSOR_SUMMARIES), fresh)


def _to_hours(connection: Connection, probe: int, cut: int) -> None:
    """Join the quarters of an hour before a time into hours."""
    old = SENSOR_SUMMARIES.c
    mine = (old.probe == probe) & (old.moment < cut) & (old.seconds == QUARTER // 1000)
    chosen = select(SENSOR_SUMMARIES).where(mine & counting(old.decision)).order_by(old.moment)
    hours: dict[int, Quarter] = {}
    for row in connection.execute(chosen).mappings():
        begin = row["moment"] // HOUR * HOUR
        one = Quarter(begin, row["mean"], row["low"], row["high"], row["count"])
        hours[begin] = _joined(hours[begin], one) if begin in hours else one
    connection.execute(delete(SENSOR_SUMMARIES).where(mine))
    if hours:
        _write_summaries(connection, probe, [hours[key] for key in sorted(hours)], HOUR // 1000)
