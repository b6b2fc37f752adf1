"""`flybench rig adjust`: say what the drifts did, and learn what to tie on next."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.printing import print_caution, print_doubts, print_table
from flybench.cli.options.query import say_how_read
from flybench.cli.options.river import box_csv_option, box_option, rig_options, typed_texts


@click.command(
    name="adjust",
    epilog='For example:  flybench rig adjust --depth "1 m" --surface-speed "0.6 m/s" --seconds 6 --point M1 --drifts 6 '
    "--touched never  then, with the fly that it named,  flybench rig adjust --point M2 --drifts 6 --touched 1",
)
@click.option("--point", metavar="FLY", help="The point fly of these drifts.")
@click.option("--dropper", metavar="FLY", help="The dropper of these drifts, if there was one.")
@click.option(
    "--drifts",
    type=click.IntRange(1, 1000),
    default=6,
    show_default=True,
    help="How many drifts you made with this rig.",
)
@click.option(
    "--touched",
    metavar="N|WORD",
    help="In how many of them a fly touched the bottom: a number, or never, sometimes or every-time.",
)
@click.option(
    "--dropper-takes", type=click.IntRange(0, 1000), default=0, help="How many fish took the dropper."
)
@click.option(
    "--point-takes", type=click.IntRange(0, 1000), default=0, help="How many fish took the point fly."
)
@click.option("--undo", is_flag=True, help="Take the last report back.")
@click.option(
    "--session",
    "path",
    type=click.Path(path_type=Path, dir_okay=False),
    default=Path("rig-session.json"),
    show_default=True,
    help="File that keeps water, tackle and your reports. Delete it when you move to another stretch of the river.",
)
@box_option
@box_csv_option
@rig_options
@click.option(
    "--seconds",
    type=float,
    help="How many seconds a drift lasted, from where the flies land to where you lift them off. Needed at first, and when "
    "it changes.",
)
@catalog_option
@json_option
@click.pass_context
def command(
    context: click.Context,
    /,
    point: str | None,
    dropper: str | None,
    drifts: int,
    touched: str | None,
    dropper_takes: int,
    point_takes: int,
    undo: bool,
    path: Path,
    box: tuple[str, ...],
    box_csv: Path | None,
    seconds: float | None,
    address: str | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Say what some drifts did; learn what that says of the water, and what to tie on next.

    A point fly that touches the bottom now and then is right; one that touches on every drift is too deep, one that never
    does is too shallow (common practice). Touches tell depth times speed of the water, and hardly each alone: time a float
    to part them. Water, tackle and what you want are given once; the session file keeps them. Tackle that is typed again
    holds from then on.
    """
    from flybench.jobs.river.adjust import report_drifts, undo_report
    from flybench.jobs.river.box import CatalogFlies, ListedFlies
    from flybench.shop.river.rig_session import ReportedDrifts

    if box and box_csv is not None:
        raise click.UsageError("--box and --box-csv: give the one or the other.")
    say_how_read("fly", box)
    typed = typed_texts(context)
    flies = CatalogFlies(partial(opened, address)) if box_csv is None else ListedFlies(box_csv)
    if undo:
        if typed or seconds is not None or point is not None or touched is not None:
            raise click.UsageError(
                "--undo takes the last report back: give it without a new report, water or tackle."
            )
        left, found = undo_report(flies, path, box)
        click.echo(f"The last report is taken back; reports before it: {left}.", err=True)
    elif point is None or touched is None:
        raise click.UsageError("Say what happened: --point FLY --drifts 6 --touched never (or --undo).")
    else:
        report = ReportedDrifts(point, dropper, drifts, touched, dropper_takes, point_takes, seconds)
        found = report_drifts(flies, path, typed, report, box)
    _show(found, as_json)


def _show(found: Any, as_json: bool) -> None:
    """Print an adjustment; None where no report is left."""
    from flybench.telling.river import adjustment as telling

    if as_json:
        said({"reports": 0} if found is None else telling.record(found))
    elif found is not None:
        print_table(telling.lines(found), heads=1)
        print_doubts(found.flags)
        print_caution(found.current)
