"""A still of a clip under a grid of its pixels, to read two points off."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.footage import Clip
from flybench.bench.view.backdrop import eight_bit
from flybench.errors import FlybenchError

Picture = NDArray[Any]

FINE, COARSE = 20, 100
"""Pixels from line to line, and from one numbered line to the next: a point can be read to a quarter of the former."""
_FAINT, _STRONG = 0.25, 0.6
"""How much a fine and a numbered line cover of the picture [-] (judgement)."""
_LINE, _INK, _PAPER = (0, 160, 255), (0, 0, 0), (255, 255, 255)
"""Levels of blue, green and red [0 to 255]: orange lines stand out on card and water; numbers black on white (judgement)."""
_MARGIN = 48
"""White border for the numbers [px]."""


def first_picture(clip: Clip) -> Picture:
    """Return the upright first frame in grey levels of eight bits; raises FlybenchError where the clip has none."""
    frame = next(iter(clip.frames()), None)
    if frame is None:
        raise FlybenchError(
            f"{clip.name}: no picture in it can be read. Copy it from the phone again, unedited."
        )
    return clip.orientation.picture(eight_bit(frame.luma, frame.shift))


def with_grid(picture: Picture) -> Picture:
    """Return a grey picture in colour with the grid over it and the numbers of its pixels around it."""
    lined = cv2.cvtColor(np.ascontiguousarray(picture), cv2.COLOR_GRAY2BGR).astype(np.float32)
    line = np.array(_LINE, dtype=np.float32)
    for step, cover in ((FINE, _FAINT), (COARSE, _STRONG)):
        lined[::step] += cover * (line - lined[::step])
        lined[:, ::step] += cover * (line - lined[:, ::step])
    border = cv2.copyMakeBorder(
        lined.round().astype(np.uint8), _MARGIN, _MARGIN, _MARGIN, _MARGIN, cv2.BORDER_CONSTANT, value=_PAPER
    )
    high, wide = picture.shape
    for x in range(0, wide, COARSE):
        for y in (_MARGIN - 10, high + _MARGIN + 22):
            _number(border, x, (x + _MARGIN - 12, y))
    for y in range(0, high, COARSE):
        for x in (2, wide + _MARGIN + 4):
            _number(border, y, (x, y + _MARGIN + 5))
    return border


def _number(picture: Picture, number: int, at: tuple[int, int]) -> None:
    cv2.putText(picture, str(number), at, cv2.FONT_HERSHEY_SIMPLEX, 0.45, _INK, 1, cv2.LINE_AA)


def write_png(picture: Picture, path: Path) -> None:
    """Write a picture as a PNG, whatever the file is called."""
    path.write_bytes(cv2.imencode(".png", picture)[1].tobytes())
