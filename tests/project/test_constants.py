"""Every number that the physics stands on says its unit, why it is that and where it is from."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "flybench"
FOLDERS = ("bench", "charts", "rig", "sinking", "hydraulics", "statistics")
UNFINISHED: tuple[str, ...] = ()
"""Folders that need not pass yet: none."""
FEWEST_WORDS = 4
"""Fewer say neither unit nor reason."""


def has_number(value: ast.expr) -> bool:
    return any(
        isinstance(node, ast.Constant)
        and isinstance(node.value, int | float | complex)
        and not isinstance(node.value, bool)
        for node in ast.walk(value)
    )


def assignments(module: ast.Module) -> Iterator[tuple[ast.stmt, ast.expr, ast.stmt | None]]:
    """Yield every assignment on the module's own level, what is assigned, and the statement after it."""
    for statement, after in zip(module.body, [*module.body[1:], None], strict=True):
        if isinstance(statement, ast.Assign | ast.AnnAssign) and statement.value is not None:
            yield statement, statement.value, after


def words_of(statement: ast.stmt | None) -> int:
    """Return how many words a docstring has; none for any other statement."""
    if isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant):
        text = statement.value.value
        return len(text.split()) if isinstance(text, str) else 0
    return 0


def bare_constants(source: str) -> list[str]:
    """Return the first line of every constant without a docstring that says anything."""
    return [
        ast.unparse(statement).splitlines()[0]
        for statement, value, after in assignments(ast.parse(source))
        if has_number(value) and words_of(after) < FEWEST_WORDS
    ]


@pytest.mark.parametrize("folder", [name for name in FOLDERS if name not in UNFINISHED])
def test_every_constant_is_explained(folder: str) -> None:
    bare = {
        str(path.relative_to(PACKAGE)): found
        for path in sorted((PACKAGE / folder).rglob("*.py"))
        if (found := bare_constants(path.read_text(encoding="utf-8")))
    }
    assert bare == {}


def test_the_check_sees_what_is_bare() -> None:
    source = (
        'A = 1\n"""Length of a thing [m], a judgement."""\nB = 2.5\nC: int = 3\n"""Short."""\n'
        'D = ("x", -4)\nE = True\nF = "text"\n\ndef g():\n    h = 5\n'
    )
    assert bare_constants(source) == ["B = 2.5", "C: int = 3", "D = ('x', -4)"]
