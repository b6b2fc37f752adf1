"""Small pictures with transparency: fly, shadow and bubbles, laid down between the pixels."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from tankview.scene import Fly

Picture = NDArray[np.float32]
Floats = NDArray[np.float64]
FINE = 4
"""Dots of a sprite per pixel of the picture."""
_SHIFT = 5
_CLEAR = 1e-4
"""Opacity below which a dot counts as clear."""
_STEP_PX = 0.6
"""Longest step between two sub-exposures [px]."""


@dataclass(frozen=True)
class Sprite:
    """Opacity and opacity times grey level; its centroid of opacity is the point it is laid at."""

    layers: Picture
    dots_per_m: float

    @property
    def centroid(self) -> Floats:
        """Return the centroid of opacity [dots]."""
        opacity = self.layers[..., 0].astype(float)
        total = opacity.sum()
        x = opacity.sum(axis=0) @ np.arange(opacity.shape[1]) / total
        y = opacity.sum(axis=1) @ np.arange(opacity.shape[0]) / total
        return np.array([x, y])

    @property
    def reach(self) -> float:
        """Return how far the sprite reaches from its centroid [m]."""
        seen = np.argwhere(self.layers[..., 0] > _CLEAR)[:, ::-1]
        return float(np.hypot(*(seen - self.centroid).T).max()) / self.dots_per_m


class Stamp:
    """Lays one sprite into pictures."""

    def __init__(self, sprite: Sprite) -> None:
        """Work out the centroid once."""
        self.sprite, self.centre, self.reach = sprite, sprite.centroid, sprite.reach

    def lay(
        self,
        picture: Picture,
        start: Floats,
        end: Floats,
        px_per_m: float,
        angle_deg: float = 0.0,
        opacity: float = 1.0,
        mirror: tuple[int, int] = (1, 1),
        shade: bool = False,
    ) -> None:
        """Blend the sprite in as it moves from ``start`` to ``end`` [px] within the exposure.

        ``shade`` darkens what lies below in proportion, as a shadow does.
        """
        half = int(np.ceil(self.reach * px_per_m)) + 3
        low = np.floor(np.minimum(start, end)).astype(int) - half
        high = np.ceil(np.maximum(start, end)).astype(int) + half + 1
        left, top = np.maximum(low, 0)
        right, bottom = np.minimum(high, picture.shape[1::-1])
        if left >= right or top >= bottom:
            return
        mean = self._smeared(start - low, end - low, tuple(high - low), px_per_m, angle_deg, mirror)
        mean = mean[top - low[1] : bottom - low[1], left - low[0] : right - low[0]]
        patch = picture[top:bottom, left:right]
        keep = 1 - opacity * mean[..., 0]
        patch *= keep
        if not shade:
            patch += opacity * mean[..., 1]

    def _smeared(
        self,
        start: Floats,
        end: Floats,
        size: tuple[int, int],
        px_per_m: float,
        angle_deg: float,
        mirror: tuple[int, int],
    ) -> Picture:
        size_px = px_per_m / self.sprite.dots_per_m
        angle = np.radians(angle_deg)
        rotation = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        linear = size_px * np.diag(mirror) @ rotation
        steps = min(int(np.hypot(*(end - start)) / _STEP_PX) + 1, 40)
        total: Picture | float = 0.0
        for step in range(steps):
            spot = start + (end - start) * ((step + 0.5) / steps)
            matrix = np.column_stack([linear, spot - linear @ self.centre])
            total = total + cv2.warpAffine(self.sprite.layers, matrix, size, flags=cv2.INTER_LINEAR)
        return np.asarray(total / np.float32(steps), dtype=np.float32)


class _Easel:
    """A canvas in metres about its middle, y downwards."""

    def __init__(self, half: float, dots_per_m: float) -> None:
        side = 2 * int(np.ceil(half * dots_per_m)) + 1
        self.dots = dots_per_m
        self.middle = (side - 1) / 2
        self.opacity = np.zeros((side, side), dtype=np.float32)
        self.tinted = np.zeros((side, side), dtype=np.float32)

    def _whole(self, points: Floats) -> NDArray[np.int32]:
        spots = (np.asarray(points) * self.dots + self.middle) * 2**_SHIFT
        return np.round(spots).astype(np.int32).reshape(-1, 1, 2)

    def _blend(self, mask: NDArray[np.uint8], level: float, opacity: float) -> None:
        share = mask.astype(np.float32) * np.float32(opacity / 255)
        self.opacity = share + self.opacity * (1 - share)
        self.tinted = share * np.float32(level) + self.tinted * (1 - share)

    def shape(self, outline: Floats, level: float, opacity: float = 1.0) -> None:
        mask = np.zeros(self.opacity.shape, dtype=np.uint8)
        cv2.fillPoly(mask, [self._whole(outline)], 255, cv2.LINE_AA, _SHIFT)
        self._blend(mask, level, opacity)

    def fibres(self, lines: list[Floats], width: float, level: float, opacity: float) -> None:
        mask = np.zeros(self.opacity.shape, dtype=np.uint8)
        thick = max(1, round(width * self.dots))
        for line in lines:
            cv2.polylines(mask, [self._whole(line)], False, 255, thick, cv2.LINE_AA, _SHIFT)
        self._blend(mask, level, opacity)

    def sprite(self, blur: float) -> Sprite:
        layers = np.dstack([self.opacity, self.tinted])
        return Sprite(np.asarray(cv2.GaussianBlur(layers, (0, 0), blur * self.dots)), self.dots)


def _disc(x: float, y: float, radius: float, squash: float = 1.0) -> Floats:
    turn = np.linspace(0, 2 * np.pi, 64, endpoint=False)
    return np.column_stack([x + radius * squash * np.cos(turn), y + radius * np.sin(turn)])


def fly(look: Fly, px_per_m: float, blur_px: float, rng: np.random.Generator) -> Sprite:
    """Return the fly hanging head down: hook, tail, tapered body, hackle, bead with a shine; or a ball."""
    if look.ball:
        return _ball(look, px_per_m, blur_px)
    half = look.length / 2 + look.hackle + 0.004 + 4 * blur_px / px_per_m
    easel = _Easel(half, FINE * px_per_m)
    bead, head = look.bead_diameter / 2, look.length / 2
    collar, tail = head - 1.6 * bead, -head * 0.72
    _hook(easel, look, tail)
    tails = [np.array([[0, tail], [x, -head * 1.05]]) for x in rng.normal(0, 0.0006, 6)]
    easel.fibres(tails, 0.00018, look.hackle_level, 0.8)
    if look.hackle > 0:
        easel.fibres(_hackle(look, collar, rng), 0.00016, look.hackle_level, 0.55)
    along = np.linspace(0, 1, 24)
    wide = look.body_width / 2 * (0.3 + 0.7 * along) * np.sqrt(np.clip(1.02 - along**8, 0, 1))
    y = tail + (collar + 0.6 * bead - tail) * along
    easel.shape(np.vstack([np.column_stack([wide, y]), np.column_stack([-wide, y])[::-1]]), look.body_level)
    ribs = [
        np.array([[-w * 0.9, v + w * 0.5], [w * 0.9, v - w * 0.3]])
        for w, v in zip(wide[4:22:4], y[4:22:4], strict=True)
    ]
    easel.fibres(ribs, 0.00022, 1.33 * look.bead_level, 0.7)
    if look.hackle > 0:
        easel.fibres(_hackle(look, collar, rng)[::2], 0.00014, look.hackle_level, 0.45)
    easel.shape(_disc(0, head - bead, bead), 0.62 * look.bead_level)
    easel.shape(_disc(-0.08 * bead, head - 1.08 * bead, 0.82 * bead), look.bead_level)
    easel.shape(_disc(-0.3 * bead, head - 1.35 * bead, 0.3 * bead), look.shine, 0.9)
    return easel.sprite(np.hypot(blur_px, 0.3) / px_per_m)


def _ball(look: Fly, px_per_m: float, blur_px: float) -> Sprite:
    """Return a ball, somewhat brighter where light falls on it."""
    radius = look.bead_diameter / 2
    easel = _Easel(radius + 4 * blur_px / px_per_m, FINE * px_per_m)
    easel.shape(_disc(0, 0, radius), look.bead_level)
    easel.shape(_disc(-0.3 * radius, -0.35 * radius, 0.25 * radius), look.shine, 0.6)
    return easel.sprite(np.hypot(blur_px, 0.3) / px_per_m)


def _hook(easel: _Easel, look: Fly, tail: float) -> None:
    turn = np.linspace(0.1 * np.pi, 1.05 * np.pi, 16)
    gape = max(0.0016, 0.16 * look.length)
    bend = np.column_stack([gape - gape * np.cos(turn), tail - gape * np.sin(turn)])
    point = np.array([[2 * gape, tail + 0.9 * gape]])
    easel.fibres([np.vstack([[[0, tail + 0.001]], bend, point])], 0.00035, look.body_level * 0.8, 0.95)


def _hackle(look: Fly, collar: float, rng: np.random.Generator) -> list[Floats]:
    """Return fibres swept back and out from the collar, bent a little by the water."""
    lines = []
    for lean in rng.uniform(-1, 1, round(26 + 6000 * look.hackle)):
        reach = look.hackle * rng.uniform(0.65, 1.05)
        along = np.linspace(0, 1, 7)
        out = reach * np.sin(lean * 1.45) * along**0.8
        back = -reach * (0.25 + 0.75 * np.cos(lean * 1.45)) * along**1.4
        lines.append(np.column_stack([out, collar + rng.normal(0, 0.0003) + back]))
    return lines


def shadow(of: Sprite, blur: float) -> Sprite:
    """Return the sprite's shadow: the same outline, softened [m]."""
    dots = blur * of.dots_per_m
    rim = int(np.ceil(3 * dots))
    padded = cv2.copyMakeBorder(of.layers, rim, rim, rim, rim, cv2.BORDER_CONSTANT, value=(0, 0))
    return Sprite(np.asarray(cv2.GaussianBlur(padded, (0, 0), max(dots, 0.3))), of.dots_per_m)


def bubble(diameter: float, px_per_m: float, blur_px: float) -> Sprite:
    """Return an air bubble: clear middle, dark rim, a spot of light."""
    radius = diameter / 2
    easel = _Easel(radius + 4 * blur_px / px_per_m, FINE * px_per_m)
    easel.shape(_disc(0, 0, radius), 60, 0.75)
    easel.shape(_disc(0, 0, 0.66 * radius), 205, 0.8)
    easel.shape(_disc(-0.3 * radius, -0.3 * radius, 0.28 * radius), 250, 0.9)
    return easel.sprite(np.hypot(blur_px, 0.3) / px_per_m)
