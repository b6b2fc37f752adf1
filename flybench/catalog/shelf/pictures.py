"""Pictures kept once by what they hold, whatever shows them, and which of them shows a thing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256

from sqlalchemy import select
from sqlalchemy.orm import Session

from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.patterns import Pattern, Variant
from flybench.catalog.tables.photos import Photo, Picture

_BEGINNINGS = {b"\xff\xd8\xff": "image/jpeg", b"\x89PNG\r\n\x1a\n": "image/png"}
"""First bytes of a JPEG file (ITU-T T.81, markers SOI and the next) and of a PNG file (its specification, 5.2)."""
_UNKNOWN = "application/octet-stream"
_OWNERS = {
    "fly": (Fly.id, Fly.code, Photo.fly_id),
    "variant": (Variant.id, Variant.code, Photo.variant_id),
    "pattern": (Pattern.id, Pattern.code, Photo.pattern_id),
}
"""Nouns that may have photos: their key, their code, and the column by which a photo is theirs."""


@dataclass(frozen=True)
class ShownPicture:
    """A picture that stands for a thing: the noun that it is of, such as "pattern" for a fly without its own; its bytes."""

    of: str
    content: bytes


def picture_for(session: Session, codes: Mapping[str, str]) -> ShownPicture | None:
    """Return the first photo of the first of these things that has one which was looked at when it was kept.

    ``codes`` gives the code of each noun ("fly", "variant", "pattern"), the nearest first; None where none has a photo.
    """
    for noun, code in codes.items():
        key, named, belongs = _OWNERS[noun]
        first = (
            select(Picture.content)
            .join(Photo, Photo.sha256 == Picture.sha256)
            .where(key == belongs, named == code, Picture.width.is_not(None))
            .order_by(Photo.position)
            .limit(1)
        )
        found = session.scalar(first)
        if found is not None:
            return ShownPicture(noun, found)
    return None


def kept_picture(
    session: Session, content: bytes, width: int | None = None, height: int | None = None
) -> Picture:
    """Return the picture of these bytes, which is added where it is not there yet; its size in pixels, where it is known."""
    name = sha256(content).hexdigest()
    found = session.get(Picture, name)
    if found is None:
        found = Picture(sha256=name, media_type=_media_type(content), content=content)
        session.add(found)
    if width is not None and height is not None:
        found.width, found.height = width, height
    return found


def _media_type(content: bytes) -> str:
    return next((kind for first, kind in _BEGINNINGS.items() if content.startswith(first)), _UNKNOWN)
