"""Rigs side by side: as a table, and as machine form."""

from __future__ import annotations

import math
from typing import Any

from flybench.jobs.river.rigs import RigComparison, RigDrift
from flybench.rig.water.current import Current
from flybench.rig.water.wading import hard_to_wade
from flybench.shop.river.goal_words import goal_words
from flybench.telling.numbers import percent
from flybench.telling.river import drift as one_drift
from flybench.telling.river.tackle import PLANE, tackle_words
from flybench.telling.table import aligned, paragraph
from flybench.telling.wording import counted


def lines(found: RigComparison) -> list[str]:
    """Return rigs side by side as a table, its head first, then how good its shares are."""
    rows = [
        ["", "land", "down", "touches", "at fish's", "on the", "deepest"],
        ["rig", "m", "in time", "", "level", "bed", "m"],
        *(_row(str(number), one) for number, one in enumerate(found.drifts, 1)),
    ]
    names = [
        paragraph(f"{number}: {name} ({tackle_words(one.rig.tackle)})", hanging="   ")
        for number, (name, one) in enumerate(zip(found.names, found.drifts, strict=True), 1)
    ]
    remark = (
        "land: how far upstream of the fish to land the flies. Depths are those of the middle drift, shares those of the "
        f"stretch where the fish lie. All rigs went through the same {counted(found.drifts[0].drift.draws, 'draw')} of the "
        "river; a share is good to about 0.04."
    )
    table = aligned(rows, [False] + [True] * 6)
    water = one_drift.water_line(found.drifts[0].current)
    goal = paragraph(goal_words(found.drifts[0].goal))
    return [*table, *names, "", water, goal, paragraph(remark), paragraph(PLANE)]


def doubt_lines(found: RigComparison) -> list[str]:
    """Return what makes a rig doubtful and what to do about it, a paragraph each, with the numbers of the rigs it is said of
    where that are not all."""
    raised = dict.fromkeys(flag for one in found.drifts for flag in one.drift.flags)
    return [one_drift.flag_line(flag, _of_rigs(found, flag)) for flag in raised]


def _of_rigs(found: RigComparison, flag: str) -> str:
    """Return which rigs have a flag: nothing for all, else " (rig 2)" or " (rigs 1, 3)"."""
    numbers = [str(number) for number, one in enumerate(found.drifts, 1) if flag in one.drift.flags]
    if len(numbers) == len(found.drifts):
        return ""
    return f" ({'rig' if len(numbers) == 1 else 'rigs'} {', '.join(numbers)})"


def hardest_water(found: RigComparison) -> Current:
    """Return the water of all rigs that is the hardest to stand in: where depth times speed is the most."""
    waters = [one.current for one in found.drifts]
    return max(waters, key=lambda one: (hard_to_wade(one), one.depth.value * one.surface_speed.value))


def _row(name: str, one: RigDrift) -> list[str]:
    drift = one.drift
    return [
        name,
        _number(drift.landing),
        percent(drift.share_down),
        percent(drift.share_touched),
        percent(drift.share_at_level),
        percent(drift.share_on_bed),
        f"{float(drift.flies[-1].depth.max()):.2f}",
    ]


def _number(value: float) -> str:
    return f"{value:.1f}" if math.isfinite(value) else "never"


def record(found: RigComparison) -> dict[str, Any]:
    """Return the machine form of rigs side by side."""
    return {
        "rigs": [
            {"change": name, **one_drift.record(one)}
            for name, one in zip(found.names, found.drifts, strict=True)
        ]
    }
