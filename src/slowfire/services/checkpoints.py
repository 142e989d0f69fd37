"""Ensembles kept on disk at even hours of a record, so that not every estimate begins at hour 0.

Each is named after everything written before it: what is changed later leaves it alone, what is
changed before makes it void.
"""

import hashlib
import os
import zipfile
import zlib
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import lru_cache
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slowfire import records as r
from slowfire.arrays import FloatArray
from slowfire.column.positions import (
    MAX_LAYERS,
    N_BIN,
    N_DEGREES,
    N_LEDGER,
    N_STATE,
)
from slowfire.column.simulate import Column
from slowfire.estimate.condition import (
    LONGEST_SPIN_UP_DAYS,
    Conditioned,
    Ensemble,
    begin_ensemble,
    condition,
)
from slowfire.estimate.diagnostics import Expected, expected_before
from slowfire.estimate.plan import Plan
from slowfire.estimate.priors import setting_of
from slowfire.services.weather_ahead import default_cache_folder
from slowfire.timeline import Timeline
from slowfire.vessel import Vessel

APART_HOURS = 168.0  # from one to the next
MOST_FILES = 8  # of one bin and gear, about two months
REMEMBERED_HOURS = 24.0 * 35.0  # what was expected of readings so long ago is kept
# What a result does not depend on beside the folders of what computes it.
NOT_COMPUTING = ("recipe", "published", "build", "journal", "services", "data")
COMPUTING_SERVICES = ("estimate_plan.py", "checkpoints.py")
LAYER_SHAPES = {"state": (N_STATE,), "history": (2, N_DEGREES, 3)}


@dataclass(frozen=True)
class Gear:
    """How much is computed for an estimate.

    Attributes
    ----------
    name : str
        For the folder of its checkpoints.
    members : int
        Of the ensemble [-].
    updates : int
        Of each window [-].
    lag_hours : float
        Readings of so long at least are taken together [h].
    """

    name: str
    members: int
    updates: int
    lag_hours: float


QUICK = Gear("quick", 54, 2, 24.0 * 10.0)
THOROUGH = Gear("thorough", 120, 3, 24.0 * 21.0)


@dataclass
class Work:
    """Calls run in threads, and the share done shown to whoever waits.

    Attributes
    ----------
    pool : Executor
        Where calls run.
    progress : callable or None
        Called with the share done, 0 to 1.
    total : float
        Member-days to come in all; set when it is known.
    days : float
        Of each call of the next lot.
    """

    pool: Executor
    progress: Callable[[float], None] | None = None
    total: float = 0.0
    days: float = 0.0
    done: float = field(default=0.0, init=False)

    def run_many(self, calls: Sequence[Callable[[], Any]]) -> list[Any]:
        """Run calls, and return their results in order."""
        results = []
        for result in self.pool.map(_call, calls):
            results.append(result)
            self.done += self.days
            if self.progress is not None and self.total > 0.0:
                self.progress(min(self.done / self.total, 1.0))
        return results


def _call(call: Callable[[], Any]) -> Any:
    return call()


@dataclass(frozen=True, eq=False)
class Kept:
    """An ensemble, and what was expected of the readings of the weeks before it."""

    ensemble: Ensemble
    expected: Expected


@dataclass(frozen=True)
class Record:
    """One bin's record up to the present, with what made it.

    Attributes
    ----------
    site : Site
        The place.
    bin_name : str
        Which bin.
    entries : sequence of Entry
        In force up to the present, by time.
    timeline : Timeline
        Made from them.
    plan : Plan
        Made from both.
    """

    site: r.Site
    bin_name: str
    entries: Sequence[r.Entry]
    timeline: Timeline
    plan: Plan


def default_checkpoint_folder() -> Path:
    """Return the folder of this user in which ensembles are kept.

    Returns
    -------
    Path
        `slowfire/estimates` beside the forecasts [-].
    """
    return default_cache_folder().with_name("estimates")


def stations(end: float, gear: Gear) -> list[float]:
    """Hours of the checkpoints on the way to an estimate.

    Parameters
    ----------
    end : float
        The last hour that counts [h].
    gear : Gear
        How much is computed [-].

    Returns
    -------
    list of float
        Rising from 0; the last leaves a window of at least the gear's lag [h].
    """
    count = int(max(end - gear.lag_hours, 0.0) // APART_HOURS)
    return [APART_HOURS * k for k in range(count + 1)]


def member_days(record: Record, first: float, goals: Sequence[float], gear: Gear) -> float:
    """Member-days that are run on the way from one checkpoint to others [day]."""
    total = 0.0
    for goal in goals:
        runs = gear.updates + 1 if _read(record.plan, first, goal) else 1
        total += gear.members * runs * (goal - first) / 24.0
        first = goal
    return total


def checkpoint(
    record: Record,
    end: float,
    gear: Gear,
    seed: int,
    work: Work,
    folder: Path | None,
    more_days: Callable[[float], float] = lambda hour: 0.0,
) -> Kept:
    """Bring an ensemble to the last checkpoint before an estimate, from the nearest that is kept.

    Parameters
    ----------
    record : Record
        Up to the present [-].
    end : float
        The last hour that counts [h].
    gear : Gear
        How much is computed [-].
    seed : int
        Of the draws [-].
    work : Work
        Runs what must be run [-].
    folder : Path or None
        Where ensembles are kept; none are if None [-].
    more_days : callable
        Member-days that will be run after it, by its hour, for the share done [-].

    Returns
    -------
    Kept
        The same with and without anything kept [-].
    """
    hours = stations(end, gear)
    names = keys(record, hours, gear, seed)
    own = None if folder is None else folder / bin_folder(record, gear)
    kept, at = None, len(hours)
    while kept is None and at > 0 and own is not None:
        at -= 1
        kept = read_kept(_file(own, hours[at], names[at]), names[at], record.plan)
    at = at if kept is not None else 0
    plan = record.plan
    work.total = member_days(record, hours[at], hours[at + 1 :], gear) + more_days(hours[-1])
    if kept is None:
        if plan.begin is not None:
            work.days = min(plan.begin.days, LONGEST_SPIN_UP_DAYS)
            work.total += gear.members * work.days
        started = begin_ensemble(plan, gear.members, seed, work.run_many)
        kept = Kept(started, Expected.none())
        if own is not None and plan.begin is not None and len(hours) <= MOST_FILES:
            write_kept(_file(own, 0.0, names[0]), names[0], kept)
    for k in range(at, len(hours) - 1):
        here, there = hours[k], hours[k + 1]
        start = kept.ensemble
        if k > 0 and not _read(plan, hours[k - 1], here) and not _read(plan, here, there):
            # in a long silence things go astray once, not once a week
            start = replace(start, strayed=0.0)
        work.days = (there - here) / 24.0
        found = condition(plan, start, there, seed, work.run_many, updates=gear.updates)
        kept = Kept(found.ensemble, remembered(kept.expected, found, plan, there))
        for column in kept.ensemble.columns:
            # each member's own weather is made anew, and a year of it by the hour is large
            column.air = plan.air
        if own is not None and len(hours) - 2 - k < MOST_FILES:
            write_kept(_file(own, there, names[k + 1]), names[k + 1], kept)
    if own is not None:
        remove_oldest(own)
    return kept


def remembered(before: Expected, found: Conditioned, plan: Plan, now: float) -> Expected:
    """Put what a window expected of its readings behind that of the windows before it."""
    # a window holds the last ones read by now
    read = sum(one.hour <= now for one in plan.observed)
    first = read - len(found.observed)
    return before.followed_by(expected_before(found, first), now - REMEMBERED_HOURS)


def _read(plan: Plan, begin: float, end: float) -> bool:
    return any(begin < one.hour <= end for one in plan.observed)


@lru_cache(maxsize=1)
def model_version() -> str:
    """Hash of everything in the package that an ensemble is computed with, as 16 letters."""
    digest = hashlib.sha256(f"{version('numpy')} {version('numba')}".encode())
    root = Path(str(files("slowfire")))
    for path in sorted(root.rglob("*")):
        place = path.relative_to(root)
        if path.suffix not in (".py", ".csv", ".json") or place.name == "cli.py":
            continue
        if place.parts[0] in NOT_COMPUTING and place.name not in COMPUTING_SERVICES:
            continue
        digest.update(place.as_posix().encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def keys(record: Record, hours: Sequence[float], gear: Gear, seed: int) -> list[str]:
    """Name each checkpoint after the model and all that was written up to it.

    Parameters
    ----------
    record : Record
        Up to the present [-].
    hours : sequence of float
        Of the checkpoints, rising [h].
    gear : Gear
        How much is computed [-].
    seed : int
        Of the draws [-].

    Returns
    -------
    list of str
        One for each hour; what is written after an hour leaves its name alone [-].
    """
    plan, site = record.plan, record.site
    digest = hashlib.sha256()

    def add(*parts: object) -> None:
        for part in parts:
            digest.update(repr(part).encode())
            digest.update(b"\n")

    add(model_version(), gear, seed, record.timeline.start.isoformat())
    add(site.bin_named(record.bin_name), site.thermometers, site.measures, site.materials)
    add(site.weather, site.latitude_degrees, site.longitude_degrees, site.timezone)
    add(tuple(plan.vessel), plan.day_to_day_kelvin)
    if plan.begin is not None:
        begun = plan.begin
        add(begun.habit, begun.level_below_rim, begun.days, begun.old_material)
        digest.update(plan.begin.air.table.tobytes())
    written = [(_hour(record.timeline.start, one.when), one) for one in _telling(record)]
    found = []
    before = -np.inf
    for hour in hours:
        if hour > 0.0:
            for acted in record.timeline.acts:
                if before < acted.hour <= hour:
                    add(acted.hour, acted.words, acted.load)
            for seen in plan.observed:
                if before < seen.hour <= hour:
                    add(seen.hour, seen.kind, seen.group, seen.value, seen.error_spread)
                    add(seen.words, seen.unknowns, seen.robust_limit)
            for when, entry in written:
                if before < when <= hour:
                    add(when, entry.kind, entry.bin, entry.payload)
            add([(low, min(high, hour)) for low, high in plan.absences if low < hour])
            first = 0 if before < 0.0 else int(before)
            digest.update(plan.air.table[first : int(hour) + 2].tobytes())
            add(min(plan.measured_until, hour + 2.0 * APART_HOURS))
            before = hour
        add(hour)
        found.append(digest.hexdigest()[:32])
    return found


def _hour(start: datetime, when: datetime) -> float:
    return (when - start).total_seconds() / 3600.0


def _telling(record: Record) -> list[r.Entry]:
    """Entries that the bin of a record depends on; notes, names and ids of entries do not count."""
    name = record.bin_name.casefold()
    kinds = (r.Setting, r.Test)
    return [
        one
        for one in record.entries
        if one.bin.casefold() == name
        or isinstance(one.payload, kinds)
        or (isinstance(one.payload, r.DigOut) and (one.payload.to or "").casefold() == name)
    ]


def bin_folder(record: Record, gear: Gear) -> Path:
    """Name the folder of the checkpoints of one bin and gear."""
    named = f"{record.site.name}\n{record.bin_name}".casefold()
    return Path(hashlib.sha256(named.encode()).hexdigest()[:16]) / gear.name


def _file(folder: Path, hour: float, key: str) -> Path:
    return folder / f"{hour:07.0f}-{key}.npz"


def write_kept(path: Path, key: str, kept: Kept) -> None:
    """Write a checkpoint whole or not at all; a disk that is full or closed is left at that.

    Parameters
    ----------
    path : Path
        Its file [-].
    key : str
        Its name [-].
    kept : Kept
        What to write [-].
    """
    ensemble = kept.ensemble
    columns = ensemble.columns
    state = np.array([one.state for one in columns])
    history = np.array([one.history for one in columns])
    # rows above the highest ever used hold nothing
    used = 1 + max(
        (
            int(np.flatnonzero(one.any(axis=(0, *range(2, one.ndim))))[-1])
            for one in (state, history)
            if one.any()
        ),
        default=0,
    )
    arrays: dict[str, Any] = {
        "key": np.array(key),
        "hour": np.array([ensemble.hour, ensemble.strayed]),
        "names": np.array(list(ensemble.normals), dtype=np.str_),
        "normals": np.array(list(ensemble.normals.values())),
        "state": state[:, :used],
        "history": history[:, :used],
        "layers": np.array([one.layers for one in columns]),
        "bin_state": np.array([one.bin_state for one in columns]),
        "ledger": np.array([one.ledger for one in columns]),
        "vessel": np.array([tuple(one.vessel) for one in columns]),
        "steps": np.array([(one.time_step, one.event_step) for one in columns]),
        **kept.expected.arrays(),
    }
    whole = path.with_suffix(f".{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with whole.open("wb") as stream:
            np.savez_compressed(stream, **arrays)
        whole.replace(path)
    except OSError:
        with suppress(OSError):
            whole.unlink(missing_ok=True)


def read_kept(path: Path, key: str, plan: Plan) -> Kept | None:
    """Read a checkpoint; None where there is none, or none that is whole.

    Parameters
    ----------
    path : Path
        Its file [-].
    key : str
        Its name, which the file must bear inside too [-].
    plan : Plan
        Of the record, for the weather [-].

    Returns
    -------
    Kept or None
    """
    if not path.is_file():
        return None
    try:
        with np.load(path, allow_pickle=False) as found:
            arrays = {name: found[name] for name in found.files}
        kept = _restored(arrays, plan) if str(arrays["key"]) == key else None
        os.utime(path)
    except (OSError, ValueError, KeyError, IndexError, EOFError, zipfile.BadZipFile, zlib.error):
        return None
    return kept


def _restored(arrays: dict[str, NDArray[Any]], plan: Plan) -> Kept | None:
    members = arrays["layers"].shape[0]
    names = [str(name) for name in arrays["names"]]
    whole = {
        "normals": (len(names), members),
        "bin_state": (members, N_BIN),
        "ledger": (members, N_LEDGER),
        "vessel": (members, len(plan.vessel)),
        "steps": (members, 2),
        "hour": (2,),
    }
    if any(arrays[name].shape != shape for name, shape in whole.items()):
        return None
    for name, shape in LAYER_SHAPES.items():
        used = arrays[name].shape[1]
        if used > MAX_LAYERS or arrays[name].shape != (members, used, *shape):
            return None
    if not all(np.isfinite(arrays[name]).all() for name in (*whole, *LAYER_SHAPES)):
        return None
    normals: dict[str, FloatArray] = dict(zip(names, arrays["normals"], strict=True))
    columns = []
    for k in range(members):
        own = {name: float(values[k]) for name, values in normals.items()}
        vessel = Vessel(*(float(one) for one in arrays["vessel"][k]))
        step, event_step = (float(one) for one in arrays["steps"][k])
        column = Column(vessel, plan.air, setting_of(own, k).parameters, step, event_step)
        column.layers = int(arrays["layers"][k])
        column.state[: arrays["state"].shape[1]] = arrays["state"][k]
        column.history[: arrays["history"].shape[1]] = arrays["history"][k]
        column.bin_state = arrays["bin_state"][k].copy()
        column.ledger = arrays["ledger"][k].copy()
        columns.append(column)
    hour, strayed = (float(one) for one in arrays["hour"])
    return Kept(Ensemble(hour, tuple(columns), normals, strayed), Expected.of_arrays(arrays))


def remove_oldest(folder: Path) -> None:
    """Keep the files used last, at most MOST_FILES of them.

    Parameters
    ----------
    folder : Path
        Of the checkpoints of one bin and gear [-].
    """
    try:
        known = [(one.stat().st_mtime_ns, one.name, one) for one in folder.glob("*.npz")]
    except OSError:
        return
    for _, _, path in sorted(known)[:-MOST_FILES]:
        path.unlink(missing_ok=True)
