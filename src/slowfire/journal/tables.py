"""Tables of the journal's database; the same for SQLite and PostgreSQL."""

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
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

from slowfire.errors import InvalidInput

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
        """Turn an aware time into UTC; one without a zone would be taken for this machine's."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise InvalidInput(f"{value.isoformat(' ')} is a time without an offset; add one.")
        return value.astimezone(UTC)

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
# Who may enter; never exported. Of secrets only hashes are kept.
PEOPLE = Table(
    "people",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("name", String(120), nullable=False),
    Column("folded", String(120), nullable=False),
    Column("role", String(12), nullable=False),
    Column("password", String(200), nullable=False),
    Column("made", Moment, nullable=False),
    UniqueConstraint("folded"),
    sqlite_autoincrement=True,
)
SESSIONS = Table(
    "sessions",
    METADATA,
    Column("secret", String(64), primary_key=True),
    Column("number", Integer, nullable=False),
    Column("person", Integer, nullable=False, index=True),
    Column("device", String(200), nullable=False),
    Column("made", Moment, nullable=False),
    Column("seen", Moment, nullable=False),
    Column("expires", Moment, nullable=False),
)
# One-time links for a phone, codes at a lid, and keys of programs.
CODES = Table(
    "codes",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("secret", String(64), nullable=False),
    Column("kind", String(12), nullable=False),
    Column("name", String(120), nullable=False),
    Column("bin", String(120), nullable=False),
    Column("person", Integer),
    Column("made", Moment, nullable=False),
    Column("expires", Moment),
    Column("ended", Moment),
    Column("used", Moment),
    UniqueConstraint("secret"),
    sqlite_autoincrement=True,
)
FAILURES = Table(
    "failures",
    METADATA,
    Column("what", String(200), primary_key=True),
    Column("count", Integer, nullable=False),
    Column("until", Moment, nullable=False),
)
ROTA = Table(
    "rota",
    METADATA,
    Column("weekday", Integer, primary_key=True),
    Column("name", String(120), nullable=False),
)
# What devices measured; times in milliseconds since 1970, temperatures in Celsius.
SENSOR_DEVICES = Table(
    "sensor_devices",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("name", String(120), nullable=False),
    Column("kind", String(16), nullable=False),
    Column("token", String(64), index=True),
    Column("mapping", Text, nullable=False),
    Column("made", Moment, nullable=False),
    UniqueConstraint("name"),
    sqlite_autoincrement=True,
)
SENSOR_PROBES = Table(
    "sensor_probes",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("device", Integer, nullable=False),
    Column("channel", String(120), nullable=False),
    Column("quantity", String(24), nullable=False),
    Column("unit", String(8), nullable=False),
    Column("bin", String(120), nullable=False),
    Column("thermometer", String(120), nullable=False),
    Column("position", String(40), nullable=False),
    Column("spot", String(16), nullable=False),
    Column("since", BigInteger, nullable=False),
    UniqueConstraint("device", "channel"),
    sqlite_autoincrement=True,
)
SENSOR_VALUES = Table(
    "sensor_values",
    METADATA,
    Column("probe", Integer, primary_key=True, autoincrement=False),
    Column("moment", BigInteger, primary_key=True, autoincrement=False),
    Column("value", Float, nullable=False),
    Column("decision", Integer),
    sqlite_with_rowid=False,
)
SENSOR_SUMMARIES = Table(
    "sensor_summaries",
    METADATA,
    Column("probe", Integer, primary_key=True, autoincrement=False),
    Column("moment", BigInteger, primary_key=True, autoincrement=False),
    Column("seconds", Integer, nullable=False),
    Column("mean", Float, nullable=False),
    Column("low", Float, nullable=False),
    Column("high", Float, nullable=False),
    Column("count", Integer, nullable=False),
    Column("decision", Integer),
    sqlite_with_rowid=False,
)
SENSOR_DECISIONS = Table(
    "sensor_decisions",
    METADATA,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("probe", Integer, nullable=False, index=True),
    Column("reason", Integer, nullable=False),
    Column("begin", BigInteger, nullable=False),
    Column("until", BigInteger, nullable=False),
    Column("count", Integer, nullable=False),
    Column("overruled", Boolean(name="overruled"), nullable=False),
    Column("made", Moment, nullable=False),
    sqlite_autoincrement=True,
)
# Three hours each: whether its reading is to be made again, and what was written of it.
SENSOR_WINDOWS = Table(
    "sensor_windows",
    METADATA,
    Column("probe", Integer, primary_key=True, autoincrement=False),
    Column("moment", BigInteger, primary_key=True, autoincrement=False),
    Column("due", Boolean(name="due"), nullable=False, index=True),
    Column("entry", String(36)),
    Column("said", Text, nullable=False),
    sqlite_with_rowid=False,
)
