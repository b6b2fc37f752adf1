"""The command line: each command is a thin adapter over a job, loaded only when it is called."""

from __future__ import annotations

import os
import sys
from contextlib import suppress

import click

from flybench import __version__
from flybench.cli.lazy import LazyGroup
from flybench.errors import FlybenchError

NOUNS = {
    "bench": ("flybench.cli.bench.group", "The tank: scale card, plan, and sink speed from a clip."),
    "material": ("flybench.cli.shelf.material", "Hooks, beads, threads and the rest, with their stock."),
    "pattern": ("flybench.cli.shelf.pattern", "Recipes."),
    "variant": ("flybench.cli.shelf.variant", "Patterns on one hook with one bead."),
    "fly": ("flybench.cli.shelf.fly", "Tied specimens."),
    "run": ("flybench.cli.shelf.run", "Bench runs of flies: looked at, set aside, fitted again."),
    "ladder": ("flybench.cli.shelf.ladder", "Measured flies from slowest to fastest."),
    "sink": ("flybench.cli.sink.group", "From measured speeds to drag, other water, flies not yet tied."),
    "rig": ("flybench.cli.rig.group", "Which flies reach the fish in this water, and what to change."),
    "stock": ("flybench.cli.shelf.stock", "Finished flies and materials coming and going."),
    "print": ("flybench.cli.print.group", "Labels for bins and drawers, and a sheet for the pocket."),
    "flags": ("flybench.cli.flags", "What each flag means and what to do about it."),
    "catalog": ("flybench.cli.shelf.catalog", "Where it is kept; check, backup, restore."),
    "demo": ("flybench.cli.demo", "The whole job on shipped demo clips, in a throw-away folder."),
}


@click.group(
    cls=LazyGroup,
    modules=NOUNS,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="Start with:  flybench demo   then   flybench bench card --help",
)
@click.version_option(__version__, package_name="flybench", message="flybench %(version)s")
def root() -> None:
    """Know how fast a tied fly sinks, from a phone clip of it falling through a tank."""


def main() -> None:
    """Run the command line; the only place where an error becomes a message and an exit code."""
    try:
        root(standalone_mode=True, prog_name="flybench")
    except FlybenchError as error:
        _end(str(error))
    except OSError as error:  # standard output on a full disk, or a disk that is pulled out
        with suppress(OSError):  # what is still to be flushed at exit would fail again
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        _end(
            f"{error.filename or 'standard output'}: {error.strerror or error}. Check the disk and try again."
        )


def _end(message: str) -> None:
    click.echo(f"Error: {message}", err=True)
    sys.exit(1)
