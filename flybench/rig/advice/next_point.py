"""The fly to tie on next: the river as believed after all drifts, and the box's flies by how often they would touch."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from flybench.quantity import Floats, Measured
from flybench.rig.advice.aim import Aim
from flybench.rig.advice.outcomes import outcomes
from flybench.rig.advice.touches import (
    WANTED,
    Belief,
    HowOften,
    Touches,
    prior_belief,
    touch_chance,
    updated_belief,
)
from flybench.rig.odds.draws import best_estimate
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Rig
from flybench.rig.water.current import Current

_AWAY = (1, 2, 3, 5, 8, 12, 18, 27)
"""Places looked at away from the fly on the point, by how deep each gets: near ones each, far ones by leaps (judgement:
eight tries take a few seconds)."""
_ALIKE = 0.1
"""How much nearer to the wanted chance another fly must come, over that chance, to be tied on instead [-] (judgement)."""
_CLEAR_DRIFTS = 3
"""Drifts that must all have touched, or all not, before another fly is named whatever the chances say (judgement)."""
_REACH = Aim(target=3.0, length=6.0)
"""The drift over which flies are put in order by how soon they come down: 3 m to come down, 6 m in all (judgement)."""


@dataclass(frozen=True)
class Offer:
    """A fly for the point, and the chance [-] that it touches in a drift as the water is believed to be now."""

    name: str
    chance: float


@dataclass(frozen=True)
class NextPoint:
    """What is believed before and after all drifts, and the fly to tie on next.

    now, the chance that the fly on the point touches in a drift [-]; best, the fly to tie on, which may be the same;
    steps, how many flies of the box it is deeper (above 0) or shallower (below 0); looked_at, the flies tried.
    """

    before: Belief
    after: Belief
    now: float
    best: Offer
    steps: int
    looked_at: tuple[Offer, ...]

    @property
    def stays(self) -> bool:
        """Tell whether the fly on the point should stay."""
        return self.steps == 0


def next_point(
    drifts: Sequence[tuple[Rig, Touches]], flies: Sequence[RigFly], current: Current, seconds: float
) -> NextPoint:
    """Return what drifts say of the water, and which fly of a box to tie on next.

    The belief about depth and surface speed is updated with every set of drifts in turn; wanted is a chance of touching
    of about one in four.

    Parameters: drifts, rigs with what they touched, one or more, the last one first in the hand now; flies of the box;
    seconds of a drift [s]. Raises BadValueError as ``touch_chance`` does.
    """
    before = after = prior_belief(current)

    @cache
    def chances(one: Rig) -> Floats:
        """Return the chances of a rig, worked out once: they are over a grid that stays."""
        return touch_chance(one, current, before, seconds)

    for one, touches in drifts:
        after = updated_belief(after, chances(one), touches)
    rig, last = drifts[-1]
    order = _by_depth(flies, rig, current, after)
    place = _place(order, rig.flies[-1].name)

    def offer(number: int) -> Offer:
        tried = Rig(rig.tackle, (*rig.flies[:-1], order[number]))
        return Offer(order[number].name, float(np.sum(after.share * chances(tried))))

    here = offer(place)
    looked = _looked_at(offer, here, place, _way(last, here.chance), len(order))
    best = _best(here, looked, last, _way(last, here.chance))
    return NextPoint(before, after, here.chance, best, _place(order, best.name) - place, looked)


def _looked_at(
    offer: Callable[[int], Offer], here: Offer, place: int, way: int, count: int
) -> tuple[Offer, ...]:
    """Return the fly on the point, and some of those deeper or shallower than it, the shallowest first."""
    places = sorted({place, *(place + way * off for off in _AWAY if 0 <= place + way * off < count)})
    return tuple(here if number == place else offer(number) for number in places)


def _best(here: Offer, looked: Sequence[Offer], last: Touches, way: int) -> Offer:
    """Return the fly whose chance is nearest to the wanted one; not the one in hand where its drifts were clear."""
    best = min(looked, key=lambda one: (abs(one.chance - WANTED), one.name))
    if abs(here.chance - WANTED) <= abs(best.chance - WANTED) + _ALIKE * WANTED:
        best = here
    if best is here and _clear(last) and len(looked) > 1:
        return looked[1] if way > 0 else looked[-2]
    return best


def _clear(last: Touches) -> bool:
    """Tell whether the last drifts, three or more, all touched or all did not."""
    return last.drifts >= _CLEAR_DRIFTS and last.touched in (0, last.drifts, HowOften.NEVER, HowOften.ALWAYS)


def _way(last: Touches, chance: float) -> int:
    """Return 1 for deeper, -1 for shallower: as clear drifts say (common practice, no source: never is too shallow, every
    time is too deep), else as the water is believed to be."""
    if _clear(last):
        return 1 if last.touched in (0, HowOften.NEVER) else -1
    return 1 if chance < WANTED else -1


def _by_depth(flies: Sequence[RigFly], rig: Rig, current: Current, belief: Belief) -> list[RigFly]:
    """Return the box with the fly on the point, by how deep each gets on the point in this water as believed now."""
    point = rig.flies[-1]
    every = [*(fly for fly in flies if fly.name != point.name), point]
    box = [*rig.flies[:-1], *every]
    fixed = tuple(range(len(rig.flies) - 1))
    sets = [(*fixed, len(fixed) + number) for number in range(len(every))]
    likely = _likely(current, belief)
    [found] = outcomes(likely, rig.tackle, box, sets, best_estimate(len(box)), [_REACH])
    speeds = np.array([fly.speed.value for fly in every])
    ranks = np.lexsort((speeds, found.deepest[:, 0], -found.time[:, 0]))
    return [every[int(number)] for number in ranks]


def _likely(current: Current, belief: Belief) -> Current:
    """Return the water as believed now, by the medians."""
    return Current(
        Measured(belief.depth_interval.middle, current.depth.standard_uncertainty),
        Measured(belief.speed_interval.middle, current.surface_speed.standard_uncertainty),
        current.temperature,
        current.bed,
    )


def _place(order: Sequence[RigFly], name: str) -> int:
    return next(number for number, fly in enumerate(order) if fly.name == name)
