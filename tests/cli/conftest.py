"""A good small clip with its sheet, for the tests that spoil it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from clips import rendered
from tankview.sheet import sheet_text
from tankview.simple import clean_scene, drops


@pytest.fixture(scope="session")
def good(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a good small clip with its sheet beside it."""
    here = tmp_path_factory.mktemp("good")
    scene = clean_scene(drops=drops(1, 1.7), duration=1.8)
    shutil.copyfile(rendered(scene, folder)[0], here / "drop.mp4")
    (here / "drop.toml").write_text(sheet_text(scene), encoding="utf-8")
    return here / "drop.mp4"


@pytest.fixture
def clip(good: Path, tmp_path: Path) -> Path:
    """Return a copy of the good clip and its sheet, free to be spoilt."""
    for ending in (".mp4", ".toml"):
        shutil.copyfile(good.with_suffix(ending), tmp_path / f"drop{ending}")
    return tmp_path / "drop.mp4"
