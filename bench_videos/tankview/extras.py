"""What disturbs the picture: bubbles, waves, a shaking hand, flicker, noise."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.view import card as drawing
from tankview import cardface, optics, sprite
from tankview.scene import Scene

Picture = NDArray[np.float32]
Floats = NDArray[np.float64]
_SHIFT = 5


class Shake:
    """How hand and focus move the picture: right and down [px], a turn [rad] and a growth, about its middle."""

    def __init__(self, scene: Scene) -> None:
        """Draw the tones, a few a second, from the scene's seed."""
        rng = np.random.default_rng(scene.seed + 29)
        tones = 6
        self.rates = 2 * np.pi * rng.uniform(0.4, 5.0, (3, tones))
        self.phases = rng.uniform(0, 2 * np.pi, (3, tones))
        turn = 0.25 / (scene.camera.height / 2)
        self.size = scene.camera.shake_px * np.sqrt(2 / tones) * np.array([1.0, 1.0, turn])
        self.middle = np.array([scene.camera.width - 1, scene.camera.height - 1]) / 2
        self.camera = scene.camera
        self.swaying = np.random.default_rng(scene.seed + 31).uniform(0, 2 * np.pi, 3)

    def motion(self, time: Floats) -> Floats:
        """Return right, down [px], turn [rad] and growth [-] at each instant, shape (n, 4)."""
        instants = np.asarray(time)
        tone = np.cos(self.rates * instants[:, None, None] + self.phases) - np.cos(self.phases)
        shaken = tone.sum(axis=2) * self.size
        camera, (side, down, focus) = self.camera, self.swaying
        sway = 2 * np.pi * instants / camera.sway_s
        shaken[:, 0] += camera.sway_px / 2 * (np.sin(0.8 * sway + side) - np.sin(side))
        shaken[:, 1] += camera.sway_px * (np.sin(sway + down) - np.sin(down))
        breath = np.sin(2 * np.pi * instants / camera.breath_s + focus) - np.sin(focus)
        return np.column_stack([shaken, camera.breath * breath])

    def moved(self, pixels: Floats, motion: Floats) -> Floats:
        """Return pixels (n, 2) after the shake (n, 4) of their own instants."""
        growth = 1 + motion[:, 3]
        cos, sin = growth * np.cos(motion[:, 2]), growth * np.sin(motion[:, 2])
        x, y = (pixels - self.middle).T
        return np.column_stack([cos * x - sin * y, sin * x + cos * y]) + self.middle + motion[:, :2]

    def still(self, dense: Picture, density: int, motion: Floats) -> Picture:
        """Return the still picture as shaken, sampled from its denser drawing."""
        cos, sin = (function(motion[2]) / (1 + motion[3]) for function in (np.cos, np.sin))
        back = np.array([[cos, sin], [-sin, cos]])
        shift = self.middle - back @ (self.middle + motion[:2])
        matrix = density * np.column_stack([back, shift + 0.5])
        matrix[:, 2] -= 0.5
        size = tuple(int(side) // density for side in dense.shape[1::-1])
        how = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
        shaken = cv2.warpAffine(dense, matrix, size, flags=how, borderMode=cv2.BORDER_REPLICATE)
        return np.asarray(shaken, dtype=np.float32)


class Noise:
    """Grey noise: cut anew for every frame from a pool, which is quicker than drawing it."""

    def __init__(self, shape: tuple[int, int], sigma: float, rng: np.random.Generator) -> None:
        """``sigma`` is in grey levels."""
        self.shape, self.sigma, self.rng = shape, sigma, rng
        size = (3, shape[0] + 97, shape[1] + 89) if sigma else (0, 0, 0)
        self.pool = rng.standard_normal(size, dtype=np.float32) * np.float32(sigma)

    def add(self, picture: Picture) -> None:
        """Add noise in place."""
        if self.sigma == 0:
            return
        layer, top, left = self.rng.integers([3, 97, 89])
        cut = self.pool[layer, top : top + self.shape[0], left : left + self.shape[1]]
        if self.rng.random() < 0.5:
            picture += cut
        else:
            picture -= cut


def flicker(scene: Scene, time: float, readout_share: Floats) -> Picture:
    """Return the light at the rows of the sensor, averaged over the exposure."""
    extras, exposure = scene.extras, scene.camera.exposure / scene.timing.fps
    row_time = time + scene.camera.readout * readout_share
    depth = extras.flicker * np.sinc(extras.flicker_hz * exposure)
    ramp = 1 + extras.ramp * time / scene.duration
    light = ramp * extras.light * (1 + depth * np.sin(2 * np.pi * extras.flicker_hz * row_time))
    return light.astype(np.float32)


class Bubbles:
    """Bubbles that rise through the tank again and again, wobbling a little."""

    def __init__(self, scene: Scene, px_per_m: float) -> None:
        """Draw sizes, speeds and paths from the scene's seed."""
        rng, extras, tank = np.random.default_rng(scene.seed + 43), scene.extras, scene.tank
        self.scene, count = scene, extras.bubbles
        self.span = scene.camera.height / px_per_m + 0.06
        self.low = scene.camera.y + self.span / 2
        self.x = rng.uniform(-0.45, 0.45, count) * tank.width
        self.depth = rng.uniform(0.15, 0.95, count) * tank.depth
        if scene.card is not None:
            self.depth = np.minimum(self.depth, tank.fall_plane + scene.card.gap)
        self.speed = rng.uniform(*extras.bubble_speed, count)
        self.phase = rng.uniform(0, 1, count)
        sizes = rng.uniform(*extras.bubble_diameter, count)
        self.px_per_m = px_per_m
        self.stamps = [sprite.Stamp(sprite.bubble(d, px_per_m, scene.camera.blur_px)) for d in sizes]

    def _pixels(self, time: float) -> Floats:
        risen = self.speed * time + self.phase * 1.7 * self.span
        y = self.low - risen % (1.7 * self.span)
        x = self.x + 0.0012 * np.sin(2 * np.pi * (4 * time + self.phase))
        points = np.column_stack([x, y, self.depth])
        return optics.project(points, self.scene.camera, self.scene.tank)

    def lay(self, picture: Picture, time: float, exposure: float) -> None:
        """Blend all bubbles into a picture; times in s."""
        if not self.stamps:
            return
        starts, ends = self._pixels(time - exposure / 2), self._pixels(time + exposure / 2)
        for stamp, start, end in zip(self.stamps, starts, ends, strict=True):
            stamp.lay(picture, start, end, self.px_per_m, opacity=0.9)


class People:
    """People who walk to and fro behind the tank, beside the fall: coat, head and stripes of a shirt, in grey levels."""

    def __init__(self, scene: Scene) -> None:
        """Draw paces, sizes and greys from the scene's seed."""
        rng, count = np.random.default_rng(scene.seed + 61), scene.extras.people
        self.width, self.height = scene.camera.width, scene.camera.height
        self.period = rng.uniform(2.0, 5.0, count)
        self.phase = rng.uniform(0, 2 * np.pi, count)
        self.grey = rng.uniform(45, 110, count)
        self.size = rng.uniform(0.16, 0.24, count) * self.width
        self.hidden = _hidden_by_card(scene)

    def lay(self, picture: Picture, time: float, shift: Floats) -> None:
        """Paint everybody at an instant [s], with the picture's shift [px]."""
        if not len(self.size):
            return
        before = picture.copy()
        for period, phase, grey, size in zip(self.period, self.phase, self.grey, self.size, strict=True):
            side = 1 if phase < np.pi else -1
            across = self.width * (0.5 + side * (0.62 + 0.2 * np.sin(2 * np.pi * time / period + phase)))
            self._person(picture, np.array([across, 0.35 * self.height]) + shift, grey, size)
        if self.hidden is not None:
            mask = np.zeros(picture.shape, np.uint8)
            cv2.fillPoly(mask, [np.round(self.hidden + shift).astype(np.int32)], 1)
            picture[mask > 0] = before[mask > 0]

    def _person(self, picture: Picture, neck: Floats, grey: float, size: float) -> None:
        round_ = np.linspace(0, 2 * np.pi, 24, endpoint=False)
        head = 0.45 * size * np.column_stack([0.8 * np.cos(round_), np.sin(round_)])
        paint(picture, neck + head - [0, 0.4 * size], grey + 60, 1.0)
        coat = np.array([[-0.4, 0.0], [0.4, 0.0], [0.9, 0.5], [1.0, 9.0], [-1.0, 9.0], [-0.9, 0.5]])
        paint(picture, neck + size * coat, grey, 1.0)
        for stripe in np.arange(0.6, 5.0, 0.4):
            band = np.array([[-0.85, stripe], [0.85, stripe], [0.85, stripe + 0.15], [-0.85, stripe + 0.15]])
            paint(picture, neck + size * band, grey + 35, 1.0)


def _hidden_by_card(scene: Scene) -> Floats | None:
    """Return the outline of the card's paper in the picture [px], before which nobody walks."""
    if scene.card is None:
        return None
    half_width = drawing.width() / 2 + scene.card.margin
    top, low = -scene.card.margin, cardface.height(scene.card) + scene.card.margin
    depth = scene.tank.fall_plane + scene.card.gap
    corners = [[-half_width, top], [half_width, top], [half_width, low], [-half_width, low]]
    return optics.project(np.array([[x, y, depth] for x, y in corners]), scene.camera, scene.tank)


def waves(picture: Picture, scene: Scene, time: float, shift: Floats) -> None:
    """Draw the moving water line over the still one."""
    surface = scene.tank.surface_y
    if surface is None or scene.extras.waves == 0:
        return
    x = np.linspace(-0.6, 0.6, 60) * scene.tank.width
    ripple = np.sin(70 * x - 14 * time) + 0.7 * np.sin(131 * x + 19 * time + 1)
    y = surface + scene.extras.waves * ripple / np.sqrt((1 + 0.49) / 2)
    points = optics.project(np.column_stack([x, y, np.zeros_like(x)]), scene.camera, scene.tank) + shift
    band = 0.0014 * optics.scale(np.array([0.0, surface, 0.0]), scene.camera, scene.tank)
    paint(picture, np.vstack([points, points[::-1] + np.array([0, band])]), 110.0, 0.75)


def paint(picture: Picture, outline: Floats, level: float, opacity: float) -> None:
    """Blend a filled outline [px] into the picture, smooth at its edge."""
    low = np.maximum(np.floor(outline.min(axis=0)).astype(int) - 2, 0)
    high = np.minimum(np.ceil(outline.max(axis=0)).astype(int) + 3, picture.shape[1::-1])
    if np.any(low >= high):
        return
    mask = np.zeros(tuple((high - low)[::-1]), dtype=np.uint8)
    whole = np.round((outline - low) * 2**_SHIFT).astype(np.int32).reshape(-1, 1, 2)
    cv2.fillPoly(mask, [whole], 255, cv2.LINE_AA, _SHIFT)
    soft = cv2.GaussianBlur(mask, (0, 0), 0.6)
    share = soft.astype(np.float32) * np.float32(opacity / 255)
    patch = picture[low[1] : high[1], low[0] : high[0]]
    patch *= 1 - share
    patch += share * np.float32(level)
