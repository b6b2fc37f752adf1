"""Every change of a row is written down as the session sends it to the database, whatever command makes it."""

from __future__ import annotations

import getpass
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, FromClause, Table, and_, event, insert, inspect, literal, null, select
from sqlalchemy.orm import Mapper, Session, object_session

from flybench.catalog.changes.kept_values import is_large, kept
from flybench.catalog.changes.owners import Owners
from flybench.catalog.tables.base import NAME_LENGTH, Base
from flybench.catalog.tables.changes import ChangeSet, RowChange
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.vocabulary import Action
from flybench.errors import FlybenchError

NOT_WRITTEN_DOWN = frozenset(
    {"fly_speed", "variant_speed", "counted_run", "picture", "change_set", "row_change"}
)
"""Tables whose rows are worked out again from others, pictures, which are named by what they hold and stay, and the log."""
_WORKED_OUT_SETTING = "counted"
_KEY = "recorder"


class Recorder:
    """What one session changes, under the command that the user gave."""

    def __init__(self, session: Session, command: str) -> None:
        """Listen to a session that writes."""
        self._session, self._command = session, command
        self._set: int | None = None
        self._rows: list[dict[str, Any]] = []
        self.owners = Owners()
        session.info[_KEY] = self
        event.listen(session, "do_orm_execute", _refuse_unseen)

    def note(
        self,
        connection: Connection,
        table: Table,
        action: Action,
        row: Mapping[str, Any],
        old: Mapping[str, Any] | None,
        new: Mapping[str, Any] | None,
    ) -> None:
        """Write down one row; ``row`` holds its key and what it refers to."""
        if row.get("key") == _WORKED_OUT_SETTING:
            return
        noun, code = self.owners.of(connection, table.name, row)
        values = {
            "in_table": table.name,
            "row_key": " ".join(str(row[column.name]) for column in table.primary_key),
            "noun": noun,
            "code": code,
            "action": action,
            "old": None if old is None else kept(old),
            "new": None if new is None else kept(new),
        }
        self._rows.append(values)

    def note_flies_above(self, number: int) -> None:
        """Write down that all flies with a higher number than this were added; many at once, without their values."""
        columns = RowChange.__table__.c
        new = select(
            literal(self.change_set(), columns.change_set_id.type),
            literal(Fly.__tablename__, columns.in_table.type),
            Fly.id.cast(columns.row_key.type),
            literal(Fly.__tablename__, columns.noun.type),
            Fly.code,
            literal(Action.ADDED, columns.action.type),
            null(),
            null(),
        ).where(Fly.id > number)
        names = ["change_set_id", "in_table", "row_key", "noun", "code", "action", "old", "new"]
        self._session.connection().execute(insert(RowChange.__table__).from_select(names, new))  # type: ignore[arg-type]

    def change_set(self) -> int:
        """Return the number under which all changes of the session are kept; none is taken before one is needed."""
        if self._set is None:
            values = {"at": datetime.now(UTC), "who": _who(), "command": self._command[:NAME_LENGTH]}
            made = self._session.connection().execute(insert(ChangeSet).values(**values))
            assert made.inserted_primary_key is not None
            self._set = int(made.inserted_primary_key[0])
        return self._set

    def rows(self) -> list[RowChange]:
        """Return what was written down so far and is not sent yet."""
        return [RowChange(**row) for row in self._rows]

    def finish(self) -> None:
        """Send what was written down to the database, in the transaction that made the changes."""
        self._session.flush()
        if self._rows:
            number = self.change_set()
            rows = [{"change_set_id": number, **row} for row in self._rows]
            self._session.connection().execute(insert(RowChange.__table__), rows)  # type: ignore[arg-type]
            self._rows = []


def recorder_of(session: Session) -> Recorder:
    """Return the recorder of a session that writes."""
    found: Recorder = session.info[_KEY]
    return found


def _who() -> str:
    try:
        return getpass.getuser()[:NAME_LENGTH]
    except (OSError, KeyError, ImportError):  # no name is known for the user of this process
        return "unknown"


def _refuse_unseen(state: Any) -> None:
    """Refuse statements that change many rows behind the recorder's back."""
    if state.is_insert or state.is_update or state.is_delete:
        raise FlybenchError(
            "A change of many rows at once was not written down. This is a fault of flybench."
        )


@event.listens_for(Base, "after_insert", propagate=True)
def _added(mapper: Mapper[Any], connection: Connection, target: Any) -> None:
    recorder = _listening(target)
    if recorder is None:
        return
    table = _table(mapper.local_table)
    values = {column.name: inspect(target).dict.get(column.name) for column in table.columns}
    shown = {
        name: value for name, value in values.items() if value is not None and not is_large(table.c[name])
    }
    recorder.note(connection, table, Action.ADDED, values, None, shown)


@event.listens_for(Base, "before_update", propagate=True)
def _changed(mapper: Mapper[Any], connection: Connection, target: Any) -> None:
    recorder = _listening(target)
    if recorder is None:
        return
    table, state = _table(mapper.local_table), inspect(target)
    histories = {column.name: state.attrs[column.name].history for column in table.columns}
    changed = [name for name, history in histories.items() if history.has_changes()]
    if not changed:
        return
    old = {name: histories[name].deleted[0] for name in changed if histories[name].deleted}
    before = {}
    if len(old) < len(changed):
        before = _as_stored(connection, table, target)
    old |= {name: before[name] for name in changed if name not in old}
    new = {name: (histories[name].added or [None])[0] for name in changed}
    moved = [name for name in changed if old[name] != new[name]]
    if moved:
        values = {
            column.name: getattr(target, column.name) for column in table.columns if not is_large(column)
        }
        recorder.note(
            connection,
            table,
            Action.CHANGED,
            values,
            {name: old[name] for name in moved},
            {name: new[name] for name in moved if not is_large(table.c[name])},
        )


@event.listens_for(Base, "before_delete", propagate=True)
def _removed(mapper: Mapper[Any], connection: Connection, target: Any) -> None:
    recorder = _listening(target)
    if recorder is not None:
        table = _table(mapper.local_table)
        values = _as_stored(connection, table, target)
        recorder.note(connection, table, Action.REMOVED, values, values, None)


def _listening(target: Any) -> Recorder | None:
    if target.__tablename__ in NOT_WRITTEN_DOWN:
        return None
    session = object_session(target)
    return None if session is None else session.info.get(_KEY)


def _table(clause: FromClause) -> Table:
    assert isinstance(clause, Table)
    return clause


def _as_stored(connection: Connection, table: Table, target: Any) -> dict[str, Any]:
    """Return a row as the database has it."""
    key = zip(table.primary_key, inspect(target).identity, strict=True)
    wanted = and_(*(column == value for column, value in key))
    return dict(connection.execute(select(table).where(wanted)).mappings().one())
