"""What belongs to a thing, as tables under their headings: steps, parts, runs."""

from __future__ import annotations

from typing import Any

from flybench.jobs.shelf.details import Parts
from flybench.telling.table import aligned


def as_lines(parts: Parts) -> list[str]:
    """Return the lists as tables under their headings."""
    lines: list[str] = []
    for heading, rows in parts.items():
        names = list(rows[0])
        cells = [[_text(row[name]) for name in names] for row in rows]
        kept = [place for place in range(len(names)) if any(line[place] for line in cells)]
        body = [[line[place] for place in kept] for line in cells]
        right = [isinstance(rows[0][names[place]], float) for place in kept]
        lines += ["", f"{heading}:", *(f"  {line}" for line in aligned(body, right))]
    return lines


def _text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "counts" if value else "set aside"
    return f"{value:g}" if isinstance(value, float) else str(value)
