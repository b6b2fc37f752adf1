"""Older catalogs brought up to date: a backup first, then the migrations, all or nothing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from alembic.config import Config
from alembic.runtime.environment import EnvironmentContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine

from flybench.catalog.backup import backup_name, save_backup
from flybench.catalog.schema import REVISION
from flybench.errors import FlybenchError

Tell = Callable[[str], None]


def scripts() -> ScriptDirectory:
    """Return the migrations."""
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    return ScriptDirectory.from_config(config)


def revisions() -> list[str]:
    """Return all revisions, oldest first."""
    return [script.revision for script in scripts().walk_revisions()][::-1]


def upgrade(engine: Engine, path: Path | None, name: str, tell: Tell) -> None:
    """Bring an older catalog to this program's revision.

    A file is backed up beside itself first and the backup's path told. Raises FlybenchError for a catalog
    that a newer flybench has written; it is not touched.
    """
    from flybench.catalog.store import revision_of

    old = revision_of(engine)
    if old not in revisions():
        raise FlybenchError(
            f"{name}: was written by a newer flybench (tables {old}, this program knows up to {REVISION}). "
            "Update flybench; the catalog was not touched."
        )
    if path is not None:
        saved = backup_name(path, f"before-{REVISION}")
        save_backup(path, saved)
        tell(f"{name}: tables {old} become {REVISION}; the old catalog is kept as {saved}")
    else:
        tell(f"{name}: tables {old} become {REVISION}; a server's backups are the server's")
    run(engine, REVISION)


def run(engine: Engine, target: str) -> None:
    """Run the migrations up to ``target`` in one transaction."""
    directory = scripts()

    def steps(revision: str, context: object) -> object:
        return directory._upgrade_revs(target, revision)

    with engine.execution_options(writes=True).connect() as connection:
        environment = EnvironmentContext(Config(), directory, fn=steps)
        environment.configure(connection=connection, render_as_batch=True)
        with environment, connection.begin():
            environment.run_migrations()
