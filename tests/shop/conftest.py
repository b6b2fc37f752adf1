"""An invented catalog."""

from __future__ import annotations

from pathlib import Path

import pytest
from shop import shop

from flybench.catalog.store.open import Catalog


@pytest.fixture
def catalog(tmp_path: Path) -> Catalog:
    """Return an invented catalog of three variants and four flies, none of them measured."""
    return shop(tmp_path / "flies.sqlite")
