"""What is written down while rigs drift: paths on an even clock, and how long the flies are where they should be."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.state import Marks, State, laid


class Recorder:
    """Paths of all flies on an even clock: x and depth (flies, times, rigs) [m], grounded; tension [N] and angle
    of the line off the vertical [rad] where it enters the water (times, rigs)."""

    def __init__(self, rigs: Batch, times: Floats) -> None:
        """Make room; ``times`` [s] begin at 0."""
        self.times, self._nodes = times, list(rigs.layout.nodes)
        shape = (len(self._nodes), len(times), rigs.count)
        self.x, self.depth = np.zeros(shape), np.zeros(shape)
        self.grounded = np.zeros(shape, dtype=bool)
        self.tension, self.angle = np.zeros(shape[1:]), np.zeros(shape[1:])
        self._before = laid(rigs).place[:, self._nodes]
        self.x[:, 0], self._next = self._before[0], 1

    def __call__(self, time: float, dt: float, state: State) -> bool:
        """Write down all sample times the step passed; return whether none is left."""
        now = state.place[:, self._nodes]
        while self._next < len(self.times) and self.times[self._next] <= time + 1e-9:
            number = self._next
            share = min((self.times[number] - time) / dt + 1, 1.0)
            between = self._before + share * (now - self._before)
            self.x[:, number], self.depth[:, number] = between
            self.grounded[:, number] = state.bed[self._nodes]
            self.tension[number] = state.tension[0]
            first = state.place[:, 1] - state.place[:, 0]
            self.angle[number] = np.arctan2(np.abs(first[0]), first[1])
            self._next += 1
        self._before = now
        return self._next >= len(self.times)


@dataclass(frozen=True)
class Band:
    """Where the flies should be: heights above the stones' tops [m], from ``low`` to ``high``."""

    low: float
    high: float


def ends(rigs: Batch, seconds: float, length: float) -> Floats:
    """Return when each drift is over [s]: when the line's entry has gone its way [m], or the time is up [s]."""
    if rigs.lead is None:
        return np.full(rigs.count, seconds)
    return np.minimum(seconds, length / np.maximum(rigs.lead, 1e-9))


BAND = Band(0.0, 0.2)
"""Where the point should be, above the stones' tops, unless told [m]."""


class Tally:
    """For every rig, over its drift: shares of the time the point is in the band and not on the bed, on the bed,
    and the droppers are in their band; when [s] and after what way of the point [m] it first came down to the
    band, infinite where never; the deepest the point came [m]."""

    def __init__(self, rigs: Batch, band: Band, ends: Floats, dropper_band: Band | None = None) -> None:
        """Begin; ``ends`` [s] is when each rig's drift is over."""
        self._nodes, self._floor, self._ends = rigs.layout.nodes, rigs.floor, ends
        self._band, self._dropper_band = band, dropper_band
        self._start = laid(rigs).place[0, self._nodes[-1]]
        self._before = np.stack([self._start, 0 * self._start])
        self._last = float(np.max(ends))
        count = rigs.count
        self._in_band, self._on_bed, self._dropper = np.zeros(count), np.zeros(count), np.zeros(count)
        self.reached, self.way = np.full(count, np.inf), np.full(count, np.inf)
        self.deepest = np.zeros(count)

    def __call__(self, time: float, dt: float, state: State) -> bool:
        """Count the step; return whether all drifts are over."""
        point = self._nodes[-1]
        place, grounded = state.place[:, point], state.bed[point]
        counted = np.clip(self._ends - (time - dt), 0.0, dt)
        self._in_band += counted * (self._within(place[1], self._band) & ~grounded)
        self._on_bed += counted * grounded
        if self._dropper_band is not None:
            for node in self._nodes[:-1]:
                lies = self._within(state.place[1, node], self._dropper_band) & ~state.bed[node]
                self._dropper += counted * lies / (len(self._nodes) - 1)
        np.maximum(self.deepest, np.where(counted > 0, place[1], 0.0), out=self.deepest)
        self._note_arrival(time, dt, place, counted > 0)
        self._before = place.copy()
        return time >= self._last

    def _within(self, depth: Floats, band: Band) -> Marks:
        height = self._floor - depth
        within: Marks = (height >= band.low) & (height <= band.high)
        return within

    def _note_arrival(self, time: float, dt: float, place: Floats, going: Marks) -> None:
        """Note when and where the point first came down to the band's upper edge."""
        edge = self._floor - self._band.high
        first = (place[1] >= edge) & np.isinf(self.reached) & going
        if not first.any():
            return
        before, after = self._before[:, first], place[:, first]
        share = np.clip((edge[first] - before[1]) / np.maximum(after[1] - before[1], 1e-12), 0.0, 1.0)
        self.reached[first] = time - dt + share * dt
        self.way[first] = before[0] + share * (after[0] - before[0]) - self._start[first]

    @property
    def in_band(self) -> Floats:
        """Share of the drift the point is in the band and not on the bed [-]."""
        return self._in_band / self._ends

    @property
    def on_bed(self) -> Floats:
        """Share of the drift the point lies on the bed [-]."""
        return self._on_bed / self._ends

    @property
    def dropper_in_band(self) -> Floats:
        """Share of the drift the droppers are in their band, their mean [-]."""
        return self._dropper / self._ends
