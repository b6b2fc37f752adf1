"""`flybench run`: bench runs of the catalog."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from flybench.catalog.search import cells
from flybench.catalog.search.nouns import NOUNS
from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.progress import Progress
from flybench.cli.shelf.verbs import add_verbs
from flybench.quantity import COVERAGE_FACTOR, rounded

if TYPE_CHECKING:
    from flybench.jobs.shelf.refit import Refit, Speed


@click.group(name="run")
def command() -> None:
    """Bench runs: what was measured of each fly, from which clip."""


@command.command("refit")
@click.argument("numbers", metavar="[NUMBER...]", type=int, nargs=-1)
@click.option("--all", "every", is_flag=True, help="All runs of the catalog.")
@click.option("--apply", "write", is_flag=True, help="Write the new results; without it they are only shown.")
@catalog_option
@json_option
def refit(numbers: tuple[int, ...], every: bool, write: bool, address: str | None, as_json: bool) -> None:
    """Fit runs again with this flybench, from what was kept of their clips."""
    if bool(numbers) == every:
        raise click.UsageError("Name runs by number, or give --all.")
    from flybench.jobs.shelf.refit import as_record, refit_runs  # loads the whole bench

    progress = Progress()
    try:
        found = refit_runs(opened(address), None if every else numbers, progress, write)
    finally:
        progress.close()
    if as_json:
        said([as_record(one) for one in found])
        return
    for one in found:
        click.echo("\n".join(_told(one)))
    _end(found, write)


def _end(found: list[Refit], write: bool) -> None:
    done = "written" if write else "nothing was written; --apply writes it"
    click.echo(f"{len(found)} run{'s' * (len(found) != 1)} fitted again, {done}.", err=True)


def _told(one: Refit) -> list[str]:
    """Return a run before and after, and what changed in flags and drops."""
    lines = [f"run {one.number}  {one.fly}  {one.clip}"]
    lines.append(f"  tank        {_change(one.old, one.new)}  {_words(one.old_verdict, one.new_verdict)}")
    lines.append(f"  free water  {_change(one.old_free, one.new_free)}")
    lines += [f"  flag gained: {flag}" for flag in one.gained] + [f"  flag lost: {flag}" for flag in one.lost]
    for drop in one.drops:
        if drop.old != drop.new:
            lines.append(f"  drop at {drop.start_s:.2f} s  {_change(drop.old, drop.new)}")
    return lines


def _change(old: Speed | None, new: Speed | None) -> str:
    before, after = _speed(old), _speed(new)
    return f"{before}, unchanged" if before == after else f"{before} -> {after}"


def _words(old: str, new: str) -> str:
    return old if old == new else f"{old} -> {new}"


def _speed(speed: Speed | None) -> str:
    """Return a speed in cm/s with +- (k = 2)."""
    if speed is None or speed.value is None or not speed.uncertainty:
        return "no speed" if speed is not None else "not found"
    value, spread = rounded(speed.value * 100, COVERAGE_FACTOR * speed.uncertainty * 100)
    return f"{value} ± {spread} cm/s"


@command.command("set-aside")
@click.argument("number", type=int)
@click.option("--why", required=True, metavar="TEXT", help="Why it does not count.")
@catalog_option
@json_option
def set_aside(number: int, why: str, address: str | None, as_json: bool) -> None:
    """Take the run NUMBER out of its fly's speed; it stays in the catalog."""
    from flybench.jobs.shelf.runs import set_run_aside

    _say(set_run_aside(opened(address), number, why), f"Set aside run {number}.", as_json)


@command.command("accept")
@click.argument("number", type=int)
@catalog_option
@json_option
def accept(number: int, address: str | None, as_json: bool) -> None:
    """Let the run NUMBER count again."""
    from flybench.jobs.shelf.runs import accept_run

    _say(accept_run(opened(address), number), f"Accepted run {number}.", as_json)


@command.command("remove")
@click.argument("number", type=int)
@click.option("--yes", is_flag=True, help="Do not ask.")
@catalog_option
@json_option
def remove(number: int, yes: bool, address: str | None, as_json: bool) -> None:
    """Remove the run NUMBER with its drops and its kept track."""
    from flybench.jobs.shelf.runs import remove_run, show_run

    catalog = opened(address)
    row = show_run(catalog, number)
    if not yes:
        click.confirm(f"Remove run {number} ({row['clip']}, fly {row['fly']})?", abort=True, err=True)
    remove_run(catalog, number)
    said({"removed": number}) if as_json else click.echo(f"Removed run {number}.")


def _say(row: dict[str, Any], line: str, as_json: bool) -> None:
    said(cells.as_record(NOUNS["run"], row)) if as_json else click.echo(line)


add_verbs(command, "run", ("list", "show"))
