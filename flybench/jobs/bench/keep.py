"""Measure a clip for the catalog: the fly's weights taken from there, the clip measured, the run kept under its fly."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flybench.bench.measure import Measurement
from flybench.bench.sheet.read import read_sheet
from flybench.jobs.bench.measure import Progress, Wanted, measure_clip

if TYPE_CHECKING:  # the catalog is slow to load, and needed only where a run is kept
    from flybench.catalog.store.open import Catalog
    from flybench.paper.report.photo import PagePhoto


@dataclass(frozen=True)
class Kept:
    """A clip that was measured, and the number of the run under which the catalog keeps it, None where it does not;
    and the photo for its page, if the catalog has one."""

    run: Measurement
    number: int | None
    photo: PagePhoto | None = None


def measure_and_keep(
    clip: Path,
    tables: dict[str, Any],
    catalog: Catalog | None,
    wanted: Wanted | None = None,
    progress: Progress | None = None,
    sheet: Path | None = None,
    same_clip: str = "",
    set_up: str | None = None,
) -> Kept:
    """Measure a clip under a sheet's tables and keep the run in the catalog, if there is one and the sheet names a fly.

    What the catalog knows of the fly's weight stands in for what the sheet lacks; the sheet is kept as it was written.
    ``sheet`` is where the tables came from, if not beside the clip; ``same_clip``, why a clip that another fly has already
    counts for this one too; ``set_up``, the name of the set-up that the tables were filled from. Raises FlybenchError for
    anything the user can put right: nothing is measured for a fly that is not there, was retired or has a run of this clip.
    """
    code = read_sheet(tables).fly.code
    if catalog is None or code is None:
        return Kept(measure_clip(clip, read_sheet(tables), wanted, progress, sheet), None)
    from flybench.jobs.shelf.runs import prepare, save_run, with_weighing

    weighed = read_sheet(with_weighing(tables, prepare(catalog, code, clip, same_clip)))
    wanted = wanted or Wanted()
    photo = _photo_of(catalog, code) if wanted.report or wanted.close_ups else None
    wanted = replace(wanted, photo=photo)
    run = measure_clip(clip, weighed, wanted, progress, sheet)
    return Kept(run, save_run(catalog, code, run, tables, same_clip, set_up), photo)


def _photo_of(catalog: Catalog, code: str) -> PagePhoto | None:
    """Return the photo of a fly, else of its variant, else of its pattern; None where none of them has one."""
    from flybench.catalog.search.nouns import NOUNS
    from flybench.catalog.shelf.pictures import picture_for
    from flybench.catalog.shelf.rows import get
    from flybench.paper.report.photo import PagePhoto

    with catalog.reading() as session:
        fly: Any = get(session, NOUNS["fly"], code)
        codes = {"fly": fly.code, "variant": fly.variant.code, "pattern": fly.variant.pattern.code}
        found = picture_for(session, codes)
    return None if found is None else PagePhoto(found.of, found.content)
