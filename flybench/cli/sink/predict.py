"""`flybench sink predict`: speeds of flies not tied yet, or the bead for a wanted speed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, overwrite_option, plot_option, said, wrote
from flybench.cli.options.query import say_how_read
from flybench.cli.options.shown import check_plot, show
from flybench.cli.options.water import learn_option, water_of, water_options
from flybench.errors import BadValueError
from flybench.quantity import parse_inside


@click.command(
    name="predict",
    epilog="For example:  flybench sink predict --pattern moss-hackle --hook hk-jig-14 --bead bd-tu-sl-28 "
    '--step 6=3 --temperature "6 degC"',
)
@click.argument("variants", metavar="[VARIANT...]", nargs=-1)
@click.option("--pattern", metavar="CODE", help="A pattern, instead of a variant; with --hook.")
@click.option("--hook", metavar="CODE", help="The hook of a pattern, or another hook than the variant's.")
@click.option(
    "--bead",
    "beads",
    metavar="CODE",
    multiple=True,
    help='A bead of the catalog, or "none"; give it again to try several.',
)
@click.option(
    "--step",
    "steps",
    metavar="N=AMOUNT",
    multiple=True,
    help="Another amount for step N of the recipe, such as 6=3; 0 leaves the step out.",
)
@click.option(
    "--for-speed",
    "wanted",
    metavar="QUANTITY",
    help='Choose the bead that makes it sink so fast, such as "30 cm/s".',
)
@water_options
@learn_option
@plot_option
@overwrite_option
@catalog_option
@json_option
def command(  # one argument per option
    variants: tuple[str, ...],
    pattern: str | None,
    hook: str | None,
    beads: tuple[str, ...],
    steps: tuple[str, ...],
    wanted: str | None,
    temperature: str | None,
    salinity: str | None,
    learn_from: str,
    plot: Path | None,
    overwrite: bool,
    address: str | None,
    as_json: bool,
) -> None:
    """Predict how fast a fly sinks that is not tied yet, from the measured ones.

    Each speed comes with the interval in which 95 of 100 such flies sink, with how far such predictions went astray on
    flies that were measured, and with where the fly leaves what was ever measured.
    """
    from flybench.jobs.sink.predict import Wish, beads_for, predict

    check_plot(plot, overwrite)
    wish = Wish(variants, pattern, hook, beads, _steps(steps))
    kelvin, salt = water_of(temperature, salinity)
    say_how_read("fly", (learn_from,) if learn_from else ())
    settings: dict[str, Any] = {
        "learn_from": (learn_from,) if learn_from else (),
        "temperature": kelvin,
        "salinity": salt,
    }
    tried = None
    if wanted is None:
        found = predict(opened(address), wish, **settings)
    else:
        tried, found = beads_for(opened(address), wish, _speed(wanted), **settings)
    if plot is not None:
        from flybench.charts.prediction import prediction_picture  # loads matplotlib

        prediction_picture(found).write(plot)
        wrote(plot)
    _show(found, tried, wanted or "", as_json)


def _speed(text: str) -> float:
    from flybench.shop.next_fly.predicting import FASTEST, SLOWEST

    return parse_inside(text, "m/s", "--for-speed", SLOWEST, FASTEST, "Give a sink speed.", example="30 cm/s")


def _steps(texts: tuple[str, ...]) -> dict[int, float]:
    found: dict[int, float] = {}
    for text in texts:
        step, _, amount = text.partition("=")
        try:
            number, given = int(step), float(amount)
        except ValueError:
            cure = "Write the number of the step and its amount, as in 6=3"
            raise BadValueError("--step", f'"{text}" is not a step and an amount', cure) from None
        if number in found:
            raise BadValueError("--step", f"step {number} is given two amounts", "Give it one")
        found[number] = given
    return found


def _show(found: Any, tried: Any, wanted: str, as_json: bool) -> None:
    from flybench.telling.sink import prediction as telling

    if as_json:
        said(telling.record(found, tried))
        return
    lines = telling.lines(found) if tried is None else telling.bead_lines(found, tried, wanted)
    flies = telling.shown(found, tried)
    show(lines, telling.remarks(flies), telling.outside(flies))
