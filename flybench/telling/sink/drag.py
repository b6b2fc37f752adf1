"""The drag of measured flies: table, remarks and machine form."""

from __future__ import annotations

from typing import Any

from flybench.catalog.search.cells import NOTHING
from flybench.shop.fly.weights import WAYS
from flybench.shop.speeds.measured_flies import Drags, FlyDrag
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.weight.submerged import SubmergedWeight
from flybench.telling.numbers import measured_text, plus_minus
from flybench.telling.table import fitted, paragraph

_HEAD = ["fly", "cm/s", "weight mN", "area mm²", "coefficient", "bare beads", "Re"]
_RIGHT = [False, True, True, True, True, True, True]
_NOTE = (
    "± is the expanded uncertainty (k = 2). The coefficient is on the bead's frontal area. Bare beads: as many bare "
    "beads of that size would drag as much. Re is the Reynolds number on the bead's diameter (without a bead: on the "
    "hook's gape)."
)


def lines(found: Drags) -> list[str]:
    """Return a table from the least drag to the most, what its columns mean, and how the weights are known."""
    table = fitted([_HEAD, *(_row(one) for one in found.flies)], _RIGHT)
    return [*table, "", paragraph(_NOTE), *map(paragraph, _ways(found))]


def _row(one: FlyDrag) -> list[str]:
    fly, drag = one.measured, one.drag
    speed = plus_minus(fly.speed, uncertainty(fly), 100)
    if drag is None or fly.weight is None:
        return [fly.fly, speed, "not known", NOTHING, NOTHING, NOTHING, NOTHING]
    return [
        fly.fly,
        speed,
        measured_text(fly.weight.weight, 1e3),
        measured_text(drag.area, 1e6),
        measured_text(drag.coefficient),
        measured_text(drag.dressing_factor),
        f"{drag.reynolds:.0f}",
    ]


def uncertainty(fly: MeasuredFly) -> float:
    """Return the standard uncertainty of a fly's speed, its own and its shared part together [m/s]."""
    return float((fly.own**2 + fly.shared**2) ** 0.5)


def _ways(found: Drags) -> list[str]:
    """Return in which way the weight of which fly is known."""
    by_way: dict[str, list[str]] = {}
    for one in found.flies:
        if one.measured.weight is not None:
            by_way.setdefault(_way(one.measured.weight), []).append(one.measured.fly)
    ways = [f"{way} ({', '.join(dict.fromkeys(flies))})" for way, flies in by_way.items()]
    return [f"How the weight in water is known: {'; '.join(ways)}."] if ways else []


def _way(weight: SubmergedWeight) -> str:
    return WAYS[weight.way]


def remarks(found: Drags) -> list[str]:
    """Return what should be known of the weights."""
    return found.remarks


def record(found: Drags) -> dict[str, Any]:
    """Return the same in machine form."""
    return {"flies": [_fly_record(one) for one in found.flies], "remarks": found.remarks}


def _fly_record(one: FlyDrag) -> dict[str, Any]:
    fly = one.measured
    return {
        "code": fly.fly,
        "variant": fly.build.code,
        "sink_speed_m_s": fly.speed,
        "standard_uncertainty_m_s": uncertainty(fly),
        "temperature_k": fly.temperature,
        "drag": _drag_record(one),
    }


def _drag_record(one: FlyDrag) -> dict[str, Any] | None:
    drag, weight = one.drag, one.measured.weight
    if drag is None or weight is None:
        return None
    coefficient, factor = drag.coefficient, drag.dressing_factor
    return {
        "submerged_weight_n": weight.weight.value,
        "submerged_weight_u_n": weight.weight.standard_uncertainty,
        "weight_from": weight.way.value,
        "drag_area_m2": drag.area.value,
        "drag_area_u_m2": drag.area.standard_uncertainty,
        "drag_coefficient": None if coefficient is None else coefficient.value,
        "drag_coefficient_u": None if coefficient is None else coefficient.standard_uncertainty,
        "dressing_factor": None if factor is None else factor.value,
        "dressing_factor_u": None if factor is None else factor.standard_uncertainty,
        "reynolds": drag.reynolds,
        "below_bare_bead": drag.below_bare_bead,
    }
