"""The scale card in words: what was written, how to print it and how to check the print."""

from __future__ import annotations

from flybench.jobs.bench.card import CAUTION, CardMade
from flybench.telling.table import paragraph

_MILLIMETRES = 1000
"""Millimetres in a metre."""


def lines(made: CardMade) -> list[str]:
    """Return what was written, how to print and check it, and the caution."""
    width, height = (_MILLIMETRES * side for side in made.size)
    dots = f", {made.dpi} dpi" if made.dpi else ""
    paper = {"a4": "A4", "letter": "US Letter"}[made.paper]
    return [
        paragraph(f"This is a {made.format.upper()} of {width:g} x {height:g} mm{dots}."),
        paragraph(f"Print it at 100 %, without fitting it to the page, on {paper} paper."),
        paragraph(
            f"Check the print: lay a ruler along the {_MILLIMETRES * made.bar:g} mm bar, from the middle of one end tick "
            "to the middle of the other. Write what the ruler says into the sheet, to a quarter of a millimetre, for "
            'example bar = "100.0 mm" under [scale].'
        ),
        paragraph(CAUTION),
    ]
