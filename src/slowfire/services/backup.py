"""Backups of the whole journal: made by themselves, kept in number, put back with care."""

import os
import shutil
import zipfile
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from slowfire.errors import InvalidInput, JournalError
from slowfire.journal import joblog
from slowfire.journal.database import DATABASE_FILE, Damaged, copy_database, numbers_in
from slowfire.journal.photos import (
    PHOTO_FOLDER,
    PHOTO_NAME,
    photo_files,
    read_photo,
    sync_folder,
    write_photo,
)
from slowfire.journal.store import holds_store, open_store
from slowfire.journal.transfer import BROKEN, WEATHER_NAME

BACKUP_FOLDER = "backups"
DAILY, WEEKLY, MONTHLY = 7, 4, 6  # how many of each are kept
BEFORE_RESTORE = 5  # of those that a restore made
DUE_ENTRIES = 200  # written since the last backup, if a day has not passed yet
STAMP = "%Y-%m-%d-%H%M%S"
PREFIX, BEFORE = "slowfire-", "before-restore-"
COMMENT = "backup of slowfire, revision"  # kept in the file, to be read without unpacking
LARGEST_UNPACKED = 4_000_000_000


@dataclass(frozen=True)
class Backup:
    """What a backup or a restore did, in words and numbers."""

    words: str
    path: str
    entries: int


def backup(data: Path, target: Path | None = None, now: datetime | None = None) -> Backup:
    """Copy the journal as it is now, while it may be in use, into one file.

    Parameters
    ----------
    data : Path
        The data folder [-].
    target : Path or None
        A new zip file, or a folder for one with the time in its name; the folder's own backups if
        None [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].

    Returns
    -------
    Backup

    Raises
    ------
    JournalError
        If there is no journal, it is damaged, or the file is there already or cannot be written.

    Notes
    -----
    The copy is taken by SQLite's own backup and checked before it counts.
    """
    if not holds_store(data):
        raise JournalError(f"there is no journal in {data}; name the data folder with --data.")
    when = now or datetime.now(UTC)
    if target is not None and not target.is_dir():
        if target.exists():
            raise JournalError(f"{target} is there already; give the backup another name.")
        return _backup(data, target)
    return _backup(data, _new_path(target or data / BACKUP_FOLDER, PREFIX, when))


def restore(data: Path, source: Path, now: datetime | None = None) -> Backup:
    """Put a backup in place of the journal; what is there now is backed up first.

    Parameters
    ----------
    data : Path
        The data folder [-].
    source : Path
        A backup [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].

    Returns
    -------
    Backup

    Raises
    ------
    InvalidInput
        If the file is no backup; nothing is changed then.
    JournalError
        If it cannot be read, or what is there cannot be backed up.

    Notes
    -----
    The content is replaced in one transaction, so an app that is open goes on with it. Photos are
    only added: those that the backup does not have stay as files.
    """
    if not source.is_file():
        raise InvalidInput(f"There is no file {source}; name a backup, a zip file.")
    when = now or datetime.now(UTC)
    beside = data / f".restoring-{os.getpid()}"
    try:
        beside.mkdir(parents=True)
        _unpack(source, beside)
        with open_store(beside) as store:
            joblog.mend(store)
            count = len(store.everything()[1])
        photos = [(one.name, read_photo(one)) for one in photo_files(beside)]
        kept = _put_aside(data, when)
        for name, content in photos:
            write_photo(data / PHOTO_FOLDER / name, content)
        copy_database(beside / DATABASE_FILE, data / DATABASE_FILE)
        for one in _weather_files(beside):
            shutil.copyfile(one, data / one.name)
    except OSError as problem:
        raise JournalError(f"{data} cannot be written: {problem.strerror}.") from problem
    finally:
        shutil.rmtree(beside, ignore_errors=True)
        with suppress(OSError):
            data.rmdir()  # only if it is empty: nothing was put into a new folder
    return Backup(f"{count} entries restored from {source}{kept}", str(data), count)


def backup_due(data: Path, now: datetime | None = None) -> bool:
    """Whether a backup is due: none of this day yet, or 200 entries since the last.

    Parameters
    ----------
    data : Path
        The data folder [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].
    """
    if not holds_store(data):
        return False
    when = now or datetime.now(UTC)
    # one from the future was made by a clock that ran wrong
    past = [one for one in _backups(data) if one[0] <= when]
    if not past or past[-1][0].date() != when.date():
        return True
    return numbers_in(data / DATABASE_FILE)[0] - _revision_of(past[-1][1]) >= DUE_ENTRIES


def keep_backups(data: Path, now: datetime | None = None) -> Path | None:
    """Make a backup if one is due, and drop those that no rule keeps.

    Parameters
    ----------
    data : Path
        The data folder [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].

    Returns
    -------
    Path or None
        The backup made.

    Notes
    -----
    Kept are the last of each of the newest 7 days, 4 weeks and 6 months on which there is one, and
    the newest 5 of those that a restore made. Files of other names are left alone.
    """
    if not holds_store(data):
        return None
    when = now or datetime.now(UTC)
    made = Path(backup(data, now=when).path) if backup_due(data, when) else None
    there = _backups(data)
    wanted = kept_moments([moment for moment, _ in there])
    # a clock set back must not make the newest one look like the oldest
    old = [path for moment, path in there if moment not in wanted and path != made]
    old += [path for _, path in sorted(_backups(data, BEFORE))[:-BEFORE_RESTORE]]
    for path in old:
        path.unlink(missing_ok=True)
    return made


def kept_moments(moments: Iterable[datetime]) -> set[datetime]:
    """Which backups stay: the last of each of the newest days, weeks and months.

    Examples
    --------
    >>> days = [datetime(2026, 3, d, 9, tzinfo=UTC) for d in range(1, 11)]
    >>> sorted(one.day for one in kept_moments(days))
    [1, 4, 5, 6, 7, 8, 9, 10]
    """
    newest = sorted(moments, reverse=True)
    wanted: set[datetime] = set()
    for count, key in (
        (DAILY, lambda one: one.date().isoformat()),
        (WEEKLY, lambda one: f"{one.isocalendar().year}-{one.isocalendar().week}"),
        (MONTHLY, lambda one: one.strftime("%Y-%m")),
    ):
        seen: dict[str, datetime] = {}
        for one in newest:
            seen.setdefault(key(one), one)
        wanted |= set(list(seen.values())[:count])
    return wanted


def _backup(data: Path, path: Path) -> Backup:
    copy, packing = path.with_name(f"{path.name}.copy"), path.with_name(f"{path.name}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        copy.unlink(missing_ok=True)
        copy_database(data / DATABASE_FILE, copy)
        with packing.open("wb") as stream:
            with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
                revision, count = numbers_in(copy)
                packed.comment = f"{COMMENT} {revision}".encode()
                packed.write(copy, DATABASE_FILE)
                for photo in photo_files(data):
                    packed.write(photo, f"{PHOTO_FOLDER}/{photo.name}", zipfile.ZIP_STORED)
                for one in _weather_files(data):
                    packed.write(one, one.name)
            stream.flush()
            os.fsync(stream.fileno())
        packing.replace(path)
        sync_folder(path.parent)
    except OSError as problem:
        raise JournalError(f"{path} cannot be written: {problem.strerror}.") from problem
    finally:
        for one in (copy, packing):
            one.unlink(missing_ok=True)
    return Backup(f"{count} entries backed up to {path}", str(path), count)


def _put_aside(data: Path, when: datetime) -> str:
    """Back up what a restore is about to replace; a damaged journal is moved as it is."""
    if not holds_store(data):
        return ""
    path = _new_path(data / BACKUP_FOLDER, BEFORE, when)
    try:
        return f"; what was there before is in {_backup(data, path).path}"
    except Damaged:
        damaged = path.with_name(f"damaged-{when.strftime(STAMP)}")
        damaged.mkdir(parents=True)
        for old in sorted(data.glob(f"{DATABASE_FILE}*")):
            old.rename(damaged / old.name)
        return f"; the damaged journal that was there is in {damaged}"


def _new_path(folder: Path, prefix: str, when: datetime) -> Path:
    """A name with the time in it that is not taken."""
    while (path := folder / f"{prefix}{when.strftime(STAMP)}.zip").exists():
        when += timedelta(seconds=1)
    return path


def _backups(data: Path, prefix: str = PREFIX) -> list[tuple[datetime, Path]]:
    found = []
    for path in sorted((data / BACKUP_FOLDER).glob(f"{prefix}*.zip")):
        try:
            moment = datetime.strptime(path.stem.removeprefix(prefix), STAMP)
        except ValueError:
            continue
        found.append((moment.replace(tzinfo=UTC), path))
    return found


def _revision_of(path: Path) -> int:
    """Revision of the journal in a backup; 0 if it cannot be told."""
    try:
        with zipfile.ZipFile(path) as packed:
            told = packed.comment.decode("ascii", "replace").rpartition(" ")
    except (OSError, *BROKEN):
        return 0
    return int(told[2]) if told[0] == COMMENT and told[2].isdigit() else 0


def _weather_files(folder: Path) -> list[Path]:
    return [one for one in sorted(folder.glob("*.*")) if WEATHER_NAME.fullmatch(one.name)]


def _unpack(source: Path, target: Path) -> None:
    try:
        with zipfile.ZipFile(source) as packed:
            parts = [one for one in packed.infolist() if not one.is_dir()]
            names = [one.filename for one in parts]
            if "entries.jsonl" in names:
                raise InvalidInput(f"{source} is an export; read it with: slowfire import {source}")
            total = sum(one.file_size for one in parts)
            if DATABASE_FILE not in names or not all(map(_ours, names)) or total > LARGEST_UNPACKED:
                raise InvalidInput(
                    f"{source} is no backup of slowfire; name a file that slowfire backup made."
                )
            packed.extractall(target, names)
    except BROKEN as problem:
        raise InvalidInput(
            f"{source} is no zip file, or is damaged ({problem}); name a file that slowfire "
            "backup made."
        ) from problem


def _ours(name: str) -> bool:
    photo = name.removeprefix(f"{PHOTO_FOLDER}/")
    if photo != name:
        return PHOTO_NAME.fullmatch(photo) is not None
    return name == DATABASE_FILE or WEATHER_NAME.fullmatch(name) is not None
