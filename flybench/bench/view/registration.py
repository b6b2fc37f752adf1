"""Registration: how far one small picture has moved against the ground of another, told by votes of its zones."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.view.ground import CELL, ZONES, Ground

Floats = NDArray[np.float64]
Picture = NDArray[Any]
Truths = NDArray[np.bool_]

NO_MOTION: Floats = np.zeros(4)
"""The motion that moves nothing: right, down, turn and growth [px of the small picture; the last two at its end]."""
AGREEING = 0.6
"""Share of the zones in view that must agree on a motion [-]: well above a half, as a hand and a walker are zones too
(judgement)."""
_CLOSE = 0.25
"""Distance within which a reading agrees with a motion whatever its error [px of the small picture] (judgement)."""
_ERRORS = 3.0
"""The same in errors of the reading [-]."""
_NARROWING = (3.0, 1.5, 0.75, 0.5, 0.5)
"""Distance at which a reading counts no more, round by round [px of the small picture]: wide at first, for a start that is
off (judgement)."""
_ALIKE = 0.6
"""Least correlation of a cell's look with the reference [-]: below it something stands before it (judgement)."""
_FADED = 0.4
"""Least contrast of a cell over that in the reference [-]: light that falls off slowly looks like an edge, only fainter, and
light that changes leaves more than that (judgement)."""
_AXIS = 0.7
"""Cosine from which a reading tells about an axis [-]: within 45 degrees."""
_WIDE = 0.35
"""Share of the picture that readings must span to tell turn or growth [-]: else a line's own shift is taken for them
(judgement)."""
_TWO_ZONES = 2
"""Zones that must tell a shift for it to be fitted at all [-]."""
_TIE = np.array([6.0, 6.0, 3.0, 3.0])
"""How loosely a motion is tied to its start [px of the small picture]: decides only what nothing tells (judgement)."""
_REACH = 24
"""How far is searched [px of the small picture]: a twentieth of the picture each way; a hand that sways more loses the fly
too (judgement)."""
_SIZES = 1.25 ** np.linspace(-1.0, 1.0, 25)
"""Sizes of the picture that are searched, over that of the reference [-]: a phone pushed nearer by a fifth of its way; in
steps of 1.9 %, of which the half shifts the picture's end by less than the search's first round reaches (judgement)."""
_SCOUTS = 60
"""Cells that a picture of another size is searched by, at least [-]: spread evenly; the motion is then fitted by all
(judgement)."""
_FAR = 0.01
"""What a motion loses in the search for each pixel of its length, in whole agreement of a zone [-]: so that among equals the
shortest wins, no motion first (judgement)."""


@dataclass(frozen=True)
class Fitted:
    """A motion and what speaks for it."""

    values: Floats
    """Right, down, turn and growth [px of the small picture]."""
    agreeing: float
    """Share of the zones in view that agree [-]; 0 where nothing is in view."""
    score: float
    """Zones that agree less zones that do not [-]."""
    errors: Floats
    """Standard uncertainty of right and down [px of the small picture]; infinite where nothing tells."""
    cells: Truths
    """Which cells agree."""
    zones_telling: tuple[int, int]
    """How many agreeing zones tell about right and about down [-]."""
    spans: tuple[float, float]
    """Width, as a share of the picture across, over which they lie [-]."""

    @property
    def told(self) -> bool:
        """Tell whether enough zones agree."""
        return self.agreeing >= AGREEING


@dataclass(frozen=True)
class Registrar:
    """Fits motions of small pictures against one ground."""

    ground: Ground

    @cached_property
    def reach(self) -> float:
        """Return the distance of the picture's end from its middle, at which turn and growth are counted [px]."""
        return max(self.ground.shape) / 2

    @cached_property
    def tells_size(self) -> bool:
        """Tell whether the ground would show a picture that grows: its readings lie far enough apart along what they tell."""
        return bool(self._free(np.ones(len(self.ground.cell)))[3])

    def fitted(self, small: Picture, start: Floats) -> Fitted:
        """Return the motion found from a start by weighted least squares over all readings."""
        values = start.copy()
        if not len(self.ground.cell):
            return Fitted(values, 0.0, 0.0, np.full(2, np.inf), np.zeros(0, bool), (0, 0), (0.0, 0.0))
        for number, limit in enumerate(_NARROWING):
            off, like, seen = self._read(small, values)
            strict = _ALIKE if number > 1 else 0.0
            weight = self._weight(off, (like > strict) & seen, limit)
            values, spread = self._step(values, off, weight, start)
        off, like, seen = self._read(small, values)
        return self._judged(values, spread, off, (like > _ALIKE) & seen, seen)

    def unmoved(self, small: Picture) -> Fitted:
        """Return what speaks for no motion at all; nothing is fitted, which costs a fifth of a fit."""
        if not len(self.ground.cell):
            return self.fitted(small, NO_MOTION)
        off, like, seen = self._read(small, NO_MOTION)
        return self._judged(NO_MOTION, np.zeros(2), off, (like > _ALIKE) & seen, seen)

    def resized(self, small: Picture) -> Fitted:
        """Return the best motion to a picture of another size, larger or smaller by up to a fifth."""
        if not len(self.ground.cell):
            return self.fitted(small, NO_MOTION)
        cells = len(self.ground.corners)
        scout = Registrar(self.ground.kept(np.arange(cells) % max(cells // _SCOUTS, 1) == 0))
        found = []
        for size in _SIZES:
            across, down = size * scout.searched(_shown_smaller(small, size))[:2]
            found.append(scout.fitted(small, np.array([across, down, 0.0, (size - 1.0) * self.reach])))
        return self.fitted(small, max(found, key=_standing).values)

    def best(self, small: Picture, starts: list[Floats]) -> Fitted:
        """Return the best motion from several starts and no motion; searches where none of them is agreed on."""
        found = [self.fitted(small, start) for start in (*starts, NO_MOTION)]
        top = max(found, key=_standing)
        if not top.told and len(self.ground.cell):
            found.append(self.fitted(small, self.searched(small)))
        return max(found, key=_standing)

    def searched(self, small: Picture) -> Floats:
        """Return the shift for which most zones look alike, over _REACH each way."""
        ground = self.ground
        wide = cv2.copyMakeBorder(small, _REACH, _REACH, _REACH, _REACH, cv2.BORDER_REPLICATE)
        steepest = np.argsort(-ground.strength)
        one_each = steepest[np.unique(ground.zones[steepest], return_index=True)[1]]
        votes = np.zeros((2 * _REACH + 1,) * 2, np.float32)
        for cell in one_each:
            left, top = ground.corners[cell]
            window = wide[top : top + CELL + 2 * _REACH, left : left + CELL + 2 * _REACH]
            look = ground.looks[cell].reshape(CELL, CELL)
            seen = cv2.matchTemplate(window, look, cv2.TM_CCOEFF) / np.float32(ground.contrast[cell])
            votes += np.clip(seen, 0.0, 1.0)
        y, x = np.mgrid[-_REACH : _REACH + 1, -_REACH : _REACH + 1]
        best = np.argmax(votes - _FAR * np.hypot(x, y))
        return np.array([x.flat[best], y.flat[best], 0.0, 0.0])

    def _read(self, small: Picture, values: Floats) -> tuple[Floats, Floats, Truths]:
        """Return how far each reading is off, how alike its cell looks, and whether it is in view."""
        ground = self.ground
        x, y = self._warped(values)
        rows, columns = ground.shape
        seen = (x[:, 0] > 0) & (y[:, 0] > 0) & (x[:, -1] < columns - 1) & (y[:, -1] < rows - 1)
        looks = cv2.remap(small, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        looks = looks - looks.mean(axis=1, keepdims=True)
        length = np.sqrt(np.einsum("cp,cp->c", looks, looks))
        alike = np.einsum("cp,cp->c", looks, ground.looks) / np.maximum(length, _FADED * ground.contrast)
        off = -np.einsum("rp,rp->r", ground.kernel, looks[ground.cell])
        return off.astype(float), alike[ground.cell].astype(float), seen[ground.cell]

    def _warped(self, values: Floats) -> tuple[Picture, Picture]:
        """Return where the cells' pixels lie in a moved picture [px]."""
        x, y = self.ground.pixels
        right, down, turn, growth = (np.float32(value) for value in values)
        turn, growth = turn / np.float32(self.reach), growth / np.float32(self.reach)
        rows, columns = self.ground.shape
        return (
            x * (1 + growth) - y * turn + right + np.float32((columns - 1) / 2),
            y * (1 + growth) + x * turn + down + np.float32((rows - 1) / 2),
        )

    def _weight(self, off: Floats, usable: Truths, limit: float) -> Floats:
        """Return Tukey's weight of each reading; all readings of a zone together weigh as one."""
        ground = self.ground
        width = np.maximum(limit, 2.0 * _ERRORS * ground.error)
        tukey = np.clip(1.0 - (off / width) ** 2, 0.0, 1.0) ** 2
        return np.asarray(tukey * usable / (ground.error**2 * ground.crowd))

    def _step(self, values: Floats, off: Floats, weight: Floats, start: Floats) -> tuple[Floats, Floats]:
        """Return the next values and the covariance of right and down."""
        free = self._free(weight)
        tie = 1.0 / _TIE**2
        design = self.design[:, free]
        normal = design.T @ (weight[:, None] * design) + np.diag(tie[free])
        pull = design.T @ (weight * off) + (tie * (start - values))[free]
        inverse = np.linalg.inv(normal)
        spread = np.full(4, np.inf)
        spread[free] = np.sqrt(np.diag(inverse))
        moved = np.where(free, values, 0.0)
        moved[free] += inverse @ pull
        return moved, spread[:2]

    @cached_property
    def design(self) -> Floats:
        """Return how each reading answers to right, down, turn and growth (readings, 4)."""
        (nx, ny), (x, y) = self.ground.direction.T, self.ground.centres.T / self.reach
        return np.column_stack([nx, ny, ny * x - nx * y, nx * x + ny * y])

    def _free(self, weight: Floats) -> Truths:
        """Tell which of the four values anything tells."""
        free = np.zeros(4, bool)
        for axis in (0, 1):
            telling = self._telling(axis, weight > 0)
            free[axis] = len(np.unique(self.ground.reading_zones[telling])) >= _TWO_ZONES
            free[2] |= free[axis] and self._span(telling, 1 - axis) > _WIDE
            free[3] |= free[axis] and self._span(telling, axis) > _WIDE
        return free

    def _telling(self, axis: int, used: Truths) -> Truths:
        return used & (np.abs(self.ground.direction[:, axis]) > _AXIS)

    def _span(self, telling: Truths, axis: int) -> float:
        """Return over what share of the picture readings lie along an axis; the outer tenth of them is left out."""
        if not telling.any():
            return 0.0
        low, high = np.percentile(self.ground.centres[telling, axis], [10, 90])
        return float(high - low) / self.ground.shape[1 - axis]

    def _judged(self, values: Floats, spread: Floats, off: Floats, usable: Truths, seen: Truths) -> Fitted:
        """Let the zones vote on a motion."""
        ground = self.ground
        close = usable & (np.abs(off) < np.maximum(_ERRORS * ground.error, _CLOSE))
        votes, sizes = (
            np.bincount(ground.reading_zones, part, ZONES[0] * ZONES[1]) for part in (close, seen)
        )
        shares = votes[sizes > 0] / sizes[sizes > 0]
        cells = np.bincount(ground.cell, ~close, len(ground.corners)) == 0
        telling = [self._telling(axis, close) for axis in (0, 1)]
        zones = [len(np.unique(ground.reading_zones[told])) for told in telling]
        return Fitted(
            values,
            float(np.mean(shares > 0.5)) if len(shares) else 0.0,
            float(np.sum(2.0 * shares - 1.0)),
            spread,
            cells,
            (zones[0], zones[1]),
            (self._span(telling[0], 1), self._span(telling[1], 0)),
        )


def _shown_smaller(small: Picture, size: float) -> Picture:
    """Return a picture shrunk about its middle by a size [-], in the same frame."""
    middle = (np.array(small.shape[::-1]) - 1) / 2
    matrix = np.column_stack([size * np.eye(2), (1.0 - size) * middle])
    how = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return np.asarray(
        cv2.warpAffine(small, matrix, small.shape[::-1], flags=how, borderMode=cv2.BORDER_REPLICATE)
    )


def _standing(fitted: Fitted) -> float:
    """Return what a motion is chosen by: its score, less a little for its length."""
    return fitted.score - _FAR * float(np.hypot(*fitted.values[:2]))
