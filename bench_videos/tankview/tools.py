"""Tweezers, hand and thread: what brings the fly, lets it go and lifts it out again."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tankview import motion, optics
from tankview.extras import Picture, paint
from tankview.scene import Scene

Floats = NDArray[np.float64]


class Tools:
    """Tweezers, hand and thread over one drop's fly."""

    def __init__(self, scene: Scene, path: motion.Path) -> None:
        """Lay out when the tips are where, and how far open."""
        self.scene, self.path = scene, path
        drop, top = path.drop, motion.PARKED_Y
        rise = (drop.release_y - top) / 0.35
        brought = drop.start - drop.held - drop.lowering
        stops = [(brought, top, 0.0), (drop.start - drop.held, drop.release_y, 0.0)]
        stops += [(drop.start, drop.release_y, 0.0), (drop.start + 0.06, drop.release_y, 1.0)]
        stops += [(drop.start + 0.25, drop.release_y, 1.0)]
        if not scene.extras.tweezers_stay:
            stops += [(drop.start + 0.25 + rise, top, 1.0)]
        if np.isfinite(drop.rest):
            stops += self._fetching(drop.rest)
        self.stops = np.array(stops).T
        self.x = drop.release_x

    def _fetching(self, rest: float) -> list[tuple[float, float, float]]:
        leave = self.path.landing + rest
        low = float(self.path.at(np.array([leave - 1e-6]))[0, 1])
        top, lift = motion.PARKED_Y, self.path.drop.lift_speed
        down = min(0.6 * rest, 0.7)
        return [
            (leave - 0.15 - down, top, 1.0),
            (leave - 0.15, low, 1.0),
            (leave, low, 0.0),
            (leave + (low - top) / lift, top, 0.0),
        ]

    def lay(self, picture: Picture, time: float, shift: Floats) -> None:
        """Draw the tools at an instant, with the picture's shift [px]."""
        if not self.stops[0, 0] <= time <= self.stops[0, -1] + 0.01 and not self.scene.extras.tweezers_stay:
            return
        extras, look = self.scene.extras, self.scene.fly
        y, gap = (float(np.interp(time, self.stops[0], row)) for row in self.stops[1:])
        grip = y - look.length / 2 + 0.001
        x = self.x
        if time > self.path.landing:
            x = float(self.path.at(np.array([self.path.landing]))[0, 0])
        if extras.thread:
            fly = self.path.at(np.array([time]))[0]
            self._outline(picture, _thread(fly[0], fly[1] - look.length / 2), shift, 90.0, 0.7)
        if extras.tweezers:
            for side in (-1.0, 1.0):
                for outline, level in _arm(x, grip, gap, side):
                    self._outline(picture, outline, shift, level, 1.0)
        if extras.hand:
            for outline, level in _hand(x, grip):
                self._outline(picture, outline, shift, level, 1.0)

    def _outline(
        self, picture: Picture, outline: Floats, shift: Floats, level: float, opacity: float
    ) -> None:
        points = np.column_stack([outline, np.full(len(outline), self.path.depth)])
        pixels = optics.project(points, self.scene.camera, self.scene.tank)
        paint(picture, pixels + shift, level, opacity)


def _thread(x: float, low: float) -> Floats:
    return np.array([[x - 0.0001, -0.4], [x + 0.0001, -0.4], [x + 0.0001, low], [x - 0.0001, low]])


def _arm(x: float, tip: float, gap: float, side: float) -> list[tuple[Floats, float]]:
    """Return one arm of the tweezers: its outline and the lit edge, with their grey levels."""
    foot = x + side * (0.0003 + 0.004 * gap)
    mid, high = x + side * (0.0035 + 0.004 * gap), x + side * 0.0045
    inner = [[foot, tip + 0.003], [mid, tip - 0.035], [high, tip - 0.13]]
    outer = [
        [high + side * 0.0035, tip - 0.13],
        [mid + side * 0.003, tip - 0.035],
        [foot + side * 0.0009, tip + 0.003],
    ]
    lit = [
        [high + side * 0.0012, tip - 0.13],
        [mid + side * 0.001, tip - 0.035],
        [foot + side * 0.0004, tip + 0.003],
    ]
    return [(np.array(inner + outer), 104.0), (np.array(inner + lit), 158.0)]


def _hand(x: float, tip: float) -> list[tuple[Floats, float]]:
    """Return forearm with back of the hand, forefinger and thumb on the tweezers, with grey levels."""
    arm = [
        [0.002, -0.100],
        [0.020, -0.098],
        [0.044, -0.128],
        [0.068, -0.175],
        [0.110, -0.420],
        [0.052, -0.420],
    ]
    arm += [[0.016, -0.190], [-0.006, -0.150]]
    finger = [
        [-0.0065, -0.078],
        [-0.002, -0.080],
        [0.014, -0.104],
        [0.030, -0.135],
        [0.010, -0.150],
        [-0.010, -0.105],
    ]
    thumb = [
        [0.0065, -0.084],
        [0.001, -0.085],
        [0.010, -0.110],
        [0.034, -0.140],
        [0.040, -0.122],
        [0.018, -0.096],
    ]
    parts = ((arm, 142.0), (thumb, 128.0), (finger, 154.0))
    return [(_rounded(np.array(part)) + np.array([x, tip]), level) for part, level in parts]


def _rounded(corners: Floats) -> Floats:
    """Cut the corners of an outline three times over (Chaikin), which leaves it smooth."""
    for _ in range(3):
        ahead = np.roll(corners, -1, axis=0)
        pair = np.stack([0.75 * corners + 0.25 * ahead, 0.25 * corners + 0.75 * ahead], axis=1)
        corners = pair.reshape(-1, 2)
    return corners
