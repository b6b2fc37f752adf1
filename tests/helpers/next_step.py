"""An invented next step of the tables, to try the upgrade with."""

from __future__ import annotations

import shutil
from pathlib import Path

from flybench.catalog.store.upgrade import MIGRATIONS
from flybench.catalog.tables.schema import REVISION

AFTER = f"{int(REVISION) + 1:04d}"
"""The revision that the invented step leads to."""
NEXT = f'''"""An invented next step: materials get a shelf, and longer names."""

import sqlalchemy as sa
from alembic import op

revision = "{AFTER}"
down_revision = "{REVISION}"


def upgrade():
    with op.batch_alter_table("material") as batch:
        batch.add_column(sa.Column("shelf", sa.String(20), nullable=False, server_default="top"))
        batch.alter_column("name", type_=sa.String(300), existing_nullable=False)
'''


def with_next_step(folder: Path) -> Path:
    """Return a copy of the migrations with the invented next one."""
    shutil.copytree(MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    step_in(folder).write_text(NEXT, encoding="utf-8")
    return folder


def step_in(folder: Path) -> Path:
    """Return the file of the invented step in a copy of the migrations."""
    return folder / "versions" / f"{AFTER}_next.py"
