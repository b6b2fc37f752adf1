"""The lines of a label: what stands in them, how large, and which go first when there is no room."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from flybench.paper.label.content import Label
from flybench.paper.label.text import NO_BREAK, clean

NOT_MEASURED = "not measured"
PREDICTED = "predicted"
DROP_ORDER = ("note", "price", "bead", "hook", "band", "name")
"""What is left out, first to last, where a label has no room. Code and speed never are.

The QR code stays while code, speed, band and name fit beside it; otherwise it goes and the lines come back.
"""
_HELD = 20
"""A hook or bead of up to so many signs is not broken between its words."""


@dataclass(frozen=True)
class Row:
    """One text: its part of the label, its size relative to the others, and how it may be made to fit."""

    part: str
    text: str
    weight: float
    bold: bool = False
    most_lines: int = 1
    may_shorten: bool = False
    may_break: bool = True


@dataclass(frozen=True)
class Plan:
    """What is shown: the QR code or not, the parts in ``DROP_ORDER`` that are kept, texts in up to so many lines."""

    qr: bool
    parts: frozenset[str]
    most_lines: int = 2


def plans(label: Label) -> Iterator[Plan]:
    """Yield what to show, from everything down to code and speed alone; texts are shortened before one is left out."""
    there = [part for part in DROP_ORDER if clean(getattr(label, part) or "")]
    below_name = len([part for part in there if part not in {"band", "name"}])
    for qr, most_dropped in ((True, below_name), (False, len(there))):
        if qr and not label.qr:
            continue
        for dropped in range(most_dropped + 1):
            for most_lines in (2, 1):
                yield Plan(qr, frozenset(there[dropped:]), most_lines)


def head_rows(label: Label, plan: Plan) -> list[Row]:
    """Return code and name, which stand beside the band."""
    rows = [Row("code", clean(label.code), 2.0, bold=True, most_lines=2)]
    if "name" in plan.parts:
        rows.append(Row("name", clean(label.name), 1.15, most_lines=plan.most_lines, may_shorten=True))
    return rows


def speed_rows(label: Label, plan: Plan) -> list[Row]:
    """Return the speed in cm/s and in/s with its ±, or that there is none; a number is never broken."""
    if label.speed is None:
        return [Row("speed", NOT_MEASURED, 1.6, bold=True, most_lines=2, may_break=False)]
    metric, imperial = (line.replace(" ", NO_BREAK) for line in label.speed.lines)
    coverage = f"(k{NO_BREAK}={NO_BREAK}2)"
    if not label.speed.predicted:
        words = f"{imperial} {coverage}"
        return [
            Row("speed", metric, 1.7, bold=True, may_break=False),
            Row("speed", words, 1.0, most_lines=2, may_break=False),
        ]
    if plan.most_lines == 1:
        words = f"{imperial} {PREDICTED} {coverage}"
        return [
            Row("speed", metric, 1.7, bold=True, may_break=False),
            Row("speed", words, 1.0, bold=True, most_lines=2, may_break=False),
        ]
    return [
        Row("speed", metric, 1.7, bold=True, may_break=False),
        Row("speed", imperial, 1.0, may_break=False),
        Row("speed", f"{PREDICTED} {coverage}", 1.05, bold=True, most_lines=2, may_break=False),
    ]


def detail_rows(label: Label, plan: Plan) -> list[Row]:
    """Return hook and bead in one line."""
    texts = [clean(getattr(label, part)) for part in ("hook", "bead") if part in plan.parts]
    if not texts:
        return []
    held = [text.replace(" ", NO_BREAK) if len(text) <= _HELD else text for text in texts]
    return [
        Row(
            "hook and bead",
            f"{NO_BREAK}· ".join(held),
            0.95,
            most_lines=plan.most_lines,
            may_shorten=True,
            may_break=False,
        )
    ]


def foot_rows(label: Label, plan: Plan) -> list[Row]:
    """Return price and note."""
    rows = []
    if "price" in plan.parts and label.price:
        rows.append(Row("price", clean(label.price), 1.3, bold=True, most_lines=2, may_break=False))
    if "note" in plan.parts:
        rows.append(Row("note", clean(label.note), 0.85, most_lines=plan.most_lines, may_shorten=True))
    return rows
