"""The make-list: materials, costs, remarks and machine form."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from flybench.catalog.search.cells import NOTHING
from flybench.shop.next_fly.make_list import FlyCost, MakeList
from flybench.telling.numbers import LONG_MM
from flybench.telling.table import fitted, paragraph
from flybench.telling.wording import counted, listed

_HEAD = ["material", "name", "needed", "on hand", "short", "unit", "cost"]
_RIGHT = [False, False, True, True, True, False, True]
_NAME = 1
"""The column that may be shortened."""
_LARGE = 1000
"""From here on decimals say nothing (judgement)."""


def lines(found: MakeList) -> list[str]:
    """Return a table of materials, and what the materials of a fly cost."""
    rows = [
        [
            line.code,
            line.name,
            *_amounts(line.needed, line.on_hand, line.short, line.unit),
            NOTHING if line.cost is None else f"{line.cost:.2f}",
        ]
        for line in found.lines
    ]
    return [
        *fitted([_HEAD, *rows], _RIGHT, _NAME),
        "",
        *(paragraph(_cost(fly)) for fly in found.flies),
        *_short(found),
    ]


def _amounts(needed: float | None, on_hand: float, short: float | None, unit: str) -> list[str]:
    """Return what is needed, on hand and short in one unit, and that unit: metres where any of them is a long one."""
    long = unit == "mm" and any(one is not None and one >= LONG_MM for one in (needed, on_hand, short))
    factor = 1e-3 if long else 1.0
    numbers = (None if one is None else one * factor for one in (needed, on_hand, short))
    return [*map(_number, numbers), "m" if long else unit]


def _short(found: MakeList) -> list[str]:
    short = [line.code for line in found.lines if line.short]
    return [paragraph(f"To be bought, as there is not enough: {listed(short)}.")] if short else []


def _cost(fly: FlyCost) -> str:
    flies = f"{fly.code}, {counted(fly.flies, 'fly', 'flies')}:"
    if fly.cost is None:
        return f"{flies} what the materials cost is not known, as none has a price and a pack."
    without = f", without {listed(fly.unknown)}" if fly.unknown else ""
    return f"{flies} the materials of one fly cost {fly.cost:.2f}{without}."


def _number(value: float | None) -> str:
    if value is None:
        return NOTHING
    return f"{value:.0f}" if value >= _LARGE else f"{value:.4g}"


def remarks(found: MakeList) -> list[str]:
    """Return what could not be worked out."""
    return found.remarks


def record(found: MakeList) -> dict[str, Any]:
    """Return the same in machine form."""
    return {
        "materials": [asdict(line) | {"short": line.short} for line in found.lines],
        "flies": [asdict(one) for one in found.flies],
        "remarks": found.remarks,
    }
