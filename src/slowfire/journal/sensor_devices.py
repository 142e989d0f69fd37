"""Devices and their probes as rows: what each is called, and which thermometer it stands for."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, insert, select, update

from slowfire.errors import InvalidInput, UnknownName
from slowfire.journal.database import reading, writing
from slowfire.journal.store import Store
from slowfire.journal.tables import (
    SENSOR_DECISIONS,
    SENSOR_DEVICES,
    SENSOR_PROBES,
    SENSOR_SUMMARIES,
    SENSOR_VALUES,
    SENSOR_WINDOWS,
)
from slowfire.quantities import Length, Position
from slowfire.refusals import name_text, nearest, one_of
from slowfire.sensors.measurement import TEMPERATURE, moment, unit_of
from slowfire.sensors.quality import Reason
from slowfire.sensors.readings import Source, window_of

KINDS = ("one-wire", "mqtt", "push", "logger")
MOST_DEVICES = 500


@dataclass(frozen=True)
class Probe:
    """One channel of a device.

    Attributes
    ----------
    number : int
        Its row [-].
    channel, quantity, unit : str
        Its name, what it measures, and the unit taken where none is sent.
    source : Source or None
        Which thermometer of which bin it is; None if it feeds nothing.
    since : int
        From when on that holds [ms].
    """

    number: int
    channel: str
    quantity: str
    unit: str
    source: Source | None
    since: int


@dataclass(frozen=True)
class Last:
    """The last value of a probe that its clock did not spoil."""

    when: datetime
    value: float
    reason: Reason
    overruled: bool


@dataclass(frozen=True)
class Device:
    """A device as it is known: name, kind, whether it has a token, its file's form, its probes."""

    name: str
    kind: str
    has_token: bool
    mapping: str
    probes: tuple[Probe, ...]


def devices(store: Store) -> tuple[Device, ...]:
    """Every device, by name."""
    with reading(store.engine) as connection:
        rows = connection.execute(select(SENSOR_DEVICES).order_by(SENSOR_DEVICES.c.name)).mappings()
        return tuple(
            Device(
                row["name"],
                row["kind"],
                row["token"] is not None,
                row["mapping"],
                tuple(_probes(connection, row["number"], row["name"])),
            )
            for row in rows.all()
        )


def probe_named(connection: Connection, device: str, channel: str | None = None) -> list[Probe]:
    """Probes of a device: one by its channel, or all of them.

    Raises
    ------
    UnknownName
        If there is no such device or channel, with those there are.
    """
    probes = _probes(connection, _number(connection, device), device)
    chosen = [one for one in probes if channel is None or one.channel == channel]
    if not chosen:
        names = [one.channel for one in probes]
        raise UnknownName(
            f"{device} has no channel {channel!r}; it has sent {', '.join(names) or 'nothing'}."
        )
    return chosen


def last_value(store: Store, probe: int) -> Last | None:
    """The last value of a probe whose clock was right; None if there is none."""
    values = (
        select(
            SENSOR_VALUES.c.moment, SENSOR_VALUES.c.value, SENSOR_DECISIONS.c.reason,
            SENSOR_DECISIONS.c.overruled,
        )
        .outerjoin(SENSOR_DECISIONS, SENSOR_DECISIONS.c.number == SENSOR_VALUES.c.decision)
        .where(
            SENSOR_VALUES.c.probe == probe,
            SENSOR_DECISIONS.c.reason.is_(None) | (SENSOR_DECISIONS.c.reason != Reason.CLOCK),
        )
        .order_by(SENSOR_VALUES.c.moment.desc())
        .limit(1)
    )  # fmt: skip
    summed = (
        select(SENSOR_SUMMARIES.c.moment, SENSOR_SUMMARIES.c.mean)
        .where(SENSOR_SUMMARIES.c.probe == probe)
        .order_by(SENSOR_SUMMARIES.c.moment.desc())
        .limit(1)
    )
    with reading(store.engine) as connection:
        row = connection.execute(values).first()
        if row is not None:
            return Last(moment(row[0]), row[1], Reason(row[2] or 0), bool(row[3]))
        old = connection.execute(summed).first()
    return None if old is None else Last(moment(old[0]), old[1], Reason.KEPT, False)


def moments_since(store: Store, probe: int, since: int) -> list[int]:
    """When a probe said something, whatever was decided about it [ms]."""
    chosen = (
        select(SENSOR_VALUES.c.moment)
        .where(SENSOR_VALUES.c.probe == probe, SENSOR_VALUES.c.moment >= since)
        .order_by(SENSOR_VALUES.c.moment)
    )
    with reading(store.engine) as connection:
        return list(connection.execute(chosen).scalars())


def add_device(store: Store, name: str, kind: str, now: datetime) -> bool:
    """Write a device down; one that is there stays as it is.

    Returns
    -------
    bool
        Whether it is new.

    Raises
    ------
    InvalidInput
        If the name or kind is refused, or devices are too many.
    """
    clean = name_text("device", name)
    one_of("kind", kind, KINDS)
    with writing(store.engine) as connection:
        names = connection.execute(select(SENSOR_DEVICES.c.name)).scalars().all()
        if clean in names:
            return False
        if len(names) >= MOST_DEVICES:
            raise InvalidInput(f"There are {len(names)} devices; allowed is up to {MOST_DEVICES}.")
        row = {"name": clean, "kind": kind, "mapping": "", "made": now}
        connection.execute(insert(SENSOR_DEVICES).values(row))
    return True


def place_probe(
    store: Store,
    source: Source,
    unit: str | None = None,
    since: int | None = None,
    now: int = 0,
) -> None:
    """Say which thermometer a temperature probe stands for; what came before is made readings too.

    Parameters
    ----------
    store : Store
        The journal [-].
    source : Source
        Device, channel, and the thermometer [-].
    unit : str or None
        Unit taken where none is sent; as it was if None [-].
    since : int or None
        From when on; all the past the first time, and from now on later [ms].
    now : int
        The present [ms].

    Raises
    ------
    InvalidInput
        If there is no such device, or the unit is none of a temperature.
    """
    with writing(store.engine) as connection:
        owner = _number(connection, source.device)
        mine = (SENSOR_PROBES.c.device == owner) & (SENSOR_PROBES.c.channel == source.channel)
        there = connection.execute(select(SENSOR_PROBES).where(mine)).mappings().first()
        if there is not None and there["quantity"] != TEMPERATURE:
            raise InvalidInput(
                f"{source.channel} of {source.device} measures {there['quantity']}; only a "
                "temperature can stand for a thermometer."
            )
        position = source.position
        row: dict[str, Any] = {
            "bin": source.bin,
            "thermometer": source.thermometer,
            "position": "" if position is None else f"{position.distance} {position.origin}",
            "spot": source.spot or "",
        }
        _refuse_second(connection, owner, source, row)
        if unit is not None:
            row["unit"] = unit_of(TEMPERATURE, unit)
        if there is None:
            first = {"device": owner, "channel": source.channel, "quantity": TEMPERATURE}
            row = {"unit": "C", **first, **row, "since": since or 0}
            connection.execute(insert(SENSOR_PROBES).values(row))
            return
        same = all(there[key] == row[key] for key in ("bin", "thermometer", "position", "spot"))
        if since is not None:
            row["since"] = since
        elif there["bin"] and not same:
            row["since"] = now
        connection.execute(update(SENSOR_PROBES).where(mine).values(row))
        begin = window_of(row.get("since", there["since"]))
        windows = (SENSOR_WINDOWS.c.probe == there["number"]) & (SENSOR_WINDOWS.c.moment >= begin)
        connection.execute(update(SENSOR_WINDOWS).where(windows).values(due=True))


def set_token(store: Store, device: str, hashed: str) -> None:
    """Give a device a token, of which only the hash is kept; an older one is no longer valid."""
    _change(store, device, {"token": hashed})


def set_mapping(store: Store, device: str, mapping: str) -> None:
    """Keep how the files of a logger are read, as JSON."""
    _change(store, device, {"mapping": mapping})


def tokens(store: Store) -> dict[str, str]:
    """Names of devices by the hash of their token."""
    chosen = select(SENSOR_DEVICES.c.token, SENSOR_DEVICES.c.name).where(
        SENSOR_DEVICES.c.token.is_not(None)
    )
    with reading(store.engine) as connection:
        return {str(hashed): str(name) for hashed, name in connection.execute(chosen)}


def units(store: Store, device: str) -> dict[str, str]:
    """Unit of each temperature channel of a device, where none is sent."""
    chosen = (
        select(SENSOR_PROBES.c.channel, SENSOR_PROBES.c.unit)
        .join(SENSOR_DEVICES, SENSOR_DEVICES.c.number == SENSOR_PROBES.c.device)
        .where(SENSOR_DEVICES.c.name == device, SENSOR_PROBES.c.quantity == TEMPERATURE)
    )
    with reading(store.engine) as connection:
        return {str(channel): str(unit) for channel, unit in connection.execute(chosen)}


def _change(store: Store, device: str, values: dict[str, Any]) -> None:
    with writing(store.engine) as connection:
        mine = SENSOR_DEVICES.c.number == _number(connection, device)
        connection.execute(update(SENSOR_DEVICES).where(mine).values(values))


def _number(connection: Connection, device: str) -> int:
    rows = connection.execute(select(SENSOR_DEVICES.c.name, SENSOR_DEVICES.c.number)).all()
    numbers = {str(name): int(number) for name, number in rows}
    if device not in numbers:
        known = ", ".join(numbers) or "none yet"
        raise UnknownName(
            f"no device is called {device!r}; there is {known}.{nearest(device, numbers)} "
            "slowfire sensors --add NAME adds one."
        )
    return numbers[device]


def _probes(connection: Connection, owner: int, device: str) -> Sequence[Probe]:
    chosen = select(SENSOR_PROBES).where(SENSOR_PROBES.c.device == owner)
    rows = connection.execute(chosen.order_by(SENSOR_PROBES.c.channel)).mappings().all()
    return [probe_of(row, device) for row in rows]


def probe_of(row: Any, device: str) -> Probe:
    """A probe from its row."""
    source = None
    if row["bin"]:
        source = Source(
            device,
            row["channel"],
            row["bin"],
            row["thermometer"],
            _position(row["position"]),
            row["spot"] or None,
        )
    return Probe(row["number"], row["channel"], row["quantity"], row["unit"], source, row["since"])


def _refuse_second(connection: Connection, owner: int, source: Source, row: dict[str, Any]) -> None:
    """Refuse a second probe for a thermometer: its readings would count twice."""
    same = select(SENSOR_PROBES.c.device, SENSOR_PROBES.c.channel).where(
        *(SENSOR_PROBES.c[key] == value for key, value in row.items())
    )
    for device, channel in connection.execute(same):
        if (device, channel) != (owner, source.channel):
            raise InvalidInput(
                f"{source.thermometer} of {source.bin} is fed by another probe already; give this "
                "one a thermometer of its own, or say its depth."
            )


def _position(text: str) -> Position | None:
    if not text:
        return None
    number, unit, origin = text.split()
    return Position(Length(float(number), unit), origin)
