"""Measure a clip: read the sheet, run the method, write the report page and the overlay clip."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any

from flybench.bench.clip.footage import check_there, open_clip
from flybench.bench.clip.own_mark import made_by_flybench
from flybench.bench.measure import Measurement, measure
from flybench.bench.sheet.read import read_sheet
from flybench.bench.sheet.settings import Settings
from flybench.errors import FlybenchError
from flybench.files import beside, check_new, check_writable, sheet_beside, whole_file
from flybench.jobs.bench.set_ups import over_set_up
from flybench.jobs.bench.sheet_file import read_sheet_file

if TYPE_CHECKING:
    from flybench.paper.report.photo import PagePhoto  # brings an imaging library along

Progress = Callable[[str, int, int], None]
Tables = Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True)
class Wanted:
    """Files to write: report pages, each .png or .pdf, and an overlay clip; and whether to replace what exists.

    ``close_ups`` keeps pictures of the fly although no page is written now, for one that is drawn later; ``photo`` is the
    catalog's photo for the page.
    """

    report: list[Path] = field(default_factory=list)
    overlay: Path | None = None
    overwrite: bool = False
    close_ups: bool = False
    photo: PagePhoto | None = None


def usual_page(clip: Path) -> Path:
    """Return where the report page of a clip goes if no other place is named."""
    return beside(clip, ".bench.png")


def settings_for(clip: Path, sheet: Path | None, options: Tables) -> Settings:
    """Read the sheet (given, or beside the clip if there is one) and put the options over it."""
    return read_sheet(tables_for(clip, sheet, options))


def tables_for(clip: Path, sheet: Path | None, options: Tables, set_up: str | None = None) -> dict[str, Any]:
    """Return the sheet's tables with the options put over them and a set-up under them, not yet checked."""
    check_there(clip)
    path = sheet or sheet_beside(clip)
    there = sheet is not None or path.exists()
    if not there and not options and set_up is None:
        raise FlybenchError(
            f"{clip}: there is no sheet beside it ({path.name}) and no options were given. "
            f"Write one with: flybench bench sheet {clip}"
        )
    tables: dict[str, Any] = read_sheet_file(path) if there else {}
    for table, keys in options.items():
        if isinstance(tables.get(table, {}), dict):  # else the sheet is wrong, and is told so
            tables[table] = {**tables.get(table, {}), **keys}
    return over_set_up(set_up, tables)


def measure_clip(
    clip: Path,
    settings: Settings,
    wanted: Wanted | None = None,
    progress: Progress | None = None,
    sheet: Path | None = None,
) -> Measurement:
    """Measure a clip and write what is wanted; nothing is written where the measurement raises.

    ``sheet`` is where the settings came from, if not beside the clip; it is never written over. Raises
    FlybenchError for anything the user can put right.
    """
    wanted = wanted or Wanted()
    check_there(clip)
    drawn = _check_outputs(wanted, clip, sheet or sheet_beside(clip))
    tell = progress or (lambda what, done, whole: None)
    if wanted.report:
        _load_meanwhile("flybench.paper.report.page")
    opened = open_clip(clip)
    close_ups = wanted.close_ups or bool(wanted.report)
    run = measure(opened, settings, lambda done, whole: tell("reading the clip", done, whole), close_ups)
    _write_report(run, wanted)
    if wanted.overlay is not None:
        from flybench.bench.overlay.draw import write_overlay

        with whole_file(wanted.overlay, drawn_clip=drawn) as part:
            write_overlay(opened, run, part, lambda done, whole: tell("drawing the overlay", done, whole))
    return run


def _check_outputs(wanted: Wanted, clip: Path, sheet: Path) -> bool:
    """Refuse files that may not be written; tell whether the overlay replaces a clip that flybench drew.

    The usual page of this clip is flybench's own and is replaced; anything else that exists needs ``overwrite``.
    """
    outputs = [path for path in (*wanted.report, wanted.overlay) if path is not None]
    for number, path in enumerate(outputs):
        check_writable(path, drawn_clip=True)  # whether it is a clip is asked below
        _check_no_input(path, {"clip": clip, "sheet": sheet})
        if path in outputs[:number]:
            raise FlybenchError(f"{path}: would be written twice. Give each file a name of its own.")
    drawn = wanted.overlay is not None and made_by_flybench(wanted.overlay)
    for path in outputs:
        again = path == usual_page(clip) and _is_page_of(path, clip)
        check_new(path, wanted.overwrite or again, drawn_clip=drawn and path == wanted.overlay)
    return drawn


def _is_page_of(path: Path, clip: Path) -> bool:
    """Tell whether a file is a page that flybench wrote for this clip before."""
    from flybench.paper.page_mark import is_report_on  # brings an imaging library along

    return path.is_file() and is_report_on(path, clip.name)


def _load_meanwhile(module: str) -> None:
    """Import and prepare what is needed later while the decoder's own threads leave time for it."""

    def load() -> None:
        import_module(module).prepare()

    Thread(target=load, daemon=True).start()


def _check_no_input(path: Path, inputs: Mapping[str, Path]) -> None:
    """Refuse to write over the clip or its sheet, by whatever name (link, hard link)."""
    for name, given in inputs.items():
        if path.resolve() == given.resolve() or (path.exists() and given.exists() and path.samefile(given)):
            raise FlybenchError(
                f"{path}: is the {name} itself, and is never written over. Name another file."
            )


def _write_report(run: Measurement, wanted: Wanted) -> None:
    """Write the report page; drawing is imported only where it is wanted."""
    if not wanted.report:
        return
    from flybench.paper.report.page import report_page, save_pdf, save_png

    page = report_page(run, photo=wanted.photo)
    for path in wanted.report:
        with whole_file(path) as part:
            (save_pdf if path.suffix.lower() == ".pdf" else save_png)(page, run, part)
