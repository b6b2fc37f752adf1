"""The drag area of a fly as bead plus dressing, with what is not known of it as parameters.

A(Re) = [b A_bead C_0 + e^(style + pattern) e^(k coated) (e^t0 c0 g^2 + e^t1 c1 g^2 turns + e^t2 c2 loose)]
        (C(Re) / C_0)^s

with C the drag coefficient of a sphere, C_0 that at Re 1000, A_bead the bead's frontal area, g the hook's gape,
loose the cross-section that loose dressing fills, and c0, c1, c2 from ``dressings``. The bead's part stands on its
own, so that a heavier bead on the same dressing comes out rightly, and every part is above zero: more hackle is
more drag.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flybench.hydraulics.sphere import drag_coefficient
from flybench.quantity import Floats
from flybench.sinking.drag.published_bodies import STEEPEST
from flybench.sinking.drag.tied_fly import STYLES, Build

REFERENCE_REYNOLDS = 1000.0
"""Reynolds number at which drag areas are stated [-]: about the middle of flies in ln Re (judgement)."""
LEAST_REYNOLDS = 30.0
"""Reynolds number below which drag laws are held [-]: no fly was ever measured there (judgement)."""
C0: Final = float(drag_coefficient(REFERENCE_REYNOLDS))
"""Drag coefficient of a sphere at that Reynolds number [-]: Brown & Lawler (2003)."""
BODY = 0.15
"""Drag area of hook, thread and tail over the gape squared [-]: a wire of 0.13 gape across one gape, coefficient of a
cylinder about 1.2 (judgement)."""
HACKLE_TURN = 0.2
"""Drag area of one turn of hackle over the gape squared [-]: some 15 fibres of 1.3 gape, 0.05 mm thick, coefficient of
a cylinder at Reynolds number 15 about 2.4, bent back to two fifths (judgement)."""
LOOSE = 0.6
"""Drag area of loose dressing over the cross-section it fills at 100 kg/m3 along the shank [-] (judgement)."""
LOOSE_PACKING = 100.0
"""Mass of dry dubbing over the room it takes [kg/m3]: common practice, no source."""
GLOBALS: Final = ("shared", "bead", "body", "hackle", "loose", "coated", "exponent")
"""Parameters that all flies have in common, in this order."""


def reference_length(build: Build) -> float:
    """Return the length in the Reynolds number [m]: the bead's diameter, without a bead the hook's gape."""
    return build.hook_gape if build.bead_diameter is None else build.bead_diameter


def length_name(build: Build) -> str:
    """Return what that length is, in words."""
    return "the hook's gape" if build.bead_diameter is None else "the bead's diameter"


def sphere_share(reynolds: Floats) -> Floats:
    """Return C(Re) / C_0 of a sphere [-] at Reynolds numbers [-]; BadValueError outside 0.01 to 2e5."""
    share: Floats = drag_coefficient(reynolds) / C0
    return share


def law_share(reynolds: Floats) -> Floats:
    """Return C(Re) / C_0 [-] as drag laws of flies use it: held below Re 30, where no fly was ever measured."""
    return sphere_share(np.maximum(reynolds, LEAST_REYNOLDS))


@dataclass(frozen=True)
class ParameterLayout:
    """Where each parameter stands: the globals, six styles, patterns, exponents of styles and of patterns."""

    patterns: tuple[str, ...]

    @property
    def size(self) -> int:
        """Number of parameters."""
        return len(GLOBALS) + 2 * (len(STYLES) + len(self.patterns))

    def style(self, build: Build, exponent: bool = False) -> int:
        """Return the place of a style's effect on drag, or on the exponent."""
        return len(GLOBALS) + STYLES.index(build.style) + exponent * self._half

    def pattern(self, build: Build, exponent: bool = False) -> int:
        """Return the place of a pattern's effect; the pattern is one of the layout's."""
        return len(GLOBALS) + len(STYLES) + self.patterns.index(build.pattern) + exponent * self._half

    @property
    def _half(self) -> int:
        return len(STYLES) + len(self.patterns)


@dataclass(frozen=True)
class Shapes:
    """Builds as arrays (n): areas [m2] of bead, body, hackle and loose dressing before any parameter; coated (0 or
    1); length [m]; places of style and pattern in the layout, and of their exponents."""

    bead: Floats
    dressing: Floats
    coated: Floats
    length: Floats
    effects: NDArray[np.int64]
    exponents: NDArray[np.int64]

    def area(self, parameters: Floats) -> Floats:
        """Return drag areas at Re 1000 [m2] for parameters (p) or draws of them (m, p): shape (n) or (m, n)."""
        return np.sum(self.pieces(parameters), axis=0)  # type: ignore[no-any-return]

    def pieces(self, parameters: Floats) -> Floats:
        """Return the drag areas of bead, body, hackle, loose dressing at Re 1000 [m2]: (4, ..., n)."""
        beta = np.asarray(parameters)
        grown = np.exp(beta[..., self.effects].sum(-1) + beta[..., 5, None] * self.coated)
        parts = [self.bead * np.exp(beta[..., 1, None])]
        parts += [grown * np.exp(beta[..., 2 + k, None]) * self.dressing[k] for k in range(3)]
        return np.stack(np.broadcast_arrays(*parts))

    def exponent(self, parameters: Floats) -> Floats:
        """Return the exponents s, shape as ``area``."""
        beta = np.asarray(parameters)
        eta = beta[..., 6, None] + beta[..., self.exponents].sum(-1)
        steepness: Floats = STEEPEST / (1 + np.exp(-eta))
        return steepness


def shapes_of(builds: Sequence[Build], layout: ParameterLayout) -> Shapes:
    """Return builds as arrays, their areas before any parameter by the formula above [m2]."""
    gape = np.array([build.hook_gape for build in builds])
    shank = np.array([build.hook_shank for build in builds])
    turns = np.array([build.hackle_turns for build in builds])
    loose = np.array([build.loose_mass for build in builds])
    beads = np.array([build.bead_diameter or 0.0 for build in builds])
    return Shapes(
        C0 * math.pi / 4 * beads**2,
        np.stack([BODY * gape**2, HACKLE_TURN * gape**2 * turns, LOOSE * loose / (LOOSE_PACKING * shank)]),
        np.array([float(build.coated) for build in builds]),
        np.array([reference_length(build) for build in builds]),
        _places([[layout.style(build), layout.pattern(build)] for build in builds]),
        _places([[layout.style(build, True), layout.pattern(build, True)] for build in builds]),
    )


def _places(rows: list[list[int]]) -> NDArray[np.int64]:
    return np.array(rows, dtype=np.int64).reshape(-1, 2)
