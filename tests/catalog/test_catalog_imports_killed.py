"""Imports killed at random moments: all of it is there afterwards, or nothing."""

from __future__ import annotations

import os
import random
import shutil
import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from shop import shop
from sqlalchemy import func, select

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.check import check
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.patterns import Pattern
from flybench.jobs.shelf.recipes import import_recipes
from flybench.jobs.shelf.spreadsheet import import_csv

RECIPES = Path(__file__).resolve().parents[2] / "catalog"
KILLS = 12


def _killed(work: Callable[[], object], seconds: float) -> bool:
    """Do the work in a forked process and kill it after a while; tell whether it was killed in time."""
    child = os.fork()
    if child == 0:
        work()
        os._exit(0)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


def _count(catalog: Catalog, table: type[Pattern | Fly]) -> int:
    with catalog.reading() as session:
        return session.scalar(select(func.count()).select_from(table)) or 0


def _kill_again_and_again(
    tmp_path: Path, fresh: Path, table: type[Pattern | Fly], whole: int, work: Callable[[Path], object]
) -> list[bool]:
    """Kill imports into copies of a catalog; return which were killed before their end."""
    before = _count(open_catalog(str(fresh)), table)
    trial = tmp_path / "trial.sqlite"
    shutil.copyfile(fresh, trial)
    begun = time.perf_counter()
    work(trial)
    took = time.perf_counter() - begun
    chance, killed = random.Random(7), []
    for number in range(KILLS):
        mine = tmp_path / f"{number}.sqlite"
        shutil.copyfile(fresh, mine)
        killed.append(_killed(lambda mine=mine: work(mine), chance.uniform(0.2, 1.1) * took))  # type: ignore[misc]
        catalog = open_catalog(str(mine))
        assert _count(catalog, table) - before in (0, whole)
        assert check(catalog) == []
    return killed


@pytest.mark.slow
def test_killed_imports_of_recipes(tmp_path: Path) -> None:
    fresh = tmp_path / "fresh.sqlite"
    open_catalog(str(fresh))
    whole = len(list(RECIPES.glob("*.toml")))
    killed = _kill_again_and_again(
        tmp_path, fresh, Pattern, whole, lambda path: import_recipes(str(path), [RECIPES])
    )
    assert sum(killed) >= KILLS // 4


@pytest.mark.slow
def test_killed_imports_of_flies(tmp_path: Path) -> None:
    fresh = tmp_path / "fresh.sqlite"
    shop(fresh)
    file = tmp_path / "flies.csv"
    lines = [f"N{number},MILL-28-14,{200 + number / 100:.2f}" for number in range(20_000)]
    file.write_text("code,variant,mass_mg\n" + "\n".join(lines), encoding="utf-8")
    killed = _kill_again_and_again(
        tmp_path,
        fresh,
        Fly,
        len(lines),
        lambda path: import_csv(open_catalog(str(path)), NOUNS["fly"], file),
    )
    assert sum(killed) >= KILLS // 4
