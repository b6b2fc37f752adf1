"""Typefaces for labels: TrueType files, embedded in the page, and the Asian faces every PDF viewer should bring."""

from __future__ import annotations

import zlib
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Protocol

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.cidfonts import UnicodeCIDFont
from reportlab.pdfbase.ttfonts import TTFError, TTFont

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


class FileFace:
    """A TrueType face from a file, or one face of a collection; raises TTFError where it cannot be used."""

    embedded = True

    def __init__(self, path: Path, index: int) -> None:
        """Read the face's tables; glyphs are read when they are asked for."""
        from fontTools.ttLib import TTFont as Tables  # type: ignore[import-untyped]

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
    plain, bold = (FileFace(folder / f"DejaVuSans{weight}.ttf", 0) for weight in ("", "-Bold"))
    plain.make_ready()
    bold.make_ready()
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
    from fontTools.ttLib.ttCollection import TTCollection  # type: ignore[import-untyped]

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
