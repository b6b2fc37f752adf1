"""A picture as the catalog keeps it: made anew from its pixels, so that nothing else of the file is left, and not too large.

What a phone writes beside the pixels (place, time, owner, a small preview) goes with the old file.
"""

from __future__ import annotations

import io
import re
import struct
import warnings
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

from flybench.errors import FlybenchError
from flybench.files import content_of

MOST_BYTES = 30_000_000
"""Largest file that is read [bytes]; judgement: twice the largest photo of a phone."""
MOST_PIXELS = 60_000_000
"""Most pixels of a picture; judgement: phones take up to 50 million, and more would fill the memory when it is opened."""
LONGEST_SIDE = 1600
"""Longest side of a picture that is kept [px]; judgement: ample for half a page at 200 dots an inch."""
_QUALITY = 85
"""Quality of the JPEG that is kept, of 100; judgement: no difference is seen."""
_ENDINGS = {"JPEG": (".jpg", ".jpeg"), "PNG": (".png",), "WEBP": (".webp",)}
"""Kinds of picture that are read, and how their names end."""
_PIXELS = re.compile(r"\((\d+) pixels\)")
_BROKEN = (OSError, SyntaxError, ValueError, EOFError, struct.error, IndexError, OverflowError)
"""What Pillow raises for files that are cut off or damaged."""


@dataclass(frozen=True)
class CleanPicture:
    """A JPEG without anything beside its pixels, and its size [px]."""

    content: bytes
    width: int
    height: int


def clean_picture(path: Path) -> CleanPicture:
    """Return the picture of a file, upright, made anew and no larger than LONGEST_SIDE.

    Raises FlybenchError for what is no picture, damaged, too large, or named as another kind.
    """
    content = content_of(path, MOST_BYTES, f"{path}:", "Name a photo", "Save the photo smaller")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", Image.DecompressionBombWarning)  # its limit is looked at below
        return _redrawn(path, content)


def _redrawn(path: Path, content: bytes) -> CleanPicture:
    try:
        with Image.open(io.BytesIO(content), formats=list(_ENDINGS)) as found:
            _check(path, found)
            found.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
            upright = ImageOps.exif_transpose(found)
            return _kept(_on_white(upright))
    except UnidentifiedImageError as error:
        raise FlybenchError(
            f"{path}: is no JPEG, PNG or WebP picture. Save the photo as one of these."
        ) from error
    except Image.DecompressionBombError as error:
        told = _PIXELS.search(str(error))
        raise _too_many(path, None if told is None else int(told[1])) from error
    except _BROKEN as error:
        raise FlybenchError(
            f"{path}: the picture is damaged or cut off ({error}). Copy the photo again, or save it anew."
        ) from error


def _check(path: Path, found: Image.Image) -> None:
    """Refuse, before a pixel is read, what is too large or named as another kind."""
    if found.width * found.height > MOST_PIXELS:
        raise _too_many(path, found.width * found.height)
    kind = found.format or ""
    if path.suffix.lower() not in _ENDINGS[kind]:
        ending = path.suffix or "no ending"
        raise FlybenchError(
            f"{path}: is a {kind} picture, and its name ends in {ending}. Name it with {_ENDINGS[kind][0]}, or save it anew."
            if path.suffix
            else f"{path}: is a {kind} picture, and its name has {ending}. Name it with {_ENDINGS[kind][0]}."
        )


def _too_many(path: Path, pixels: int | None) -> FlybenchError:
    size = "" if pixels is None else f"{pixels / 1e6:.0f} megapixels, "
    return FlybenchError(
        f"{path}: the picture has {size}more than the limit of {MOST_PIXELS / 1e6:.0f}. Save it smaller."
    )


def _on_white(picture: Image.Image) -> Image.Image:
    """Return the picture in plain colours; what is clear becomes white."""
    if picture.mode.startswith("I;16"):
        return picture.point(lambda level: level / 256).convert("L").convert("RGB")
    if "A" in picture.getbands() or "transparency" in picture.info:
        seen = picture.convert("RGBA")
        return Image.alpha_composite(Image.new("RGBA", seen.size, "white"), seen).convert("RGB")
    return picture.convert("RGB")


def _kept(picture: Image.Image) -> CleanPicture:
    picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    bare = Image.frombytes(
        "RGB", picture.size, picture.tobytes()
    )  # the pixels, and nothing that came with them
    buffer = io.BytesIO()
    bare.save(buffer, "JPEG", quality=_QUALITY, optimize=True)
    return CleanPicture(buffer.getvalue(), *bare.size)
