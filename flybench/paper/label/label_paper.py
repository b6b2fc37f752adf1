"""Label paper: where each label and the part of it that is safe to print on lie on the page; kinds known by name.

Coordinates: metres, x to the right and y downwards, from the top left corner of the paper.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from difflib import get_close_matches

from flybench.errors import BadValueError
from flybench.quantity import INCH, parse

MM = 0.001
"""One millimetre [m]."""
_UNITS = {"mm": MM, "in": INCH}
PRINTABLE = 5 * MM
"""What most printers cannot reach along each edge of the paper [m]; common practice, no source."""
_INSET = 1.5 * MM
"""White left inside each label's edge, for paper that is drawn in askew [m]; common practice, no source."""
_INSET_SHARE = 1 / 12
"""Labels lower than 18 mm leave this share of their shorter side white instead; judgement."""
_LEAST_SIDE = 5 * MM
"""The least side of a label or a page [m]; judgement: two lines of the least type need as much."""
_MOST_IN_A_LINE = 100
"""The most labels across or down; judgement: more would be below the least side on any paper."""
_SLACK = 1e-6
"""Sums of decimal sizes may miss the paper's edge by this much [m]; judgement."""
PAPERS = {
    "a4": (210 * MM, 297 * MM),
    "a5": (148 * MM, 210 * MM),
    "letter": (8.5 * INCH, 11 * INCH),
}
"""Paper width and height [m]: ISO 216 A4 and A5, ANSI/ASME Y14.1 Letter."""

_KNOWN = {
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
"""Paper, labels across x down and label size in about millimetres in the name; then label width and height and the
distances between labels across and down [mm], the whole centred on the paper. Common practice, no source: measure
your label paper."""
LABEL_PAPERS = tuple(_KNOWN)
"""The names of the known label papers."""
DEFAULT_LABEL_PAPER = "a4-3x8-70x37"
_TIMES = re.compile(r"\s*[x×X]\s*")
_UNIT = re.compile(r"[A-Za-z]+\s*$")


@dataclass(frozen=True)
class Area:
    """A rectangle on the page: its top left corner and its sides [m]."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class LabelPaper:
    """A page with labels in rows and columns, all of one size; every length in metres.

    ``margin_left`` and ``margin_top`` lie between the paper's edge and the first label, ``gap_across``
    and ``gap_down`` between neighbouring labels; ``unit`` ("mm" or "in") is that of messages. Raises BadValueError,
    which names the option of the command, where the labels do not fit.
    """

    page_width: float
    page_height: float
    columns: int
    rows: int
    label_width: float
    label_height: float
    margin_left: float
    margin_top: float
    gap_across: float = 0.0
    gap_down: float = 0.0
    unit: str = "mm"

    def __post_init__(self) -> None:
        """Refuse lengths that are no lengths and labels that do not fit the page."""
        for key, count in (("--across", self.columns), ("--down", self.rows)):
            if not 1 <= count <= _MOST_IN_A_LINE:
                limit = f"1 to {_MOST_IN_A_LINE}"
                raise BadValueError(key, f"{count} is outside {limit}", f"Give a whole number, {limit}")
        self._check_lengths("--paper", (self.page_width, self.page_height), _LEAST_SIDE)
        self._check_lengths("--label-size", (self.label_width, self.label_height), _LEAST_SIDE)
        self._check_lengths("--margin", (self.margin_left, self.margin_top), -_SLACK)
        self._check_lengths("--between", (self.gap_across, self.gap_down), 0.0)
        self._check_fit(
            "--across", self.columns, self.label_width, self.gap_across, self.margin_left, self.page_width
        )
        self._check_fit(
            "--down", self.rows, self.label_height, self.gap_down, self.margin_top, self.page_height
        )
        across, down = self.inset
        if min(self.label_width - 2 * across, self.label_height - 2 * down) < _LEAST_SIDE:
            size = self._pair((self.label_width, self.label_height))
            problem = (
                f"labels of {size} are too close to the edge: printers leave {self._length(PRINTABLE)} blank"
            )
            raise BadValueError("--label-size", problem, "Use larger labels or a wider margin")

    @property
    def per_page(self) -> int:
        """How many labels a page holds."""
        return self.columns * self.rows

    @property
    def inset(self) -> tuple[float, float]:
        """White inside each label's left and right, top and bottom edges [m], alike for the whole page.

        Labels along the paper's edge also stay ``PRINTABLE`` away from it; the others follow suit, so
        that all look the same.
        """
        least = min(_INSET, _INSET_SHARE * min(self.label_width, self.label_height))
        last = self.place(self.per_page - 1)
        right = self.page_width - last.x - last.width
        bottom = self.page_height - last.y - last.height
        across = PRINTABLE - min(self.margin_left, right)
        down = PRINTABLE - min(self.margin_top, bottom)
        return max(least, across), max(least, down)

    def place(self, number: int) -> Area:
        """Return where a label lies: 0 is the top left one, counted along the rows."""
        row, column = divmod(number % self.per_page, self.columns)
        return Area(
            self.margin_left + column * (self.label_width + self.gap_across),
            self.margin_top + row * (self.label_height + self.gap_down),
            self.label_width,
            self.label_height,
        )

    def safe(self, number: int) -> Area:
        """Return the part of a label that is printed on."""
        label = self.place(number)
        across, down = self.inset
        size = (label.width - 2 * across, label.height - 2 * down)
        return Area(label.x + across, label.y + down, *size)

    def _length(self, length: float) -> str:
        """Return a length [m] in the unit of messages."""
        return f"{length / _UNITS[self.unit]:.5g} {self.unit}"

    def _pair(self, sides: tuple[float, float]) -> str:
        """Return two lengths [m] as the user writes them."""
        return " x ".join(f"{side / _UNITS[self.unit]:.5g}" for side in sides) + f" {self.unit}"

    def _check_lengths(self, key: str, lengths: tuple[float, float], least: float) -> None:
        """Refuse lengths that are below ``least`` or not finite."""
        if not all(math.isfinite(length) and length >= least for length in lengths):
            limit = self._length(max(least, 0.0))
            problem = f"{self._pair(lengths)} is below {limit}"
            raise BadValueError(key, problem, f"Give {limit} or more both ways")

    def _check_fit(
        self, key: str, count: int, label: float, between: float, margin: float, page: float
    ) -> None:
        """Refuse labels that run over the far edge of the page."""
        need = margin + count * label + (count - 1) * between
        if need <= page + _SLACK:
            return
        labels = f"{count} labels of {self._length(label)} with {self._length(between)} between them"
        problem = (
            f"{labels} and a margin of {self._length(margin)} need {self._length(need)}, "
            f"and the paper has {self._length(page)}"
        )
        raise BadValueError(
            key, problem, "Use fewer or smaller labels, less room around them, or larger paper"
        )


def label_paper_named(name: str) -> LabelPaper:
    """Return a known label paper, or refuse a name that is not in ``LABEL_PAPERS``."""
    if name not in _KNOWN:
        close = get_close_matches(name, LABEL_PAPERS, n=1)
        first = f"Did you mean {close[0]}? " if close else ""
        cure = (
            f"{first}Use one of {', '.join(LABEL_PAPERS)}, "
            "or describe your own with --paper, --across, --down and --label-size"
        )
        raise BadValueError("--label-paper", f'"{name}" is not known', cure)
    paper, counts, _ = name.split("-")
    columns, rows = (int(count) for count in counts.split("x"))
    width, height, across, down = (length * MM for length in _KNOWN[name])
    return _centred(PAPERS[paper], columns, rows, (width, height), None, (across, down))


def label_paper_of_size(
    paper: str, columns: int, rows: int, label: str, margin: str | None = None, between: str = "0x0 mm"
) -> LabelPaper:
    """Return the label paper a user describes.

    Parameters: paper, a name in ``PAPERS`` or "210x297 mm"; columns and rows, labels across and down; label,
    "70x37 mm" (width x height); margin, "0x0.5 mm" (left x top), None to centre the labels; between, "2.5x0 mm"
    (across x down). Inches work too: "2.625x1 in". Raises BadValueError naming the option.
    """
    page = PAPERS.get(paper.strip().lower())
    if page is None:
        if not any(sign.isdigit() for sign in paper):
            cure = f'Use {", ".join(PAPERS)}, or its size such as "210x297 mm"'
            raise BadValueError("--paper", f'"{paper}" is not known', cure)
        page = parse_pair(paper, "--paper", "210x297 mm")
    edge = None if margin is None else parse_pair(margin, "--margin", "5x12.5 mm")
    size = parse_pair(label, "--label-size", "70x37 mm")
    apart = parse_pair(between, "--between", "2.5x0 mm")
    unit = "in" if re.search(r"in(ch|ches)?\s*$", label) else "mm"
    return _centred(page, columns, rows, size, edge, apart, unit)


def parse_pair(text: str, key: str, example: str) -> tuple[float, float]:
    """Return two lengths [m] written as "70x37 mm", "70 mm x 37 mm" or "2.625x1 in".

    Raises BadValueError naming the option ``key`` and giving the ``example``.

    >>> parse_pair("70x37 mm", "--label-size", "70x37 mm")
    (0.07, 0.037)
    """
    parts = _TIMES.split(text.strip())
    unit = _UNIT.search(parts[-1])
    cure = f'Write both with one unit, such as "{example}"'
    if "," in text:
        cure = f'Write decimals with a point, such as "{text.replace(",", ".")}"'
    if len(parts) != 2 or not all(parts) or unit is None:
        raise BadValueError(key, f'"{text}" is not two lengths', cure)
    first = parts[0] if _UNIT.search(parts[0]) else f"{parts[0]} {unit[0]}"
    try:
        return parse(first, "m", key), parse(parts[1], "m", key)
    except BadValueError:
        raise BadValueError(key, f'"{text}" is not two lengths', cure) from None


def _centred(
    page: tuple[float, float],
    columns: int,
    rows: int,
    label: tuple[float, float],
    margin: tuple[float, float] | None,
    between: tuple[float, float],
    unit: str = "mm",
) -> LabelPaper:
    """Return the label paper; without a margin the labels are centred on it."""
    if margin is None:
        used = (
            columns * label[0] + (columns - 1) * between[0],
            rows * label[1] + (rows - 1) * between[1],
        )
        margin = (max(0.0, page[0] - used[0]) / 2, max(0.0, page[1] - used[1]) / 2)
    return LabelPaper(*page, columns, rows, *label, *margin, *between, unit)
