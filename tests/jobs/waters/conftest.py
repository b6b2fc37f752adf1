"""An invented shop to be told about in one water, and the commands that do."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from console import Said, flybench
from shop import shop

from flybench.catalog.store.open import Catalog


@pytest.fixture
def catalog(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Catalog:
    """Return a catalog without runs, which is the one that commands use."""
    path = tmp_path / "shop.sqlite"
    monkeypatch.setenv("FLYBENCH_CATALOG", str(path))
    return shop(path)


@pytest.fixture
def run(catalog: Catalog, capsys: pytest.CaptureFixture[str]) -> Callable[..., Said]:
    """Return what runs a command on that catalog."""
    return lambda *arguments: flybench(capsys, *arguments)
