"""How much room words take, so that they can be wrapped and shortened instead of running into something."""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Any

_HINTING = 1.05
"""Small type is drawn on whole pixels, which makes it wider than its design."""
OWN = "DejaVu Sans"
"""The page's own typeface: Latin, Greek, Cyrillic, Hebrew, Arabic and more."""
_NO_LETTERS = ("last resort", "emoji", "symbol")
"""Words in the names of faces that draw no letters."""
_PLAIN = 400
"""Weight of plain type, as font files state it [-] (ISO/IEC 14496-22, table OS/2)."""


@lru_cache(maxsize=2048)
def width_of(text: str, size: float, bold: bool = False, faces: tuple[str, ...] = (OWN,)) -> float:
    """Return the width of a line of text [points]."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    face = FontProperties(family=list(faces), size=size, weight="bold" if bold else "normal")
    return _HINTING * float(text_to_path.get_text_width_height_descent(text, face, False)[0])


def wrapped(
    text: str, width: float, size: float, bold: bool = False, faces: tuple[str, ...] = (OWN,)
) -> list[str]:
    """Break a text into lines no wider than ``width`` [points]; a word that is too long is shortened."""
    lines, filled = [""], 0.0
    blank = width_of("a a", size, bold, faces) - width_of("aa", size, bold, faces)
    for word in text.split():
        whole = shortened(word, width, size, bold, faces)
        wide = width_of(whole, size, bold, faces)
        if lines[-1] and filled + blank + wide > width:
            lines.append(whole)
            filled = wide
        else:
            filled += wide + (blank if lines[-1] else 0.0)
            lines[-1] = f"{lines[-1]} {whole}".lstrip()
    return [line for line in lines if line]


def balanced(text: str, width: float, size: float) -> list[str]:
    """Break a text into as few lines as ``wrapped`` does, but of much the same width."""
    lines = wrapped(text, width, size)
    while len(lines) > 1 and len(narrower := wrapped(text, width - 3.0, size)) == len(lines):
        lines, width = narrower, width - 3.0
    return lines


def shortened(
    text: str, width: float, size: float, bold: bool = False, faces: tuple[str, ...] = (OWN,)
) -> str:
    """Return the text, or its beginning and end with an ellipsis between, no wider than ``width`` [points]."""
    if width_of(text, size, bold, faces) <= width:
        return text
    fits, not_so = 0, len(text)
    while not_so - fits > 1:
        kept = (fits + not_so) // 2
        if width_of(_middle_left_out(text, kept), size, bold, faces) <= width:
            fits = kept
        else:
            not_so = kept
    return _middle_left_out(text, fits)


def _middle_left_out(text: str, kept: int) -> str:
    """Return so many of a text's signs, a third of them its last, with an ellipsis between."""
    tail = kept // 3
    return f"{text[: kept - tail]}…{text[len(text) - tail :]}"


def drawable(text: str) -> str:
    """Return the text with a box in place of every sign that no face on this computer has; see ``faces_for``."""
    return "".join(sign if sign.isprintable() and face_of(sign) else "□" for sign in text)


def faces_for(text: str) -> tuple[str, ...]:
    """Return the page's own typeface, and after it those of this computer that the text needs besides."""
    return tuple(dict.fromkeys([OWN, *filter(None, map(face_of, text))]))


@lru_cache(maxsize=2048)
def face_of(sign: str) -> str | None:
    """Return the typeface that draws a sign: the page's own before any other, None where there is none."""
    from matplotlib.font_manager import FontProperties, findfont, get_font

    if get_font(findfont(FontProperties(family=OWN))).get_char_index(ord(sign)):
        return OWN
    return next((name for name, font in _others() if font.get_char_index(ord(sign))), None)


@cache
def _others() -> list[tuple[str, Any]]:
    """Return name and glyphs of the computer's other upright faces of plain weight that a page can use."""
    import matplotlib as mpl
    from matplotlib.font_manager import fontManager, get_font

    found: dict[str, Any] = {}
    for entry in sorted(fontManager.ttflist, key=lambda entry: entry.name):
        foreign = not entry.fname.startswith(mpl.get_data_path())
        letters = not any(word in entry.name.lower() for word in _NO_LETTERS)
        if foreign and letters and entry.style == "normal" and entry.weight == _PLAIN:
            try:
                found.setdefault(entry.name, get_font(entry.fname))
            except (OSError, RuntimeError, ValueError):
                continue
    return list(found.items())
