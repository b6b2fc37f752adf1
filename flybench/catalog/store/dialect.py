"""What SQLite and PostgreSQL write differently."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Boolean, String
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import SQLCompiler
from sqlalchemy.sql.functions import GenericFunction


class folded(GenericFunction[str]):  # noqa: N801 - the name of the SQL function
    """A text without its case, in any script."""

    type = String()
    inherit_cache = True
    name = "folded"


@compiles(folded, "postgresql")
def _lower(element: folded, compiler: SQLCompiler, **options: Any) -> str:
    return f"lower({compiler.process(element.clauses, **options)})"


class alike(GenericFunction[bool]):  # noqa: N801 - named as a function
    """Whether a text is like a pattern (% any letters, / before a plain %, _ or /), whatever its ASCII case."""

    type = Boolean()
    inherit_cache = True
    name = "alike"


@compiles(alike)
def _like(element: alike, compiler: SQLCompiler, **options: Any) -> str:
    return _compared(element, compiler, "LIKE", options)


@compiles(alike, "postgresql")
def _ilike(element: alike, compiler: SQLCompiler, **options: Any) -> str:
    return _compared(element, compiler, "ILIKE", options)


def _compared(element: alike, compiler: SQLCompiler, operator: str, options: dict[str, Any]) -> str:
    text, pattern = (compiler.process(one, **options) for one in element.clauses)
    return f"({text} {operator} {pattern} ESCAPE '/')"
