"""Changes in words and as machine form: who changed what, when, and how."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from typing import Any

from flybench.catalog.search.fields import Field
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.tables.vocabulary import Action
from flybench.jobs.history.changes import Change, RowNote
from flybench.quantity import COVERAGE_FACTOR
from flybench.telling.table import paragraph

MOST_ROWS = 6
"""Lines of one change in a list (judgement); the rest is counted."""
_LONGEST_TEXT = 40
"""Letters of a text before and after a change (judgement: half a screen)."""
_PARTS = {"run_drop": "drop", "variant_change": "change of step", "bench_run": "run"}
_WEIGHED = {("bead", "weighed_kg"), ("bead", "weighed_u_kg"), ("hook", "mass_kg")}
"""Tables and columns that are shown as the mass of a material."""
_QUIET = {"bead": ("mass_kg", "mass_u_kg")}
"""Columns that follow from others and are not named."""


def lines(changes: Sequence[Change], everything: bool = False) -> list[str]:
    """Return changes, newest first: a line that says when, who and by which command, below it what was changed."""
    found = []
    for one in changes:
        found.append(_head(one))
        texts = row_lines(one.rows)
        shown = texts if everything or len(texts) <= MOST_ROWS else texts[: MOST_ROWS - 1]
        found += [paragraph(text, "  ", "    ") for text in shown]
        if len(shown) < len(texts):
            found.append(f"  and {len(texts) - len(shown)} more")
    return found


def _head(one: Change) -> str:
    ending = "" if one.undoes is None else f" of change {one.undoes}"
    if one.undone_by is not None:
        ending += f" (undone by change {one.undone_by})"
    when = one.at.astimezone().strftime("%Y-%m-%d %H:%M")
    return f"{one.number}  {when}  {one.who}: {one.command}{ending}"


def row_lines(rows: Sequence[RowNote]) -> list[str]:
    """Return what was done, a line for each row: "variant M-12: price 2.20 -> 2.40"."""
    return [line for row in rows if (line := _line(row))]


def _line(row: RowNote) -> str:
    thing = f"{row.noun} {row.code}"
    if row.table.endswith("movement"):
        values, verb = (row.old, "removed: ") if row.action is Action.REMOVED else (row.new, "")
        return f"{thing}: {verb}stock {values['amount']:+g}, {_text(values['why'])}"
    if row.table == "setting":
        return f"setting {row.code}: {_shown(row.old.get('value'))} -> {_shown(row.new.get('value'))}"
    what = _part(row)
    if row.action is not Action.CHANGED:
        return f"{thing}: {what}{row.action.value}"
    changed = "; ".join(_value(row, name) for name in row.old if name not in _QUIET.get(row.table, ()))
    return f"{thing}: {what}{changed}" if changed else ""


def _part(row: RowNote) -> str:
    """Return which part of a thing a row is, "" where it is the thing itself."""
    if row.table in (row.noun, "bench_run", "hook", "bead"):
        return ""
    values = row.old if row.action is Action.REMOVED else row.new
    name = values.get("name") or values.get("position") or values.get("number") or ""
    return f"{_PARTS.get(row.table, row.table)} {name}".strip() + " "


def _value(row: RowNote, column: str) -> str:
    old, new = row.old[column], row.new.get(column)
    if column not in row.new:
        return f"{column.replace('_', ' ')} replaced"
    field, spread = _field(row, column)
    if field is None:
        return f"{column.replace('_', ' ')} {_shown(old)} -> {_shown(new)}"
    if field.display is None:
        return f"{field.name} {_shown(old)} -> {_shown(new)}"
    factor = (COVERAGE_FACTOR if spread else 1.0) / field.display.factor
    before, after = (_shown(None if one is None else one * factor) for one in (old, new))
    return f"{'± of ' if spread else ''}{field.name} {before} -> {after} {field.display.unit}"


def _field(row: RowNote, column: str) -> tuple[Field | None, bool]:
    """Return the field that a column is shown as, and whether the column holds its uncertainty."""
    if row.noun not in NOUNS:
        return None, False
    fields = NOUNS[row.noun].fields
    if (row.table, column) in _WEIGHED:
        return fields["mass"], column.endswith("_u_kg")
    place = f"{row.table}.{column}" if row.table in ("hook", "bead") else column
    for field in fields.values():
        if field.attribute == place:
            return field, False
        if field.doubt_attribute == place:
            return field, True
    return None, False


def _shown(value: Any) -> str:
    text = " ".join(_text(value).split())
    return text if len(text) <= _LONGEST_TEXT else f"{text[: _LONGEST_TEXT - 1]}…"


def _text(value: Any) -> str:
    if value is None or value == "":
        return "nothing"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def record(changes: Sequence[Change]) -> list[dict[str, Any]]:
    """Return the machine form of changes: values by column, SI units in the names."""
    return [
        {
            "number": one.number,
            "at": one.at.isoformat(timespec="seconds"),
            "who": one.who,
            "command": one.command,
            "undone_by": one.undone_by,
            "undoes": one.undoes,
            "rows": [
                {
                    "noun": row.noun,
                    "code": row.code,
                    "table": row.table,
                    "action": row.action.value,
                    "old": _machine(row.old),
                    "new": _machine(row.new),
                }
                for row in one.rows
            ],
        }
        for one in changes
    ]


def _machine(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: _plain(value) for name, value in values.items()}


def _plain(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, (date, datetime)):
        return value.isoformat()
    return str(value) if isinstance(value, Decimal) else value
