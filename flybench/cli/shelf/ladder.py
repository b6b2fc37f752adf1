"""`flybench ladder`: measured flies from slowest to fastest, drawn in the terminal."""

from __future__ import annotations

import shutil
from typing import Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.jobs.sink.ladder import Ladder, Rung, ladder
from flybench.quantity import rounded
from flybench.telling.table import aligned

_NARROWEST, _WIDEST = 12, 60


@click.command(name="ladder")
@click.argument("query", nargs=-1)
@click.option("--variants", is_flag=True, help="Variants, each pooled over its flies.")
@click.option(
    "--limit", type=click.IntRange(0, 10_000_000), default=60, show_default=True, help="Most rungs; 0: all."
)
@catalog_option
@json_option
def command(query: tuple[str, ...], variants: bool, limit: int, address: str | None, as_json: bool) -> None:
    """Show measured flies from the slowest to the fastest, with their intervals (k = 2) and ties.

    QUERY as in: flybench fly list --help
    """
    found = ladder(opened(address), query, variants, limit)
    if as_json:
        said(_record(found))
        return
    if found.rungs:
        _draw(found.rungs)
        _tell_ties(found)
    else:
        click.echo("No measured flies found.", err=True)
    if found.unmeasured:
        click.echo(f"{found.unmeasured} not measured yet and left out.", err=True)
    if found.total > len(found.rungs):
        click.echo(f"{found.total - len(found.rungs)} faster ones not shown; raise --limit.", err=True)


def _draw(rungs: list[Rung]) -> None:
    texts = [
        [
            rung.code,
            " ± ".join(rounded(rung.speed * 100, rung.expanded * 100)),
            _band(rung),
        ]
        for rung in rungs
    ]
    head, *lines = aligned([["code", "cm/s", "band"], *texts], [False, True, False])
    room = shutil.get_terminal_size().columns - max(map(len, [head, *lines])) - 4
    width = min(max(room, _NARROWEST), _WIDEST)
    low = min(rung.speed - rung.expanded for rung in rungs)
    span = max(rung.speed + rung.expanded for rung in rungs) - low
    left = max(map(len, [head, *lines]))
    click.echo(click.style(head, bold=True))
    for line, rung in zip(lines, rungs, strict=True):
        click.echo(f"{line:<{left}}  {_bar(rung, low, span, width)}".rstrip())
    click.echo(f"{'':<{left}}  {low * 100:<{width - 6}.1f}{(low + span) * 100:>6.1f} cm/s")


def _band(rung: Rung) -> str:
    return rung.band + ("?" if rung.between_bands else "")


def _bar(rung: Rung, low: float, span: float, width: int) -> str:
    """Return an interval drawn with its middle, on a scale of ``width`` letters."""

    def place(speed: float) -> int:
        return round((speed - low) / span * (width - 1))

    cells = [" "] * width
    first, last = place(rung.speed - rung.expanded), place(rung.speed + rung.expanded)
    cells[first : last + 1] = "-" * (last + 1 - first)
    cells[first], cells[last] = "|", "|"
    cells[place(rung.speed)] = "o"
    return "".join(cells)


def _tell_ties(found: Ladder) -> None:
    if any(rung.between_bands for rung in found.rungs):
        click.echo('Band with "?": the interval reaches into the next one.')
    for codes in found.ties:
        click.echo(f"Cannot be told apart: {', '.join(codes[:-1])} and {codes[-1]}.")


def _record(found: Ladder) -> dict[str, Any]:
    return {
        "rungs": [
            {
                "code": rung.code,
                "sink_speed_m_s": rung.speed,
                "standard_uncertainty_m_s": rung.uncertainty,
                "band_cm_s": rung.band,
                "between_bands": rung.between_bands,
            }
            for rung in found.rungs
        ],
        "ties": found.ties,
        "not_measured": found.unmeasured,
        "total": found.total,
    }
