"""`flybench rig drift`: one rig's drift as a table, a picture, a machine form."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, overwrite_option, plot_option, said, wrote
from flybench.cli.options.printing import print_caution, print_doubts, print_table
from flybench.cli.options.river import (
    droppers_option,
    point_option,
    rig_options,
    seconds_option,
    seed_option,
    texts_from,
)
from flybench.files import check_new


@click.command(
    name="drift",
    epilog='For example:  flybench rig drift --point "35 cm/s, 3 mN" --dropper "20 cm/s, 1 mN" --depth "1.2 m" '
    '--surface-speed "0.6 m/s" --bed cobble --plot drift.png',
)
@point_option
@droppers_option
@rig_options
@seconds_option
@click.option(
    "--draws",
    default=200,
    show_default=True,
    help="How many drifts to work out, each with another draw of what is not known; 0 for the best estimate alone.",
)
@click.option(
    "--no-turbulence", is_flag=True, help="Leave out the river's turbulence: water that runs level."
)
@seed_option
@plot_option
@overwrite_option
@catalog_option
@json_option
def command(
    point: str,
    droppers: tuple[str, ...],
    seconds: float | None,
    draws: int,
    no_turbulence: bool,
    seed: int,
    plot: Path | None,
    overwrite: bool,
    address: str | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Show where the flies of one rig go: how deep they are, how long they are with the fish, how the line pulls.

    The drift is worked out many times, because depth, speed, bed, flies, slack, line and the river's turbulence are never
    known exactly. What is shown is the middle drift, and the range that holds nine drifts of ten.
    """
    from flybench.jobs.river.rigs import drift_rig
    from flybench.telling.river import drift as telling

    if plot is not None:
        check_new(plot, overwrite)
    texts = texts_from(options)
    found = drift_rig(
        partial(opened, address), texts, point, droppers, seconds, draws, seed, not no_turbulence
    )
    if plot is not None:
        from flybench.charts.side_view import drift_picture  # loads matplotlib

        drift_picture(found.drift, found.goal.level, found.current, found.rig.tackle).write(plot)
    if as_json:
        said(telling.record(found))
    else:
        print_table(telling.lines(found), heads=3)
        print_doubts(found.drift.flags)
        print_caution(found.current)
    if plot is not None:
        wrote(plot)
