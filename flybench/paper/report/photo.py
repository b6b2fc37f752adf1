"""The catalog's photo of a fly on its report page; one of its variant or pattern says so, since it shows another fly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flybench.charts.lettering import width_of
from flybench.charts.style import MUTED, SMALL
from flybench.paper.kept_photo import opened_photo
from flybench.paper.report.blank import Page

_DAMAGED = ("The photo is damaged: run", "flybench catalog check")
_CAPTION = 11.0
"""Height of the words below a photo that is not of the fly itself [points]."""
_WORDS_WIDE = 100.0
"""Width of those words [points]."""


@dataclass(frozen=True)
class PagePhoto:
    """A photo: what it is of, "fly", "variant" or "pattern", and its bytes as the catalog keeps them (JPEG)."""

    of: str
    content: bytes


def draw_photo(page: Page, photo: PagePhoto, right: float, top: float, bottom: float, most: float) -> float:
    """Show a photo whole with its right and upper edges at these places, as large as room of that height and width ``most``
    holds; return its left edge. All in points from the page's top left corner."""
    found = opened_photo(photo.content)
    if found is None:
        for number, words in enumerate(_DAMAGED):
            page.write(right, top + 10 * (number + 1), words, SMALL, color=MUTED, ha="right")
        return right - _WORDS_WIDE
    wide, high = found.size
    words = "" if photo.of == "fly" else f"its {photo.of}"
    scale = min((bottom - top - (_CAPTION if words else 0.0)) / high, most / wide)
    left: float = right - scale * wide
    axes = page.axes(left, top, right, top + scale * high)
    axes.imshow(np.asarray(found), interpolation="antialiased", aspect="auto")
    axes.set(xticks=[], yticks=[])
    for spine in axes.spines.values():
        spine.set_color(MUTED)
    if not words:
        return left
    page.write(right, top + scale * high + _CAPTION - 2, words, SMALL, color=MUTED, ha="right")
    return min(left, right - width_of(words, SMALL))
