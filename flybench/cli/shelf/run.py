"""`flybench run`: bench runs of the catalog."""

from __future__ import annotations

from typing import Any

import click

from flybench.catalog.search.nouns import NOUNS
from flybench.cli.options.catalog import catalog_option, opened, say
from flybench.cli.options.output import json_option, said, yes_option
from flybench.cli.progress import Progress
from flybench.cli.shelf.verbs import add_verbs
from flybench.telling.shelf.catalog_rows import record


@click.group(name="run")
def command() -> None:
    """Bench runs: what was measured of each fly, from which clip."""


@command.command("refit")
@click.argument("numbers", metavar="[NUMBER...]", type=int, nargs=-1)
@click.option("--all", "every", is_flag=True, help="Fit all runs of the catalog again.")
@click.option("--write", is_flag=True, help="Keep the new results, after asking; else they are only shown.")
@yes_option
@catalog_option
@json_option
def refit(
    numbers: tuple[int, ...], every: bool, write: bool, yes: bool, address: str | None, as_json: bool
) -> None:
    """Fit runs again with this version of flybench, from what was kept of their clips."""
    if bool(numbers) == every:
        raise click.UsageError("Name runs by number, or give --all.")
    if yes and not write:
        raise click.UsageError("--yes goes with --write: without it nothing is written.")
    from flybench.jobs.shelf.refit import refit_runs, write_refits  # loads the whole bench
    from flybench.telling.shelf import refit as telling

    catalog, progress = opened(address), Progress()
    try:
        found = refit_runs(catalog, None if every else numbers, progress)
    finally:
        progress.close()
    if not as_json:
        click.echo("\n".join(line for one in found for line in telling.lines(one)), nl=bool(found))
    if write and found:
        if not yes:
            click.confirm("Keep the new results in the catalog?", abort=True, err=True)
        write_refits(catalog, found)
    if as_json:
        said([telling.record(one) for one in found])
    else:
        say(telling.summary(found, write))


@command.command("set-aside")
@click.argument("number", type=int)
@click.option("--why", required=True, metavar="TEXT", help="Why it does not count.")
@catalog_option
@json_option
def set_aside(number: int, why: str, address: str | None, as_json: bool) -> None:
    """Do not count the run NUMBER in its fly's speed; it stays in the catalog."""
    from flybench.jobs.shelf.runs import set_run_aside

    _say(set_run_aside(opened(address), number, why), f"Set aside run {number}.", as_json)


@command.command("accept")
@click.argument("number", type=int)
@catalog_option
@json_option
def accept(number: int, address: str | None, as_json: bool) -> None:
    """Count the run NUMBER in its fly's speed again."""
    from flybench.jobs.shelf.runs import accept_run

    _say(accept_run(opened(address), number), f"Accepted run {number}.", as_json)


@command.command("remove")
@click.argument("number", type=int)
@yes_option
@catalog_option
@json_option
def remove(number: int, yes: bool, address: str | None, as_json: bool) -> None:
    """Remove the run NUMBER with its drops and what was kept of its clip."""
    from flybench.jobs.shelf.runs import remove_run, show_run

    catalog = opened(address)
    row = show_run(catalog, number)
    if not yes:
        click.confirm(f"Remove run {number} ({row['clip']}, fly {row['fly']})?", abort=True, err=True)
    remove_run(catalog, number)
    said({"removed": number}) if as_json else click.echo(f"Removed run {number}.")


def _say(row: dict[str, Any], line: str, as_json: bool) -> None:
    said(record(NOUNS["run"], row)) if as_json else click.echo(line)


add_verbs(command, "run", ("list", "show"))
