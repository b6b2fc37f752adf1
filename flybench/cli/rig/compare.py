"""`flybench rig compare`: rigs side by side over the same draws."""

from __future__ import annotations

from functools import partial
from typing import Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.printing import print_caution, print_doubt_lines, print_table
from flybench.cli.options.river import (
    droppers_option,
    point_option,
    rig_options,
    seconds_option,
    seed_option,
    texts_from,
)
from flybench.errors import BadValueError


@click.command(
    name="compare",
    epilog='For example:  flybench rig compare --point "35 cm/s, 3 mN" --depth "1.2 m" --surface-speed "0.6 m/s" '
    '--entry flat --with "leader-diameter=0.10 mm" --with "entry=steep" --with "point=40 cm/s, 4 mN"',
)
@point_option
@droppers_option
@click.option(
    "--with",
    "others",
    multiple=True,
    metavar="NAME=TEXT",
    help='Another rig to put beside it: the name of an option and another value, as "entry=steep"; several with "; " '
    "between them. Give it once for each rig.",
)
@rig_options
@seconds_option
@seed_option
@catalog_option
@json_option
def command(
    point: str,
    droppers: tuple[str, ...],
    others: tuple[str, ...],
    seconds: float | None,
    seed: int,
    address: str | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Put a rig beside others: with a thinner leader, a steeper entry, a heavier point fly, more leader.

    All rigs go through the same draws of the river, so what differs between them is the change alone.
    """
    from flybench.jobs.river.rigs import compare_rigs
    from flybench.telling.river import compared_rigs as telling

    changes = [_changes(text) for text in others]
    found = compare_rigs(
        partial(opened, address), texts_from(options), point, droppers, changes, seconds, seed
    )
    if as_json:
        said(telling.record(found))
        return
    print_table(telling.lines(found), heads=2)
    print_doubt_lines(telling.doubt_lines(found))
    print_caution(telling.hardest_water(found))


def _changes(text: str) -> dict[str, str]:
    """Return the options that another rig changes, with their values."""
    found = {}
    for part in text.split(";"):
        name, sign, value = part.partition("=")
        if not sign:
            raise BadValueError(
                "--with", f'"{text}" is not NAME=TEXT', 'Write it as --with "leader-diameter=0.13 mm".'
            )
        found[name.strip()] = value.strip()
    return found
