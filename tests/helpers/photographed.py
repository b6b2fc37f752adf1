"""Photos of labels for tests: QR codes on a sheet, seen from a side, blurred and noisy.

The codes are drawn by segno, an encoder of its own; the optics are those of this file.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
import segno
from numpy.typing import NDArray

Picture = NDArray[np.uint8]
_MODULE = 6
"""Pixels of a module on the flat sheet."""
_WHITE, _TABLE = 235, 120
"""Grey levels of the sheet and of what it lies on."""


def sheet(texts: Sequence[str], across: int, pitch: int = 260) -> Picture:
    """Return a flat sheet with a code for each text, row by row; "" leaves a place blank."""
    rows = -(-len(texts) // across)
    flat = np.full((rows * pitch, across * pitch), _WHITE, dtype=np.uint8)
    for place, text in enumerate(texts):
        if text:
            code = np.array(
                [list(row) for row in segno.make(text, micro=False, error="m").matrix], dtype=np.uint8
            )
            dark = np.kron(code, np.ones((_MODULE, _MODULE), dtype=np.uint8))
            top, left = (place // across) * pitch + 20, (place % across) * pitch + 20
            flat[top : top + len(dark), left : left + len(dark)][dark == 1] = 25
    return flat


def photo(
    flat: Picture,
    tilt: float = 0.0,
    turn_deg: float = 0.0,
    blur: float = 0.0,
    scale: float = 1.0,
    seed: int = 1,
) -> Picture:
    """Return the sheet as a phone sees it.

    Parameters: tilt, by which share of the width its upper edge is narrower [-]; blur, standard deviation [pixels].
    """
    height, width = flat.shape
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], dtype=np.float64)
    seen = corners + np.array([[tilt * width, 0.3 * tilt * height], [-0.4 * tilt * width, 0], [0, 0], [0, 0]])
    angle = np.deg2rad(turn_deg)
    seen = seen @ np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]]) * scale
    seen += 40 - seen.min(axis=0)
    size = tuple(int(end) + 40 for end in seen.max(axis=0))
    turned = cv2.getPerspectiveTransform(corners.astype(np.float32), seen.astype(np.float32))
    out = cv2.warpPerspective(flat, turned, size, flags=cv2.INTER_AREA, borderValue=_TABLE)
    out = cv2.GaussianBlur(out, (0, 0), blur) if blur else out
    noise = np.random.default_rng(seed).normal(0, 4, out.shape)
    return np.asarray(np.clip(out + noise, 0, 255), dtype=np.uint8)
