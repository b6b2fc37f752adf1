"""The log of changes: who changed what and when, and the last change, or one of them, undone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import literal, select
from sqlalchemy.orm import Session

from flybench.catalog.changes.kept_values import brought_back
from flybench.catalog.changes.owners import Owners
from flybench.catalog.changes.recording import Recorder
from flybench.catalog.changes.undoing import change_to_undo, undo
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.not_there import CODED, nowhere
from flybench.catalog.shelf.rows import named
from flybench.catalog.store.dialect import folded
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.base import Base
from flybench.catalog.tables.changes import ChangeSet, RowChange
from flybench.catalog.tables.vocabulary import Action
from flybench.jobs.shelf.one_water import pool_everything_again

_REFERS_TO = {
    "material": "material",
    "hook": "material",
    "bead": "material",
    "pattern": "pattern",
    "variant": "variant",
    "based_on": "variant",
    "fly": "fly",
}
"""What the columns that end in _id refer to."""
_NO_SPEED = {"material_movement", "fly_movement", "photo"}
"""Tables on which no sink speed rests."""


@dataclass(frozen=True)
class RowNote:
    """A row that was added, changed or removed: the thing it belongs to, its table, and values by column, old and new.

    Values are as stored, in SI units; what refers to another thing is given by its code.
    """

    noun: str
    code: str
    table: str
    action: Action
    old: Mapping[str, Any]
    new: Mapping[str, Any]


@dataclass(frozen=True)
class Change:
    """All that one command changed; ``undone_by`` and ``undoes`` are numbers of other changes."""

    number: int
    at: datetime
    who: str
    command: str
    undone_by: int | None
    undoes: int | None
    rows: tuple[RowNote, ...]


def changes(catalog: Catalog, codes: Sequence[str] = (), limit: int = 0) -> list[Change]:
    """Return the changes, newest first, of things with these codes, or all; ``limit`` 0 for all of them.

    Raises BadValueError for a code that neither a thing nor any change has.
    """
    with catalog.reading() as session:
        wanted = select(ChangeSet).order_by(ChangeSet.id.desc())
        if codes:
            of_these = folded(RowChange.code).in_([_logged(session, code).casefold() for code in codes])
            wanted = wanted.where(ChangeSet.id.in_(select(RowChange.change_set_id).where(of_these)))
        found = session.scalars(wanted.limit(limit) if limit else wanted)
        return _as_records(session, found.all())


def _logged(session: Session, code: str) -> str:
    """Return a code as the log may have it: of a thing that is there, or of one that is gone but was changed."""
    for name in CODED:
        found = named(session, NOUNS[name].model, code.strip())
        if found is not None:
            return str(found.code)
    gone = session.scalars(
        select(RowChange.code).where(folded(RowChange.code) == folded(literal(code.strip())))
    )
    if gone.first() is None:
        raise nowhere(session, code)
    return code.strip()


def last_change(catalog: Catalog, number: int | None = None) -> Change:
    """Return the change of a number, or the last one that can be undone. Raises as ``undo_change`` does."""
    with catalog.reading() as session:
        return _as_records(session, [change_to_undo(session, number)])[0]


def undo_change(catalog: Catalog, number: int) -> Change:
    """Undo a change: every row of it is put back, or none; returns what was undone.

    Raises BadValueError for a number that no change has, FlybenchError where it is undone already or a later
    change stands in the way.
    """
    with catalog.writing() as session:
        change = change_to_undo(session, number)
        record = _as_records(session, [change])[0]
        if undo(session, change) - _NO_SPEED:
            pool_everything_again(session)
        return record


def _as_records(session: Session, found: Iterable[ChangeSet]) -> list[Change]:
    sets = list(found)
    numbers = [one.id for one in sets]
    undoes: dict[int | None, int] = {
        by: number
        for number, by in session.execute(
            select(ChangeSet.id, ChangeSet.undone_by_id).where(ChangeSet.undone_by_id.in_(numbers))
        )
    }
    codes = _Codes(session)
    return [
        Change(
            one.id,
            one.at,
            one.who,
            one.command,
            one.undone_by_id,
            undoes.get(one.id),
            tuple(_note(codes, row) for row in _own_rows(one.rows)),
        )
        for one in sets
    ]


def notes_of(session: Session, recorder: Recorder) -> tuple[RowNote, ...]:
    """Return what a session that writes has changed so far."""
    codes = _Codes(session)
    return tuple(_note(codes, row) for row in _own_rows(recorder.rows()))


def _own_rows(rows: Sequence[RowChange]) -> list[RowChange]:
    """Return rows without the parts of a thing that was added or removed as a whole, and what was set right after that."""
    whole = {(row.noun, row.code) for row in rows if _is_whole(row)}
    return [
        row
        for row in rows
        if _is_whole(row) or row.in_table.endswith("movement") or (row.noun, row.code) not in whole
    ]


def _is_whole(row: RowChange) -> bool:
    return row.action is not Action.CHANGED and row.in_table in (row.noun, "bench_run")


def _note(codes: _Codes, row: RowChange) -> RowNote:
    table = Base.metadata.tables[row.in_table]
    old, new = (codes.named(brought_back(table, values or {})) for values in (row.old, row.new))
    return RowNote(row.noun, row.code, row.in_table, row.action, old, new)


class _Codes:
    """Codes of things by their numbers, each looked up once."""

    def __init__(self, session: Session) -> None:
        self._connection, self._things = session.connection(), Owners()

    def named(self, values: Mapping[str, Any]) -> dict[str, Any]:
        """Return values with codes in the place of numbers, under names without "_id"."""
        return dict(self._one(name, value) for name, value in values.items() if not isinstance(value, bytes))

    def _one(self, name: str, value: Any) -> tuple[str, Any]:
        stem = name.removesuffix("_id")
        if stem == name or stem not in _REFERS_TO:
            return name, value
        if value is None:
            return stem, None
        return stem, self._things.code(self._connection, _REFERS_TO[stem], value) or f"number {value}"
