"""`flybench sink drag`: what drags a measured fly has."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from flybench.catalog.search.cells import NOTHING
from flybench.cli.options.catalog import catalog_option, opened
from flybench.cli.options.output import json_option, said
from flybench.quantity import COVERAGE_FACTOR, Measured, rounded
from flybench.telling.table import aligned

if TYPE_CHECKING:
    from flybench.jobs.sink.drags import Drags, FlyDrag

_HEAD = ["fly", "cm/s", "weight mN", "how", "drag area mm²", "C", "bare beads", "Re"]


@click.command(name="drag", epilog="For example:  flybench sink drag style:hackled")
@click.argument("query", nargs=-1)
@catalog_option
@json_option
def command(query: tuple[str, ...], address: str | None, as_json: bool) -> None:
    """Show the drag of measured flies, from the least to the most, with ± (k = 2).

    Drag area is 2 W / (density x speed²). C, the drag coefficient, is on the bead's frontal area. "Bare beads" is the
    dressing factor: as many bare beads of that size would drag as much. Re is on the bead's diameter (without a
    bead: on the hook's gape).

    QUERY as in: flybench fly list --help
    """
    from flybench.jobs.sink.drags import drags

    found = drags(opened(address), query)
    said(_record(found)) if as_json else _print(found)


def _print(found: Drags) -> None:
    head, *lines = aligned(
        [_HEAD, *(_row(one) for one in found.flies)],
        [False, True, True, False, True, True, True, True],
    )
    click.echo(click.style(head, bold=True))
    for line in lines:
        click.echo(line)
    for remark in found.remarks:
        click.echo(remark, err=True)


def _row(one: FlyDrag) -> list[str]:
    sunk = one.sunk
    speed = rounded(sunk.speed * 100, COVERAGE_FACTOR * (sunk.own**2 + sunk.shared**2) ** 0.5 * 100)
    if one.drag is None or sunk.weight is None:
        return [sunk.fly, " ± ".join(speed), NOTHING, "not known", NOTHING, NOTHING, NOTHING, NOTHING]
    drag = one.drag
    return [
        sunk.fly,
        " ± ".join(speed),
        _text(sunk.weight.weight, 1e3),
        sunk.weight.way.value,
        _text(drag.area, 1e6),
        _text(drag.coefficient),
        _text(drag.dressing_factor),
        f"{drag.reynolds:.0f}",
    ]


def _text(value: Measured | None, factor: float = 1.0) -> str:
    return NOTHING if value is None else " ± ".join(rounded(value.value * factor, value.expanded * factor))


def _record(found: Drags) -> dict[str, Any]:
    return {"flies": [_fly_record(one) for one in found.flies], "remarks": found.remarks}


def _fly_record(one: FlyDrag) -> dict[str, Any]:
    sunk, drag = one.sunk, one.drag
    return {
        "code": sunk.fly,
        "variant": sunk.build.code,
        "sink_speed_m_s": sunk.speed,
        "standard_uncertainty_m_s": (sunk.own**2 + sunk.shared**2) ** 0.5,
        "temperature_k": sunk.temperature,
        "drag": None
        if drag is None or sunk.weight is None
        else {
            "submerged_weight_n": sunk.weight.weight.value,
            "submerged_weight_u_n": sunk.weight.weight.standard_uncertainty,
            "weight_from": sunk.weight.way.value,
            "drag_area_m2": drag.area.value,
            "drag_area_u_m2": drag.area.standard_uncertainty,
            "drag_coefficient": None if drag.coefficient is None else drag.coefficient.value,
            "drag_coefficient_u": None if drag.coefficient is None else drag.coefficient.standard_uncertainty,
            "dressing_factor": None if drag.dressing_factor is None else drag.dressing_factor.value,
            "dressing_factor_u": None
            if drag.dressing_factor is None
            else drag.dressing_factor.standard_uncertainty,
            "reynolds": drag.reynolds,
            "below_bare_bead": drag.below_bare_bead,
        },
    }
