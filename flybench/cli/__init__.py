"""The command line: each command is a thin adapter over a job, loaded only when it is called."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from unicodedata import category

import click

from flybench.cli.ending import ending_cleanly
from flybench.cli.photographed import ScanningGroup
from flybench.errors import FlybenchError
from flybench.version import __version__

NOUNS = {
    "bench": (
        "flybench.cli.bench.group",
        "At the tank: scale card, plan, and the sink speed of a fly from a clip.",
    ),
    "material": (
        "flybench.cli.shelf.material",
        "Hooks, beads, threads and other tying materials, with their stock.",
    ),
    "pattern": ("flybench.cli.shelf.pattern", "Recipes of flies."),
    "variant": ("flybench.cli.shelf.variant", "A pattern on one hook with one bead."),
    "fly": ("flybench.cli.shelf.fly", "Flies as they were tied, each weighed and measured on its own."),
    "run": ("flybench.cli.shelf.run", "Bench runs of flies: look at them, set them aside, fit them again."),
    "ladder": ("flybench.cli.sink.ladder", "Measured flies from the slowest to the fastest."),
    "sink": (
        "flybench.cli.sink.group",
        "Drag, speeds in other water, and speeds of flies that are not tied yet.",
    ),
    "rig": ("flybench.cli.rig.group", "Which flies reach the fish in your water, and what to change."),
    "stock": ("flybench.cli.shelf.stock", "Count what comes and goes: finished flies and materials."),
    "print": (
        "flybench.cli.printed.group",
        "Labels for bins and drawers, the price list, and a page for the pocket.",
    ),
    "scan": ("flybench.cli.scan", "Read the QR codes of labels from a photo."),
    "flags": ("flybench.cli.flags", "What each flag means and what to do about it."),
    "catalog": ("flybench.cli.shelf.catalog", "Where the catalog is kept; check it, back it up, restore it."),
    "undo": ("flybench.cli.history.undo", "Undo the last change of the catalog, whatever it was."),
    "demo": ("flybench.cli.demo", "See the whole job once, on clips that come with the program."),
}


@click.group(
    cls=ScanningGroup,
    modules=NOUNS,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="Start with:  flybench demo   then   flybench bench card --help",
)
@click.version_option(__version__, package_name="flybench", message="flybench %(version)s")
def root() -> None:
    """Measure how fast a tied fly sinks, from a phone clip of it falling through a tank, and use what you measured."""


def main() -> None:
    """Run the command line; the only place where an error becomes a message and an exit code."""
    try:
        with ending_cleanly():
            root(standalone_mode=True, prog_name="flybench")
    except FlybenchError as error:
        _end(str(error))
    except MemoryError:
        _end("there is not enough memory for this. Close other programs, or ask for less at a time.")
    except OSError as error:  # standard output on a full disk, or a disk that is pulled out
        with suppress(OSError):  # what is still to be flushed at exit would fail again
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        _end(
            f"{error.filename or 'standard output'}: {error.strerror or error}. Check the disk and try again."
        )


def _end(message: str) -> None:
    click.echo(f"Error: {''.join(map(_seen, message))}", err=True)
    sys.exit(1)


def _seen(sign: str) -> str:
    """Return a sign as it can be shown: one that would steer the terminal or turn the line round, in letters."""
    if sign in "\n\t\u200c\u200d" or category(sign) not in ("Cc", "Cf"):
        return sign
    return ascii(sign)[1:-1]
