"""Tables of the journal's database; the same for SQLite and PostgreSQL."""

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    Boolean,
    Column,
    DateTime,
    Dialect,
    Float,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ix": "ix_%(table_name)s_%(column_0_name)s",
    }
)


class Moment(TypeDecorator[datetime]):
    """An aware time, kept in UTC; SQLite itself would forget the zone."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn an aware time into UTC."""
        return None if value is None else value.astimezone(UTC)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Give UTC back to what was kept."""
        if value is None:
            return None
        kept: datetime = value
        return kept.replace(tzinfo=UTC) if kept.tzinfo is None else kept.astimezone(UTC)


# Append-only: a correction and a retraction are entries of their own.
ENTRIES = Table(
    "entries",
    METADATA,
    Column("place", Integer, primary_key=True, autoincrement=True),
    Column("id", String(36), nullable=False),
    Column("bin", String(120), nullable=False, index=True),
    Column("kind", String(24), nullable=False),
    Column("happened", Moment, nullable=False, index=True),
    Column("recorded", Moment),
    Column("who", String(120), nullable=False),
    Column("note", Text, nullable=False),
    Column("corrects", String(36), index=True),
    Column("retracts", Boolean(name="retracts"), nullable=False),
    Column("payload", Text, nullable=False),
    UniqueConstraint("id"),
    sqlite_autoincrement=True,
)
SITES = Table(
    "sites",
    METADATA,
    Column("place", Integer, primary_key=True, autoincrement=True),
    Column("made", Moment, nullable=False),
    Column("site", Text, nullable=False),
    sqlite_autoincrement=True,
)
PHOTOS = Table(
    "photos",
    METADATA,
    Column("sha256", String(64), primary_key=True),
    Column("form", String(8), nullable=False),
    Column("bytes", Integer, nullable=False),
    Column("added", Moment, nullable=False),
)
# Derived: may be deleted and computed again.
RESULTS = Table(
    "results",
    METADATA,
    Column("kind", String(40), primary_key=True),
    Column("bin", String(120), primary_key=True),
    Column("revision", Integer, nullable=False),
    Column("model", String(40), nullable=False),
    Column("made", Moment, nullable=False),
    Column("payload", Text, nullable=False),
)
JOBS = Table(
    "jobs",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("kind", String(40), nullable=False),
    Column("bin", String(120), nullable=False),
    Column("state", String(12), nullable=False),
    Column("share", Float, nullable=False),
    Column("words", Text, nullable=False),
    Column("revision", Integer, nullable=False),
    Column("made", Moment, nullable=False),
    Column("ended", Moment),
    Column("cancel", Boolean(name="cancel"), nullable=False),
    sqlite_autoincrement=True,
)
