"""`flybench rig compare`: rigs side by side over the same draws."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.river import CAUTION, asked_from, rig_options, seed_option
from flybench.cli.rig.drift import record
from flybench.telling.table import aligned

if TYPE_CHECKING:
    from flybench.jobs.river.rigs import Drifted, SideBySide


@click.command(
    name="compare",
    epilog='For example:  flybench rig compare --point "35 cm/s, 3 mN" --depth "1.2 m" --surface-speed "0.6 m/s" '
    '--entry flat --with "leader-diameter=0.10 mm" --with "entry=steep" --with "point=40 cm/s, 4 mN"',
)
@click.option("--point", required=True, metavar="FLY", help='Code of a measured fly, or "30 cm/s, 2.0 mN".')
@click.option(
    "--dropper", "droppers", multiple=True, metavar="FLY", help="The same, up to two, the upper first."
)
@click.option(
    "--with",
    "others",
    multiple=True,
    metavar="NAME=TEXT",
    help='Another rig: the name of an option here and its other text, "; " between several. May be repeated.',
)
@rig_options
@click.option("--seconds", default=8.0, show_default=True, help="Length of the drift.")
@seed_option
@catalog_option
@json_option
def command(
    point: str,
    droppers: tuple[str, ...],
    others: tuple[str, ...],
    seconds: float,
    seed: int,
    address: str | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Put a rig beside others that differ in a thinner leader, a steeper entry, a heavier point, more leader.

    All drift through the same draws of the river, so that what differs is the change alone.
    """
    from flybench.jobs.river.rigs import compare_rigs

    changes = [_changes(text) for text in others]
    found = compare_rigs(opened(address), asked_from(options), point, droppers, changes, seconds, seed)
    if as_json:
        said(
            {
                "rigs": [
                    {"change": name, **record(one)}
                    for name, one in zip(found.names, found.drifts, strict=True)
                ]
            }
        )
    else:
        _print(found)


def _changes(text: str) -> dict[str, str]:
    found = {}
    for part in text.split(";"):
        name, sign, value = part.partition("=")
        if not sign:
            raise click.BadParameter(
                f'"{text}" is not NAME=TEXT, as in leader-diameter=0.13 mm', param_hint="--with"
            )
        found[name.strip()] = value.strip()
    return found


def _print(found: SideBySide) -> None:
    head = ["rig", "reaches the fish", "after s", "drift m", "in the band", "on the bed", "deepest m"]
    rows = [head, *(_row(name, one) for name, one in zip(found.names, found.drifts, strict=True))]
    first, *lines = aligned(rows, [False] + [True] * 6)
    click.echo(click.style(first, bold=True))
    for line in lines:
        click.echo(line)
    click.echo("Middle draws of each; shares of 200 draws, the same for all, are good to some 0.04.")
    click.echo(CAUTION, err=True)


def _row(name: str, one: Drifted) -> list[str]:
    drift = one.drift
    return [
        name,
        f"{drift.share_reached:.0%}",
        _number(drift.time_to_band.middle),
        _number(drift.drift_to_band.middle),
        f"{drift.share_in_band:.0%}",
        f"{drift.share_grounded:.0%}",
        f"{float(drift.flies[-1].depth.max()):.2f}",
    ]


def _number(value: float) -> str:
    return f"{value:.1f}" if math.isfinite(value) else "never"
