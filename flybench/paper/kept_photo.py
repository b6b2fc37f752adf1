"""A photo as the catalog keeps it, opened to be drawn."""

from __future__ import annotations

import io
import struct

from PIL import Image

_BROKEN = (OSError, SyntaxError, ValueError, IndexError, struct.error, Image.DecompressionBombError)
"""What Pillow raises for files that are cut off or damaged."""


def opened_photo(content: bytes) -> Image.Image | None:
    """Return the picture of a photo's bytes in red, green and blue; None where they are damaged."""
    try:
        with Image.open(io.BytesIO(content)) as found:
            return found.convert("RGB")
    except _BROKEN:
        return None
