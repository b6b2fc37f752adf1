"""Where the fly is at any instant: brought in, held, sinking, resting, lifted out."""

from __future__ import annotations

from math import isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from tankview.scene import Drop

Floats = NDArray[np.float64]
PARKED_Y = -0.15
"""Where the fly waits out of view, above the picture [m]."""
ABSENT, BROUGHT, SINKING, RESTING, LIFTED = range(5)
_MIDDLE = 0.12
"""Height of the card's middle [m], where a path that leans away crosses the plane of fall."""
_TONES = 48
_LONGEST = 60.0


class Path:
    """The path of one drop."""

    def __init__(self, drop: Drop, fall_plane: float, rng: np.random.Generator) -> None:
        """Integrate the fall until it lands; ``fall_plane`` is a depth [m]."""
        self.drop = drop
        self.depth = fall_plane + drop.depth_offset
        self._fall = self._integrated()
        self.landing = drop.start + float(self._fall.t[-1])
        self._wander = [_Wander(drop.wander_time, rng) for _ in range(3)]
        self._at_rest = self._sinking(np.array([self.landing]))[0]

    def _integrated(self) -> Any:
        drop = self.drop

        def rate(_: float, state: Floats) -> list[float]:
            ratio = state[1] / drop.terminal_speed
            drag = ratio * abs(ratio) ** (drop.drag_exponent - 1)
            return [state[1], drop.terminal_speed / drop.response_time * (1 - drag)]

        def ground(_: float, state: Floats) -> float:
            return float(state[0] - drop.bottom_y)

        ground.terminal = True  # type: ignore[attr-defined]
        begin = [drop.release_y, drop.start_speed]
        return solve_ivp(
            rate,
            (0, _LONGEST),
            begin,
            events=ground,
            dense_output=True,
            rtol=1e-11,
            atol=1e-13,
            method="DOP853",
        )

    def state(self, time: Floats) -> NDArray[np.int64]:
        """Return the phase at each instant."""
        drop = self.drop
        leave = self.landing + drop.rest
        gone = leave + (self._at_rest[1] - PARKED_Y) / drop.lift_speed + 2 * drop.lift_step / drop.lift_speed
        edges = [drop.start - drop.held - drop.lowering, drop.start, self.landing, leave, gone]
        return np.asarray(np.searchsorted(edges, time, side="right") % len(edges))

    def at(self, time: Floats) -> Floats:
        """Return x, y and depth [m] at each instant, shape (n, 3)."""
        phase = self.state(time)
        place = np.tile([self.drop.release_x, PARKED_Y, self.depth], (len(time), 1))
        early = phase == BROUGHT
        place[early, 1] = self._brought(time[early])
        sinking = phase == SINKING
        place[sinking] = self._sinking(time[sinking])
        place[phase >= RESTING] = self._at_rest
        if isfinite(self.drop.rest):
            lifted = phase == LIFTED
            since = time[lifted] - self.landing - self.drop.rest
            place[lifted, 1] -= self._lifted(self.drop.lift_speed * since)
        return place

    def _lifted(self, way: Floats) -> Floats:
        """Return how high the fly was lifted when the hand has gone so far, up and down [m]."""
        drop = self.drop
        if not drop.lift_step:
            return way
        turn = float(self._at_rest[1]) - drop.lift_step_y
        return way - 2 * np.clip(way - turn, 0.0, drop.lift_step)

    def _brought(self, time: Floats) -> Floats:
        drop = self.drop
        stops = [drop.start - drop.held - drop.lowering, drop.start - drop.held]
        return np.interp(time, stops, [PARKED_Y, drop.release_y])

    def _sinking(self, time: Floats) -> Floats:
        drop = self.drop
        since = time - drop.start
        y = self._fallen(since)[0]
        if drop.swing:
            beat = 2 * np.pi * drop.swing_hz
            y = y + drop.swing * drop.terminal_speed / beat * np.sin(beat * since)
        drift = drop.slope * (y - drop.release_y)
        aside, along, away = (wander.at(since) for wander in self._wander)
        return np.column_stack(
            [
                drop.release_x + drift + drop.wander * aside,
                y + drop.wander_along * along,
                self.depth + drop.wander_depth * away + drop.away * (y - _MIDDLE),
            ]
        )

    def _fallen(self, since: Floats) -> Floats:
        """Return position and speed of the true fall, shape (2, n)."""
        if len(since) == 0:
            return np.empty((2, 0))
        return np.asarray(self._fall.sol(since))

    def speed(self, time: Floats) -> Floats:
        """Return the speed of the true fall, wander left out, at instants of it [m/s]."""
        return self._fallen(time - self.drop.start)[1]

    def angle(self, time: Floats, tilt_deg: float, tumble_deg_s: float) -> Floats:
        """Return how far the fly is turned [deg]; it tumbles only while it sinks."""
        since = np.clip(time, self.drop.start, self.landing) - self.drop.start
        return tilt_deg + tumble_deg_s * since


class _Wander:
    """A smooth random course of unit size: it starts from zero, mean zero, Matern 3/2 in time."""

    def __init__(self, correlation: float, rng: np.random.Generator) -> None:
        # The spectrum (1 + w^2)^-2 is that of Student's t with three degrees of freedom.
        self.correlation = correlation
        self.rates = rng.standard_t(3, _TONES) / np.sqrt(3) / correlation
        self.phases = rng.uniform(0, 2 * np.pi, _TONES)

    def at(self, since: Floats) -> Floats:
        course = np.sqrt(2 / _TONES) * np.cos(np.outer(since, self.rates) + self.phases).sum(axis=1)
        return course * (1 - np.exp(-((since / self.correlation) ** 2)))
