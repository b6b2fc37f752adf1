"""Small errors put into a module's source, one at a time: what mutation testing tries the tests with."""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator

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
    value = node.value if isinstance(node, ast.Constant) else None
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    assert isinstance(node, ast.Constant)
    node.value = value + 1 if isinstance(value, int) else value * 1.1 + (value == 0)
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
