"""Pictures of the invented flies, drawn by the renderer of the clips and coloured by their materials."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from tankview import sprite
from tankview.scene import Fly

from flyshop.flies import look
from flyshop.recipes import Tying

_DOTS_PER_M = 12_000.0
"""Pixels of the renderer per metre of fly; it draws four dots a pixel."""
_SIZE, _PX_PER_M = (640, 360), 33_000.0
"""Width and height of a picture [px], and its pixels per metre of fly: all flies are drawn to one scale."""
_PAPER = (226, 230, 228)
"""Colour of the ground: red, green, blue."""
_COLOURS = {
    "badger": (92, 82, 66),
    "brown": (96, 66, 40),
    "bone": (206, 192, 160),
    "charcoal": (52, 52, 56),
    "coral": (206, 124, 100),
    "cream": (220, 208, 176),
    "dun": (120, 116, 112),
    "ash": (150, 146, 138),
    "grey": (126, 126, 128),
    "moss": (84, 98, 52),
    "olive": (100, 106, 56),
    "peat": (74, 54, 38),
    "rust": (134, 70, 40),
    "slate": (84, 94, 108),
    "speckled": (140, 120, 92),
    "pewter": (140, 142, 146),
    "copper": (176, 104, 62),
    "brass": (176, 148, 74),
}
"""Colours of materials by the words in their tables: red, green, blue."""
_BEADS = {"tungsten": (150, 152, 158), "brass": (186, 150, 72)}
_TIP, _BODY, _BEAD, _SHINE = 0, 60, 110, 235
"""Grey levels of the renderer that become shade, body, bead and shine."""


def picture(made: Tying, path: Path, seed: int) -> None:
    """Draw a fly lying on pale paper, its bead to the left, and write it as JPEG."""
    seen = Fly(
        **{
            **look(made),
            "bead_level": float(_BEAD),
            "shine": float(_SHINE),
            "body_level": 46.0,
            "tilt_deg": 0.0,
        }
    )
    drawn = sprite.fly(seen, _DOTS_PER_M, 0.35, np.random.default_rng(seed))
    layers = np.rot90(drawn.layers, -1)  # the bead hangs down in the tank, and lies to the left on paper
    opacity = layers[..., :1]
    grey = np.divide(layers[..., 1:], opacity, out=np.zeros_like(opacity), where=opacity > 0.01)[..., 0]
    body, bead = _body(made), _bead(made)
    points = (_TIP, _BODY, _BEAD, _SHINE)
    ends = np.array([np.array(body) * 0.45, body, bead, (255, 255, 255)], dtype=float)
    colours = np.dstack([np.interp(grey, points, ends[:, channel]) for channel in range(3)])
    canvas = _ground(seed)
    _lay(canvas, colours, opacity)
    cv2.imwrite(str(path), canvas[..., ::-1].round().astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, 80])


def _lay(canvas: NDArray[np.float64], colours: NDArray[np.float64], opacity: NDArray[np.float32]) -> None:
    """Lay the fly into the middle of the ground, over a soft shadow of its own."""
    high, wide = canvas.shape[:2]
    rows, columns = (np.flatnonzero(opacity[..., 0].max(axis=axis) > 0.01) for axis in (1, 0))
    seen = np.dstack([colours, opacity]).astype(np.float32)[
        rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1
    ]
    share = _PX_PER_M / (sprite.FINE * _DOTS_PER_M)
    size = (min(round(seen.shape[1] * share), wide), min(round(seen.shape[0] * share), high))
    fly = cv2.resize(seen, size, interpolation=cv2.INTER_AREA)
    left, top = (wide - size[0]) // 2, (high - size[1]) // 2
    cover = np.zeros((high, wide), np.float32)
    cover[top : top + size[1], left : left + size[0]] = fly[..., 3]
    shade = np.roll(cv2.GaussianBlur(cover, (0, 0), 7), (9, 6), (0, 1))
    canvas *= 1 - 0.35 * shade[..., None]
    place = canvas[top : top + size[1], left : left + size[0]]
    place[...] = fly[..., :3] * fly[..., 3:] + place * (1 - fly[..., 3:])


def _ground(seed: int) -> NDArray[np.float64]:
    """Return pale paper, a little uneven."""
    grain = np.random.default_rng([seed, 3]).normal(0, 1.6, (_SIZE[1], _SIZE[0], 1))
    return np.clip(
        np.array(_PAPER, dtype=float) + cv2.GaussianBlur(grain, (0, 0), 1.2)[..., None] * 2, 0, 255
    )


def _body(made: Tying) -> tuple[int, int, int]:
    """Return the colour of body, hackle or rib, whichever the recipe has first."""
    for part in ("body", "rib", "hackle", "thread"):
        for used in made.dressing:
            words = str(used.material.get("colour", "")).split()
            if used.part == part and any(word in _COLOURS for word in words):
                return next(_COLOURS[word] for word in words if word in _COLOURS)
    return _COLOURS["grey"]


def _bead(made: Tying) -> tuple[int, int, int]:
    return _body(made) if made.bead is None else _BEADS[made.bead.material["metal"]]
