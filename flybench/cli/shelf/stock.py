"""`flybench stock`: finished flies and materials coming and going."""

from __future__ import annotations

import click

from flybench.cli.options.catalog import catalog_option, opened, say
from flybench.cli.options.output import json_option, said
from flybench.cli.options.shown import show
from flybench.cli.trade.goods import delivery, sale, take, tied
from flybench.cli.trade.report import command as report
from flybench.cli.trade.stock_list import command as stock_list
from flybench.jobs.shelf.stock import OnHand, count_stock, move_stock, stock_log
from flybench.telling.shelf import on_hand, stock_history

_IN = ("tied", "bought", "returned")
_OUT = ("sold", "given", "used", "lost")
_material = click.option("--material", is_flag=True, help="CODE is a material, not a variant.")
_note = click.option("--note", default="", metavar="TEXT", help="A remark that is kept with it.")


@click.group(name="stock")
def command() -> None:
    """Finished flies and materials coming and going; every change is kept."""


@command.command("in")
@click.argument("code")
@click.argument("amount", type=float)
@click.option(
    "--why", type=click.Choice(_IN), default="tied", show_default=True, help="Where they came from."
)
@_note
@_material
@catalog_option
@json_option
def stock_in(
    code: str, amount: float, why: str, note: str, material: bool, address: str | None, as_json: bool
) -> None:
    """Add AMOUNT to the stock of CODE: flies of a variant, or units of a material."""
    _print(move_stock(opened(address), code, _above_zero(amount), why, note, material), as_json)


@command.command("out")
@click.argument("code")
@click.argument("amount", type=float)
@click.option("--why", type=click.Choice(_OUT), default="sold", show_default=True, help="Where they went.")
@_note
@_material
@catalog_option
@json_option
def stock_out(
    code: str, amount: float, why: str, note: str, material: bool, address: str | None, as_json: bool
) -> None:
    """Take AMOUNT from the stock of CODE: flies of a variant, or units of a material."""
    _print(move_stock(opened(address), code, -_above_zero(amount), why, note, material), as_json)


@command.command("count")
@click.argument("code")
@click.argument("amount", type=float)
@_note
@_material
@catalog_option
@json_option
def stock_count(
    code: str, amount: float, note: str, material: bool, address: str | None, as_json: bool
) -> None:
    """Correct the stock of CODE to the AMOUNT that was counted."""
    _print(count_stock(opened(address), code, amount, note, material), as_json)


@command.command("log")
@click.argument("code")
@_material
@catalog_option
@json_option
def stock_log_command(code: str, material: bool, address: str | None, as_json: bool) -> None:
    """Show all that came and went of CODE, oldest first."""
    moves = stock_log(opened(address), code, material)
    if as_json:
        said(stock_history.record(moves))
        return
    if not moves:
        say(f"Nothing of {code} came or went yet.")
        return
    show(stock_history.lines(moves))


def _above_zero(amount: float) -> float:
    if not amount > 0:
        raise click.UsageError(
            f"AMOUNT {amount:g}: give a number above zero; the commands in and out say which way it goes."
        )
    return amount


def _print(now: OnHand, as_json: bool) -> None:
    said(on_hand.record(now)) if as_json else click.echo("\n".join(on_hand.lines(now)))
    show([], [] if as_json else now.remarks)


for _many in (stock_list, delivery, sale, take, tied, report):
    command.add_command(_many)
