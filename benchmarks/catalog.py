"""Cost of the catalog, as ratios and medians within one run: ``python benchmarks/catalog.py [FLIES]``.

So many invented flies (20 000 unless told) with three bench runs each; import against a plain SQLAlchemy Core bulk insert of
the same rows; a run saved against pooling all of them; lists, ladder and check against raw sqlite3; all in one process.
"""

from __future__ import annotations

import hashlib
import random
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from functools import partial
from itertools import combinations
from pathlib import Path
from typing import Any

from sqlalchemy import event, insert, select

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.check import check
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.flies import BenchRun, Fly
from flybench.catalog.tables.materials import Bead, Hook
from flybench.catalog.tables.patterns import Pattern, Variant
from flybench.catalog.tables.vocabulary import Style
from flybench.jobs.pooled.kept_speeds import keep_in_step
from flybench.jobs.shelf.one_water import brought_codes
from flybench.jobs.shelf.rows import add_row, list_rows
from flybench.jobs.shelf.runs import accept_run, set_run_aside
from flybench.jobs.shelf.spreadsheet import import_csv
from flybench.jobs.sink.ladder import ladder
from flybench.shop.speeds.ladder import LadderRung, ties_of
from flybench.statistics.comparing import DoubtPart, Repeat, Side, differ

FLIES = int(sys.argv[1]) if __name__ == "__main__" and len(sys.argv) > 1 else 20_000
RUNS_EACH, PATTERNS, TRIES, FEW_TRIES = 3, 200, 15, 3
QUERIES = (
    "bead:2.8 metal:tungsten style:hackled sink:25..35 hook:14 stock:>0 hare",
    "sink:25..35",
    "bead:2.8 hook:14",
    "not runs:0 mass:>200",
    "pool",
    "style:slick or hook:16",
)
STYLES = ("slick", "ribbed", "dubbed", "hackled", "soft", "bulky")


def main() -> None:
    print(f"ties of 300 flies over comparing each pair once, rate: {_ties():.0f} (wanted: at least 5)")
    folder = Path(tempfile.mkdtemp(prefix="flybench-catalog-"))
    rows, file, took, base = _rows(), folder / "flies.csv", [], []
    _write_csv(file, rows)
    for number in range(3):
        imported, plain = _shop(folder / f"import{number}.sqlite"), _shop(folder / f"plain{number}.sqlite")
        took.append(_timed(partial(import_csv, imported, NOUNS["fly"], file)))
        base.append(_timed(partial(_plain_insert, plain, rows)))
    rate = min(base) / min(took)
    print(f"import of {FLIES} flies over a plain Core bulk insert, rate: {rate:.2f} (wanted: at least 0.5)")
    _add_runs(imported)
    _saving(imported)
    _reading(imported)
    for query in QUERIES:
        median = _median(lambda query=query: list_rows(imported, NOUNS["fly"], [query], limit=100))
        print(f"search {query!r}: median {median * 1e3:.0f} ms (wanted: under 100)")
    print(
        f"ladder: median {_median(lambda: ladder(imported, (), limit=60)) * 1e3:.0f} ms (wanted: under 100)"
    )
    median = _median(lambda: ladder(imported, ("style:slick bead:2.8",), limit=60))
    print(f"ladder of slick flies with one bead: median {median * 1e3:.0f} ms")


def _saving(catalog: Catalog) -> None:
    """Pool all runs once, then let single runs not count and count again."""

    def pool_all() -> None:
        with catalog.writing() as session:
            keep_in_step(session)

    whole = _timed(pool_all)
    chance = random.Random(4)
    numbers = [chance.randrange(1, FLIES * RUNS_EACH) for _ in range(TRIES)]
    aside = [_timed(partial(set_run_aside, catalog, number, "bumped")) for number in numbers]
    again = [_timed(partial(accept_run, catalog, number)) for number in reversed(numbers)]
    saved = statistics.median([*aside, *again])
    print(f"first pooling of {FLIES} flies: {whole:.0f} s")
    print(
        f"a run set aside or accepted: median {saved * 1e3:.0f} ms, longest {max(*aside, *again) * 1e3:.0f} ms"
    )
    print(f"first pooling over one of those, rate: {whole / saved:.0f} (wanted: at least {FLIES / 200:.0f})")


def _reading(catalog: Catalog) -> None:
    """Compare lists, the ladder and the check with what sqlite3 itself takes for the same rows."""
    raw = _median(
        partial(_raw, catalog, "SELECT * FROM fly LEFT JOIN fly_speed ON fly_id = id ORDER BY code"),
        FEW_TRIES,
    )
    shown = NOUNS["fly"].shown
    listed = _median(lambda: list_rows(catalog, NOUNS["fly"], [], fields=shown), FEW_TRIES)
    same = _median(partial(_raw, catalog, _statement(catalog, shown)), FEW_TRIES)
    print(
        f"list of all flies over the same statement by raw sqlite3, ratio: {listed / same:.2f} (wanted: at most 2.5)"
    )
    notes = _median(lambda: brought_codes(catalog, "fly", ["F1"]), FEW_TRIES)
    print(f"water of a list over raw sqlite3 reading all flies, ratio: {notes / raw:.2f}")
    rungs = _median(lambda: ladder(catalog, ()), FEW_TRIES)
    print(f"ladder of all flies: {rungs:.2f} s; over raw sqlite3 reading all flies, ratio: {rungs / raw:.1f}")
    hashed = _timed(partial(_hash_all, catalog))
    looked = _timed(lambda: check(catalog))
    print(
        f"check: {looked:.2f} s; over integrity_check and hashing by raw sqlite3, ratio: {looked / hashed:.2f}"
    )


def _statement(catalog: Catalog, fields: tuple[str, ...]) -> str:
    """Return the SQL of a list of all flies."""
    sent: list[str] = []

    def note(connection: Any, cursor: Any, statement: str, *rest: Any) -> None:
        sent.append(statement)

    event.listen(catalog.engine, "before_cursor_execute", note)
    list_rows(catalog, NOUNS["fly"], [], fields=fields)
    event.remove(catalog.engine, "before_cursor_execute", note)
    return sent[-1].replace("?", "0")


def _raw(catalog: Catalog, statement: str) -> None:
    with closing(sqlite3.connect(str(catalog.path))) as file:
        file.execute(statement).fetchall()


def _hash_all(catalog: Catalog) -> None:
    with closing(sqlite3.connect(str(catalog.path))) as file:
        file.execute("PRAGMA integrity_check").fetchall()
        for (track,) in file.execute("SELECT track FROM bench_run"):
            hashlib.sha256(track).hexdigest()


def _ties() -> float:
    """Return how many times as long comparing each pair of 300 flies takes as finding all that cannot be told apart."""
    chance = random.Random(3)
    sides = []
    for number in range(300):
        speed = chance.uniform(0.2, 0.5)
        parts = (
            DoubtPart("drops", Repeat.DROPS, 0.005 * speed, 6.0),
            DoubtPart("runs", Repeat.RUNS, 0.015 * speed, 4.0),
        )
        shared = {("set-up", str(number % 28)): 0.006 * speed}
        sides.append(Side(f"F{number}", speed, parts, {Repeat.DROPS: 5, Repeat.RUNS: 1}, shared))
    sides.sort(key=lambda side: side.speed)
    rungs = [LadderRung(side.code, "", side) for side in sides]
    pairs = _timed(lambda: [differ(one, other) for one, other in combinations(sides, 2)])
    return pairs / _timed(partial(ties_of, rungs))


def _shop(path: Path) -> Catalog:
    catalog = open_catalog(str(path))
    for size in (12, 14, 16):
        given = {"code": f"H{size}", "kind": "hook", "name": "hook", "hook": str(size)}
        add_row(catalog, NOUNS["material"], given)
    for tenth in (20, 24, 28, 32):
        given = {"code": f"B{tenth}", "kind": "bead", "name": "bead", "diameter": f"{tenth / 10} mm"}
        add_row(catalog, NOUNS["material"], given | {"metal": "tungsten", "bore": "slotted"})
    with catalog.writing() as session:
        hooks, beads = (
            list(session.scalars(select(Hook.material_id))),
            list(session.scalars(select(Bead.material_id))),
        )
        for number in range(PATTERNS):
            name = f"{'Hare' if number % 7 == 0 else 'Pool'} number {number}"
            row = Pattern(code=f"P{number}", name=name, style=_style(number))
            session.add(row)
            session.flush()
            for place, bead in enumerate(beads):
                code = f"P{number}-{place}"
                session.add(Variant(code=code, pattern_id=row.id, hook_id=hooks[number % 3], bead_id=bead))
    return catalog


def _style(number: int) -> Any:
    return Style(STYLES[number % len(STYLES)])


def _rows() -> list[dict[str, Any]]:
    chance = random.Random(1)
    return [
        {
            "code": f"F{number}",
            "variant_id": 1 + chance.randrange(PATTERNS * 4),
            "tied_on": date(2020, 1, 1) + timedelta(days=chance.randrange(2000)),
            "mass_kg": chance.randrange(80_000, 600_000) * 1e-9,
            "mass_u_kg": 5e-7,
            "length_m": chance.randrange(80, 200) * 1e-4,
            "notes": "",
        }
        for number in range(FLIES)
    ]


def _write_csv(file: Path, rows: list[dict[str, Any]]) -> None:
    with file.open("w", encoding="utf-8") as out:
        out.write("code,variant,tied,mass_mg,mass_pm_mg,length_mm\n")
        for row in rows:
            pattern, place = divmod(row["variant_id"] - 1, 4)
            mass, length = row["mass_kg"] * 1e6, row["length_m"] * 1e3
            out.write(f"{row['code']},P{pattern}-{place},{row['tied_on']},{mass:.3f},1,{length:.1f}\n")


def _plain_insert(catalog: Catalog, rows: list[dict[str, Any]]) -> None:
    with catalog.writing() as session:
        session.connection().execute(insert(Fly.__table__), rows)  # type: ignore[arg-type]


def _add_runs(catalog: Catalog) -> None:
    """Give each fly its runs, as they are before anything was pooled."""
    chance = random.Random(2)
    usual = [chance.uniform(0.12, 0.6) for _ in range(PATTERNS * 4)]
    runs = []
    with catalog.reading() as session:
        flies = session.execute(select(Fly.id, Fly.variant_id)).all()
    for number, variant in flies:
        speed = usual[variant - 1] * chance.gauss(1.0, 0.04)
        runs += [_run(number, turn, speed * chance.gauss(1.0, 0.015)) for turn in range(RUNS_EACH)]
    with catalog.writing() as session:
        session.connection().execute(insert(BenchRun.__table__), runs)  # type: ignore[arg-type]


def _run(fly: int, turn: int, speed: float) -> dict[str, Any]:
    key = f"{fly:08d}{turn:056d}"
    track = key.encode() * 40
    return {
        "fly_id": fly,
        "clip_name": f"clip-{fly}-{turn}.mp4",
        "clip_sha256": key,
        "measured_at": datetime(2026, 1, 1, tzinfo=UTC),
        "software": "0.1.0",
        "verdict": "good",
        "accepted": True,
        "set_aside_why": "",
        "sink_speed_m_s": speed,
        "uncertainty_m_s": 0.008 * speed,
        "free_speed_m_s": speed,
        "free_uncertainty_m_s": 0.008 * speed,
        "shared_uncertainty_m_s": 0.006 * speed,
        "temperature_k": 291.0,
        "drops_used": 5,
        "flags": [],
        "sheet": {"water": {"temperature": "18 degC"}, "scale": {"card": "in water"}},
        "result": {"budget": [], "clip": {"width": 1080, "height": 1920, "rotation": 0}},
        "track": track,
        "track_sha256": hashlib.sha256(track).hexdigest(),
    }


def _timed(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def _median(work: Callable[[], object], tries: int = TRIES) -> float:
    return statistics.median(_timed(work) for _ in range(tries))


if __name__ == "__main__":
    main()
