"""Twelve named outings in invented waters, with flies of an invented box, and the table of what ``rig choose`` advises."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from flybench.rig.advice.choosing import choose
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Tackle
from flybench.rig.water.current import Current
from flybench.shop.river.goal_texts import goal_from
from flybench.shop.river.goal_words import of_ten
from flybench.shop.river.rig_texts import RigTexts, current_from
from flybench.shop.river.tackle_texts import tackle_from
from flybench.shop.river.typed_flies import fly_of_texts

BOX = {
    "N08": ("8 cm/s", "0.3 mN"),
    "N12": ("12 cm/s", "0.55 mN"),
    "N16": ("16 cm/s", "0.9 mN"),
    "N21": ("21 cm/s", "1.4 mN"),
    "N27": ("27 cm/s", "2.1 mN"),
    "N34": ("34 cm/s", "3.1 mN"),
    "N42": ("42 cm/s", "4.6 mN"),
    "N51": ("51 cm/s", "6.6 mN"),
    "N60": ("60 cm/s", "9 mN"),
}
"""Invented flies: sink speed and weight in water."""


@dataclass(frozen=True)
class Outing:
    """An invented day: its name, what is special about it, water, tackle and goal as typed, and how many droppers."""

    name: str
    special: str
    texts: RigTexts
    droppers: int = 0


def _water(depth: str, speed: str, leader: str, **more: Any) -> RigTexts:
    return replace(RigTexts(depth=depth, surface_speed=speed, leader_length=leader, bed="gravel"), **more)


OUTINGS = (
    Outing("Shallow margin", "", _water("0.4 m", "0.3 m/s", "0.6 m")),
    Outing("Glide", "", _water("0.8 m", "0.3 m/s", "1.2 m")),
    Outing("Winter glide", "2 °C", _water("0.8 m", "0.3 m/s", "1.2 m", temperature="2 degC")),
    Outing("Shy fish in the glide", "laid flat", _water("0.8 m", "0.3 m/s", "1.2 m", entry="flat")),
    Outing("Run", "", _water("0.8 m", "0.6 m/s", "1.2 m")),
    Outing("Fast run", "", _water("0.8 m", "0.9 m/s", "1.2 m")),
    Outing("Run, two flies", "", _water("0.8 m", "0.6 m/s", "1.6 m"), 1),
    Outing(
        "Pocket water",
        "boulders, fish along 0.5 m, 2 m upstream at most",
        _water("0.5 m", "0.6 m/s", "0.8 m", bed="boulder", stretch="0.5 m", farthest="2 m"),
    ),
    Outing("Deep run", "floating", _water("1.3 m", "0.6 m/s", "2 m")),
    Outing(
        "Deep run, tight line",
        "tip 1.5 m up, led at 0.5 m/s",
        _water("1.3 m", "0.6 m/s", "3.2 m", hold="tight", lead_speed="0.5 m/s"),
    ),
    Outing("Deep run, thin leader", "0.10 mm", _water("1.3 m", "0.6 m/s", "2 m", leader_diameter="0.10 mm")),
    Outing("Deep pool", "", _water("2.5 m", "0.25 m/s", "3 m")),
)
"""The twelve, shallow and slow ones first."""


def box() -> list[RigFly]:
    """Return the flies."""
    return [fly_of_texts(name, speed, weight, name) for name, (speed, weight) in BOX.items()]


def asked(outing: Outing) -> tuple[Current, Tackle, Goal]:
    """Return water, tackle and goal of an outing."""
    current = current_from(outing.texts)
    return current, tackle_from(outing.texts, outing.droppers), goal_from(outing.texts, current)


def row(outing: Outing) -> list[str]:
    """Return an outing's row of the table: what ``flybench rig choose`` advises there."""
    found = choose(box(), *asked(outing))
    best, texts = found.advised, outing.texts
    *droppers, point = best.names
    land = f"{best.landing:.1f} m" if math.isfinite(best.landing) else "too seldom down"
    return [
        outing.name,
        f"{texts.depth} at {texts.surface_speed}",
        ", ".join([f"{texts.leader_length} of leader", *([outing.special] if outing.special else [])]),
        " under ".join([point, *droppers]),
        land,
        of_ten(best.touched).removesuffix(" drifts"),
    ]


HEAD = ["outing", "water", "fished with", "tie on", "land it upstream", "touches in"]


def table() -> str:
    """Return the table of the twelve outings, for a page: half a minute of work."""
    rows = [HEAD, ["---"] * len(HEAD), *map(row, OUTINGS)]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in rows) + "\n"


def box_line() -> str:
    """Return the flies in words."""
    flies = ", ".join(f"{name} ({speed}, {weight})" for name, (speed, weight) in BOX.items())
    return f"The box: {flies}.\n"
