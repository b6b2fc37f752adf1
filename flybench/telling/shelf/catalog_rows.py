"""Rows of the catalog: lists as tables that fit the screen, one row in full with what belongs to it, machine forms."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flybench.catalog.search.cells import NOTHING, as_record, cell
from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.search.select import Page, Row, field_of
from flybench.jobs.shelf.details import Details
from flybench.telling.flags import FLAGS
from flybench.telling.numbers import plus_minus
from flybench.telling.table import aligned, paragraph, screen_width
from flybench.telling.wording import counted, listed

LONGEST_CELL = 40
"""Letters of a text in a list (judgement: half a screen); `show` prints it whole."""
_NUMBERS = ("quantity", "count", "number", "money")
_HEADINGS = {
    "steps": "Steps",
    "photos": "Photos",
    "variants": "Variants",
    "takes": "Materials of one fly",
    "flies": "Tied flies",
    "runs": "Bench runs",
    "each_drop": "Drops",
    "doubts": "What the flags mean",
}


@dataclass(frozen=True)
class RowTable:
    """A list as text: its head and a line a row, and the columns that the screen has no room for."""

    lines: list[str]
    left_out: list[str]


def records(noun: Noun, rows: Sequence[Row]) -> list[dict[str, Any]]:
    """Return the machine form of a list: SI units, null where unknown."""
    return [as_record(noun, row) for row in rows]


def record(noun: Noun, row: Row, details: Details | None = None) -> dict[str, Any]:
    """Return the machine form of one row, with what belongs to it."""
    return {**as_record(noun, row), **(details or {})}


def counted_rows(noun: Noun, count: int) -> str:
    """Return a number of things in words: "3 flies"."""
    return counted(count, noun.name, noun.plural)


def row_table(noun: Noun, rows: Sequence[Row], columns: Sequence[str], fit: bool = False) -> RowTable:
    """Return a table: units in its head, numbers to the right, columns without any value left out.

    ``fit`` leaves out as many columns from the right as the screen has no room for.
    """
    fields = [field_of(noun, name) for name in columns]
    texts = {field.name: [_short(cell(noun, field, row)) for row in rows] for field in fields}
    kept = [field for field in fields if any(text != NOTHING for text in texts[field.name])]
    left_out: list[str] = []
    lines = _aligned(kept, texts)
    while fit and len(kept) > 1 and max(map(len, lines)) > screen_width():
        left_out.insert(0, kept.pop().name)
        lines = _aligned(kept, texts)
    return RowTable(lines, left_out)


def _aligned(fields: Sequence[Field], texts: Mapping[str, list[str]]) -> list[str]:
    heads = [f"{field.name}, {field.display.unit}" if field.display else field.name for field in fields]
    rows = zip(*(texts[field.name] for field in fields), strict=True)
    return aligned([heads, *rows], [field.kind in _NUMBERS for field in fields])


def _short(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= LONGEST_CELL else f"{line[: LONGEST_CELL - 1]}…"


def remarks(noun: Noun, page: Page, left_out: Sequence[str] = ()) -> list[str]:
    """Return what a list does not show: that nothing was found, columns without room, rows beyond the limit."""
    remarks = []
    if not page.rows:
        remarks.append(f"No {noun.plural} found.")
    if left_out:
        word = "column" if len(left_out) == 1 else "columns"
        remarks.append(
            f"No room for the {word} {listed(left_out)}. Choose columns with --columns, or widen the window."
        )
    if page.total > len(page.rows):
        more = counted_rows(noun, page.total - len(page.rows))
        remarks.append(f"{more} more found but not shown. Raise --limit, or narrow the query.")
    return remarks


def by_hand(numbers: Sequence[int]) -> list[str]:
    """Return that these runs were timed by hand, and do not count."""
    runs = listed([f"run {number}" for number in numbers])
    return [f"Timed by hand, and not counted while a filmed run of the same fly is: {runs}."] if runs else []


def lines(noun: Noun, row: Row, details: Details | None = None) -> list[str]:
    """Return one row as lines "field  value", those without a value left out, then what belongs to it."""
    shown = [field for field in noun.fields.values() if not field.hidden]
    pairs = [(field.name, cell(noun, field, row, with_unit=True)) for field in shown]
    pairs = [pair for pair in pairs if pair[1] != NOTHING]
    width = max(len(name) for name, _ in pairs) + 2
    lines = [line for name, text in pairs for line in _wrapped(f"{name:<{width}}", text)]
    for heading, rows in _told(row, details or {}).items():
        lines += ["", f"{_HEADINGS[heading]}:", *_detail_lines(rows)]
    return lines


def _told(row: Row, details: Details) -> Details:
    """Return details as they are told: of a run each drop with its speed, and what its flags mean."""
    if "each_drop" not in details:
        return details
    names = [*(row.get("flags") or []), *(flag for drop in details["each_drop"] for flag in drop["flags"])]
    told = {**details, "each_drop": [_drop(drop) for drop in details["each_drop"]]}
    known = {name: FLAGS[name] for name in dict.fromkeys(names) if name in FLAGS}
    doubts = [{"flag": name, "meaning": f"{flag.meaning} {flag.cure}"} for name, flag in known.items()]
    return {**told, "doubts": doubts} if doubts else told


def _drop(drop: Mapping[str, Any]) -> dict[str, Any]:
    speed, doubt = drop["sink_speed_m_s"], drop["uncertainty_m_s"]
    if speed is None:
        text = "no speed"
    elif doubt:
        text = f"{plus_minus(speed, doubt, 100)} cm/s"
    else:
        text = f"{speed * 100:.3g} cm/s"
    left_out = "" if drop["used"] else "left out"
    return {"number": drop["number"], "speed": text, "used": left_out, "flags": ", ".join(drop["flags"])}


def _wrapped(before: str, text: str) -> list[str]:
    """Return a text behind what stands before it, each of its lines wrapped under the first."""
    under = " " * len(before)
    lines: list[str] = []
    for number, line in enumerate(text.splitlines()):
        lines += paragraph(line, under if number else before, under).splitlines() or [""]
    return [line.rstrip() for line in lines] or [before.rstrip()]


def _detail_lines(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return rows as a table without a head, columns without any value left out, the last one wrapped."""
    names = [name for name in rows[0] if any(row[name] not in (None, "") for row in rows)]
    right = [isinstance(rows[0][name], float) for name in names[:-1]]
    firsts = aligned([[_text(row[name]) for name in names[:-1]] for row in rows], right) if right else []
    width = max(map(len, firsts), default=0)
    lines: list[str] = []
    for place, row in enumerate(rows):
        before = f"  {firsts[place]:<{width}}  " if firsts else "  "
        lines += _wrapped(before, _text(row[names[-1]]))
    return lines


def _text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "counts" if value else "set aside"
    return f"{value:g}" if isinstance(value, float) else str(value)
