"""`flybench rig drift`: one rig's drift as a table, a picture, a machine form."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.river import CAUTION, asked_from, rig_options, seed_option
from flybench.telling.table import aligned

if TYPE_CHECKING:
    from flybench.jobs.river.rigs import Drifted
    from flybench.rig.odds.drift import Fan

_ROWS = 9


@click.command(
    name="drift",
    epilog='For example:  flybench rig drift --point "35 cm/s, 3 mN" --dropper "20 cm/s, 1 mN" --depth "1.2 m" '
    '--surface-speed "0.6 m/s" --bed cobble --plot drift.png',
)
@click.option("--point", required=True, metavar="FLY", help='Code of a measured fly, or "30 cm/s, 2.0 mN".')
@click.option(
    "--dropper", "droppers", multiple=True, metavar="FLY", help="The same, up to two, the upper first."
)
@rig_options
@click.option("--seconds", default=8.0, show_default=True, help="Length of the drift.")
@click.option(
    "--draws", default=200, show_default=True, help="Draws of all that is not known; 0: best estimate."
)
@click.option("--no-turbulence", is_flag=True, help="Level water.")
@seed_option
@click.option("--plot", type=click.Path(path_type=Path), metavar="FILE", help="Side view: PNG, PDF or SVG.")
@catalog_option
@json_option
def command(
    point: str,
    droppers: tuple[str, ...],
    seconds: float,
    draws: int,
    no_turbulence: bool,
    seed: int,
    plot: Path | None,
    address: str | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Show where the flies of one rig go: depth against time and drift, time on the bottom, line angle, tension.

    Depth, speed, bed, flies, slack, line and the river's turbulence are drawn anew for each drift: what is shown is the
    middle one with the 5 and 95 % points.
    """
    from flybench.jobs.river.rigs import drift_rig

    asked = asked_from(options)
    found = drift_rig(opened(address), asked, point, droppers, seconds, draws, seed, not no_turbulence)
    said(record(found)) if as_json else _print(found)
    if plot is not None:
        from flybench.jobs.river.pictures import plot_drift  # loads matplotlib

        plot_drift(found, plot)
        click.echo(f"Picture: {click.format_filename(plot)}", err=True)


def _print(found: Drifted) -> None:
    drift = found.drift
    flies = drift.flies
    names = [f"{fly.name} ({fly.role})" if fly.name != fly.role else fly.role for fly in flies]
    rows = [["s", "drift m", *(f"{name} m" for name in names), "5 to 95 %", "line °", "mN"]]
    step = max((len(drift.times) - 1) // (_ROWS - 1), 1)
    for k in range(0, len(drift.times), step):
        rows.append(
            [
                f"{drift.times[k]:.1f}",
                f"{flies[-1].x[k] - flies[-1].x[0]:.2f}",
                *(f"{fly.depth[k]:.2f}" for fly in flies),
                f"{flies[-1].depth_low[k]:.2f} to {flies[-1].depth_high[k]:.2f}",
                f"{math.degrees(drift.angle[k]):.0f}",
                f"{drift.tension[k] * 1e3:.1f}",
            ]
        )
    head, *lines = aligned(rows, [True] * len(rows[0]))
    click.echo(click.style(head, bold=True))
    for line in lines:
        click.echo(line)
    for line in summary(found):
        click.echo(line)
    for flag in drift.flags:
        click.echo(click.style(f"{flag}: {_meaning(flag)}", fg="yellow"), err=True)
    click.echo(CAUTION, err=True)


def summary(found: Drifted) -> list[str]:
    """Return what came of a drift, in words."""
    drift = found.drift
    low, high = (found.drift.floor - one for one in (found.band.high, found.band.low))
    lines = [f"Band of the fish: {low:.2f} to {high:.2f} m deep; stones' tops at {drift.floor:.2f} m."]
    if drift.draws:
        lines.append(f"The point comes down to it in {drift.share_reached:.0%} of {drift.draws} draws:")
    lines.append(
        f"  after {_fan(drift.time_to_band, 's')}, {_fan(drift.drift_to_band, 'm')} down from where it landed"
    )
    lines.append(
        f"  in the band for {drift.share_in_band:.0%} of the drift, on the bed for {drift.share_grounded:.0%}"
    )
    return lines


def _fan(fan: Fan, unit: str) -> str:
    if not math.isfinite(fan.middle):
        return "never (in the middle draw)"
    if fan.low == fan.high:
        return f"{fan.middle:.1f} {unit}"
    high = f"{fan.high:.1f}" if math.isfinite(fan.high) else "never"
    return f"{fan.middle:.1f} {unit} ({fan.low:.1f} to {high})"


def _meaning(flag: str) -> str:
    from flybench.rig.odds.flags import FLAGS

    return f"{FLAGS[flag].meaning} {FLAGS[flag].cure}"


def record(found: Drifted) -> dict[str, Any]:
    """Return the machine form of a drift."""
    drift = found.drift
    return {
        "time_s": drift.times.tolist(),
        "flies": [
            {
                "role": fly.role,
                "name": fly.name,
                "x_m": fly.x.tolist(),
                "x_5_m": fly.x_low.tolist(),
                "x_95_m": fly.x_high.tolist(),
                "depth_m": fly.depth.tolist(),
                "depth_5_m": fly.depth_low.tolist(),
                "depth_95_m": fly.depth_high.tolist(),
                "speed_m_s": fly.speed,
                "weight_n": fly.weight,
            }
            for fly in drift.flies
        ],
        "tension_n": drift.tension.tolist(),
        "angle_rad": drift.angle.tolist(),
        "time_to_band_s": _finite(drift.time_to_band.middle),
        "time_to_band_5_95_s": [_finite(drift.time_to_band.low), _finite(drift.time_to_band.high)],
        "drift_to_band_m": _finite(drift.drift_to_band.middle),
        "drift_to_band_5_95_m": [_finite(drift.drift_to_band.low), _finite(drift.drift_to_band.high)],
        "share_reached": drift.share_reached,
        "share_in_band": drift.share_in_band,
        "share_grounded": drift.share_grounded,
        "floor_m": drift.floor,
        "draws": drift.draws,
        "flags": list(drift.flags),
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
