"""Typefaces for labels, and which of them draws which sign, so that no sign ever turns into an empty box.

In this order: the built-in face (Latin, Greek, Cyrillic, Hebrew, Arabic and more), the file the user gives, the TrueType
files of the system, and for Chinese, Japanese and Korean the faces that a PDF names and its viewer brings. A sign that
none of them has is refused. All but the built-in face need the extra ``flybench[letters]``.
"""

from __future__ import annotations

import unicodedata
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache, lru_cache
from pathlib import Path
from struct import unpack_from
from typing import Any, Protocol

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.cidfonts import UnicodeCIDFont
from reportlab.pdfbase.ttfonts import TTFError, TTFont

from flybench.errors import BadValueError, FlybenchError

_ASIAN_REACH = (-0.25, 0.90)
"""How far glyphs of a face whose outlines are not at hand reach below and above the baseline [type sizes]."""


class Face(Protocol):
    """A typeface: its name in the PDF, and whether the PDF carries its outlines."""

    name: str
    embedded: bool

    def has(self, sign: str) -> bool:
        """Return whether the face draws this sign."""

    def reach(self, sign: str) -> tuple[float, float]:
        """Return how far the sign reaches below and above the baseline [type sizes]."""


class BuiltInFace:
    """A face that comes with a library flybench needs anyway; read by the PDF writer alone."""

    embedded = True

    def __init__(self, path: Path) -> None:
        """Read the face and make it known to the PDF writer."""
        self.name = f"label-{path.stem}-0-{zlib.crc32(str(path).encode()):08x}"
        font = TTFont(self.name, str(path))
        pdfmetrics.registerFont(font)
        self._face: Any = font.face
        self._outlines: bytes = self._face.get_table("glyf")

    def has(self, sign: str) -> bool:
        """Return whether the face has an outline for the sign; white signs need none."""
        glyph = self._face.charToGlyph.get(ord(sign), 0)
        return glyph != 0 and (sign.isspace() or self._outline(glyph) is not None)

    def reach(self, sign: str) -> tuple[float, float]:
        """Return how far the sign reaches below and above the baseline [type sizes]."""
        return self._outline(self._face.charToGlyph[ord(sign)]) or (0.0, 0.0)

    def _outline(self, glyph: int) -> tuple[float, float] | None:
        """Return the lower and upper side of a glyph [type sizes], None where it has no outline.

        A glyph begins with its number of contours and its sides x min, y min, x max, y max, as 16-bit integers
        (ISO/IEC 14496-22, table glyf).
        """
        start, end = self._face.glyphPos[glyph : glyph + 2]
        if start == end:
            return None
        contours, _, low, _, high = unpack_from(">5h", self._outlines, start)
        units = float(self._face.unitsPerEm)
        return (low / units, high / units) if contours else None


class FileFace:
    """A TrueType face from a file, or one face of a collection; raises TTFError where it cannot be used."""

    embedded = True

    def __init__(self, path: Path, index: int) -> None:
        """Read the face's tables; glyphs are read when they are asked for."""
        from fontTools.ttLib import TTFont as Tables  # of an extra, and slow

        tables = Tables(str(path), fontNumber=index, lazy=True)
        if "glyf" not in tables:
            raise TTFError(f'TTF file "{path}": postscript outlines are not supported')
        self.name = f"label-{path.stem}-{index}-{zlib.crc32(str(path).encode()):08x}"
        self._signs: dict[int, str] = tables.getBestCmap() or {}
        self._tables: Any = tables
        self._units = float(tables["head"].unitsPerEm)
        self._path, self._index, self._ready = path, index, False

    def has(self, sign: str) -> bool:
        """Return whether the face has an outline for the sign; white signs need none."""
        glyph = self._signs.get(ord(sign))
        if glyph is None or glyph == ".notdef":
            return False
        return sign.isspace() or self._tables["glyf"][glyph].numberOfContours != 0

    def reach(self, sign: str) -> tuple[float, float]:
        """Return how far the sign reaches below and above the baseline [type sizes]."""
        glyph = self._tables["glyf"][self._signs[ord(sign)]]
        if glyph.numberOfContours == 0:
            return 0.0, 0.0
        return glyph.yMin / self._units, glyph.yMax / self._units

    def make_ready(self) -> None:
        """Make the face known to the PDF writer; raises TTFError where it may not be embedded."""
        if not self._ready:
            pdfmetrics.registerFont(TTFont(self.name, str(self._path), subfontIndex=self._index))
            self._ready = True


class AsianFace:
    """A face that the viewer or printer brings; it knows the signs of a national character set."""

    embedded = False

    def __init__(self, name: str, charset: str) -> None:
        """Make the face known to the PDF writer."""
        pdfmetrics.registerFont(UnicodeCIDFont(name))
        self.name, self._charset = name, charset

    def has(self, sign: str) -> bool:
        """Return whether the face's character set holds the sign."""
        try:
            return len(sign.encode(self._charset)) > 1
        except UnicodeEncodeError:
            return False

    def reach(self, sign: str) -> tuple[float, float]:
        """Return a fair bound: the outlines are not at hand."""
        return _ASIAN_REACH


@cache
def own_faces() -> tuple[tuple[Face, ...], tuple[Face, ...]]:
    """Return the plain and the bold faces that come with the drawing library, best first."""
    import matplotlib as mpl  # quick, and wanted only when labels are drawn

    folder = Path(mpl.get_data_path()) / "fonts" / "ttf"
    plain, bold = (BuiltInFace(folder / f"DejaVuSans{weight}.ttf") for weight in ("", "-Bold"))
    return (plain,), (bold, plain)


@cache
def asian_faces() -> tuple[Face, ...]:
    """Return the faces for Japanese, Korean and Chinese."""
    known = (
        ("STSong-Light", "gbk"),
        ("HeiseiKakuGo-W5", "cp932"),
        ("HYGothic-Medium", "cp949"),
        ("MSung-Light", "big5"),
    )
    return tuple(AsianFace(name, charset) for name, charset in known)


@lru_cache(maxsize=512)
def faces_in(path: Path) -> tuple[FileFace, ...]:
    """Return the faces of a file, all of them for a collection; none where it cannot be used."""
    from fontTools.ttLib import TTLibError
    from fontTools.ttLib.ttCollection import TTCollection

    try:
        count = len(TTCollection(str(path), lazy=True).fonts) if path.suffix.lower() == ".ttc" else 1
        return tuple(FileFace(path, index) for index in range(count))
    except (TTFError, TTLibError, OSError, KeyError, AssertionError):
        return ()


@cache
def system_fonts() -> tuple[Path, ...]:
    """Return the TrueType files installed on this system, upright ones of plain weight first."""
    from matplotlib.font_manager import findSystemFonts  # only where no other face has a sign

    paths = {Path(name) for name in findSystemFonts(fontext="ttf")}
    usable = [path for path in paths if path.suffix.lower() in {".ttf", ".ttc"}]
    return tuple(sorted((path for path in usable if "lastresort" not in path.stem.lower()), key=_rank))


def _rank(path: Path) -> tuple[bool, bool, str]:
    """Return an order in which plain faces come before slanted, bold, thin and narrow ones."""
    name = path.stem.lower()
    odd = ("bold", "italic", "oblique", "light", "thin", "black", "condensed", "mono", "serif")
    return any(word in name for word in odd), "sans" not in name, str(path)


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
        """Read the user's file; raises BadValueError where it is no TrueType font or the extra is missing."""
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
        with letters_extra(f"the built-in typeface of labels does not have the character {_named(sign)}"):
            return self._searched(sign)

    def _searched(self, sign: str) -> Face:
        for first, end, script in _JOINED_SCRIPTS:
            if first <= ord(sign) <= end:
                problem = f"{_named(sign)} belongs to {script}, whose letters labels cannot join"
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
    cure = "Give a TrueType file (.ttf or .ttc) that may be embedded in documents"
    if not path.is_file():
        raise BadValueError("--font", f"there is no file {path}", cure)
    with letters_extra("a typeface of your own (--font) was asked for"):
        faces = tuple(face for face in faces_in(path) if _usable(face))
    if not faces:
        raise BadValueError("--font", f"{path} is not a TrueType font that can be used", cure)
    return faces


def _usable(face: FileFace) -> bool:
    """Return whether the PDF writer takes the face: some may not be embedded."""
    try:
        face.make_ready()
    except TTFError:
        return False
    return True


@contextmanager
def letters_extra(why: str) -> Iterator[None]:
    """Name the extra in the error where what it brings is missing; ``why`` says what needs it."""
    try:
        yield
    except ImportError as error:
        raise FlybenchError(
            f"labels: {why}, and what other letters need is not installed. "
            'Install it with: pip install "flybench[letters]"'
        ) from error


def _named(sign: str) -> str:
    """Return a sign with its number and name in the Unicode standard."""
    shown = f'"{sign}" ' if sign.isprintable() else ""
    return f"{shown}U+{ord(sign):04X} {unicodedata.name(sign, 'without a name')}"
