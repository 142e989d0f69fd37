"""The database of a journal: opened, brought up to date, and given in transactions."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DatabaseError, OperationalError

from slowfire.errors import JournalError

DATABASE_FILE = "journal.db"
BUSY_MILLISECONDS = 30_000  # a writer waits so long for another
MIGRATIONS = Path(__file__).with_name("migrations")


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
    engine = create_engine(url, connect_args=_arguments(url))
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _prepare_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    try:
        _bring_up_to_date(engine)
    except OperationalError as problem:
        raise JournalError(
            f"the journal's database cannot be opened ({problem.orig}); see that its folder "
            "is there and can be written."
        ) from problem
    except DatabaseError as problem:
        raise JournalError(
            f"the journal's database cannot be read ({problem.orig}); restore a backup: "
            "slowfire restore FILE."
        ) from problem
    return engine


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """One transaction that writes; it waits for other writers and is all or nothing."""
    with (
        engine.connect() as connection,
        connection.execution_options(writes=True).begin(),
    ):
        yield connection


def _arguments(url: str) -> dict[str, Any]:
    if make_url(url).get_backend_name() != "sqlite":
        return {}
    # transactions are begun by us, so that a writer takes its lock at once
    return {"timeout": BUSY_MILLISECONDS / 1000.0, "isolation_level": None}


def _prepare_sqlite(connection: Any, _record: Any) -> None:
    cursor = connection.cursor()
    for pragma in (
        f"busy_timeout={BUSY_MILLISECONDS}",
        "journal_mode=WAL",
        "synchronous=FULL",
        "foreign_keys=ON",
    ):
        cursor.execute(f"PRAGMA {pragma}")
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
