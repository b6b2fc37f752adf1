"""Label sheets by name, and sheets as the user describes them."""

from __future__ import annotations

import re

from flybench.errors import BadValueError
from flybench.paper.label.sheet import MM, LabelSheet
from flybench.quantity import INCH, parse

PAPERS = {
    "a4": (210 * MM, 297 * MM),
    "a5": (148 * MM, 210 * MM),
    "letter": (8.5 * INCH, 11 * INCH),
}
"""Paper width and height [m]: ISO 216 A4 and A5, ANSI/ASME Y14.1 Letter."""

_PRESETS = {
    "a4-2x4-99x68": (99.1, 67.7, 2.5, 0.0),
    "a4-2x7-99x38": (99.1, 38.1, 2.5, 0.0),
    "a4-3x8-70x37": (70.0, 37.0, 0.0, 0.0),
    "a4-3x7-64x38": (63.5, 38.1, 2.5, 0.0),
    "a4-3x9-64x30": (63.5, 29.6, 2.5, 0.0),
    "a4-4x10-49x25": (48.5, 25.4, 0.0, 0.0),
    "a4-5x13-38x21": (38.1, 21.2, 2.5, 0.0),
    "a4-9x22-20x12": (20.0, 12.0, 0.0, 0.0),
    "a5-2x5-65x38": (65.0, 38.0, 2.5, 0.0),
    "letter-2x5-102x51": (4 * 25.4, 2 * 25.4, 4.7625, 0.0),
    "letter-2x7-102x34": (4 * 25.4, 25.4 * 4 / 3, 4.7625, 0.0),
    "letter-3x10-66x25": (2.625 * 25.4, 25.4, 3.175, 0.0),
    "letter-4x20-44x13": (1.75 * 25.4, 12.7, 7.62, 0.0),
}
"""Paper, columns x rows and label size in about millimetres in the name; then label width and height and the gaps across
and down [mm], the whole centred on the paper. Common practice, no source: measure your sheet."""
PRESETS = tuple(_PRESETS)
"""The names of the known sheets."""
DEFAULT = "a4-3x8-70x37"
_TIMES = re.compile(r"\s*[x×X]\s*")
_UNIT = re.compile(r"[A-Za-z]+\s*$")


def sheet_named(name: str) -> LabelSheet:
    """Return a known sheet, or refuse a name that is not in ``PRESETS``."""
    if name not in _PRESETS:
        cure = f"Use one of {', '.join(PRESETS)}, or describe the sheet with paper, rows, columns and label."
        raise BadValueError("sheet", f'"{name}" is not known', cure)
    paper, counts, _ = name.split("-")
    columns, rows = (int(count) for count in counts.split("x"))
    width, height, across, down = (length * MM for length in _PRESETS[name])
    return _centred(PAPERS[paper], columns, rows, (width, height), None, (across, down))


def custom_sheet(
    paper: str, columns: int, rows: int, label: str, margin: str | None = None, gap: str = "0x0 mm"
) -> LabelSheet:
    """Return the sheet a user describes.

    Parameters: paper, a name in ``PAPERS`` or "210x297 mm"; label, "70x37 mm" (width x height);
    margin, "0x0.5 mm" (left x top), None to centre the labels; gap, "2.5x0 mm" (across x down).
    Inches work too: "2.625x1 in". Raises BadValueError naming the option.
    """
    page = PAPERS.get(paper.strip().lower())
    if page is None:
        if not any(sign.isdigit() for sign in paper):
            cure = f'Use {", ".join(PAPERS)}, or its size such as "210x297 mm".'
            raise BadValueError("paper", f'"{paper}" is not known', cure)
        page = parse_pair(paper, "paper")
    edge = None if margin is None else parse_pair(margin, "margin")
    return _centred(page, columns, rows, parse_pair(label, "label"), edge, parse_pair(gap, "gap"))


def parse_pair(text: str, key: str) -> tuple[float, float]:
    """Return two lengths [m] written as "70x37 mm", "70 mm x 37 mm" or "2.625x1 in".

    >>> parse_pair("70x37 mm", "label")
    (0.07, 0.037)
    """
    parts = _TIMES.split(text.strip())
    unit = _UNIT.search(parts[-1])
    if len(parts) != 2 or not all(parts) or unit is None:
        raise BadValueError(
            key, f'"{text}" is not two lengths', 'Write both with one unit, such as "70x37 mm".'
        )
    first = parts[0] if _UNIT.search(parts[0]) else f"{parts[0]} {unit[0]}"
    return parse(first, "m", key), parse(parts[1], "m", key)


def _centred(
    page: tuple[float, float],
    columns: int,
    rows: int,
    label: tuple[float, float],
    margin: tuple[float, float] | None,
    gap: tuple[float, float],
) -> LabelSheet:
    """Return the sheet; without a margin the labels are centred on the paper."""
    if margin is None:
        used = (columns * label[0] + (columns - 1) * gap[0], rows * label[1] + (rows - 1) * gap[1])
        margin = (max(0.0, page[0] - used[0]) / 2, max(0.0, page[1] - used[1]) / 2)
    return LabelSheet(*page, columns, rows, *label, *margin, *gap)
