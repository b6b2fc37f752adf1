"""The point fly for a few depths and surface speeds, and how far upstream to land it: the table of the pocket page."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from flybench.rig.advice.aim import Aim, scores
from flybench.rig.advice.choosing import Candidate, candidates, choose
from flybench.rig.advice.outcomes import outcomes
from flybench.rig.chain.simulate import steps
from flybench.rig.odds.draws import drawn
from flybench.rig.odds.drift import drift, leader_flags
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Rig, Tackle
from flybench.rig.water.current import Current
from flybench.shop.river.rig_texts import RigTexts, current_from, level_from, tackle_from

DEPTHS, SPEEDS = ("0.5 m", "0.8 m", "1.2 m"), ("0.3 m/s", "0.6 m/s", "0.9 m/s")
"""Waters of the table where none are named (judgement: waters that are waded)."""
REACHES = 0.5
"""Least share of drifts in which a fly that is named comes down in time [-] (judgement: it does so more often than not)."""
TARGET, LENGTH, SECONDS = 3.0, 5.0, 12.0
"""Way within which the fly should be down [m], length [m] and time [s] of a drift (judgement)."""
STEP = 0.5
"""To which ways upstream are rounded up [m] (judgement: nobody lands a fly more exactly)."""
_DRAWS = 100
"""Draws of each water (judgement: a share is then good to 0.05, and 12 waters take a minute)."""
_NAMED = 2
"""Flies named for one water (judgement: more are not readable)."""

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class PocketChoice:
    """Point flies for one water, the best first, each with the way upstream to land it [m].

    more, how many others are as good as these; flags, what makes this water doubtful, words of rig.odds.flags.
    """

    flies: tuple[tuple[str, float], ...]
    more: int
    flags: tuple[str, ...]


@dataclass(frozen=True)
class PocketTable:
    """Choices by depth, then by surface speed, as typed; what they hold for, and the box by sink speed."""

    depths: tuple[str, ...]
    speeds: tuple[str, ...]
    choices: tuple[PocketChoice, ...]
    texts: RigTexts
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

    The fly is the one that ``choose`` ranks first of those that come down within 3 m in half of the drifts, alone on
    the leader or under a dropper that stays the same; none where none does. Raises BadValueError for water or tackle
    that cannot be.
    """
    waters = [(depth, speed) for depth in depths for speed in speeds]
    choices = []
    for number, (depth, speed) in enumerate(waters):
        progress("waters", number, len(waters))
        choices.append(_choice(flies, dropper, replace(texts, depth=depth, surface_speed=speed), seed))
    progress("waters", len(waters), len(waters))
    ladder = tuple(sorted(flies, key=lambda fly: fly.speed.value))
    return PocketTable(tuple(depths), tuple(speeds), tuple(choices), texts, dropper, ladder)


def _choice(flies: Sequence[RigFly], dropper: RigFly | None, texts: RigTexts, seed: int) -> PocketChoice:
    """Return the point flies for one water with the way upstream to land each, and what is doubtful of it."""
    current, tackle = current_from(texts), tackle_from(texts, int(dropper is not None))
    aim = Aim(level_from(texts.level, current), TARGET, LENGTH, SECONDS)
    reaching = _reaching(flies, dropper, current, tackle, aim, seed)
    by_name = {fly.name: fly for fly in flies}
    named, flags = [], dict.fromkeys(current.flags)
    for one in reaching[:_NAMED]:
        rig = Rig(tackle, (*(() if dropper is None else (dropper,)), by_name[one.names[-1]]))
        drifted = drift(rig, current, SECONDS, _DRAWS, seed, aim.level)
        way = drifted.way_to_level.middle
        if not math.isfinite(
            way
        ):  # it comes down in time just as often as it must, and not so over these draws
            continue
        named.append((one.names[-1], math.ceil(way / STEP - 1e-9) * STEP))
        flags |= dict.fromkeys(drifted.flags)
    if not reaching:
        flags |= dict.fromkeys(leader_flags(tackle, current, aim.level))
    return PocketChoice(tuple(named), max(len(reaching) - _NAMED, 0), tuple(flags))


def _reaching(
    flies: Sequence[RigFly], dropper: RigFly | None, current: Current, tackle: Tackle, aim: Aim, seed: int
) -> list[Candidate]:
    """Return the best point fly that comes down in time in half of the drifts, and those that may be as good.

    ``choose`` looks closely at the promising flies only: where none of them reaches, the others are asked too.
    """
    left = list(flies)
    while left:
        ranked = _ranked(left, dropper, current, tackle, aim, seed)
        reaching = [one for one in ranked if one.in_time >= REACHES]
        if reaching:
            return [one for one in reaching if _alike(one, reaching[0])]
        tried = {one.names[-1] for one in ranked}
        left = [fly for fly in left if fly.name not in tried]
    return []


def _ranked(
    flies: Sequence[RigFly], dropper: RigFly | None, current: Current, tackle: Tackle, aim: Aim, seed: int
) -> tuple[Candidate, ...]:
    """Return the point flies, the best first: alone as ``choose`` ranks them, or all under one dropper."""
    if dropper is None:
        return choose(flies, current, tackle, aim, seed, draws=_DRAWS).ranked
    box = [*flies, dropper]
    sets = [(len(flies), place) for place in range(len(flies))]
    draws = drawn(_DRAWS, len(box), len(steps(aim.seconds)), seed)
    scored = scores(outcomes(current, tackle, box, sets, draws, [aim])[0], aim)
    return candidates(box, sets, scored, [(tackle.lead_speed, aim.target)] * len(sets))


def _alike(one: Candidate, first: Candidate) -> bool:
    """Tell whether a fly may be as good as the first named, as Candidate.tie does of the best of all."""
    return one.behind - first.behind <= 2 * max(one.doubt, one.behind_doubt)
