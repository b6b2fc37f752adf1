"""What to tie on next: the river as believed after all drifts, and rigs by how well they then do what is wanted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from flybench.quantity import Floats, Measured
from flybench.rig.advice.belief import Belief, prior_belief, updated_belief
from flybench.rig.advice.choosing import Candidate, candidates
from flybench.rig.advice.outcomes import joined, outcomes
from flybench.rig.advice.touch_chance import touch_chance
from flybench.rig.advice.touches import Touches
from flybench.rig.advice.tuning import SLACKS
from flybench.rig.chain.simulate import steps
from flybench.rig.odds.draws import best_estimate
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.diameter import THINNEST
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import LONGEST, NEAREST, SHORTEST, Hold, Rig, Tackle
from flybench.rig.water.current import Current

_AWAY = (1, 2, 3, 5, 8, 12, 18, 27)
"""Places looked at away from the fly on the point, by how deep each gets: near ones each, far ones by leaps (judgement:
sixteen tries take a few seconds)."""
DRAWS = 160
"""Drifts of each rig in the water as believed (judgement: a share is then good to 0.04, and all go through the same ones)."""
_ALIKE = 0.03
"""How much more worth another rig must be to be tied on instead [-] (judgement: a third of a touch in 10 drifts)."""
SELDOM = 0.1
"""Probability that a water is not as typed from which what was seen must raise it to be told [-] (judgement: one water in
ten). Belief starts from more, so that its intervals hold; a word to the angler needs evidence."""
FAILS = 0.5
"""Share of the wanted drifts that are down in time below which any better fly is tied on instead [-] (judgement: a rig that
seldom comes down has nothing to lose)."""
SURPRISE = 0.02
"""Probability of what was seen, and of all no more likely, below which the water is not as typed [-] (judgement: once in 50
reports by chance)."""
_NEVER = 1e-12
"""Least probability that is divided by [-]."""
_LEADERS = 0.7, 1.4
"""Less and more leader in the water over what is in it [-] (judgement: as much as a hand changes without a knot)."""
_THINNER = 0.8
"""A thinner leader over the one that is tied [-] (judgement: a step or two on the spool rack)."""


@dataclass(frozen=True)
class Reported:
    """A rig that was fished: what its drifts touched, and how long each lasted [s]."""

    rig: Rig
    touches: Touches
    seconds: float


@dataclass(frozen=True)
class OtherWay:
    """The fly on the point kept and something else changed, in words, with what comes of it."""

    change: str
    found: Candidate


@dataclass(frozen=True)
class NextPoint:
    """What is believed before and after all drifts, and what to tie on next.

    here, the rig in hand and best, the one to tie on, which may be the same; steps, how many flies of the box its point
    is deeper (above 0) or shallower (below 0); looked_at, the points tried, the shallowest first; other, the best
    change of something else than the point, if it is worth more than staying; surprise, how likely the least likely
    report was, with all no more likely, in the water as typed [-]; not_as_typed, how likely the water is another, where
    one water in ten is [-].
    """

    before: Belief
    after: Belief
    here: Candidate
    best: Candidate
    steps: int
    looked_at: tuple[Candidate, ...]
    other: OtherWay | None
    surprise: float
    not_as_typed: float

    @property
    def stays(self) -> bool:
        """Tell whether the fly on the point should stay."""
        return self.steps == 0


def next_point(
    drifts: Sequence[Reported], flies: Sequence[RigFly], current: Current, goal: Goal
) -> NextPoint:
    """Return what drifts say of the water, and what to tie on next from a box.

    The belief is updated with every report in turn; the next rig is the one worth most by the goal, in drifts as long as
    the last ones, through the water as it is then believed to be.

    Parameters: drifts, one report or more, the last one of the rig in hand; flies of the box. Raises BadValueError as
    ``touch_chance`` does.
    """
    before = prior_belief(current)
    after, surprise = _learned(drifts, current, before)
    last = drifts[-1]
    wanted = replace(goal, seconds=last.seconds)
    order = _by_depth(flies, last, current, after, wanted)
    place = _place(order, last.rig.flies[-1].name)
    away = sorted({place, *(place + way * off for off in _AWAY for way in (1, -1))})
    tried = [number for number in away if 0 <= number < len(order)]
    looked, others = _tried(last.rig, [order[number] for number in tried], current, after, wanted)
    here = looked[tried.index(place)]
    best = max(looked, key=lambda one: one.worth)
    least = _ALIKE if here.in_time >= FAILS * goal.down else 0.0
    if best.worth - here.worth <= least:
        best = here
    steps_away = tried[looked.index(best)] - place
    return NextPoint(
        before,
        after,
        here,
        best,
        steps_away,
        tuple(looked),
        _best_of(others, max(here.worth + _ALIKE, best.worth)),
        surprise,
        _not_as_typed(before, after),
    )


def _not_as_typed(before: Belief, after: Belief) -> float:
    """Return how likely the water is not as typed by what was seen, where that was as likely as SELDOM before [-]."""
    first, now = (float(one.share[~one.typed].sum()) for one in (before, after))
    evidence = now / max(1 - now, _NEVER) * (1 - first) / first
    odds = evidence * SELDOM / (1 - SELDOM)
    return odds / (1 + odds)


def _learned(drifts: Sequence[Reported], current: Current, before: Belief) -> tuple[Belief, float]:
    """Return the belief after all drifts, and how likely the least likely report was in the water as typed [-]."""

    @cache
    def chances(rig: Rig, seconds: float) -> Floats:
        return touch_chance(rig, current, before, seconds)

    after, surprise = before, 1.0
    for one in drifts:
        chance = chances(one.rig, one.seconds)
        typed = after.typed
        surprise = min(surprise, one.touches.as_unlikely(chance[typed], after.share[typed]))
        after = updated_belief(after, one.touches.log_likelihood(chance))
    return after, surprise


def _tried(
    rig: Rig, points: Sequence[RigFly], current: Current, belief: Belief, goal: Goal
) -> tuple[list[Candidate], list[OtherWay]]:
    """Return how well each fly does on the point, and the fly in hand with other things changed."""
    assert goal.seconds is not None
    box = [*rig.flies[:-1], *points]
    fixed = tuple(range(len(rig.flies) - 1))
    sets = [(*fixed, len(fixed) + number) for number in range(len(points))]
    taken = belief.likely(box, DRAWS, len(steps(goal.seconds)))
    came = [outcomes(current, rig.tackle, box, sets, taken, goal)]
    hand = next(number for number, fly in enumerate(points) if fly.name == rig.flies[-1].name)
    words, tackles = [], [rig.tackle] * len(sets)
    for change, tackle in _other_ways(rig.tackle):
        one = sets[hand][-len(tackle.gaps) - 1 :]
        came.append(outcomes(current, tackle, box, [one], taken, goal))
        words.append(change)
        tackles.append(tackle)
        sets.append(one)
    ranked = candidates(box, sets, joined(came), goal, tackles)
    by_place = [
        next(one for one in ranked if one.tackle == tackle and one.flies == flies)
        for tackle, flies in zip(tackles, sets, strict=True)
    ]
    return by_place[: len(points)], [
        OtherWay(change, one) for change, one in zip(words, by_place[len(points) :], strict=True)
    ]


def _other_ways(tackle: Tackle) -> list[tuple[str, Tackle]]:
    """Return what else than the point can be changed, in words, and the tackle that it makes."""
    ways = []
    if tackle.angle > 0 and tackle.hold is not Hold.TIGHT:
        ways = [
            (f"land it with {100 * share:.0f} % of the leader loose", replace(tackle, slack=share))
            for share in SLACKS
            if abs(share - tackle.usual_slack) > 0.1
        ]
    shortest = max(SHORTEST, *(gap + NEAREST for gap in (0.0, *tackle.gaps)))
    in_the_water = tackle.hold is not Hold.TIGHT
    lengths = [round(much * tackle.length, 1) for much in _LEADERS if in_the_water]
    ways += [
        (f"let {length:g} m of leader into the water", replace(tackle, length=length))
        for length in lengths
        if shortest <= length <= LONGEST
    ]
    thinner = _THINNER * tackle.diameter
    if thinner >= THINNEST:
        ways.append((f"use a leader of {thinner * 1e3:.2f} mm", replace(tackle, diameter=thinner)))
    if tackle.gaps:
        ways.append(("take the upper dropper off", replace(tackle, gaps=tackle.gaps[1:])))
    return ways


def _best_of(others: Sequence[OtherWay], least: float) -> OtherWay | None:
    """Return the other way that is worth most, if it is worth more than ``least`` [-]."""
    best = max(others, key=lambda one: one.found.worth, default=None)
    return best if best is not None and best.found.worth > least else None


def _by_depth(
    flies: Sequence[RigFly], last: Reported, current: Current, belief: Belief, goal: Goal
) -> list[RigFly]:
    """Return the box with the fly on the point, by how deep each gets on the point in this water as believed now."""
    rig, point = last.rig, last.rig.flies[-1]
    every = [*(fly for fly in flies if fly.name != point.name), point]
    box = [*rig.flies[:-1], *every]
    fixed = tuple(range(len(rig.flies) - 1))
    sets = [(*fixed, len(fixed) + number) for number in range(len(every))]
    found = outcomes(_likely(current, belief), rig.tackle, box, sets, best_estimate(len(box)), goal)
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
