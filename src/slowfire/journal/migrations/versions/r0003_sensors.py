"""Sensors: devices and their probes, what they measured, what was left out, what was read."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision: str | None = "0002"
branch_labels: None = None
depends_on: None = None

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the tables of sensors."""
    op.create_table(
        "sensor_devices",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("token", sa.String(64)),
        sa.Column("mapping", sa.Text, nullable=False),
        sa.Column("made", MOMENT, nullable=False),
        sa.UniqueConstraint("name", name="uq_sensor_devices_name"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_sensor_devices_token", "sensor_devices", ["token"])
    op.create_table(
        "sensor_probes",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("device", sa.Integer, nullable=False),
        sa.Column("channel", sa.String(120), nullable=False),
        sa.Column("quantity", sa.String(24), nullable=False),
        sa.Column("unit", sa.String(8), nullable=False),
        sa.Column("bin", sa.String(120), nullable=False),
        sa.Column("thermometer", sa.String(120), nullable=False),
        sa.Column("position", sa.String(40), nullable=False),
        sa.Column("spot", sa.String(16), nullable=False),
        sa.Column("since", sa.BigInteger, nullable=False),
        sa.UniqueConstraint("device", "channel", name="uq_sensor_probes_device"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "sensor_values",
        sa.Column("probe", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("moment", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("value", sa.Float, nullable=False),
        sa.Column("decision", sa.Integer),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "sensor_summaries",
        sa.Column("probe", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("moment", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("seconds", sa.Integer, nullable=False),
        sa.Column("mean", sa.Float, nullable=False),
        sa.Column("low", sa.Float, nullable=False),
        sa.Column("high", sa.Float, nullable=False),
        sa.Column("count", sa.Integer, nullable=False),
        sa.Column("decision", sa.Integer),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "sensor_decisions",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("probe", sa.Integer, nullable=False),
        sa.Column("reason", sa.Integer, nullable=False),
        sa.Column("begin", sa.BigInteger, nullable=False),
        sa.Column("until", sa.BigInteger, nullable=False),
        sa.Column("count", sa.Integer, nullable=False),
        sa.Column("overruled", sa.Boolean(name="overruled"), nullable=False),
        sa.Column("made", MOMENT, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_sensor_decisions_probe", "sensor_decisions", ["probe"])
    op.create_table(
        "sensor_windows",
        sa.Column("probe", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("moment", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("due", sa.Boolean(name="due"), nullable=False),
        sa.Column("entry", sa.String(36)),
        sa.Column("said", sa.Text, nullable=False),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_sensor_windows_due", "sensor_windows", ["due"])


def downgrade() -> None:
    """Forget everything of sensors but the readings in the journal."""
    for name in ("windows", "decisions", "summaries", "values", "probes", "devices"):
        op.drop_table(f"sensor_{name}")
