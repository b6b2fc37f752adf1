"""What makes a rig or its drift doubtful: which flags are raised of tackle, water and what came of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from flybench.quantity import Floats
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.leader import BY_HAND, Hold, Rig, Tackle
from flybench.rig.water.current import Current
from flybench.rig.water.level import FishLevel

HELD_BACK = 0.7
"""Lead over surface speed below which the current lifts the flies [-]: steady shapes of this chain are highest from 0.8
to 1 and fall steeply below 0.7 (judgement)."""
FAST = 1.001
"""Lead over surface speed above which the line drags the flies along [-]: 1 but for rounding; the same shapes are a tenth to
a third higher at 1 than at 0.8."""
SKATES = 0.05
"""Depth above which a point is said to skate at the end of a drift [m] (judgement: no angler sees it as sunk)."""
SINKS = 0.01
"""Way down in the second half of a drift from which a point is still sinking [m] (judgement: the slowest rigs sink ten times
as far)."""
HALF = 0.5
"""Share of draws, or of the drift, from which on "more than half" is said [-]."""


def leader_flags(tackle: Tackle, current: Current, level: FishLevel) -> tuple[str, ...]:
    """Return the flag of a leader that cannot reach down to the fish's level where the water is as deep as its ± (k = 2)
    allows, if it is such."""
    deepest = current.floor + current.depth.expanded
    return ("leader-short",) if tackle.reach < deepest - level.high else ()


def rig_flags(rig: Rig, current: Current, goal: Goal) -> tuple[str, ...]:
    """Return what makes a rig doubtful in this water before it drifts: words of flags.FLAGS."""
    raised = [*current.flags, *leader_flags(rig.tackle, current, goal.level)]
    if not all(fly.has_drag_of_a_fly(current.water.density) for fly in rig.flies):
        raised.append("unlike-a-fly")
    if point_slower([fly.speed.value for fly in rig.flies]):
        raised.append("point-slower")
    lead = {Hold.STILL: 0.0, Hold.FLOATING: math.inf}.get(rig.tackle.hold, rig.tackle.lead_speed or 0.0)
    if rig.tackle.floats:
        raised.append("film-drag")
    raised.extend(dropper_flags(rig.tackle))
    if lead < HELD_BACK * current.surface_speed.value:
        raised.append("held-back")
    if rig.tackle.hold in BY_HAND and lead > FAST * current.surface_speed.value:
        raised.append("led-fast")
    return tuple(raised)


def dropper_flags(tackle: Tackle) -> tuple[str, ...]:
    """Return what is doubtful of where the droppers are tied: a tag that reaches past the next fly, and a dropper that is in
    the air even where the line hangs straight down."""
    raised = []
    if any(tackle.tag > upper - lower for upper, lower in pairwise([*tackle.gaps, 0.0])):
        raised.append("tag-long")
    if tackle.gaps and tackle.reach - tackle.gaps[0] + tackle.tag <= 0:
        raised.append("dropper-in-air")
    return tuple(raised)


def skating_flags(depth: Floats) -> tuple[str, ...]:
    """Return the flag of a point that ends at the surface and is not on its way down: depths on an even clock [m]."""
    return ("skates",) if depth[-1] < SKATES and not _sinking(depth) else ()


def airborne_flags(depth: Floats) -> tuple[str, ...]:
    """Return the flag of a dropper that ends in the air and is not on its way down: depths on an even clock [m]."""
    return ("dropper-in-air",) if depth[-1] < 0 and not _sinking(depth) else ()


def _sinking(depth: Floats) -> bool:
    """Tell whether a fly still goes down in the second half of a drift: depths on an even clock [m]."""
    return bool(depth[-1] - depth[len(depth) // 2] > SINKS)


def point_slower(speeds: Sequence[float]) -> bool:
    """Tell whether the point, the last, sinks slower [m/s] than a dropper."""
    return speeds[-1] < max(speeds)


def outcome_flags(down: float, landing: float, on_bed: float) -> tuple[str, ...]:
    """Return what is doubtful of shares of drifts that are down in time and of the useful drift on the bed [-], and of a
    landing [m] that is infinite."""
    raised = []
    if math.isinf(landing):
        raised.append("level-not-reached" if down < HALF else "seldom-down")
    if on_bed > HALF:
        raised.append("mostly-grounded")
    return tuple(raised)
