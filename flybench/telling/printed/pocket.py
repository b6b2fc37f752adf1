"""The pocket page as plain text for a phone, and as machine form."""

from __future__ import annotations

from typing import Any

from flybench.paper.pocket_words import page_of
from flybench.shop.river.pocket import PocketTable
from flybench.telling.table import paragraph

PHONE = 44
"""Columns of a phone held upright [-] (judgement: small letters that can still be read)."""


def lines(table: PocketTable) -> list[str]:
    """Return the page as lines for a phone: the flies for each water, the box, what it holds for, what to mind."""
    return [wrapped for line in _lines(table) for wrapped in _wrapped(line)]


def _wrapped(line: str) -> list[str]:
    """Return a line in lines no wider than a phone, those after the first indented below it."""
    indent = " " * (len(line) - len(line.lstrip()))
    return paragraph(line.strip(), indent, f"{indent}  ", PHONE).split("\n") if line else [""]


def _lines(table: PocketTable) -> list[str]:
    page = page_of(table)
    lines = ["POINT FLY, AND HOW FAR UPSTREAM TO LAND IT"]
    cells = iter(page.cells)
    for depth in page.depths:
        lines.append(f"{depth} deep")
        lines += [f"  {speed}: {' '.join(next(cells).words())}" for speed in page.speeds]
    lines += [*page.notes, "", *page.reading, ""]
    lines.append("FLIES OF THE BOX: sink speed in cm/s (± is k = 2), weight in water in g")
    lines += [
        f"  {one.code}: {one.speed_words[0]} ± {one.speed_words[1]}, {one.weight_words}" for one in page.rows
    ]
    return [*lines, "", *page.holds_for, "", *page.cautions]


def record(table: PocketTable, remarks: list[str]) -> dict[str, Any]:
    """Return the machine form of the page."""
    waters = [(depth, speed) for depth in table.depths for speed in table.speeds]
    return {
        "waters": [
            {
                "depth": depth,
                "surface_speed": speed,
                "flies": [{"point": name, "land_upstream_m": way} for name, way in choice.flies],
                "more": choice.more,
                "flags": list(choice.flags),
            }
            for (depth, speed), choice in zip(waters, table.choices, strict=True)
        ],
        "flies": [
            {"name": fly.name, "speed_m_s": fly.speed.value, "weight_n": fly.weight.value}
            for fly in table.flies
        ],
        "flags": list(table.flags),
        "remarks": remarks,
    }
