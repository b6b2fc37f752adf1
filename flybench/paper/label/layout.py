"""Where everything on a label stands: the largest type that fits, fewer lines where none does.

Coordinates: points, x to the right and y downwards, from the top left corner of the label's safe area.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from flybench.errors import BadValueError
from flybench.paper.drawing import POINT
from flybench.paper.label.content import (
    DROP_ORDER,
    Label,
    LabelRow,
    Shown,
    detail_rows,
    foot_rows,
    head_rows,
    plans,
    speed_rows,
)
from flybench.paper.label.label_paper import MM
from flybench.paper.label.marks import (
    BAND_SHARE,
    LEAST_BAND,
    LaidOut,
    QrMark,
    SetLine,
    band_box,
    modules_across,
    qr_grid,
    qr_side,
)
from flybench.paper.label.typesetting import LEAST_TYPE, TextBlock, Typesetter, clean

_COMFORT = {"code": 6.0, "speed": 7.0}
"""Nothing else may push these below that type size [points], nor, where even alone they would be smaller, ..."""
_NEARLY = 0.92
"""... below this share of it; judgement."""
_UNIT_SHARE = 1 / 7.5
"""The largest plain type, as a share of the label's height; judgement."""
_SHRINK = 0.95
"""How much smaller the plain type is tried each time [share]; judgement: finer steps are not seen."""
_GUTTER = 0.07
"""Room between the left and the right side, as a share of the label's height; judgement."""
_BETWEEN = 0.35
"""The least room between groups of lines, as a share of the plain type; none on the smallest labels; judgement."""
_MOST_BETWEEN = 1.5
"""The most room between groups, as a share of the plain type at its largest; judgement."""
_BAND_TALL = 1.9
"""The least height of the band's box, in its least type; judgement."""

_BARE = Shown(False, frozenset(), 1)
"""Code and speed alone."""

Groups = list[list[tuple[LabelRow, TextBlock]]]


@dataclass(frozen=True)
class _Space:
    """A label's safe area and its right side [points]."""

    width: float
    height: float
    qr: float = 0.0
    band: float = 0.0

    @property
    def gutter(self) -> float:
        """Room between the left and the right side."""
        return _GUTTER * self.height if self.qr or self.band else 0.0

    @property
    def head(self) -> float:
        """Width for code and name."""
        return self.width - max(self.qr, self.band) - self.gutter

    @property
    def rest(self) -> float:
        """Width for the other lines, which run under the band but not into the QR code."""
        return self.head if self.qr else self.width

    @property
    def least_head(self) -> float:
        """The least height of code and name, where the band stands beside them."""
        return _BAND_TALL * LEAST_BAND if self.band and not self.qr else 0.0


def lay_out(label: Label, width: float, height: float, setter: Typesetter) -> LaidOut:
    """Return a label laid out on a safe area of these sides [points].

    Raises BadValueError where not even code and speed fit, and where no face has a sign.
    """
    bare = _stacked(label, _BARE, _Space(width, height), setter, {})
    if bare is None:
        size = f"{width * POINT / MM:.3g} x {height * POINT / MM:.3g} mm"
        problem = f'code and speed of "{clean(label.code)}" do not fit the {size} that can be printed on'
        raise BadValueError("label", problem, "Use larger labels or a shorter code.")
    alone = {row.part: block.size for row, block in reversed(bare[0] + bare[1])}
    floors = {part: min(size, _NEARLY * alone[part]) for part, size in _COMFORT.items()}
    for plan in plans(label):
        laid = _tried(label, plan, _Space(width, height), setter, floors)
        if laid is not None:
            return laid
    return _placed(label, _BARE, _Space(width, height), bare)


def _tried(
    label: Label, plan: Shown, space: _Space, setter: Typesetter, floors: dict[str, float]
) -> LaidOut | None:
    """Return the label with what the plan shows, or None where it does not fit."""
    grid = qr_grid(label.qr, label.code) if plan.qr and label.qr else None
    if grid is not None:
        side = qr_side(grid, space.width, space.height)
        if side is None:
            return None
        space = replace(space, qr=side)
    band = label.band if "band" in plan.parts else None
    if band is not None:
        space = replace(space, band=space.qr or BAND_SHARE * space.width)
    groups = _stacked(label, plan, space, setter, floors)
    if groups is None:
        return None
    laid = _placed(label, plan, space, groups)
    if band is not None:
        tall = space.height - space.qr - space.gutter if space.qr else _head_height(groups, space)
        box = (space.width - space.band, 0.0, space.band, tall)
        filled = label.speed is not None and not label.speed.predicted
        boxed = band_box(band, box, filled, setter)
        if boxed is None:
            return None
        laid = replace(laid, frame=boxed[0], lines=laid.lines + boxed[1])
    if grid is not None:
        top = (space.height - space.qr) / (1 if band is not None else 2)
        mark = QrMark(space.width - space.qr, top, space.qr / modules_across(grid), grid)
        laid = replace(laid, qr=mark)
    return laid


def _stacked(
    label: Label, plan: Shown, space: _Space, setter: Typesetter, floors: dict[str, float]
) -> Groups | None:
    """Return the groups of lines in the largest type that fits, or None."""
    rows = [head_rows(label, plan), speed_rows(label, plan), detail_rows(label, plan), foot_rows(label, plan)]
    rows = [group for group in rows if group]
    unit = _UNIT_SHARE * space.height
    while unit >= LEAST_TYPE / 2:
        groups: Groups = []
        for number, group in enumerate(rows):
            width = space.rest if number else space.head
            blocks = [_fitted(row, unit, width, setter) for row in group]
            groups.append([(row, block) for row, block in zip(group, blocks, strict=True) if block])
            if None in blocks:
                return None
        if any(groups[n][0][1].size < floors.get(groups[n][0][0].part, 0.0) - 1e-9 for n in (0, 1)):
            return None
        room = space.height - sum(_heights(groups, space))
        between = _BETWEEN * unit if unit > LEAST_TYPE else 0.0
        if room >= between * (len(groups) - 1):
            return groups
        unit *= _SHRINK
    return None


def _fitted(row: LabelRow, unit: float, width: float, setter: Typesetter) -> TextBlock | None:
    """Return a row's lines in about its share of the plain type."""
    size = max(LEAST_TYPE, row.weight * unit)
    return setter.fit(row.text, row.bold, size, width, row.most_lines, row.may_shorten, row.may_break)


def _head_height(groups: Groups, space: _Space) -> float:
    """Return the height of code and name, or of the band where that is taller."""
    return max(space.least_head, sum(block.height for _, block in groups[0]))


def _heights(groups: Groups, space: _Space) -> list[float]:
    """Return the height of each group."""
    return [
        _head_height(groups, space),
        *(sum(block.height for _, block in group) for group in groups[1:]),
    ]


def _placed(label: Label, plan: Shown, space: _Space, groups: Groups) -> LaidOut:
    """Return the lines from the top to the bottom of the label, the room shared out between groups."""
    heights = _heights(groups, space)
    spare = space.height - sum(heights)
    gap = min(spare / (len(groups) - 1), _MOST_BETWEEN * _UNIT_SHARE * space.height)
    lines: list[SetLine] = []
    top = 0.0 if space.band else (spare - gap * (len(groups) - 1)) / 2
    for group, height in zip(groups, heights, strict=True):
        y = top
        for _, block in group:
            for line in block.lines:
                y += block.size * line.above
                lines.append(SetLine(0.0, y, block.size, line))
                y -= block.size * line.below
        top += height + gap
    shortened = tuple(row.part for group in groups for row, block in group if block.shortened)
    return LaidOut(tuple(lines), left_out=_left_out(label, plan), shortened=shortened)


def _left_out(label: Label, plan: Shown) -> tuple[str, ...]:
    """Return the parts the label has and the plan does not show."""
    parts = [part for part in DROP_ORDER if clean(getattr(label, part) or "") and part not in plan.parts]
    return (*parts, *(["QR code"] if label.qr and not plan.qr else []))
