"""The cells of a CSV file, line by line, whatever a spreadsheet puts between and behind them."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from flybench.errors import FlybenchError
from flybench.files import first_bytes

MOST_BYTES = 200_000_000
"""Largest file that is read [bytes] (judgement: some million flies)."""
_LONGEST_CELL = 100_000
"""Letters in one cell (judgement: five times the longest note)."""


def read_lines(path: Path, most: int = MOST_BYTES) -> list[list[str]]:
    """Return the cells of a CSV file, line by line, empty lines left out; ``most`` bytes.

    Raises FlybenchError for what cannot be read, is too large, not UTF-8, no CSV, or empty.
    """
    try:
        content = first_bytes(path, most + 1)
        if len(content) > most:
            raise FlybenchError(
                f"{path}: is larger than {most // 1_000_000} MB. Split it into several files."
            )
        text = content.decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except OSError as error:
        raise FlybenchError(f"{path}: cannot be read ({error.strerror}). Check the name.") from error
    except UnicodeDecodeError as error:
        raise FlybenchError(
            f"{path}: is not UTF-8 at byte {error.start}. Save it again as CSV in UTF-8."
        ) from error
    csv.field_size_limit(_LONGEST_CELL)
    try:
        reader = csv.reader(io.StringIO(text, newline=""), strict=True, delimiter=_delimiter(text))
        lines = [line for line in reader if line]
    except csv.Error as error:
        raise FlybenchError(
            f"{path}: cannot be read as CSV ({error}). Save it again with commas between cells."
        ) from error
    while lines and not "".join(lines[-1]).strip():  # spreadsheets write blank lines at the end
        lines.pop()
    if not lines:
        raise FlybenchError(f"{path}: is empty. Its first line must name the columns.")
    return lines


def _delimiter(text: str) -> str:
    """Return what stands between cells: a semicolon where the first line has no comma, as where commas are decimal."""
    first = text.partition("\n")[0]
    return ";" if ";" in first and "," not in first else ","
