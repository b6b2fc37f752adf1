"""`flybench rig`: which flies reach the fish in this water, and what to change when they do not."""

from __future__ import annotations

import click

from flybench.cli.lazy import LazyGroup

VERBS = {
    "drift": ("flybench.cli.rig.drift", "Show where the flies of one rig go."),
    "compare": (
        "flybench.cli.rig.compare",
        "Put rigs side by side: a thinner leader, a steeper entry, a heavier bead.",
    ),
    "choose": ("flybench.cli.rig.choose", "Choose point fly and dropper from the box for this water."),
    "adjust": ("flybench.cli.rig.adjust", "Say what drifts did, and learn what to tie on next."),
}


@click.group(
    cls=LazyGroup,
    modules=VERBS,
    epilog='Start with:  flybench rig drift --point "30 cm/s, 2 mN" --depth "1.2 m" --surface-speed "0.6 m/s"',
)
def command() -> None:
    """Bring the flies down to the fish: how a rig drifts, which flies to tie on, and what to change at the water."""
