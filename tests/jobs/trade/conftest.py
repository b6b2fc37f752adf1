"""The demo's catalog in a folder of its own, which commands take for theirs."""

from __future__ import annotations

from pathlib import Path

import pytest
from demo_catalog import demo_catalog

from flybench.catalog.store.open import Catalog


@pytest.fixture
def catalog(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Catalog:
    """Return the catalog; files that a test names lie beside it."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FLYBENCH_CATALOG", "catalog.sqlite")
    return demo_catalog(Path("catalog.sqlite"))
