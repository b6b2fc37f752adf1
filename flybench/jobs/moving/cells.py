"""Values of columns as cells of CSV files, and back to exactly the same value."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import JSON, Boolean, Column, Float, Integer, LargeBinary, String, TypeDecorator
from sqlalchemy import Enum as SqlEnum
from sqlalchemy.types import TypeEngine

from flybench.catalog.changes.kept_values import brought_back, kept
from flybench.jobs.shelf.spreadsheet import neutral

_QUOTE = '"'


def is_cell(column: Column[Any]) -> bool:
    """Tell whether a column goes into the table's file; bytes and results of runs are files of their own."""
    return not isinstance(column.type, LargeBinary) and column.name != "result"


def cell_of(column: Column[Any], value: Any) -> str:
    """Return a value as a cell; an empty cell is no value, and an empty text where there could be none is ``""``.

    Numbers are written with all their digits, and a text that a spreadsheet takes for a formula behind an apostrophe.
    """
    if value is None:
        return ""
    plain = kept({column.name: value})[column.name]
    if isinstance(column.type, JSON):
        return json.dumps(plain, ensure_ascii=False)
    if not isinstance(plain, str):
        return json.dumps(plain)
    if _is_text(column):
        if column.nullable and (not plain or plain.startswith(_QUOTE)):
            return json.dumps(plain, ensure_ascii=False)
        return neutral(plain)
    return plain


def value_of(column: Column[Any], text: str) -> Any:
    """Return the value of a cell; raises ValueError for one that the column cannot have."""
    if _is_text(column):
        if not text and column.nullable:
            return None
        if column.nullable and text.startswith(_QUOTE):
            return json.loads(text)
        return text.removeprefix("'")
    if not text:
        if column.nullable:
            return None
        raise ValueError("is empty")
    kind = _kind(column)
    if isinstance(kind, (JSON, Boolean, Integer, Float)):
        return json.loads(text)
    return brought_back(column.table, {column.name: text})[column.name]


def _is_text(column: Column[Any]) -> bool:
    kind = _kind(column)
    return isinstance(kind, String) and not isinstance(kind, SqlEnum)


def _kind(column: Column[Any]) -> TypeEngine[Any]:
    kind: TypeEngine[Any] = column.type
    return kind.impl_instance if isinstance(kind, TypeDecorator) else kind
