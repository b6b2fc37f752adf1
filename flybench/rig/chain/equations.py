"""The equations of one step, and which pieces pull and which nodes touch while they are solved."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.quantity import Floats
from flybench.rig.chain.block_solver import solve_blocks
from flybench.rig.chain.state import Booleans

WALL = 100.0
"""How hard surface and bed hold a touching node to its place [N s/m]: so hard that 5 mN move it by 4 micrometres in a step
(judgement), and no harder, for single precision to tell it from drag."""
PASSES = 4
"""How often pieces and nodes may begin or end to pull and touch within one step (judgement: nine rigs of ten settle at once,
one of a thousand is left to the next step)."""
_HAIR = 1e-7
"""Speed by which a node that touches must move off before it is let go [m/s]: rounding, not physics."""
_ROUNDING = 8.0
"""Length by which a piece must be stretched to begin to pull, and slack to end, over the least difference of numbers near 1
[m]: what lengths are off by from rounding some metres downstream."""


@dataclass
class Equations:
    """A step of ``dt`` [s] for all rigs, or for those that need another pass.

    own (3, nodes, rigs) and right (2, nodes, rigs), of the nodes without pieces; way, where the pieces point;
    stretch [m]; stiffness of the pieces [N/m], (pieces, 1); turning, tension over length times dt [N s/m];
    low and high, vertical speeds that bring a node just to the surface and to the bed [m/s]; start, velocity
    of node 0, None where free; taut, top and bed, what pulls and touches.
    """

    dt: float
    own: Floats
    right: Floats
    way: Floats
    stretch: Floats
    stiffness: Floats
    turning: Floats
    low: Floats
    high: Floats
    start: Floats | None
    taut: Booleans
    top: Booleans
    bed: Booleans

    def part(self, columns: NDArray[np.intp]) -> Equations:
        """Return the equations of some rigs."""
        cut = {
            name: np.take(getattr(self, name), columns, axis=-1)
            for name in ("own", "right", "way", "stretch", "turning", "low", "high", "taut", "top", "bed")
        }
        start = None if self.start is None else self.start[:, columns]
        return Equations(dt=self.dt, stiffness=self.stiffness, start=start, **cut)

    def velocities(self) -> Floats:
        """Return the velocities after the step, (2, nodes, rigs)."""
        own, right = self.own.copy(), self.right.copy()
        link = self._links()
        own[:, 1:] += link
        own[:, :-1] += link
        pull = self.taut * self.stretch
        pull *= self.stiffness
        pulls = self.way * pull
        right[:, :-1] += pulls
        right[:, 1:] -= pulls
        for touching, speed in ((self.top, self.low), (self.bed, self.high)):
            if touching.any():
                hold = touching * own.dtype.type(WALL)
                own[2] += hold
                hold *= speed
                right[1] += hold
        return solve_blocks(own, link, right, self.start)

    def _links(self) -> Floats:
        """Return xx, xz and zz of the pieces' stiffness times dt."""
        link = np.empty((3, *self.stretch.shape), self.stretch.dtype)
        turning = self.turning * self.taut
        along = self.taut * (self.dt * self.stiffness)
        along -= turning
        np.multiply(along, self.way[0], out=link[0])
        np.multiply(link[0], self.way[1], out=link[1])
        link[0] *= self.way[0]
        np.subtract(along, link[0], out=link[2])
        link[0] += turning
        link[2] += turning
        return link

    def settle(self, velocity: Floats) -> NDArray[np.intp]:
        """Change what pulls and touches to what these velocities say; return the rigs where that differs."""
        after = stretched(self.stretch, self.way, velocity, self.dt)
        least = _ROUNDING * float(np.finfo(after.dtype).eps)
        taut = after > least
        taut |= self.taut & (after > -least)
        down = velocity[1]
        top, bed = down < self.low + _HAIR * self.top, down > self.high - _HAIR * self.bed
        top[0] = bed[0] = False
        wrong = (taut != self.taut).any(axis=0)
        wrong |= (top != self.top).any(axis=0)
        wrong |= (bed != self.bed).any(axis=0)
        self.taut, self.top, self.bed = taut, top, bed
        return np.flatnonzero(wrong)


def stretched(stretch: Floats, way: Floats, velocity: Floats, dt: float) -> Floats:
    """Return by how much each piece is stretched after ``dt`` [s] at these velocities [m]."""
    moved = velocity[:, 1:] - velocity[:, :-1]
    moved *= way
    after: Floats = moved[0]
    after += moved[1]
    after *= dt
    after += stretch
    return after


def solve_step(equations: Equations) -> Floats:
    """Return the velocities after the step, with pieces that only pull and nodes that only press."""
    velocity = equations.velocities()
    columns = equations.settle(velocity)
    for _ in range(PASSES - 1):
        if not len(columns):
            break
        some = equations.part(columns)
        again = some.velocities()
        velocity[..., columns] = again
        wrong = some.settle(again)
        for name in ("taut", "top", "bed"):
            getattr(equations, name)[..., columns] = getattr(some, name)
        columns = columns[wrong]
    return velocity
