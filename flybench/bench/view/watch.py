"""Whether a clip shows one and the same picture from its first frame to its last: no cut, no zoom, no phone pushed nearer.

The scale holds for the picture that it was read in. Frames all along the clip are held against the still background.
Where the picture leaves for good, or is hidden for a while and comes back, only what was seen meanwhile is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import groupby, pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flybench.bench.view.backdrop import Backdrop
from flybench.bench.view.ground import Shrinking, ground_of
from flybench.bench.view.registration import AGREEING, Fitted, Registrar
from flybench.bench.view.steadiness import step_of
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
_UNSEEN, _FEW_ZONES = 0.05, 4
"""Share of the zones below which nothing of the clip's own ground is in a frame, and zones of its own from which such a frame
shows something, and is not merely dark [-]: even somebody close to the lens leaves more of the ground (judgement)."""
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
_BREATH = 0.02
"""Largest change of the picture's size that a phone's focus makes, relative [-]: half to one and a half per cent are usual
(judgement; common practice, no source)."""
_BREATH_S = 0.8
"""Longest time that the focus takes to come back [s] (judgement): a zoomed part in which a fly falls lasts longer."""
_SETTLED = 0.8
"""Share of the first picture's growth that is left half way to rest where the size settles, at most [-]: of one that decays
evenly a half, of one that was zoomed and jumps back all (judgement)."""
_RESTING = 0.5
"""Difference of two motions within which a picture rests [px of the small picture]: a hand moves it more (judgement)."""
_ASIDE = 2.0
"""Shift up to which a picture only breathes [px of the small picture]: a focus leaves its middle in place (judgement)."""


@dataclass(frozen=True)
class Breath:
    """A moment in which the picture was larger or smaller, first to last frame, by so much, relative [-]."""

    first: int
    last: int
    growth: float


@dataclass
class _Seen:
    """What is told of parts of a clip: flags, breaths, and the first and last frames of what is left out."""

    flags: set[str] = field(default_factory=set)
    breaths: list[Breath] = field(default_factory=list)
    left_out: list[tuple[int, int]] = field(default_factory=list)


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
    apart: float = INTERVAL
    """Time between two frames that are looked at [s]."""
    looked: int = 0
    unlike: list[_Unlike] = field(default_factory=list)
    sizes: list[float] = field(default_factory=list)
    """Logarithm of the picture's size over the reference's, frame by frame, where frames are registered [-]."""
    sized: list[int] = field(default_factory=list)
    """Which of the frames that were looked at these are."""
    first_sizes: list[float] = field(default_factory=list)
    """Sizes of all of the very first frames."""

    def wants(self, index: int) -> bool:
        """Tell whether the frame of this number is to be looked at."""
        return index % self.every == 0

    def look(self, picture: Picture) -> None:
        """Look at a frame of a clip that stands still, as stored, in eight bits."""
        small = self.shrinking.small(picture)
        if self.ground.unmoved(small).agreeing < _UNLIKE:
            self._keep(small)
        self.looked += 1

    def begin(self, motion: Floats | None) -> None:
        """Note the size of one of the very first frames of a clip that moves; later ones are passed over."""
        if motion is not None and len(self.first_sizes) * self.apart < self.every * _BREATH_S:
            self.first_sizes.append(_size(motion))

    def follow(self, picture: Picture, motion: Floats | None) -> None:
        """Look at a frame of a clip that moves, with how it moved; None where that could not be told."""
        if motion is None:
            self._keep(self.shrinking.small(picture))
        else:
            self.sizes.append(_size(motion))
            self.sized.append(self.looked)
        self.looked += 1

    def _keep(self, small: Picture) -> None:
        self.unlike.append(_Unlike(self.looked, np.rint(small).astype(np.uint8)))

    def flags(self) -> list[str]:
        """Return the flags of what was seen: another picture in a part of the clip, or one that jumped."""
        return sorted(self.seen.flags)

    @cached_property
    def seen(self) -> _Seen:
        """Return what was seen, once all frames have been looked at."""
        seen = _Seen()
        for part in self._parts():
            self._judge(part, seen)
        self._judge_sizes(seen)
        return seen

    def sound(self, index: int) -> bool:
        """Tell whether what was seen in the frame of this number counts."""
        return not any(first <= index <= last for first, last in self.seen.left_out)

    def _judge_sizes(self, seen: _Seen) -> None:
        """Judge the sizes of a clip that moves; those of a card are followed."""
        sizes = np.array(self.sizes)
        if not self.by_points or len(sizes) < 2:
            return
        stayed = self._staying(sizes)
        if stayed < len(sizes):
            seen.flags.add("picture-left")
            seen.left_out.append(((self.sized[stayed] - 2) * self.every, self.looked * self.every))
            sizes = sizes[:stayed]
        count, growth = self._settling(float(np.median(sizes)))
        if count:
            sizes = sizes[count // self.every + 1 :]
            seen.breaths.append(Breath(0, self.looked * self.every, growth))
        if np.ptp(np.percentile(sizes, _ENDS)) > _WANDERING or step_of(sizes, 1) > REGROWN:
            seen.flags.add("picture-changed")

    def _staying(self, sizes: Floats) -> int:
        """Return how many sizes come before the phone was carried away for good: all, where it was not or came to rest."""
        off = np.abs(sizes - np.median(sizes))
        last = int(np.flatnonzero(off <= max(REGROWN / 2, off.min()))[-1]) + 1
        if last == len(sizes) or not np.all(np.abs(np.diff(sizes[last:])) > REGROWN / 2):
            return len(sizes)
        lost = self.sized[-1] < self.looked - 1
        return last if lost or (off[last:].max() > _WANDERING and last < len(sizes) - 1) else len(sizes)

    def _settling(self, level: float) -> tuple[int, float]:
        """Return in how many of the first frames the picture's size came to rest by and by, and by how much; else nought.

        Points are read off the first picture, so that its growth is the scale's.
        """
        off = np.abs(np.array(self.first_sizes) - level)
        if not len(off) or not REGROWN / 2 < off[0] < _BREATH:
            return 0, 0.0
        resting = np.flatnonzero(off < REGROWN / 2)
        settles = len(resting) > 0 and off[resting[0] // 2] < _SETTLED * off[0]
        return (int(resting[0]), float(off[0])) if settles else (0, 0.0)

    def _parts(self) -> list[list[_Unlike]]:
        """Return the parts of the clip in which frame after frame is unlike."""
        numbered = enumerate(self.unlike)
        parts = [
            [one for _, one in part] for _, part in groupby(numbered, lambda pair: pair[1].number - pair[0])
        ]
        return [part for part in parts if len(part) >= _SHORTEST or part[0].number == 0]

    def _judge(self, part: Sequence[_Unlike], seen: _Seen) -> None:
        """Judge one such part; nothing is told of one in which something stood before the camera."""
        at_start, at_end = part[0].number == 0, part[-1].number == self.looked - 1
        found = self._found_again(part)
        growth = max((abs(float(one.values[3])) / self.ground.reach for one in found), default=0.0)
        within = not at_start and not at_end
        brief = len(part) * self.apart < _BREATH_S
        aside = max((float(np.abs(one.values[:2]).max()) for one in found), default=0.0)
        if self._leaves(part, found):
            seen.flags.add("picture-left")
            seen.left_out.append(self._frames(part, 2))
        elif within and REGROWN / 2 < growth < _BREATH and aside < _ASIDE and brief:
            seen.breaths.append(Breath(*self._frames(part, 1), growth))
        elif found:
            seen.flags |= self._moved(growth)
        elif self._another(part[0], part[-1]) or (at_start and self.by_points and self._foreign(part[0])):
            seen.flags.add("picture-hidden" if within else "picture-changed")
            seen.left_out += [self._frames(part, 1)] if within else []

    def _leaves(self, part: Sequence[_Unlike], found: list[Fitted]) -> bool:
        """Tell whether the phone was moved all through this part, and the picture is the clip's own on one side of it only.

        Points are read off the first picture, which must then be the clip's own.
        """
        at_start, at_end = part[0].number == 0, part[-1].number == self.looked - 1
        one_side = at_start != at_end and (at_end or not self.by_points)
        plain = bool(found) or _zones(self.ground) >= _FEWEST_ZONES
        return one_side and plain and not self._rests(part, found)

    def _frames(self, part: Sequence[_Unlike], more: int) -> tuple[int, int]:
        """Return the first and last frame of a part, and of so many looks more on both sides."""
        return (part[0].number - more) * self.every, (part[-1].number + more) * self.every

    def _found_again(self, part: Sequence[_Unlike]) -> list[Fitted]:
        """Return the motions to the part's first, middle and last picture in which the clip's own ground is seen."""
        ends = {one.number: one for one in (part[0], part[len(part) // 2], part[-1])}
        found = [self.ground.resized(one.small.astype(np.float32)) for one in ends.values()]
        return [one for one in found if one.told and np.mean(one.cells) >= _SAME_GROUND]

    def _rests(self, part: Sequence[_Unlike], found: list[Fitted]) -> bool:
        """Tell whether pictures show the same thing in the same place: those of a phone that is carried never do."""
        as_before = any(np.abs(one.values - two.values).max() < _RESTING for one, two in pairwise(found))
        again = any(self._own(one).unmoved(_plain(two)).told for one, two in pairwise(part))
        return as_before or again or len(part) == 1

    def _own(self, one: _Unlike) -> Registrar:
        return Registrar(ground_of(_plain(one), self.noise, self.strength))

    def _moved(self, growth: float) -> set[str]:
        if growth > REGROWN:
            return {"picture-changed"}
        unwatched = self.by_points and not self.ground.tells_size
        return {"card-moved", "size-unwatched"} if unwatched else {"card-moved"}

    def _another(self, first: _Unlike, last: _Unlike) -> bool:
        """Tell whether two frames show one ground that is not the clip's."""
        own = self._own(first)
        again = own.unmoved(_plain(last))
        zones = len(np.unique(own.ground.zones[again.cells]))
        return first is not last and again.agreeing >= AGREEING and zones >= _FEWEST_ZONES

    def _foreign(self, first: _Unlike) -> bool:
        """Tell whether the first picture, off which points are read, is another one than the clip's.

        It then shows plenty of its own and hardly anything of the clip's, or something of its own and nothing of the clip's.
        """
        own, agreeing = _zones(self._own(first)), self.ground.unmoved(_plain(first)).agreeing
        least = _UNLIKE / 2 if own >= _FEWEST_ZONES else _UNSEEN if own >= _FEW_ZONES else 0.0
        return _zones(self.ground) >= _FEWEST_ZONES and agreeing < least


def _zones(registrar: Registrar) -> int:
    return len(np.unique(registrar.ground.zones))


def _plain(one: _Unlike) -> Picture:
    return one.small.astype(np.float32)


def _size(motion: Floats) -> float:
    """Return the logarithm of the size that a motion leaves of a picture [-]."""
    return 0.5 * float(np.log(abs(np.linalg.det(motion[:, :2]))))


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
    return Watch(Registrar(ground), shrinking, noise, single, by_points, every, every * apart)
