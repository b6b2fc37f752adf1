"""The point fly for a few depths and surface speeds, and how far upstream to land it: the table of the pocket page."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from flybench.rig.advice.choosing import Candidate, candidates, choose, flags_of
from flybench.rig.advice.outcomes import outcomes
from flybench.rig.chain.simulate import steps
from flybench.rig.odds.doubts import dropper_flags, leader_flags
from flybench.rig.odds.draws import drawn
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Tackle
from flybench.rig.water.current import Current
from flybench.rig.water.wading import hard_to_wade
from flybench.shop.river.goal_texts import goal_from
from flybench.shop.river.rig_texts import RigTexts, current_from
from flybench.shop.river.tackle_texts import tackle_from

DEPTHS, SPEEDS = ("0.5 m", "0.8 m", "1.2 m"), ("0.3 m/s", "0.6 m/s", "0.9 m/s")
"""Waters of the table where none are named (judgement: waters that are waded)."""
REACHES = 0.5
"""Least share of drifts in which a fly that is named comes down in time [-] (judgement: it does so more often than not)."""
STEP = 0.5
"""To which ways upstream are rounded up [m] (judgement: nobody lands a fly more exactly)."""
_DRAWS = 100
"""Draws of each water (judgement: a share is then good to 0.05, and 12 waters take a minute)."""
_FINAL = 12
"""Flies of each water that are looked at closely (judgement: those as good as the best are some six)."""
_NAMED = 2
"""Flies named for one water (judgement: more are not readable)."""

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class PocketChoice:
    """Point flies for one water, the best first, each with the way upstream to land it [m].

    more, how many others are as good as these; flags, what makes this water doubtful, words of rig.odds.flags;
    hard, whether it is hard to stand in.
    """

    flies: tuple[tuple[str, float], ...]
    more: int
    flags: tuple[str, ...]
    hard: bool = False


@dataclass(frozen=True)
class PocketTable:
    """Choices by depth, then by surface speed, as typed; what they hold for, what was wanted, of which the level is that of
    the last water, and the box by sink speed."""

    depths: tuple[str, ...]
    speeds: tuple[str, ...]
    choices: tuple[PocketChoice, ...]
    texts: RigTexts
    goal: Goal
    dropper: RigFly | None
    flies: tuple[RigFly, ...]

    @property
    def flags(self) -> tuple[str, ...]:
        """The flags of all waters, each once."""
        return tuple(dict.fromkeys(flag for one in self.choices for flag in one.flags))


def pocket_table(
    flies: Sequence[RigFly],
    texts: RigTexts,
    depths: Sequence[str],
    speeds: Sequence[str],
    progress: Progress,
    seed: int = 1,
    dropper: RigFly | None = None,
) -> PocketTable:
    """Return the point fly for every depth and surface speed, and how far upstream to land it.

    The fly is the one that ``choose`` ranks first of those that come down in time in half of the drifts, alone on the
    leader or under a dropper that stays the same; none where none does. It is landed as far upstream as ``choose`` says,
    rounded up. Raises BadValueError for water, tackle or a goal that cannot be.
    """
    waters = [(depth, speed) for depth in depths for speed in speeds]
    choices = []
    for number, (depth, speed) in enumerate(waters):
        progress("waters", number, len(waters))
        there = replace(texts, depth=depth, surface_speed=speed)
        goal = goal_from(there, current_from(there))
        choices.append(_choice(flies, dropper, there, goal, seed))
    progress("waters", len(waters), len(waters))
    ladder = tuple(sorted(flies, key=lambda fly: fly.speed.value))
    return PocketTable(tuple(depths), tuple(speeds), tuple(choices), texts, goal, dropper, ladder)


def _choice(
    flies: Sequence[RigFly], dropper: RigFly | None, texts: RigTexts, goal: Goal, seed: int
) -> PocketChoice:
    """Return the point flies for one water with the way upstream to land each, and what is doubtful of it."""
    current, tackle = current_from(texts), tackle_from(texts, int(dropper is not None))
    reaching = _reaching(flies, dropper, current, tackle, goal, seed)
    named, flags = [], dict.fromkeys(current.flags)
    for one, box in reaching[:_NAMED]:
        farthest = goal.farthest if math.isfinite(one.landing) else goal.farthest_looked(current, tackle)
        way = min(one.landing, farthest)
        named.append((one.names[-1], math.ceil(way / STEP - 1e-9) * STEP))
        flags |= dict.fromkeys(flags_of(one, box, current, goal))
    if not reaching:
        flags |= dict.fromkeys([*leader_flags(tackle, current, goal.level), *dropper_flags(tackle)])
    return PocketChoice(tuple(named), max(len(reaching) - _NAMED, 0), tuple(flags), hard_to_wade(current))


def _reaching(
    flies: Sequence[RigFly], dropper: RigFly | None, current: Current, tackle: Tackle, goal: Goal, seed: int
) -> list[tuple[Candidate, Sequence[RigFly]]]:
    """Return the best point fly that comes down in time in half of the drifts, and those that may be as good, each with
    the box that it stands in.

    ``choose`` looks closely at the promising flies only: where none of them reaches, the others are asked too.
    """
    left = list(flies)
    while left:
        ranked, box = _ranked(left, dropper, current, tackle, goal, seed)
        reaching = [one for one in ranked if one.in_time >= REACHES]
        if reaching:
            return [(one, box) for one in reaching if _alike(one, reaching[0])]
        tried = {one.names[-1] for one in ranked}
        left = [fly for fly in left if fly.name not in tried]
    return []


def _ranked(
    flies: Sequence[RigFly], dropper: RigFly | None, current: Current, tackle: Tackle, goal: Goal, seed: int
) -> tuple[tuple[Candidate, ...], Sequence[RigFly]]:
    """Return the point flies, the best first, and their box: alone as ``choose`` ranks them, or all under one dropper."""
    if dropper is None:
        return choose(flies, current, tackle, goal, seed, draws=_DRAWS, final=_FINAL).ranked, flies
    box = [*flies, dropper]
    sets = [(len(flies), place) for place in range(len(flies))]
    draws = drawn(_DRAWS, len(box), len(steps(goal.longest(current, tackle))), seed)
    came = outcomes(current, tackle, box, sets, draws, goal)
    return candidates(box, sets, came, goal, [tackle] * len(sets)), box


def _alike(one: Candidate, first: Candidate) -> bool:
    """Tell whether a fly may be as good as the first named, as Candidate.tie does of the best of all."""
    return one.behind - first.behind <= 2 * max(one.doubt, one.behind_doubt)
