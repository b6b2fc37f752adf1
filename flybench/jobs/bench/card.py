"""Write the scale card to a file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from flybench.bench.view import card
from flybench.errors import BadValueError
from flybench.files import check_new, whole_file
from flybench.paper import card as page

PAPERS = tuple(card.ROWS)
"""Papers that a card is laid out for."""
FORMATS = ("pdf", "png", "svg")
"""Kinds of file that it is written as."""
DPI = 300
"""What office printers print [dots per inch]."""
DPI_RANGE = (150, 1200)
"""Below, the corners of the squares turn ragged; above, no printer is finer (judgement) [dots per inch]."""
CAUTION = page.CAUTION


@dataclass(frozen=True)
class CardMade:
    """Where the card is and what is on it; lengths in metres."""

    path: Path
    paper: str
    format: str
    dpi: int | None
    bar: float
    square: float
    size: tuple[float, float]


def default_name(paper: str, form: str) -> Path:
    """Return the file name used when none is asked for."""
    return Path(f"scale-card-{paper}.{form}")


def make_card(
    paper: str = "a4",
    form: str = "pdf",
    dpi: int = DPI,
    output: Path | None = None,
    overwrite: bool = False,
) -> CardMade:
    """Draw the card for a paper in a format ("pdf", "png", "svg"), whole or not at all; dpi is for PNG."""
    _check("--paper", paper, PAPERS)
    _check("--format", form, FORMATS)
    if not DPI_RANGE[0] <= dpi <= DPI_RANGE[1]:
        raise BadValueError("--dpi", f"{dpi} is outside {DPI_RANGE[0]} to {DPI_RANGE[1]}", f"Use {DPI}.")
    path = output or default_name(paper, form)
    check_new(path, overwrite)
    with whole_file(path) as part:
        part.write_bytes(page.write(paper, form, dpi))
    return CardMade(
        path, paper, form, dpi if form == "png" else None, card.BAR, card.SQUARE, card.PAPER[paper]
    )


def _check(key: str, value: str, known: tuple[str, ...]) -> None:
    """Refuse a value that is not one of the known ones."""
    if value not in known:
        raise BadValueError(key, f'"{value}" is not known', f"Use one of: {', '.join(known)}.")
