"""The demo's shop: invented flies with weights and stock, and their simulated runs, fitted here as the runs of clips are.

Of each run only the track is shipped, as the catalog keeps it of a clip: where the fly was seen in each picture. It was
simulated from the equations of motion, not filmed; so what is true of each fly is known.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator, Mapping
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from sqlalchemy import select

from flybench.bench.saved.refitting import refit
from flybench.bench.sheet.values import Tables
from flybench.bench.verdict.result import BenchResult
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf import runs as run_shelf
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.catalog.tables.vocabulary import Why
from flybench.jobs.photos.photos import add_photo
from flybench.jobs.pooled.kept_speeds import keep_in_step
from flybench.jobs.shelf.record_of_result import record_of
from flybench.jobs.shelf.rows import add_row
from flybench.jobs.shelf.runs import weighing_of, with_weighing
from flybench.jobs.shelf.stock import move_stock
from flybench.jobs.shelf.weigh import Scale, weigh_fly
from flybench.jobs.trade.money import set_money
from flybench.quantity import parse

INVENTED = "invented; its runs are simulated, not filmed"
TRUE_AT = "18 degC"
"""The water in which the true speeds are known, and in which most runs were made."""
DRAWN = "drawn by a program, not photographed"
_SHOP, _TRUTH, _PICTURES = "shop.toml", "truth.json", "pictures"
_EVENING = "{day}T20:00:00+00:00"
"""When the runs of an evening are said to have been measured."""


@dataclass(frozen=True)
class SimulatedRun:
    """One simulated run: its fly, the day, the track's bytes, and the sheet of the evening as its owner typed it."""

    fly: str
    day: str
    track: bytes
    sheet: Mapping[str, Any]


@dataclass(frozen=True)
class DemoShop:
    """The invented shop as it was written down, and what is true of it: sink speeds in wide water at 18 degC [m/s]."""

    written: Mapping[str, Any]
    runs: list[SimulatedRun]
    true_flies: Mapping[str, float]
    true_variants: Mapping[str, float]
    pictures: Mapping[str, Path]
    """Drawings of variants by code."""


def read_shop(folder: Path) -> DemoShop:
    """Return the shop that a folder of the demo data holds."""
    written = tomllib.loads((folder / _SHOP).read_text(encoding="utf-8"))
    truth = json.loads((folder / _TRUTH).read_text(encoding="utf-8"))
    evenings = written["evening"]
    runs = [
        SimulatedRun(
            run["fly"],
            evenings[run["evening"]]["day"],
            (folder / run["file"]).read_bytes(),
            evenings[run["evening"]]["sheet"],
        )
        for run in written["run"]
    ]
    pictures = {file.stem: file for file in sorted((folder / _PICTURES).glob("*.jpg"))}
    return DemoShop(written, runs, truth["flies_m_s"], truth["variants_m_s"], pictures)


def put_on_the_shelf(catalog: Catalog, shop: DemoShop) -> None:
    """Add the flies of the shop, what its scale showed of them, drawings and stock; the recipes are there already."""
    set_money(catalog, shop.written["money"]["currency"], None)
    for fly in shop.written["fly"]:
        add_row(catalog, NOUNS["fly"], {"code": fly["code"], "variant": fly["variant"], "notes": INVENTED})
        if "dry" in fly:
            dry, *wet = (parse(text, "kg", "fly.mass") for text in (fly["dry"], *fly["in_water"]))
            weigh_fly(catalog, fly["code"], dry, wet, Scale(), parse(TRUE_AT, "K", "water.temperature"))
    for code, file in shop.pictures.items():
        add_photo(catalog, "variant", code, file, DRAWN)
    for codes, material in ((shop.written["stock"], False), (shop.written["materials"], True)):
        for code, amount in codes.items():
            move_stock(catalog, code, amount, Why.COUNTED.value, "invented", material)


Task = tuple[bytes, Tables]
"""A track and the sheet to fit it under, the fly's weight in it."""


@dataclass(frozen=True)
class Fits:
    """Fits that are being made in a process of their own."""

    tasks: list[Task]
    waiting: list[Future[BenchResult]]

    def results(self) -> list[BenchResult]:
        """Return the results in order; where that process came to an end too early, as without memory, they are made here."""
        try:
            return [one.result() for one in self.waiting]
        except BrokenExecutor:
            return [refit(*task) for task in self.tasks]


@contextmanager
def fitted_meanwhile(catalog: Catalog, shop: DemoShop) -> Iterator[Fits]:
    """Fit the runs in a process of its own while the caller does something else, each with the weight that is known."""
    with catalog.reading() as session:
        flies = {fly.code: weighing_of(fly) for fly in session.scalars(select(Fly))}
    tasks: list[Task] = [(run.track, with_weighing(run.sheet, flies[run.fly])) for run in shop.runs]
    pool = ProcessPoolExecutor(1, mp_context=get_context("spawn"))
    try:
        yield Fits(tasks, [pool.submit(refit, *task) for task in tasks])
    finally:
        pool.shutdown(cancel_futures=True)


def save_runs(catalog: Catalog, shop: DemoShop, fits: Fits) -> int:
    """Save the fitted runs under their flies, all in one transaction and pooled once; returns how many gave a speed."""
    results = fits.results()
    changed: set[int] = set()
    with catalog.writing() as session:
        for run, result in sorted(zip(shop.runs, results, strict=True), key=lambda one: one[0].day):
            at = datetime.fromisoformat(_EVENING.format(day=run.day)).astimezone(UTC)
            record = record_of(result, run.sheet, run.track, at)
            run_shelf.add_run(session, run.fly, record, changed.update)
        keep_in_step(session, changed)
    return sum(result.sink_speed is not None for result in results)
