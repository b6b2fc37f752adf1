"""`flybench rig choose`: point and dropper from the box for this water."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.river import CAUTION, asked_from, rig_options, seed_option
from flybench.quantity import parse
from flybench.telling.table import aligned

if TYPE_CHECKING:
    from flybench.jobs.river.rigs import Chosen
    from flybench.rig.odds.aim import Aim
    from flybench.rig.odds.choosing import Candidate
    from flybench.rig.water.current import Current


@click.command(
    name="choose",
    epilog='For example:  flybench rig choose --box "bead:2.5..3.5" --depth "1.2 m" --surface-speed "0.6 m/s" --bed cobble',
)
@click.option(
    "--box",
    multiple=True,
    metavar="QUERY",
    help="Flies in the box, as in: fly list --help.  [default: all measured]",
)
@click.option(
    "--box-csv",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Or a CSV file with the columns name, speed, weight.",
)
@rig_options
@click.option(
    "--droppers", type=click.IntRange(0, 2), default=1, show_default=True, help="Droppers above the point."
)
@click.option(
    "--target",
    default="2.5 m",
    show_default=True,
    metavar="QUANTITY",
    help="Way in which the point should be down: the entry distance.",
)
@click.option(
    "--drift-length",
    default="4 m",
    show_default=True,
    metavar="QUANTITY",
    help="From landing to lifting off.",
)
@click.option(
    "--grounding",
    default=1.0,
    show_default=True,
    help="How much worse lying on the bed is than missing the band.",
)
@click.option("--surely", default=0.8, show_default=True, help="Wanted probability of being down in time.")
@click.option("--dropper-band", metavar="TEXT", help="Band of the dropper, as --band, where it counts too.")
@click.option("--dropper-weight", default=0.5, show_default=True, help="How much it counts beside the point.")
@click.option("--top", type=click.IntRange(1, 60), default=8, show_default=True, help="Most rigs to show.")
@click.option(
    "--tune", "tuning", is_flag=True, help="Also try other entry distances and lead speeds for the best."
)
@click.option("--why", "asked_why", metavar="DROPPER,POINT", help="Show the drift of one pair of the box.")
@seed_option
@catalog_option
@json_option
def command(
    box: tuple[str, ...],
    box_csv: Path | None,
    droppers: int,
    top: int,
    tuning: bool,
    asked_why: str | None,
    seed: int,
    address: str | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Choose point and dropper from the box for the water in front of you.

    Each pair drifts many times through water, bed and turbulence drawn anew, all pairs through the same draws. Ranked by
    the share of the drift in the fish's band, less that on the bed times --grounding, less what --surely lacks. Pairs
    that cannot be told from the best are marked "=": tie on whichever you like.
    """
    from flybench.jobs.river.asked import current_of
    from flybench.jobs.river.box import box_from_csv, box_of
    from flybench.jobs.river.rigs import choose_rig, why

    if box and box_csv is not None:
        raise click.UsageError("--box and --box-csv: give the one or the other.")
    asked = asked_from(options)
    current = current_of(asked)
    aim = _aim(current, **options)
    flies = box_from_csv(box_csv) if box_csv is not None else box_of(opened(address), box, current.water)
    found = choose_rig(flies, asked, aim, droppers, seed, tuning)
    shown = None if asked_why is None else why(found, asked_why.split(","), aim.seconds, seed)
    if as_json:
        said(_record(found, top, shown))
        return
    _print(found, top)
    if shown is not None:
        from flybench.cli.rig.drift import summary

        click.echo(click.style(f"Why {asked_why}:", bold=True))
        click.echo("\n".join(summary(shown)))


def _aim(
    current: Current,
    *,
    target: str,
    drift_length: str,
    grounding: float,
    surely: float,
    dropper_band: str | None,
    dropper_weight: float,
) -> Aim:
    """Return the aim as typed."""
    from flybench.jobs.river.asked import band_of_text
    from flybench.rig.odds.aim import Aim

    above = None if dropper_band is None else band_of_text(dropper_band, current)
    return Aim(
        target=parse(target, "m", "target"),
        length=parse(drift_length, "m", "drift-length"),
        grounding=grounding,
        surely=surely,
        dropper_band=above,
        dropper_weight=0.0 if above is None else dropper_weight,
    )


def _print(found: Chosen, top: int) -> None:
    click.echo(
        f"Water {found.current.depth.value:g} m deep, {found.current.surface_speed.value:.2g} m/s at the surface; "
        f"{len(found.box.flies)} flies, {found.choice.tried} rigs tried."
    )
    head = [
        "",
        *(["dropper"] * len(found.tackle.gaps)),
        "point",
        "down in time",
        "in the band",
        "on the bed",
        "worth",
    ]
    rows = [head, *(_row(one) for one in found.choice.ranked[:top])]
    first, *lines = aligned(rows, [False] * (len(head) - 4) + [True] * 4)
    click.echo(click.style(first, bold=True))
    for line in lines:
        click.echo(line.rstrip())
    _verdict(found)
    for one in found.tuned[:3]:
        lead = "" if one.lead_speed is None else f", led at {one.lead_speed:.2f} m/s"
        click.echo(
            f"Tuned: {' + '.join(one.names)}, landed {one.target:.1f} m above the fish{lead}: worth {one.utility:.2f}"
        )
    for remark in found.box.remarks:
        click.echo(remark, err=True)
    _flags(found)
    click.echo(CAUTION, err=True)


def _row(one: Candidate) -> list[str]:
    return [
        "=" if one.tie else "",
        *one.names,
        f"{one.in_time:.0%} ± {2 * one.in_time_doubt:.0%}",
        f"{one.in_band:.0%}",
        f"{one.on_bed:.0%}",
        f"{one.utility:+.2f}",
    ]


def _verdict(found: Chosen) -> None:
    best = found.choice.ranked[0]
    ties = sum(one.tie for one in found.choice.ranked)
    if best.in_time < 0.5:
        click.echo(
            "None of these comes down in time in half of the drifts: land farther upstream (--target), more or thinner "
            "leader, a steeper entry, or heavier flies."
        )
    elif ties > 1:
        click.echo(
            f'{ties} rigs, those shown marked "=", cannot be told from the best over {found.choice.draws} draws: ties.'
        )
    click.echo(f"Land the flies {found.aim.target:g} m above the fish.")


def _flags(found: Chosen) -> None:
    from flybench.rig.odds.flags import FLAGS

    for flag in found.choice.flags:
        click.echo(click.style(f"{flag}: {FLAGS[flag].meaning} {FLAGS[flag].cure}", fg="yellow"), err=True)


def _record(found: Chosen, top: int, shown: Any) -> dict[str, Any]:
    from flybench.cli.rig.drift import record

    return {
        "flies": len(found.box.flies),
        "tried": found.choice.tried,
        "draws": found.choice.draws,
        "ranked": [_candidate(one) for one in found.choice.ranked[:top]],
        "tuned": [_candidate(one) for one in found.tuned[:top]],
        "why": None if shown is None else record(shown),
        "flags": list(found.choice.flags),
        "remarks": found.box.remarks,
    }


def _candidate(one: Candidate) -> dict[str, Any]:
    return {
        "flies": list(one.names),
        "lead_speed_m_s": one.lead_speed,
        "target_m": one.target,
        "utility": one.utility,
        "utility_u": one.doubt,
        "down_in_time": one.in_time,
        "down_in_time_u": one.in_time_doubt,
        "share_in_band": one.in_band,
        "share_grounded": one.on_bed,
        "behind": one.behind,
        "tie": one.tie,
    }
