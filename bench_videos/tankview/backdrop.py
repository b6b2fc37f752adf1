"""The still part of the picture: tank, rear wall, water line and card, by tracing every pixel."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.view import card as drawing
from tankview import cardface, optics
from tankview.scene import Camera, Scene

Picture = NDArray[np.float32]
Floats = NDArray[np.float64]
_BAND = 64
"""Rows traced at a time."""
_TEXTURE = 1200
"""Side of the mottled texture [dots]."""
_GRAIN = 0.0005
"""Width of its dots [m]."""
_UNSEEN = (
    "exposure",
    "readout",
    "stored_rotation",
    "shake_px",
    "sway_px",
    "sway_s",
    "breath",
    "breath_s",
)
"""What of a camera a still picture does not show."""


def still(scene: Scene, density: int, moved: bool) -> Picture:
    """Return the still picture of a scene, ``density`` times the size of the clip's, before or after the card slips.

    Drawn once for scenes that differ in other things; nobody may write to it.
    """
    usual = Camera()
    steady = replace(scene.camera, **{name: getattr(usual, name) for name in _UNSEEN})
    return _drawn(
        Scene(camera=steady, tank=scene.tank, card=scene.card, backdrop=scene.backdrop, seed=scene.seed),
        density,
        moved,
    )


@lru_cache(maxsize=4)
def _drawn(scene: Scene, density: int, moved: bool) -> Picture:
    return Backdrop(scene, density).draw(moved)


class Backdrop:
    """Draws the still picture of a scene, with the card before or after it slips."""

    def __init__(self, scene: Scene, density: int = 1) -> None:
        """``density`` is the number of dots a pixel is given in each direction."""
        self.scene, self.density = scene, density
        self.texture = _mottle(scene.seed + 17, scene.backdrop.texture)
        self.boxes = _boxes(np.random.default_rng(scene.seed + 37), scene.backdrop.clutter)
        self.card = self._softened_card()

    def _softened_card(self) -> Picture | None:
        scene = self.scene
        if scene.card is None:
            return None
        middle = (0.0, scene.camera.y, scene.tank.fall_plane + scene.card.gap)
        px_per_m = optics.scale(np.array(middle), scene.camera, scene.tank) * scene.card.print_scale
        return cardface.softened(scene.card, scene.camera.blur_px, float(px_per_m))

    def draw(self, moved: bool = False) -> Picture:
        """Return the picture in grey levels, ``density`` times the size of the clip's."""
        camera, dense = self.scene.camera, self.density
        columns = (np.arange(camera.width * dense) + 0.5) / dense - 0.5
        rows = (np.arange(camera.height * dense) + 0.5) / dense - 0.5
        bands = []
        for first in range(0, len(rows), _BAND):
            x, y = np.meshgrid(columns, rows[first : first + _BAND])
            bands.append(self._band(np.column_stack([x.ravel(), y.ravel()]), moved).reshape(x.shape))
        light = 1 - self.scene.backdrop.gradient * ((rows + 0.5) / camera.height - 0.5)
        return (np.vstack(bands) * light[:, None]).astype(np.float32)

    def _band(self, pixels: Floats, moved: bool) -> Floats:
        scene, tank = self.scene, self.scene.tank
        entry, growth = optics.trace(pixels, scene.camera, tank)
        grey = self._mirrored(entry, growth, moved)
        if tank.surface_y is not None:
            air = entry[:, 1] < tank.surface_y
            grey = np.where(air, scene.backdrop.level + 28, grey)
            line = np.abs(entry[:, 1] - tank.surface_y) / 0.0009
            grey = grey - 70 * np.exp(-0.5 * line**2)
        if tank.floor_y is not None:
            table = _step(entry[:, 1] - tank.floor_y, 0.0009)
            grey = grey * (1 - table) + 96.0 * table
        px = 1 / scene.camera.focal_px * (scene.camera.distance + tank.wall)
        outside = _step(np.abs(entry[:, 0]) - tank.width / 2, px)
        pane = _step(np.abs(entry[:, 0]) - tank.width / 2 - tank.wall, px)
        return grey * (1 - outside) + outside * (70 + pane * 40)

    def _mirrored(self, entry: Floats, growth: Floats, moved: bool) -> Floats:
        """Rays that climb to the surface are thrown back down, a little fainter."""
        surface = self.scene.tank.surface_y
        if surface is None:
            return self._water(entry, growth, moved)
        straight = self._water(entry, growth, moved)
        meets = self._meets_surface(entry, growth, moved)
        if not meets.any():
            return straight
        down = np.column_stack([entry[:, 0], 2 * surface - entry[:, 1]])
        back = self._water(down, growth * [1.0, -1.0], moved)
        return np.where(meets, 0.75 * back + 40, straight)

    def _meets_surface(self, entry: Floats, growth: Floats, moved: bool) -> NDArray[np.bool_]:
        """Tell which rays meet the surface before they meet the card or the rear wall."""
        scene = self.scene
        surface = scene.tank.surface_y or 0.0
        reach = np.full(len(entry), scene.tank.depth)
        if scene.card is not None:
            plane = cardface.plane(scene.card, scene.tank.fall_plane, moved)
            inside = self._card_distance(plane.meet(entry, growth)) > 0
            reach[inside] = plane.middle[2]
        result: NDArray[np.bool_] = (entry[:, 1] > surface) & (entry[:, 1] + growth[:, 1] * reach < surface)
        return result

    def _water(self, entry: Floats, growth: Floats, moved: bool) -> Floats:
        scene = self.scene
        grey = self._rear(entry, growth)
        if scene.card is None or self.card is None:
            return grey
        spot = cardface.plane(scene.card, scene.tank.fall_plane, moved).meet(entry, growth)
        dots = (spot + scene.card.margin) * cardface.DOTS - 0.5
        print_ = _sampled(self.card, dots, cv2.BORDER_REPLICATE)
        cover = _step(self._card_distance(spot), 0.0004)
        return grey * (1 - cover) + print_ * cover

    def _card_distance(self, spot: Floats) -> Floats:
        """Return how far inside the paper's edge card points lie [m]."""
        assert self.scene.card is not None
        setting = self.scene.card
        half = np.array([drawing.width(), cardface.height(setting)]) / 2
        return np.min(half + setting.margin - np.abs(spot - half), axis=1)

    def _rear(self, entry: Floats, growth: Floats) -> Floats:
        """Shade the rear wall, and the side walls where a ray meets them first."""
        tank, level = self.scene.tank, self.scene.backdrop.level
        side = np.sign(growth[:, 0]) * tank.width / 2
        with np.errstate(divide="ignore", invalid="ignore"):
            sideways = np.where(growth[:, 0] != 0, (side - entry[:, 0]) / growth[:, 0], np.inf)
        depth = np.clip(sideways, 0, tank.depth)
        y = entry[:, 1] + growth[:, 1] * depth
        x = entry[:, 0] + growth[:, 0] * depth + np.sign(growth[:, 0]) * (tank.depth - depth)
        mottle = _sampled(self.texture, np.column_stack([x, y]) / _GRAIN % _TEXTURE, cv2.BORDER_WRAP)
        for left, top, right, low, shade in self.boxes:
            inside = _step(np.minimum(np.minimum(x - left, right - x), np.minimum(y - top, low - y)), 0.0009)
            mottle = mottle + inside * shade
        return (level + mottle) * (0.78 + 0.22 * depth / tank.depth)


def _boxes(rng: np.random.Generator, count: int) -> Floats:
    """Return left, top, right, low [m] and change of grey of boxes behind the tank, shape (count, 5)."""
    middle = np.column_stack([rng.uniform(-0.09, 0.09, count), rng.uniform(-0.05, 0.30, count)])
    half = rng.uniform(0.004, 0.025, (count, 2))
    return np.column_stack([middle - half, middle + half, rng.uniform(-60, 25, count)])


def _sampled(raster: Picture, dots: Floats, border: int) -> Floats:
    """Return the raster between its dots (n, 2); shaped in rows, as the sampler limits each side."""
    maps = [np.ascontiguousarray(part, dtype=np.float32).reshape(-1, 2) for part in dots.T]
    limit = 30_000
    parts = [
        cv2.remap(raster, maps[0][i : i + limit], maps[1][i : i + limit], cv2.INTER_LINEAR, borderMode=border)
        for i in range(0, len(maps[0]), limit)
    ]
    return np.concatenate([part.ravel() for part in parts]).astype(float)


def _step(signed: Floats, soft: float) -> Floats:
    """Return 0 outside, 1 inside, with a ramp ``soft`` wide."""
    ramp: Floats = np.clip(signed / soft + 0.5, 0, 1)
    return ramp


@lru_cache(maxsize=2)
def _mottle(seed: int, rms: float) -> Picture:
    """Return a texture of mixed grain that repeats without a seam, kept for the next scene; nobody may write to it."""
    rng = np.random.default_rng(seed)
    total = np.zeros((_TEXTURE, _TEXTURE), dtype=np.float32)
    for grain, share in ((4, 0.35), (16, 0.6), (75, 1.0)):
        coarse = rng.standard_normal((_TEXTURE // grain,) * 2).astype(np.float32)
        padded = cv2.copyMakeBorder(coarse, 2, 2, 2, 2, cv2.BORDER_WRAP)
        size = padded.shape[0] * grain
        fine = cv2.resize(padded, (size, size), interpolation=cv2.INTER_CUBIC)
        total += share * fine[2 * grain : 2 * grain + _TEXTURE, 2 * grain : 2 * grain + _TEXTURE]
    return (total * (rms / total.std())).astype(np.float32)
