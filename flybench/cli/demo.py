"""`flybench demo`: the whole job on the shipped clips."""

from __future__ import annotations

from pathlib import Path

import click

from flybench.cli.progress import Progress
from flybench.jobs.demo import CATALOG, run_demo
from flybench.telling.bench import verdict_line


@click.command(name="demo")
@click.option(
    "--folder", type=click.Path(path_type=Path), help="Folder to write into.  [default: a new temporary one]"
)
def command(folder: Path | None) -> None:
    """Do the whole job on shipped clips: card, measurements, reports, overlay, catalog, labels, and the river.

    The clips are rendered, not filmed, and the flies are invented; so the true speed is known and is
    printed beside the measured one.
    """
    progress = Progress()
    try:
        place, flies = run_demo(folder, lambda line: _say(progress, line), progress, verdict_line)
    finally:
        progress.close()
    click.echo("\nMeasured, and the truth the clips were rendered from:")
    for fly in flies:
        holds = "inside" if fly.holds else "OUTSIDE"
        click.echo(f"  {fly.name:<12} {fly.measured:<44} true {fly.truth * 100:.2f} cm/s, {holds}")
    click.echo(f"\nReport pages, sheets and the overlay clip are in\n  {place}")
    for fly in flies:
        click.echo(f"  {fly.report.name}")
    catalog = click.format_filename(place / CATALOG)
    click.echo("  drift.png: the rig seen from the side\n  labels.pdf")
    click.echo(f"  {CATALOG}: look around in it with  flybench ladder --catalog {catalog}")
    click.echo("Delete that folder when you have seen enough. Next:  flybench bench card --help")


def _say(progress: Progress, line: str) -> None:
    progress.close()
    click.echo(line)
