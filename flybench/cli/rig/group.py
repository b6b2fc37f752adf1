"""`flybench rig`: which flies reach the fish in this water, and what to change when they do not."""

from __future__ import annotations

import click

from flybench.cli.lazy import LazyGroup

VERBS = {
    "drift": ("flybench.cli.rig.drift", "One rig: where its flies go, with all doubt."),
    "compare": (
        "flybench.cli.rig.compare",
        "Rigs side by side: thinner leader, steeper entry, heavier bead.",
    ),
    "choose": ("flybench.cli.rig.choose", "Point and dropper from the box for this water."),
    "adjust": ("flybench.cli.rig.adjust", "What happened, and what to tie on next."),
}


@click.group(
    cls=LazyGroup,
    modules=VERBS,
    epilog='Start with:  flybench rig drift --point "30 cm/s, 2 mN" --depth "1.2 m" --surface-speed "0.6 m/s"',
)
def command() -> None:
    """Bring flies down to the fish: drifts, choice of point and dropper, and what the river says to them."""
