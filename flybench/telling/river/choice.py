"""Flies chosen for a river: the rig to tie on, a table of those that were tried, and machine form."""

from __future__ import annotations

import math
from typing import Any

from flybench.hydraulics.sphere import GRAVITY
from flybench.jobs.river.rigs import RigChoice, RigDrift
from flybench.rig.advice.choosing import Candidate
from flybench.shop.river.goal_words import goal_words, of_ten, touches_off, upstream
from flybench.telling.numbers import percent
from flybench.telling.river import drift
from flybench.telling.river.tackle import tackle_lines, tackle_record
from flybench.telling.table import fitted, paragraph
from flybench.telling.wording import counted

_NAMED_ABOVE = "->"
"""Mark of the rig that is named above the table."""
_NAMED = 3
"""Flies outside the box that are named (judgement)."""
_MANY = 0.05
"""Share of drifts by which flies touch more often than wanted before that is said [-]: half a drift of ten, as read."""
_TUNED = 3
"""Ways to land and lead the flies that are shown (judgement)."""
_COLUMNS = ["land", "touch", "fish", "bed", "worth"]


def lines(found: RigChoice, top: int) -> list[str]:
    """Return the rig to tie on in words, then the ranked flies as a table, the water, and what the columns are.

    ``top``, most rigs that are shown.
    """
    return [
        *advice(found),
        "",
        *_table(found, top),
        "",
        *(paragraph(line, hanging="  ") for line in _explained(found)),
        drift.water_line(found.current),
        *tackle_lines(found.tackle),
        *_tuned(found),
    ]


def advice(found: RigChoice) -> list[str]:
    """Return what to tie on and how far upstream of the fish to land it."""
    best = found.choice.advised
    *droppers, point = best.names
    tied = ", ".join([f"Point {point}", *(f"dropper {name}" for name in droppers)])
    if math.isfinite(best.landing):
        lands = (
            f"Land them {upstream(best.landing)} upstream of the fish: in {of_ten(found.goal.down)} the point is then down "
            "with them."
        )
    else:
        looked = found.goal.farthest_looked(found.current, best.tackle)
        lands = (
            f"The point is down in time in only {of_ten(best.in_time)}, even if it lands {looked:.1f} m upstream, "
            f"which is as far as was looked: {_sooner(found)}"
        )
    touches = f"A fly touches the bottom in {of_ten(best.touched)}{_not_wanted(found)}."
    return [paragraph(f"{tied}. {lands} {touches}", hanging="  "), *_missing(found)]


def _not_wanted(found: RigChoice) -> str:
    """Return that flies touch far more or less often than is wanted, and which flies would not."""
    touched = found.choice.advised.touched
    off = touches_off(touched, found.goal)
    cure = "heavier flies touch more often"
    if touched > found.goal.touches:
        cure = "lighter flies, or less leader in the water, touch less often"
    return f"{off}: {cure}" if off else ""


def _sooner(found: RigChoice) -> str:
    """Return how to get down sooner; a heavier point is not plain advice where flies touch more often than wanted."""
    if found.choice.advised.touched <= found.goal.touches + _MANY:
        return "use a steeper entry, more or thinner leader, or heavier flies."
    return "a heavier point is down sooner, but touches more often still."


def _missing(found: RigChoice) -> list[str]:
    """Return which fly the box lacks, and where it may come from."""
    lacks = found.missing
    if lacks is None:
        return []
    speed, weight = (
        f"{100 * lacks.speed:.3g} cm/s",
        f"{1e3 * lacks.weight / GRAVITY:.2g} g ({1e3 * lacks.weight:.2g} mN)",
    )
    told = (
        f"The box lacks a point that sinks at about {speed} and weighs about {weight} in water: it would be worth "
        f"{lacks.found.worth:+.2f} instead of {found.choice.advised.worth:+.2f}."
    )
    if found.alike:
        told += (
            f" The catalog has {', '.join(found.alike[:_NAMED])} of about that speed, which --box leaves out."
        )
    else:
        told += f' What can be tied: flybench sink predict --for-speed "{speed}", and flybench sink gaps.'
    return [paragraph(told, hanging="  ")]


def _table(found: RigChoice, top: int) -> list[str]:
    droppers = len(found.tackle.gaps)
    names = ["dropper"] if droppers == 1 else [f"dropper {number + 1}" for number in range(droppers)]
    rows = [["", *names, "point", *_COLUMNS], *(_row(found, one) for one in found.choice.ranked[:top])]
    return fitted(rows, [False] * (droppers + 2) + [True] * len(_COLUMNS))


def _row(found: RigChoice, one: Candidate) -> list[str]:
    mark = "=" if one.tie else ""
    return [
        _NAMED_ABOVE if one is found.choice.advised else mark,
        *one.names,
        f"{one.landing:.1f} m" if math.isfinite(one.landing) else "never",
        percent(one.touched),
        percent(one.at_level),
        percent(one.on_bed),
        f"{one.worth:+.2f}",
    ]


def _explained(found: RigChoice) -> list[str]:
    """Return what the columns are, and how surely the rigs differ."""
    ties = sum(one.tie for one in found.choice.ranked)
    told = [
        goal_words(found.goal),
        f"{_NAMED_ABOVE}: the rig named above. land: how far upstream of the fish; never: too seldom down in time from "
        "anywhere. touch: drifts in which a fly touches the bottom. fish, bed: share of the stretch that the point is with "
        "the fish, or lies on the bed. worth: time with the fish less time on the bed, of all flies as they count, less what "
        "is missing of what is wanted; 0.10 is a tenth of the stretch.",
        f"{counted(found.choice.tried, 'rig')} of {counted(len(found.box.flies), 'fly', 'flies')} tried.",
    ]
    if ties > 1:
        told.append(
            f"{counted(ties, 'rig')}, marked {_NAMED_ABOVE} or =, are as good as the best as far as "
            f"{found.choice.draws.count} drifts tell: {_whichever(found)}"
        )
    return told


def _whichever(found: RigChoice) -> str:
    """Return which of the rigs that are alike to tie on."""
    slower = sum(one.tie and one.slower for one in found.choice.ranked)
    if not slower:
        return "tie on whichever you like."
    points = "the point sinks" if slower == 1 else "the points sink"
    return (
        f"tie on whichever you like. In {slower} of them {points} slower than a dropper, and a light point trails above "
        "a heavy dropper: rather take another."
    )


def _tuned(found: RigChoice) -> list[str]:
    """Return the best ways to land and lead the flies."""
    return [
        paragraph(f"Tuned: {' + '.join(one.names)}{_handled(one)}: worth {one.worth:+.2f}.", hanging="  ")
        for one in found.tuned[:_TUNED]
    ]


def _handled(one: Candidate) -> str:
    """Return how a rig is landed and led."""
    ways = [] if math.isinf(one.landing) else [f"landed {one.landing:.1f} m upstream of the fish"]
    if one.tackle.usual_slack > 0:
        ways.append(f"with {percent(one.tackle.usual_slack)} of the leader loose")
    if one.tackle.lead_speed is not None:
        ways.append(f"led at {one.tackle.lead_speed:.2f} m/s")
    return "".join(f", {way}" for way in ways)


def record(found: RigChoice, top: int, why: RigDrift | None) -> dict[str, Any]:
    """Return the machine form of a choice, SI units; ``why``, the drift of one of its rigs."""
    return {
        "flies": len(found.box.flies),
        "tried": found.choice.tried,
        "draws": found.choice.draws.count,
        "tackle": tackle_record(found.tackle),
        "wanted": drift.goal_record(found.goal),
        "advised": _candidate(found.choice.advised),
        "ranked": [_candidate(one) for one in found.choice.ranked[:top]],
        "tuned": [_candidate(one) for one in found.tuned[:top]],
        "missing": _missing_record(found),
        "wading_caution": drift.wading_caution(found.current),
        "why": None if why is None else drift.record(why),
        "flags": list(found.choice.flags),
        "remarks": found.box.remarks,
    }


def _missing_record(found: RigChoice) -> dict[str, Any] | None:
    lacks = found.missing
    if lacks is None:
        return None
    return {
        "speed_m_s": lacks.speed,
        "weight_n": lacks.weight,
        "worth": lacks.found.worth,
        "alike": list(found.alike),
    }


def _candidate(one: Candidate) -> dict[str, Any]:
    return {
        "flies": list(one.names),
        "lead_speed_m_s": one.tackle.lead_speed,
        "slack": one.tackle.usual_slack,
        "landing_m": drift.finite(one.landing),
        "middle_way_m": drift.finite(one.middle_way),
        "worth": one.worth,
        "worth_u": one.doubt,
        "down_in_time": one.in_time,
        "down_in_time_u": one.in_time_doubt,
        "touched": one.touched,
        "share_in_band": one.at_level,
        "share_grounded": one.on_bed,
        "dropper_share_in_band": one.dropper,
        "dropper_share_grounded": one.dropper_on_bed,
        "behind": one.behind,
        "tie": one.tie,
    }
