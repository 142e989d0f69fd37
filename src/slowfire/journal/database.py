"""The database of a journal: opened, brought up to date, and given in transactions."""

import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, create_engine, event, func, select
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DatabaseError, OperationalError

from slowfire.errors import JournalError

DATABASE_FILE = "journal.db"
BUSY_MILLISECONDS = 30_000  # a writer waits so long for another
BROKEN_FILE = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
WRITERS_LOCK = 7305  # a number that no other program of this database uses
CONNECTIONS = 30  # kept, and as many again at a rush; the web works in 40 threads
MIGRATIONS = Path(__file__).with_name("migrations")


class Damaged(JournalError):
    """A database file that is none, or whose content is broken."""


def sqlite_url(folder: Path) -> str:
    """Address of the database in a data folder."""
    return f"sqlite:///{(folder / DATABASE_FILE).as_posix()}"


def open_engine(url: str) -> Engine:
    """Open a database and bring its tables up to date.

    Parameters
    ----------
    url : str
        Address in the form of SQLAlchemy [-].

    Returns
    -------
    Engine
        With write-ahead log, full synchronisation and foreign keys where it is SQLite.

    Raises
    ------
    JournalError
        If it cannot be opened, is no journal, or was written by a newer slowfire.
    """
    engine = create_engine(
        url, connect_args=_arguments(url), pool_size=CONNECTIONS, max_overflow=CONNECTIONS
    )
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    try:
        _bring_up_to_date(engine)
    except OperationalError as problem:
        raise JournalError(
            f"the journal's database cannot be opened ({_reason(problem)}); see that its folder "
            "is there and can be written."
        ) from problem
    except DatabaseError as problem:
        raise JournalError(_unreadable(problem)) from problem
    return engine


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """One transaction that writes; it waits for other writers and is all or nothing.

    Raises
    ------
    JournalError
        If the database cannot take it: the disk is full, or another writer does not end.
    """
    try:
        with (
            engine.connect() as connection,
            connection.execution_options(writes=True).begin(),
        ):
            if engine.dialect.name == "postgresql":
                # one writer at a time, as in SQLite: numbers rise in the order of commits
                connection.execute(select(func.pg_advisory_xact_lock(WRITERS_LOCK)))
            yield connection
    except DatabaseError as problem:
        raise JournalError(
            f"the journal could not be written ({_reason(problem)}); nothing was changed: see "
            "that the disk has room and can be written, then try again."
        ) from problem


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A connection that reads, all of it from one state of the journal.

    Raises
    ------
    JournalError
        If the database cannot be read.
    """
    try:
        with engine.connect() as connection:
            if engine.dialect.name == "postgresql":
                connection.execution_options(isolation_level="REPEATABLE READ")
            with connection.begin():
                yield connection
    except DatabaseError as problem:
        raise JournalError(_unreadable(problem)) from problem


def copy_database(source: Path, target: Path) -> None:
    """Copy an SQLite database as it is at one moment, while others may read and write it.

    Parameters
    ----------
    source : Path
        The database [-].
    target : Path
        The copy: a new file, or a database whose content is replaced in one transaction [-].

    Raises
    ------
    Damaged
        If the source is no database, or is damaged.
    JournalError
        If either cannot be read or written.
    """
    try:
        with (
            closing(sqlite3.connect(source, timeout=BUSY_MILLISECONDS / 1000.0)) as there,
            closing(sqlite3.connect(target, timeout=BUSY_MILLISECONDS / 1000.0)) as copy,
        ):
            copy.execute("PRAGMA synchronous=FULL")
            there.backup(copy)
            found = copy.execute("PRAGMA quick_check(1)").fetchone()[0]
    except sqlite3.Error as problem:
        if getattr(problem, "sqlite_errorcode", 0) & 0xFF in BROKEN_FILE:
            raise Damaged(f"{source} is damaged ({problem}); restore a backup.") from problem
        raise JournalError(
            f"{source} cannot be copied to {target} ({problem}); see that there is room and the "
            "folder can be written."
        ) from problem
    if found != "ok":
        raise Damaged(f"{source} is damaged ({found}); restore a backup.")


def numbers_in(path: Path) -> tuple[int, int]:
    """Revision and number of entries of a journal's SQLite database, without opening a store.

    Raises
    ------
    JournalError
        If it cannot be read.
    """
    try:
        with closing(sqlite3.connect(path, timeout=BUSY_MILLISECONDS / 1000.0)) as connection:
            last, count = connection.execute("SELECT max(place), count(*) FROM entries").fetchone()
            site = connection.execute("SELECT max(place) FROM sites").fetchone()[0]
    except sqlite3.Error as problem:
        raise JournalError(f"{path} cannot be read ({problem}); restore a backup.") from problem
    return (last or 0) + (site or 0), count


def _reason(problem: DatabaseError) -> str:
    return " ".join(str(problem.orig).split())


def _unreadable(problem: DatabaseError) -> str:
    return (
        f"the journal's database cannot be read ({_reason(problem)}); restore a backup: "
        "slowfire restore FILE."
    )


def _arguments(url: str) -> dict[str, Any]:
    if make_url(url).get_backend_name() != "sqlite":
        return {}
    # transactions are begun by us, so that a writer takes its lock at once
    return {"timeout": BUSY_MILLISECONDS / 1000.0, "isolation_level": None}


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout={BUSY_MILLISECONDS}")
    deadline = time.monotonic() + BUSY_MILLISECONDS / 1000.0
    while True:
        try:
            cursor.execute("PRAGMA journal_mode=WAL")
            break
        except sqlite3.OperationalError as problem:
            # two that open a new file at once: here SQLite refuses instead of waiting
            locked = problem.sqlite_errorcode & 0xFF == sqlite3.SQLITE_BUSY
            if not locked or time.monotonic() > deadline:
                raise
            time.sleep(0.02)
    cursor.execute("PRAGMA synchronous=FULL")
    cursor.execute("PRAGMA foreign_keys=ON")
    cursor.close()


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _bring_up_to_date(engine: Engine) -> None:
    config = Config()
    config.set_main_option("script_location", MIGRATIONS.as_posix())
    scripts = ScriptDirectory.from_config(config)
    newest = scripts.get_current_head()
    with engine.connect() as connection:
        present = MigrationContext.configure(connection).get_current_revision()
    if present == newest:
        return
    if present is not None and present not in {one.revision for one in scripts.walk_revisions()}:
        raise JournalError(
            f"the journal was written by a newer slowfire (form {present}); install that one, or "
            "restore an older backup."
        )
    with writing(engine) as connection:
        # another process may have been first
        if MigrationContext.configure(connection).get_current_revision() != newest:
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
