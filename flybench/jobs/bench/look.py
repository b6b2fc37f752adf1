"""Look at the tank before the evening starts: open a photo or the first frames of a clip."""

from __future__ import annotations

from itertools import islice
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.footage import check_there, open_clip, unreadable
from flybench.bench.clip.still import is_still, read_still
from flybench.bench.preview.preview import Preview, preview
from flybench.bench.sheet.settings import Settings
from flybench.bench.view.backdrop import eight_bit
from flybench.errors import FlybenchError
from flybench.files import sheet_beside
from flybench.jobs.bench.measure import Tables, settings_for

FRAMES = 8
"""Frames looked at [-]: their noise is told by seven differences, and they are read in a moment (judgement)."""


def look_at(path: Path, sheet: Path | None, options: Tables) -> Preview:
    """Look at a photo or at the first frames of a clip.

    The sheet (given, or beside the file) and the options say where the camera stands; without any of them a
    phone's usual lens is taken. Raises FlybenchError for a file that cannot be read and for a wrong sheet.
    """
    check_there(path)
    asked = sheet is not None or sheet_beside(path).exists() or options
    settings = settings_for(path, sheet, options) if asked else None
    if is_still(path):
        return preview(path.name, [read_still(path)], settings=settings)
    return _of_clip(path, settings)


def _of_clip(path: Path, settings: Settings | None) -> Preview:
    clip = open_clip(path)
    typed = settings.camera.capture_rate if settings is not None else None
    clock = clip.clock(typed)
    pictures: list[NDArray[np.uint8]] = [
        clip.orientation.picture(eight_bit(frame.luma, frame.shift))
        for frame in islice(clip.frames(), FRAMES)
    ]
    if not pictures:
        raise FlybenchError(unreadable(path))
    return preview(clip.name, pictures, clock if clock.capture_rate else None, settings)
