"""Which flies to tie on: every set of a box tried, first roughly, then the promising ones over many draws.

The best of the rough try is not trusted: without turbulence and doubt it favours rigs that come down just in time.
So the promising ones are taken from all ways to the fish's level alike, and compared over the same draws.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.errors import BadValueError
from flybench.quantity import Floats
from flybench.rig.advice.aim import Aim, Scores, difference, order, scores
from flybench.rig.advice.outcomes import Sets, outcomes
from flybench.rig.chain.simulate import steps
from flybench.rig.odds.draws import best_estimate, drawn
from flybench.rig.odds.drift import leader_flags
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Tackle
from flybench.rig.water.current import Current
from flybench.rig.water.level import check_level

PROMISING, ROUGH_DRAWS = 220, 24
"""Sets kept after the first try, and draws over which these are compared (judgement, by tests/rig/test_rig_choosing.py)."""
FINAL, DRAWS = 36, 200
"""Sets kept after the second try, and the draws of each (judgement: a share is then good to about 0.03)."""
MOST_SETS = 20_000
"""Most sets of flies that are tried (judgement: a minute of work)."""
STRATA = 10
"""Equal parts of all ways to the fish's level from which the promising sets are taken (judgement: deciles)."""


@dataclass(frozen=True)
class Candidate:
    """A set of flies and how well it does.

    flies, places in the box, the point last; lead_speed [m/s], None where the line is not led; target [m], the way
    in which the point was to come down, as Aim; utility with its standard uncertainty doubt; in_time, probability
    of coming down in time, with in_time_doubt; at_level, on_bed and dropper, mean shares of the drift [-]; behind, how
    much less useful it is than the best, with its standard uncertainty over the same draws, behind_doubt.
    """

    flies: tuple[int, ...]
    names: tuple[str, ...]
    lead_speed: float | None
    target: float
    utility: float
    doubt: float
    in_time: float
    in_time_doubt: float
    at_level: float
    on_bed: float
    dropper: float
    behind: float
    behind_doubt: float

    @property
    def tie(self) -> bool:
        """Whether it may be as good as the best: within 2 standard uncertainties of its utility."""
        return self.behind <= 2 * max(self.doubt, self.behind_doubt)


@dataclass(frozen=True)
class Choice:
    """Candidates, the best first; how many sets were tried, and over how many draws these were compared."""

    ranked: tuple[Candidate, ...]
    tried: int
    draws: int
    flags: tuple[str, ...]


def choose(
    box: Sequence[RigFly],
    current: Current,
    tackle: Tackle,
    aim: Aim,
    seed: int = 1,
    twice: bool = True,
    draws: int = DRAWS,
) -> Choice:
    """Return sets of flies from a box, ranked by how well they do what is aimed at.

    Parameters: seed, fixes all draws; twice, whether one fly may be tied on in two places; draws of the last stage.
    Raises BadValueError for an empty box, and for one with too many sets.
    """
    check_level(aim.level, current)
    sets = _sets(len(box), len(tackle.gaps) + 1, twice)
    number = len(steps(aim.seconds))
    chosen = sets
    if len(chosen) > FINAL:
        chosen = _promising(current, tackle, box, chosen, aim, seed)
        rough = drawn(ROUGH_DRAWS, len(box), number, seed + 1)
        scored = scores(outcomes(current, tackle, box, chosen, rough, [aim])[0], aim)
        chosen = [chosen[place] for place in order(scored)[:FINAL]]
    fresh = drawn(draws, len(box), number, seed)
    scored = scores(outcomes(current, tackle, box, chosen, fresh, [aim])[0], aim)
    ranked = candidates(box, chosen, scored, [(tackle.lead_speed, aim.target)] * len(chosen))
    return Choice(ranked, len(sets), draws, current.flags + leader_flags(tackle, current, aim.level))


def candidates(
    box: Sequence[RigFly], sets: Sets, scored: Scores, ways: Sequence[tuple[float | None, float]]
) -> tuple[Candidate, ...]:
    """Return scored sets as candidates, the best first; ``ways`` are their lead speeds and targets."""
    ranked = order(scored)
    made = []
    for place in ranked:
        behind, behind_doubt = difference(scored, int(ranked[0]), int(place))
        share = float(scored.in_time[place])
        lead, target = ways[place]
        made.append(
            Candidate(
                flies=sets[place],
                names=tuple(box[fly].name for fly in sets[place]),
                lead_speed=lead,
                target=target,
                utility=float(scored.utility[place]),
                doubt=float(scored.doubt[place]),
                in_time=share,
                in_time_doubt=_share_doubt(share, scored.each.shape[1]),
                at_level=float(scored.at_level[place]),
                on_bed=float(scored.on_bed[place]),
                dropper=float(scored.dropper[place]),
                behind=behind,
                behind_doubt=behind_doubt,
            )
        )
    return tuple(made)


def _share_doubt(share: float, count: int) -> float:
    """Return the standard uncertainty of a share, of a uniform prior: never zero."""
    middle = (share * count + 1) / (count + 2)
    return float(np.sqrt(middle * (1 - middle) / (count + 3)))


def _sets(flies: int, places: int, twice: bool) -> Sets:
    """Return all sets of flies."""
    if flies == 0 or (flies < places and not twice):
        problem = f"holds too few flies ({flies}) for the places on the leader ({places})"
        raise BadValueError("box", problem, "Add flies that sink.")
    if flies**places > MOST_SETS:
        problem = f"{flies} flies on {places} places make {flies**places} rigs, more than the {MOST_SETS} that are tried"
        raise BadValueError("box", problem, "Take fewer flies, for example by a query.")
    every = itertools.product(range(flies), repeat=places)
    return [one for one in every if twice or len(set(one)) == places]


def _promising(
    current: Current, tackle: Tackle, box: Sequence[RigFly], sets: Sets, aim: Aim, seed: int
) -> Sets:
    """Return sets worth more draws: from every tenth of the ways to the level some of the best and some by chance,
    and of those that never come there the deepest."""
    if len(sets) <= PROMISING:
        return sets
    [rough] = outcomes(current, tackle, box, sets, best_estimate(len(box)), [aim])
    way, deepest = rough.way[:, 0], rough.deepest[:, 0]
    utility = scores(rough, aim).utility
    reaching = np.flatnonzero(np.isfinite(way))
    strata = np.array_split(reaching[np.argsort(way[reaching], kind="stable")], STRATA)
    missing = np.flatnonzero(np.isinf(way))
    share = PROMISING // (STRATA + 1)
    kept = list(missing[np.argsort(-deepest[missing], kind="stable")][:share])
    chance = np.random.default_rng(seed)
    for number, stratum in enumerate(strata):
        room = (PROMISING - len(kept)) // (STRATA - number)
        kept.extend(_some(stratum, utility, room, chance))
    return [sets[place] for place in kept]


def _some(
    stratum: NDArray[np.intp], utility: Floats, room: int, chance: np.random.Generator
) -> NDArray[np.intp]:
    """Return half of ``room`` by utility and half by chance."""
    best = stratum[np.argsort(-utility[stratum], kind="stable")]
    rest = best[room // 2 :]
    return np.concatenate([best[: room // 2], chance.permutation(rest)[: room - room // 2]])
