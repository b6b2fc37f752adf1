"""Predicted flies, and beads for a wanted speed: tables, remarks and machine form."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from flybench.catalog.search.cells import NOTHING
from flybench.shop.next_fly.predicting import BeadFor, Predicted, Prediction
from flybench.telling.numbers import measured_text, percent, plus_minus
from flybench.telling.sink import learning
from flybench.telling.table import fitted, paragraph

_BEST = 8
"""Beads shown (judgement)."""
_SLOW = 0.2
"""Below this speed a tenth of a cm/s is shown [m/s] (judgement)."""
_NOTE = (
    "Speeds are predicted, for one fly tied so; 95 of 100 such flies sink within the interval. ± is the expanded "
    "uncertainty (k = 2)."
)


def lines(found: Prediction) -> list[str]:
    """Return a table of the predicted flies, and what they rest on."""
    rows = [["fly", "cm/s", "95 of 100", "weight mN"]]
    rows += [
        [one.build.code, *_speed(one), measured_text(one.weight.weight.weight, 1e3)] for one in found.flies
    ]
    told = [*_measured(found.flies), *_rests_on(found)]
    return [*fitted(rows, [False, True, True, True]), "", *map(paragraph, told)]


def _measured(flies: Sequence[Predicted]) -> list[str]:
    """Return of which flies the variant was measured, with its speed: the prediction is then for one more fly of it."""
    return [
        f"{one.measured.code} was measured: {plus_minus(one.measured.speed, one.measured.uncertainty, 100)} cm/s in this "
        f"water, {_counted(one.measured.flies)}. What is predicted is one more fly tied so."
        for one in flies
        if one.measured is not None
    ]


def _counted(flies: int) -> str:
    """Return the mean of how many flies a speed is."""
    return "one fly of it" if flies == 1 else f"the mean of {flies} flies of it"


def _rests_on(found: Prediction) -> list[str]:
    water = learning.water_line(found.water, found.water_from)
    return [_NOTE, water, *learning.lines(found.learned)]


def _speed(one: Predicted) -> tuple[str, str]:
    low, high = one.forecast.interval
    places = 1 if one.forecast.speed < _SLOW else 0
    speed = f"{one.forecast.speed * 100:.{places}f}"
    return f"{speed} predicted", f"{low * 100:.{places}f} to {high * 100:.{places}f}"


def bead_lines(found: Prediction, tried: Sequence[BeadFor], wanted: str) -> list[str]:
    """Return a table of the beads that come nearest to a wanted speed, the choice, and what it rests on."""
    rows = [["bead", "name", "cm/s", "95 of 100", "hits", "faster", "on hand"]]
    for one in tried[:_BEST]:
        stock = NOTHING if one.on_hand is None else f"{one.on_hand:g}"
        odds = [percent(one.hit), percent(one.faster), stock]
        rows.append([one.fly.bead or "none", one.name, *_speed(one.fly), *odds])
    table = fitted(rows, [False, False, True, True, True, True, True], 1)
    odds_note = f"Hits: so many of 100 flies sink within 10 % of {wanted}. Faster: so many sink at {wanted} or faster."
    known = _measured([one.fly for one in tried[:_BEST]])
    return [*table, "", *map(paragraph, [_choice(tried, wanted), *known, odds_note, *_rests_on(found)])]


def _choice(tried: Sequence[BeadFor], wanted: str) -> str:
    best = tried[0]
    if all(one.faster < 0.5 for one in tried):
        fastest = max(tried, key=lambda one: one.fly.forecast.speed)
        return f"None of these beads reaches {wanted}: the fastest fly is that on {_name(fastest)}."
    if all(one.faster > 0.5 for one in tried):
        slowest = min(tried, key=lambda one: one.fly.forecast.speed)
        return f"With each of these beads it sinks faster than {wanted}: the slowest fly is that on {_name(slowest)}."
    return f"For {wanted} take {_name(best)}: {percent(best.hit)} of such flies come within 10 %. Tie one and drop it."


def _name(one: BeadFor) -> str:
    return one.fly.bead or "no bead"


def shown(found: Prediction, tried: Sequence[BeadFor] | None = None) -> list[Predicted]:
    """Return the flies that the table shows: all, or those on the beads that come nearest."""
    return found.flies if tried is None else [one.fly for one in tried[:_BEST]]


def outside(flies: Sequence[Predicted]) -> list[str]:
    """Return where predicted flies leave what was measured: to be taken with care."""
    ways: dict[str, list[str]] = {}
    for one in flies:
        for way in one.outside:
            ways.setdefault(way, []).append(one.build.code)
    return [f"Outside what was measured: {way} ({', '.join(codes)})" for way, codes in ways.items()]


def remarks(flies: Sequence[Predicted]) -> list[str]:
    """Return what was assumed of the flies, each once."""
    return list(dict.fromkeys(remark for one in flies for remark in _assumed(one)))


def _assumed(one: Predicted) -> Iterable[str]:
    if one.build.assumed:
        assumed = ", ".join(one.build.assumed)
        yield f"{one.build.code}: the recipe does not say all, so what is usual for its style was taken: {assumed}."
    yield from one.weight.remarks


def record(found: Prediction, tried: Sequence[BeadFor] | None = None) -> dict[str, Any]:
    """Return predicted flies in machine form, with the odds of each bead where beads were tried."""
    by_bead = {} if tried is None else {one.fly.bead: one for one in tried}
    return {
        "water": {**learning.water_record(found.water), "from": found.water_from},
        "learned_from": learning.record(found.learned),
        "flies": [_fly_record(one, by_bead.get(one.bead)) for one in found.flies],
    }


def _fly_record(one: Predicted, tried: BeadFor | None) -> dict[str, Any]:
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
        "interval_m_s": list(one.forecast.interval),
        "interval_level": 0.95,
        "submerged_weight_n": weight.weight.value,
        "submerged_weight_u_n": weight.weight.standard_uncertainty,
        "weight_from": weight.way.value,
        "outside": one.outside,
        "assumed": list(one.build.assumed),
        **_measured_record(one),
        **odds,
    }


def _measured_record(one: Predicted) -> dict[str, Any]:
    """Return what was measured of the variant, where it was."""
    known = one.measured
    if known is None:
        return {}
    told = {
        "variant": known.code,
        "sink_speed_m_s": known.speed,
        "standard_uncertainty_m_s": known.uncertainty,
        "flies": known.flies,
    }
    return {"measured": told}
