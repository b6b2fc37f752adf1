"""Which flies to tie on: every set of a box tried, first roughly, then the promising ones over many draws.

The best of the rough try is not trusted: without turbulence and doubt it favours rigs that come down just in time.
So the promising ones are taken from all ways to the fish's level alike, and compared over the same draws.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from flybench.errors import BadValueError
from flybench.quantity import Floats
from flybench.rig.advice.alike import groups_of
from flybench.rig.advice.outcomes import ROUGH_STEP, Sets, outcomes
from flybench.rig.advice.scores import difference, order, scores
from flybench.rig.chain.simulate import steps
from flybench.rig.odds.doubts import outcome_flags, point_slower, rig_flags
from flybench.rig.odds.draws import Draws, best_estimate, drawn
from flybench.rig.odds.goal import Goal, Outcomes
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Rig, Tackle
from flybench.rig.water.current import Current
from flybench.rig.water.level import check_level

PROMISING, ROUGH_DRAWS = 160, 16
"""Sets kept after the first try, and draws over which these are compared (judgement, by tests/rig/test_rig_choosing.py)."""
FINAL, DRAWS = 24, 160
"""Sets kept after the second try, and the draws of each (judgement: a share is then good to about 0.04)."""
MOST_SETS = 64_000
"""Most sets of flies that are looked through: point and two droppers from 40 flies (judgement: some seconds of work)."""
MOST_SINGLY = 2500
"""Most sets that are tried one by one; of more, those alike are tried as one first (judgement: pairs from 50 flies)."""
STRATA = 10
"""Equal parts of all ways to the fish's level from which the promising sets are taken (judgement: deciles)."""


@dataclass(frozen=True)
class Candidate:
    """A set of flies and how well it does.

    flies, places in the box, the point last; tackle that it is tied on; landing [m], how far upstream of the fish it is
    to land so that it is down in the wanted share of drifts, infinite where it is not; middle_way [m], within which half
    of the drifts are down; worth with its standard uncertainty doubt; in_time, probability of being down in time, with
    in_time_doubt; touched, probability of touching the bed; at_level and on_bed of the point, dropper and dropper_on_bed
    of the droppers, mean shares of the useful drift [-]; behind, how much less its worth is than that of the best, with
    its standard uncertainty over the same draws, behind_doubt; slower, whether the point sinks slower than a dropper.
    """

    flies: tuple[int, ...]
    names: tuple[str, ...]
    tackle: Tackle
    landing: float
    middle_way: float
    worth: float
    doubt: float
    in_time: float
    in_time_doubt: float
    touched: float
    at_level: float
    on_bed: float
    dropper: float
    dropper_on_bed: float
    behind: float
    behind_doubt: float
    slower: bool

    @property
    def tie(self) -> bool:
        """Whether it may be as good as the best: within 2 standard uncertainties of its worth."""
        return self.behind <= 2 * max(self.doubt, self.behind_doubt)


@dataclass(frozen=True)
class Choice:
    """Candidates, the best first; how many sets were tried, over which draws these were compared, and the flags of the
    one that is advised."""

    ranked: tuple[Candidate, ...]
    tried: int
    draws: Draws = field(compare=False, repr=False)
    flags: tuple[str, ...]

    @property
    def advised(self) -> Candidate:
        """Return the rig to tie on."""
        return advised(self.ranked)


def advised(ranked: Sequence[Candidate]) -> Candidate:
    """Return the rig to tie on: of those as good as the best, the first whose point is not the slower fly and that comes down
    in time from somewhere, if any does both, else the first whose point is not slower, if any is."""
    alike = [one for one in ranked if one.tie and not one.slower]
    return next((one for one in alike if np.isfinite(one.landing)), alike[0] if alike else ranked[0])


def choose(
    box: Sequence[RigFly],
    current: Current,
    tackle: Tackle,
    goal: Goal,
    seed: int = 1,
    twice: bool = True,
    draws: int = DRAWS,
    final: int | None = None,
) -> Choice:
    """Return sets of flies from a box, ranked by how well they do what is wanted.

    Parameters: seed, fixes all draws; twice, whether one fly may be tied on in two places; draws of the last stage,
    and its sets, FINAL where none are given.
    Raises BadValueError for an empty box, and for one with too many sets.
    """
    check_level(goal.level, current)
    sets = _sets(len(box), len(tackle.gaps) + 1, twice)
    seconds = goal.longest(current, tackle)
    chosen, final = sets, final or FINAL
    if len(chosen) > final:
        chosen = _promising(current, tackle, box, _few_of(current, tackle, box, sets, goal, seed), goal, seed)
        rough = drawn(ROUGH_DRAWS, len(box), len(steps(seconds, ROUGH_STEP)), seed + 1)
        scored = scores(outcomes(current, tackle, box, chosen, rough, goal, rough=True), goal)
        chosen = [chosen[place] for place in order(scored)[:final]]
    fresh = drawn(draws, len(box), len(steps(seconds)), seed)
    came = outcomes(current, tackle, box, chosen, fresh, goal)
    ranked = candidates(box, chosen, came, goal, [tackle] * len(chosen))
    return Choice(ranked, len(sets), fresh, flags_of(advised(ranked), box, current, goal))


def flags_of(one: Candidate, box: Sequence[RigFly], current: Current, goal: Goal) -> tuple[str, ...]:
    """Return what is doubtful of a candidate, as of its drift: words of flags.FLAGS."""
    rig = Rig(one.tackle, tuple(box[place] for place in one.flies))
    return rig_flags(rig, current, goal) + outcome_flags(one.in_time, one.landing, one.on_bed)


def candidates(
    box: Sequence[RigFly], sets: Sets, came: Outcomes, goal: Goal, tackles: Sequence[Tackle]
) -> tuple[Candidate, ...]:
    """Return what sets came to as candidates, the best first; ``tackles`` are what each was tied on."""
    scored = scores(came, goal)
    ranked = order(scored)
    middle = np.quantile(came.way, 0.5, axis=1, method="inverted_cdf")
    made = []
    for place in ranked:
        behind, behind_doubt = difference(scored, int(ranked[0]), int(place))
        share = float(scored.in_time[place])
        made.append(
            Candidate(
                flies=sets[place],
                names=tuple(box[fly].name for fly in sets[place]),
                tackle=tackles[place],
                landing=float(came.landing[place]),
                middle_way=float(middle[place]),
                worth=float(scored.worth[place]),
                doubt=float(scored.doubt[place]),
                in_time=share,
                in_time_doubt=_share_doubt(share, scored.each.shape[1]),
                touched=float(scored.touched[place]),
                at_level=float(scored.at_level[place]),
                on_bed=float(scored.on_bed[place]),
                dropper=float(scored.dropper[place]),
                dropper_on_bed=float(scored.dropper_on_bed[place]),
                behind=behind,
                behind_doubt=behind_doubt,
                slower=point_slower([box[fly].speed.value for fly in sets[place]]),
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


def _few_of(
    current: Current, tackle: Tackle, box: Sequence[RigFly], sets: Sets, goal: Goal, seed: int
) -> Sets:
    """Return sets that are few enough to be tried one by one: of too many, those whose flies are like those of promising
    sets of the flies that stand for groups of the box, by chance where they are still too many."""
    if len(sets) <= MOST_SINGLY:
        return sets
    places = len(sets[0])
    group, standing = groups_of(box, int(MOST_SINGLY ** (1 / places)))
    typical = list(itertools.product(standing, repeat=places))
    kept = np.array(_promising(current, tackle, box, typical, goal, seed))
    size = len(standing)
    wanted = np.unique(np.ravel_multi_index(tuple(group[kept].T), (size,) * places))
    every = np.ravel_multi_index(tuple(group[np.array(sets)].T), (size,) * places)
    among = np.flatnonzero(np.isin(every, wanted))
    chance = np.random.default_rng(seed)
    return [sets[place] for place in sorted(chance.permutation(among)[:MOST_SINGLY])]


def _promising(
    current: Current, tackle: Tackle, box: Sequence[RigFly], sets: Sets, goal: Goal, seed: int
) -> Sets:
    """Return sets worth more draws: from every tenth of the ways to the level some of the best and some by chance,
    and of those that never come there the deepest."""
    if len(sets) <= PROMISING:
        return sets
    rough = outcomes(current, tackle, box, sets, best_estimate(len(box)), goal, rough=True)
    way, deepest = rough.way[:, 0], rough.deepest[:, 0]
    worth = scores(rough, goal).worth
    reaching = np.flatnonzero(np.isfinite(way))
    strata = np.array_split(reaching[np.argsort(way[reaching], kind="stable")], STRATA)
    missing = np.flatnonzero(np.isinf(way))
    share = PROMISING // (STRATA + 1)
    kept = list(missing[np.argsort(-deepest[missing], kind="stable")][:share])
    chance = np.random.default_rng(seed)
    for number, stratum in enumerate(strata):
        room = (PROMISING - len(kept)) // (STRATA - number)
        kept.extend(_some(stratum, worth, room, chance))
    return [sets[place] for place in kept]


def _some(
    stratum: NDArray[np.intp], worth: Floats, room: int, chance: np.random.Generator
) -> NDArray[np.intp]:
    """Return half of ``room`` by worth and half by chance."""
    best = stratum[np.argsort(-worth[stratum], kind="stable")]
    rest = best[room // 2 :]
    return np.concatenate([best[: room // 2], chance.permutation(rest)[: room - room // 2]])
