"""The journal as first kept in a database: entries, sites, photos, results and jobs."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision: str | None = None
branch_labels: None = None
depends_on: None = None

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make every table."""
    op.create_table(
        "entries",
        sa.Column("place", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("bin", sa.String(120), nullable=False),
        sa.Column("kind", sa.String(24), nullable=False),
        sa.Column("happened", MOMENT, nullable=False),
        sa.Column("recorded", MOMENT),
        sa.Column("who", sa.String(120), nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("corrects", sa.String(36)),
        sa.Column("retracts", sa.Boolean(name="retracts"), nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
        sa.UniqueConstraint("id", name="uq_entries_id"),
        sqlite_autoincrement=True,
    )
    for column in ("bin", "happened", "corrects"):
        op.create_index(f"ix_entries_{column}", "entries", [column])
    op.create_table(
        "sites",
        sa.Column("place", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("made", MOMENT, nullable=False),
        sa.Column("site", sa.Text, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "photos",
        sa.Column("sha256", sa.String(64), primary_key=True),
        sa.Column("form", sa.String(8), nullable=False),
        sa.Column("bytes", sa.Integer, nullable=False),
        sa.Column("added", MOMENT, nullable=False),
    )
    op.create_table(
        "results",
        sa.Column("kind", sa.String(40), primary_key=True),
        sa.Column("bin", sa.String(120), primary_key=True),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("model", sa.String(40), nullable=False),
        sa.Column("made", MOMENT, nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
    )
    op.create_table(
        "jobs",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("bin", sa.String(120), nullable=False),
        sa.Column("state", sa.String(12), nullable=False),
        sa.Column("share", sa.Float, nullable=False),
        sa.Column("words", sa.Text, nullable=False),
        sa.Column("revision", sa.Integer, nullable=False),
        sa.Column("made", MOMENT, nullable=False),
        sa.Column("ended", MOMENT),
        sa.Column("cancel", sa.Boolean(name="cancel"), nullable=False),
        sqlite_autoincrement=True,
    )


def downgrade() -> None:
    """Go back to having no journal at all."""
    for name in ("jobs", "results", "photos", "sites", "entries"):
        op.drop_table(name)
