"""What devices measured, as rows: each value once, with what was decided about it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np
from sqlalchemy import Connection, delete, func, insert, select, update

from slowfire.errors import InvalidInput
from slowfire.journal.database import writing
from slowfire.journal.sensor_devices import MOST_DEVICES, probe_named
from slowfire.journal.store import Store
from slowfire.journal.tables import (
    SENSOR_DECISIONS,
    SENSOR_DEVICES,
    SENSOR_PROBES,
    SENSOR_SUMMARIES,
    SENSOR_VALUES,
    SENSOR_WINDOWS,
)
from slowfire.sensors.measurement import TEMPERATURE, Measurement, milliseconds, moment
from slowfire.sensors.quality import FIRM, LOOK_BACK, NEAR, Reason, judge
from slowfire.sensors.readings import HOUR, QUARTER, window_of

MOST_CHANNELS = 100  # of one device
AT_ONCE = 400  # moments asked for in one question
KNOWN, OTHER, SUMMARISED = "known", "other value", "summarised"
NEW = "new"


@dataclass(frozen=True)
class Outcome:
    """What came of one measurement.

    Attributes
    ----------
    measurement : Measurement
        As it came.
    state : str
        new; known (sent before); other value (the first one of that moment stays); summarised
        (its quarter of an hour has been summed up already).
    reason : Reason
        Why it is left out, if it is new.
    """

    measurement: Measurement
    state: str
    reason: Reason = Reason.KEPT

    @property
    def kept(self) -> bool:
        """Whether it is new and believed."""
        return self.state == NEW and self.reason == Reason.KEPT


@dataclass
class _Decision:
    """A stretch of values left out for one reason, while it is worked on."""

    number: int
    reason: int
    begin: int
    until: int
    count: int
    overruled: bool
    shrunk: bool = False
    changed: bool = False


def keep(
    store: Store, measurements: Iterable[Measurement], now: datetime, kind: str = "push"
) -> tuple[Outcome, ...]:
    """Store measurements, all or none, and decide about each; the same ones again change nothing.

    Parameters
    ----------
    store : Store
        The journal [-].
    measurements : iterable of Measurement
        In any order [-].
    now : datetime
        The present [-].
    kind : str
        What a device not known yet is taken for: one-wire, mqtt, push or logger [-].

    Returns
    -------
    tuple of Outcome
        In the order given, only once they are on the disk.

    Raises
    ------
    InvalidInput
        If devices nobody knows are too many.
    JournalError
        If the database cannot take them.
    """
    given = list(measurements)
    outcomes: list[Outcome | None] = [None] * len(given)
    with writing(store.engine) as connection:
        for probe, places in _by_probe(connection, given, now, kind).items():
            _keep_probe(connection, probe, given, places, outcomes, now)
    return tuple(one for one in outcomes if one is not None)


def overrule(store: Store, number: int) -> bool:
    """Turn a decision round: what was left out counts, or is left out again.

    Parameters
    ----------
    store : Store
        The journal [-].
    number : int
        Of the decision [-].

    Returns
    -------
    bool
        Whether the values count now.

    Raises
    ------
    InvalidInput
        If there is no such decision, or its values were deleted since.
    """
    mine = SENSOR_DECISIONS.c.number == number
    with writing(store.engine) as connection:
        row = connection.execute(select(SENSOR_DECISIONS).where(mine)).mappings().first()
        if row is None:
            raise InvalidInput(
                f"There is no decision {number}; slowfire sensors lists those there are."
            )
        moments: list[int] = []
        for table in (SENSOR_VALUES, SENSOR_SUMMARIES):
            chosen = select(table.c.moment).where(
                table.c.probe == row["probe"],
                table.c.moment.between(row["begin"], row["until"]),
                table.c.decision == number,
            )
            moments += connection.execute(chosen).scalars()
        if not moments:
            raise InvalidInput(
                f"The values of decision {number} are no longer kept one by one; nothing to change."
            )
        counts = not row["overruled"]
        connection.execute(update(SENSOR_DECISIONS).where(mine).values(overruled=counts))
        mark_due(connection, row["probe"], moments)
    return counts


def leave_out(
    store: Store, device: str, channel: str | None, start: datetime, end: datetime, now: datetime
) -> tuple[int, ...]:
    """Leave out what a device measured between two times; `overrule` brings it back.

    Parameters
    ----------
    store : Store
        The journal [-].
    device : str
        Its name [-].
    channel : str or None
        One of its probes; all of them if None [-].
    start, end : datetime
        From and until when [-].
    now : datetime
        The present [-].

    Returns
    -------
    tuple of int
        Numbers of the decisions made, one for each probe that had values then.

    Raises
    ------
    InvalidInput
        If there is no such device, or nothing was kept between these times.
    """
    begin, until = milliseconds(start), milliseconds(end)
    numbers: list[int] = []
    with writing(store.engine) as connection:
        for probe in probe_named(connection, device, channel):
            fresh = _decision(connection, probe.number, Reason.BY_HAND, begin, until, now)
            moments: list[int] = []
            for table in (SENSOR_VALUES, SENSOR_SUMMARIES):
                mine = (
                    (table.c.probe == probe.number)
                    & table.c.moment.between(begin, until)
                    & counting(table.c.decision)
                )
                moments += connection.execute(select(table.c.moment).where(mine)).scalars()
                connection.execute(update(table).where(mine).values(decision=fresh.number))
            if not moments:
                where = SENSOR_DECISIONS.c.number == fresh.number
                connection.execute(delete(SENSOR_DECISIONS).where(where))
                continue
            where = SENSOR_DECISIONS.c.number == fresh.number
            stretch = {"begin": min(moments), "until": max(moments), "count": len(moments)}
            connection.execute(update(SENSOR_DECISIONS).where(where).values(stretch))
            mark_due(connection, probe.number, moments)
            numbers.append(fresh.number)
        if not numbers:
            raise InvalidInput(f"Nothing of {device} was kept between these times; look again.")
    return tuple(numbers)


def counting(decision: Any) -> Any:
    """The condition that a value counts: nothing was decided, or it was overruled."""
    overruled = select(SENSOR_DECISIONS.c.number).where(SENSOR_DECISIONS.c.overruled)
    return decision.is_(None) | decision.in_(overruled)


def mark_due(connection: Connection, probe: int, moments: Iterable[int]) -> None:
    """Have the readings of the windows around these moments made again."""
    windows = sorted({window_of(one) for one in moments})
    if not windows:
        return
    chosen = select(SENSOR_WINDOWS.c.moment).where(
        SENSOR_WINDOWS.c.probe == probe,
        SENSOR_WINDOWS.c.moment.between(windows[0], windows[-1]),
    )
    there = set(connection.execute(chosen).scalars())
    fresh = [one for one in windows if one not in there]
    if fresh:
        rows = [{"probe": probe, "moment": one, "due": True, "said": ""} for one in fresh]
        connection.execute(insert(SENSOR_WINDOWS), rows)
    again = [one for one in windows if one in there]
    for begin in range(0, len(again), AT_ONCE):
        mine = (SENSOR_WINDOWS.c.probe == probe) & SENSOR_WINDOWS.c.moment.in_(
            again[begin : begin + AT_ONCE]
        )
        connection.execute(update(SENSOR_WINDOWS).where(mine).values(due=True))


def _by_probe(
    connection: Connection, given: Sequence[Measurement], now: datetime, kind: str
) -> dict[tuple[int, str], list[int]]:
    """Places of the measurements of each probe, by its number and quantity."""
    groups: dict[tuple[str, str, str, str], list[int]] = {}
    for place, one in enumerate(given):
        key = (one.device, _channel(one), one.quantity, one.unit)
        groups.setdefault(key, []).append(place)
    found: dict[tuple[int, str], list[int]] = {}
    for (device, channel, quantity, unit), places in groups.items():
        number = _probe(connection, device, channel, quantity, unit, now, kind)
        found.setdefault((number, quantity), []).extend(places)
    return found


def _channel(one: Measurement) -> str:
    """Name of the probe: one place may measure temperature and humidity."""
    return one.channel if one.quantity == TEMPERATURE else f"{one.channel} {one.quantity}"


def _probe(
    connection: Connection,
    device: str,
    channel: str,
    quantity: str,
    unit: str,
    now: datetime,
    kind: str,
) -> int:
    """Number of a probe; one nobody named yet is written down and feeds nothing."""
    by_name = select(SENSOR_DEVICES.c.number).where(SENSOR_DEVICES.c.name == device)
    owner = connection.execute(by_name).scalar_one_or_none()
    if owner is None:
        count = connection.execute(select(func.count()).select_from(SENSOR_DEVICES)).scalar_one()
        if count >= MOST_DEVICES:
            raise InvalidInput(
                f"{device} would be device {count + 1}; allowed is up to {MOST_DEVICES}: see that "
                "the topics name devices, not values."
            )
        row = {"name": device, "kind": kind, "mapping": "", "made": now}
        owner = _key(connection.execute(insert(SENSOR_DEVICES).values(row)))
    mine = (SENSOR_PROBES.c.device == owner) & (SENSOR_PROBES.c.channel == channel)
    number = connection.execute(select(SENSOR_PROBES.c.number).where(mine)).scalar_one_or_none()
    if number is None:
        others = select(func.count()).where(SENSOR_PROBES.c.device == owner)
        if connection.execute(others).scalar_one() >= MOST_CHANNELS:
            raise InvalidInput(
                f"{device} sends over {MOST_CHANNELS} channels; allowed is up to {MOST_CHANNELS}: "
                "see that a channel is a probe, not a value."
            )
        empty = {"bin": "", "thermometer": "", "position": "", "spot": "", "since": 0}
        row = {"device": owner, "channel": channel, "quantity": quantity, "unit": unit, **empty}
        number = _key(connection.execute(insert(SENSOR_PROBES).values(row)))
    return int(number)


def _key(result: Any) -> int:
    return int(result.inserted_primary_key[0])


def _keep_probe(
    connection: Connection,
    probe: tuple[int, str],
    given: Sequence[Measurement],
    places: Sequence[int],
    outcomes: list[Outcome | None],
    now: datetime,
) -> None:
    number, quantity = probe
    moments = {given[place].milliseconds for place in places}
    there = _values_at(connection, number, moments)
    covered = _summarised(connection, number, min(moments), max(moments))
    fresh: dict[int, float] = {}
    fresh_places: list[tuple[int, int]] = []
    for place in places:
        one = given[place]
        at, value = one.milliseconds, one.si
        if at in there or at in fresh:
            same = there.get(at, fresh.get(at)) == value
            outcomes[place] = Outcome(one, KNOWN if same else OTHER)
        elif at // QUARTER in covered:
            outcomes[place] = Outcome(one, SUMMARISED)
        else:
            fresh[at] = value
            fresh_places.append((place, at))
    if not fresh:
        return
    rows = [
        {"probe": number, "moment": at, "value": value, "decision": None}
        for at, value in sorted(fresh.items())
    ]
    connection.execute(insert(SENSOR_VALUES), rows)
    reasons = _decide(connection, number, quantity, min(fresh), max(fresh), now)
    for place, at in fresh_places:
        outcomes[place] = Outcome(given[place], NEW, reasons.get(at, Reason.KEPT))
    mark_due(connection, number, (at for at in fresh if reasons.get(at) != Reason.CLOCK))


def _values_at(connection: Connection, probe: int, moments: set[int]) -> dict[int, float]:
    """Values kept already of some of these moments."""
    columns = select(SENSOR_VALUES.c.moment, SENSOR_VALUES.c.value)
    mine = SENSOR_VALUES.c.probe == probe
    if len(moments) > AT_ONCE:
        span = mine & SENSOR_VALUES.c.moment.between(min(moments), max(moments))
        found = connection.execute(columns.where(span)).all()
    else:
        found = connection.execute(
            columns.where(mine & SENSOR_VALUES.c.moment.in_(sorted(moments)))
        ).all()
    return {int(at): float(value) for at, value in found}


def _summarised(connection: Connection, probe: int, low: int, high: int) -> set[int]:
    """Quarters of an hour, counted from 1970, that have been summed up."""
    chosen = select(SENSOR_SUMMARIES.c.moment, SENSOR_SUMMARIES.c.seconds).where(
        SENSOR_SUMMARIES.c.probe == probe, SENSOR_SUMMARIES.c.moment.between(low - HOUR, high)
    )
    covered: set[int] = set()
    for at, seconds in connection.execute(chosen):
        first = at // QUARTER
        covered.update(range(first, first + max(seconds * 1000 // QUARTER, 1)))
    return covered


def _decide(
    connection: Connection, probe: int, quantity: str, low: int, high: int, now: datetime
) -> dict[int, Reason]:
    """Judge new values and those around them; reasons of what is left out, by moment."""
    look_back, near = round(1000 * LOOK_BACK), round(1000 * NEAR)
    chosen = (
        select(SENSOR_VALUES.c.moment, SENSOR_VALUES.c.value, SENSOR_VALUES.c.decision)
        .where(
            SENSOR_VALUES.c.probe == probe,
            SENSOR_VALUES.c.moment.between(low - look_back - near, high + look_back),
        )
        .order_by(SENSOR_VALUES.c.moment)
    )
    rows = connection.execute(chosen).all()
    known = _decisions(connection, {row[2] for row in rows if row[2] is not None})
    open_rows = [row for row in rows if row[2] is None or known[row[2]].reason not in FIRM]
    if not open_rows:
        return {}
    first = open_rows[0]
    codes = judge(
        np.array([row[0] for row in open_rows]) / 1000.0,
        np.array([row[1] for row in open_rows]),
        now.timestamp(),
        _same_since(connection, probe, first[0], first[1]),
        known[first[2]].reason if first[2] is not None else Reason.KEPT,
        quantity,
    )
    changes: list[tuple[int, int | None]] = []
    reasons: dict[int, Reason] = {}
    before: _Decision | None = None
    for (at, _, number), code in zip(open_rows, codes.tolist(), strict=True):
        stored = known.get(number) if number is not None else None
        settled = stored is not None and (stored.overruled or stored.reason == code)
        if settled or at < low - look_back:
            before = stored
        elif code == Reason.KEPT:
            before = None
        else:
            if before is None or before.reason != code:
                before = _decision(connection, probe, Reason(code), at, at, now)
                known[before.number] = before
            before.begin, before.until = min(before.begin, at), max(before.until, at)
            before.count += 1
            before.changed = True
        if before is not None and not before.overruled:
            reasons[at] = Reason(before.reason)
        if before is not stored:
            changes.append((at, before.number if before is not None else None))
            if stored is not None:
                stored.shrunk = stored.changed = True
    _write_changes(connection, probe, changes)
    _write_decisions(connection, probe, [one for one in known.values() if one.changed])
    mark_due(connection, probe, (at for at, _ in changes if reasons.get(at) != Reason.CLOCK))
    return reasons


def _same_since(connection: Connection, probe: int, at: int, value: float) -> float | None:
    """Since when the value of a moment was the same already [s]."""
    mine = SENSOR_VALUES.c.probe == probe
    other = connection.execute(
        select(SENSOR_VALUES.c.moment)
        .where(mine, SENSOR_VALUES.c.moment < at, SENSOR_VALUES.c.value != value)
        .order_by(SENSOR_VALUES.c.moment.desc())
        .limit(1)
    ).scalar_one_or_none()
    since = connection.execute(
        select(SENSOR_VALUES.c.moment)
        .where(mine, SENSOR_VALUES.c.moment > (-1 if other is None else other))
        .order_by(SENSOR_VALUES.c.moment)
        .limit(1)
    ).scalar_one_or_none()
    return None if since is None else since / 1000.0


def _decisions(connection: Connection, numbers: set[int]) -> dict[int, _Decision]:
    found: dict[int, _Decision] = {}
    wanted = sorted(numbers)
    for begin in range(0, len(wanted), AT_ONCE):
        chosen = select(SENSOR_DECISIONS).where(
            SENSOR_DECISIONS.c.number.in_(wanted[begin : begin + AT_ONCE])
        )
        for row in connection.execute(chosen).mappings():
            found[row["number"]] = _Decision(
                row["number"], row["reason"], row["begin"], row["until"], row["count"],
                row["overruled"],
            )  # fmt: skip
    return found


def _decision(
    connection: Connection, probe: int, reason: Reason, begin: int, until: int, now: datetime
) -> _Decision:
    row = {"probe": probe, "reason": int(reason), "begin": begin, "until": until, "count": 0}
    done = connection.execute(insert(SENSOR_DECISIONS).values(**row, overruled=False, made=now))
    return _Decision(_key(done), int(reason), begin, until, 0, False, changed=True)


def _write_changes(
    connection: Connection, probe: int, changes: Sequence[tuple[int, int | None]]
) -> None:
    by_decision: dict[int | None, list[int]] = {}
    for at, number in changes:
        by_decision.setdefault(number, []).append(at)
    for number, moments in by_decision.items():
        for begin in range(0, len(moments), AT_ONCE):
            mine = (SENSOR_VALUES.c.probe == probe) & SENSOR_VALUES.c.moment.in_(
                moments[begin : begin + AT_ONCE]
            )
            connection.execute(update(SENSOR_VALUES).where(mine).values(decision=number))


def _write_decisions(connection: Connection, probe: int, changed: Sequence[_Decision]) -> None:
    for one in changed:
        mine = SENSOR_DECISIONS.c.number == one.number
        stretch = {"begin": one.begin, "until": one.until, "count": one.count}
        if one.shrunk:
            values = SENSOR_VALUES.c
            low, high, count = connection.execute(
                select(func.min(values.moment), func.max(values.moment), func.count()).where(
                    values.probe == probe,
                    values.moment.between(one.begin, one.until),
                    values.decision == one.number,
                )
            ).one()
            if not count:
                connection.execute(delete(SENSOR_DECISIONS).where(mine))
                continue
            stretch = {"begin": low, "until": high, "count": count}
        connection.execute(update(SENSOR_DECISIONS).where(mine).values(stretch))


@dataclass(frozen=True)
class DecisionMade:
    """A stretch of values left out.

    Attributes
    ----------
    number : int
        By which it is overruled [-].
    device, channel : str
        The probe.
    reason : Reason
        Why.
    begin, until : datetime
        First and last value.
    count : int
        How many [-].
    overruled : bool
        Whether they count all the same, as somebody said.
    """

    number: int
    device: str
    channel: str
    reason: Reason
    begin: datetime
    until: datetime
    count: int
    overruled: bool


def decisions(store: Store, latest: int = 20) -> tuple[DecisionMade, ...]:
    """The decisions made last, newest first."""
    chosen = (
        select(SENSOR_DECISIONS, SENSOR_PROBES.c.channel, SENSOR_DEVICES.c.name)
        .join(SENSOR_PROBES, SENSOR_PROBES.c.number == SENSOR_DECISIONS.c.probe)
        .join(SENSOR_DEVICES, SENSOR_DEVICES.c.number == SENSOR_PROBES.c.device)
        .order_by(SENSOR_DECISIONS.c.number.desc())
        .limit(latest)
    )
    with store.engine.connect() as connection:
        rows = connection.execute(chosen).mappings().all()
    return tuple(
        DecisionMade(
            row["number"], row["name"], row["channel"], Reason(row["reason"]),
            moment(row["begin"]), moment(row["until"]), row["count"], row["overruled"],
        )
        for row in rows
    )  # fmt: skip
