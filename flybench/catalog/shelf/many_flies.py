"""Many flies at once: columns in, one bulk insert, checked as each single one would be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import islice
from typing import Any

from sqlalchemy import func, insert, select
from sqlalchemy.orm import Session

from flybench.catalog.changes.recording import recorder_of
from flybench.catalog.search.nouns import FLY
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.patterns import Variant
from flybench.errors import FlybenchError

CHUNK = 2000
"""Rows in one insert (judgement: more do not make it quicker)."""
_SET = [field for field in FLY.fields.values() if field.settable and not field.target]
_COLUMNS = {(field.name, False): field.attribute for field in _SET} | {
    (field.name, True): field.doubt_attribute for field in _SET if field.doubt_attribute
}
"""Column of the table for each (field, is its uncertainty) that is a plain value of a fly."""


def insert_flies(session: Session, source: str, values: Mapping[tuple[str, bool], Sequence[Any]]) -> int:
    """Insert flies from columns by (field, is its uncertainty), all as stored; returns how many.

    Raises FlybenchError naming ``source`` and the line (the first row is line 2) of a code that is missing or
    taken, a variant that is not there, a fly that would float, or one that was retired before it was tied.
    """
    codes, wanted = values["code", False], values["variant", False]
    _check_codes(session, source, codes)
    _check_rows(source, values)
    columns = [(_COLUMNS[key], column) for key, column in values.items() if key in _COLUMNS]
    columns.append(("variant_id", _variant_ids(session, source, wanted)))
    if ("notes", False) not in values:
        columns.append(("notes", [""] * len(codes)))
    names = [name for name, _ in columns]
    highest = session.scalar(select(func.max(Fly.id))) or 0
    statement: Any = insert(Fly)
    rows = zip(*(column for _, column in columns), strict=True)
    while chunk := [dict(zip(names, row, strict=False)) for row in islice(rows, CHUNK)]:
        session.connection().execute(statement, chunk)
    recorder_of(session).note_flies_above(highest)
    return len(codes)


def _check_codes(session: Session, source: str, codes: Sequence[str]) -> None:
    taken = {code.casefold() for code in session.scalars(select(Fly.code))}
    first: dict[str, int] = {}
    for line, code in enumerate(codes, start=2):
        key = code.casefold()
        if key in taken:
            raise FlybenchError(
                f"{source}, line {line}, code: there is a fly {code} already. Take this line out, or give another code."
            )
        if key in first:
            raise FlybenchError(
                f"{source}, line {line}, code: {code} is in line {first[key]} too. Keep one of the two lines."
            )
        first[key] = line


def _variant_ids(session: Session, source: str, wanted: Sequence[str]) -> list[int]:
    known = {code.casefold(): key for code, key in session.execute(select(Variant.code, Variant.id))}
    ids = []
    for line, code in enumerate(wanted, start=2):
        key = known.get(code.casefold())
        if key is None:
            raise FlybenchError(
                f"{source}, line {line}, variant: there is no variant {code}. "
                f"Add it first with: flybench variant add {code}"
            )
        ids.append(key)
    return ids


def _check_rows(source: str, values: Mapping[tuple[str, bool], Sequence[Any]]) -> None:
    pairs = (
        ("mass-in-water", "mass", "is not less than the dry mass"),
        ("tied", "retired", "is after the day it was retired"),
    )
    for lower, upper, problem in pairs:
        low, high = values.get((lower, False)), values.get((upper, False))
        if low is None or high is None:
            continue
        strict = lower != "tied"
        for line, (one, other) in enumerate(zip(low, high, strict=True), start=2):
            if one is not None and other is not None and (one > other or (strict and one == other)):
                raise FlybenchError(f"{source}, line {line}, {lower}: {problem}. Check both values.")
