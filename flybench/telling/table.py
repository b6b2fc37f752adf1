"""Tables and paragraphs for a terminal: columns that stand under each other, and lines no wider than the screen."""

from __future__ import annotations

import shutil
import textwrap
import unicodedata
from collections.abc import Sequence

NARROW = 80
"""Columns of a terminal whose width is not known (the width of an ECMA-48 terminal, and of a page)."""
_GAP = "  "


def screen_width() -> int:
    """Return how many columns the terminal has: 80 where that is not known, as in a pipe."""
    return shutil.get_terminal_size((NARROW, 24)).columns


def paragraph(text: str, indent: str = "", hanging: str | None = None) -> str:
    """Return a text wrapped to the screen; lines after the first are indented by ``hanging``."""
    return textwrap.fill(
        text,
        max(screen_width(), 40),
        initial_indent=indent,
        subsequent_indent=indent if hanging is None else hanging,
        break_long_words=False,
        break_on_hyphens=False,
    )


def aligned(lines: Sequence[Sequence[str]], right: Sequence[bool]) -> list[str]:
    """Return lines whose cells stand under each other, wide letters counted as two."""
    widths = [max(_width(line[place]) for line in lines) for place in range(len(right))]
    return [
        _GAP.join(
            _padded(text, width, to_right) for text, width, to_right in zip(line, widths, right, strict=True)
        ).rstrip()
        for line in lines
    ]


def _width(text: str) -> int:
    marks = sum(unicodedata.combining(letter) > 0 for letter in text)
    return len(text) + sum(unicodedata.east_asian_width(letter) in "WF" for letter in text) - marks


def _padded(text: str, width: int, to_right: bool) -> str:
    room = " " * (width - _width(text))
    return room + text if to_right else text + room
