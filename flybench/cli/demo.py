"""`flybench demo`: the whole job on the shipped clips."""

from __future__ import annotations

from pathlib import Path

import click

from flybench.cli.progress import Progress
from flybench.jobs.demo import Step, run_demo
from flybench.telling.bench import demo as telling


@click.command(name="demo")
@click.option(
    "--folder",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="New or empty folder to write into.  [default: a new temporary one]",
)
def command(folder: Path | None) -> None:
    """Do the whole job once: card, clips, reports, overlay, a shop of 24 flies, labels, and what to fish in three waters.

    Three clips are rendered, not filmed; the runs of the other flies are simulated, and all flies are invented. So
    the true speeds are known, and they are shown beside those measured and predicted. With --folder the shop's catalog
    stays where you want it, to play with.
    """
    progress = Progress()
    try:
        place, flies = run_demo(folder, lambda step: _say(progress, step), progress)
    finally:
        progress.close()
    for line in telling.lines(Path(click.format_filename(place)), flies):
        click.echo(line)


def _say(progress: Progress, step: Step) -> None:
    progress.close()
    for line in telling.step_lines(step):
        click.echo(line)
