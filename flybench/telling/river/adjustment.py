"""What drifts say of the river, and what to tie on next: in sentences, and as machine form."""

from __future__ import annotations

import math
from typing import Any

from flybench.jobs.river.adjust import Adjustment
from flybench.rig.advice.belief import Belief, Interval
from flybench.rig.advice.choosing import Candidate
from flybench.rig.advice.next_point import SURPRISE, OtherWay
from flybench.rig.advice.takes import FEW, SURE, Takes
from flybench.shop.river.goal_words import goal_words, of_ten, touches_off, upstream
from flybench.telling.numbers import percent
from flybench.telling.river import drift
from flybench.telling.river.tackle import tackle_words
from flybench.telling.table import aligned, paragraph
from flybench.telling.wording import counted

COLUMNS = (
    "touch: drifts in which a fly touches the bottom. fish, bed: share of the stretch that the point is with the fish, or "
    "lies on the bed. worth: the one less the other, less what is missing of what is wanted."
)
"""What the columns of the flies are."""
_LIKELY = 0.5
"""Probability from which the water is said not to be as typed [-] (judgement: more likely than not)."""


def lines(found: Adjustment) -> list[str]:
    """Return the advice first, then whether the river fits, the flies looked at, the water as believed, and the takes."""
    return [
        advice_line(found),
        *_other_way(found.next.other),
        *surprise_lines(found),
        paragraph(goal_words(found.goal), hanging="  "),
        *_looked_at(found),
        paragraph(COLUMNS, hanging="  "),
        *_water(found.next.before, found.next.after),
        paragraph(f"Line: {tackle_words(found.next.best.tackle)}.", hanging="  "),
        *_takes(found),
    ]


def _point(found: Adjustment) -> str:
    return found.session.reports[-1].point


def advice_line(found: Adjustment) -> str:
    """Return what to tie on next, in a sentence or two."""
    point = found.next
    off = touches_off(point.best.touched, found.goal)
    touches = f"a fly touches the bottom in {of_ten(point.best.touched)}{off}{_landed(point.best)}."
    if point.stays:
        told = f"Stay with {_point(found)}: as the water is now believed to be, {touches}"
        if off and point.other is None:
            told += " No fly of the box does better: change leader, slack or entry."
        return paragraph(told + _lighter_dropper(found), hanging="  ")
    away = counted(abs(point.steps), "fly", "flies")
    way = "deeper" if point.steps > 0 else "shallower"
    told = f"Tie on {point.best.names[-1]}, {away} {way} in this water: {touches}"
    return paragraph(told + _lighter_dropper(found), hanging="  ")


def _lighter_dropper(found: Adjustment) -> str:
    """Return that a dropper is to be changed too where flies touch far more often than wanted on the best point as well."""
    touched = found.next.best.touched
    if found.session.reports[-1].dropper is None or touched < found.goal.touches:
        return ""
    return " Take a lighter dropper too, or none." if touches_off(touched, found.goal) else ""


def _landed(one: Candidate) -> str:
    """Return how far upstream to land a rig, where it comes down in time."""
    return f"; land it {upstream(one.landing)} upstream of the fish" if math.isfinite(one.landing) else ""


def _other_way(other: OtherWay | None) -> list[str]:
    if other is None:
        return []
    told = f"Or keep the point and {other.change}: a fly then touches in {of_ten(other.found.touched)}."
    return [paragraph(told, hanging="  ")]


def surprise_lines(found: Adjustment) -> list[str]:
    """Return that what was seen does not fit the water as typed, where it does not."""
    point = found.next
    if point.surprise >= SURPRISE and point.not_as_typed < _LIKELY:
        return []
    told = (
        f"What you saw was a 1 in {_one_in(point.surprise)} chance in the water as typed: its depth or its speed, or the "
        "seconds of a drift, are probably not as typed. The water below allows for that. Measure the depth with the staff, "
        "time a float and a drift, and begin a new session with what you find."
    )
    return [paragraph(told, hanging="  ")]


def _one_in(chance: float) -> str:
    """Return how rare a chance is, to one or two figures."""
    rare = 1 / max(chance, 1e-3)
    step = 10 ** math.floor(math.log10(rare))
    told = f"{max(round(rare / step) * step, 2):.0f}"
    return f"{told} or smaller" if chance < 1e-3 else told


def _looked_at(found: Adjustment) -> list[str]:
    """Return the flies that were looked at, the shallowest first."""
    rows = [["point", "touch", "fish", "bed", "worth", ""]]
    rows += [
        [
            one.names[-1],
            percent(one.touched),
            percent(one.at_level),
            percent(one.on_bed),
            f"{one.worth:+.2f}",
            mark,
        ]
        for one in found.next.looked_at
        for mark in [_mark(found, one)]
    ]
    return [f"  {line}" for line in aligned(rows, [False, *[True] * 4, False])]


def _mark(found: Adjustment, one: Candidate) -> str:
    """Return what is to be said of a fly: that it is on the point, or to be tied on."""
    if one is found.next.best:
        return "<- stays on" if found.next.stays else "<- tie this on"
    return "<- on the point now" if one is found.next.here else ""


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
            f"Of the dropper's pattern, {offer.names[-1]} suits the point: a fly touches the bottom in "
            f"{of_ten(offer.touched)}."
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
    return "more than 99 %" if share > 0.99 else percent(share)


def record(found: Adjustment) -> dict[str, Any]:
    """Return the machine form of an adjustment, SI units."""
    point = found.next
    return {
        "reports": len(found.session.reports),
        "wanted": drift.goal_record(found.goal),
        "wading_caution": drift.wading_caution(found.current),
        "touch_chance_now": point.here.touched,
        "next": {"point": point.best.names[-1], "touch_chance": point.best.touched, "steps": point.steps}
        | {"worth": point.best.worth, "landing_m": drift.finite(point.best.landing)},
        "other_way": None
        if point.other is None
        else {
            "change": point.other.change,
            "touch_chance": point.other.found.touched,
            "worth": point.other.found.worth,
        },
        "flags": list(found.flags),
        "surprise": point.surprise,
        "water_not_as_typed": point.not_as_typed,
        "looked_at": [
            {"point": one.names[-1], "touch_chance": one.touched, "worth": one.worth}
            for one in point.looked_at
        ],
        "before": _belief_record(point.before),
        "after": _belief_record(point.after),
        "takes": {
            "dropper": found.takes.dropper,
            "point": found.takes.point,
            "dropper_more": found.takes.dropper_more,
            "verdict": takes_verdict(found.takes),
        },
        "pattern_offer": None if found.same_pattern is None else found.same_pattern.names[-1],
    }


def _belief_record(belief: Belief) -> dict[str, list[float]]:
    spans = {
        "depth_80_m": belief.depth_interval,
        "surface_speed_80_m_s": belief.speed_interval,
        "product_80_m2_s": belief.product_interval,
    }
    return {name: [one.low, one.middle, one.high] for name, one in spans.items()}
