"""A sheet's file read into tables; slips of typing are told in plain words, with the line."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from flybench.errors import FlybenchError
from flybench.files import first_bytes

_LONGEST_SHEET = 100_000
"""Longest file that is read as a sheet: some fifty times a full one, so that a clip named by mistake is not parsed
(judgement) [bytes]."""
_CURLY = re.compile("[“”„‟‘’«»]")
_LINE = re.compile(r"at line (\d+)")
_TABLE = re.compile(r"\s*\[\s*([\w.-]+)\s*\]")
_KEY = re.compile(r"\s*([\w-]+)\s*=")


def read_sheet_file(path: Path) -> dict[str, Any]:
    """Return the tables of a sheet; raises FlybenchError for a file that cannot be read, is no text or no sheet."""
    try:
        content = first_bytes(path, _LONGEST_SHEET + 1)
        if len(content) > _LONGEST_SHEET:
            raise FlybenchError(
                f"{path}: is longer than any sheet ({_LONGEST_SHEET // 1000} kB at most). Give the .toml file."
            )
        return _parsed(
            path, content.decode("utf-8-sig")
        )  # some editors begin a file with a mark of its byte order
    except UnicodeDecodeError as error:
        raise FlybenchError(
            f"{path}: is not saved as UTF-8 text. Open it in your editor, choose to save it under a name, and take UTF-8."
        ) from error
    except OSError as error:
        raise FlybenchError(f"{path}: cannot be read ({error.strerror}). Check the name.") from error


def _parsed(path: Path, text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise FlybenchError(f"{path}: {_slip(text, str(error))}") from error


def _slip(text: str, problem: str) -> str:
    """Return in plain words what is wrong with the line at which the reader stopped, in its
    own words where none are known."""
    found = _LINE.search(problem)
    number = int(found[1]) if found else 0
    lines = text.splitlines()
    line = lines[number - 1] if 0 < number <= len(lines) else ""
    if _CURLY.search(line):
        straight = _CURLY.sub('"', line).strip()
        return (
            f"line {number} has curly quotes, as programs for letters put in. Write them straight: {straight}"
        )
    return _told_twice(lines, number) or f"cannot be read as a sheet: {problem}. Correct that line."


def _told_twice(lines: list[str], number: int) -> str | None:
    """Return what line ``number`` gives a second time, a table or a key of one; None where it gives neither."""
    tables, keys, table = set(), set(), ""
    for place, line in enumerate(lines[:number], 1):
        begins, key = _TABLE.match(line), _KEY.match(line)
        if begins:
            table = begins[1]
            if place == number and table in tables:
                return f"line {number} begins [{table}] a second time. Put what follows under the first [{table}]."
            tables.add(table)
        elif key:
            if place == number and (table, key[1]) in keys:
                return (
                    f"line {number} gives {key[1]} a second time under [{table}]. Keep one of the two lines."
                )
            keys.add((table, key[1]))
    return None
