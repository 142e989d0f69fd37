"""The journal as a folder of text: site.toml, entries.csv and perhaps a weather file."""

import shutil
from dataclasses import dataclass, field
from pathlib import Path

from slowfire.errors import InvalidInput, JournalError
from slowfire.journal.entries import COLUMNS, REQUIRED, check_entry, read_rows, write_rows
from slowfire.journal.site_file import read_site, site_text
from slowfire.records import Entry, distinct, effective_entries
from slowfire.site import Site
from slowfire.tables_text import read_table, write_table, write_text
from slowfire.vessel import find_wall_material

SITE_FILE = "site.toml"
ENTRIES_FILE = "entries.csv"
WEATHER_FILE = "weather.csv"


@dataclass(frozen=True)
class Journal:
    """A site with everything written about it.

    Parameters
    ----------
    site : Site
        The place, its bins and measures [-].
    entries : tuple of Entry
        All entries in the order written, each id once [-].
    weather_file : Path or None
        Where the weather file lies; not part of what makes two journals equal [-].

    Raises
    ------
    InvalidInput
        If an entry names a bin, person or thermometer that the site lacks, an id stands twice, or
        a corrected entry is missing.
    """

    site: Site
    entries: tuple[Entry, ...] = ()
    weather_file: Path | None = field(default=None, compare=False)

    def __post_init__(self) -> None:
        entries = tuple(self.entries)
        for one in self.site.bins:
            for sheet in (*one.wall, *one.lid, *one.base):
                find_wall_material(sheet.material)
        for entry in entries:
            check_entry(entry, self.site)
        if len(distinct(entries)) < len(entries):
            raise InvalidInput("an entry stands twice; keep one of each id.")
        effective_entries(entries)
        object.__setattr__(self, "entries", entries)

    @property
    def effective(self) -> list[Entry]:
        """The entries in force, by time."""
        return effective_entries(self.entries)


def read_folder(path: str | Path) -> Journal:
    """Return the journal kept in a folder.

    Parameters
    ----------
    path : str or Path
        Folder with site.toml and entries.csv [-].

    Returns
    -------
    Journal
        Site, entries in the order of the file, and the weather file if one is named or there [-].

    Raises
    ------
    JournalError
        With file, line, column, what was read and what is allowed; up to ten problems, one a line.
    """
    folder = Path(path)
    if not folder.exists():
        raise JournalError(
            f"there is no folder {folder}; name a folder that holds {SITE_FILE} and {ENTRIES_FILE}."
        )
    if not folder.is_dir():
        raise JournalError(
            f"{folder} is a file; name the folder that holds {SITE_FILE} and {ENTRIES_FILE}."
        )
    site = read_site(folder / SITE_FILE)
    entries = read_rows(read_table(folder / ENTRIES_FILE, COLUMNS, REQUIRED), site)
    weather_file: Path | None = None
    if site.weather is not None and site.weather.kind == "file":
        weather_file = folder / str(site.weather.file)
        if not weather_file.is_file():
            raise JournalError(
                f"{SITE_FILE} names the weather file {site.weather.file}, which is not in "
                f"{folder}; put it there or choose another kind of weather."
            )
    elif site.weather is None and (folder / WEATHER_FILE).is_file():
        weather_file = folder / WEATHER_FILE
    return Journal(site, entries, weather_file)


def write_journal(journal: Journal, path: str | Path) -> None:
    """Write a journal as a folder of text; its weather file is copied along.

    Comments in an old site.toml of that folder are lost.

    Parameters
    ----------
    journal : Journal
        What to write [-].
    path : str or Path
        Folder, made if it is not there [-].

    Raises
    ------
    JournalError
        If the folder cannot be written.
    """
    folder = Path(path)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if journal.weather_file is not None:
            copy = folder / journal.weather_file.name
            if not copy.exists() or not copy.samefile(journal.weather_file):
                shutil.copyfile(journal.weather_file, copy)
    except OSError as problem:
        raise JournalError(f"{folder} cannot be written: {problem.strerror}.") from problem
    write_text(folder / SITE_FILE, site_text(journal.site))
    write_table(folder / ENTRIES_FILE, COLUMNS, write_rows(journal.entries, journal.site))
