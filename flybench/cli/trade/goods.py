"""`flybench stock delivery`, `sale`, `take` and `tied`: many things in one command, or from a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said, yes_option
from flybench.cli.options.shown import show
from flybench.jobs.trade.goods import OF_A_DELIVERY, typed_goods
from flybench.jobs.trade.stock_moved import (
    Trade,
    counted_differences,
    deliver,
    sell,
    take_stock,
    tie,
)
from flybench.telling.trade import traded

Command = Callable[..., None]
_FILE = """\b
A file is CSV with the columns code and amount, and price and note where wanted.
Codes may be typed by a hand scanner that reads the labels; CODE alone is one."""


def _goods(command: Command) -> Command:
    """Give a command its goods: typed, or from a file."""
    for add in (
        click.option("--note", default="", metavar="TEXT", help="A remark that is kept with every line."),
        click.option(
            "--file", "file", type=click.Path(path_type=Path), metavar="FILE", help="CSV file of goods."
        ),
        click.argument("goods", metavar="[CODE=AMOUNT...]", nargs=-1),
    ):
        command = add(command)
    return command


@click.command("delivery", epilog=f"{_FILE}\nA column supplier says of a line whom it was bought from.")
@_goods
@click.option("--supplier", default="", metavar="TEXT", help="Whom it was bought from; kept with every line.")
@catalog_option
@json_option
def delivery(
    goods: tuple[str, ...],
    file: Path | None,
    note: str,
    supplier: str,
    address: str | None,
    as_json: bool,
) -> None:
    """Put a delivery of materials, or of flies, on the shelf; CODE=AMOUNT@PRICE says what was paid for it all."""
    typed = typed_goods(goods, file, OF_A_DELIVERY)
    _tell(deliver(opened(address), typed, note, supplier), as_json)


@click.command("sale", epilog=_FILE)
@_goods
@catalog_option
@json_option
def sale(goods: tuple[str, ...], file: Path | None, note: str, address: str | None, as_json: bool) -> None:
    """Sell flies: they go off the shelf at the price of their variant, or of one fly as in CODE=AMOUNT@PRICE."""
    typed = typed_goods(goods, file)
    _tell(sell(opened(address), typed, note), as_json)


@click.command("take", epilog=_FILE)
@_goods
@yes_option
@catalog_option
@json_option
def take(
    goods: tuple[str, ...], file: Path | None, note: str, yes: bool, address: str | None, as_json: bool
) -> None:
    """Set the stock of many things to what was counted, after showing what changes."""
    typed, catalog = typed_goods(goods, file), opened(address)
    if not yes:
        show(traded.lines(counted_differences(catalog, typed)))
        click.confirm("Keep what was counted?", abort=True, err=True)
    done = take_stock(catalog, typed, note)
    if as_json:
        said(traded.record(done))
    elif yes:
        show(traded.lines(done))


@click.command("tied", epilog=_FILE)
@_goods
@click.option(
    "--even-if-short", is_flag=True, help="Where a material does not suffice, take what there is of it."
)
@catalog_option
@json_option
def tied(
    goods: tuple[str, ...],
    file: Path | None,
    note: str,
    even_if_short: bool,
    address: str | None,
    as_json: bool,
) -> None:
    """Put tied flies on the shelf, and take what they are made of off it by the recipe."""
    typed = typed_goods(goods, file)
    _tell(tie(opened(address), typed, note, even_if_short), as_json)


def _tell(done: Trade, as_json: bool) -> None:
    said(traded.record(done)) if as_json else show(traded.lines(done), done.remarks)
