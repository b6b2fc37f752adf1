"""A sheet of labels: where each label and the part of it that is safe to print on lie on the page.

Coordinates: metres, x to the right and y downwards, from the top left corner of the paper.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from flybench.errors import BadValueError

MM = 0.001
PRINTABLE = 5 * MM
"""What most printers cannot reach along each edge of the paper [m]; common practice, no source."""
_INSET = 1.5 * MM
"""White left inside each label's edge, for paper that is drawn in askew [m]; common practice, no source."""
_INSET_SHARE = 1 / 12
"""Labels lower than 18 mm leave this share of their shorter side white instead."""
_LEAST_SIDE = 5 * MM
_MOST_IN_A_LINE = 100
_SLACK = 1e-6
"""Sums of decimal sizes may miss the paper's edge by this much [m]."""


@dataclass(frozen=True)
class Area:
    """A rectangle on the page: its top left corner and its sides [m]."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class LabelSheet:
    """A page with labels in rows and columns, all of one size; every length in metres.

    ``margin_left`` and ``margin_top`` lie between the paper's edge and the first label, ``gap_across``
    and ``gap_down`` between neighbouring labels. Raises BadValueError where the labels do not fit.
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

    def __post_init__(self) -> None:
        """Refuse lengths that are no lengths and labels that do not fit the page."""
        for key, count in (("columns", self.columns), ("rows", self.rows)):
            if not 1 <= count <= _MOST_IN_A_LINE:
                limit = f"1 to {_MOST_IN_A_LINE}"
                raise BadValueError(key, f"{count} is outside {limit}", f"Give a whole number, {limit}.")
        page, label = (self.page_width, self.page_height), (self.label_width, self.label_height)
        _check_lengths("paper", page, _LEAST_SIDE)
        _check_lengths("label", label, _LEAST_SIDE)
        _check_lengths("margin", (self.margin_left, self.margin_top), -_SLACK)
        _check_lengths("gap", (self.gap_across, self.gap_down), 0.0)
        _check_fit("columns", "wide", self.columns, label[0], self.gap_across, self.margin_left, page[0])
        _check_fit("rows", "high", self.rows, label[1], self.gap_down, self.margin_top, page[1])
        across, down = self.inset
        if min(label[0] - 2 * across, label[1] - 2 * down) < _LEAST_SIDE:
            problem = f"{_pair(label)} lies where printers do not reach, {PRINTABLE / MM:g} mm from each edge"
            raise BadValueError("label", problem, "Use larger labels or a wider margin.")

    @property
    def per_page(self) -> int:
        """How many labels a page holds."""
        return self.columns * self.rows

    @property
    def inset(self) -> tuple[float, float]:
        """White inside each label's left and right, top and bottom edges [m], alike for the whole sheet.

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


def _pair(sides: tuple[float, float]) -> str:
    """Return two lengths as the user writes them."""
    return f"{sides[0] / MM:.5g} x {sides[1] / MM:.5g} mm"


def _check_lengths(key: str, lengths: tuple[float, float], least: float) -> None:
    """Refuse lengths that are below ``least`` or not finite."""
    if not all(math.isfinite(length) and length >= least for length in lengths):
        limit = f"{least / MM:g} mm" if least > 0 else "0 mm"
        raise BadValueError(key, f"{_pair(lengths)} is below {limit}", f"Give {limit} or more both ways.")


def _check_fit(key: str, way: str, count: int, label: float, gap: float, margin: float, page: float) -> None:
    """Refuse labels that run over the far edge of the page."""
    need = margin + count * label + (count - 1) * gap
    if need <= page + _SLACK:
        return
    parts = f"{count} {key} of {label / MM:.5g} mm, gaps of {gap / MM:.5g} mm"
    sizes = f"a margin of {margin / MM:.5g} mm need {need / MM:.6g} mm"
    problem = f"{parts} and {sizes}, and the paper is {page / MM:.6g} mm {way}"
    raise BadValueError(key, problem, f"Use fewer {key}, smaller labels, gaps or margins, or larger paper.")
