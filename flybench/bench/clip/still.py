"""A photo of the tank as an upright grey picture."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageOps, UnidentifiedImageError

from flybench.bench.clip.container import check_size
from flybench.errors import FlybenchError

STILLS = (".jpg", ".jpeg", ".png", ".webp", ".tif", ".tiff", ".bmp")
"""Endings of files that are read as a photo; all others are read as a clip."""

_CURE = "Take it again as JPEG, or film two seconds in its place"


def is_still(path: Path) -> bool:
    """Tell whether a file is to be read as a photo, by its ending."""
    return path.suffix.lower() in STILLS


def read_still(path: Path, cure: str = _CURE) -> NDArray[np.uint8]:
    """Return a photo as grey levels, shape (rows, columns), turned upright as its file asks.

    Parameters: cure, what to do where it is no photo. Raises FlybenchError where it cannot be read or is larger than any
    phone's picture.
    """
    try:
        with Image.open(path) as photo:
            check_size(path, *photo.size)
            return np.asarray(ImageOps.exif_transpose(photo).convert("L"), dtype=np.uint8)
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise FlybenchError(f"{path}: cannot be read as a photo. {cure}.") from error
