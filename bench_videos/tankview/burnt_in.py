"""What lies on every picture and not in the scene: writing of the phone's own, dirt on the lens."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from tankview.scene import Scene

Picture = NDArray[np.float32]
_WHITE = 250.0
_SPECKS = 14
_TAKEN = 0.10
"""Share of light that the middle of a speck takes [-]."""


class BurntIn:
    """Lays a scene's writing and dirt over its upright pictures."""

    def __init__(self, scene: Scene) -> None:
        """Draw the specks from the scene's seed."""
        self.writing = scene.extras.writing
        self.left: Picture | None = _specks(scene) if scene.extras.dirt else None

    def lay(self, picture: Picture) -> None:
        """Lay all of it over a picture, in place."""
        if self.left is not None:
            picture *= self.left
        if self.writing:
            height, font = picture.shape[0], cv2.FONT_HERSHEY_SIMPLEX
            whole = np.clip(np.rint(picture), 0, 255).astype(np.uint8)
            cv2.putText(whole, "27-11-2026 18:04", (20, height - 30), font, 0.9, (_WHITE,), 2, cv2.LINE_AA)
            cv2.putText(whole, "FILMED BY HAND", (20, 60), font, 1.0, (_WHITE,), 2, cv2.LINE_AA)
            picture[:] = whole


def _specks(scene: Scene) -> Picture:
    """Return the share of light that soft specks leave [-]."""
    rng, camera = np.random.default_rng(scene.seed + 71), scene.camera
    y, x = np.mgrid[0 : camera.height, 0 : camera.width].astype(np.float32)
    left = np.ones(x.shape, np.float32)
    for _ in range(_SPECKS):
        right, down, size = rng.uniform(0, camera.width), rng.uniform(0, camera.height), rng.uniform(8, 16)
        left -= np.float32(_TAKEN) * np.exp(-((x - right) ** 2 + (y - down) ** 2) / 2 / size**2)
    return left
