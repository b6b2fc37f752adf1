"""`flybench rig choose`: point and dropper from the box for this water."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.printing import print_caution, print_doubts, print_table
from flybench.cli.options.query import say_how_read
from flybench.cli.options.river import box_csv_option, box_option, rig_options, seed_option, texts_from


@click.command(
    name="choose",
    epilog='For example:  flybench rig choose --box "bead:2.5..3.5" --depth "1.2 m" --surface-speed "0.6 m/s" --bed cobble',
)
@box_option
@box_csv_option
@rig_options
@click.option(
    "--droppers",
    type=click.IntRange(0, 2),
    default=1,
    show_default=True,
    help="How many droppers to tie above the point.",
)
@click.option(
    "--top", type=click.IntRange(1, 60), default=8, show_default=True, help="How many rigs to show."
)
@click.option(
    "--tune",
    "tuning",
    is_flag=True,
    help="For the best rigs, also try more or less loose leader at a steep entry, and other speeds of a line that is led.",
)
@click.option(
    "--why",
    "why_names",
    metavar="DROPPER,POINT",
    help="Also show what one rig of the box does: its flies with commas between, the point last.",
)
@seed_option
@catalog_option
@json_option
def command(
    box: tuple[str, ...],
    box_csv: Path | None,
    droppers: int,
    top: int,
    tuning: bool,
    why_names: str | None,
    seed: int,
    address: str | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Choose the point fly and the dropper from your box for the water in front of you.

    Every rig drifts many times through the same draws of water, bed and turbulence. What counts begins where the point is
    down: how far upstream of the fish to land it is part of the answer. Its worth is the share of the stretch that the flies
    are with the fish, less what lying on the bed costs, less what is missing of --in-time and of --touches. Rigs that are
    as good as the best are marked =, the one to tie on ->.
    """
    from flybench.jobs.river.rigs import choose_rig, drift_of_choice
    from flybench.telling.river import choice as telling
    from flybench.telling.river.drift import drift_summary

    if box and box_csv is not None:
        raise click.UsageError("--box and --box-csv: give the one or the other.")
    texts = texts_from(options)
    say_how_read("fly", box)
    found = choose_rig(_box(box, box_csv, texts, address), texts, droppers, seed, tuning)
    why = None if why_names is None else drift_of_choice(found, why_names.split(","))
    if as_json:
        said(telling.record(found, top, why))
        return
    print_table(telling.lines(found, top), heads=1)
    if why is not None:
        print_table([f"What {why_names} does:", *drift_summary(why)], heads=1)
    print_doubts(found.choice.flags, found.box.remarks)
    print_caution(found.current)


def _box(query: tuple[str, ...], csv: Path | None, texts: Any, address: str | None) -> Any:
    """Return the flies to choose from, once the water is known to be one."""
    from flybench.jobs.river.box import box_from_catalog, box_from_csv
    from flybench.shop.river.rig_texts import current_from

    water = current_from(texts).water
    return box_from_catalog(partial(opened, address), query, water) if csv is None else box_from_csv(csv)
