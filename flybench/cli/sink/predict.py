"""`flybench sink predict`: speeds of flies not tied yet, or the bead for a wanted speed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flybench.catalog.search.cells import NOTHING
from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.water import learn_option, water_of, water_options
from flybench.quantity import parse, rounded
from flybench.telling.table import aligned

if TYPE_CHECKING:
    from flybench.jobs.sink.predict import BeadFor, Predicted, Prediction

_BEST = 8


@click.command(
    name="predict",
    epilog="For example:  flybench sink predict --pattern moss-hackle --hook hk-jig-14 --bead bd-tu-sl-28 "
    '--step 6=3 --temperature "6 degC"',
)
@click.argument("variants", metavar="[VARIANT...]", nargs=-1)
@click.option("--pattern", metavar="CODE", help="A pattern, instead of a variant.")
@click.option("--hook", metavar="CODE", help="The hook, or another one than the variant's.")
@click.option("--bead", "beads", metavar="CODE", multiple=True, help="The bead, or others; may be repeated.")
@click.option(
    "--step", "steps", metavar="N=AMOUNT", multiple=True, help="Another amount of step N; 0 leaves it out."
)
@click.option("--for-speed", "wanted", metavar="QUANTITY", help='Which bead makes it sink so: "30 cm/s".')
@water_options
@learn_option
@click.option("--plot", type=click.Path(path_type=Path), metavar="FILE", help="Picture: PNG, PDF or SVG.")
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
    salinity: str,
    learn_from: str,
    plot: Path | None,
    address: str | None,
    as_json: bool,
) -> None:
    """Predict how fast one fly sinks that is not tied yet, from the measured ones.

    Each speed comes with the interval that holds 95 of 100 such flies, how far the same model goes astray on
    flies that were measured, and where the fly leaves what was ever measured.
    """
    from flybench.jobs.sink.predict import Wish, beads_for, predict

    wish = Wish(variants, pattern, hook, beads, _steps(steps))
    kelvin, salt = water_of(temperature, salinity)
    settings: dict[str, Any] = {
        "learn_from": (learn_from,) if learn_from else (),
        "temperature": kelvin,
        "salinity": salt,
    }
    tried = None
    if wanted is None:
        found = predict(opened(address), wish, **settings)
    else:
        tried, found = beads_for(opened(address), wish, parse(wanted, "m/s", "speed"), **settings)
    if plot is not None:
        _plot(found, plot)
    _tell(found, tried, wanted, as_json)


def _steps(texts: tuple[str, ...]) -> dict[int, float]:
    found: dict[int, float] = {}
    for text in texts:
        step, _, amount = text.partition("=")
        try:
            number, given = int(step), float(amount)
        except ValueError:
            raise click.BadParameter(f'"{text}" is not N=AMOUNT, as in 6=3', param_hint="--step") from None
        if number in found:
            raise click.BadParameter(f"step {number} has two amounts", param_hint="--step")
        found[number] = given
    return found


def _tell(found: Prediction, tried: list[BeadFor] | None, wanted: str | None, as_json: bool) -> None:
    if as_json:
        said(_record(found, tried))
    elif tried is None:
        _print(found)
    else:
        _print_beads(found, tried, wanted or "")


def _plot(found: Prediction, path: Path) -> None:
    from flybench.jobs.sink.pictures import plot_prediction  # loads matplotlib

    plot_prediction(found, path)
    click.echo(f"Picture: {click.format_filename(path)}", err=True)


def _print(found: Prediction) -> None:
    rows = [["fly", "bead", "cm/s", "95 of 100 flies", "weight mN"]]
    rows += [[one.build.code, one.bead or "none", *_speed(one), _weight(one)] for one in found.flies]
    head, *lines = aligned(rows, [False, False, True, True, True])
    click.echo(click.style(head, bold=True))
    for line in lines:
        click.echo(line)
    _print_basis(found, found.flies)


def _speed(one: Predicted) -> tuple[str, str]:
    low, high = one.forecast.interval
    places = 1 if one.forecast.speed < 0.2 else 0
    speed = f"{one.forecast.speed * 100:.{places}f}"
    return f"{speed} predicted", f"{low * 100:.{places}f} to {high * 100:.{places}f}"


def _weight(one: Predicted) -> str:
    weight = one.weight.weight.weight
    return " ± ".join(rounded(weight.value * 1e3, weight.expanded * 1e3))


def _print_basis(found: Prediction, shown: list[Predicted]) -> None:
    celsius = found.water.temperature - 273.15
    salt = f", {found.water.salinity * 1e3:g} g/kg salt" if found.water.salinity else ""
    click.echo(f"Water: {celsius:.3g} °C ({found.water_from}){salt}.")
    for line in found.learned.basis():
        click.echo(line)
    for told, codes in _outside(shown).items():
        click.echo(
            click.style(f"Outside what was measured: {told} ({', '.join(codes)})", fg="yellow"), err=True
        )
    for remark in dict.fromkeys(remark for one in shown for remark in _remarks(one)):
        click.echo(remark, err=True)


def _outside(shown: list[Predicted]) -> dict[str, list[str]]:
    """Return in which way flies leave what was measured, and which do."""
    found: dict[str, list[str]] = {}
    for one in shown:
        for told in one.outside:
            found.setdefault(told, []).append(one.build.code)
    return found


def _remarks(one: Predicted) -> list[str]:
    assumed = ", ".join(one.build.assumed)
    usual = (
        [f"{one.build.code}: usual for its style, as the recipe does not say: {assumed}."] if assumed else []
    )
    return [*usual, *one.weight.remarks]


def _print_beads(found: Prediction, tried: list[BeadFor], wanted: str) -> None:
    rows = [["bead", "name", "cm/s", "95 of 100 flies", "within 10 %", "faster", "on hand"]]
    for one in tried[:_BEST]:
        stock = NOTHING if one.on_hand is None else f"{one.on_hand:g}"
        odds = [f"{one.hit:.0%}", f"{one.faster:.0%}", stock]
        rows.append([one.fly.bead or "none", one.name, *_speed(one.fly), *odds])
    head, *lines = aligned(rows, [False, False, True, True, True, True, True])
    click.echo(click.style(head, bold=True))
    for line in lines:
        click.echo(line)
    click.echo(_verdict(tried, wanted))
    _print_basis(found, [one.fly for one in tried[:_BEST]])


def _verdict(tried: list[BeadFor], wanted: str) -> str:
    best = tried[0]
    if all(one.faster < 0.5 for one in tried):
        fastest = max(tried, key=lambda one: one.fly.forecast.speed)
        return f"No bead of these reaches {wanted}: the fastest is {fastest.fly.bead or 'no bead'}."
    if all(one.faster > 0.5 for one in tried):
        slowest = min(tried, key=lambda one: one.fly.forecast.speed)
        return f"All of these are faster than {wanted}: the slowest is {slowest.fly.bead or 'no bead'}."
    bead = best.fly.bead or "no bead"
    return f"For {wanted}: {bead}, which hits within 10 % in {best.hit:.0%} of flies. Tie one and drop it."


def _record(found: Prediction, tried: list[BeadFor] | None) -> dict[str, Any]:
    by_bead = {} if tried is None else {one.fly.bead: one for one in tried}
    return {
        "water": {
            "temperature_k": found.water.temperature,
            "salinity": found.water.salinity,
            "from": found.water_from,
        },
        "learned_from": found.learned.record(),
        "flies": [_fly_record(one, by_bead.get(one.bead)) for one in found.flies],
    }


def _fly_record(one: Predicted, tried: BeadFor | None) -> dict[str, Any]:
    low, high = one.forecast.interval
    weight = one.weight.weight
    odds = (
        {}
        if tried is None
        else {"faster": tried.faster, "within_10_percent": tried.hit, "on_hand": tried.on_hand}
    )
    return {
        "code": one.build.code,
        "pattern": one.build.pattern,
        "bead": one.bead,
        "predicted": True,
        "sink_speed_m_s": one.forecast.speed,
        "standard_uncertainty_m_s": one.forecast.uncertainty,
        "interval_m_s": [low, high],
        "interval_level": 0.95,
        "submerged_weight_n": weight.weight.value,
        "submerged_weight_u_n": weight.weight.standard_uncertainty,
        "weight_from": weight.way.value,
        "outside": one.outside,
        "assumed": list(one.build.assumed),
        **odds,
    }
