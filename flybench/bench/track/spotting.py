"""Spotting: everything in a frame that is not background, found coarsely and then placed to sub-pixels.

Frames stay in stored orientation; a spot's position is upright and in the reference picture, so that a
shaking hand is already taken out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.footage import Frame
from flybench.bench.clip.orientation import Orientation
from flybench.bench.track.shape import shape_of
from flybench.bench.view.backdrop import EIGHTH, Backdrop, eight_bit, row_gain
from flybench.bench.view.steadiness import moved_back

Floats = NDArray[np.float64]
Picture = NDArray[Any]

MOST_SPOTS = 12
"""Spots looked at in a frame, the largest first; where there are more, those in busy places are left out before others."""
_PATCH, _FADES = 8, 0.97
"""Side of the patches in which unrest is noted [px of the small picture], and what is left of it after a frame [-]: half
after 23 frames. A fly crosses a patch in a frame or a few, a person behind the tank stays for many (judgement)."""
_BUSY = 0.2
"""Unrest above which a patch is not quiet [-]: something was in it for the last eight frames, or for a fifth of many. Noise
comes and goes, and makes no patch busy (judgement)."""
_FLOOR = 9.0
"""Least difference from the background that counts [grey levels of 255]: above what noise and compression leave in
good light; a dark fly before white paper has ten times as much (judgement)."""
_SIGMAS = 4.5
"""The same over the clip's own noise [-]: of normal noise seven pixels in a million get there, and the opening takes single
pixels away."""
_SMALLEST = 6
"""Smallest bounding box looked at [px of the small picture]: the opening leaves three by three, less only at the
picture's border."""
_LARGEST_SHARE = 0.10
"""Largest bounding box looked at, over the picture [-]: a hand or the light switched on, no fly (judgement)."""
_EDGE_SHARE = 0.35
"""Margin around a coarse box in which the fly is measured, over its longer side [-]: hackle tips are fainter than the
threshold (judgement)."""
_MOST_PIXELS = 20_000
"""Pixels of a window from which it is looked at as coarsely as the small picture [-]: a fly that fills 140 by 140 is placed
as well by a quarter of them. No coarser: a fly in the tweezers must still be told from their thin arms (judgement)."""
_KERNEL = np.ones((3, 3), np.uint8)
"""Neighbourhood of the opening and widening [px of the small picture]: the least there is."""


Box = tuple[int, int, int, int]


@dataclass(frozen=True)
class _Thing:
    """A coarse find: bounding box x, y, width, height and outline, in px of the small picture."""

    box: Box
    outline: Picture


@dataclass(frozen=True, slots=True)
class Spot:
    """One thing seen in one frame; lengths in px of the reference picture, upright."""

    frame: int
    clip_time: float
    x: float
    y: float
    area: float
    contrast: float
    """Mean difference from the background [grey levels]; negative where darker."""
    length: float
    """Extent along its longer axis: four standard deviations of its shape [px]."""
    breadth: float
    lean: float
    """Angle of the longer axis from the vertical [rad]."""
    at_edge: bool
    """True where it touches the picture's border: cut off, or a hand or tweezers."""
    ground: float
    """Mean background behind it [grey levels]."""
    unevenness: float
    """Spread of the background behind it, over its contrast: high where it crosses an edge of the card."""
    sensor_row: float
    """Place along the sensor's read-out, 0 (first row) to 1 (last row)."""


class Spotter:
    """Finds spots in frames against one backdrop."""

    def __init__(self, backdrop: Backdrop, orientation: Orientation) -> None:
        """Prepare the small background and the threshold of each place."""
        self.orientation = orientation
        self.full = backdrop.median
        longest = max(backdrop.median.shape)
        self.step = 1 if longest <= 1000 else 2 if longest <= 2200 else 4
        self.small = self._shrunk(backdrop.median)
        spread = self._shrunk(backdrop.spread).astype(np.float32)
        noise = backdrop.noise / (1.0 if self.step == 1 else 1.4)
        limit = np.maximum(np.maximum(_FLOOR, _SIGMAS * noise), 3.0 * cv2.blur(spread, (5, 5)))
        self.limit = np.minimum(limit, 250.0).astype(np.uint8)
        self.sparse = self.small[EIGHTH]
        rows, columns = self.small.shape
        self.unrest = np.zeros((rows // _PATCH + 1, columns // _PATCH + 1), np.float32)
        ends = orientation.upright(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
        self.turned = ends[1:] - ends[0]

    def spots(self, frame: Frame, motion: Floats | None) -> list[Spot]:
        """Return what is not background in a frame; ``motion`` maps reference -> frame (None: still)."""
        small = self._shrunk(eight_bit(frame.luma, frame.shift))
        background, limit = self._seen_from(motion)
        gain = self._gain(small) if motion is None else None
        if gain is not None:
            background = cv2.multiply(background, gain, dtype=cv2.CV_8U)
        over = cv2.compare(cv2.absdiff(small, background), limit, cv2.CMP_GT)
        if cv2.countNonZero(over) < _KERNEL.size:
            return []
        over = cv2.morphologyEx(over, cv2.MORPH_OPEN, _KERNEL)
        things = self._quietest(_things(over, _LARGEST_SHARE * over.size))
        placed = [self._placed(frame, thing, motion, gain) for thing in things]
        return [spot for spot in placed if spot is not None]

    def _quietest(self, things: list[_Thing]) -> list[_Thing]:
        """Return the things that are looked at, largest first; of too many, those in busy places are left out first.

        People behind the tank come in many pieces, any of them larger than the fly; where they are, there were some before.
        """
        chosen = things
        if len(things) > MOST_SPOTS:
            busy = [self.unrest[_middle(thing.box)] > _BUSY for thing in things]
            quiet = sorted(range(len(things)), key=busy.__getitem__)[:MOST_SPOTS]
            chosen = [things[number] for number in sorted(quiet)]
        self.unrest *= _FADES
        for thing in things:
            self.unrest[_patches(thing.box)] += 1.0 - _FADES
        return chosen

    def _shrunk(self, picture: Picture) -> Picture:
        if self.step == 1:
            return picture
        size = (picture.shape[1] // self.step, picture.shape[0] // self.step)
        return cv2.resize(picture, size, interpolation=cv2.INTER_AREA)

    def _seen_from(self, motion: Floats | None) -> tuple[Picture, Picture]:
        """Return background and thresholds as a moved camera sees them."""
        if motion is None:
            return self.small, self.limit
        small = motion.copy()
        offset = (self.step - 1) / 2.0
        small[:, 2] = (motion[:, :2] @ [offset, offset] + motion[:, 2] - offset) / self.step
        size = (self.small.shape[1], self.small.shape[0])
        background = cv2.warpAffine(self.small, small, size, borderMode=cv2.BORDER_REPLICATE)
        limit = cv2.warpAffine(self.limit, small, size, borderValue=255)
        return background, limit

    def _gain(self, small: Picture) -> NDArray[np.float32] | None:
        """Return brightness against the background at every pixel, or None where it is steady."""
        column = row_gain(small, self.sparse)
        return None if column is None else np.repeat(column, small.shape[1], axis=1)

    def _placed(
        self, frame: Frame, thing: _Thing, motion: Floats | None, gain: NDArray[np.float32] | None
    ) -> Spot | None:
        """Measure one thing at full resolution."""
        window = self._window(thing.box, frame.luma.shape)
        x0, y0, x1, y1 = window
        every = self.step if (x1 - x0) * (y1 - y0) > _MOST_PIXELS else 1
        light = frame.luma[y0:y1:every, x0:x1:every].astype(np.float32) * 0.5**frame.shift
        dark = self._background(window, motion, every)
        if gain is not None:
            rows = np.minimum(np.arange(y0, y1, every) // self.step, gain.shape[0] - 1)
            dark = dark * gain[rows, :1]
        mask = self._mask(thing, window, every, light.shape)
        shape = shape_of(np.where(mask, light - dark, np.float32(0.0)), dark)
        if shape is None:
            return None
        shape = shape.grown(every)
        stored = np.array([[x0 + shape.x, y0 + shape.y]])
        at_edge = self._at_edge(thing.box)
        back = stored if motion is None else moved_back(stored, motion)
        x, y = self.orientation.upright(back)[0]
        return Spot(
            frame=frame.index,
            clip_time=frame.clip_time,
            x=float(x),
            y=float(y),
            area=shape.area,
            contrast=shape.contrast,
            length=shape.length,
            breadth=shape.breadth,
            lean=self._upright_lean(shape.lean),
            at_edge=at_edge,
            ground=shape.ground,
            unevenness=shape.unevenness,
            sensor_row=float(stored[0, 1] / max(frame.luma.shape[0] - 1, 1)),
        )

    def _mask(self, thing: _Thing, window: Box, every: int, shape: tuple[int, ...]) -> NDArray[np.bool_]:
        """Return where in a window this thing and no neighbour lies: its coarse outline, somewhat widened."""
        mask = np.zeros(shape, np.uint8)
        outline = (thing.outline * self.step + (self.step - 1) // 2 - window[:2]).astype(np.int32) // every
        cv2.drawContours(mask, [outline], -1, 255, cv2.FILLED)
        return cv2.dilate(mask, _KERNEL, iterations=math.ceil(2 * self.step / every)) > 0

    def _window(self, box: Box, shape: tuple[int, ...]) -> Box:
        """Return the full-resolution window around a coarse box: a third larger, inside the picture."""
        x, y, w, h = (side * self.step for side in box)
        pad = max(4, round(_EDGE_SHARE * max(w, h)))
        return max(x - pad, 0), max(y - pad, 0), min(x + w + pad, shape[1]), min(y + h + pad, shape[0])

    def _background(self, window: Box, motion: Floats | None, every: int) -> NDArray[np.float32]:
        x0, y0, x1, y1 = window
        if motion is None:
            return self.full[y0:y1:every, x0:x1:every].astype(np.float32)
        shifted = motion.copy()
        shifted[:, 2] -= (x0, y0)
        size = (math.ceil((x1 - x0) / every), math.ceil((y1 - y0) / every))
        seen = cv2.warpAffine(self.full, shifted / every, size, borderMode=cv2.BORDER_REPLICATE)
        return np.asarray(seen.astype(np.float32))

    def _at_edge(self, box: Box) -> bool:
        x, y, w, h = box
        rows, columns = self.small.shape
        return x <= 1 or y <= 1 or x + w >= columns - 1 or y + h >= rows - 1

    def _upright_lean(self, lean: float) -> float:
        """Turn an axis given in the stored picture into the angle from the upright vertical [rad]."""
        x, y = math.sin(lean), math.cos(lean)
        across, down = (
            self.turned[0, 0] * x + self.turned[1, 0] * y,
            self.turned[0, 1] * x + self.turned[1, 1] * y,
        )
        return float((math.atan2(across, down) + math.pi / 2) % math.pi - math.pi / 2)


def _things(mask: Picture, most_area: float) -> list[_Thing]:
    """Return the things in a coarse mask, largest first."""
    outlines, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    things = []
    for outline in outlines:
        x, y, w, h = (int(side) for side in cv2.boundingRect(outline))
        if _SMALLEST <= w * h <= most_area:
            things.append(_Thing((x, y, w, h), outline.reshape(-1, 1, 2)))
    things.sort(key=lambda thing: -thing.box[2] * thing.box[3])
    return things


def _patches(box: Box) -> tuple[slice, slice]:
    """Return the rows and columns of the patches that a box lies in."""
    x, y, w, h = box
    return slice(y // _PATCH, (y + h) // _PATCH + 1), slice(x // _PATCH, (x + w) // _PATCH + 1)


def _middle(box: Box) -> tuple[int, int]:
    """Return the row and column of the patch in which the middle of a box lies."""
    x, y, w, h = box
    return (y + h // 2) // _PATCH, (x + w // 2) // _PATCH
