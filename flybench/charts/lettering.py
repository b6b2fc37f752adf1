"""How much room words take, so that they can be wrapped and shortened instead of running into something."""

from __future__ import annotations

from functools import lru_cache

_HINTING = 1.05
"""Small type is drawn on whole pixels, which makes it wider than its design."""


@lru_cache(maxsize=2048)
def width_of(text: str, size: float, bold: bool = False) -> float:
    """Return the width of a line of text [points]."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    face = FontProperties(family="DejaVu Sans", size=size, weight="bold" if bold else "normal")
    return _HINTING * float(text_to_path.get_text_width_height_descent(text, face, False)[0])


def wrapped(text: str, width: float, size: float) -> list[str]:
    """Break a text into lines no wider than ``width`` [points]; a word that is too long is shortened."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".lstrip()
        if width_of(longer, size) <= width:
            lines[-1] = longer
        else:
            lines.append(shortened(word, width, size))
    return [line for line in lines if line]


def balanced(text: str, width: float, size: float) -> list[str]:
    """Break a text into as few lines as ``wrapped`` does, but of much the same width."""
    lines = wrapped(text, width, size)
    while len(lines) > 1 and len(narrower := wrapped(text, width - 3.0, size)) == len(lines):
        lines, width = narrower, width - 3.0
    return lines


def shortened(text: str, width: float, size: float) -> str:
    """Return the text, or its beginning and end with an ellipsis between, no wider than ``width`` [points]."""
    if width_of(text, size) <= width:
        return text
    for kept in range(len(text) - 1, 0, -1):
        tail = kept // 3
        shorter = f"{text[: kept - tail]}…{text[len(text) - tail :]}"
        if width_of(shorter, size) <= width:
            return shorter
    return "…"


def drawable(text: str) -> str:
    """Return the text with a box in place of every sign that the page's font does not have."""
    from matplotlib.font_manager import FontProperties, findfont, get_font

    font = get_font(findfont(FontProperties(family="DejaVu Sans")))
    return "".join(sign if sign.isprintable() and font.get_char_index(ord(sign)) else "□" for sign in text)
