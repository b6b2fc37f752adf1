"""Files of the catalog put in their place whole, and never over another."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

SIDES = ("-wal", "-shm", "-journal")
"""Endings of the files that SQLite keeps beside a database while it is in use."""


@contextmanager
def part_beside(path: Path) -> Iterator[Path]:
    """Give a name beside ``path`` that nobody else uses; whatever is left there is removed in the end."""
    part = path.with_name(f".{path.name}.{os.getpid()}-{secrets.token_hex(4)}.part")
    try:
        yield part
    finally:
        for ending in ("", *SIDES):
            with suppress(OSError):
                part.with_name(part.name + ending).unlink(missing_ok=True)


def put_new(part: Path, path: Path) -> None:
    """Put a complete file in its place in one step.

    Raises FileExistsError where something is there already, OSError where the folder refuses.
    """
    try:
        os.link(part, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links, such as a memory card's: claim the name, then replace
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        part.replace(path)
