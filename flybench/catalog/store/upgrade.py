"""Older catalogs brought up to date: a backup first, then the migrations, all or nothing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine

from flybench.catalog.store.backup import save_beside
from flybench.catalog.store.engine import for_migrating
from flybench.catalog.tables.schema import revision_of
from flybench.errors import FlybenchError

Tell = Callable[[str], None]
MIGRATIONS = Path(__file__).parents[1] / "migrations"


def upgrade(engine: Engine, path: Path | None, name: str, tell: Tell, folder: Path = MIGRATIONS) -> None:
    """Bring an older catalog to the newest revision of the migrations in ``folder``.

    A file is backed up beside itself first, while other writers are locked out, and ``tell`` hears where.
    Raises FlybenchError for a catalog that a newer flybench has written; it is not touched.
    """
    revisions = known_revisions(folder)
    with for_migrating(engine).connect() as connection, connection.begin():
        old, new = revision_of(connection), revisions[-1]
        if old not in revisions:
            raise too_new(name, old, new)
        if old == new:  # another process was quicker
            return
        kept = "no backup was made, as it is on a server"
        if path is not None:
            kept = f"the catalog before is kept as {save_beside(path, f'before-{new}')}"
        tell(f"{name}: brought up to date, from version {old} of the tables to {new}; {kept}")
        migrate(connection, folder)
        _check_references(connection, name)


def too_new(name: str, found: str | None, known: str) -> FlybenchError:
    """Return the error for tables that this program does not know."""
    return FlybenchError(
        f"{name}: was written by a newer flybench (version {found} of the tables; this program knows them up to {known}). "
        "Update flybench; the catalog was not touched."
    )


def migrate(connection: Connection, folder: Path = MIGRATIONS, target: str = "head") -> None:
    """Run the migrations in ``folder`` up to ``target`` in the transaction that is open."""
    config = _config(folder)
    config.attributes["connection"] = connection
    command.upgrade(config, target)


def _config(folder: Path) -> Config:
    config = Config()
    config.set_main_option("script_location", str(folder).replace("%", "%%"))
    return config


def known_revisions(folder: Path = MIGRATIONS) -> list[str]:
    """Return all revisions, oldest first."""
    scripts = ScriptDirectory.from_config(_config(folder))
    return [script.revision for script in scripts.walk_revisions()][::-1]


def _check_references(connection: Connection, name: str) -> None:
    """Refuse to keep tables whose references lead nowhere; SQLite does not look while tables are replaced."""
    if connection.dialect.name != "sqlite":
        return
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").first()
    if broken is not None:
        raise FlybenchError(
            f"{name}: cannot be brought up to date: row {broken[1]} of {broken[0]} refers to a {broken[2]} "
            "that is not there. Nothing was changed. Run flybench catalog check with the older flybench."
        )
