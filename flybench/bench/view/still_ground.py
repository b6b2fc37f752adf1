"""Whether the picture stood still before a ground without a card: still, moved, or nobody can tell."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import pairwise
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.view.backdrop import middle_value
from flybench.bench.view.burnt_in import may_be_marks, only_writing, rest_moves, without
from flybench.bench.view.ground import (
    CELL,
    FAINT,
    FAINT_MIDDLE,
    FIRM,
    LEAST_NOISE,
    Ground,
    Shrinking,
    ground_of,
)
from flybench.bench.view.registration import NO_MOTION, Fitted, Registrar

Floats = NDArray[np.float64]
Picture = NDArray[Any]

STILL = 0.18
"""Shift up or down, anywhere in the picture, within which it counts as still [px of the small picture]: some 0.04 % of its
height, hence of the speed (judgement)."""
_SMALLEST = 480
"""Longer side up to which a picture is too small to be called still [px]: it is not averaged down, so that the encoder's and
the sensor's noise stand in its readings, and a pixel is as much as 0.2 % of the fall (judgement)."""
_SIGMAS = 4.0
"""The same in standard uncertainties of the shift [-]."""
_ZONES = 4
"""Zones that must tell about up and down [-] (judgement)."""
_SPAN = 0.3
"""Share of the picture's width over which they must lie [-]: a pair of tweezers is narrower (judgement)."""
_ERROR = 0.125
"""Largest standard uncertainty of up and down [px of the small picture] (judgement: it would not show a shift of STILL)."""
_LOST = 0.3
"""Share of the samples in which nothing is agreed on from which nothing can be told [-] (judgement)."""
_STAYING = 0.65
"""Share of the samples in which a cell must agree to be ground and no mover [-] (judgement)."""
_FEWEST = 3
"""Samples from which a middle value is taken [-]."""
_KEY_FRAMES = 3
"""Key frames from which samples do not share the noise of one [-]: none then has more than half of the samples."""
_QUIET = 30
"""Which places count as quiet [percentile]: walkers and hands cover less than two thirds of the picture."""
_SEARCHES = 30
"""Searches in vain after which a clip's lost frames are searched for no more [-]: each costs as much as several frames
(judgement)."""


@dataclass
class GroundFollower:
    """Follows the ground from frame to frame; motions are affine (2, 3) [px of the full picture, as stored]."""

    registrar: Registrar
    shrinking: Shrinking
    searches: int = field(default=_SEARCHES)

    def motion(self, picture: Picture, guess: Floats) -> Floats | None:
        """Return the motion reference -> picture, or None where it cannot be told."""
        small = self.shrinking.small(picture)
        found = self.registrar.fitted(small, self.values(guess))
        if not found.told and self.searches > 0:
            found = self.registrar.best(small, [self.values(guess)])
            self.searches -= not found.told
        return self.affine(found.values) if found.told else None

    def affine(self, values: Floats) -> Floats:
        """Return right, down, turn and growth as an affine motion of the full picture."""
        step, reach = self.shrinking.step, self.registrar.reach
        turn, growth = values[2] / reach, values[3] / reach
        matrix = np.array([[1 + growth, -turn], [turn, 1 + growth]])
        middle = self._middle
        return np.column_stack([matrix, middle - matrix @ middle + step * values[:2]])

    def values(self, affine: Floats) -> Floats:
        """Return right, down, turn and growth of an affine motion of the full picture."""
        step, reach, middle = self.shrinking.step, self.registrar.reach, self._middle
        shift = (affine[:, :2] @ middle + affine[:, 2] - middle) / step
        turn, growth = affine[1, 0] * reach, (affine[0, 0] - 1.0) * reach
        return np.array([*shift, turn, growth])

    @property
    def _middle(self) -> Floats:
        """Return the middle of the small picture in the full one [px]."""
        step, shape = self.shrinking.step, self.registrar.ground.shape
        return step * (np.array(shape[::-1]) - 1) / 2 + (step - 1) / 2


@dataclass(frozen=True)
class GroundVerdict:
    """Whether the picture stood still, as far as its ground tells."""

    told: bool
    """False where nothing tells whether the picture moved up or down."""
    moved: bool
    follower: GroundFollower
    motions: list[Floats]
    """Motion reference -> sample, affine (2, 3) [px]: that of no motion where still or not told."""


def verdict_on(samples: Sequence[Picture], down_axis: int, key_frames: int) -> GroundVerdict:
    """Judge samples (eight bits, as stored) of a clip; ``down_axis`` is 0 where the fall runs along x, else 1.

    A picture no larger than _SMALLEST may be seen to move, but never to be still. What may belong to the picture itself,
    such as a date or dirt on the lens, tells nothing.

    First whether no motion explains them all; only where it does not are they registered, each against the
    first, and then against the middle value of all, in which whatever moves is gone.
    """
    shrinking = Shrinking.of(samples[0].shape)
    smalls = [shrinking.small(sample) for sample in samples]
    noise = noise_of(smalls)
    single, middle = strengths(key_frames)
    quick = Registrar(ground_of(middle_value(smalls), noise, middle))
    quick, fits = _staying(quick, smalls, [quick.fitted(small, NO_MOTION) for small in smalls])
    marks = None
    if _told(fits, down_axis) and not _moved(fits, quick.ground.shape, down_axis):
        behind = partial(ground_of, smalls[0], noise, single)
        burnt_in = _burnt_in(quick, smalls, fits, down_axis) or _moves_behind(
            behind, quick, smalls, fits, down_axis
        )
        if not burnt_in:
            return _verdict(max(samples[0].shape) > _SMALLEST, False, quick, shrinking, fits)
        marks = quick.ground
    registrar, fits = _registered(smalls, noise, single, middle, marks)
    told = _told(fits, down_axis) and not _burnt_in(registrar, smalls, fits, down_axis)
    moved = told and _moved(fits, registrar.ground.shape, down_axis)
    told = moved or (told and max(samples[0].shape) > _SMALLEST)
    return _verdict(told, moved, registrar, shrinking, fits)


def _verdict(
    told: bool, moved: bool, registrar: Registrar, shrinking: Shrinking, fits: list[Fitted]
) -> GroundVerdict:
    follower = GroundFollower(registrar, shrinking)
    values = [fit.values if moved and fit.told else NO_MOTION for fit in fits]
    return GroundVerdict(told, moved, follower, [follower.affine(value) for value in values])


def strengths(key_frames: int) -> tuple[float, float]:
    """Return the least strength of a reading in one sample, and in the middle value of all [grey levels]."""
    return (FAINT, FAINT_MIDDLE) if key_frames >= _KEY_FRAMES else (FIRM, FIRM)


def noise_of(smalls: Sequence[Picture]) -> float:
    """Return the noise of the small pictures [grey levels], from the quieter places of the quietest pair of neighbours.

    What is alike over a whole place is light that changed, and no noise.
    """
    pairs = pairwise(smalls)
    off = [float(np.percentile(_unevenness(a - b), _QUIET)) for a, b in pairs]
    return max(min(off) / 2**0.5, LEAST_NOISE)


def _unevenness(difference: Picture) -> Picture:
    """Return the standard deviation of a picture place by place."""
    size = (CELL, CELL)
    square = cv2.blur(difference * difference, size) - cv2.blur(difference, size) ** 2
    return np.asarray(np.sqrt(np.maximum(square[::CELL, ::CELL], 0.0)))


def _registered(
    smalls: Sequence[Picture], noise: float, single: float, middle: float, marks: Ground | None
) -> tuple[Registrar, list[Fitted]]:
    """Return all samples fitted against the middle value of all, as the first one sees it; marks of the picture left out."""
    first = Registrar(without(ground_of(smalls[0], noise, single), marks))
    registrar, fits = _without_movers(first, smalls, [NO_MOTION] * len(smalls))
    still = [_as_first(small, fit, registrar) for small, fit in zip(smalls, fits, strict=True) if fit.told]
    if len(still) < _FEWEST:
        return registrar, fits
    clean = Registrar(without(ground_of(middle_value(still), noise, middle), marks))
    return _without_movers(clean, smalls, [fit.values for fit in fits])


def _without_movers(
    registrar: Registrar, smalls: Sequence[Picture], starts: Sequence[Floats]
) -> tuple[Registrar, list[Fitted]]:
    """Fit all samples, leave out the cells that most of them contradict, and fit again."""
    fits = [registrar.best(small, [start]) for small, start in zip(smalls, starts, strict=True)]
    return _staying(registrar, smalls, fits)


def _staying(
    registrar: Registrar, smalls: Sequence[Picture], fits: list[Fitted]
) -> tuple[Registrar, list[Fitted]]:
    """Leave out the cells that most samples contradict, and fit again from what was found."""
    staying = np.mean([fit.cells for fit in fits], axis=0) >= _STAYING
    if staying.all() or not staying.any():
        return registrar, fits
    kept = Registrar(registrar.ground.kept(staying))
    return kept, [kept.fitted(small, fit.values) for small, fit in zip(smalls, fits, strict=True)]


def _as_first(small: Picture, fit: Fitted, registrar: Registrar) -> Picture:
    """Return a small picture as the first one sees it."""
    affine = GroundFollower(registrar, Shrinking(1)).affine(fit.values)
    how = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    size = (small.shape[1], small.shape[0])
    return np.asarray(cv2.warpAffine(small, affine, size, flags=how, borderMode=cv2.BORDER_REPLICATE))


def _burnt_in(registrar: Registrar, smalls: Sequence[Picture], fits: Sequence[Fitted], down: int) -> bool:
    """Tell whether what was held on to may belong to the picture, and not to what was filmed."""
    staying = np.mean([fit.cells for fit in fits], axis=0) >= _STAYING
    if only_writing(registrar.ground, staying, down):
        return True
    pairs = [(small, fit) for small, fit in zip(smalls, fits, strict=True) if fit.told]
    return rest_moves([_as_first(small, fit, registrar) for small, fit in pairs], registrar.ground)


def _moves_behind(
    first: Callable[[], Ground],
    registrar: Registrar,
    smalls: Sequence[Picture],
    fits: Sequence[Fitted],
    down: int,
) -> bool:
    """Tell whether all that the first sample shows beside marks of the picture, such as a water line, has moved since."""
    staying = np.mean([fit.cells for fit in fits], axis=0) >= _STAYING
    if not may_be_marks(registrar.ground, staying, down):
        return False
    shown = without(first(), registrar.ground)
    stays = [Registrar(shown).unmoved(small).cells for small in smalls]
    behind = Registrar(shown.kept(np.mean(stays, axis=0) < _STAYING))
    behind, moved = _without_movers(behind, smalls, [NO_MOTION] * len(smalls))
    return _told(moved, down) and _moved(moved, behind.ground.shape, down)


def _told(fits: Sequence[Fitted], down: int) -> bool:
    """Tell whether the samples say anything about up and down."""
    telling = [
        fit
        for fit in fits
        if fit.told
        and fit.zones_telling[down] >= _ZONES
        and fit.spans[down] >= _SPAN
        and fit.errors[down] <= _ERROR
    ]
    return len(telling) >= (1.0 - _LOST) * len(fits)


def _moved(fits: Sequence[Fitted], shape: tuple[int, int], down: int) -> bool:
    """Tell whether the picture moved up or down anywhere; one sample alone does not decide, but for the first."""
    told = [fit for fit in fits if fit.told]
    shifts = np.array([_shifts(fit.values, shape, down) for fit in told])
    limit = max(STILL, _SIGMAS * float(np.median([fit.errors[down] for fit in told])))
    ordered = np.sort(shifts, axis=0)
    least = np.minimum(ordered[-1] - ordered[1], ordered[-2] - ordered[0])
    first = np.abs(shifts[0] - np.median(shifts, axis=0))
    return bool(np.max(np.maximum(least, first)) > limit)


def _shifts(values: Floats, shape: tuple[int, int], down: int) -> Floats:
    """Return the shift along the fall at six places near the picture's rim and middle [px of the small picture]."""
    reach = max(shape) / 2
    across, along = 0.4 * shape[down], 0.4 * shape[1 - down]
    places = [(side * across, level * along) for side in (-1, 1) for level in (-1, 0, 1)]
    turn = values[2] / reach * (1.0 if down == 1 else -1.0)
    return np.array([values[down] + turn * aside + values[3] / reach * low for aside, low in places])
