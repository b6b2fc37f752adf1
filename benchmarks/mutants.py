"""Mutation testing by hand: how many small errors put into a module do its fast tests notice?

    python benchmarks/mutants.py statistics/budget sinking/weight/scale:40,57 sinking/weight/bead/3 ...

Each mutant changes one thing: an operator, a comparison, a number, a sign, min for max, a refusal left out. Survivors are
printed with their line; the score is the share that the tests notice. Printed examples (doctests) do not count, as they
hold the program's own output. Lines after a colon try those alone, a number after the name every third mutant, say.

The tests are collected once, and run once to learn which lines of the module each reaches; a mutant is then tried, in a
process of its own, on the tests that reach it, in each file the quickest first. What runs while a module is loaded (its
constants, its classes) is tried with the module loaded anew.
"""

from __future__ import annotations

import ast
import gc
import importlib.abc
import importlib.machinery
import os
import re
import statistics
import sys
import threading
import time
from collections.abc import Generator, Iterator
from pathlib import Path
from types import CodeType, FrameType, FunctionType
from typing import Any

import pytest
from mutations import changes
from own_process import fails, in_child
from tests_of_modules import TESTS

ROOT = Path(__file__).parents[1]
SLOWEST_TEST = 3.0
"""Tests that take longer than this are not tried [s of processor time]: fast tests are to notice (judgement)."""
LONGEST = 10.0
"""Times as long as its tests take, and seconds besides, after which a mutant that never ends counts as noticed [-]."""
OPTIONS = [
    "-q",
    "-n",
    "0",
    "-p",
    "no:cacheprovider",
    "-k",
    "not printed_examples",
    "-m",
    "not slow",
    "-W",
    "ignore",
]


class _Mutated(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module the changed code."""

    def __init__(self, name: str, path: Path, tree: ast.Module) -> None:
        self.name, self.path = name, path
        self.code = _compiled(tree, path)

    def find_spec(
        self, name: str, path: object, target: object = None
    ) -> importlib.machinery.ModuleSpec | None:
        """Return the changed module's spec."""
        return (
            importlib.machinery.ModuleSpec(name, self, origin=str(self.path)) if name == self.name else None
        )

    def exec_module(self, module: object) -> None:
        """Run the changed code as the module."""
        exec(self.code, vars(module))  # the point of it


class _Trial:
    """A pytest plugin that, in place of running the tests, tries the mutants of one module on them."""

    def __init__(self, module: str, only: set[int], every: int) -> None:
        self.module, self.only, self.every = module, only, every
        self.path = ROOT / "flybench" / f"{module}.py"
        self.lines = self.path.read_text(encoding="utf-8").splitlines()
        self.tree = ast.parse("\n".join(self.lines))
        self.found = self.alive = 0

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Learn what each test reaches, then try every mutant."""
        files: dict[Path, list[pytest.Item]] = {}
        for item in session.items:
            files.setdefault(item.path, []).append(item)
        learned = {path: in_child(self._reach, items) for path, items in files.items()}
        cheapest = sorted(
            files, key=lambda path: statistics.median(one[1] for one in learned[path] or [(0, 0.0)])
        )
        failing = [str(path) for path, found in learned.items() if not found or any(one[0] for one in found)]
        if failing:
            sys.exit(f"{self.module}: the tests fail without any change: {failing}")
        quick = [
            (took, item, lines)
            for path in cheapest
            for took, item, lines in sorted(
                (
                    (took, item, lines)
                    for item, (_, took, lines) in zip(files[path], learned[path], strict=True)
                    if took < SLOWEST_TEST
                ),
                key=lambda one: one[0],
            )
        ]
        gc.collect()
        functions: list[FunctionType] = [
            one
            for one in gc.get_objects()
            if isinstance(one, FunctionType) and one.__code__.co_filename == str(self.path)
        ]
        every = [(took, item) for took, item, _ in quick]
        if any(self._noticed(self.tree, loaded, every, functions) for loaded in (False, True)):
            sys.exit(f"{self.module}: the tests fail on the module put in unchanged")
        for number, (line, what, mutant) in enumerate(changes(self.tree)):
            if number % self.every or (self.only and line not in self.only):
                continue
            span = _statement(self.tree, line)
            tests = [(took, item) for took, item, lines in quick if span is None or lines & span]
            self.found += 1
            if not self._noticed(mutant, span is None, tests, functions):
                self.alive += 1
                why = "" if tests else " (no test reaches it)"
                print(
                    f"{self.module}:{line}: {what.splitlines()[0][:110]}  | {self.lines[line - 1].strip()[:90]}{why}",
                    flush=True,
                )
        return True

    def _noticed(
        self,
        mutant: ast.Module,
        loaded: bool,
        tests: list[tuple[float, pytest.Item]],
        functions: list[FunctionType],
    ) -> bool:
        if not tests:
            return False
        limit = LONGEST * (1 + sum(took for took, _ in tests))
        items = [item for _, item in tests]
        if loaded:
            return fails(
                lambda: _anew(self.module, self.path, mutant, [item.nodeid for item in items]), limit
            )
        return fails(lambda: _swapped(functions, _compiled(mutant, self.path), items), limit)

    def _reach(self, items: list[pytest.Item]) -> list[tuple[bool, float, set[int]]]:
        """Return of each test of a file whether it fails, how long it takes [s] and which lines of the module it reaches.

        Lines that a fixture reaches count for every test of the file, and a fixture that takes long makes every test
        that needs it slow; what the module remembers is forgotten between tests.
        """
        reached: set[int] = set()
        shared: set[int] = set()
        fixtures: dict[str, float] = {}
        name = str(self.path)

        def within(frame: FrameType, event: str, _: object) -> Any:
            if event == "line":
                reached.add(frame.f_lineno)
            return within

        def calls(frame: FrameType, event: str, _: object) -> Any:
            return within if frame.f_code.co_filename == name else None

        class SetUp:
            @staticmethod
            @pytest.hookimpl(tryfirst=True)
            def pytest_runtest_call() -> None:
                shared.update(reached)

            @staticmethod
            @pytest.hookimpl(wrapper=True)
            def pytest_fixture_setup(
                fixturedef: pytest.FixtureDef[object],
            ) -> Generator[None, object, object]:
                started = time.process_time()
                made = yield
                fixtures[fixturedef.argname] = time.process_time() - started
                return made

        items[0].config.pluginmanager.register(SetUp())
        found = []
        for item, after in zip(items, [*items[1:], None], strict=True):
            for remembering in vars(sys.modules.get(f"flybench.{self.module.replace('/', '.')}")).values():
                getattr(remembering, "cache_clear", lambda: None)()
            reached.clear()
            started = time.process_time()
            threading.settrace(calls)
            sys.settrace(calls)
            failed = not _passes(item, after)
            sys.settrace(None)
            needed = max((fixtures.get(name, 0.0) for name in getattr(item, "fixturenames", [])), default=0.0)
            took = time.process_time() - started
            found.append((failed, max(took, needed if needed > SLOWEST_TEST else 0.0), set(reached)))
        return [(failed, took, lines | shared) for failed, took, lines in found]


def _compiled(tree: ast.Module, path: Path) -> CodeType:
    return compile(ast.fix_missing_locations(tree), str(path), "exec")


def _statement(tree: ast.Module, line: int) -> set[int] | None:
    """Return the lines of the innermost statement there; None where it runs as the module is loaded."""
    best: ast.stmt | None = None
    inside = False
    for node in ast.walk(tree):
        if isinstance(node, ast.stmt) and node.lineno <= line <= (node.end_lineno or line):
            best = node if best is None or node.lineno >= best.lineno else best
            if isinstance(node, ast.FunctionDef) and line >= node.body[0].lineno:
                inside = True
    if best is None or not inside:
        return None
    body = getattr(best, "body", None)
    last = body[0].lineno - 1 if body else best.end_lineno or line
    return set(range(best.lineno, max(last, best.lineno) + 1))


def _passes(item: pytest.Item, after: pytest.Item | None) -> bool:
    """Run one test; tell whether it passed or was left out. ``after`` is the next one, which may share fixtures."""
    before = item.session.testsfailed
    item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
    return item.session.testsfailed == before


def _swapped(functions: list[FunctionType], code: CodeType, items: list[pytest.Item]) -> bool:
    """Give the functions their changed code; tell whether the tests pass."""
    changed = {(one.co_qualname, one.co_firstlineno): one for one in _codes(code)}
    for function in functions:
        key = (function.__code__.co_qualname, function.__code__.co_firstlineno)
        if key in changed:
            function.__code__ = changed[key]
    return all(_passes(item, after) for item, after in zip(items, [*items[1:], None], strict=True))


def _anew(module: str, path: Path, mutant: ast.Module, names: list[str]) -> bool:
    """Load the changed module, and all of ours and the tests with it; tell whether the tests pass."""
    for name in list(sys.modules):
        file = getattr(sys.modules[name], "__file__", None) or ""
        if name.split(".")[0] == "flybench" or (file.startswith(str(ROOT)) and name != "__main__"):
            del sys.modules[name]
    sys.meta_path.insert(0, _Mutated(f"flybench.{module.replace('/', '.')}", path, mutant))
    return pytest.main([*OPTIONS, "-x", "--no-header", *names]) == 0


def _codes(code: CodeType) -> Iterator[CodeType]:
    yield code
    for one in code.co_consts:
        if isinstance(one, CodeType):
            yield from _codes(one)


def _few_examples() -> None:
    """Let each property be tried on few examples, the same ones each time."""
    import hypothesis

    register = hypothesis.settings.register_profile
    few = {"max_examples": 15, "derandomize": True, "database": None, "deadline": None}
    # the class refuses to be changed by ordinary means
    type.__setattr__(
        hypothesis.settings,
        "register_profile",
        staticmethod(lambda name, **how: register(name, **{**how, **few})),
    )


def score(module: str, only: set[int], every: int) -> None:
    """Print survivors and the score of a module: of all its mutants, of some lines alone, or of every so manyth."""
    fitting = [name for name in TESTS if module == name or module.startswith(name + "/")]
    trial = _Trial(module, only, every)
    files = TESTS[max(fitting, key=len)]
    pytest.main([*OPTIONS, "-s", *(str(ROOT / one) for one in files)], plugins=[trial])
    noticed = trial.found - trial.alive
    print(f"{module}: {noticed} of {trial.found} noticed, {noticed / max(trial.found, 1):.1%}", flush=True)


def main() -> None:
    """Print survivors and the score of each module named."""
    _few_examples()
    os.chdir(ROOT)
    for given in sys.argv[1:]:
        named, _, lines = given.partition(":")
        module, every = re.fullmatch(r"(.*?)(?:/(\d+))?", named).groups()  # type: ignore[union-attr]
        child = os.fork()  # each with modules and tests of its own
        if not child:
            score(module, {int(line) for line in lines.split(",") if line}, int(every or 1))
            sys.stdout.flush()
            os._exit(0)
        os.waitpid(child, 0)


if __name__ == "__main__":
    main()
