"""Cost of whole commands on a catalog over raw sqlite3, as whole processes: ``python benchmarks/whole_commands.py CATALOG``.

For each command the statement that reads its rows is noted, and run by a process that loads nothing but sqlite3. Processor
time, the least of some tries; from that of the command that of the same command on an empty catalog is taken off: its
start-up. Nothing is changed in the catalog, which must be of this version, with its speeds pooled.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy import event

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.jobs.shelf.rows import list_rows
from flybench.jobs.sink.ladder import ladder

TRIES = 3
RAW = """
import sqlite3, sys
with sqlite3.connect(sys.argv[1]) as file:
    for statement in sys.argv[2:]:
        file.execute(statement).fetchall()
"""
HASHED = """
import hashlib, sqlite3, sys
with sqlite3.connect(sys.argv[1]) as file:
    file.execute("PRAGMA integrity_check").fetchall()
    for (track,) in file.execute("SELECT track FROM bench_run"):
        hashlib.sha256(track).hexdigest()
"""
ALL = ("--limit", "0")
COMMANDS: dict[str, tuple[Sequence[str], Callable[[Catalog], object]]] = {
    "ladder of all": (("ladder", *ALL), ladder),
    "ladder of 60": (("ladder",), partial(ladder, limit=60)),
    "all flies": (("fly", "list", *ALL), lambda catalog: listed(catalog, "fly")),
    "100 flies": (("fly", "list"), lambda catalog: listed(catalog, "fly", 100)),
    "all variants": (("variant", "list", *ALL), lambda catalog: listed(catalog, "variant")),
    "100 runs": (("run", "list"), lambda catalog: listed(catalog, "run", 100)),
}
"""Commands, in words: what is typed, and what of the program reads the same rows."""


def main() -> None:
    path = sys.argv[1]
    empty = str(Path(tempfile.mkdtemp(prefix="flybench-empty-")) / "empty.sqlite")
    open_catalog(empty)
    catalog = open_catalog(path, make=False)
    print(
        "command: its processor time, its start-up, raw sqlite3's; the first less the second over the third"
    )
    for name, (typed, read) in COMMANDS.items():
        raw = [sys.executable, "-c", RAW, path, longest(catalog, read)]
        compared(name, typed, path, empty, raw)
    compared("check", ("catalog", "check"), path, empty, [sys.executable, "-c", HASHED, path])
    loaded = [sys.executable, "-c", "import click"]
    print(f"flybench --help over loading click: {spent(flybench(['--help'])) / spent(loaded):.2f}")


def compared(name: str, typed: Sequence[str], path: str, empty: str, raw: Sequence[str]) -> None:
    whole, begun, plain = (
        spent(one)
        for one in (flybench([*typed, "--catalog", path]), flybench([*typed, "--catalog", empty]), raw)
    )
    print(f"{name}: {whole:.2f} s, {begun:.2f} s, {plain:.2f} s; {(whole - begun) / plain:.2f}")


def listed(catalog: Catalog, noun: str, limit: int = 0) -> object:
    return list_rows(catalog, NOUNS[noun], [], limit=limit, fields=NOUNS[noun].shown)


def flybench(typed: Sequence[str]) -> list[str]:
    return [sys.executable, "-m", "flybench", *typed]


def longest(catalog: Catalog, read: Callable[[Catalog], object]) -> str:
    """Return the longest statement that is sent to read these rows: that of the rows themselves, with its values in it."""
    sent: list[str] = []

    def note(connection: Any, cursor: Any, statement: str, values: Any, *rest: Any) -> None:
        for value in values:
            statement = statement.replace("?", repr(value), 1)
        sent.append(statement)

    event.listen(catalog.engine, "before_cursor_execute", note)
    read(catalog)
    event.remove(catalog.engine, "before_cursor_execute", note)
    return max(sent, key=len)


def spent(command: Sequence[str]) -> float:
    """Return the processor time of a whole process [s], the least of some tries."""
    return min(spent_once(command) for _ in range(TRIES))


def spent_once(command: Sequence[str]) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    whole = {**os.environ, "OMP_NUM_THREADS": "1"}
    # One that fails would pass for a quick one.
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=whole)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


if __name__ == "__main__":
    main()
