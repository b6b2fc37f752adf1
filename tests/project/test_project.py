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
MOST_FILES = 14
"""Files in one folder that can still be taken in at a glance (judgement)."""


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


@pytest.mark.slow
def test_imports_go_one_way() -> None:
    _run(_tool("lint-imports"))


@pytest.mark.slow
@pytest.mark.parametrize("page", sorted(_make().TEXTS))
def test_generated_pages_match_the_program(page: str) -> None:
    assert (ROOT / "docs" / page).read_text(encoding="utf-8") == _make().TEXTS[page]()


def test_ci_calls_the_readme_test_command() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    found = re.search(r"<!-- test-command -->\n```sh\n(python3 .*pytest.*)\n```", readme)
    assert found
    assert "README.md" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_ci_checks_style_and_types_with_pinned_tools() -> None:
    assert "\n.ci/checks\n" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    pinned = (ROOT / ".ci" / "checks.txt").read_text(encoding="utf-8").splitlines()
    assert all("==" in line for line in pinned if not line.startswith("#"))


def test_no_folder_holds_more_files_than_one_takes_in() -> None:
    folders = {path.parent for path in (ROOT / "flybench").rglob("*.py")}
    counts = {one: len([file for file in one.glob("*.py") if file.name != "__init__.py"]) for one in folders}
    assert {one.name: count for one, count in counts.items() if count > MOST_FILES} == {}


def test_tests_mirror_the_package() -> None:
    """Every folder of tests stands for a folder of the package, save those for what is from outside or shared."""
    folders = {one.name for one in (ROOT / "tests").iterdir() if one.is_dir() and one.name != "__pycache__"}
    package = {one.name for one in (ROOT / "flybench").iterdir() if one.is_dir()}
    assert folders - package <= {"helpers", "published", "project", "sink"}


@pytest.mark.slow
def test_the_map_in_the_guide_is_made_from_the_modules() -> None:
    assert _make().map_in(ROOT / "DEVELOPERS.md") == _make().map_of_package()


@pytest.mark.parametrize("path", sorted((ROOT / "flybench").rglob("*.py")), ids=lambda p: p.stem)
def test_files_and_functions_stay_short(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= CAP.get(path.parent.name, 300)
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            assert (node.end_lineno or 0) - node.lineno < 50, node.name


def _is_enum(node: ast.AST) -> bool:
    return isinstance(node, ast.ClassDef) and any("Enum" in ast.unparse(base) for base in node.bases)


def _words(tree: ast.AST) -> set[str]:
    """Return the texts in a module that may name a flag: one word, or some with hyphens; words of an enum are its own."""
    found: set[str] = set()
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.Constant) and re.fullmatch("[a-z]+(-[a-z]+)*", str(node.value)):
            found.add(str(node.value))
        elif not _is_enum(node):
            found |= _words(node)
    return found


def test_every_flag_of_the_bench_is_raised_somewhere_and_none_is_unknown() -> None:
    from flybench.bench.verdict.flags import FLAGS

    bench = ROOT / "flybench" / "bench"
    raisers = set(bench.rglob("*.py")) - {
        bench / "verdict" / name for name in ("flags.py", "set_up_flags.py")
    }
    words = set().union(*(_words(ast.parse(path.read_text(encoding="utf-8"))) for path in raisers))
    assert set(FLAGS) <= words
    assert {word for word in words if "-" in word} <= set(FLAGS), "in the bench only flags are written so"
