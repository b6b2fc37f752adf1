"""What the river said, and what to tie on next: touches and takes of a session turned into the next fly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import select_rows
from flybench.catalog.store.open import Catalog
from flybench.errors import FlybenchError
from flybench.jobs.river.asked import current_of
from flybench.jobs.river.box import Box, Known
from flybench.jobs.river.rigs import rig_of
from flybench.jobs.river.session import Happened, Session
from flybench.quantity import Measured
from flybench.rig.odds.aim import Aim
from flybench.rig.odds.draws import best_estimate
from flybench.rig.odds.feedback import WANTED, Belief, Said, believed, heard, touch_chance
from flybench.rig.odds.outcomes import outcomes
from flybench.rig.odds.takes import Takes
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Rig
from flybench.rig.water.current import Current

_OFF = (1, 2, 3, 5, 8, 12, 18, 27)
"""Rungs looked at away from the fly on the point, by depth reached in this water: near ones each, far ones by leaps."""
_MIND, _ENOUGH = 0.1, 3


@dataclass(frozen=True)
class Offer:
    """A fly for the point, and the chance that it touches in a drift as the water is believed to be now."""

    name: str
    chance: float


@dataclass(frozen=True)
class Adjusted:
    """What is believed before and after, the fly on the point, offers for it, and what takes tell.

    now, the chance that the fly on the point touches; best, the fly to tie on, which may be the same; stays, where
    no other fly of the box is nearer to what is wanted; steps, how many rungs up (heavier in effect) or down;
    pattern_offer, the dropper's pattern for the point, where takes favour the dropper.
    """

    before: Belief
    after: Belief
    now: float
    best: Offer
    steps: int
    looked_at: list[Offer]
    takes: Takes
    pattern_offer: Offer | None

    @property
    def stays(self) -> bool:
        """Tell whether the fly on the point should stay."""
        return self.steps == 0


def adjust(known: Known, session: Session, box: Box) -> Adjusted:
    """Return what the river said over a session, and what to tie on next from the box.

    The belief about depth and surface speed is updated with every set of drifts in turn; wanted is a chance of touching
    of about one in four. Raises FlybenchError where nothing was told yet, BadValueError as flies do.
    """
    if not session.happened:
        raise FlybenchError("Nothing was told yet. Say what happened: --point FLY --drifts 6 --touched never")
    current = current_of(session.asked)
    before = after = believed(current)
    for one in session.happened:
        droppers = [] if one.dropper is None else [one.dropper]
        rig = rig_of(known, session.asked, one.point, droppers, current)
        after = heard(after, touch_chance(rig, current, after, session.seconds), one.touches)
    last = session.happened[-1]
    rungs = _rungs(box.flies, rig, current, after)
    place = _place(rungs, rig.flies[-1].name)
    here = Offer(rig.flies[-1].name, _chance(rig, rungs[place], current, after, session.seconds))
    way = _way(last, here.chance)
    places = sorted({place, *(place + way * off for off in _OFF if 0 <= place + way * off < len(rungs))})
    looked = [
        here
        if number == place
        else Offer(rungs[number].name, _chance(rig, rungs[number], current, after, session.seconds))
        for number in places
    ]
    best = min(looked, key=lambda one: (abs(one.chance - WANTED), one.name))
    if abs(here.chance - WANTED) <= abs(best.chance - WANTED) + _MIND * WANTED:
        best = here
    if best is here and _clear(last) and len(looked) > 1:
        best = looked[1] if way > 0 else looked[-2]
    takes = Takes(
        sum(one.dropper_takes for one in session.happened), sum(one.point_takes for one in session.happened)
    )
    steps = _place(rungs, best.name) - place
    offer = _same_pattern(known.catalog, last.dropper, looked) if takes.dropper_more > 0.5 else None
    return Adjusted(before, after, here.chance, best, steps, looked, takes, offer)


def _clear(last: Happened) -> bool:
    """Tell whether the last drifts, three or more, all touched or all did not."""
    return last.drifts >= _ENOUGH and last.touches.touched in (0, last.drifts, Said.NEVER, Said.ALWAYS)


def _way(last: Happened, chance: float) -> int:
    """Return 1 for deeper, -1 for shallower: as clear drifts say (common practice), else as the water is believed."""
    if _clear(last):
        return 1 if last.touches.touched in (0, Said.NEVER) else -1
    return 1 if chance < WANTED else -1


def _rungs(flies: Sequence[RigFly], rig: Rig, current: Current, belief: Belief) -> list[RigFly]:
    """Return the box with the fly on the point, by how deep each gets on the point in this water as believed now."""
    point = rig.flies[-1]
    every = [*(fly for fly in flies if fly.name != point.name), point]
    box = [*rig.flies[:-1], *every]
    fixed = tuple(range(len(rig.flies) - 1))
    sets = [(*fixed, len(fixed) + number) for number in range(len(every))]
    likely = _likely(current, belief)
    [found] = outcomes(likely, rig.tackle, box, sets, best_estimate(len(box)), [Aim(target=3.0, length=6.0)])
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


def _place(rungs: Sequence[RigFly], name: str) -> int:
    return next(number for number, fly in enumerate(rungs) if fly.name == name)


def _chance(rig: Rig, fly: RigFly, current: Current, belief: Belief, seconds: float) -> float:
    """Return the chance that a fly on the point touches in a drift, over the belief."""
    tried = Rig(rig.tackle, (*rig.flies[:-1], fly))
    return float(np.sum(belief.share * touch_chance(tried, current, belief, seconds)))


def _same_pattern(catalog: Catalog, dropper: str | None, looked: Sequence[Offer]) -> Offer | None:
    """Return the fly of the dropper's pattern whose chance of touching on the point is nearest to what is wanted."""
    if dropper is None:
        return None
    with catalog.reading() as session:
        rows = select_rows(session, NOUNS["fly"], [], "code", 0, ("code", "pattern"))
    patterns = {row["code"].lower(): row["pattern"] for row in rows}
    wanted = patterns.get(dropper.strip().lower())
    alike = [one for one in looked if wanted is not None and patterns.get(one.name.lower()) == wanted]
    return min(alike, key=lambda one: abs(one.chance - WANTED)) if alike else None
