"""Pictures kept once by what they hold, whatever shows them."""

from __future__ import annotations

from hashlib import sha256

from sqlalchemy.orm import Session

from flybench.catalog.tables.photos import Picture

_BEGINNINGS = {b"\xff\xd8\xff": "image/jpeg", b"\x89PNG\r\n\x1a\n": "image/png"}
"""First bytes of a JPEG file (ITU-T T.81, markers SOI and the next) and of a PNG file (its specification, 5.2)."""
_UNKNOWN = "application/octet-stream"


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
