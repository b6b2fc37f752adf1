"""Mutation testing by hand: how many small errors put into a module do its fast tests notice?

    python benchmarks/mutants.py statistics/budget statistics/pooling sinking/weight/scale ...

Each mutant changes one thing: an operator, a comparison, a number, a sign, min for max, a refusal left out. Survivors are
printed with their line; the score is the share that the tests notice. Printed examples (doctests) do not count, as they
hold the program's own output.
"""

from __future__ import annotations

import ast
import copy
import importlib.abc
import importlib.machinery
import io
import os
import signal
import sys
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

ROOT = Path(__file__).parents[1]
LONGEST = 60
"""Seconds after which a mutant that never ends counts as noticed [s]: the tests take some five (judgement)."""
WEIGHT_TESTS = (
    "tests/sinking/test_weight_laws.py",
    "tests/published/test_parts.py",
    "tests/sinking/test_parts_laws.py",
)
TESTS = {
    "statistics/budget": ("tests/statistics/test_budget.py", "tests/published/test_gum.py"),
    "statistics/pooling": ("tests/statistics/test_pooling.py",),
}
"""Fast tests of each module; those of weights where a module is not named."""
SWAPPED: dict[type, type] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.MatMult: ast.Mult,
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.And: ast.Or,
    ast.Or: ast.And,
}
TURNED = {
    "min": "max",
    "max": "min",
    "minimum": "maximum",
    "maximum": "minimum",
    "floor": "ceil",
    "ceil": "floor",
}


def changes(tree: ast.Module) -> Iterator[tuple[int, str, ast.Module]]:
    """Yield line, what was changed, and the changed tree, one change each."""
    nodes = list(ast.walk(tree))
    for place in range(len(nodes)):
        for kind in range(2):
            if not _changed(copy.deepcopy(nodes[place]), kind):
                continue
            mutant = copy.deepcopy(tree)
            node = list(ast.walk(mutant))[place]
            before = ast.unparse(node) if hasattr(node, "lineno") else ""
            if _changed(node, kind):
                yield node.lineno, f"{before}  ->  {ast.unparse(node)}", mutant  # type: ignore[attr-defined]


def _changed(node: ast.AST, kind: int) -> bool:
    """Change a node in place; tell whether there was something to change. Comparisons of three have a second kind."""
    if isinstance(node, ast.Compare):
        return _compared(node, kind)
    return kind == 0 and any(change(node) for change in (_operator, _number, _sign, _extreme, _refusal))


def _compared(node: ast.Compare, place: int) -> bool:
    if place >= len(node.ops) or type(node.ops[place]) not in SWAPPED:
        return False
    node.ops[place] = SWAPPED[type(node.ops[place])]()
    return True


def _operator(node: ast.AST) -> bool:
    if not isinstance(node, ast.BinOp | ast.BoolOp) or type(node.op) not in SWAPPED:
        return False
    node.op = SWAPPED[type(node.op)]()
    return True


def _number(node: ast.AST) -> bool:
    if not isinstance(node, ast.Constant) or type(node.value) not in (int, float):
        return False
    node.value = node.value + 1 if isinstance(node.value, int) else node.value * 1.1 + (node.value == 0)
    return True


def _sign(node: ast.AST) -> bool:
    if not isinstance(node, ast.UnaryOp) or not isinstance(node.op, ast.USub | ast.Not):
        return False
    if isinstance(node.op, ast.Not):
        node.operand = ast.UnaryOp(ast.Not(), node.operand)
    else:
        node.op = ast.UAdd()
    return True


def _extreme(node: ast.AST) -> bool:
    """Turn min into max, floor into ceil, and back."""
    named = node.func if isinstance(node, ast.Call) else None
    if isinstance(named, ast.Name) and named.id in TURNED:
        named.id = TURNED[named.id]
        return True
    if isinstance(named, ast.Attribute) and named.attr in TURNED:
        named.attr = TURNED[named.attr]
        return True
    return False


def _refusal(node: ast.AST) -> bool:
    """Leave out a refusal."""
    if not isinstance(node, ast.If) or not isinstance(node.body[-1], ast.Raise):
        return False
    node.test = ast.Constant(False)
    return True


class _Mutated(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module the changed code."""

    def __init__(self, name: str, path: Path, tree: ast.Module) -> None:
        self.name, self.path = name, path
        self.code = compile(ast.fix_missing_locations(tree), str(path), "exec")

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


def noticed(module: str, tree: ast.Module) -> bool:
    """Tell whether the tests fail with the changed module, in a process of their own."""
    child = os.fork()
    if child:
        return os.waitpid(child, 0)[1] != 0
    signal.alarm(LONGEST)
    import pytest

    path = ROOT / "flybench" / f"{module}.py"
    code = 1
    try:
        sys.meta_path.insert(0, _Mutated(f"flybench.{module.replace('/', '.')}", path, tree))
        files = [str(ROOT / one) for one in TESTS.get(module, WEIGHT_TESTS)]
        options = [
            "-x",
            "-q",
            "-n",
            "0",
            "-p",
            "no:cacheprovider",
            "--no-header",
            "-k",
            "not printed_examples",
        ]
        with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
            code = int(pytest.main([*options, *files]))
    finally:  # a mutant may end in any way
        os._exit(min(code, 1))


def _warm() -> None:
    """Load what no mutant touches, once, and let each property be tried on few examples."""
    import hypothesis
    import hypothesis.strategies
    import scipy.integrate
    import scipy.stats  # noqa: F401

    import flybench.hydraulics.sphere  # noqa: F401

    register = hypothesis.settings.register_profile
    few = {"max_examples": 15, "derandomize": True, "database": None}
    # the class refuses to be changed by ordinary means
    type.__setattr__(
        hypothesis.settings,
        "register_profile",
        staticmethod(lambda name, **how: register(name, **{**how, **few})),
    )


def main() -> None:
    """Print survivors and the score of each module named."""
    _warm()
    known = notices = 0
    for module in sys.argv[1:]:
        source = (ROOT / "flybench" / f"{module}.py").read_text(encoding="utf-8")
        tree = ast.parse(source)
        if noticed(module, copy.deepcopy(tree)):
            sys.exit(f"{module}: the tests fail without any change")
        lines = source.splitlines()
        found = alive = 0
        for line, what, mutant in changes(tree):
            found += 1
            if not noticed(module, mutant):
                alive += 1
                print(
                    f"{module}:{line}: {what.splitlines()[0][:110]}  | {lines[line - 1].strip()[:90]}",
                    flush=True,
                )
        known, notices = known + found, notices + found - alive
        print(
            f"{module}: {found - alive} of {found} noticed, {(found - alive) / max(found, 1):.1%}", flush=True
        )
    print(f"all: {notices} of {known} noticed, {notices / max(known, 1):.1%}")


if __name__ == "__main__":
    main()
