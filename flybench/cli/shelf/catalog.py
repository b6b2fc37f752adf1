"""`flybench catalog`: where the catalog is, whether it is sound, backups, and putting one back."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from flybench.catalog.store.default_place import default_address
from flybench.cli.options.catalog import catalog_option
from flybench.cli.options.output import json_option, said

EPILOG = """\b
Examples:
  flybench catalog where
  flybench catalog backup
  flybench catalog backup /media/stick/flies.sqlite
  flybench catalog restore catalog-backup-2030-01-31-120000.sqlite
"""


def _tell(line: str) -> None:
    click.echo(line, err=True)


def _give(machine: dict[str, Any], lines: list[str], as_json: bool) -> None:
    said(machine) if as_json else click.echo("\n".join(lines))


@click.group(epilog=EPILOG)
def command() -> None:
    """Look after the catalog: where it is, whether it is sound, backups, and putting one back."""


@command.command()
@catalog_option
@json_option
def where(address: str | None, as_json: bool) -> None:
    """Tell where the catalog is; nothing is made or changed."""
    from flybench.jobs.shelf.safekeeping import where_is

    place = where_is(address or default_address())
    if place.revision is None:
        state = "nothing there yet; it is made when something is first put in"
    else:
        size = f", {place.size_bytes / 1e6:.1f} MB" if place.size_bytes is not None else ""
        state = f"{place.kind}{size}, tables {place.revision}"
    _give(asdict(place), [place.name, f"  {state}"], as_json)


@command.command()
@catalog_option
@json_option
@click.pass_context
def check(context: click.Context, address: str | None, as_json: bool) -> None:
    """Look the whole catalog over; ends with 1 where something is wrong. Repairs nothing.

    Damage of the file, references that lead nowhere, photos and tracks against their hashes, pooled speeds,
    stock below zero, variants based on themselves.
    """
    from flybench.jobs.shelf.safekeeping import check_catalog

    where_ = address or default_address()
    findings = check_catalog(where_, _tell)
    lines = [f"{found.kind}: {found.where}: {found.problem}" for found in findings]
    if findings:
        lines.append("Put back a backup from before with: flybench catalog restore FILE")
    count = f"{len(findings)} finding{'s' * (len(findings) != 1)}"
    machine = {"sound": not findings, "findings": [asdict(found) for found in findings]}
    _give(machine, [f"NOT SOUND: {count}" if findings else "SOUND: nothing found", *lines], as_json)
    if findings:
        context.exit(1)


@command.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@catalog_option
@json_option
def backup(file: Path | None, address: str | None, as_json: bool) -> None:
    """Copy the catalog to FILE, or beside itself with date and time; others may go on working meanwhile."""
    from flybench.jobs.shelf.safekeeping import back_up

    saved = back_up(address or default_address(), file)
    _give({"backup": str(saved)}, [f"Saved {click.format_filename(saved)}"], as_json)


@command.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--yes", is_flag=True, help="Do not ask.")
@catalog_option
@json_option
def restore(file: Path, yes: bool, address: str | None, as_json: bool) -> None:
    """Make the catalog what the backup FILE holds; the present one is kept beside it."""
    from flybench.jobs.shelf.safekeeping import restore as put_back
    from flybench.jobs.shelf.safekeeping import where_to_restore

    place = where_to_restore(address or default_address(), file)
    if not yes:
        question = f"Replace {place} by {click.format_filename(file)}? What is there now is kept beside it."
        click.confirm(question, abort=True, err=True)
    done = put_back(place, file, _tell)
    kept = str(done.kept) if done.kept else None
    _give({"catalog": done.name, "restored": str(file), "kept": kept}, [f"Restored {done.name}"], as_json)
