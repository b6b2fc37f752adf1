"""Rigs side by side: as a table, and as machine form."""

from __future__ import annotations

import math
from typing import Any

from flybench.jobs.river.rigs import RigComparison, RigDrift
from flybench.telling.river import drift as one_drift
from flybench.telling.table import aligned, paragraph
from flybench.telling.wording import counted


def lines(found: RigComparison) -> list[str]:
    """Return rigs side by side as a table, its head first, then how good its shares are."""
    rows = [
        ["", "comes down", "after", "after", "at fish's", "on the", "deepest"],
        ["rig", "to the fish", "s", "m", "level", "bed", "m"],
        *(_row(str(number), one) for number, one in enumerate(found.drifts, 1)),
    ]
    names = [paragraph(f"{number}: {name}", hanging="   ") for number, name in enumerate(found.names, 1)]
    remark = (
        f"Times, ways and depths are those of the middle drift. All rigs went through the same "
        f"{counted(found.drifts[0].drift.draws, 'draw')} of the river; a share is good to about 0.04."
    )
    table = aligned(rows, [False] + [True] * 6)
    return [*table, *names, "", one_drift.water_line(found.drifts[0].current), paragraph(remark)]


def _row(name: str, one: RigDrift) -> list[str]:
    drift = one.drift
    return [
        name,
        f"{drift.share_reached:.0%}",
        _number(drift.time_to_level.middle),
        _number(drift.way_to_level.middle),
        f"{drift.share_at_level:.0%}",
        f"{drift.share_on_bed:.0%}",
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
