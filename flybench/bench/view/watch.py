"""Whether a clip shows one and the same picture from its first frame to its last: no cut, no zoom, no phone pushed nearer.

The scale holds for the picture that it was read in. Frames all along the clip are held against the still background.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flybench.bench.view.backdrop import Backdrop
from flybench.bench.view.ground import Shrinking, ground_of
from flybench.bench.view.registration import AGREEING, Fitted, Registrar
from flybench.bench.view.still_ground import noise_of, strengths

Floats = NDArray[np.float64]
Picture = NDArray[Any]

CHECKS, INTERVAL = 40, 0.4
"""Frames looked at in a clip at least [-], and the time between two at most [s]: a fall takes three times as long, and one
look costs as much as decoding half a frame (judgement)."""
_UNLIKE = 0.35
"""Share of the zones below which a frame shows another picture, or hardly anything of this one [-]: a hand and its tweezers
leave two thirds of them in view (judgement)."""
_SAME_GROUND = 0.5
"""Share of all cells that must be found again for the same ground to be seen in another place or size [-] (judgement)."""
_FEWEST_ZONES = 8
"""Zones that a picture must have of its own to be told as another one [-]: a hand that rests has fewer (judgement)."""
_SHORTEST = 2
"""Frames in a row that must be unlike [-], but for the first one of the clip, off which points are read."""
REGROWN = 0.005
"""Change of the picture's size in one step from which one scale does not hold for both parts, relative [-]: as much as a good
result may be uncertain by (judgement)."""
_WANDERING = 0.02
"""Range of the picture's size in a hand over a whole clip from which its scale is not trusted, relative [-]: a hand sways by
a hundredth of its distance, and what stands behind the tank does not grow as the fly does (judgement)."""
_ENDS = (3, 97)
"""What is taken for the ends of that range [percentiles]: single misread frames are left out."""
_STEP = 4.0
"""How much more than its rest on both sides a step must be [-]."""


@dataclass
class _Unlike:
    """A frame that shows another picture, small, in eight bits."""

    number: int
    small: Picture


@dataclass
class Watch:
    """Holds frames against the still background, and says at the end what they tell."""

    ground: Registrar
    shrinking: Shrinking
    noise: float
    """Noise of a small picture [grey levels]."""
    strength: float
    """Least strength of a reading in one frame [grey levels]."""
    by_points: bool
    """True where the scale is two typed points, and not a card that is followed by itself."""
    every: int
    """Of how many frames one is looked at [-]."""
    looked: int = 0
    unlike: list[_Unlike] = field(default_factory=list)
    sizes: list[float] = field(default_factory=list)
    """Logarithm of the picture's size over the reference's, frame by frame, where frames are registered [-]."""

    def wants(self, index: int) -> bool:
        """Tell whether the frame of this number is to be looked at."""
        return index % self.every == 0

    def look(self, picture: Picture) -> None:
        """Look at a frame of a clip that stands still, as stored, in eight bits."""
        small = self.shrinking.small(picture)
        if self.ground.unmoved(small).agreeing < _UNLIKE:
            self._keep(small)
        self.looked += 1

    def follow(self, picture: Picture, motion: Floats | None) -> None:
        """Look at a frame of a clip that moves, with how it moved; None where that could not be told."""
        if motion is None:
            self._keep(self.shrinking.small(picture))
        else:
            self.sizes.append(0.5 * float(np.log(abs(np.linalg.det(motion[:, :2])))))
        self.looked += 1

    def _keep(self, small: Picture) -> None:
        self.unlike.append(_Unlike(self.looked, np.rint(small).astype(np.uint8)))

    def flags(self) -> list[str]:
        """Return the flags of what was seen: another picture in a part of the clip, or one that jumped."""
        found: set[str] = set().union(*map(self._part, self._parts()))
        sizes = np.array(self.sizes)
        wanders = self.by_points and len(sizes) > 1 and np.ptp(np.percentile(sizes, _ENDS)) > _WANDERING
        if wanders or (self.by_points and step_of(sizes) > REGROWN):
            found.add("picture-changed")
        return sorted(found)

    def _parts(self) -> list[list[_Unlike]]:
        """Return the parts of the clip in which frame after frame is unlike."""
        numbered = enumerate(self.unlike)
        parts = [
            [one for _, one in part] for _, part in groupby(numbered, lambda pair: pair[1].number - pair[0])
        ]
        return [part for part in parts if len(part) >= _SHORTEST or part[0].number == 0]

    def _part(self, part: Sequence[_Unlike]) -> set[str]:
        """Return the flags of one such part; none where something stood before the camera."""
        ends = (part[0], part[len(part) // 2], part[-1])
        for one in {one.number: one for one in ends}.values():
            found = self.ground.resized(one.small.astype(np.float32))
            if found.told and np.mean(found.cells) >= _SAME_GROUND:
                return self._moved(found)
        return {"picture-changed"} if self._another(part[0], part[-1]) else set()

    def _moved(self, found: Fitted) -> set[str]:
        if abs(float(found.values[3])) / self.ground.reach > REGROWN:
            return {"picture-changed"}
        return (
            {"card-moved"}
            if self.ground.tells_size or not self.by_points
            else {"card-moved", "size-unwatched"}
        )

    def _another(self, first: _Unlike, last: _Unlike) -> bool:
        """Tell whether two frames show one ground that is not the clip's."""
        own = Registrar(ground_of(first.small.astype(np.float32), self.noise, self.strength))
        again = own.unmoved(last.small.astype(np.float32))
        zones = len(np.unique(own.ground.zones[again.cells]))
        return first is not last and again.agreeing >= AGREEING and zones >= _FEWEST_ZONES


def watch_of(
    samples: Sequence[Picture], backdrop: Backdrop, key_frames: int, times: Floats, by_points: bool
) -> Watch:
    """Return the watch over a clip with these samples (eight bits, as stored) and times of its frames [s]."""
    shrinking = Shrinking.of(backdrop.median.shape)
    noise = noise_of([shrinking.small(sample) for sample in samples])
    single, middle = strengths(key_frames)
    ground = ground_of(shrinking.small(backdrop.median), noise, middle)
    apart = float(np.median(np.diff(times))) if len(times) > 1 else INTERVAL
    every = max(min(len(times) // CHECKS, round(INTERVAL / max(apart, 1e-6))), 1)
    return Watch(Registrar(ground), shrinking, noise, single, by_points, every)


def step_of(values: Floats) -> float:
    """Return the largest step between two even stretches of values; nought where they only wander.

    The first stretch may be the first value alone, as points are read off the first picture.
    """
    steps = [0.0]
    for cut in range(1, len(values) - 1):
        before, after = values[:cut], values[cut:]
        step, rest = abs(after.mean() - before.mean()), max(np.ptp(before), np.ptp(after)) / 2
        steps.append(float(step) if step > _STEP * rest else 0.0)
    return max(steps)
