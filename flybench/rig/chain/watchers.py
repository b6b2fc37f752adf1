"""Who looks on while rigs drift: a recorder of paths on an even clock, and a tally of the time at the fish's level."""

from __future__ import annotations

import numpy as np

from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.state import Booleans, ChainState, landed
from flybench.rig.water.level import FishLevel

_HAIR = 1e-9
"""How far before its sample a step may end and still count as there [s]: rounding of sums of steps."""
_STANDING = 1e-9
"""Speed of a line that stands, so that its drift never ends by its way [m/s]."""
_LEVEL_PATH = 1e-12
"""Least way down in a step that is divided by [m]."""


class Recorder:
    """Paths of all flies on an even clock: x and depth (flies, times, rigs) [m]; tension [N] and angle of the line off
    the vertical [rad] where it enters the water (times, rigs)."""

    def __init__(self, rigs: Batch, times: Floats) -> None:
        """Make room; ``times`` [s] begin at 0."""
        self.times, self._nodes = times, list(rigs.layout.nodes)
        shape = (len(self._nodes), len(times), rigs.count)
        self.x, self.depth = np.zeros(shape), np.zeros(shape)
        self.tension, self.angle = np.zeros(shape[1:]), np.zeros(shape[1:])
        self._before = landed(rigs).place[:, self._nodes]
        self.x[:, 0], self._next = self._before[0], 1

    def __call__(self, time: float, dt: float, state: ChainState) -> bool:
        """Write down all sample times the step passed; return whether none is left."""
        now = state.place[:, self._nodes]
        while self._next < len(self.times) and self.times[self._next] <= time + _HAIR:
            number = self._next
            share = min((self.times[number] - time) / dt + 1, 1.0)
            between = self._before + share * (now - self._before)
            self.x[:, number], self.depth[:, number] = between
            self.tension[number] = state.tension[0]
            first = state.place[:, 1] - state.place[:, 0]
            self.angle[number] = np.arctan2(np.abs(first[0]), first[1])
            self._next += 1
        self._before = now
        return self._next >= len(self.times)


def drift_ends(rigs: Batch, seconds: float, length: float) -> Floats:
    """Return when each drift is over [s]: when the line's entry has gone its way [m], or the time is up [s]."""
    if rigs.lead is None:
        return np.full(rigs.count, seconds)
    return np.minimum(seconds, length / np.maximum(rigs.lead, _STANDING))


class Tally:
    """For every rig, over its drift: shares of the time that the point is at the fish's level and not on the bed, that it
    is on the bed, and that the droppers are at their level [-]; when [s] and after what way of the point [m] it first came
    down to the level, infinite where never; the deepest the point came [m]."""

    def __init__(
        self, rigs: Batch, level: FishLevel, ends: Floats, dropper_level: FishLevel | None = None
    ) -> None:
        """Begin; ``ends`` [s] is when each rig's drift is over."""
        self._nodes, self._floor, self._ends = rigs.layout.nodes, rigs.floor, ends
        self._level, self._dropper_level = level, dropper_level
        self._start = landed(rigs).place[0, self._nodes[-1]]
        self._before = np.stack([self._start, 0 * self._start])
        self._last = float(np.max(ends))
        count = rigs.count
        self._at_level, self._on_bed, self._dropper = np.zeros(count), np.zeros(count), np.zeros(count)
        self.reached, self.way = np.full(count, np.inf), np.full(count, np.inf)
        self.deepest = np.zeros(count)

    def __call__(self, time: float, dt: float, state: ChainState) -> bool:
        """Count the step; return whether all drifts are over."""
        point = self._nodes[-1]
        place, grounded = state.place[:, point], state.bed[point]
        counted = np.clip(self._ends - (time - dt), 0.0, dt)
        self._at_level += counted * (self._within(place[1], self._level) & ~grounded)
        self._on_bed += counted * grounded
        if self._dropper_level is not None:
            for node in self._nodes[:-1]:
                lies = self._within(state.place[1, node], self._dropper_level) & ~state.bed[node]
                self._dropper += counted * lies / (len(self._nodes) - 1)
        np.maximum(self.deepest, np.where(counted > 0, place[1], 0.0), out=self.deepest)
        self._note_arrival(time, dt, place, counted > 0)
        self._before = place.copy()
        return time >= self._last

    def _within(self, depth: Floats, level: FishLevel) -> Booleans:
        height = self._floor - depth
        within: Booleans = (height >= level.low) & (height <= level.high)
        return within

    def _note_arrival(self, time: float, dt: float, place: Floats, going: Booleans) -> None:
        """Note when and where the point first came down to the level's upper edge."""
        edge = self._floor - self._level.high
        first = (place[1] >= edge) & np.isinf(self.reached) & going
        if not first.any():
            return
        before, after = self._before[:, first], place[:, first]
        share = np.clip((edge[first] - before[1]) / np.maximum(after[1] - before[1], _LEVEL_PATH), 0.0, 1.0)
        self.reached[first] = time - dt + share * dt
        self.way[first] = before[0] + share * (after[0] - before[0]) - self._start[first]

    @property
    def at_level(self) -> Floats:
        """Share of the drift that the point is at the fish's level and not on the bed [-]."""
        return self._at_level / self._ends

    @property
    def on_bed(self) -> Floats:
        """Share of the drift that the point lies on the bed [-]."""
        return self._on_bed / self._ends

    @property
    def dropper_at_level(self) -> Floats:
        """Share of the drift that the droppers are at their level, their mean [-]."""
        return self._dropper / self._ends
