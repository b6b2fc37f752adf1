"""`flybench sink`: from measured speeds to drag, to other water and to flies not yet tied."""

from __future__ import annotations

import click

from flybench.cli.lazy import LazyGroup

VERBS = {
    "drag": ("flybench.cli.sink.drag", "Drag of measured flies: area, coefficient, bare beads."),
    "law": ("flybench.cli.sink.law", "How the drag of a fly, pattern or style goes with speed and water."),
    "at": ("flybench.cli.sink.at", "Sink speed in other water: colder, warmer, salt."),
    "predict": (
        "flybench.cli.sink.predict",
        "Sink speed of a fly not tied yet, or the bead for a wanted speed.",
    ),
    "compare": (
        "flybench.cli.sink.compare",
        "Which of two sinks faster, how surely, and what one change does.",
    ),
    "gaps": ("flybench.cli.sink.gaps", "Where the box has no fly between two speeds, and what to tie."),
}


@click.group(
    cls=LazyGroup,
    modules=VERBS,
    epilog="Start with:  flybench sink drag   then   flybench sink predict --help",
)
def command() -> None:
    """Take measured speeds further: drag, other water, flies not yet tied, gaps in the box."""
