"""`flybench sink gaps`: speeds the box lacks, and what to tie."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said

if TYPE_CHECKING:
    from flybench.jobs.sink.gaps import Filler, Gap, Gaps, Rung


@click.command(name="gaps", epilog='For example:  flybench sink gaps --box "stock:>0" --step 1.3')
@click.option(
    "--box",
    multiple=True,
    metavar="QUERY",
    help="Variants in the box, as in: variant list --help.  [default: all measured]",
)
@click.option(
    "--step", default=1.25, show_default=True, metavar="RATIO", help="Neighbours farther apart leave a gap."
)
@catalog_option
@json_option
def command(box: tuple[str, ...], step: float, address: str | None, as_json: bool) -> None:
    """Find where the box has no fly between two speeds, and the cheapest one to tie from stock.

    Other variants of the catalog are tried, and variants on other beads of the same bore; their speeds are
    predicted, and each comes with the odds that it falls into the gap.
    """
    from flybench.jobs.sink.gaps import find_gaps

    found = find_gaps(opened(address), box or ("sink:any",), step)
    said(_record(found)) if as_json else _print(found, step)


def _print(found: Gaps, step: float) -> None:
    slow, fast = found.box[0], found.box[-1]
    click.echo(f"Box: {len(found.box)} variants, {_rung(slow)} to {_rung(fast)}.")
    if not found.gaps:
        click.echo(f"No gap: no two neighbours are more than {step:g} times apart.")
    for gap in found.gaps:
        _print_gap(gap)
    if not found.stock_kept:
        click.echo(
            "No stock of materials is kept, so none was looked at: flybench stock in CODE AMOUNT --material",
            err=True,
        )
    for line in found.prediction.learned.basis():
        click.echo(line)


def _rung(one: Rung) -> str:
    return f"{one.code} {one.speed * 100:.3g} cm/s" + (" predicted" if one.predicted else "")


def _print_gap(gap: Gap) -> None:
    click.echo(click.style(f"Nothing between {_rung(gap.below)} and {_rung(gap.above)}", bold=True))
    if not gap.fillers:
        click.echo("  Nothing in the catalog falls there with better odds than one in two.")
    for one in gap.fillers:
        click.echo(f"  {_filler(one)}")


def _filler(one: Filler) -> str:
    low, high = (end * 100 for end in one.forecast.interval)
    cost = "cost not known" if one.cost is None else f"materials {one.cost:.2f}"
    text = f"tie {one.code} on {one.bead or 'no bead'}: predicted {one.forecast.speed * 100:.0f} cm/s "
    text += f"({low:.0f} to {high:.0f}), odds {one.odds:.0%}, {cost}"
    if one.cost is not None and one.unpriced:
        text += f" and more: no price of {', '.join(one.unpriced)}"
    if one.lacking:
        text += f"; not in stock: {', '.join(one.lacking)}"
    return text + (f"; outside what was measured: {'; '.join(one.outside)}" if one.outside else "")


def _record(found: Gaps) -> dict[str, Any]:
    return {
        "box": [_rung_record(one) for one in found.box],
        "gaps": [
            {
                "below": _rung_record(gap.below),
                "above": _rung_record(gap.above),
                "fillers": [_filler_record(one) for one in gap.fillers],
            }
            for gap in found.gaps
        ],
        "tried": found.tried,
        "stock_kept": found.stock_kept,
        "learned_from": found.prediction.learned.record(),
    }


def _rung_record(one: Rung) -> dict[str, Any]:
    return {
        "code": one.code,
        "sink_speed_m_s": one.speed,
        "standard_uncertainty_m_s": one.uncertainty,
        "predicted": one.predicted,
    }


def _filler_record(one: Filler) -> dict[str, Any]:
    return {
        "code": one.code,
        "bead": one.bead,
        "sink_speed_m_s": one.forecast.speed,
        "interval_m_s": list(one.forecast.interval),
        "odds": one.odds,
        "cost": one.cost,
        "unpriced": one.unpriced,
        "lacking": one.lacking,
        "outside": one.outside,
    }
