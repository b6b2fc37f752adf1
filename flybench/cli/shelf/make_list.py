"""`flybench pattern make-list`: materials for some dozens of flies."""

from __future__ import annotations

from dataclasses import asdict

import click

from flybench.catalog.search.cells import NOTHING
from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.jobs.sink.make_list import FlyCost, MakeList, make_list
from flybench.telling.table import aligned


@click.command(name="make-list")
@click.argument("wanted", nargs=-1, required=True, metavar="VARIANT[=DOZENS]...")
@click.option("--dozens", type=float, default=1.0, show_default=True, help="Dozens where none are named.")
@catalog_option
@json_option
def command(wanted: tuple[str, ...], dozens: float, address: str | None, as_json: bool) -> None:
    """List the materials for dozens of flies, what is short, and what a fly costs.

    \b
    Example:
      flybench pattern make-list MILL-28-14=2 MILL-32-12=0.5
    """
    found = make_list(opened(address), dict(_split(one, dozens) for one in wanted))
    if as_json:
        lines = [asdict(line) | {"short": line.short} for line in found.lines]
        said({"materials": lines, "flies": [asdict(one) for one in found.flies], "remarks": found.remarks})
        return
    _print(found)


def _split(text: str, dozens: float) -> tuple[str, float]:
    code, _, number = text.partition("=")
    if not number:
        return code, dozens
    try:
        return code, float(number)
    except ValueError:
        raise click.UsageError(f"{text}: write dozens as a number, as in {code}=2.") from None


def _print(found: MakeList) -> None:
    rows = [
        [
            line.code,
            line.name,
            _number(line.needed),
            f"{line.on_hand:g}",
            _number(line.short),
            line.unit,
            _money(line.cost),
        ]
        for line in found.lines
    ]
    heads = ["material", "name", "needed", "on hand", "short", "unit", "cost"]
    head, *lines = aligned([heads, *rows], [False, False, True, True, True, False, True])
    click.echo(click.style(head, bold=True))
    for text, line in zip(lines, found.lines, strict=True):
        click.echo(click.style(text, fg="yellow") if line.short else text)
    for fly in found.flies:
        click.echo(f"{fly.code}: {fly.flies} flies, {_cost(fly)}")
    for remark in found.remarks:
        click.echo(remark, err=True)


def _cost(fly: FlyCost) -> str:
    if fly.cost is None:
        return "cost of materials not known: none has pack and price"
    without = f", without {', '.join(fly.unknown)}" if fly.unknown else ""
    return f"materials {fly.cost:.2f} a fly{without}"


def _number(value: float | None) -> str:
    return NOTHING if value is None else f"{value:.4g}"


def _money(value: float | None) -> str:
    return NOTHING if value is None else f"{value:.2f}"
