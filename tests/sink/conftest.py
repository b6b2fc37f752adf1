"""A stocked invented shop for each test of the sink commands, and one where nothing was measured."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from console import Said, flybench
from shop import shop
from sinking_shop import sinking_shop

from flybench.catalog.store.open import Catalog, open_catalog

Run = Callable[..., Said]


@pytest.fixture(scope="session")
def stocked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return sinking_shop(tmp_path_factory.mktemp("stocked") / "shop.sqlite")


@pytest.fixture
def catalog(stocked: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Catalog:
    path = tmp_path / "shop.sqlite"
    shutil.copy(stocked, path)
    monkeypatch.setenv("FLYBENCH_CATALOG", str(path))
    return open_catalog(str(path))


@pytest.fixture
def run(catalog: Catalog, capsys: pytest.CaptureFixture[str]) -> Run:
    return lambda *arguments: flybench(capsys, *arguments)


@pytest.fixture
def empty(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Return a way to run commands on a shop where nothing was measured."""
    monkeypatch.setenv("FLYBENCH_CATALOG", str(tmp_path / "empty.sqlite"))
    shop(tmp_path / "empty.sqlite").engine.dispose()
    return lambda *arguments: flybench(capsys, *arguments)
