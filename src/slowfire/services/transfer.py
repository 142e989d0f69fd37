"""Everything written, out of the app and into it again; backups that keep themselves in number."""

import shutil
import sqlite3
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from slowfire.errors import InvalidInput, JournalError
from slowfire.journal import read_journal, write_journal
from slowfire.journal.database import DATABASE_FILE
from slowfire.journal.store import PHOTO_FOLDER, holds_store, open_store
from slowfire.journal.text import read_folder

BACKUP_FOLDER = "backups"
DAILY, WEEKLY, MONTHLY = 7, 4, 6  # how many of each are kept
STAMP = "%Y-%m-%d-%H%M%S"
LARGEST_UNPACKED = 2_000_000_000


@dataclass(frozen=True)
class Moved:
    """What an export, import, backup or restore did, in words and numbers."""

    words: str
    path: str
    entries: int
    new: int = 0


def export_text(data: Path, target: Path) -> Moved:
    """Write a journal as a folder of text, with its photos.

    Raises
    ------
    JournalError
        If there is no journal, or the folder cannot be written.
    """
    journal = read_journal(data)
    write_journal(journal, target)
    photos = data / PHOTO_FOLDER
    if photos.is_dir():
        shutil.copytree(photos, target / PHOTO_FOLDER, dirs_exist_ok=True)
    count = len(journal.entries)
    return Moved(f"{count} entries written to {target}", str(target), count)


def import_text(data: Path, source: Path) -> Moved:
    """Read a folder of text into the app; rows that are there already change nothing.

    Raises
    ------
    SlowfireError
        If anything cannot be read; then nothing is written.
    """
    journal = read_folder(source)
    with open_store(data) as store:
        if not store.has_site() or store.site() != journal.site:
            store.set_site(journal.site)
        done = store.append(journal.entries)
    words = f"{len(done.new)} new entries, {len(done.known)} there already"
    return Moved(words, str(data), len(journal.entries), len(done.new))


def backup(data: Path, target: Path | None = None, now: datetime | None = None) -> Moved:
    """Copy the journal as it is now, while it may be in use, into one file.

    Parameters
    ----------
    data : Path
        The data folder [-].
    target : Path or None
        A zip file; one with the time in its name in the folder's backups if None [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].

    Returns
    -------
    Moved

    Raises
    ------
    JournalError
        If there is no journal, or the file cannot be written.
    """
    if not holds_store(data):
        raise JournalError(f"there is no journal in {data}; name the data folder with --data.")
    when = now or datetime.now(UTC)
    path = target or data / BACKUP_FOLDER / f"slowfire-{when.strftime(STAMP)}.zip"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        copy = path.with_suffix(".part")
        _copy_database(data / DATABASE_FILE, copy)
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
            packed.write(copy, DATABASE_FILE)
            for photo in sorted((data / PHOTO_FOLDER).glob("*.*")):
                packed.write(photo, f"{PHOTO_FOLDER}/{photo.name}")
        copy.unlink()
    except OSError as problem:
        raise JournalError(f"{path} cannot be written: {problem.strerror}.") from problem
    with open_store(data) as store:
        count = len(store.entries())
    return Moved(f"{count} entries backed up to {path}", str(path), count)


def restore(data: Path, source: Path, now: datetime | None = None) -> Moved:
    """Put a backup in place of the journal; what is there now is backed up first.

    Raises
    ------
    InvalidInput
        If the file is no backup.
    JournalError
        If it cannot be read.
    """
    if not source.is_file():
        raise InvalidInput(f"There is no file {source}; name a backup, a zip file.")
    beside = data / ".restoring"
    shutil.rmtree(beside, ignore_errors=True)
    beside.mkdir(parents=True)
    try:
        _unpack(source, beside)
        with open_store(beside) as store:
            count = len(store.journal().entries)
        kept = f"; what was there is in {backup(data, now=now).path}" if holds_store(data) else ""
        for old in data.glob(f"{DATABASE_FILE}*"):
            old.unlink()
        shutil.move(beside / DATABASE_FILE, data / DATABASE_FILE)
        if (beside / PHOTO_FOLDER).is_dir():
            shutil.copytree(beside / PHOTO_FOLDER, data / PHOTO_FOLDER, dirs_exist_ok=True)
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return Moved(f"{count} entries restored from {source}{kept}", str(data), count)


def keep_backups(data: Path, now: datetime | None = None) -> Path | None:
    """Make today's backup if there is none, and drop those no rule keeps.

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
    Kept are the last of each of the last 7 days, 4 weeks and 6 months on which there is one.
    """
    if not holds_store(data):
        return None
    when = now or datetime.now(UTC)
    there = _backups(data)
    made = None
    if not any(moment.date() == when.date() for moment, _ in there):
        made = Path(backup(data, now=when).path)
        there = _backups(data)
    wanted = kept_moments([moment for moment, _ in there])
    for moment, path in there:
        if moment not in wanted:
            path.unlink()
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


def _backups(data: Path) -> list[tuple[datetime, Path]]:
    found = []
    for path in sorted((data / BACKUP_FOLDER).glob("slowfire-*.zip")):
        try:
            moment = datetime.strptime(path.stem.removeprefix("slowfire-"), STAMP)
        except ValueError:
            continue
        found.append((moment.replace(tzinfo=UTC), path))
    return found


def _copy_database(source: Path, target: Path) -> None:
    target.unlink(missing_ok=True)
    there, copy = sqlite3.connect(source), sqlite3.connect(target)
    try:
        there.backup(copy)
    finally:
        copy.close()
        there.close()


def _unpack(source: Path, target: Path) -> None:
    try:
        with zipfile.ZipFile(source) as packed:
            names = packed.namelist()
            safe = all(
                one == DATABASE_FILE
                or (one.startswith(f"{PHOTO_FOLDER}/") and ".." not in one and "\\" not in one)
                for one in names
            )
            total = sum(one.file_size for one in packed.infolist())
            if DATABASE_FILE not in names or not safe or total > LARGEST_UNPACKED:
                raise InvalidInput(
                    f"{source} is no backup of slowfire; name a file that slowfire backup made."
                )
            packed.extractall(target)
    except zipfile.BadZipFile as problem:
        raise InvalidInput(
            f"{source} is no zip file; name a file that slowfire backup made."
        ) from problem
