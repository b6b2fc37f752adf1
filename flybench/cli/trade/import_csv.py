"""`flybench NOUN import-csv`: things added from a spreadsheet, or changed by it after a look at what would change."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from flybench.catalog.search.fields import Noun
from flybench.cli.options.catalog import catalog_option, opened_or_made
from flybench.cli.options.output import json_option, said, yes_option
from flybench.cli.options.shown import show
from flybench.jobs.shelf.spreadsheet import columns_of, import_csv
from flybench.telling.shelf import catalog_rows as telling


def import_from_csv(noun: Noun) -> click.Command:
    """Return the command that reads things from a CSV file."""

    @click.command("import-csv", help=f"Add {noun.plural} from a CSV file, all of them or none.")
    @click.argument("file", type=click.Path(path_type=Path))
    @click.option(
        "--update",
        is_flag=True,
        help="Also change those that are there already: you see what would change, and are asked first. An empty cell "
        "changes nothing.",
    )
    @yes_option
    @catalog_option
    @json_option
    def command(file: Path, update: bool, yes: bool, address: str | None, as_json: bool) -> None:
        if update:
            _update(noun, file, yes, address, as_json)
            return
        if yes:
            raise click.UsageError("--yes goes with --update: without it nothing is asked.")
        catalog = opened_or_made(address, partial(columns_of, noun, file))
        count = import_csv(catalog, noun, file)
        said({"added": count}) if as_json else click.echo(f"Added {telling.counted_rows(noun, count)}.")

    return command


def _update(noun: Noun, file: Path, yes: bool, address: str | None, as_json: bool) -> None:
    from flybench.jobs.trade.csv_update import previewed, update_from
    from flybench.telling.trade.updated import lines, record

    catalog = opened_or_made(address, partial(columns_of, noun, file, all_needed=False))
    seen = None
    if not yes:
        seen = previewed(catalog, noun, file)
        show([], lines(seen))
        if not seen.rows:
            return
        click.confirm("Keep these changes?", abort=True, err=True)
    done = update_from(catalog, noun, file, seen)
    if yes:
        show([], lines(done)[:-1])
    said(record(noun, done)) if as_json else click.echo(lines(done)[-1])
