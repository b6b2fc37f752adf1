"""`flybench bench`: the commands around the tank."""

from __future__ import annotations

import click

from flybench.cli.lazy import LazyGroup

VERBS = {
    "card": ("flybench.cli.bench.card", "Write the scale card that stands in the tank."),
    "plan": ("flybench.cli.bench.plan", "What a wanted precision needs: tank, camera, drops, and why."),
    "look": ("flybench.cli.bench.look", "Look at a photo or clip of the tank: is it ready to film?"),
    "measure": ("flybench.cli.bench.measure", "Measure the sink speed in a clip, with its uncertainty."),
    "time": ("flybench.cli.bench.time", "The sink speed by the clock, when no phone is at hand."),
    "still": ("flybench.cli.bench.still", "A still with a grid of its pixels, to read two points off."),
    "sheet": ("flybench.cli.bench.sheet", "Write the sheet that goes beside a clip."),
}


@click.group(
    cls=LazyGroup,
    modules=VERBS,
    epilog="Start with:  flybench bench card   then   flybench bench plan --help",
)
def command() -> None:
    """Work at the tank: the scale card, the plan of a run, and the sink speed from a clip."""
