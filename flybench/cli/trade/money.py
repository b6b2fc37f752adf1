"""`flybench catalog money`: the currency and the tax of the shop."""

from __future__ import annotations

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.shown import show


@click.command("money")
@click.option("--currency", metavar="TEXT", help='What stands before every price, such as EUR; "" for none.')
@click.option("--tax", metavar="PERCENT", help='Tax that is within the prices, such as "19 %"; "" for none.')
@catalog_option
@json_option
def command(currency: str | None, tax: str | None, address: str | None, as_json: bool) -> None:
    """Show, or set, the currency of all prices and the tax that is within them."""
    from flybench.jobs.trade.money import set_money, shown_money
    from flybench.telling.trade.prices import not_converted

    catalog = opened(address)
    before = shown_money(catalog)
    found = before if currency is None and tax is None else set_money(catalog, currency, tax)
    percent = None if found.tax_percent is None else str(found.tax_percent)
    show([], not_converted(before, found))
    if as_json:
        said({"currency": found.currency, "tax_percent": percent})
        return
    click.echo(f"Prices are in {found.currency}." if found.currency else "No currency is set.")
    click.echo(f"{percent} % tax is within them." if percent else "No tax is set.")
