"""`flybench rig adjust`: tell what happened, hear what to tie on next."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.cli.options.river import CAUTION, asked_from, rig_options

if TYPE_CHECKING:
    from flybench.jobs.river.adjust import Adjusted
    from flybench.jobs.river.session import Session
    from flybench.rig.odds.feedback import Interval


@click.command(
    name="adjust",
    epilog='For example:  flybench rig adjust --depth "1 m" --surface-speed "0.6 m/s" --point M1 --drifts 6 --touched never  '
    "then, with the fly that it named,  flybench rig adjust --point M2 --drifts 6 --touched 1",
)
@click.option("--point", metavar="FLY", help="The point fly of these drifts.")
@click.option("--dropper", metavar="FLY", help="The dropper, where there was one.")
@click.option(
    "--drifts", type=click.IntRange(1, 1000), default=6, show_default=True, help="Drifts with this rig."
)
@click.option(
    "--touched",
    metavar="N|WORD",
    help="Drifts that touched bottom: a number, never, sometimes or every-time.",
)
@click.option("--dropper-takes", type=click.IntRange(0, 1000), default=0, help="Fish that took the dropper.")
@click.option("--point-takes", type=click.IntRange(0, 1000), default=0, help="Fish that took the point.")
@click.option("--undo", is_flag=True, help="Take back what was told last.")
@click.option(
    "--session",
    "path",
    type=click.Path(path_type=Path, dir_okay=False),
    default=Path("rig-session.json"),
    show_default=True,
    help="File that keeps water, tackle and what happened; delete it at the next run.",
)
@click.option(
    "--box",
    multiple=True,
    metavar="QUERY",
    help="Flies to choose from, as in: fly list --help.  [default: all]",
)
@rig_options
@click.option("--seconds", default=8.0, show_default=True, help="Length of a drift.")
@catalog_option
@json_option
@click.pass_context
def command(
    context: click.Context,
    /,
    point: str | None,
    dropper: str | None,
    drifts: int,
    touched: str | None,
    dropper_takes: int,
    point_takes: int,
    undo: bool,
    path: Path,
    box: tuple[str, ...],
    seconds: float,
    address: str | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Tell what happened in some drifts; hear what that says of the water, and what to tie on the point.

    Touching bottom now and then is right, on every drift is too deep, never is too shallow (common practice). Touches tell
    depth times speed, hardly each apart. Water and tackle are told once and kept in the session file.
    """
    from flybench.jobs.river.adjust import adjust
    from flybench.jobs.river.asked import current_of
    from flybench.jobs.river.box import Known
    from flybench.jobs.river.session import Happened, Session, read_session, write_session

    kept = read_session(path)
    asked = asked_from(options)
    if undo:
        session = (kept or Session(asked, seconds)).undone()
        write_session(path, session)
        click.echo(f"Taken back; {len(session.happened)} told before.", err=True)
        if not session.happened:
            return
    elif point is None or touched is None:
        raise click.UsageError("Say what happened: --point FLY --drifts 6 --touched never (or --undo).")
    else:
        if kept is not None and _water_told(context):
            raise click.UsageError(
                f"{path} holds water and tackle already. At a new run delete it, or name another --session."
            )
        begun = kept or Session(asked, seconds)
        session = begun.after(Happened(point, dropper, drifts, touched, dropper_takes, point_takes))
    known = Known(opened(address))
    current = current_of(session.asked)
    found = adjust(known, session, known.box(box, current.water))
    if not undo:
        write_session(path, session)
    said(_record(found, session)) if as_json else _print(found, session)


def _water_told(context: click.Context) -> bool:
    """Tell whether depth or speed was typed."""
    source = click.core.ParameterSource.COMMANDLINE
    names = (
        "depth",
        "surface_speed",
        "float_distance",
        "leader_length",
        "leader_diameter",
        "hold",
        "entry",
        "bed",
    )
    return any(context.get_parameter_source(name) is source for name in names)


def _print(found: Adjusted, session: Session) -> None:
    last = session.happened[-1]
    click.echo(click.style(_advice(found, last.point), bold=True))
    click.echo(
        f"  {last.point} touches in {found.now:.0%} of drifts as the water is believed to be; one in four is wanted."
    )
    for one in found.looked_at:
        mark = "  <-" if one.name == found.best.name else ""
        click.echo(f"    {one.name:<16} {one.chance:>4.0%}{mark}")
    click.echo(_belief(found))
    if found.takes.dropper + found.takes.point:
        click.echo(
            f"Takes: {found.takes.dropper} on the dropper, {found.takes.point} on the point. {found.takes.verdict}"
        )
    if found.pattern_offer is not None:
        offer = found.pattern_offer
        click.echo(
            f"  The dropper's pattern for the point: {offer.name}, which touches in {offer.chance:.0%} of drifts."
        )
    click.echo(CAUTION, err=True)


def _advice(found: Adjusted, point: str) -> str:
    if found.stays:
        far = abs(found.now - 0.25) > 0.2
        less = " No fly of the box does better: change leader, slack or entry." if far else ""
        return f"Stay with {point}.{less}"
    way = "deeper" if found.steps > 0 else "shallower"
    rungs = f"{abs(found.steps)} step{'s' * (abs(found.steps) > 1)} {way}"
    return (
        f"Tie on {found.best.name} ({rungs} in this water): it touches in {found.best.chance:.0%} of drifts."
    )


def _belief(found: Adjusted) -> str:
    before, after = found.before, found.after
    return (
        f"Water, 80 %: depth {_span(after.depth_interval)} m (was {_span(before.depth_interval)}), "
        f"surface {_span(after.speed_interval)} m/s (was {_span(before.speed_interval)}); "
        f"depth x speed {_span(after.product_interval)} m²/s (was {_span(before.product_interval)})."
    )


def _span(one: Interval) -> str:
    return f"{one.low:.2f} to {one.high:.2f}"


def _record(found: Adjusted, session: Session) -> dict[str, Any]:
    return {
        "told": len(session.happened),
        "touch_chance_now": found.now,
        "next": {"point": found.best.name, "touch_chance": found.best.chance, "steps": found.steps},
        "looked_at": [{"point": one.name, "touch_chance": one.chance} for one in found.looked_at],
        "before": _interval_record(found.before),
        "after": _interval_record(found.after),
        "takes": {
            "dropper": found.takes.dropper,
            "point": found.takes.point,
            "dropper_more": found.takes.dropper_more,
            "verdict": found.takes.verdict,
        },
        "pattern_offer": None if found.pattern_offer is None else found.pattern_offer.name,
    }


def _interval_record(belief: Any) -> dict[str, list[float]]:
    spans = {
        "depth_80_m": belief.depth_interval,
        "surface_speed_80_m_s": belief.speed_interval,
        "product_80_m2_s": belief.product_interval,
    }
    return {name: [one.low, one.middle, one.high] for name, one in spans.items()}
