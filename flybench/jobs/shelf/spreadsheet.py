"""CSV for spreadsheets: out with formulas made harmless, in all or nothing.

Columns are fields with the user's unit behind their name (mass_mg); NAME_pm_UNIT is the expanded uncertainty
(k = 2). Text that a spreadsheet would take for a formula gets an apostrophe in front on the way out, which
is taken off again on the way in.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import numpy as np

from flybench.catalog.search.cells import as_record
from flybench.catalog.search.fields import Field, Noun
from flybench.catalog.search.select import Row
from flybench.catalog.shelf import rows as shelf
from flybench.catalog.shelf.lines_of_files import adding_order, row_at
from flybench.catalog.shelf.many_flies import insert_flies
from flybench.catalog.shelf.values import check_limits, decimal_comma, plain_number, read_value
from flybench.catalog.store.open import Catalog
from flybench.errors import BadValueError, FlybenchError
from flybench.files import whole_file
from flybench.jobs.csv_lines import read_lines
from flybench.jobs.shelf.rows import work_out
from flybench.quantity import COVERAGE_FACTOR

_DIGITS = (12, 15, 16, 17)
"""Digits tried for a number; a float is always told by 17 (IEEE 754)."""
_NUMBER_LIMIT = 1e12
"""Numbers below this are read, in the column's unit (judgement: beyond any value of a fly)."""
_DECIMAL_COMMA = re.compile(r"[+-]?(?:[0-9]+,(?:[0-9]{1,2}|[0-9]{4,})|0,[0-9]+)")
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "'")
"""Letters that begin a formula (OWASP, "CSV Injection"), and the apostrophe that is put before them."""


@dataclass(frozen=True)
class _Column:
    """One column of a file: the field it fills, and whether it is that field's uncertainty."""

    name: str
    field: Field
    spread: bool = False


@dataclass(frozen=True)
class Columns:
    """What a file holds: stored values by (field, is its uncertainty), the number of rows, and the names of its columns that
    are not read, since they are worked out or kept by other commands."""

    values: Mapping[tuple[str, bool], list[Any]]
    count: int
    not_read: tuple[str, ...]


def column_names(noun: Noun, settable_only: bool = False) -> dict[str, _Column]:
    """Return the columns that a noun's CSV may have, in order."""
    columns: dict[str, _Column] = {}
    for field in noun.fields.values():
        if field.hidden or (settable_only and not field.settable):
            continue
        columns[field.csv_name] = _Column(field.csv_name, field)
        if field.plus_minus and field.display:
            name = f"{field.name.replace('-', '_')}_pm_{field.display.suffix}"
            columns[name] = _Column(name, field, spread=True)
    return columns


def as_csv(noun: Noun, rows: Sequence[Row]) -> str:
    """Return rows as CSV (RFC 4180, UTF-8); a text that looks like a formula gets an apostrophe in front."""
    columns = column_names(noun).values()
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow([column.name for column in columns])
    for row in rows:
        writer.writerow([_cell(noun, column, row) for column in columns])
    return out.getvalue()


def write_csv(noun: Noun, rows: Sequence[Row], path: Path) -> None:
    """Write rows as a CSV file, whole or not at all; a file of that name is replaced.

    Raises FlybenchError where it cannot be written, or is a database.
    """
    with whole_file(path) as part:
        part.write_bytes(as_csv(noun, rows).encode())


def _cell(noun: Noun, column: _Column, row: Row) -> str:
    field = noun.fields[
        column.field.given_as or column.field.name
    ]  # what was worked out is not to be read back
    value = row.get(field.plus_minus if column.spread else field.name)
    if value is None:
        return ""
    if field.display is not None:
        return _number_text(COVERAGE_FACTOR * value if column.spread else value, field.display.factor)
    plain = as_record(noun, {field.name: value})[field.json_name]
    if isinstance(plain, (int, float)):
        return _number_text(plain, 1.0) if isinstance(plain, float) else str(plain)
    return neutral(", ".join(plain) if isinstance(plain, list) else str(plain))


def _number_text(value: float, factor: float) -> str:
    """Return a value [SI] in the column's unit, in as many digits as it takes to be read back as it is."""
    for digits in _DIGITS:
        text = f"{value / factor:.{digits}g}"
        if float(text) * factor == value:
            return text
    return text


def neutral(text: str) -> str:
    """Return text that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(_FORMULA) else text


def _plain(text: str) -> str:
    """Return text as it was before ``neutral``."""
    return text[1:] if text.startswith("'") and text[1:].startswith(_FORMULA) else text


def import_csv(catalog: Catalog, noun: Noun, path: Path) -> int:
    """Add every row of a CSV file, or none; returns how many.

    Raises FlybenchError naming the file, line and column of what cannot be used.
    """
    read = columns_of(noun, path)
    if noun.name == "fly":
        with catalog.writing() as session:
            return insert_flies(session, str(path), read.values)
    return _add_each(catalog, noun, path, read)


def columns_of(noun: Noun, path: Path, all_needed: bool = True) -> Columns:
    """Return the columns of a file. Without ``all_needed`` only the codes must be there.

    Raises FlybenchError naming the file, line and column of what cannot be used.
    """
    lines = read_lines(path)
    columns = _header(noun, path, lines)
    texts = _by_column(path, lines[1:], len(columns))
    used = [(column, cells) for column, cells in zip(columns, texts, strict=True) if column is not None]
    _check_needed(noun, path, [column for column, _ in used], all_needed)
    values = {
        (column.field.name, column.spread): _converted(path, column, cells, all_needed)
        for column, cells in used
    }
    not_read = (text.strip() for text, column in zip(lines[0], columns, strict=True) if column is None)
    return Columns(values, len(lines) - 1, tuple(not_read))


def _header(noun: Noun, path: Path, lines: list[list[str]]) -> list[_Column | None]:
    """Return the column of each place; None where it is worked out and not read."""
    known, settable = column_names(noun), column_names(noun, settable_only=True)
    columns: list[_Column | None] = []
    for text in lines[0]:
        name = text.strip()
        if name not in known:
            close = get_close_matches(name, list(settable), n=1)
            cure = f"Did you mean {close[0]}?" if close else f"Columns: {', '.join(settable)}."
            raise FlybenchError(f'{path}, line 1: "{name}" is not a column of {noun.plural}. {cure}')
        columns.append(settable.get(name))
    names = [column.name for column in columns if column is not None]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice:
        raise FlybenchError(f"{path}, line 1: the column {twice} is there twice. Keep one of them.")
    return columns


def _by_column(path: Path, lines: list[list[str]], width: int) -> list[list[str]]:
    if not set(map(len, lines)) <= {width}:
        number, line = next((n, one) for n, one in enumerate(lines, start=2) if len(one) != width)
        cells = f"{len(line)} {'cell' if len(line) == 1 else 'cells'}"
        raise FlybenchError(
            f"{path}, line {number}: has {cells}, but the first line has {width}. Correct that line."
        )
    return [[line[place] for line in lines] for place in range(width)]


def _check_needed(noun: Noun, path: Path, columns: list[_Column], all_needed: bool) -> None:
    given = {column.field.name for column in columns}
    needed = [
        field for field in noun.fields.values() if field.needed and (all_needed or field.name == noun.key)
    ]
    lacking = [field.csv_name for field in needed if field.name not in given]
    if lacking:
        raise FlybenchError(
            f"{path}, line 1: the column {lacking[0]} is missing. Add it, with a value in every line."
        )


def _converted(path: Path, column: _Column, cells: Sequence[str], all_needed: bool) -> list[Any]:
    """Return the stored values of a column; equal texts are read once."""
    quick = _numbers(column, cells)
    if quick is not None:
        return quick
    values: dict[str, Any] = dict.fromkeys(cells)
    for text in values:
        try:
            values[text] = _value(column, _plain(text)) if all_needed or text.strip() else None
        except BadValueError as error:
            reason = str(error).split(": ", 1)[1]
            line = cells.index(text) + 2
            raise FlybenchError(f"{path}, line {line}, {column.name}: {reason}") from error
    return [values[text] for text in cells]


def _numbers(column: _Column, cells: Sequence[str]) -> list[float] | None:
    """Return a whole column of good numbers at once, or None where any cell needs a closer look."""
    field = column.field
    if field.display is None or column.spread or field.high is None:
        return None
    try:
        values = np.array(list(map(float, cells))) * field.display.factor
    except ValueError:
        return None
    if any("_" in cell for cell in cells):  # which Python reads as part of a number
        return None
    good = (values >= (field.low or 0.0)) & (values <= field.high)
    return values.tolist() if good.all() else None


def _pointed(text: str) -> str:
    """Return a number with a point for a decimal comma; one that may be for thousands is left, and refused."""
    return text.replace(",", ".") if _DECIMAL_COMMA.fullmatch(text.strip()) else text


def _value(column: _Column, text: str) -> Any:
    field = column.field
    if field.display is not None or field.kind in ("number", "money"):
        text = _pointed(text)
    if field.display is None:
        return read_value(field, text)
    if not text.strip():
        return None
    number = plain_number(text)
    if not abs(number) < _NUMBER_LIMIT:
        raise BadValueError(
            field.name,
            f'"{text}" is not a number',
            f"Write it in {field.display.unit}, such as 2.8{decimal_comma(text)}",
        )
    value = number * field.display.factor
    if column.spread:
        if value < 0:
            raise BadValueError(
                field.name, f"{text} is below zero, and no uncertainty is", "Give zero or more"
            )
        return value / COVERAGE_FACTOR
    check_limits(field, value, text)
    return value


def _add_each(catalog: Catalog, noun: Noun, path: Path, read: Columns) -> int:
    with catalog.writing() as session:
        for place in adding_order(noun, read.values, read.count):
            try:
                row = shelf.add(session, noun, row_at(noun, read.values, place))
                work_out(session, row)
            except BadValueError as error:
                raise FlybenchError(f"{path}, line {place + 2}, {error}") from error
    return read.count
