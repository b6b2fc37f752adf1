"""Runs the migrations on the connection that the upgrade gives; alembic loads this file by its name."""

from alembic import context

from flybench.catalog.tables.schema import REVISION_TABLE, tables

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=tables(),
    version_table=REVISION_TABLE,
    render_as_batch=True,
)
context.run_migrations()
