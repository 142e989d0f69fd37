"""Run by Alembic: brings the database of an open connection up to date."""

from alembic import context

from slowfire.journal.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
