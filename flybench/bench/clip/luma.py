"""The luma plane of a decoded picture, as a view of the decoder's memory."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray


def luma_of(picture: Any) -> tuple[NDArray[Any], int]:
    """Return the luma plane as a view of the decoder's memory, and its bits above eight."""
    form = picture.format
    bits = form.components[0].bits
    plain = (
        not form.is_rgb
        and form.name.startswith(("yuv", "nv", "gray"))
        and (bits == 8 or form.name.endswith("le"))
    )
    if not plain or form.name.startswith(("yuyv", "yvyu")):
        picture, bits = picture.reformat(format="gray"), 8
    plane = picture.planes[0]
    kind: Any = np.uint8 if bits == 8 else np.uint16
    line = plane.line_size // np.dtype(kind).itemsize
    luma = np.frombuffer(plane, kind).reshape(-1, line)[: picture.height, : picture.width]
    return luma, bits - 8
