"""`flybench stock`: finished flies and materials coming and going."""

from __future__ import annotations

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.jobs.shelf.stock import OnHand, count_stock, move_stock, stock_log
from flybench.telling.table import aligned

_IN = ("tied", "bought", "returned")
_OUT = ("sold", "given", "used", "lost")
_material = click.option("--material", is_flag=True, help="CODE is a material, not a variant.")
_note = click.option("--note", default="", metavar="TEXT", help="Remark.")


@click.group(name="stock")
def command() -> None:
    """Finished flies and materials coming and going; every change is kept."""


@command.command("in")
@click.argument("code")
@click.argument("amount", type=float)
@click.option("--why", type=click.Choice(_IN), default="tied", show_default=True)
@_note
@_material
@catalog_option
@json_option
def stock_in(
    code: str, amount: float, why: str, note: str, material: bool, address: str | None, as_json: bool
) -> None:
    """Write down that AMOUNT of CODE came."""
    _tell(move_stock(opened(address), code, _above_zero(amount), why, note, material), as_json)


@command.command("out")
@click.argument("code")
@click.argument("amount", type=float)
@click.option("--why", type=click.Choice(_OUT), default="sold", show_default=True)
@_note
@_material
@catalog_option
@json_option
def stock_out(
    code: str, amount: float, why: str, note: str, material: bool, address: str | None, as_json: bool
) -> None:
    """Write down that AMOUNT of CODE went."""
    _tell(move_stock(opened(address), code, -_above_zero(amount), why, note, material), as_json)


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
    """Set right what is on hand of CODE after counting AMOUNT."""
    _tell(count_stock(opened(address), code, amount, note, material), as_json)


@command.command("log")
@click.argument("code")
@_material
@catalog_option
@json_option
def stock_history(code: str, material: bool, address: str | None, as_json: bool) -> None:
    """Show every movement of CODE."""
    moves = stock_log(opened(address), code, material)
    if as_json:
        said([vars(move) | {"at": move.at.isoformat(timespec="seconds")} for move in moves])
        return
    if not moves:
        click.echo(f"No movements of {code}.", err=True)
        return
    lines = [
        [
            move.at.astimezone().strftime("%Y-%m-%d %H:%M"),
            f"{move.amount:+g}",
            f"{move.on_hand:g}",
            move.why,
            move.note,
        ]
        for move in moves
    ]
    head, *body = aligned(
        [["when", "amount", "on hand", "why", "note"], *lines], [False, True, True, False, False]
    )
    click.echo(click.style(head, bold=True))
    click.echo("\n".join(body))


def _above_zero(amount: float) -> float:
    if not amount > 0:
        raise click.UsageError(f"AMOUNT {amount:g}: give a number above zero; in and out say which way.")
    return amount


def _tell(now: OnHand, as_json: bool) -> None:
    said(vars(now)) if as_json else click.echo(f"{now.code}: {now.amount:g} {now.unit} on hand.")
