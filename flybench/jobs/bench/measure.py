"""Measure a clip: read the sheet, run the method, write the pictures and the machine form."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from threading import Thread
from typing import Any

from flybench import __version__
from flybench.bench.clip.footage import check_there, open_clip
from flybench.bench.measure import Run, measure
from flybench.bench.sheet.read import read_sheet
from flybench.bench.sheet.settings import Settings
from flybench.bench.verdict.result import BenchResult, as_json
from flybench.errors import FlybenchError
from flybench.files import check_writable, sheet_beside, whole_file

Progress = Callable[[str, int, int], None]
Tables = Mapping[str, Mapping[str, Any]]

_LONGEST_SHEET = 100_000


@dataclass(frozen=True)
class Wanted:
    """Files to write; None leaves one out. ``report`` may end in .png or .pdf."""

    report: list[Path] = field(default_factory=list)
    overlay: Path | None = None
    json: Path | None = None


def settings_for(clip: Path, sheet: Path | None, options: Tables) -> Settings:
    """Read the sheet (given, or beside the clip if there is one) and put the options over it."""
    return read_sheet(tables_for(clip, sheet, options))


def tables_for(clip: Path, sheet: Path | None, options: Tables) -> dict[str, Any]:
    """Return the sheet's tables with the options put over them, not yet checked."""
    check_there(clip)
    path = sheet or sheet_beside(clip)
    there = sheet is not None or path.exists()
    if not there and not options:
        raise FlybenchError(
            f"{clip}: there is no sheet beside it ({path.name}) and no options were given. "
            f"Write one with: flybench bench sheet {clip}"
        )
    tables: dict[str, Any] = _read_toml(path) if there else {}
    for table, keys in options.items():
        if isinstance(tables.get(table, {}), dict):  # else the sheet is wrong, and is told so
            tables[table] = {**tables.get(table, {}), **keys}
    return tables


def _read_toml(path: Path) -> dict[str, Any]:
    try:
        with path.open("rb") as handle:
            content = handle.read(_LONGEST_SHEET + 1)
        if len(content) > _LONGEST_SHEET:
            raise FlybenchError(
                f"{path}: is longer than any sheet ({_LONGEST_SHEET // 1000} kB at most). Give the .toml file."
            )
        return tomllib.loads(content.decode())
    except (ValueError, RecursionError) as error:
        raise FlybenchError(f"{path}: is not a sheet that can be read: {error}. Mend that line.") from error
    except OSError as error:
        raise FlybenchError(f"{path}: cannot be read ({error.strerror}). Check the name.") from error


def measure_clip(
    clip: Path,
    settings: Settings,
    wanted: Wanted | None = None,
    progress: Progress | None = None,
    sheet: Path | None = None,
) -> Run:
    """Measure a clip and write what is wanted; nothing is written where the measurement raises.

    ``sheet`` is where the settings came from, if not beside the clip; it is never written over. Raises
    FlybenchError for anything the user can put right.
    """
    wanted = wanted or Wanted()
    check_there(clip)
    outputs = [path for path in (*wanted.report, wanted.overlay, wanted.json) if path is not None]
    for number, path in enumerate(outputs):
        check_writable(path)
        _check_no_input(path, {"clip": clip, "sheet": sheet or sheet_beside(clip)})
        if path in outputs[:number]:
            raise FlybenchError(f"{path}: is to be written twice. Give each file a name of its own.")
    tell = progress or (lambda what, done, whole: None)
    _load_meanwhile(
        "scipy.optimize", "scipy.spatial.transform", *(["flybench.paper.report"] * bool(wanted.report))
    )
    opened = open_clip(clip)
    run = measure(opened, settings, lambda done, whole: tell("reading the clip", done, whole))
    _write_report(run, wanted.report)
    if wanted.json is not None:
        with whole_file(wanted.json) as part:
            part.write_text(as_text(run.result) + "\n", encoding="utf-8")
    if wanted.overlay is not None:
        from flybench.bench.overlay.draw import write_overlay

        with whole_file(wanted.overlay) as part:
            write_overlay(opened, run, part, lambda done, whole: tell("drawing the overlay", done, whole))
    return run


def _load_meanwhile(*modules: str) -> None:
    """Import and prepare what is needed later while the decoder's own threads leave time for it."""

    def load() -> None:
        for module in modules:
            prepare = getattr(import_module(module), "prepare", None)
            if prepare is not None:
                prepare()

    Thread(target=load, daemon=True).start()


def _check_no_input(path: Path, inputs: Mapping[str, Path]) -> None:
    """Refuse to write over the clip or its sheet, by whatever name (link, hard link)."""
    for name, given in inputs.items():
        if path.resolve() == given.resolve() or (path.exists() and given.exists() and path.samefile(given)):
            raise FlybenchError(f"{path}: is the {name} itself. Name another file to write.")


def as_text(result: BenchResult) -> str:
    """Return the machine form as JSON text."""
    return json.dumps(as_json(result, __version__), indent=1, ensure_ascii=False, allow_nan=False)


def _write_report(run: Run, paths: list[Path]) -> None:
    """Write the report page; drawing is imported only where it is wanted."""
    if not paths:
        return
    from flybench.paper.report import save_report

    for path in paths:
        with whole_file(path) as part:
            if path.suffix.lower() == ".pdf":
                save_report(run, pdf_path=part)
            else:
                save_report(run, png_path=part)
