"""A catalog with flipped bytes: every command says that it is damaged and what to do, and a backup can still be put back."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from invented_runs import add_run
from shop import shop

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import open_catalog
from flybench.errors import FlybenchError
from flybench.jobs.shelf.details import details_of
from flybench.jobs.shelf.rows import add_row, list_rows, show_row
from flybench.jobs.shelf.safekeeping import back_up, check_catalog, restore, where_is
from flybench.jobs.sink.ladder import ladder

PATTERN = {"code": "NEW", "name": "New", "style": "slick"}


def listed(path: str) -> None:
    for noun in NOUNS.values():
        list_rows(open_catalog(path, make=False), noun, [])


def searched(path: str) -> None:
    for noun in NOUNS.values():
        list_rows(open_catalog(path, make=False), noun, ["hare"])


def shown_in_full(path: str) -> None:
    catalog = open_catalog(path, make=False)
    details_of(catalog, "variant", show_row(catalog, NOUNS["variant"], "MILL-28-14")["code"])


COMMANDS: dict[str, Callable[[str], object]] = {
    "where": where_is,
    "list": listed,
    "search": searched,
    "show": shown_in_full,
    "check": check_catalog,
    "backup": back_up,
    "ladder": lambda path: ladder(open_catalog(path, make=False), ()),
    "add": lambda path: add_row(open_catalog(path), NOUNS["pattern"], PATTERN),
}


@pytest.fixture(scope="module")
def saved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = Path(tmp_path_factory.mktemp("garbled"))
    catalog = shop(folder / "shop.sqlite")
    add_run(catalog, "M1", 0.30, 1)
    return back_up(str(folder / "shop.sqlite"), folder / "saved.sqlite")


def refusals(path: Path) -> list[str]:
    """Return what every command says of a catalog; anything but a message for the user is raised."""
    said = []
    for name, command in COMMANDS.items():
        try:
            command(str(path))
        except FlybenchError as error:
            said.append(f"{name}: {error}")
    return said


def is_whole_again(path: Path, saved: Path) -> bool:
    restore(str(path), saved)
    rows = list_rows(open_catalog(str(path), make=False), NOUNS["fly"], []).rows
    return [row["code"] for row in rows] == ["A1", "M1", "M2", "M3"]


GARBLED = (
    b"tungsten", b"countersunk", b"Slotted bead", b"2026-03-01", b"MILL-28-14", b"Mill Pond",
    b"hackled", b"first of its kind",
    b"CREATE TABLE material ", b"flybench_revision",
)  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("letters", [b"\xbe\xff\x80", b"#!?"], ids=["no text", "another text"])
def test_garbled_texts_are_told_or_borne(saved: Path, tmp_path: Path, letters: bytes) -> None:
    for number, text in enumerate(GARBLED):
        content = saved.read_bytes()
        assert text in content, text
        path = tmp_path / f"{number}.sqlite"
        path.write_bytes(content.replace(text, (letters * len(text))[: len(text)]))
        for line in refusals(path):
            assert "flybench catalog restore FILE" in line or "there is no" in line, (text, line)
        assert is_whole_again(path, saved), text


@pytest.mark.parametrize("seed", range(6))
def test_flipped_bytes(saved: Path, tmp_path: Path, seed: int) -> None:
    """Up to fifty bytes anywhere behind the first sixteen, which say that it is a file of SQLite."""
    chance = random.Random(seed)
    content = bytearray(saved.read_bytes())
    for _ in range((1, 5, 50)[seed % 3]):
        content[chance.randrange(16, len(content))] = chance.randrange(256)
    path = tmp_path / "shop.sqlite"
    path.write_bytes(content)
    assert [line for line in refusals(path) if "flybench catalog restore FILE" not in line] == []
    assert is_whole_again(path, saved)
