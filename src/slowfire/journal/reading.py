"""A journal read from wherever it is kept: a folder of text, or the app's data folder."""

from pathlib import Path

from slowfire.journal.text import Journal, read_folder

DATABASE_FILE = "journal.db"


def read_journal(path: str | Path) -> Journal:
    """Return the journal kept in a folder of text or in the app's data folder.

    Parameters
    ----------
    path : str or Path
        A folder with site.toml and entries.csv, or one with the app's database [-].

    Returns
    -------
    Journal

    Raises
    ------
    JournalError
        With file, line, column, what was read and what is allowed; up to ten problems, one a line.
    """
    if not (Path(path) / DATABASE_FILE).is_file():
        return read_folder(path)
    # a folder of text needs no database
    from slowfire.journal.store import open_store

    with open_store(path) as store:
        return store.journal()
