"""Values of columns as cells of CSV files, and back to exactly the same value."""

from __future__ import annotations

import json
from base64 import b64decode, b64encode
from typing import Any

from sqlalchemy import JSON, Boolean, Column, Float, Integer, LargeBinary, String
from sqlalchemy import Enum as SqlEnum

from flybench.catalog.changes.kept_values import brought_back, kept, plain_type
from flybench.jobs.shelf.spreadsheet import neutral

_QUOTE = '"'
_IN_FILES = ("content", "track", "result")
"""Columns whose values are files of their own: pictures, tracks, and results of runs."""


def is_cell(column: Column[Any]) -> bool:
    """Tell whether a column goes into the table's file; pictures, tracks and results of runs are files of their own."""
    return column.name not in _IN_FILES


def cell_of(column: Column[Any], value: Any) -> str:
    """Return a value as a cell; an empty cell is no value, and an empty text where there could be none is ``""``.

    Numbers are written with all their digits, bytes in base 64 (RFC 4648), and a text that a spreadsheet takes for a formula
    behind an apostrophe.
    """
    if value is None or isinstance(value, bytes):
        return b64encode(value or b"").decode()
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
    kind = plain_type(column)
    if isinstance(kind, (JSON, Boolean, Integer, Float)):
        return json.loads(text)
    is_bytes = isinstance(kind, LargeBinary)
    return b64decode(text, validate=True) if is_bytes else _brought_back(column, text)


def _brought_back(column: Column[Any], text: str) -> Any:
    return brought_back(column.table, {column.name: text})[column.name]


def _is_text(column: Column[Any]) -> bool:
    kind = plain_type(column)
    return isinstance(kind, String) and not isinstance(kind, SqlEnum)
