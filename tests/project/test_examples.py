"""Every example in a docstring says what the program does, in whichever module it stands."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "flybench"
MODULES = sorted(
    ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts)
    for path in PACKAGE.rglob("*.py")
    if ">>> " in path.read_text(encoding="utf-8")
)


@pytest.mark.parametrize("name", MODULES)
def test_examples_of_a_module_hold(name: str) -> None:
    found = doctest.testmod(importlib.import_module(name.removesuffix(".__init__")))
    assert found.attempted > 0
    assert found.failed == 0
