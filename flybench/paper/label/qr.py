"""The QR code of a label as a grid of modules."""

from __future__ import annotations

from functools import lru_cache

from flybench.errors import BadValueError

QUIET = 4
"""White modules on each side: ISO/IEC 18004."""
LEAST_MODULE = 0.00033
"""Smaller modules than this are not printed [m]: four dots at 300 dpi; common practice, no source."""
MOST_MODULE = 0.0006
"""Larger modules than this scan no better from an arm's length [m]; common practice, no source."""

Grid = tuple[tuple[bool, ...], ...]


@lru_cache(maxsize=1024)
def qr_grid(text: str, code: str) -> Grid:
    """Return the modules, True where black, without the quiet zone; error correction level M.

    Raises BadValueError, naming the label's code, where the text is too long for any QR code.
    """
    import segno  # only labels with a QR code need it

    try:
        symbol = segno.make(text, error="m", micro=False, boost_error=False)
    except segno.DataOverflowError:
        problem = f'the text of the label "{code}" has {len(text)} characters, more than a QR code holds'
        raise BadValueError("qr", problem, "Use a shorter text or address.") from None
    return tuple(tuple(bool(module) for module in row) for row in symbol.matrix)


def modules_across(grid: Grid) -> int:
    """Return the modules along one side, quiet zones included."""
    return len(grid) + 2 * QUIET


def black_runs(grid: Grid) -> list[tuple[int, int, int]]:
    """Return row, first column and length of each run of black modules, quiet zone counted in."""
    runs = []
    for row, line in enumerate(grid):
        start = None
        for column, black in enumerate((*line, False)):
            if black and start is None:
                start = column
            elif not black and start is not None:
                runs.append((row + QUIET, start + QUIET, column - start))
                start = None
    return runs
