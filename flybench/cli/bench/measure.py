"""`flybench bench measure`: the sink speed of the fly in a clip, or in several."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from flybench.bench.sheet.read import read_sheet
from flybench.cli.bench.measure_several import check_several, measured_one_by_one
from flybench.cli.options.output import json_option, overwrite_option, said, wrote
from flybench.cli.options.sheet import named_as_typed, set_up_option, sheet_options, tables_from
from flybench.cli.progress import Progress
from flybench.jobs.bench.keep import Kept, measure_and_keep
from flybench.jobs.bench.measure import Wanted, tables_for, usual_page
from flybench.telling.bench import measurement as telling
from flybench.telling.bench import several
from flybench.telling.table import paragraph

if TYPE_CHECKING:
    from flybench.bench.verdict.result import BenchResult
    from flybench.catalog.store.open import Catalog

EPILOG = """\b
Examples:
  flybench bench measure drop.mp4
  flybench bench measure drop.mp4 --report drop.pdf --overlay drop-drawn.mp4
  flybench bench measure drop.mp4 --temperature "18 degC" --card --bar "99.6 mm"
  flybench bench measure drop.mp4 --set-up kitchen --temperature "18 degC"
  flybench bench measure drop.mp4 --without 1 "hit the wall"
  flybench bench measure drop.mp4 --json
  flybench bench measure drop.mp4 --fly MH-14-28-a
  flybench bench measure monday.mp4 tuesday.mp4 --temperature "18 degC"

The sheet drop.toml beside drop.mp4 is read if it is there. A value given as an
option counts before the same value in the sheet. A quantity may carry its own
uncertainty, k = 2, such as --distance "620 mm +- 5 mm".

With --fly CODE the run is saved in the catalog under that fly, and the weights
and the bead of that fly are taken from there if the sheet has none. A fly.code
in the sheet does the same, but only if --catalog or FLYBENCH_CATALOG names a
catalog.

Several clips are measured one after the other, each with its own sheet beside
it, and one table tells of all at the end; values given as options hold for
every one of them. What cannot be measured is told, and the others go on. Clips
are not compared with each other here: keep them under their flies with --fly,
and flybench sink compare and flybench ladder do it.

The report page drop.bench.png of an earlier measurement of drop.mp4 is
replaced. Any other file that exists is replaced only with --overwrite, and a
clip never, unless flybench drew it.

Exit code 0: every clip gave a sink speed. 1: one was refused, or there is
something to put right. 2: the command was not written right.
"""


@click.command(name="measure", epilog=EPILOG)
@click.argument("clips", metavar="CLIP...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--sheet",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Sheet to read instead of the one beside the clip.",
)
@click.option(
    "--report",
    type=click.Path(path_type=Path),
    metavar="FILE",
    multiple=True,
    help="Report page to write, .png or .pdf; may be given twice.  [default: CLIP.bench.png beside the clip]",
)
@click.option("--no-report", is_flag=True, help="Write no report page.")
@click.option(
    "--overlay",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Also write the clip with track and fit drawn into it, .mp4.",
)
@overwrite_option
@json_option
@click.option(
    "--catalog",
    "address",
    metavar="FILE|URL",
    envvar="FLYBENCH_CATALOG",
    help="Catalog to save the run in, under --fly or the sheet's fly.code.  [default with --fly: see "
    "flybench catalog where]",
)
@click.option(
    "--same-clip",
    metavar="TEXT",
    default="",
    help="Why a clip that another fly has already counts for this fly too; kept with the run.",
)
@set_up_option
@sheet_options
def command(
    clips: tuple[Path, ...],
    set_up: str | None,
    sheet: Path | None,
    report: tuple[Path, ...],
    no_report: bool,
    overlay: Path | None,
    overwrite: bool,
    as_json: bool,
    address: str | None,
    same_clip: str,
    **options: Any,
) -> None:
    """Measure the sink speed of the fly in each CLIP, with its expanded uncertainty (k = 2)."""
    _check_names(report, overlay, no_report)

    def measured(clip: Path) -> BenchResult:
        pages = [] if no_report else list(report) or [usual_page(clip)]
        asked = _Asked(sheet, set_up, options, address, Wanted(pages, overlay, overwrite), same_clip)
        return _one(clip, asked, as_json=as_json, alone=len(clips) == 1)

    if len(clips) == 1:
        if measured(clips[0]).verdict == "refused":
            sys.exit(1)
        return
    of_one_clip = {
        "--sheet": sheet,
        "--report": report,
        "--overlay": overlay,
        "--without": options["without"],
    }
    check_several(clips, of_one_clip, pages=not no_report)
    outcomes = measured_one_by_one(clips, measured)
    said(several.record(outcomes)) if as_json else click.echo("\n".join(several.lines(outcomes)))
    if not all(one.speed_given for one in outcomes):
        sys.exit(1)


@dataclass(frozen=True)
class _Asked:
    """What is to be done with a clip, as it was typed."""

    sheet: Path | None
    set_up: str | None
    options: dict[str, Any]
    address: str | None
    wanted: Wanted
    same_clip: str


def _one(clip: Path, asked: _Asked, *, as_json: bool, alone: bool) -> BenchResult:
    """Measure a clip, write its files and, where it is the only one, print its result."""
    with named_as_typed(asked.options):
        tables = tables_for(clip, asked.sheet, tables_from(asked.options), asked.set_up)
        catalog = _catalog(asked.address, asked.options["fly"], read_sheet(tables).fly.code)
        found = _measured(clip, tables, catalog, asked)
    result = found.run.result
    saved = [] if catalog is None or found.number is None else _saved(catalog, found.number)
    if alone:
        said(telling.record(result)) if as_json else _print(result)
    for path in (*asked.wanted.report, *([asked.wanted.overlay] if asked.wanted.overlay else [])):
        wrote(path)
    click.echo("".join(f"{line}\n" for line in saved), err=as_json or not alone, nl=False)
    if alone and as_json and result.verdict == "refused":
        click.echo(telling.verdict_line(result), err=True)
    return result


def _measured(clip: Path, tables: dict[str, Any], catalog: Catalog | None, asked: _Asked) -> Kept:
    progress = Progress()
    try:
        return measure_and_keep(
            clip, tables, catalog, asked.wanted, progress, asked.sheet, asked.same_clip, asked.set_up
        )
    finally:
        progress.close()


def _catalog(address: str | None, fly: str | None, code: str | None) -> Catalog | None:
    """Return the catalog to save in, or None: without --fly only where one is named and the sheet has a code."""
    if code is None and _typed("address"):
        raise click.UsageError("--catalog needs a fly. Give --fly CODE, or write fly.code in the sheet.")
    if code is None or (fly is None and address is None):
        return None
    from flybench.cli.options.catalog import opened  # the catalog is opened only where it is wanted

    return opened(address)


def _typed(option: str) -> bool:
    return click.get_current_context().get_parameter_source(option) is ParameterSource.COMMANDLINE


def _saved(catalog: Catalog, number: int) -> list[str]:
    from flybench.jobs.shelf.contradictions import contradictions
    from flybench.jobs.shelf.runs import show_run

    saved = f"Saved as run {number} of fly {show_run(catalog, number)['fly']} in {catalog.name}"
    return [saved, *(paragraph(f"CHECK: {line}", "  ", "    ") for line in contradictions(catalog, number))]


def _check_names(report: tuple[Path, ...], overlay: Path | None, no_report: bool) -> None:
    if report and no_report:
        raise click.UsageError("Give --report or --no-report, not both.")
    wrong = [path for path in report if path.suffix.lower() not in (".png", ".pdf")]
    if wrong:
        raise click.UsageError(f"--report {wrong[0]}: needs a name that ends in .png or .pdf.")
    if overlay is not None and overlay.suffix.lower() != ".mp4":
        raise click.UsageError(f"--overlay {overlay}: needs a name that ends in .mp4.")


def _print(result: BenchResult) -> None:
    """Print the verdict in colour on a terminal, the rest plain."""
    colour = {"good": "green", "usable": "yellow", "refused": "red"}[result.verdict]
    first, *rest = telling.lines(result)
    click.echo(click.style(first, fg=colour, bold=True))
    click.echo("\n".join(rest).rstrip())
