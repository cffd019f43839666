"""Run by Alembic. The connection, its transaction and the metadata are handed in by `migrate`."""

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=context.config.attributes["metadata"],
    render_as_batch=True,  # SQLite changes a table by copying it
)
with context.begin_transaction():  # joins the caller's: tables and version note together
    context.run_migrations()
