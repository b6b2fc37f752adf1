"""Where everything on a label stands: one type size for the whole sheet, the speed largest, and less where there is no room.

Coordinates: points, x to the right and y downwards, from the top left corner of the label's safe area.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from flybench.errors import BadValueError
from flybench.paper.drawing import POINT
from flybench.paper.label.content import (
    BESIDE,
    DROP_ORDER,
    NOT_MEASURED,
    NUMBER,
    Label,
    LabelRow,
    Shown,
    detail_rows,
    foot_rows,
    interval_rows,
    name_rows,
    plans,
    speed_words,
)
from flybench.paper.label.label_paper import MM
from flybench.paper.label.marks import (
    BAND_SHARE,
    BAND_TO_SPEED,
    LEAST_BAND,
    LaidOut,
    QrMark,
    SetLine,
    band_box,
    modules_across,
    qr_grid,
    qr_side,
)
from flybench.paper.label.typesetting import LEAST_TYPE, TextBlock, TextLine, Typesetter, clean

_UNIT_SHARE = 1 / 8
"""The largest plain type, as a share of the label's height; judgement."""
_LEAST_UNIT_SHARE = 0.66
"""The least plain type that a sheet takes for the sake of a few full labels, as a share of the largest: those leave something
out instead; judgement."""
_SHRINK = 0.95
"""How much smaller the plain type is tried each time [share]; judgement: finer steps are not seen."""
_GUTTER = 0.05
"""Room between the left and the right side, as a share of the label's height; judgement."""
_BETWEEN = 0.22
"""The least room between groups of lines, as a share of the plain type; none on the smallest labels; judgement."""
_MOST_BETWEEN = 1.2
"""The most room between groups, as a share of the plain type; judgement."""
_BAND_SHARE_OF_HEIGHT = 0.36
"""The most height of the band's box, as a share of the label's; judgement."""
_BAND_TALL = 1.9
"""The least height of the band's box, in its least type; judgement."""
_ABOVE, _BELOW = 0.75, 0.04
"""Room above and below the baseline of the large number, which has no letters that hang [type sizes]; judgement."""
_NOT_MEASURED_SIZE = 1.4
"""Type size of "not measured", in plain type sizes; judgement."""

_QR = "QR code"
"""What a QR code is called that is left out."""
_BARE = Shown(frozenset(), 1)
"""Speed and code alone."""


@dataclass(frozen=True)
class _Piece:
    """A piece of the label from the left edge: its height, its lines from its own top, and the part that it is of."""

    part: str
    height: float
    lines: tuple[SetLine, ...]
    shortened: bool = False


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
        """Width for name and speed, which stand beside the band."""
        return self.width - max(self.qr, self.band) - self.gutter

    @property
    def rest(self) -> float:
        """Width for the other lines, which run under the band but not into the QR code."""
        return self.head if self.qr else self.width

    @property
    def least_head(self) -> float:
        """The least height of name and speed, where the band stands beside them."""
        return _BAND_TALL * LEAST_BAND if self.band and not self.qr else 0.0


@dataclass(frozen=True)
class _Type:
    """The type of a sheet: the plain size, and the most for the band's number [points]."""

    plain: float
    band: float


def lay_out_sheet(
    labels: Sequence[Label], width: float, height: float, setter: Typesetter
) -> Mapping[Label, LaidOut]:
    """Return each different label laid out on a safe area of these sides [points], all in one type size.

    Either all labels that have a QR code show it, or none does: on a sheet where some lack it nobody trusts the scanner.
    The type is the largest in which every label shows all it has, but no less than two thirds of the largest that the paper
    allows: labels that are fuller leave something out. Raises BadValueError where not even speed and code of a label fit,
    and where no face has a sign.
    """
    different = list(dict.fromkeys(labels))
    laid = _in_one_type(different, width, height, setter)
    without = [_QR in laid[label].left_out for label in different if label.qr]
    if all(without) or not any(without):
        return laid
    bare = {label: replace(label, qr=None) for label in different}
    again = _in_one_type(list(dict.fromkeys(bare.values())), width, height, setter)
    return {label: _without_code(label, again[bare[label]]) for label in different}


def _without_code(label: Label, laid: LaidOut) -> LaidOut:
    """Return a label that was laid out without its QR code, saying that it is missing."""
    return replace(laid, left_out=(*laid.left_out, _QR)) if label.qr else laid


def _in_one_type(
    different: Sequence[Label], width: float, height: float, setter: Typesetter
) -> Mapping[Label, LaidOut]:
    """Return labels laid out in one type size, each with its QR code or without."""
    space = _Space(width, height)
    whole = [_best_unit(label, next(plans(label)), space, setter) for label in different]
    largest = _UNIT_SHARE * height
    unit = max(min((one or 0.0 for one in whole), default=largest), _LEAST_UNIT_SHARE * largest)
    first = [
        _laid_out(label, _Type(unit, BAND_TO_SPEED * NUMBER * unit), space, setter) for label in different
    ]
    band = min((laid.band_type for laid in first if laid.band_type), default=0.0)
    return {label: _laid_out(label, _Type(unit, band), space, setter) for label in different}


def _best_unit(label: Label, plan: Shown, space: _Space, setter: Typesetter) -> float | None:
    """Return the largest plain type in which the label fits with what the plan shows, or None."""
    unit = _UNIT_SHARE * space.height
    while unit >= LEAST_TYPE / NUMBER:
        if _tried(label, plan, space, setter, _Type(unit, BAND_TO_SPEED * NUMBER * unit)) is not None:
            return unit
        unit *= _SHRINK
    return None


def _laid_out(label: Label, kind: _Type, space: _Space, setter: Typesetter) -> LaidOut:
    """Return a label in this type with as much as fits, or bare in a smaller one."""
    for plan in plans(label):
        laid = _tried(label, plan, space, setter, kind)
        if laid is not None:
            return laid
    smaller = _best_unit(label, _BARE, space, setter)
    laid = None if smaller is None else _tried(label, _BARE, space, setter, _Type(smaller, kind.band))
    if laid is None:
        size = f"{space.width * POINT / MM:.3g} x {space.height * POINT / MM:.3g} mm"
        problem = f'code and speed of "{clean(label.code)}" do not fit the {size} that can be printed on'
        raise BadValueError("label", problem, "Use larger labels or a shorter code.")
    return laid


def _tried(label: Label, plan: Shown, space: _Space, setter: Typesetter, kind: _Type) -> LaidOut | None:
    """Return the label in this type with what the plan shows, or None where it does not fit."""
    grid = qr_grid(label.qr, label.code) if "qr" in plan.parts and label.qr else None
    if grid is not None:
        side = qr_side(grid, space.width, space.height)
        if side is None:
            return None
        space = replace(space, qr=side)
    band = label.band if "band" in plan.parts else None
    if band is not None:
        space = replace(space, band=space.qr or BAND_SHARE * space.width)
    groups = _stacked(label, plan, space, setter, kind.plain)
    if groups is None:
        return None
    laid = _placed(label, plan, space, groups, kind.plain)
    if band is not None:
        tall = space.height - space.qr - space.gutter if space.qr else _heights(groups, space)[0]
        tall = min(tall, max(_BAND_SHARE_OF_HEIGHT * space.height, space.least_head))
        box = (space.width - space.band, 0.0, space.band, tall)
        filled = label.speed is not None and not label.speed.predicted
        boxed = band_box(band, box, filled, setter, kind.band)
        if boxed is None:
            return None
        laid = replace(laid, frame=boxed[0], lines=laid.lines + boxed[1], band_type=boxed[1][0].size)
    if grid is not None:
        top = (space.height - space.qr) / (1 if band is not None else 2)
        mark = QrMark(space.width - space.qr, top, space.qr / modules_across(grid), grid)
        laid = replace(laid, qr=mark)
    return laid


def _stacked(
    label: Label, plan: Shown, space: _Space, setter: Typesetter, unit: float
) -> list[list[_Piece]] | None:
    """Return the groups of pieces from the top to the bottom in this plain type, or None where they do not fit."""
    head = [_text(row, unit, space.head, setter) for row in name_rows(label, plan)]
    below = [interval_rows(label, plan), detail_rows(label, plan), foot_rows(label, plan)]
    groups = [
        [*head, _speed(label, unit, space.head, setter)],
        *([_text(row, unit, space.rest, setter) for row in rows] for rows in below if rows),
    ]
    found = [[piece for piece in group if piece is not None] for group in groups]
    if any(len(whole) < len(group) for whole, group in zip(found, groups, strict=True)):
        return None
    between = _BETWEEN * unit if unit > LEAST_TYPE else 0.0
    fits = sum(_heights(found, space)) + between * (len(found) - 1) <= space.height
    return found if fits else None


def _text(row: LabelRow, unit: float, width: float, setter: Typesetter) -> _Piece | None:
    """Return a row of text in its share of the plain type, or None where it is too wide."""
    size = max(LEAST_TYPE, row.weight * unit)
    block = setter.fit(row.text, row.bold, size, width, row.most_lines, row.may_shorten, row.may_break)
    return None if block is None else _Piece(row.part, block.height, _set(block), block.shortened)


def _set(block: TextBlock) -> tuple[SetLine, ...]:
    lines, y = [], 0.0
    for line in block.lines:
        y += block.size * line.above
        lines.append(SetLine(0.0, y, block.size, line))
        y -= block.size * line.below
    return tuple(lines)


def _speed(label: Label, unit: float, width: float, setter: Typesetter) -> _Piece | None:
    """Return the speed: a large number between small words on one line, or that there is none."""
    words = speed_words(label)
    if words is None:
        row = LabelRow("speed", NOT_MEASURED, _NOT_MEASURED_SIZE, bold=True, most_lines=2, may_break=False)
        return _text(row, unit, width, setter)
    bold = label.speed is not None and not label.speed.predicted
    small, large = max(LEAST_TYPE, BESIDE * unit), max(LEAST_TYPE, NUMBER * unit)
    sized: list[tuple[TextLine, float]] = [
        (setter.line(words[0], False), small),
        (setter.line(words[1], bold), large),
        (setter.line(words[2], bold), small),
    ]
    lines, x, base = [], 0.0, _ABOVE * large
    for line, size in sized:
        lines.append(SetLine(x, base, size, line))
        x += line.width * size
    if x > width:
        return None
    return _Piece("speed", max((_ABOVE + _BELOW) * large, base + small * -sized[2][0].below), tuple(lines))


def _heights(groups: Sequence[Sequence[_Piece]], space: _Space) -> list[float]:
    """Return the height of each group; that of name and speed is no less than the band beside them."""
    heights = [sum(piece.height for piece in group) for group in groups]
    return [max(space.least_head, heights[0]), *heights[1:]]


def _placed(label: Label, plan: Shown, space: _Space, groups: list[list[_Piece]], unit: float) -> LaidOut:
    """Return the lines from the top to the bottom of the label, the room shared out between groups."""
    heights = _heights(groups, space)
    spare = space.height - sum(heights)
    gap = min(spare / (len(groups) - 1), _MOST_BETWEEN * unit)
    lines: list[SetLine] = []
    top = 0.0 if space.band else (spare - gap * (len(groups) - 1)) / 2
    for group, height in zip(groups, heights, strict=True):
        y = top
        for piece in group:
            lines += [replace(line, y=y + line.y) for line in piece.lines]
            y += piece.height
        top += height + gap
    shortened = tuple(piece.part for group in groups for piece in group if piece.shortened)
    return LaidOut(tuple(lines), left_out=_left_out(label, plan), shortened=shortened)


def _left_out(label: Label, plan: Shown) -> tuple[str, ...]:
    """Return the parts the label has and the plan does not show."""
    names = {"qr": _QR, "warning": "safety line"}
    there = [part for part in DROP_ORDER if clean(getattr(label, part) or "") and part not in plan.parts]
    return tuple(names.get(part, part) for part in there)
