"""SQL compiled once a worker: each catalog that a test opens has an engine of its own, which would compile all anew.

What a statement compiles to hangs on the statement and on the kind of database alone, and SQLAlchemy keeps it by both.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from unittest.mock import patch

from sqlalchemy import Engine, create_engine

from flybench.catalog.store import engine as engines

_make = engines.create_engine


@contextmanager
def compiled_once() -> Iterator[None]:
    """Let all engines of SQLite that are made in here share what they compile."""
    known = create_engine("sqlite://")
    with known.connect():  # so that it has asked its database what it can do
        pass
    compiled: dict[Any, Any] = {}

    def made(*given: Any, **more: Any) -> Engine:
        engine = _make(*given, **more)
        if engine.dialect.name == known.dialect.name:
            engine.dialect = known.dialect
            engine.update_execution_options(compiled_cache=compiled)
        return engine

    with patch.object(engines, "create_engine", made):
        yield
