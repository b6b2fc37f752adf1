"""`flybench sink at`: measured flies in other water."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.quantity import COVERAGE_FACTOR, parse, rounded
from flybench.telling.table import aligned

if TYPE_CHECKING:
    from flybench.jobs.sink.other_water import OtherWater
    from flybench.sinking.model.other_water import Elsewhere


@click.command(name="at", epilog='For example:  flybench sink at --temperature "1 degC" style:hackled')
@click.argument("query", nargs=-1)
@click.option("--temperature", required=True, metavar="QUANTITY", help='The water there, such as "1 degC".')
@click.option(
    "--salinity", default="0 g/kg", show_default=True, metavar="QUANTITY", help="Salt in the water there."
)
@catalog_option
@json_option
def command(
    query: tuple[str, ...], temperature: str, salinity: str, address: str | None, as_json: bool
) -> None:
    """Show measured flies in other water than that of the tank: a river at 1 °C, the sea.

    Drag grows in cold water, more for hackle than for a bead. How much is learned from flies that were measured
    in two waters or on several beads, else taken from published bodies; its doubt is in the ±.

    QUERY as in: flybench fly list --help
    """
    from flybench.jobs.sink.other_water import in_other_water

    kelvin, salt = parse(temperature, "K", "temperature"), parse(salinity, "kg/kg", "salinity")
    found = in_other_water(opened(address), query, kelvin, salt)
    said(_record(found)) if as_json else _print(found)


def _print(found: OtherWater) -> None:
    celsius = found.water.temperature - 273.15
    rows = [["fly", "measured cm/s", "at", f"at {celsius:.3g} °C, cm/s", "change"]]
    rows += [_row(one) for one in found.flies]
    head, *lines = aligned(rows, [False, True, True, True, True])
    click.echo(click.style(head, bold=True))
    for line in lines:
        click.echo(line)
    for told in notes(found):
        click.echo(told, err=True)


def _row(one: Elsewhere) -> list[str]:
    measured = COVERAGE_FACTOR * (one.sunk.own**2 + one.sunk.shared**2) ** 0.5
    change = rounded((one.change - 1) * 100, max(COVERAGE_FACTOR * one.change_uncertainty * 100, 0.01))
    return [
        one.sunk.fly,
        " ± ".join(rounded(one.sunk.speed * 100, measured * 100)),
        f"{one.sunk.temperature - 273.15:.1f} °C",
        " ± ".join(rounded(one.speed * 100, COVERAGE_FACTOR * one.uncertainty * 100)),
        f"{' ± '.join(change)} %",
    ]


def notes(found: OtherWater) -> list[str]:
    """Return what a reader should know of the change."""
    told = []
    unknown = [one.sunk.fly for one in found.flies if one.density_assumed]
    if unknown:
        told.append(f"Weight not known, its change with the water's density assumed: {', '.join(unknown)}.")
    stretched = [one.sunk.fly for one in found.flies if one.out_of_range]
    if stretched:
        told.append(
            f"Reynolds number outside the range of the drag law (30 to 4000): {', '.join(stretched)}."
        )
    told.append("How drag goes with the water is seen with: flybench sink law FLY")
    return told


def _record(found: OtherWater) -> dict[str, Any]:
    return {
        "water": {"temperature_k": found.water.temperature, "salinity": found.water.salinity},
        "learned_from": found.learned.record(),
        "flies": [
            {
                "code": one.sunk.fly,
                "variant": one.sunk.build.code,
                "measured_m_s": one.sunk.speed,
                "measured_temperature_k": one.sunk.temperature,
                "sink_speed_m_s": one.speed,
                "standard_uncertainty_m_s": one.uncertainty,
                "change": one.change,
                "change_standard_uncertainty": one.change_uncertainty,
                "reynolds": one.reynolds,
                "density_assumed": one.density_assumed,
                "out_of_range": one.out_of_range,
            }
            for one in found.flies
        ],
    }
