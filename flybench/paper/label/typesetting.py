"""Lines of text for labels: cleaned, in the order they are drawn, measured, wrapped and shortened.

Widths and heights of a line are in type sizes: multiply by the type size in points.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from reportlab.pdfbase import pdfmetrics

from flybench.paper.label.typefaces import Face, Fonts, letters_extra

LEAST_TYPE = 5.0
"""Smaller type is not printed [points]; common practice, no source."""
LONGEST = 400
"""Texts are cut to this many signs before they are set; no label holds more; judgement."""
NO_BREAK = "\N{NO-BREAK SPACE}"
_ELLIPSIS = "…"
_LEAST_REACH = (-0.25, 0.79)
"""Room every line gets below and above its baseline [type sizes], so that lines keep one distance; judgement."""
_RIGHT_TO_LEFT = {"R", "AL"}
"""Classes of letters that are written from right to left: Unicode Standard Annex 9, table 4."""
_NO_WIDTH = "\N{ZERO WIDTH SPACE}"
_MIRRORED = dict(zip("()[]{}<>«»‹›", ")(][}{><»«›‹", strict=True))
_SIGNS = "[" + re.escape("".join(_MIRRORED)) + "]"
_TURNED = re.compile(f"({_SIGNS}){_NO_WIDTH}|{_NO_WIDTH}({_SIGNS})")
"""A bracket that is read forwards, or one that is read backwards."""
_MARKS_FIRST = re.compile("([\u0591-\u05bd\u05bf\u05c1\u05c2\u05c4\u05c5\u05c7\u064b-\u065f\u0670]+)(.)")


@dataclass(frozen=True)
class TextLine:
    """A line ready to be drawn: (face, words) from left to right; width and reach in type sizes."""

    runs: tuple[tuple[Face, str], ...]
    width: float
    below: float
    above: float


@dataclass(frozen=True)
class TextBlock:
    """Lines of one type size [points]; ``shortened`` where words were left out."""

    lines: tuple[TextLine, ...]
    size: float
    shortened: bool = False

    @property
    def height(self) -> float:
        """Height of all lines [points]."""
        return self.size * sum(line.above - line.below for line in self.lines)

    @property
    def width(self) -> float:
        """Width of the widest line [points]."""
        return self.size * max(line.width for line in self.lines)


class Typesetter:
    """Sets text with the faces at hand and remembers what it measured."""

    def __init__(self, font: Path | None = None) -> None:
        """Take the user's font file, if any; raises BadValueError where it cannot be used."""
        self._fonts = Fonts(font)
        self.line: Callable[[str, bool], TextLine] = lru_cache(maxsize=20000)(self._line)

    def fit(
        self,
        text: str,
        bold: bool,
        size: float,
        width: float,
        most_lines: int = 1,
        may_shorten: bool = False,
        may_break: bool = True,
    ) -> TextBlock | None:
        """Return the text in this type size, no wider than ``width`` [points], or None.

        One line, or up to ``most_lines``; then, if it may be, shortened. ``may_break`` allows to break words that are too
        long by themselves.
        """
        single = self.line(text, bold)
        if single.width * size <= width:
            return TextBlock((single,), size)
        lines = self._wrap(text, bold, width / size, most_lines, may_break) if most_lines > 1 else None
        if lines is not None:
            return TextBlock(tuple(self.line(words, bold) for words in lines), size)
        return self._shorten(text, bold, size, width, most_lines, may_break) if may_shorten else None

    def shrunk(self, text: str, bold: bool, size: float, width: float) -> TextBlock | None:
        """Return the text as one line no larger than this: smaller to keep the ``width`` [points], and then shortened."""
        single = self.line(text, bold)
        natural = min(size, width / single.width) if single.width else size
        if natural >= LEAST_TYPE:
            return TextBlock((single,), natural)
        return self._shorten(text, bold, LEAST_TYPE, width, 1, True)

    def _line(self, text: str, bold: bool) -> TextLine:
        """Return a text as one line."""
        runs: list[tuple[Face, str]] = []
        below, above = _LEAST_REACH
        for sign in drawn_order(text):
            face = self._fonts.face(sign, bold, runs[-1][0] if runs else None)
            low, high = face.reach(sign)
            below, above = min(below, low), max(above, high)
            if runs and runs[-1][0] is face:
                runs[-1] = (face, runs[-1][1] + sign)
            else:
                runs.append((face, sign))
        width = sum(pdfmetrics.stringWidth(words, face.name, 1.0) for face, words in runs)
        return TextLine(tuple(runs), float(width), below, above)

    def _wrap(self, text: str, bold: bool, width: float, most: int, may_break: bool) -> list[str] | None:
        """Return the text in at most ``most`` lines, or None."""
        lines = [""]
        for word in text.split(" "):
            longer = f"{lines[-1]} {word}" if lines[-1] else word
            if self.line(longer, bold).width <= width:
                lines[-1] = longer
            elif self.line(word, bold).width <= width:
                lines.append(word)
            elif may_break:
                lines[-1:] = self._broken(longer, bold, width, most + 1)
            else:
                return None
            if len(lines) > most:
                return None
        return lines if all(self.line(words, bold).width <= width for words in lines) else None

    def _broken(self, text: str, bold: bool, width: float, most: int) -> list[str]:
        """Return a text broken between any two signs into lines, no more than ``most``."""
        lines = [""]
        for cluster in clusters(text):
            if self.line(lines[-1] + cluster, bold).width <= width:
                lines[-1] += cluster
            elif len(lines) == most:
                break
            else:
                kept = _good_break(lines[-1])
                lines.append(lines[-1][kept:] + cluster)
                lines[-2] = lines[-2][:kept]
        return [line.strip() for line in lines]

    def _shorten(
        self, text: str, bold: bool, size: float, width: float, most: int, may_break: bool
    ) -> TextBlock | None:
        """Return as much of the text as fits in this size, ending in an ellipsis, or None."""
        parts = clusters(text)
        low, high, best = 1, len(parts) - 1, None
        while low <= high:
            kept = (low + high) // 2
            lines = self._wrap(_cut(parts, kept) + _ELLIPSIS, bold, width / size, most, may_break)
            if lines is None:
                high = kept - 1
            else:
                best, low = lines, kept + 1
        if best is None:
            return None
        return TextBlock(tuple(self.line(words, bold) for words in best), size, shortened=True)


def _cut(parts: list[str], kept: int) -> str:
    """Return the first signs of a text; a word with a digit stays whole or goes, so that no number changes."""
    start = text_end = kept
    while start and not parts[start - 1].isspace():
        start -= 1
    while text_end < len(parts) and not parts[text_end].isspace():
        text_end += 1
    broken = start < kept < text_end and any(sign.isdigit() for sign in "".join(parts[start:text_end]))
    return "".join(parts[: start if broken else kept]).rstrip()


def _good_break(line: str) -> int:
    """Return where to break a full line: behind a space, hyphen or slash in its later half, or at its end."""
    at = max(line.rfind(sign) for sign in " -/") + 1
    return at if 2 * at > len(line) else len(line)


def clean(text: str) -> str:
    """Return a text in composed form, its white space single spaces, cut to ``LONGEST`` signs."""
    composed = unicodedata.normalize("NFC", text.replace(NO_BREAK, " "))
    words = " ".join(composed.split())
    return words if len(words) <= LONGEST else words[: LONGEST - 1] + _ELLIPSIS


def clusters(text: str) -> list[str]:
    """Return the signs of a text, each with the marks that stand on it."""
    parts: list[str] = []
    for sign in text:
        if parts and unicodedata.category(sign) in {"Mn", "Me", "Mc", "Cf"}:
            parts[-1] += sign
        else:
            parts.append(sign)
    return parts


@lru_cache(maxsize=20000)
def drawn_order(text: str) -> str:
    """Return the signs from left to right: Arabic letters joined, marks behind their letters, no format signs."""
    text = text.replace(NO_BREAK, " ")
    if any(unicodedata.bidirectional(sign) in _RIGHT_TO_LEFT for sign in text):
        with letters_extra(f'"{text}" is written from right to left'):
            text = _right_to_left(text)
    return "".join(sign for sign in text if unicodedata.category(sign) != "Cf" and not _selector(sign))


def _right_to_left(text: str) -> str:
    """Return a text from left to right as it is drawn: letters joined, brackets turned where they are read backwards.

    Which brackets those are (Unicode Standard Annex 9, rule L4) shows on which side of its bracket a sign of no width
    comes out.
    """
    from arabic_reshaper import reshape  # both of an extra, and only for such text
    from bidi import get_display

    marked = "".join(sign + _NO_WIDTH if sign in _MIRRORED else sign for sign in text.replace(_NO_WIDTH, ""))
    ordered = _TURNED.sub(
        lambda found: _MIRRORED.get(found[2] or "", found[1] or ""), get_display(reshape(marked))
    )
    return _MARKS_FIRST.sub(r"\2\1", ordered)


def _selector(sign: str) -> bool:
    """Return whether a sign only asks for a variant of the one before it."""
    return "\ufe00" <= sign <= "\ufe0f"
