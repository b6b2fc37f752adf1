"""`flybench catalog export` and `import`: the whole catalog as open files, and back."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from flybench.cli.options.catalog import catalog_option, opened, opened_or_made
from flybench.cli.options.output import json_option, said
from flybench.cli.options.shown import show
from flybench.telling.wording import counted


@click.command("export")
@click.option(
    "--to",
    "folder",
    required=True,
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="New or empty folder.",
)
@catalog_option
@json_option
def export(folder: Path, address: str | None, as_json: bool) -> None:
    """Write the whole catalog as open files: tables as CSV, runs as JSON, recipes as TOML, and pictures.

    Any program can read them, and flybench catalog import makes the same catalog of them again.
    """
    from flybench.jobs.moving.open_files import export_catalog

    done = export_catalog(opened(address), folder)
    rows = sum(table.rows for table in done.tables)
    if as_json:
        said({"folder": str(folder), "rows": rows, "tables": [vars(table) for table in done.tables]})
    else:
        click.echo(
            f"Wrote {click.format_filename(folder)} with {counted(rows, 'row')} of {len(done.tables)} tables."
        )
    show([], done.remarks)


@click.command("import")
@click.argument("folder", type=click.Path(path_type=Path))
@catalog_option
@json_option
def import_(folder: Path, address: str | None, as_json: bool) -> None:
    """Make a catalog of the open files in FOLDER, which flybench catalog export wrote; there must be none yet.

    Files that were changed since they were written are read as they are, and named.
    """
    from flybench.jobs.moving.read_back import import_catalog, look_over

    done = import_catalog(opened_or_made(address, partial(look_over, folder)), folder)
    if as_json:
        said({"rows": done.rows, "changed": list(done.changed)})
        return
    click.echo(f"Read {counted(done.rows, 'row')} back from {click.format_filename(folder)}.")
    if done.changed:
        names = ", ".join(f"{name}.csv" for name in done.changed)
        show(
            [],
            [
                f"These files, or what belongs to them, were changed since they were written: {names}. Check the catalog "
                "with: flybench catalog check"
            ],
        )
