"""An invented shop, commands called on it, and a fly in it that was never weighed."""

from __future__ import annotations

from pathlib import Path

import pytest
from console import flybench
from shop import shop
from weighed_flies import Run

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog
from flybench.jobs.shelf.rows import add_row


@pytest.fixture
def catalog(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Catalog:
    monkeypatch.setenv("FLYBENCH_CATALOG", str(tmp_path / "shop.sqlite"))
    return shop(tmp_path / "shop.sqlite")


@pytest.fixture
def run(catalog: Catalog, capsys: pytest.CaptureFixture[str]) -> Run:
    return lambda *arguments: flybench(capsys, *arguments)


@pytest.fixture
def unweighed(catalog: Catalog) -> str:
    """Return a fly with a bead of tungsten, 150 mg, that was never weighed."""
    add_row(catalog, NOUNS["fly"], {"code": "N1", "variant": "MILL-28-14"})
    return "N1"
