"""Flies chosen for a river: as a table with the verdict in sentences, and as machine form."""

from __future__ import annotations

from typing import Any

from flybench.jobs.river.rigs import RigChoice, RigDrift
from flybench.rig.advice.choosing import Candidate
from flybench.telling.river import drift
from flybench.telling.table import aligned, paragraph
from flybench.telling.wording import counted

_HALF = 0.5
"""Share of drifts that should come down in time, below which a cure is named (judgement)."""
_TUNED = 3
"""Ways to land and lead the flies that are shown (judgement)."""


def lines(found: RigChoice, top: int) -> list[str]:
    """Return the ranked flies as a table, its heads first, then the water and the verdict in sentences.

    ``top``, most rigs that are shown.
    """
    droppers = len(found.tackle.gaps)
    names = ["dropper"] if droppers == 1 else [f"dropper {number + 1}" for number in range(droppers)]
    rows = [
        ["", *[""] * droppers, "", "down", "at fish's", "on the", ""],
        ["", *names, "point", "in time", "level", "bed", "score"],
        *(_row(one) for one in found.choice.ranked[:top]),
    ]
    table = aligned(rows, [False] * (droppers + 2) + [True] * 4)
    return [*table, "", drift.water_line(found.current), *_verdict(found), *_tuned(found)]


def _row(one: Candidate) -> list[str]:
    return [
        "=" if one.tie else "",
        *one.names,
        f"{one.in_time:.0%} ± {2 * one.in_time_doubt:.0%}",
        f"{one.at_level:.0%}",
        f"{one.on_bed:.0%}",
        f"{one.utility:+.2f}",
    ]


def _verdict(found: RigChoice) -> list[str]:
    """Return how many rigs were tried, which are as good as the best, and where to land them."""
    best = found.choice.ranked[0]
    ties = sum(one.tie for one in found.choice.ranked)
    tried = (
        f"{counted(found.choice.tried, 'rig')} of {counted(len(found.box.flies), 'fly', 'flies')} tried; "
        f'"down in time" is within {found.aim.target:g} m of where the flies land.'
    )
    lines = [tried]
    if best.in_time < _HALF:
        lines.append(
            "None of these comes down in time in half of the drifts. Land the flies farther upstream (--target), use more "
            "or thinner leader or a steeper entry, or take heavier flies."
        )
    elif ties > 1:
        lines.append(
            f"{counted(ties, 'rig')}, marked =, are as good as the best as far as {found.choice.draws} drifts tell: tie "
            "on whichever you like."
        )
    lines.append(f"Land the flies {found.aim.target:g} m upstream of the fish.")
    return [paragraph(line, hanging="  ") for line in lines]


def _tuned(found: RigChoice) -> list[str]:
    """Return the best ways to land and lead the flies."""
    return [
        paragraph(
            f"Tuned: {' + '.join(one.names)}, landed {one.target:.1f} m upstream of the fish{_led(one)}: score "
            f"{one.utility:+.2f}.",
            hanging="  ",
        )
        for one in found.tuned[:_TUNED]
    ]


def _led(one: Candidate) -> str:
    return "" if one.lead_speed is None else f" and led at {one.lead_speed:.2f} m/s"


def record(found: RigChoice, top: int, why: RigDrift | None) -> dict[str, Any]:
    """Return the machine form of a choice, SI units; ``why``, the drift of one of its rigs."""
    return {
        "flies": len(found.box.flies),
        "tried": found.choice.tried,
        "draws": found.choice.draws,
        "ranked": [_candidate(one) for one in found.choice.ranked[:top]],
        "tuned": [_candidate(one) for one in found.tuned[:top]],
        "why": None if why is None else drift.record(why),
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
        "share_in_band": one.at_level,
        "share_grounded": one.on_bed,
        "behind": one.behind,
        "tie": one.tie,
    }
