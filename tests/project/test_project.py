"""The project's own promises: imports one way, clean code, docs that match the program, files of fair size."""

from __future__ import annotations

import ast
import importlib.util
import re
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]
CAP = {"hydraulics": 400}


def _run(*arguments: str) -> None:
    done = subprocess.run(arguments, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def _tool(name: str) -> str:
    return str(Path(sys.executable).with_name(name))


def _make() -> ModuleType:
    spec = importlib.util.spec_from_file_location("docs_make", ROOT / "docs" / "make.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_imports_go_one_way() -> None:
    _run(_tool("lint-imports"))


def test_ruff() -> None:
    _run(_tool("ruff"), "check", ".")
    _run(_tool("ruff"), "format", "--check", ".")


def test_mypy() -> None:
    _run(_tool("mypy"))


@pytest.mark.parametrize("page", ["flags.md", "commands.md", "sheet.md"])
def test_generated_pages_match_the_program(page: str) -> None:
    assert (ROOT / "docs" / page).read_text(encoding="utf-8") == _make().TEXTS[page]()


def test_ci_calls_the_readme_test_command() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    found = re.search(r"<!-- test-command -->\n```sh\n(python3 .*pytest.*)\n```", readme)
    assert found
    assert "README.md" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


@pytest.mark.parametrize("path", sorted((ROOT / "flybench").rglob("*.py")), ids=lambda p: p.stem)
def test_files_and_functions_stay_short(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= CAP.get(path.parent.name, 300)
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            assert (node.end_lineno or 0) - node.lineno < 50, node.name


def test_every_flag_that_is_raised_is_documented() -> None:
    from flybench.bench.verdict.flags import FLAGS

    texts = [
        (ROOT / "flybench" / "bench" / f"{name}.py").read_text(encoding="utf-8")
        for name in ("stage", "conclude", "dropchecks", "drag")
    ]
    words = {word for text in texts for word in re.findall(r'"([a-z]+(?:-[a-z]+)*)"', text)}
    assert set(FLAGS) <= words
    assert {word for word in words if "-" in word} <= set(FLAGS)
