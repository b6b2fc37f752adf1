"""A change put back: every row as it was before, all of them or none; refused where something later rests on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from sqlalchemy import Table, and_, delete, func, insert, select, update
from sqlalchemy.orm import Session, aliased

from flybench.catalog.changes.kept_values import brought_back
from flybench.catalog.changes.recording import NOT_WRITTEN_DOWN, Recorder, recorder_of
from flybench.catalog.tables.base import Base
from flybench.catalog.tables.changes import ChangeSet, RowChange
from flybench.catalog.tables.vocabulary import Action
from flybench.errors import BadValueError, FlybenchError

_LARGEST = 2**31 - 1
"""Largest number of a change that PostgreSQL can hold in its column (its documentation of integer types)."""
_MOVEMENTS = {"material_movement": "material_id", "fly_movement": "variant_id"}
"""Tables of stock that moved, and by which column each names what moved."""


def change_to_undo(session: Session, number: int | None) -> ChangeSet:
    """Return the change of a number, or the last one that is neither undone nor itself an undoing.

    Raises BadValueError for a number that no change has, FlybenchError where there is nothing to undo.
    """
    if number is not None:
        found: ChangeSet | None = session.get(ChangeSet, number) if 0 < number <= _LARGEST else None
        if found is None:
            raise BadValueError(
                "NUMBER", f"there is no change {number}", "See what there is: flybench catalog log"
            )
        if found.undone_by_id is not None:
            raise FlybenchError(
                f"change {number}: is undone already, by change {found.undone_by_id}. Nothing was changed."
            )
        return found
    last: ChangeSet | None = session.scalars(_in_force().order_by(ChangeSet.id.desc()).limit(1)).first()
    if last is None:
        raise FlybenchError(
            "There is no change that could be undone. See what there was: flybench catalog log"
        )
    return last


def _in_force() -> Any:
    """Select the changes that are neither undone nor an undoing."""
    other = aliased(ChangeSet)
    undoing = select(other.id).where(other.undone_by_id == ChangeSet.id)
    return select(ChangeSet).where(ChangeSet.undone_by_id.is_(None), ~undoing.exists())


def undo(session: Session, change: ChangeSet) -> set[str]:
    """Put every row of a change back as it was; returns the names of the tables that it touched.

    Raises FlybenchError where a later change stands in the way; the session must then be given up.
    """
    recorder, touched, later = recorder_of(session), set[str](), _changed_later(session, change)
    rows = select(RowChange).where(RowChange.change_set_id == change.id).order_by(RowChange.id.desc())
    for row in session.scalars(rows):
        touched.add(row.in_table)
        if row.id in later:
            number = later[row.id]
            raise _in_the_way(change, row, f"change {number} changed it later. Undo that one first", number)
        _put_back(session, recorder, change, row)
    before = session.scalars(select(ChangeSet).where(ChangeSet.undone_by_id == change.id)).first()
    if before is not None:  # what this change had undone holds again
        before.undone_by_id = None
    change.undone_by_id = recorder.change_set()
    session.flush()
    session.expire_all()
    return touched


def _changed_later(session: Session, change: ChangeSet) -> dict[int, int]:
    """Return which rows of a change were changed again later, by the first change that did so and is still in force."""
    row, other = aliased(RowChange), aliased(RowChange)
    found = session.execute(
        select(row.id, func.min(other.change_set_id))
        .join(other, and_(other.in_table == row.in_table, other.row_key == row.row_key))
        .where(row.change_set_id == change.id, other.change_set_id > change.id)
        .where(other.change_set_id.in_(_in_force().with_only_columns(ChangeSet.id)))
        .group_by(row.id)
    )
    return {one[0]: one[1] for one in found}


def _in_the_way(change: ChangeSet, row: RowChange, why: str, undo_first: int | None = None) -> FlybenchError:
    cure = f": flybench undo {undo_first}" if undo_first is not None else ""
    return FlybenchError(
        f"change {change.id}: cannot be undone, as {row.noun} {row.code} is no longer as it left it: {why}{cure}. "
        "Nothing was changed."
    )


def _put_back(session: Session, recorder: Recorder, change: ChangeSet, row: RowChange) -> None:
    table = Base.metadata.tables[row.in_table]
    keys = row.row_key.split(" ") if len(table.primary_key) > 1 else [row.row_key]
    is_row = and_(
        *(column == column.type.python_type(key) for column, key in zip(table.primary_key, keys, strict=True))
    )
    connection = session.connection()
    found = connection.execute(select(table).where(is_row)).mappings().first()
    there = None if found is None else dict(found)
    old = brought_back(table, row.old or {})
    if row.action is Action.REMOVED:
        if there is not None:
            raise _in_the_way(change, row, "there is another in its place by now")
        _refuse_taken(session, table, change, row, old)
        connection.execute(insert(table).values(**old))
        recorder.note(connection, table, Action.ADDED, old, None, old)
        return
    new = brought_back(table, row.new or {})
    if there is None:
        raise _in_the_way(change, row, "it is not there any more")
    if any(there[name] != value for name, value in new.items()):
        raise _in_the_way(change, row, "it was changed by something that kept no log")
    if row.action is Action.CHANGED:
        _refuse_taken(session, table, change, row, old)
        connection.execute(update(table).where(is_row).values(**old))
        recorder.note(connection, table, Action.CHANGED, there, {name: there[name] for name in old}, old)
    else:
        _refuse_used(session, table, there, change, row)
        _refuse_moved(session, table, there, change, row)
        recorder.note(connection, table, Action.REMOVED, there, there, None)
        connection.execute(delete(table).where(is_row))


def _refuse_taken(
    session: Session, table: Table, change: ChangeSet, row: RowChange, old: Mapping[str, Any]
) -> None:
    """Refuse to bring a code back that another thing has by now."""
    if "code" not in old or "code" not in table.c:
        return
    taken = session.connection().execute(select(table.c.id).where(table.c.code == old["code"])).first()
    if taken is not None:
        raise _in_the_way(change, row, f"another {row.noun} has the code {old['code']} by now")


def _refuse_used(
    session: Session, table: Table, there: Mapping[str, Any], change: ChangeSet, row: RowChange
) -> None:
    """Refuse to take a row away that others refer to by now."""
    recorder, connection = recorder_of(session), session.connection()
    for other, column, target in _referring(table):
        user = connection.execute(select(other).where(column == there[target]).limit(1)).mappings().first()
        if user is not None:
            noun, code = recorder.owners.of(connection, other.name, dict(user))
            raise _in_the_way(change, row, f"it is used by {noun} {code} by now")


def _referring(table: Table) -> Iterator[tuple[Table, Any, str]]:
    """Give every column that refers to a table: its own table, the column, and the name of what it refers to."""
    for other in Base.metadata.sorted_tables:
        if other.name in NOT_WRITTEN_DOWN:
            continue
        for key in other.foreign_keys:
            if key.column.table is table:
                yield other, key.parent, key.column.name


def _refuse_moved(
    session: Session, table: Table, there: Mapping[str, Any], change: ChangeSet, row: RowChange
) -> None:
    """Refuse to take a movement of stock away on which later ones, or a count, rest."""
    owner = _MOVEMENTS.get(table.name)
    if owner is None:
        return
    same = table.c[owner] == there[owner]
    later = session.connection().scalar(select(func.count()).where(same, table.c.id > there["id"]))
    if later:
        cure = "Undo what came later first, the newest first; flybench stock count sets right the stock, but no money"
        raise _in_the_way(change, row, f"its stock has moved since. {cure}")
