"""What drifts say of the river, and the fly to tie on next: in sentences, and as machine form."""

from __future__ import annotations

from typing import Any

from flybench.jobs.river.adjust import Adjustment
from flybench.rig.advice.takes import FEW, SURE, Takes
from flybench.rig.advice.touches import WANTED, Belief, Interval
from flybench.telling.table import aligned, paragraph
from flybench.telling.wording import counted

_FAR = 0.2
"""Chance of touching off the wanted one, beyond which something else than the fly should change [-] (judgement)."""


def lines(found: Adjustment) -> list[str]:
    """Return the advice first, then the flies that were looked at, the water as believed now, and what takes tell."""
    return [
        advice_line(found),
        paragraph(
            f"As the water is now believed to be, {_point(found)} touches the bottom in {found.next.now:.0%} of drifts. "
            "One drift in four is wanted."
        ),
        *_looked_at(found),
        *_water(found.next.before, found.next.after),
        *_takes(found),
    ]


def _point(found: Adjustment) -> str:
    return found.session.reports[-1].point


def advice_line(found: Adjustment) -> str:
    """Return what to tie on next, in a sentence or two."""
    point = found.next
    if point.stays:
        other = " No fly of the box does better: change leader, slack or entry."
        return paragraph(f"Stay with {_point(found)}.{other if abs(point.now - WANTED) > _FAR else ''}")
    away = counted(abs(point.steps), "fly", "flies")
    way = "deeper" if point.steps > 0 else "shallower"
    return paragraph(
        f"Tie on {point.best.name}, {away} {way} in this water: it touches the bottom in {point.best.chance:.0%} of drifts."
    )


def _looked_at(found: Adjustment) -> list[str]:
    """Return the flies that were looked at, by how often each touches."""
    rows = [[one.name, f"{one.chance:.0%}", _mark(found, one.name)] for one in found.next.looked_at]
    return [f"  {line}" for line in aligned(rows, [False, True, False])]


def _mark(found: Adjustment, name: str) -> str:
    """Return what is to be said of a fly: that it is on the point, or to be tied on."""
    if name == found.next.best.name:
        return "<- stays on" if found.next.stays else "<- tie this on"
    return "<- on the point now" if name.lower() == _point(found).lower() else ""


def _water(before: Belief, after: Belief) -> list[str]:
    """Return what is believed of the water, before the drifts and after them."""
    rows = [["the water (80 %)", "before", "now"]]
    rows += [
        [what, _span(first, unit), _span(second, unit)]
        for what, unit, first, second in (
            ("depth", "m", before.depth_interval, after.depth_interval),
            ("surface speed", "m/s", before.speed_interval, after.speed_interval),
            ("depth x speed", "m²/s", before.product_interval, after.product_interval),
        )
    ]
    return aligned(rows, [False, False, False])


def _span(one: Interval, unit: str) -> str:
    return f"{one.low:.2f} to {one.high:.2f} {unit}"


def _takes(found: Adjustment) -> list[str]:
    """Return what takes tell, and a fly of the dropper's pattern for the point."""
    takes, lines = found.takes, []
    if takes.dropper + takes.point:
        lines.append(
            f"Takes: {takes.dropper} on the dropper, {takes.point} on the point. {takes_verdict(takes)}"
        )
    if found.same_pattern is not None:
        offer = found.same_pattern
        lines.append(
            f"Of the dropper's pattern, {offer.name} suits the point: it touches the bottom in {offer.chance:.0%} of "
            "drifts."
        )
    return [paragraph(line, hanging="  ") for line in lines]


def takes_verdict(takes: Takes) -> str:
    """Return what may be said of takes on dropper and point."""
    count = takes.dropper + takes.point
    if count == 0:
        return "No fish took yet, so nothing is known."
    surer = max(takes.dropper_more, 1 - takes.dropper_more)
    fly = "dropper" if takes.dropper_more > 0.5 else "point"
    verdict = f"The {fly} is taken more often, with a probability of {_percent(surer)}."
    if surer < SURE:
        verdict = "It cannot be told which fly is taken more often."
    if count < FEW:
        return f"{verdict} {counted(count, 'take')} may be mere chance."
    return verdict


def _percent(share: float) -> str:
    """Return a probability as text, never quite certain."""
    return "more than 99%" if share > 0.99 else f"{share:.0%}"


def record(found: Adjustment) -> dict[str, Any]:
    """Return the machine form of an adjustment, SI units."""
    point = found.next
    return {
        "reports": len(found.session.reports),
        "touch_chance_now": point.now,
        "next": {"point": point.best.name, "touch_chance": point.best.chance, "steps": point.steps},
        "looked_at": [{"point": one.name, "touch_chance": one.chance} for one in point.looked_at],
        "before": _belief_record(point.before),
        "after": _belief_record(point.after),
        "takes": {
            "dropper": found.takes.dropper,
            "point": found.takes.point,
            "dropper_more": found.takes.dropper_more,
            "verdict": takes_verdict(found.takes),
        },
        "pattern_offer": None if found.same_pattern is None else found.same_pattern.name,
    }


def _belief_record(belief: Belief) -> dict[str, list[float]]:
    spans = {
        "depth_80_m": belief.depth_interval,
        "surface_speed_80_m_s": belief.speed_interval,
        "product_80_m2_s": belief.product_interval,
    }
    return {name: [one.low, one.middle, one.high] for name, one in spans.items()}
