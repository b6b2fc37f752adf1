"""`flybench bench measure`: the sink speed of the fly in a clip."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from flybench.cli.progress import Progress
from flybench.cli.sheet_options import sheet_options, tables_from
from flybench.jobs.files import beside
from flybench.jobs.measure import Wanted, as_text, measure_clip, settings_for
from flybench.jobs.tell import in_words

EPILOG = """\b
Examples:
  flybench bench measure drop.mp4
  flybench bench measure drop.mp4 --report drop.pdf --overlay drop-drawn.mp4
  flybench bench measure drop.mp4 --temperature "18 degC" --card --bar "99.6 mm"
  flybench bench measure drop.mp4 --json -

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
@sheet_options
def command(
    clip: Path,
    sheet: Path | None,
    report: tuple[Path, ...],
    no_report: bool,
    overlay: Path | None,
    json_to: str | None,
    **options: Any,
) -> None:
    """Measure the sink speed of the fly in CLIP, with its uncertainty (k = 2)."""
    _check_names(report, overlay, no_report)
    reports = [] if no_report else list(report) or [beside(clip, ".bench.png")]
    wanted = Wanted(reports, overlay, Path(json_to) if json_to not in (None, "-") else None)
    progress = Progress()
    try:
        run = measure_clip(clip, settings_for(clip, sheet, tables_from(options)), wanted, progress, sheet)
    finally:
        progress.close()
    result = run.result
    if json_to == "-":
        click.echo(as_text(result))
    else:
        _tell(in_words(result), [*reports, *([overlay] if overlay else [])])
    if result.verdict == "refused":
        if json_to == "-":
            click.echo(in_words(result)[0], err=True)
        sys.exit(1)


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
