"""`flybench sink law`: how drag goes with speed and water, and what of it was measured."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.quantity import COVERAGE_FACTOR, rounded

if TYPE_CHECKING:
    from flybench.jobs.sink.law import FoundLaw
    from flybench.sinking.model.law import Parameter


@click.command(name="law", epilog="For example:  flybench sink law moss-hackle --plot law.png")
@click.argument("code")
@click.option("--plot", type=click.Path(path_type=Path), metavar="FILE", help="Picture: PNG, PDF or SVG.")
@catalog_option
@json_option
def command(code: str, plot: Path | None, address: str | None, as_json: bool) -> None:
    """Show the drag law of a fly, variant or pattern CODE: A(Re) = A(1000) x (C(Re) / C(1000))^s.

    C is the drag coefficient of a sphere. s is 1 where drag goes as a sphere's does, 0 where it goes with the
    square of speed, up to 2 for fine fibres. With flies of one dressing on several beads, or dropped in cold and
    in warm water, s is measured; else it comes from the shop's other flies and from published bodies.
    """
    from flybench.jobs.sink.law import drag_law

    found = drag_law(opened(address), code)
    if plot is not None:
        from flybench.jobs.sink.pictures import plot_law  # loads matplotlib
        from flybench.sinking.drag.shape import length_name

        plot_law(found.law, length_name(found.law.build), plot)
        click.echo(f"Picture: {click.format_filename(plot)}", err=True)
    said(_record(found)) if as_json else _print(found)


def _print(found: FoundLaw) -> None:
    from flybench.sinking.drag.published_bodies import anchors
    from flybench.sinking.drag.shape import length_name

    law = found.law
    click.echo(click.style(f"Drag law of {found.of}", bold=True))
    for line in _lines(found):
        click.echo(f"  {line}")
    click.echo(f"  Reynolds number on {length_name(law.build)}, {law.length * 1e3:.3g} mm; range 30 to 4000.")
    click.echo(_conditions(found))
    bodies = ", ".join(f"{one.body} {one.exponent:.1f}" for one in anchors())
    click.echo(f"Published bodies have s: {bodies}.")
    for line in found.learned.basis():
        click.echo(line)


def _lines(found: FoundLaw) -> list[str]:
    from math import exp

    law, area = found.law, found.law.area
    low, high = (exp(area.mean + k * COVERAGE_FACTOR * area.sd) * 1e6 for k in (-1, 1))
    lines = [
        f"A(1000)  {exp(area.mean) * 1e6:.3g} mm², {low:.3g} to {high:.3g} (k = 2); {_from(area)}",
        f"s        {_value(law.exponent)} (k = 2); {_from(law.exponent)}",
    ]
    if law.bare_bead is not None:
        lines.append(f"         at Re 1000 it drags like {exp(area.mean) / law.bare_bead:.2g} bare beads")
    return lines


def _value(one: Parameter) -> str:
    return " ± ".join(rounded(one.mean, COVERAGE_FACTOR * one.sd))


def _from(one: Parameter) -> str:
    return f"{one.from_data:.0%} from measurements, the rest from the prior"


def _conditions(found: FoundLaw) -> str:
    count = found.law.conditions
    if count == 0:
        return (
            "No fly of the pattern was measured and weighed: the law is a prior, of its style and of physics."
        )
    if count == 1:
        return (
            "The pattern was measured at one Reynolds number only: s leans on the shop's other flies and on published "
            "bodies. Drop the same fly in cold and in warm water, or tie the dressing on another bead."
        )
    return f"The pattern was measured at {count} Reynolds numbers at least 15 % apart."


def _record(found: FoundLaw) -> dict[str, Any]:
    law = found.law
    return {
        "of": found.of,
        "variant": law.build.code,
        "length_m": law.length,
        "bare_bead_area_m2": law.bare_bead,
        "ln_area_m2_at_re_1000": _parameter(law.area),
        "exponent": _parameter(law.exponent),
        "conditions": law.conditions,
        "points": [
            {
                "fly": point.fly,
                "reynolds": point.reynolds,
                "drag_area_m2": point.area,
                "standard_uncertainty_m2": point.uncertainty,
                "temperature_k": point.temperature,
            }
            for point in law.points
        ],
        "learned_from": found.learned.record(),
    }


def _parameter(one: Parameter) -> dict[str, float]:
    return {
        "mean": one.mean,
        "standard_uncertainty": one.sd,
        "prior_mean": one.prior_mean,
        "prior_standard_uncertainty": one.prior_sd,
        "from_data": one.from_data,
    }
