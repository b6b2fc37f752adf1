"""Ready scenes to start from."""

from __future__ import annotations

from typing import Any

import numpy as np

from tankview import optics
from tankview.scene import Drop, Scene, change

SPACING = 1.7
"""Time between two releases of the clean scene [s]."""
CARD_MIDDLE = 0.12
"""Height of the card's middle below its top [m]."""

__all__ = ["aimed", "change", "clean_scene", "drops"]


def clean_scene(**changes: Any) -> Scene:
    """Return four undisturbed drops at 0.30 m/s before the card, 540 x 960 upright at 60 a second.

    Changes are nested fields, joined by two underscores: ``clean_scene(timing__fps=240)``.
    """
    count = 4
    scene = Scene(drops=drops(count, SPACING), duration=0.2 + count * SPACING)
    return scene.but(**changes)


def drops(count: int, spacing: float, first: float = 0.2, **fields: Any) -> tuple[Drop, ...]:
    """Return equal drops released ``spacing`` seconds apart."""
    return tuple(Drop(start=first + number * spacing, **fields) for number in range(count))


def aimed(scene: Scene) -> Scene:
    """Return the scene with the lens moved so that a turned camera still looks at the card's middle."""
    camera, tank = scene.camera, scene.tank
    centre = np.array([[camera.width - 1, camera.height - 1]]) / 2
    entry, growth = optics.trace(centre, camera, tank)
    x, y = (entry + growth * tank.fall_plane)[0]
    return scene.but(camera__x=camera.x - float(x), camera__y=camera.y + CARD_MIDDLE - float(y))
