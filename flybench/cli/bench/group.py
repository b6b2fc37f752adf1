"""`flybench bench`: the commands around the tank."""

from __future__ import annotations

import click

from flybench.cli.lazy import LazyGroup

VERBS = {
    "card": ("flybench.cli.bench.card", "Print the scale card that stands in the tank."),
    "plan": ("flybench.cli.bench.plan", "How tall a column, how far the camera, how many drops, and why."),
    "measure": ("flybench.cli.bench.measure", "Sink speed with its uncertainty, from a clip."),
    "sheet": ("flybench.cli.bench.sheet", "Start the sheet that goes beside a clip."),
}


@click.group(
    cls=LazyGroup,
    modules=VERBS,
    epilog="Start with:  flybench bench card   then   flybench bench plan --help",
)
def command() -> None:
    """Work at the tank: the scale card, the plan of a run, and the sink speed from a clip."""
