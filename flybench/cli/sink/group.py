"""`flybench sink`: from measured speeds to drag, to other water and to flies not yet tied."""

from __future__ import annotations

import click

from flybench.cli.lazy import LazyGroup

VERBS = {
    "drag": ("flybench.cli.sink.drag", "The drag of measured flies: area, coefficient, bare beads."),
    "law": ("flybench.cli.sink.law", "How the drag of a fly or pattern changes with speed and water."),
    "at": ("flybench.cli.sink.at", "Sink speeds in other water: colder, warmer, salt."),
    "predict": (
        "flybench.cli.sink.predict",
        "The sink speed of a fly not tied yet, or the bead for a wanted speed.",
    ),
    "compare": (
        "flybench.cli.sink.compare",
        "Which of two flies sinks faster, and what one change does.",
    ),
    "gaps": ("flybench.cli.sink.gaps", "Where the box has no fly between two speeds, and what to tie."),
}


@click.group(
    cls=LazyGroup,
    modules=VERBS,
    epilog="Start with:  flybench sink drag   then   flybench sink predict --help",
)
def command() -> None:
    """Take measured speeds further: to drag, to other water, to flies not tied yet, to gaps in the box."""
