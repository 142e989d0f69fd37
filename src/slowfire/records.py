"""Entries: what was written down, when it happened, by whom, and what it corrects.

The kinds, quantities and the site are re-exported, so that one import serves the journal.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from uuid import UUID

from slowfire.errors import InvalidInput
from slowfire.kinds import (
    PAYLOADS,
    Advice,
    Calendar,
    Cover,
    DigOut,
    Drain,
    Load,
    LoadItem,
    Look,
    Move,
    Note,
    Payload,
    Photo,
    Poke,
    Reading,
    Setting,
    Stir,
    Stock,
    Stocktake,
    Test,
    Turn,
    Use,
    Usual,
    Vent,
    Warm,
    Water,
    Worms,
)  # fmt: skip
from slowfire.quantities import Amount, Length, Position, Temperature
from slowfire.refusals import RefusedField, free_text, name_text
from slowfire.site import Bin, Site, Thermometer, WallLayer, WeatherSetting

__all__ = [
    "KINDS", "RETRACT", "SITE_WIDE", "Advice", "Amount", "Bin", "Calendar", "Cover", "DigOut",
    "Drain", "Entry", "Length", "Load", "LoadItem", "Look", "Move", "Note", "Payload", "Photo",
    "Poke", "Position", "Reading", "Setting", "Site", "Stir", "Stock", "Stocktake", "Temperature",
    "Test", "Thermometer", "Turn", "Use", "Usual", "Vent", "WallLayer", "Warm", "Water",
    "WeatherSetting", "Worms", "effective_entries", "joined_loads",
]  # fmt: skip

KINDS: dict[str, type[Payload]] = {one.kind: one for one in PAYLOADS}
RETRACT = "retract"
# Kinds that may belong to the whole place; every other entry names its bin.
SITE_WIDE = ("use", "stock", "calendar", "advice", "photo", "note", "setting", RETRACT)
EARLIEST = datetime(1970, 1, 2, tzinfo=UTC)
LATEST = datetime(2100, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class Entry:
    """One thing written down.

    Parameters
    ----------
    id : UUID
        Made by whoever wrote it; sending an entry twice changes nothing [-].
    bin : str
        Name of the bin; empty for an entry about the whole place [-].
    when : datetime
        When it happened, with its offset; 1970 to 2099, kept in UTC [-].
    payload : Payload or None
        What happened; None only for a retraction [-].
    recorded : datetime or None
        When it was written down [-].
    who : str
        Who wrote it; may be empty [-].
    note : str
        Free words beside it [-].
    corrects : UUID or None
        The entry that this one replaces, or takes back if `retracts` [-].
    retracts : bool
        True if the entry named in `corrects` is taken back [-].

    Raises
    ------
    InvalidInput
        If a time has no offset or lies outside 1970 to 2099, or parts do not fit together.

    Examples
    --------
    >>> entry = Entry(
    ...     UUID(int=1),
    ...     "Drum",
    ...     datetime(2026, 3, 12, 18, 30, tzinfo=UTC),
    ...     Reading("probe", Temperature(131, "F")),
    ... )
    >>> entry.kind, entry.payload.temperature.temperature_celsius
    ('reading', 55.0)
    """

    id: UUID
    bin: str
    when: datetime
    payload: Payload | None
    recorded: datetime | None = None
    who: str = ""
    note: str = ""
    corrects: UUID | None = None
    retracts: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "when", _utc("when", self.when))
        if self.recorded is not None:
            object.__setattr__(self, "recorded", _utc("recorded", self.recorded))
        if self.who:
            object.__setattr__(self, "who", name_text("who", self.who))
        object.__setattr__(self, "note", free_text("note", self.note))
        if self.bin:
            object.__setattr__(self, "bin", name_text("bin", self.bin))
        if self.retracts != (self.payload is None):
            raise RefusedField(
                "kind", "a retraction has no payload, and every other entry has one."
            )
        if self.retracts and self.corrects is None:
            raise RefusedField(
                "corrects", "a retraction names no entry; give the id it takes back."
            )
        if self.corrects == self.id:
            raise RefusedField("corrects", "an entry corrects itself; name an earlier one.")
        if not self.bin and self.kind not in SITE_WIDE:
            raise RefusedField("bin", f"a {self.kind} names no bin; say which bin it was.")
        if isinstance(self.payload, Note) and self.note:
            raise RefusedField("note", "a note holds its text in one place only: use text.")

    @property
    def kind(self) -> str:
        """Word for what happened, or retract."""
        return RETRACT if self.payload is None else self.payload.kind


def effective_entries(entries: Iterable[Entry]) -> list[Entry]:
    """Return the entries that count, by time.

    A correction replaces what it corrects (of two, the one recorded last); a retraction takes its
    entry away with everything that corrects it. Taking back a correction or a retraction brings
    the earlier entry back. An entry met twice counts once.

    Parameters
    ----------
    entries : iterable of Entry
        All that was written, in any order [-].

    Returns
    -------
    list of Entry
        Those in force, sorted by `when`; written order decides between equal times [-].

    Raises
    ------
    InvalidInput
        If one id stands for two contents, an id corrected is missing, or corrections form a ring.
    """
    by_id = distinct(entries)
    answers: dict[UUID, list[Entry]] = {}
    for entry in by_id.values():
        if entry.corrects is None:
            continue
        if entry.corrects not in by_id:
            raise RefusedField(
                "corrects",
                f"entry {entry.id} corrects {entry.corrects}, which is not in the journal; "
                "give the id of an entry that is.",
            )
        if by_id[entry.corrects].retracts and not entry.retracts:
            raise RefusedField(
                "corrects",
                f"entry {entry.id} corrects a retraction; take the retraction back instead.",
            )
        answers.setdefault(entry.corrects, []).append(entry)
    taken_back: dict[UUID, bool] = {}
    last_correction: dict[UUID, UUID] = {}
    for entry in _answers_first(by_id, answers):
        standing = [one for one in answers.get(entry.id, []) if not taken_back[one.id]]
        taken_back[entry.id] = any(one.retracts for one in standing)
        corrections = [one for one in standing if not one.retracts]
        if corrections:
            last_correction[entry.id] = max(enumerate(corrections), key=_recorded_order)[1].id
    return sorted(
        (
            entry
            for entry in by_id.values()
            if not entry.retracts
            and entry.id not in last_correction
            and _in_force(entry, by_id, taken_back, last_correction)
        ),
        key=lambda entry: entry.when,
    )


def joined_loads(entries: Iterable[Entry]) -> list[tuple[datetime, str, tuple[LoadItem, ...]]]:
    """Return the loads by time, those of one bin and one time joined into one.

    Parameters
    ----------
    entries : iterable of Entry
        Entries in force [-].

    Returns
    -------
    list of tuple
        When, name of the bin, and what went in [-].
    """
    joined: dict[tuple[datetime, str], tuple[LoadItem, ...]] = {}
    for entry in entries:
        if isinstance(entry.payload, Load):
            key = (entry.when, entry.bin)
            joined[key] = joined.get(key, ()) + entry.payload.items
    return [(when, name, items) for (when, name), items in sorted(joined.items(), key=_first)]


def distinct(entries: Iterable[Entry]) -> dict[UUID, Entry]:
    """Return the entries by id, each once.

    Raises
    ------
    InvalidInput
        If one id stands for two different contents.
    """
    by_id: dict[UUID, Entry] = {}
    for entry in entries:
        if by_id.setdefault(entry.id, entry) != entry:
            raise RefusedField(
                "id",
                f"id {entry.id} stands for two different entries; give one of them a new id, "
                "or name the old one under corrects.",
            )
    return by_id


def _in_force(
    entry: Entry,
    by_id: dict[UUID, Entry],
    taken_back: dict[UUID, bool],
    last_correction: dict[UUID, UUID],
) -> bool:
    """Tell whether nothing up the line was taken back or corrected otherwise later."""
    while not taken_back[entry.id]:
        if entry.corrects is None:
            return True
        if last_correction.get(entry.corrects, entry.id) != entry.id:
            return False
        entry = by_id[entry.corrects]
    return False


def _answers_first(by_id: dict[UUID, Entry], answers: dict[UUID, list[Entry]]) -> list[Entry]:
    """Order the entries so that what corrects an entry comes before it."""
    level = [entry for entry in by_id.values() if entry.corrects is None]
    ordered: list[Entry] = []
    while level:
        ordered.extend(level)
        level = [one for entry in level for one in answers.get(entry.id, [])]
    if len(ordered) < len(by_id):
        ring = next(iter(by_id.keys() - {entry.id for entry in ordered}))
        raise InvalidInput(
            f"entry {ring} belongs to corrections that run in a ring; each may only name an "
            "earlier entry."
        )
    return ordered[::-1]


def _recorded_order(numbered: tuple[int, Entry]) -> tuple[datetime, int]:
    return (numbered[1].recorded or EARLIEST, numbered[0])


def _first(item: tuple[tuple[datetime, str], tuple[LoadItem, ...]]) -> datetime:
    return item[0][0]


def _utc(field: str, when: datetime) -> datetime:
    if when.tzinfo is None or when.utcoffset() is None:
        raise RefusedField(
            field, f"{field} is {when.isoformat(' ')} without an offset; add one, such as +01:00."
        )
    # Compared before conversion: the first and last years cannot be shifted.
    if not 1970 <= when.year < 2100 or not EARLIEST <= when.astimezone(UTC) < LATEST:
        raise RefusedField(
            field,
            f"{field} is {when.date()}; allowed is 1970-01-02 to 2099-12-31. Is the year right?",
        )
    return when.astimezone(UTC)
