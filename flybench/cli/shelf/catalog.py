"""`flybench catalog`: where the catalog is, whether it is sound, the water of its speeds, backups, and putting one back."""

from __future__ import annotations

from pathlib import Path

import click

from flybench.catalog.store.usual_place import default_address
from flybench.cli.history.log import command as log_command
from flybench.cli.moving.copy import command as copy_command
from flybench.cli.moving.open_files import export, import_
from flybench.cli.options.catalog import catalog_option, opened, say
from flybench.cli.options.output import json_option, said, yes_option
from flybench.cli.options.water import shown_salinity_option, shown_water_of
from flybench.cli.trade.money import command as money_command
from flybench.errors import FlybenchError

EPILOG = """\b
Examples:
  flybench catalog where
  flybench catalog log
  flybench catalog backup
  flybench catalog backup /media/stick/flies.sqlite
  flybench catalog restore catalog-backup-2030-01-31-120000.sqlite
"""


@click.group(epilog=EPILOG)
def command() -> None:
    """Look after the catalog: see where it is, check it, back it up, and put a backup back."""


command.add_command(log_command)
command.add_command(copy_command)
command.add_command(export)
command.add_command(import_)
command.add_command(money_command)


@command.command()
@catalog_option
@json_option
def where(address: str | None, as_json: bool) -> None:
    """Show where the catalog is; nothing is made or changed."""
    from flybench.jobs.shelf.safekeeping import where_is
    from flybench.telling.shelf import place as telling

    place = where_is(address or default_address())
    said(telling.record(place)) if as_json else click.echo("\n".join(telling.lines(place)))


@command.command()
@catalog_option
@json_option
@click.pass_context
def check(context: click.Context, address: str | None, as_json: bool) -> None:
    """Look for faults in the whole catalog; ends with 1 where there are any. Nothing is repaired.

    Looked for are damage to the file, references that lead nowhere, photos and tracks that were changed,
    sink speeds that do not fit the runs, stock below zero, and variants based on themselves.
    """
    from flybench.jobs.shelf.safekeeping import check_catalog
    from flybench.telling.shelf import soundness as telling

    findings = check_catalog(address or default_address(), say)
    said(telling.record(findings)) if as_json else click.echo("\n".join(telling.lines(findings)))
    if findings:
        context.exit(1)


@command.command()
@click.argument("temperature", required=False)
@shown_salinity_option
@click.option("--usual", is_flag=True, help="Go back to the water of most runs.")
@catalog_option
@json_option
def water(
    temperature: str | None, salinity: str | None, usual: bool, address: str | None, as_json: bool
) -> None:
    """Show, or set to TEMPERATURE, the water that speeds are shown for on the ladder, in lists and in print.

    Where none is set it is that in which most runs of the shop were made. Runs in other water (more than 1 K or
    1 g/kg of salt away) are brought to it by the drag law, and the doubt of that step is in their ±.
    """
    from flybench.jobs.shelf.one_water import set_water, shown_water
    from flybench.telling.sink import one_water as telling

    if temperature is not None and usual:
        raise FlybenchError("--usual: a temperature was given as well. Give one of the two.")
    catalog = opened(address)
    kelvin, salt = shown_water_of(temperature, salinity)
    found = shown_water(catalog) if kelvin is None and not usual else set_water(catalog, kelvin, salt)
    said(telling.record(found)) if as_json else click.echo("\n".join(telling.lines(found)))


@command.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@catalog_option
@json_option
def backup(file: Path | None, address: str | None, as_json: bool) -> None:
    """Copy the catalog to FILE, or to a file beside it with date and time in its name.

    Others may go on working meanwhile. A file that exists is never replaced.
    """
    from flybench.jobs.shelf.safekeeping import back_up

    saved = back_up(address or default_address(), file)
    said({"backup": str(saved)}) if as_json else click.echo(f"Saved {click.format_filename(saved)}")


@command.command()
@click.argument("file", type=click.Path(path_type=Path))
@yes_option
@catalog_option
@json_option
def restore(file: Path, yes: bool, address: str | None, as_json: bool) -> None:
    """Put the backup FILE in the place of the catalog; the catalog before is kept beside it."""
    from flybench.jobs.shelf.safekeeping import restore as put_back
    from flybench.jobs.shelf.safekeeping import where_to_restore
    from flybench.telling.shelf import restored as telling

    place = where_to_restore(address or default_address(), file)
    if not yes:
        question = f"Replace {place} by {click.format_filename(file)}? The catalog before is kept beside it."
        click.confirm(question, abort=True, err=True)
    done = put_back(place, file, say)
    said(telling.record(done)) if as_json else click.echo("\n".join(telling.lines(done)))
