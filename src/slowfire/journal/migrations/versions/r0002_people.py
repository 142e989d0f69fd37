"""Who may enter: people, their sessions, codes, failed log-ins and the rota."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision: str | None = "0001"
branch_labels: None = None
depends_on: None = None

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Add the tables; what was there stays as it is."""
    op.create_table(
        "people",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("folded", sa.String(120), nullable=False),
        sa.Column("role", sa.String(12), nullable=False),
        sa.Column("password", sa.String(200), nullable=False),
        sa.Column("made", MOMENT, nullable=False),
        sa.UniqueConstraint("folded", name="uq_people_folded"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "sessions",
        sa.Column("secret", sa.String(64), primary_key=True),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("person", sa.Integer, nullable=False),
        sa.Column("device", sa.String(200), nullable=False),
        sa.Column("made", MOMENT, nullable=False),
        sa.Column("seen", MOMENT, nullable=False),
        sa.Column("expires", MOMENT, nullable=False),
    )
    op.create_index("ix_sessions_person", "sessions", ["person"])
    op.create_table(
        "codes",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("secret", sa.String(64), nullable=False),
        sa.Column("kind", sa.String(12), nullable=False),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("bin", sa.String(120), nullable=False),
        sa.Column("person", sa.Integer),
        sa.Column("made", MOMENT, nullable=False),
        sa.Column("expires", MOMENT),
        sa.Column("ended", MOMENT),
        sa.Column("used", MOMENT),
        sa.UniqueConstraint("secret", name="uq_codes_secret"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "failures",
        sa.Column("what", sa.String(200), primary_key=True),
        sa.Column("count", sa.Integer, nullable=False),
        sa.Column("until", MOMENT, nullable=False),
    )
    op.create_table(
        "rota",
        sa.Column("weekday", sa.Integer, primary_key=True),
        sa.Column("name", sa.String(120), nullable=False),
    )


def downgrade() -> None:
    """Forget who may enter."""
    for name in ("rota", "failures", "codes", "sessions", "people"):
        op.drop_table(name)
