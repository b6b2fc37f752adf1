"""Hand-held clips: how each frame has moved against the reference picture, in stored orientation.

With a card its corners are followed; without one the ground is (``ground_steadiness``). Where neither moves
the clip counts as still and frames are not registered at all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Protocol

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.view.still_ground import verdict_on

Floats = NDArray[np.float64]
Picture = NDArray[Any]

STILL_PX = 0.35
"""Anchors that move less than this over the whole clip count as still [px]."""
_WINDOW = (21, 21)
"""Window followed around each anchor [px]: OpenCV's usual size; wide enough for a corner of the card, blurred or not."""
_LEVELS = 3
"""Coarser pictures used in following [-]: OpenCV's usual number; reaches jumps of some 80 px."""
_MIN_ANCHORS = 6
"""Anchors that a motion needs [-]: twice what an affine one has unknowns for (3 points)."""
_MANY_ANCHORS = 40
"""Anchors from which all six values of an affine motion are fitted, and not only turn, shift and scale [-]: a whole card has
56 or 60 (judgement)."""
_TRUSTED_SHARE = 0.5
"""Share of the anchors that must agree on a motion [-]: a majority, else the fly or a hand may have been followed."""
_ALIKE = 0.6
"""Largest difference of an anchor's surroundings from the reference, over their own contrast [-]: above it something else
is there, such as the fly before the corner (judgement)."""
_OF_ALL = 0.3
"""Share of all anchors, hidden ones too, that must agree on a motion [-]: what is left of a card when a hand hides more is
followed too loosely (judgement)."""
_MOST = 0.6
"""Share of the samples that must show the anchors again for anything to be told [-] (judgement: most)."""
_REGROWN = 0.005
"""Change of the card's size in the picture from which the card or the phone was moved, relative [-]: a card pushed 4 mm back,
seen from 0.6 m; the speeds then hang on a gap that holds for one part only, by as much (judgement)."""
_GROWN = 0.001
"""The same from which it is told at all [-]: what sharp corners are followed to is a tenth of that (judgement)."""
_FIRST_OFF = 8.0
"""Shift of the first picture alone from which one line may stand for a picture that was zoomed as well [px]: 8 % of zoom
shift a line that lies 100 px off the middle by as much, and a finger on the phone shakes it by less (judgement)."""
_STEP = 4.0
"""How much more than its rest on both sides a step must be [-]."""
_JUMP, _RESTLESS = 1.0, 0.5
"""Least jump of the picture that is told, and how far to either side it may move before and after it [px]: a finger on the
phone shifts it by several, and one that is held moves by more than half a one (judgement)."""
_UNMOVED: Floats = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
"""The affine motion that moves nothing: a turn and stretch by one, a shift by nought [px]."""


@dataclass(frozen=True)
class MotionTracker:
    """Tracks the anchors (n, 2) [px] of a reference picture through other frames."""

    reference: Picture
    anchors: Floats

    @cached_property
    def contrast(self) -> Floats:
        """Return how much each anchor's surroundings vary, mean absolute deviation [grey levels]."""
        size = (_WINDOW[0], _WINDOW[1])
        mean = cv2.blur(self.reference.astype(np.float32), size)
        deviation = cv2.blur(np.abs(self.reference - mean), size)
        at = np.clip(self.anchors.round().astype(int), 0, np.array(self.reference.shape[::-1]) - 1)
        return np.asarray(deviation[at[:, 1], at[:, 0]], dtype=float)

    def motion(self, picture: Picture, guess: Floats) -> Floats | None:
        """Return the affine motion reference -> picture, shape (2, 3), or None where it cannot be told."""
        start = self.anchors.astype(np.float32).reshape(-1, 1, 2)
        first = moved(self.anchors, guess).astype(np.float32).reshape(-1, 1, 2)
        found, seen, error = cv2.calcOpticalFlowPyrLK(
            self.reference,
            picture,
            start,
            first.copy(),
            winSize=_WINDOW,
            maxLevel=_LEVELS,
            flags=cv2.OPTFLOW_USE_INITIAL_FLOW,
        )
        good = (np.ravel(seen) == 1) & (np.ravel(error) < _ALIKE * self.contrast)
        if good.sum() < _MIN_ANCHORS:
            return None
        options: dict[str, Any] = {
            "method": cv2.RANSAC,
            "ransacReprojThreshold": 1.5,
            "maxIters": 500,
            "refineIters": 20,
        }
        fit = cv2.estimateAffine2D if good.sum() >= _MANY_ANCHORS else cv2.estimateAffinePartial2D
        matrix, inside = fit(start[good], found[good], **options)
        least = max(_TRUSTED_SHARE * good.sum(), _OF_ALL * len(good), _MIN_ANCHORS)
        if matrix is None or np.sum(inside) < least:
            return None
        return np.asarray(matrix, dtype=float)


class Follower(Protocol):
    """Whatever tells how a frame has moved."""

    def motion(self, picture: Picture, guess: Floats) -> Floats | None:
        """Return the affine motion reference -> picture, shape (2, 3), or None where it cannot be told."""


@dataclass(frozen=True)
class Steadiness:
    """What the samples say about the camera's and the card's movement: still, moved, or nobody can tell."""

    motions: list[Floats]
    """Affine motion reference -> sample, one a sample."""
    still: bool
    """True where frames need no registration, or where nothing can be told that they could be registered by."""
    jumped: bool = False
    """True where the picture was still, jumped once, and was still again: a bumped phone or card."""
    told: bool = True
    """False where nobody can tell whether the picture moved."""
    regrown: bool = False
    """True where the card had one size in the picture, and then another: it was moved nearer or farther, or the phone was."""
    sized: bool = True
    """False where what was followed does not tell whether the picture grew as well: one line in it, for instance."""


def unmoved() -> Floats:
    """Return the motion that leaves everything where it is."""
    return _UNMOVED.copy()


def moved(points: Floats, motion: Floats) -> Floats:
    """Apply an affine motion (2, 3) to points (n, 2)."""
    return points @ motion[:, :2].T + motion[:, 2]


def moved_back(points: Floats, motion: Floats) -> Floats:
    """Undo an affine motion (2, 3) on points (n, 2)."""
    return (points - motion[:, 2]) @ np.linalg.inv(motion[:, :2]).T


def card_steadiness(tracker: MotionTracker, samples: Sequence[Picture]) -> Steadiness:
    """Follow the card's corners through the samples; one sample alone does not make a clip hand-held."""
    guess, motions, paths, told = unmoved(), [], [], []
    for sample in samples:
        found = tracker.motion(sample, guess)
        told.append(found is not None)
        guess = unmoved() if found is None else found
        motions.append(guess)
        paths.append(moved(tracker.anchors, guess) - tracker.anchors)
    if np.mean(told) < _MOST:
        return Steadiness([unmoved() for _ in samples], still=True, told=False)
    path = np.array(paths)
    lengths = np.sort(np.median(np.linalg.norm(path, axis=2), axis=1))
    growth = _growth([motion for motion, seen in zip(motions, told, strict=True) if seen])
    jumped = _jumped(np.median(path, axis=1)) or growth > _GROWN
    still = bool(lengths[-2] < STILL_PX) and not jumped
    return Steadiness(motions, still, jumped, regrown=growth > _REGROWN)


def ground_steadiness(
    samples: Sequence[Picture], down_axis: int, key_frames: int
) -> tuple[Follower, Steadiness]:
    """Judge by the ground; ``down_axis`` is 0 where the fall runs along the stored picture's x, else 1."""
    verdict = verdict_on(samples, down_axis, key_frames)
    middle = np.array(samples[0].shape[::-1]) / 2
    path = np.array([moved(middle[None], motion)[0] - middle for motion in verdict.motions])
    sized = verdict.follower.registrar.tells_size
    jumped = verdict.moved and (_jumped(path) or not (sized or _first_alike(path)))
    return verdict.follower, Steadiness(verdict.motions, not verdict.moved, jumped, verdict.told, sized=sized)


def _first_alike(path: Floats) -> bool:
    """Tell whether the first picture lies no farther off the others than a hand takes it."""
    off = np.linalg.norm(path - np.median(path[1:], axis=0), axis=1)
    return bool(off[0] < max(_FIRST_OFF, 2.0 * off[1:].max()))


def _growth(motions: list[Floats]) -> float:
    """Return by how much the size of what was followed changed in one step between two even stretches [-]; else nought."""
    return step_of(0.5 * np.log([abs(np.linalg.det(motion[:, :2])) for motion in motions]), 2)


def _jumped(path: Floats) -> bool:
    """Tell whether a path (samples, 2) [px] is one step between two still stretches."""
    return step_of(path, 2, _RESTLESS) > _JUMP


def step_of(values: Floats, fewest: int, most_rest: float = np.inf) -> float:
    """Return the largest step between two even stretches of values (n,) or places (n, 2); nought where they only wander.

    The first stretch has ``fewest`` values at least: 1 where points are read off the first picture. Neither stretch may
    wander by ``most_rest`` or more to either side.
    """
    steps = [0.0]
    for cut in range(fewest, len(values) - 1):
        before, after = values[:cut], values[cut:]
        step = float(np.linalg.norm(np.atleast_1d(after.mean(axis=0) - before.mean(axis=0))))
        rest = max(float(np.max(np.ptp(stretch, axis=0))) / 2 for stretch in (before, after))
        steps.append(step if step > _STEP * rest and rest < most_rest else 0.0)
    return max(steps)
