"""Runs the steps on the connection that the upgrade gives; alembic loads this file by its name."""

from alembic import context

context.run_migrations()
