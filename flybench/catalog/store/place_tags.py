"""Where a photo was taken, out of what a phone writes beside the pixels; pictures that do not say it stay byte by byte.

JPEG segments as in ITU-T T.81, annex B; PNG chunks as in ISO/IEC 15948; EXIF tags as in CIPA DC-008.
"""

from __future__ import annotations

import re
import struct
import zlib

_GPS, _ORIENTATION, _SHORT = 0x8825, 0x0112, 3
"""Tags of the first EXIF directory: where the place is, and which way is up; and the type of the latter [CIPA DC-008]."""
_EXIF, _XMP = b"Exif\x00\x00", b"http://ns.adobe.com/"
"""How JPEG segments with EXIF and with XMP begin."""
_APP1, _COMMENT, _SCAN, _END = 0xE1, 0xFE, 0xDA, 0xD9
_NEXT = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]", re.DOTALL)
"""A marker that ends the pixels of a scan."""
_PNG = b"\x89PNG\r\n\x1a\n"
_NOTES = (b"eXIf", b"tEXt", b"zTXt", b"iTXt", b"tIME")
"""PNG chunks that are beside the pixels and do not change how they look."""


def without_place(content: bytes) -> bytes:
    """Return a JPEG or PNG without notes of a phone, where they hold a place or cannot be read; its pixels and which way is
    up stay as they are. Any other picture, and one that is damaged, is returned as it is.
    """
    try:
        return _png(content) if content.startswith(_PNG) else _jpeg(content)
    except (struct.error, IndexError):
        return content


def _jpeg(content: bytes) -> bytes:
    parts = _segments(content)
    if not any(kind == _APP1 and _says_place(told) for kind, told in parts):
        return content
    up = next(
        (_directory(told[6:])[1] for kind, told in parts if kind == _APP1 and told.startswith(_EXIF)), 1
    )
    kept = [(kind, told) for kind, told in parts if not _is_note(kind, told)]
    note = _segment(_APP1, _EXIF + _upright(up)) if up != 1 else b""
    return b"\xff\xd8" + note + b"".join(_segment(kind, told) for kind, told in kept)


def _segments(content: bytes) -> list[tuple[int, bytes]]:
    """Return the segments after the first marker up to the end of the picture; pixels are part of their scan's."""
    parts: list[tuple[int, bytes]] = []
    at = 2
    while True:
        while content[at + 1] == 0xFF:
            at += 1
        kind = content[at + 1]
        if content[at] != 0xFF:
            raise IndexError
        if kind == _END:
            return [*parts, (kind, b"")]
        end = at + 2 + struct.unpack_from(">H", content, at + 2)[0]
        if kind == _SCAN:
            found = _NEXT.search(content, end)
            if found is None:
                raise IndexError
            end = found.start()
        parts.append((kind, content[at + 2 : end][2:]))
        at = end


def _segment(kind: int, told: bytes) -> bytes:
    """Return a segment as it is written; the length of a scan's is that of its head, which its first byte tells."""
    if kind == _END:
        return b"\xff\xd9"
    length = 2 + (4 + 2 * told[0] if kind == _SCAN else len(told))
    return bytes((0xFF, kind)) + struct.pack(">H", length) + told


def _says_place(told: bytes) -> bool:
    if told.startswith(_EXIF):
        return _directory(told[len(_EXIF) :])[0]
    return told.startswith(_XMP) and b"GPS" in told


def _is_note(kind: int, told: bytes) -> bool:
    """Tell whether a segment is a note: all of applications but JFIF, the colours' profile and how colours are stored."""
    if kind == 0xE2:
        return not told.startswith(b"ICC_PROFILE\x00")
    return kind == _COMMENT or (0xE1 <= kind <= 0xEF and kind != 0xEE)


def _directory(tiff: bytes) -> tuple[bool, int]:
    """Return whether EXIF tells a place, or cannot be read, and which way is up (1 to 8; 1, as it is)."""
    order = {b"II*\x00": "<", b"MM\x00*": ">"}.get(tiff[:4])
    if order is None:
        return True, 1
    place, up = False, 1
    try:
        (start,) = struct.unpack_from(f"{order}I", tiff, 4)
        (count,) = struct.unpack_from(f"{order}H", tiff, start)
        for number in range(count):
            tag, kind, _, value = struct.unpack_from(f"{order}HHIH", tiff, start + 2 + 12 * number)
            place = place or tag == _GPS
            up = value if (tag, kind) == (_ORIENTATION, _SHORT) and 1 <= value <= 8 else up
    except struct.error:
        return True, up
    return place, up


def _upright(up: int) -> bytes:
    """Return EXIF that says which way is up and nothing else."""
    return struct.pack(">4sIHHHIHHI", b"MM\x00*", 8, 1, _ORIENTATION, _SHORT, 1, up, 0, 0)


def _png(content: bytes) -> bytes:
    parts = _chunks(content)
    if not any(_chunk_says_place(kind, told) for kind, told in parts):
        return content
    up = next((_directory(told)[1] for kind, told in parts if kind == b"eXIf"), 1)
    kept = [(kind, told) for kind, told in parts if kind not in _NOTES]
    if up != 1:
        kept.insert(1, (b"eXIf", _upright(up)))
    return _PNG + b"".join(_chunk(kind, told) for kind, told in kept)


def _chunks(content: bytes) -> list[tuple[bytes, bytes]]:
    """Return the chunks up to the end of the picture."""
    parts: list[tuple[bytes, bytes]] = []
    at = len(_PNG)
    while not parts or parts[-1][0] != b"IEND":
        length, kind = struct.unpack_from(">I4s", content, at)
        if at + 12 + length > len(content):
            raise IndexError
        parts.append((kind, content[at + 8 : at + 8 + length]))
        at += 12 + length
    return parts


def _chunk(kind: bytes, told: bytes) -> bytes:
    return struct.pack(">I", len(told)) + kind + told + struct.pack(">I", zlib.crc32(kind + told))


def _chunk_says_place(kind: bytes, told: bytes) -> bool:
    """Tell whether a chunk tells a place, or may do so where it is packed."""
    if kind == b"eXIf":
        return _directory(told)[0]
    packed = kind == b"zTXt" or (kind == b"iTXt" and told.partition(b"\x00")[2][:1] == b"\x01")
    return kind in _NOTES and (packed or b"GPS" in told or told.startswith(b"Raw profile type"))
