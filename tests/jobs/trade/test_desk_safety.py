"""The shop's desk in rough weather: killed clerks, many at the till at once, a disk that is full, files that are none."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from console import flybench
from demo_catalog import demo_catalog, rows_of
from servers import fresh_database
from shop import shop

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.check import check
from flybench.catalog.shelf.rows import get
from flybench.catalog.shelf.stock import on_hand
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.jobs.trade.goods import typed_goods
from flybench.jobs.trade.stock_moved import deliver

WRITER = Path(__file__).parents[2] / "helpers" / "desk_writer.py"
BOTH = ("MILL-28-14", "MILL-24-16")
KILLS = 8
CLERKS, FLIES = 4, 40

FILES = {
    "utf16.csv": (
        "code,amount\nreed-slip-12,1\n".encode("utf-16"),
        "is not UTF-8 at byte 0. Save it again as CSV in UTF-8.",
    ),
    "empty.csv": (
        b"",
        "is empty. Its first line must name the columns.",
    ),
    "nothing.csv": (
        b"\n\n ,\n",
        "is empty. Its first line must name the columns.",
    ),
    "head.csv": (
        b"code,amount\n",
        "holds no goods below its first line. Add a line for each thing.",
    ),
    "zero.csv": (
        b"code,amount\nreed-slip-12,1\x00\n",
        'line 2, reed-slip-12, amount: "1\\x00" is not a number. Write it as 25.',
    ),
    "open.csv": (
        b'code,amount\n"reed-slip-12,1\n',
        "cannot be read as CSV (unexpected end of data). Save it again with commas between cells.",
    ),
    "wide.csv": (
        b"code,amount,note\nreed-slip-12,1," + b"x" * 200_000,
        "cannot be read as CSV (field larger than field limit (100000)). Save it again with commas between cells.",
    ),
    "huge.csv": (
        b"code,amount\nreed-slip-12,1e308\n",
        'line 2, reed-slip-12, amount: "1e308" is not a number. Write it as 25.',
    ),
    "nan.csv": (
        b"code,amount\nreed-slip-12,nan\n",
        'line 2, reed-slip-12, amount: "nan" is not a number. Write it as 25.',
    ),
    "turned.csv": (
        b"code,amount,note\nreed-slip-12,1,a\xe2\x80\xaeb\n",
        "line 2, reed-slip-12, note: has the control character U+202E in it. Take it out.",
    ),
    "comma.csv": (
        b"code;amount\nhk-jig-12;2,5\n",
        'line 2, hk-jig-12, amount: "2,5" is not a number. Write it as 25; write 2.5 with a point.',
    ),
    "long.csv": (
        b"code,amount,note\nreed-slip-12,1," + b"x" * 300 + b"\n",
        "line 2, reed-slip-12, note: is 300 letters long. Use at most 200 letters.",
    ),
    "under.csv": (
        b"code,amount\nreed-slip-12,4_00\n",
        'line 2, reed-slip-12, amount: "4_00" is not a number. Write it as 25.',
    ),
}
"""Files of goods that cannot be, and what is said of each behind its name."""


@pytest.fixture(params=["file", "server"])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Give the address of a shop's catalog: a file, or a database on a server."""
    if request.param == "file":
        made = str(tmp_path / "catalog.sqlite")
        shop(made)
        yield made
        return
    with fresh_database(request.getfixturevalue("server")) as other:
        shop(other)
        yield other


def _said(*arguments: str | Path | int) -> tuple[list[str], int]:
    writer = subprocess.run(
        [sys.executable, str(WRITER), *map(str, arguments)],
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )
    assert writer.stderr == ""
    return writer.stdout.splitlines(), writer.returncode


def _stock(catalog: Catalog) -> list[float]:
    with catalog.reading() as session:
        return [on_hand(session, get(session, NOUNS["variant"], code)) for code in BOTH]


@pytest.mark.slow
def test_a_killed_clerk_leaves_whole_commands(address: str, tmp_path: Path) -> None:
    said, code = _said("killed", address, KILLS, 3, tmp_path)
    assert (said, code) == (["fair"] * KILLS, 0)
    catalog = open_catalog(address)
    with catalog.reading() as session:
        assert on_hand(session, get(session, NOUNS["material"], "H14")) > 0  # the kills fell among the work


@pytest.mark.slow
def test_no_fly_is_sold_twice(address: str) -> None:
    catalog = open_catalog(address)
    deliver(catalog, typed_goods([f"{code}={FLIES}" for code in BOTH], None))
    catalog.engine.dispose()
    said, code = _said("till", address, CLERKS)
    assert code == 0
    assert sum(int(line.split()[0]) for line in said) == FLIES
    assert {line.split(maxsplit=1)[1] for line in said} == {
        "1 of MILL-28-14 cannot be taken out; there are 0 in stock. Give less, or correct the stock after a count with: "
        "flybench stock count MILL-28-14 AMOUNT."
    }
    assert _stock(catalog) == [0, 0]


@pytest.mark.slow
def test_a_disk_that_is_full_keeps_what_was_done(tmp_path: Path) -> None:
    path = tmp_path / "catalog.sqlite"
    catalog = shop(path)
    (told,), code = _said("fill", path, path.stat().st_size + 30_000, tmp_path)
    problem = "the disk reports an error; nothing was changed. Check the disk and its room, and try again."
    assert (told, code) == (f"Error: {path}: {problem}", 1)
    assert check(catalog) == []
    one, other = _stock(catalog)
    assert one == other > 0


@pytest.mark.slow
def test_files_of_goods_that_are_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FLYBENCH_CATALOG", "catalog.sqlite")
    catalog = demo_catalog(Path("catalog.sqlite"))
    before = rows_of(catalog, ())
    for name, (content, message) in FILES.items():
        Path(name).write_bytes(content)
        said = flybench(capsys, "stock", "delivery", "--file", name)
        joined = f"Error: {name}{', ' if message.startswith('line') else ': '}{message}\n"
        assert (said.code, said.out, said.err) == (1, "", joined), name
    assert rows_of(catalog, ()) == before
