"""`flybench NOUN rename` and `retire`: another code for a thing, and a thing that is no longer made or used."""

from __future__ import annotations

from datetime import date

import click

from flybench.catalog.search.fields import Noun
from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.shelf.rows import change_row
from flybench.telling.shelf import catalog_rows as telling


def rename(noun: Noun) -> click.Command:
    """Return the command that gives a thing another code."""

    @click.command("rename", help=f"Give the {noun.name} CODE the code NEW; all that belongs to it stays.")
    @click.argument("code")
    @click.argument("new")
    @catalog_option
    @json_option
    def command(code: str, new: str, address: str | None, as_json: bool) -> None:
        row = change_row(opened(address), noun, code, {"code": new})
        said(telling.record(noun, row)) if as_json else click.echo(
            f"Renamed {noun.name} {code} to {row['code']}."
        )

    return command


def retire(noun: Noun) -> click.Command:
    """Return the command that sets a thing aside for good, or brings it back."""

    @click.command(
        "retire",
        help=f"Retire the {noun.name} CODE: it stays with all that belongs to it, but is not offered any more.",
    )
    @click.argument("code")
    @click.option("--on", "day", metavar="DATE", help="Day on which it was retired.  [default: today]")
    @click.option("--back", is_flag=True, help="Bring it back.")
    @catalog_option
    @json_option
    def command(code: str, day: str | None, back: bool, address: str | None, as_json: bool) -> None:
        if back and day is not None:
            raise click.UsageError("--back: a day was given as well. Give one of the two.")
        when = "" if back else day or date.today().isoformat()
        try:
            row = change_row(opened(address), noun, code, {"retired": when})
        except BadValueError as error:
            if error.key != "retired":
                raise
            raise FlybenchError(f"--on{str(error).removeprefix(error.key)}") from error
        done = "Brought back" if back else "Retired"
        said(telling.record(noun, row)) if as_json else click.echo(f"{done} {noun.name} {row['code']}.")

    return command
