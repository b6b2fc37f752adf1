"""Who looks on while rigs drift: a recorder of paths on an even clock, and a tally of the time at the fish's level."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.state import Booleans, ChainState, landed
from flybench.rig.chain.tags import flies_at, flies_rest
from flybench.rig.water.level import FishLevel

_HAIR = 1e-9
"""How far before its sample a step may end and still count as there [s]: rounding of sums of steps."""
BIN = 0.25
"""Time over which a tally adds up what it counts [s] (judgement: a tenth of the shortest useful drift, and evenly shared
within)."""
_LEVEL_PATH = 1e-12
"""Least way down in a step that is divided by [m]."""


class Recorder:
    """Paths of all flies on an even clock: x and depth (flies, times, rigs) [m]; tension [N] and angle of the line off
    the vertical [rad] where it enters the water (times, rigs); and at some of the times the whole line, its nodes from the
    top to the point, x and depth (2, moments, nodes, rigs) [m]."""

    def __init__(self, rigs: Batch, times: Floats, moments: Sequence[int] = ()) -> None:
        """Make room; ``times`` [s] begin at 0, ``moments`` are places among them."""
        self.times, self._nodes = times, list(rigs.layout.nodes)
        shape = (len(self._nodes), len(times), rigs.count)
        self.x, self.depth = np.zeros(shape), np.zeros(shape)
        self.tension, self.angle = np.zeros(shape[1:]), np.zeros(shape[1:])
        self._rigs, self._before = rigs, landed(rigs).place
        self._flies_before = self._before[:, self._nodes]
        self._moments = {moment: place for place, moment in enumerate(moments)}
        self.line = np.zeros((2, len(moments), *self._before.shape[1:]))
        self._keep(0, self._before, self._flies_before)
        self._next = 1

    def _keep(self, number: int, place: Floats, flies: Floats) -> None:
        """Write down where nodes and flies are at one of the times."""
        self.x[:, number], self.depth[:, number] = flies
        if number in self._moments:
            self.line[:, self._moments[number]] = place

    def __call__(self, time: float, dt: float, state: ChainState) -> bool:
        """Write down all sample times the step passed; return whether none is left."""
        now, flies = state.place.copy(), flies_at(self._rigs, state)
        while self._next < len(self.times) and self.times[self._next] <= time + _HAIR:
            number = self._next
            share = min((self.times[number] - time) / dt + 1, 1.0)
            between = self._flies_before + share * (flies - self._flies_before)
            self._keep(number, self._before + share * (now - self._before), between)
            self.tension[number] = state.tension[0]
            first = state.place[:, 1] - state.place[:, 0]
            self.angle[number] = np.arctan2(np.abs(first[0]), first[1])
            self._next += 1
        self._before, self._flies_before = now, flies
        return self._next >= len(self.times)


class Tally:
    """For every rig: when [s] and after what way of the point [m] the point first came down to the fish's level, infinite
    where never; when any fly first touched the bed [s]; the deepest the point and any fly came [m]; and, between any two
    times, shares of the time that flies are at their level, or on the bed."""

    def __init__(
        self, rigs: Batch, level: FishLevel, seconds: float, dropper_level: FishLevel | None = None
    ) -> None:
        """Begin; ``seconds`` is how long the drifts last [s]; droppers count at the point's level unless they have one."""
        self._nodes, self._floor, self._seconds = list(rigs.layout.nodes), rigs.floor, seconds
        self._rigs, self._level = rigs, level
        self._dropper_level = level if dropper_level is None else dropper_level
        self._start = landed(rigs).place[0, self._nodes[-1]]
        self._before = np.stack([self._start, 0 * self._start])
        self._bins = int(np.ceil(seconds / BIN - _HAIR))
        self._spent = np.zeros((4, self._bins, rigs.count))
        self.reached, self.way, self.touched = (np.full(rigs.count, np.inf) for _ in range(3))
        self.deepest = np.zeros(rigs.count)

    def __call__(self, time: float, dt: float, state: ChainState) -> bool:
        """Count the step; return whether all drifts are over."""
        places = flies_at(self._rigs, state)
        bed, depth = flies_rest(self._rigs, state, places), places[1]
        spent = self._spent[:, min(int((time - dt / 2) / BIN), self._bins - 1)]
        spent[0] += dt * (self._within(depth[-1], self._level) & ~bed[-1])
        spent[1] += dt * bed[-1]
        droppers = len(self._nodes) - 1
        for lies, rests in zip(depth[:-1], bed[:-1], strict=True):
            spent[2] += dt / droppers * (self._within(lies, self._dropper_level) & ~rests)
            spent[3] += dt / droppers * rests
        np.maximum(self.deepest, depth.max(axis=0), out=self.deepest)
        np.minimum(self.touched, np.where(bed.any(axis=0), time, np.inf), out=self.touched)
        place = state.place[:, self._nodes[-1]]
        self._note_arrival(time, dt, place)
        self._before = place.copy()
        return time >= self._seconds - _HAIR

    def _within(self, depth: Floats, level: FishLevel) -> Booleans:
        height = self._floor - depth
        within: Booleans = (height >= level.low) & (height <= level.high)
        return within

    def _note_arrival(self, time: float, dt: float, place: Floats) -> None:
        """Note when and where the point first came down to the level's upper edge."""
        edge = self._floor - self._level.high
        first = (place[1] >= edge) & np.isinf(self.reached)
        if not first.any():
            return
        before, after = self._before[:, first], place[:, first]
        share = np.clip((edge[first] - before[1]) / np.maximum(after[1] - before[1], _LEVEL_PATH), 0.0, 1.0)
        self.reached[first] = time - dt + share * dt
        self.way[first] = before[0] + share * (after[0] - before[0]) - self._start[first]

    def shares(self, begin: Floats, end: Floats) -> Floats:
        """Return shares of the time from ``begin`` to ``end`` [s], one each a rig, (4, rigs) [-]: that the point is at the
        fish's level and not on the bed, that it is on the bed, and the same two of the droppers, their mean."""
        so_far = np.concatenate(
            [np.zeros((4, 1, self._spent.shape[2])), np.cumsum(self._spent, axis=1)], axis=1
        )
        shares: Floats = (self._until(so_far, end) - self._until(so_far, begin)) / (end - begin)
        return shares

    def _until(self, so_far: Floats, time: Floats) -> Floats:
        """Return what was counted up to a time, one a rig [s]: evenly shared within a bin."""
        place = np.clip(time / BIN, 0.0, self._bins)
        whole, rigs = np.minimum(place.astype(int), self._bins - 1), np.arange(len(place))
        before, after = so_far[:, whole, rigs], so_far[:, whole + 1, rigs]
        counted: Floats = before + (place - whole) * (after - before)
        return counted
