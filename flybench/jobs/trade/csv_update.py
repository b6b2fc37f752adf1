"""A CSV file that changes what is there: everything it would change shown first, then all of it in one transaction."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isclose
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from flybench.catalog.changes.recording import recorder_of
from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.search.select import Row, find
from flybench.catalog.shelf import rows as shelf
from flybench.catalog.shelf.lines_of_files import adding_order, row_at
from flybench.catalog.store.open import Catalog
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.history.changes import RowNote, notes_of
from flybench.jobs.shelf.one_water import pool_everything_again
from flybench.jobs.shelf.rows import NO_WEIGHT, work_out
from flybench.jobs.shelf.spreadsheet import columns_of

_SAME = 1e-9
"""Share by which a number from a spreadsheet may miss the catalog's and still be the same: files hold 12 digits."""


@dataclass(frozen=True)
class Update:
    """What a file changes: every row that is added or changed, how many lines change nothing, and which columns of the file
    are not read, since they are worked out or kept by other commands."""

    rows: tuple[RowNote, ...]
    unchanged: int
    not_read: tuple[str, ...] = ()


class _OnlyLookedAt(Exception):  # noqa: N818 - no error: takes back what was only tried
    """Raised to take back what was only tried."""


def previewed(catalog: Catalog, noun: Noun, path: Path) -> Update:
    """Return what the file would change; it is tried and taken back.

    Raises FlybenchError naming the file, line and column of what cannot be.
    """
    found: list[Update] = []
    try:
        with catalog.writing() as session:
            found.append(_carried_out(session, noun, path))
            raise _OnlyLookedAt
    except _OnlyLookedAt:
        return found[0]


def update_from(catalog: Catalog, noun: Noun, path: Path, agreed: Update | None) -> Update:
    """Change what the file changes, all of it or nothing; ``agreed`` is what the user has seen, None for whatever it is.

    Raises FlybenchError as ``previewed`` does, and where it would now change something else than was seen.
    """
    with catalog.writing() as session:
        found = _carried_out(session, noun, path)
        if agreed is not None and found != agreed:
            raise FlybenchError(
                f"{path}: the catalog or the file was changed meanwhile. Nothing was changed. Look at it again."
            )
        return found


def _carried_out(session: Session, noun: Noun, path: Path) -> Update:
    read = columns_of(noun, path, all_needed=False)
    there = {row[noun.key].casefold(): row for row in find(session, noun, []).rows}
    seen: dict[str, int] = {}
    fields: set[str] = set()
    unchanged = 0
    for place in adding_order(noun, read.values, read.count):
        given = row_at(noun, read.values, place)
        line = f"{path}, line {place + 2}"
        try:
            changed = _put(session, noun, given, there, seen, place + 2)
        except BadValueError as error:
            raise FlybenchError(f"{line}, {error}") from error
        unchanged += not changed
        fields |= changed
    session.flush()
    if fields - NO_WEIGHT:
        pool_everything_again(session)
    return Update(notes_of(session, recorder_of(session)), unchanged, read.not_read)


def _put(
    session: Session,
    noun: Noun,
    given: dict[str, Any],
    there: Mapping[str, Row],
    seen: dict[str, int],
    line: int,
) -> set[str]:
    """Add the thing of one line, or change what differs; returns the names of the fields that were set."""
    code = given.get("code")
    if not code:
        raise BadValueError("code", "is empty", "Give it a value; it cannot be without one")
    key = code.casefold()
    if key in seen:
        raise BadValueError("code", f"{code} is in line {seen[key]} too", "Keep one of the two lines")
    seen[key] = line
    before = there.get(key)
    if before is None:
        _refuse_unfinished(noun, code, given)
        work_out(session, shelf.add(session, noun, given))
        return set(given)
    changes = {
        name: value
        for name, value in given.items()
        if name != "code" and not _same(noun.fields[name], before, value)
    }
    if changes:
        work_out(session, shelf.change(session, noun, code, changes))
    return set(changes)


def _refuse_unfinished(noun: Noun, code: str, given: Mapping[str, Any]) -> None:
    """Refuse a thing that is not in the catalog and lacks what it cannot be added without: most often a slip in its code."""
    for field in noun.fields.values():
        if field.needed and given.get(field.name) is None:
            problem = f"is missing, and there is no {noun.name} {code} in the catalog yet"
            cure = f"Correct the code, or add it with a value in the column {field.name}"
            raise BadValueError(field.name, problem, cure)


def _same(field: Field, before: Row, value: Any) -> bool:
    """Tell whether a value is the one that is shown already; of a quantity without its uncertainty, that is not compared."""
    there = before[field.name]
    if field.kind == "quantity":
        number, doubt = value
        old_doubt = before.get(field.plus_minus) if doubt is not None else None
        return _near(there, number) and _near(old_doubt, doubt)
    if field.kind == "number":
        return _near(there, value)
    if field.kind == "code":
        return str(there or "").casefold() == str(value or "").casefold()
    return bool(there == value)


def _near(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return isclose(one, other, rel_tol=_SAME)
