"""`flybench pattern make-list`: materials for some dozens of flies."""

from __future__ import annotations

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.shown import show
from flybench.errors import BadValueError


@click.command(name="make-list")
@click.argument("wanted", nargs=-1, required=True, metavar="VARIANT[=DOZENS]...")
@click.option(
    "--dozens",
    type=float,
    default=1.0,
    show_default=True,
    help="Dozens of each variant that comes without a number.",
)
@catalog_option
@json_option
def command(wanted: tuple[str, ...], dozens: float, address: str | None, as_json: bool) -> None:
    """List the materials that some dozens of flies take, what is short, and what the materials of a fly cost.

    \b
    Example:
      flybench pattern make-list MILL-28-14=2 MILL-32-12=0.5
    """
    from flybench.jobs.shelf.make_list import make_list
    from flybench.telling.shelf import make_list as telling

    found = make_list(opened(address), dict(_split(one, dozens) for one in wanted))
    said(telling.record(found)) if as_json else show(telling.lines(found), telling.remarks(found))


def _split(text: str, dozens: float) -> tuple[str, float]:
    code, _, number = text.partition("=")
    if not number:
        return code, dozens
    try:
        return code, float(number)
    except ValueError:
        cure = f"Write a number, as in {code}=2 or {code}=0.5"
        raise BadValueError(text, f'"{number}" is not a number of dozens', cure) from None
