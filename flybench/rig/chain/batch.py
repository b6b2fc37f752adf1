"""Many rigs side by side: what the chain knows of each, one column a rig."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any

import numpy as np

from flybench.quantity import Floats
from flybench.rig.chain.line_drag import LineDrag
from flybench.rig.water.profile import Profile


@dataclass(frozen=True)
class ChainLayout:
    """How the line is cut into pieces: their lengths [m] from the top down, and the flies' nodes.

    Node 0 is where the line enters the water, or the rod's tip; ``nodes`` are those of the flies, the point last.
    """

    lengths: Floats
    nodes: tuple[int, ...]

    @property
    def total(self) -> float:
        """Length of the line [m]."""
        return float(self.lengths.sum())


def cut(ups: Sequence[float], pieces: int) -> ChainLayout:
    """Return a line in so many pieces of about the same length; ``ups`` are its upper end and its flies above the point [m],
    from the top down to 0."""
    spans = -np.diff(ups)
    counts = _shared_out(spans, pieces)
    lengths = np.concatenate(
        [np.full(count, span / count) for span, count in zip(spans, counts, strict=True)]
    )
    return ChainLayout(lengths, tuple(int(node) for node in np.cumsum(counts)))


def _shared_out(spans: Floats, pieces: int) -> list[int]:
    """Return how many pieces each span gets, one at least, the pieces about equally long."""
    counts = [1] * len(spans)
    while sum(counts) < pieces:
        longest = int(np.argmax([span / count for span, count in zip(spans, counts, strict=True)]))
        counts[longest] += 1
    return counts


@dataclass(frozen=True)
class ChainLine:
    """The line itself: weight in water [N/m], mass with added mass [kg/m], drag law; lift, by which it is lighter in water
    than in air [N/m], needed where a part of it is in the air.

    stiffness, pull over stretch [N]: 20 N, where nylon of 0.13 mm has 27 N (2 GPa, from memory); pulls of some mN stretch
    neither by a thousandth.
    """

    weight: float
    mass: float
    drag: LineDrag
    stiffness: float = 20.0
    lift: float = 0.0


SOFT = 2.0
"""Stiffness of a line in single precision, pull over stretch [N]: rounded places then pull a piece of 5 cm by 0.01 mN instead
of 0.1, and pulls of some mN still stretch it by no more than some thousandths."""
SHORTEST_SINGLE = 0.04
"""Shortest piece of a line that is worked out in single precision [m] (judgement, by tests/rig/test_rig_precision.py)."""
_COLUMNS = (
    "floor",
    "fly_drag",
    "fly_weight",
    "fly_mass",
    "slack",
    "entry_speed",
    "normal",
    "tangential",
    "wander",
    "memory",
    "lead",
    "calm",
    "film",
)
"""What has one column a rig, or is None."""


@dataclass(frozen=True)
class Batch:
    """Rigs of one layout and one line; arrays have one column a rig.

    floor, depth where flies and line come to rest [m]; fly_drag k = W / v^2 [kg/m], fly_weight in water [N] and
    fly_mass with added mass [kg], all (flies, rigs); lead, speed of the line's entry downstream [m/s], None where
    it is free; slack, share of the line that does not lie straight [-]; entry_speed of the flies downwards [m/s];
    normal and tangential, factors on the line's drag [-]; wander, rms vertical speed of the water [m/s], and
    memory, for how long it keeps it [s]; upstream, whether the flies land upstream of the line's entry; tip, height above
    the surface from which the line comes down [m], 0 where it begins at the surface; calm, heights below the surface and
    above the bed within which gusts up and down die away [m], (2, rigs), None for none; adrift, whether gusts downstream take
    the line's entry along; tag, length of what ties each dropper to its knot [m];
    film, drag of a line in the water's skin over that under water [-], None where the line does not float.
    """

    layout: ChainLayout
    line: ChainLine
    profile: Profile
    floor: Floats
    fly_drag: Floats
    fly_weight: Floats
    fly_mass: Floats
    lead: Floats | None
    slack: Floats
    entry_speed: Floats
    normal: Floats
    tangential: Floats
    wander: Floats
    memory: Floats
    upstream: bool = True
    tip: float = 0.0
    calm: Floats | None = None
    adrift: bool = False
    tag: float = 0.0
    film: Floats | None = None

    @property
    def count(self) -> int:
        """Number of rigs."""
        return len(self.floor)

    @property
    def kind(self) -> np.dtype[np.floating]:
        """What numbers the rigs are worked out in: double or single precision."""
        return self.floor.dtype

    def single(self) -> Batch:
        """Return the same rigs in single precision, which takes half the time (tests/rig/test_rig_precision.py).

        The line is softer there: places are rounded to half a micrometre, which in short pieces of a stiff line makes pulls
        as large as the weight of a light fly. A line in shorter pieces still stays in double precision, and so does one that
        comes down through the air: nothing but its mass of some milligrams holds its nodes there, which single precision
        loses beside the stiffness of the line.
        """
        if self.tip or self.layout.lengths.min() < SHORTEST_SINGLE:
            return self
        assert is_dataclass(self.profile)
        water = {one.name: getattr(self.profile, one.name).astype(np.float32) for one in fields(self.profile)}
        return replace(
            self,
            layout=replace(self.layout, lengths=self.layout.lengths.astype(np.float32)),
            line=replace(self.line, stiffness=min(self.line.stiffness, SOFT)),
            profile=replace(self.profile, **water),
            **self._columns(lambda values: values.astype(np.float32)),
        )

    def part(self, columns: slice) -> Batch:
        """Return some of the rigs."""
        cut = self._columns(lambda values: values[..., columns])
        return replace(self, profile=self.profile.part(columns), **cut)

    def _columns(self, change: Callable[[Floats], Floats]) -> dict[str, Any]:
        """Return what has one column a rig, changed, by its name."""
        found = {name: getattr(self, name) for name in _COLUMNS}
        return {name: change(values) for name, values in found.items() if values is not None}
