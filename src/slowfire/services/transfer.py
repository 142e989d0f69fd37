"""Everything written, out of the app and into it again, as text or as one zip file."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from slowfire.errors import JournalError
from slowfire.journal import read_journal, write_journal
from slowfire.journal.photos import PHOTO_FOLDER, photo_files, read_photo, write_file, write_photo
from slowfire.journal.store import SiteVersion, holds_store, open_store
from slowfire.journal.text import ENTRIES_FILE, SITE_FILE, read_folder
from slowfire.journal.transfer import archive_part, read_archive, write_archive
from slowfire.kinds import Photo
from slowfire.records import Entry
from slowfire.services.backup import keep_backups
from slowfire.tables_text import LARGEST_BYTES

__all__ = ["Moved", "export", "export_archive", "export_text", "import_archive", "import_from",
           "import_text", "keep_backups"]  # fmt: skip
ARCHIVE = ".zip"


@dataclass(frozen=True)
class Moved:
    """What an export or import did, in words and numbers.

    Attributes
    ----------
    words : str
        One sentence or two.
    path : str
        What was written.
    entries : int
        In all [-].
    new : int
        Not there before [-].
    new_site : bool
        Whether the set-up became another one.
    """

    words: str
    path: str
    entries: int
    new: int = 0
    new_site: bool = False


def export(data: Path, target: Path, replace: bool = False) -> Moved:
    """Write everything as a zip file if the name ends so, otherwise as a folder of text.

    Parameters
    ----------
    data : Path
        The data folder, or a folder of text [-].
    target : Path
        Zip file or folder [-].
    replace : bool
        Whether what is there already may be replaced [-].

    Returns
    -------
    Moved

    Raises
    ------
    JournalError
        If there is no journal, something of that name is there, or it cannot be written.
    """
    if target.suffix.lower() == ARCHIVE:
        return export_archive(data, target, replace)
    return export_text(data, target, replace)


def import_from(data: Path, source: Path) -> Moved:
    """Read a zip file or a folder of text into the app; what is there already changes nothing.

    Parameters
    ----------
    data : Path
        The data folder [-].
    source : Path
        Zip file or folder [-].

    Returns
    -------
    Moved

    Raises
    ------
    SlowfireError
        If anything cannot be read, with its place; then nothing is written.
    """
    if source.is_file():
        return import_archive(data, source)
    return import_text(data, source)


def export_text(data: Path, target: Path, replace: bool = False) -> Moved:
    """Write a journal as a folder of text, with its photos; see `export`."""
    _there_is_one(data)
    journal = read_journal(data)
    if holds_store(target):
        raise JournalError(f"{target} is the app's data folder; choose another one.")
    there = [name for name in (SITE_FILE, ENTRIES_FILE) if (target / name).exists()]
    if there and not replace:
        raise _taken(f"{target} holds a {there[0]}")
    write_journal(journal, target)
    for one in photo_files(data):
        write_photo(target / PHOTO_FOLDER / one.name, read_photo(one))
    count = len(journal.entries)
    words = f"{count} entries written to {target}"
    if (target / ENTRIES_FILE).stat().st_size > LARGEST_BYTES:
        words += (
            f"; {ENTRIES_FILE} is too long to be read back: export to a file that ends in "
            f"{ARCHIVE} as well"
        )
    return Moved(words, str(target), count)


def export_archive(data: Path, target: Path, replace: bool = False) -> Moved:
    """Write a journal with every site there was and its photos as one zip file; see `export`."""
    _there_is_one(data)
    if target.is_dir():
        raise JournalError(f"{target} is a folder; name a file in it, such as journal.zip.")
    if target.exists() and not replace:
        raise _taken(f"{target} is there")
    if holds_store(data):
        with open_store(data) as store:
            sites, entries = store.everything()
            weather = store.journal().weather_file if sites else None
    else:
        journal = read_journal(data)
        sites, entries = (SiteVersion(datetime.now(UTC), journal.site),), journal.entries
        weather = journal.weather_file
    if not sites:
        raise JournalError(f"no bin is set up in {data} yet; there is nothing to export.")
    if weather is not None and not weather.is_file():
        weather = None
    photos = photo_files(data)
    for one in photos:
        read_photo(one)
    write_archive(target, sites, entries, photos, weather)
    return Moved(f"{len(entries)} entries written to {target}", str(target), len(entries))


def import_text(data: Path, source: Path) -> Moved:
    """Read a folder of text into the app; see `import_from`."""
    if holds_store(source):
        raise JournalError(
            f"{source} is a data folder of the app; export it first: slowfire export FOLDER "
            f"--data {source}"
        )
    journal = read_folder(source)
    files = photo_files(source)
    for one in files:
        read_photo(one)
    weather = journal.weather_file
    return _take_in(
        data,
        (SiteVersion(datetime.now(UTC), journal.site),),
        journal.entries,
        (read_photo(one) for one in files),
        None if weather is None else (weather.name, weather.read_bytes),
    )


def import_archive(data: Path, source: Path) -> Moved:
    """Read a zip file that an export wrote into the app; see `import_from`."""
    found = read_archive(source)
    weather = found.weather
    return _take_in(
        data,
        found.sites,
        found.entries,
        (archive_part(source, one) for one in found.photos),
        None if weather is None else (weather, lambda: archive_part(source, weather)),
    )


def _take_in(
    data: Path,
    sites: Sequence[SiteVersion],
    entries: Sequence[Entry],
    photos: Iterable[bytes],
    weather: tuple[str, Callable[[], bytes]] | None,
) -> Moved:
    """Write what was read and looked through."""
    existed = holds_store(data)
    with open_store(data) as store:
        done = store.take_in(sites, entries, photos)
        kept = set(store.photos())
    if weather is not None and (done.new_site or not (data / weather[0]).exists()):
        write_file(data / weather[0], weather[1]())
    new, known = done.entries.new, done.entries.known
    words = f"{len(new)} new entries, {len(known)} there already"
    if done.new_site and existed:
        words += "; the set-up is now the one that was read"
    elif done.older_site:
        words += "; the set-up that was read is an older one of this journal: the present one stays"
    named = {one.payload.sha256 for one in entries if isinstance(one.payload, Photo)}
    if named - kept:
        words += f"; photos that entries name and that are not there: {len(named - kept)}"
    return Moved(words, str(data), len(entries), len(new), done.new_site)


def _there_is_one(data: Path) -> None:
    if not holds_store(data) and not (data / SITE_FILE).is_file():
        raise JournalError(f"there is no journal in {data}; name the data folder with --data.")


def _taken(what: str) -> JournalError:
    return JournalError(f"{what} already; choose another name, or give --replace.")
