"""Tables and paragraphs for a terminal: columns that stand under each other, and lines no wider than the screen."""

from __future__ import annotations

import shutil
import textwrap
import unicodedata
from collections.abc import Sequence

NARROW = 80
"""Columns of a terminal whose width is not known (the width of an ECMA-48 terminal, and of a page)."""
_GAP = "  "
_HELD_SPACE = "\x00"
_UNBROKEN = (" %", "± ", " ±", "k = 2", " cm/s", " in/s", " mm", " °C", " Hz", " pixels")
"""What is not parted at the end of a line."""
_FIRST_MARK = "\u0300"
"""The first letter that takes no column of its own, or two of them (Unicode: combining marks; wide letters come later)."""
_SHORTEST = 8
"""Letters of a name that must be left of it (judgement)."""


def screen_width() -> int:
    """Return how many columns the terminal has: 80 where that is not known, as in a pipe."""
    return shutil.get_terminal_size((NARROW, 24)).columns


def paragraph(text: str, indent: str = "", hanging: str | None = None, width: int | None = None) -> str:
    """Return a text wrapped to the screen, or to a width [columns]; lines after the first are indented by ``hanging``."""
    for unit in _UNBROKEN:
        text = text.replace(unit, unit.replace(" ", _HELD_SPACE))
    filled = textwrap.fill(
        text,
        width or max(screen_width(), 40),
        initial_indent=indent,
        subsequent_indent=indent if hanging is None else hanging,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return filled.replace(_HELD_SPACE, " ")


def aligned(lines: Sequence[Sequence[str]], right: Sequence[bool]) -> list[str]:
    """Return lines whose cells stand under each other, wide letters counted as two."""
    columns = [
        _under_each_other([line[place] for line in lines], to_right) for place, to_right in enumerate(right)
    ]
    return [_GAP.join(cells).rstrip() for cells in zip(*columns, strict=True)]


def filled_columns(
    rows: Sequence[Sequence[str]], right: Sequence[bool]
) -> tuple[list[list[str]], list[bool]]:
    """Return a head and rows without the columns in which no row has anything, and which of the rest stand to the right."""
    kept = [place for place in range(len(right)) if any(row[place] for row in rows[1:])]
    return [[row[place] for place in kept] for row in rows], [right[place] for place in kept]


def _under_each_other(cells: Sequence[str], to_right: bool) -> list[str]:
    """Return the cells of a column, filled up to the widest."""
    widths = list(map(_width, cells))
    most = max(widths)
    rooms = [" " * (most - width) for width in widths]
    return [room + text if to_right else text + room for text, room in zip(cells, rooms, strict=True)]


def _width(text: str) -> int:
    """Return how many columns of the screen a text takes: two for a wide letter, none for a mark above another."""
    if text.isascii() or max(text) < _FIRST_MARK:
        return len(text)
    marks = sum(unicodedata.combining(letter) > 0 for letter in text)
    return len(text) + sum(unicodedata.east_asian_width(letter) in "WF" for letter in text) - marks


def fitted(rows: Sequence[Sequence[str]], right: Sequence[bool], shorten: int | None = None) -> list[str]:
    """Return a head and rows under each other, no wider than the screen.

    Where they are too wide, the column ``shorten`` is cut, down to some letters; where that does not do, each row
    becomes an entry of its own: its first cell, and below it the others as "head: value".
    """
    if shorten is not None:
        rows = _shortened(rows, shorten, max(map(_width, aligned(rows, right))) - screen_width())
    lines = aligned(rows, right)
    if max(map(_width, lines)) <= screen_width():
        return lines
    head, *body = rows
    entries = []
    for row in body:
        cells = [f"{name}: {cell}" for name, cell in zip(head[1:], row[1:], strict=True) if cell]
        entries += [row[0], paragraph("; ".join(cells), "  ")]
    return [head[0], *entries]


def _shortened(rows: Sequence[Sequence[str]], place: int, excess: int) -> Sequence[Sequence[str]]:
    """Return rows with one column cut by so many letters, if enough of it is left."""
    most = max(_width(row[place]) for row in rows) - excess
    if excess <= 0 or most < _SHORTEST:
        return rows
    return [[_cut(cell, most) if at == place else cell for at, cell in enumerate(row)] for row in rows]


def _cut(text: str, most: int) -> str:
    if _width(text) <= most:
        return text
    while _width(text) >= most:
        text = text[:-1]
    return text.rstrip() + "…"
