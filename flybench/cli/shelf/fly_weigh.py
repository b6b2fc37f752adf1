"""`flybench fly weigh`: what a fly weighs in water, and its readings recorded."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.quantity import parse, rounded

if TYPE_CHECKING:
    from flybench.jobs.shelf.weigh import FlyWeight, Scale
    from flybench.sinking.weight.scale import Gain


@click.command(
    name="weigh",
    epilog='For example:  flybench fly weigh M1 --dry "0.213 g" --in-water "0.187 g" --resolution "1 mg"',
)
@click.argument("code")
@click.option("--dry", metavar="QUANTITY", help='What the scale shows of the dry fly, such as "0.213 g".')
@click.option(
    "--in-water", metavar="QUANTITY", help="What it shows with the fly hanging in water, hanger tared."
)
@click.option(
    "--resolution", default="1 mg", show_default=True, metavar="QUANTITY", help="Step of its last digit."
)
@click.option(
    "--repeatability",
    default="0 mg",
    show_default=True,
    metavar="QUANTITY",
    help="Standard deviation of weighing the same again.",
)
@click.option("--count", default=1, show_default=True, metavar="N", help="Like flies weighed together.")
@click.option("--temperature", default="20 degC", show_default=True, metavar="QUANTITY", help="Of the water.")
@click.option("--unwetted", is_flag=True, help="The dressing still holds air.")
@catalog_option
@json_option
def command(  # one argument per option
    code: str,
    dry: str | None,
    in_water: str | None,
    resolution: str,
    repeatability: str,
    count: int,
    temperature: str,
    unwetted: bool,
    address: str | None,
    as_json: bool,
) -> None:
    """Weigh the fly CODE: record what a scale shows of it, dry and hanging in water.

    Without readings: what is known of its weight from its parts, and what weighing would gain.

    Hang the fly, wetted through, from fine thread into a small vessel that stands beside the scale or is tared on it.
    Keep mains plugs and cables dry; use a battery scale if you have one.
    """
    from flybench.jobs.shelf.weigh import Scale, weigh_fly

    scale = Scale(parse(resolution, "kg", "resolution"), parse(repeatability, "kg", "repeatability"), count)
    dried = None if dry is None else parse(dry, "kg", "dry")
    wet = None if in_water is None else parse(in_water, "kg", "in-water")
    kelvin = parse(temperature, "K", "temperature")
    found = weigh_fly(opened(address), code, dried, wet, scale, kelvin, not unwetted)
    said(_record(found)) if as_json else _print(found)


def _print(found: FlyWeight) -> None:
    weight = found.weight
    force = " ± ".join(rounded(weight.weight.value * 1e3, weight.weight.expanded * 1e3))
    mass = " ± ".join(rounded(weight.mass.value * 1e3, weight.mass.expanded * 1e3))
    click.echo(click.style(f"{found.fly}: {force} mN in water (k = 2), {found.weighed.way}", bold=True))
    click.echo(f"  dry {mass} g, density {weight.density.value:.0f} kg/m³")
    doubt = weight.relative_uncertainty
    click.echo(f"  standard uncertainty {doubt:.1%}: as much in drag, {doubt / 2:.1%} in a predicted speed")
    if found.gain is not None:
        _print_gain(found.gain, found.scale)
    if found.too_coarse and (found.recorded or found.gain is not None):
        _print_too_coarse(found)
    from flybench.sinking.weight.submerged import FLAGS

    for flag in weight.flags:
        click.echo(click.style(f"  {flag}: {FLAGS[flag].meaning} {FLAGS[flag].cure}", fg="yellow"))
    if found.recorded:
        click.echo("Recorded.")
    for remark in found.weighed.remarks:
        click.echo(remark, err=True)


def _print_gain(gain: Gain, scale: Scale) -> None:
    step = scale.resolution * 1e6
    click.echo(
        f"  On a scale of {step:g} mg: weighed dry {gain.weighed_dry.weight:.1%}, dry and in water "
        f"{gain.weighed_twice.weight:.1%} (one fly, by the last digit alone)"
    )


def _print_too_coarse(found: FlyWeight) -> None:
    more = found.enough_together
    together = "" if more is None else f", or weigh {more} like flies together (--count {more})"
    click.echo(
        click.style(
            f"  That scale is too coarse: its last digit alone makes {found.last_digit:.1%} of weight and drag, "
            f"{found.last_digit / 2:.1%} of a predicted speed. Use one of {found.fine_enough * 1e6:g} mg{together}.",
            fg="yellow",
        )
    )


def _record(found: FlyWeight) -> dict[str, Any]:
    weight, gain = found.weight, found.gain
    return {
        "fly": found.fly,
        "way": weight.way.value,
        "submerged_weight_n": weight.weight.value,
        "submerged_weight_u_n": weight.weight.standard_uncertainty,
        "mass_kg": weight.mass.value,
        "mass_u_kg": weight.mass.standard_uncertainty,
        "displaced_m3": weight.displaced.value,
        "displaced_u_m3": weight.displaced.standard_uncertainty,
        "density_kg_m3": weight.density.value,
        "water_density_kg_m3": weight.water_density,
        "flags": list(weight.flags),
        "recorded": found.recorded,
        "gain": None
        if gain is None
        else {
            "now": gain.now.weight,
            "weighed_dry": gain.weighed_dry.weight,
            "weighed_twice": gain.weighed_twice.weight,
        },
        "scale": {
            "resolution_kg": found.scale.resolution,
            "count": found.scale.count,
            "last_digit": found.last_digit,
            "too_coarse": found.too_coarse,
            "needed_resolution_kg": found.fine_enough,
        },
        "remarks": found.weighed.remarks,
    }
