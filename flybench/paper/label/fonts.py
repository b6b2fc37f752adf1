"""Which typeface draws which sign, so that no sign ever turns into an empty box.

In this order: the drawing library's own face (Latin, Greek, Cyrillic, Hebrew, Arabic and more), the
file the user gives, the TrueType files of the system, and for Chinese, Japanese and Korean the faces
that a PDF names and its viewer brings. A sign that none of them has is refused.
"""

from __future__ import annotations

import unicodedata
from pathlib import Path

from reportlab.pdfbase.ttfonts import TTFError

from flybench.errors import BadValueError
from flybench.paper.label.faces import Face, FileFace, asian_faces, faces_in, own_faces, system_fonts

_JOINED_SCRIPTS = (
    (0x0700, 0x074F, "Syriac"),
    (0x07C0, 0x07FF, "N'Ko"),
    (0x0900, 0x0DFF, "the Indian scripts"),
    (0x0F00, 0x0FFF, "Tibetan"),
    (0x1000, 0x109F, "Burmese"),
    (0x1780, 0x17FF, "Khmer"),
    (0x1800, 0x18AF, "Mongolian"),
)
"""Blocks of the Unicode standard whose letters join or change places when written; drawn one by one they
would be wrong."""


class Fonts:
    """The faces at hand; ``font`` is the file the user gives, asked after the drawing library's own."""

    def __init__(self, font: Path | None = None) -> None:
        """Read the user's file; raises BadValueError where it is no TrueType font."""
        self._given = () if font is None else _given(font)
        self._found: dict[str, Face] = {}

    def face(self, sign: str, bold: bool, last: Face | None) -> Face:
        """Return the face for a sign; ``last`` drew the sign before it and is kept where it can be.

        Raises BadValueError, naming the sign, where no face has it.
        """
        own = next((face for face in own_faces()[bold] if face.has(sign)), None)
        if own is not None:
            return own
        if last is not None and last not in own_faces()[True] and last.has(sign):
            return last
        if sign not in self._found:
            self._found[sign] = self._search(sign)
        return self._found[sign]

    def _search(self, sign: str) -> Face:
        """Return the first other face that has the sign."""
        for first, end, script in _JOINED_SCRIPTS:
            if first <= ord(sign) <= end:
                problem = f"{_named(sign)} is of {script}, whose letters labels cannot join"
                raise BadValueError("label text", problem, "Write the text in another script.")
        for face in self._given:
            if face.has(sign):
                return face
        for path in system_fonts():
            for face in faces_in(path):
                if face.has(sign) and _usable(face):
                    return face
        for other in asian_faces():
            if other.has(sign):
                return other
        cure = "Give a TrueType font that has it with --font FILE, or leave the character out."
        raise BadValueError("label text", f"no font here has the character {_named(sign)}", cure)


def _given(path: Path) -> tuple[Face, ...]:
    """Return the faces of the user's file."""
    cure = "Give a TrueType file (.ttf or .ttc) that may be embedded in documents."
    if not path.is_file():
        raise BadValueError("font", f"there is no file {path}", cure)
    faces = tuple(face for face in faces_in(path) if _usable(face))
    if not faces:
        raise BadValueError("font", f"{path} is no TrueType font that can be used", cure)
    return faces


def _usable(face: FileFace) -> bool:
    """Return whether the PDF writer takes the face: some may not be embedded."""
    try:
        face.make_ready()
    except TTFError:
        return False
    return True


def _named(sign: str) -> str:
    """Return a sign with its number and name in the Unicode standard."""
    shown = f'"{sign}" ' if sign.isprintable() else ""
    return f"{shown}U+{ord(sign):04X} {unicodedata.name(sign, 'without a name')}"
