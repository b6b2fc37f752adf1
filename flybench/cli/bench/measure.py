"""`flybench bench measure`: the sink speed of the fly in a clip."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from flybench.bench.sheet.read import read_sheet
from flybench.cli.options.sheet import sheet_options, tables_from
from flybench.cli.progress import Progress
from flybench.files import beside
from flybench.jobs.bench.measure import Wanted, as_text, measure_clip, tables_for
from flybench.telling.bench import in_words

if TYPE_CHECKING:
    from flybench.bench.measure import Run
    from flybench.catalog.store.open import Catalog

EPILOG = """\b
Examples:
  flybench bench measure drop.mp4
  flybench bench measure drop.mp4 --report drop.pdf --overlay drop-drawn.mp4
  flybench bench measure drop.mp4 --temperature "18 degC" --card --bar "99.6 mm"
  flybench bench measure drop.mp4 --json -
  flybench bench measure drop.mp4 --fly MH-14-28-a

With --fly CODE the run is saved in the catalog under that fly, and the fly's
weights and bead there are used where the sheet has none. fly.code in the sheet
does the same, but only where --catalog or FLYBENCH_CATALOG names a catalog.

The sheet drop.toml beside drop.mp4 is read if it is there; options go before it.
Quantities take their own uncertainty: --distance "620 mm +- 5 mm" (k = 2).
Exit code 0: a sink speed was given. 1: refused, or something to put right. 2: usage."""


@click.command(name="measure", epilog=EPILOG)
@click.argument("clip", type=click.Path(path_type=Path))
@click.option(
    "--sheet", type=click.Path(path_type=Path), help="Sheet to read instead of the one beside the clip."
)
@click.option(
    "--report",
    type=click.Path(path_type=Path),
    multiple=True,
    help="Report page to write, .png or .pdf; may be given twice.  [default: CLIP.bench.png beside the clip]",
)
@click.option("--no-report", is_flag=True, help="Write no report page.")
@click.option(
    "--overlay", type=click.Path(path_type=Path), help="Clip to write with track and fit drawn in (.mp4)."
)
@click.option(
    "--json", "json_to", metavar="FILE", help="Machine form to a file, or - for standard output alone."
)
@click.option(
    "--catalog",
    "address",
    metavar="FILE|URL",
    envvar="FLYBENCH_CATALOG",
    help="Catalog to save the run in, under --fly or the sheet's fly.code.  [default with --fly: see "
    "flybench catalog where]",
)
@sheet_options
def command(
    clip: Path,
    sheet: Path | None,
    report: tuple[Path, ...],
    no_report: bool,
    overlay: Path | None,
    json_to: str | None,
    address: str | None,
    **options: Any,
) -> None:
    """Measure the sink speed of the fly in CLIP, with its uncertainty (k = 2)."""
    _check_names(report, overlay, no_report)
    reports = [] if no_report else list(report) or [beside(clip, ".bench.png")]
    wanted = Wanted(reports, overlay, Path(json_to) if json_to not in (None, "-") else None)
    tables = tables_for(clip, sheet, tables_from(options))
    settings = read_sheet(tables)
    catalog = _catalog(address, options["fly"], settings.fly.code)
    code = settings.fly.code or ""
    if catalog is not None:
        settings = read_sheet(_weighed(catalog, code, clip, tables))
    progress = Progress()
    try:
        run = measure_clip(clip, settings, wanted, progress, sheet)
    finally:
        progress.close()
    saved = [] if catalog is None else [_saved(catalog, code, run, tables)]
    result = run.result
    if json_to == "-":
        click.echo(as_text(result))
        click.echo("".join(f"{line}\n" for line in saved), err=True, nl=False)
    else:
        _tell(in_words(result), [*reports, *([overlay] if overlay else [])])
        click.echo("".join(f"  {line}\n" for line in saved), nl=False)
    if result.verdict == "refused":
        if json_to == "-":
            click.echo(in_words(result)[0], err=True)
        sys.exit(1)


def _catalog(address: str | None, fly: str | None, code: str | None) -> Catalog | None:
    """Return the catalog to save in, or None: without --fly only where one is named and the sheet has a code."""
    if code is None and _typed("address"):
        raise click.UsageError("--catalog needs a fly: give --fly CODE, or fly.code in the sheet.")
    if code is None or (fly is None and address is None):
        return None
    from flybench.cli.options.catalog import opened  # the catalog is opened only where it is wanted

    return opened(address)


def _typed(option: str) -> bool:
    return click.get_current_context().get_parameter_source(option) is ParameterSource.COMMANDLINE


def _weighed(catalog: Catalog, code: str, clip: Path, tables: dict[str, Any]) -> dict[str, Any]:
    from flybench.jobs.shelf.runs import prepare, with_weighing

    return with_weighing(tables, prepare(catalog, code, clip))


def _saved(catalog: Catalog, code: str, run: Run, tables: dict[str, Any]) -> str:
    from flybench.jobs.shelf.contradictions import contradictions
    from flybench.jobs.shelf.runs import save_run, show_run

    number = save_run(catalog, code, run, tables)
    saved = f"saved as run {number} of fly {show_run(catalog, number)['fly']} in {catalog.name}"
    return "\n  CHECK: ".join([saved, *contradictions(catalog, number)])


def _check_names(report: tuple[Path, ...], overlay: Path | None, no_report: bool) -> None:
    if report and no_report:
        raise click.UsageError("--report and --no-report exclude each other.")
    wrong = [path for path in report if path.suffix.lower() not in (".png", ".pdf")]
    if wrong:
        raise click.UsageError(f"--report {wrong[0]}: give a name that ends in .png or .pdf.")
    if overlay is not None and overlay.suffix.lower() != ".mp4":
        raise click.UsageError(f"--overlay {overlay}: give a name that ends in .mp4.")


def _tell(lines: list[str], files: list[Path]) -> None:
    """Print the verdict in colour on a terminal, the rest plain."""
    colour = {"GOOD": "green", "USABLE": "yellow", "REFUSED": "red"}[lines[0].split(":", 1)[0]]
    click.echo(click.style(lines[0], fg=colour, bold=True))
    click.echo("\n".join(lines[1:]).rstrip())
    for file in files:
        click.echo(f"  wrote {click.format_filename(file)}")
