"""Commands called on an invented shop with three measured flies, in an empty folder."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from functools import cache, partial
from pathlib import Path

import pytest
from console import Said, flybench
from shop import shop_with_speeds

Run = Callable[..., Said]


def in_a_shop(folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Put the shop into a folder, go there, and return a way to call flybench on it."""
    path = folder / "catalog.sqlite"
    path.write_bytes(_ready_made())
    monkeypatch.chdir(folder)
    monkeypatch.setenv("FLYBENCH_CATALOG", str(path))
    return partial(flybench, capsys)


@cache
def _ready_made() -> bytes:
    """Return the file of the shop, made once."""
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "shop.sqlite"
        shop_with_speeds(made).engine.dispose()
        return made.read_bytes()
