"""Bench runs of the catalog: saved after measuring, set aside, taken off."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy.orm import Session

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import Row
from flybench.catalog.shelf import runs as run_shelf
from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.flies import Fly
from flybench.jobs.pooled.kept_speeds import keeping
from flybench.jobs.shelf.rows import row_of
from flybench.quantity import COVERAGE_FACTOR

if TYPE_CHECKING:  # the bench is slow to load, and needed only where a run is saved
    from flybench.bench.measure import Measurement

Tables = Mapping[str, Mapping[str, Any]]
Weighing = Mapping[str, str]
"""Keys of the sheet's table [fly] as the catalog knows them, written as in a sheet."""
_WEIGHTS = ("mass", "mass_in_water", "volume")


def prepare(catalog: Catalog, fly_code: str, clip: Path, same_clip: str = "") -> Weighing:
    """Return what the catalog knows of a fly before its clip is measured: its weight, and its pattern's name for the page.

    Raises BadValueError for an unknown fly, FlybenchError for one that was retired or has a run of this
    clip already, and for a clip of another fly, unless ``same_clip`` says why it counts for both.
    """
    with clip.open("rb") as handle:
        sha256 = hashlib.file_digest(handle, "sha256").hexdigest()
    with catalog.reading() as session:
        fly = run_shelf.fly_to_measure(session, fly_code)
        run_shelf.refuse_known(session, fly, sha256)
        run_shelf.refuse_of_another(session, fly, sha256, same_clip)
        return {"name": fly.variant.pattern.name, **weighing_of(fly)}


def weighing_of(fly: Fly) -> Weighing:
    """Return a fly's masses and bead diameter as a sheet writes them; what is not known is left out."""
    bead = fly.variant.bead
    known = {
        "mass": _written(fly.mass_kg, fly.mass_u_kg, "kg"),
        "mass_in_water": _written(fly.mass_in_water_kg, fly.mass_in_water_u_kg, "kg"),
        "bead": _written(None if bead is None else bead.diameter_m, None, "m"),
    }
    return {key: text for key, text in known.items() if text is not None}


def _written(value: float | None, standard: float | None, unit: str) -> str | None:
    if value is None:
        return None
    spread = "" if standard is None else f" +- {COVERAGE_FACTOR * standard!r} {unit}"
    return f"{value!r} {unit}{spread}"


def with_weighing(tables: Tables, weighing: Weighing) -> dict[str, Any]:
    """Return the sheet's tables with the catalog's weights where the sheet has none, and the same for the bead."""
    sheet = dict(tables.get("fly", {}))
    weighed = any(key in sheet for key in _WEIGHTS)
    added = {key: text for key, text in weighing.items() if not (weighed and key in _WEIGHTS)}
    return {**tables, "fly": {**added, **sheet}} if added or sheet else dict(tables)


def save_run(
    catalog: Catalog,
    fly_code: str,
    run: Measurement,
    tables: Tables,
    same_clip: str = "",
    set_up: str | None = None,
) -> int:
    """Save a run under a fly, in one transaction with the pooled speeds, and return its number.

    ``tables`` is the sheet as the user wrote it, without the catalog's weights; ``set_up`` the name of the set-up that it
    was filled from. Raises as ``prepare`` does.
    """
    from flybench.bench.saved.refitting import saved_bytes
    from flybench.jobs.shelf.record_of_result import record_of

    record = record_of(run.result, tables, saved_bytes(run))
    with catalog.writing() as session:
        where = set_up, run.filmed
        return run_shelf.add_run(session, fly_code, record, keeping(session), same_clip, where).id


def set_run_aside(catalog: Catalog, number: int, why: str) -> Row:
    """Take a run out of its fly's speed; raises BadValueError for no reason or an unknown run."""
    with catalog.writing() as session:
        run_shelf.set_aside(session, number, why, keeping(session))
        return _row(session, number)


def accept_run(catalog: Catalog, number: int) -> Row:
    """Let a run count again; raises BadValueError for an unknown run."""
    with catalog.writing() as session:
        run_shelf.accept(session, number, keeping(session))
        return _row(session, number)


def remove_run(catalog: Catalog, number: int) -> None:
    """Take a run off for good; raises BadValueError for an unknown run."""
    with catalog.writing() as session:
        run_shelf.remove(session, number, keeping(session))


def show_run(catalog: Catalog, number: int) -> Row:
    """Return a run's row; raises BadValueError for an unknown run."""
    with catalog.reading() as session:
        return _row(session, number)


def _row(session: Session, number: int) -> Row:
    return row_of(session, NOUNS["run"], str(number))
