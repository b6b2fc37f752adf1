"""Rivers that are not the model's, fished by simulation: what is wrong of them stays from drift to drift.

The water runs by a power law of its own exponent, its eddies are stronger or weaker and last longer or shorter, the bed has
bumps that are not normal, the line drags and the flies sink otherwise than is thought, the caster has his own slack, and
feels some touches not, and some that were none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import norm

from flybench.quantity import Floats, Measured
from flybench.rig.advice.scores import scores
from flybench.rig.chain.simulate import simulate, steps
from flybench.rig.chain.watchers import Tally
from flybench.rig.odds.draws import drawn, rigs_of_draws
from flybench.rig.odds.goal import Goal, outcomes_of
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Rig, Tackle
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current
from flybench.rig.water.profile import PowerProfile

TYPED = Current(Measured(1.0, 0.1), Measured(0.6, 0.06), 283.15, bed_named("gravel"))
TACKLE = Tackle(0.15e-3, 2.5)
SECONDS = 5.0
GOAL = Goal(seconds=SECONDS)
MISSED, FALSE = 0.15, 0.03
POINTS = ((0.17, 0.7), (0.21, 1.0), (0.25, 1.4), (0.3, 2.0), (0.36, 2.8), (0.43, 4.0), (0.52, 6.0))


def flies() -> list[RigFly]:
    return [
        RigFly(f"F{number}", Measured(v, 0.03 * v), Measured(w * 1e-3, 0.02 * w * 1e-3))
        for number, (v, w) in enumerate(POINTS)
    ]


def rigs() -> list[Rig]:
    return [Rig(TACKLE, (fly,)) for fly in flies()]


@dataclass(frozen=True)
class Rivers:
    """Depth [m] and surface speed [m/s] of each; felt, whether each fly is felt to touch, (rivers, flies, drifts); worth,
    what each fly is truly worth by the usual goal over all drifts, (rivers, flies) [-]."""

    depth: Floats
    speed: Floats
    felt: np.ndarray
    worth: Floats

    @property
    def often(self) -> Floats:
        """Return how often each fly is felt to touch, (rivers, flies) [-]."""
        share: Floats = self.felt.mean(axis=2)
        return share


def simulated(count: int, drifts: int, seed: int, wrong: float = 0.0) -> Rivers:
    """Return rivers about the typed one, their depths and speeds evenly over what was typed.

    ``wrong``, share by which depth and speed lie beside what was typed [-].
    """
    chance = np.random.default_rng(seed)
    normal = chance.standard_normal
    evenly = norm.ppf((np.arange(count) + 0.5) / count)
    depth, speed = (
        part.value
        * np.exp(part.standard_uncertainty / part.value * chance.permutation(evenly))
        * (1 + wrong * chance.choice([-1, 1], count))
        for part in (TYPED.depth, TYPED.surface_speed)
    )
    box = flies()
    steps_of = steps(SECONDS)
    fresh = drawn(count * drifts, len(box), len(steps_of), seed)
    none = replace(fresh, bump=0 * fresh.bump, speeds=0 * fresh.speeds, weights=0 * fresh.weights)
    batch, noise = rigs_of_draws(TYPED, TACKLE, box, [(number,) for number in range(len(box))], none)

    def each(values: Floats) -> Floats:
        """Return a value of every river for every drift with every fly."""
        return np.tile(np.repeat(values, drifts), len(box))

    total = batch.count
    deep = each(depth)
    eddies = each(chance.uniform(0.7, 1.3, count)) * each(speed) / TYPED.surface_speed.value
    sinks = np.concatenate([np.repeat(one, drifts) for one in np.exp(0.05 * normal((len(box), count)))])
    batch = replace(
        batch,
        profile=PowerProfile(each(speed), deep, each(chance.uniform(4.0, 7.0, count))),
        floor=deep
        - each(chance.uniform(0.0, 0.05, count))
        - np.tile(chance.uniform(-0.09, 0.09, count * drifts), len(box)),
        lead=each(speed),
        fly_drag=batch.fly_drag / sinks**2,
        slack=np.clip(
            each(chance.uniform(0.3, 0.85, count)) + np.tile(0.1 * normal(count * drifts), len(box)), 0, 0.95
        ),
        normal=each(np.exp(0.12 * normal(count))),
        tangential=each(np.exp(0.2 * normal(count))),
        wander=batch.wander * eddies,
        memory=batch.memory * each(chance.uniform(0.6, 1.6, count)),
    )
    tally = Tally(batch, GOAL.level, SECONDS)
    simulate(batch, steps_of, tally, noise)
    touched = np.isfinite(tally.touched)
    felt = np.where(touched, chance.random(total) > MISSED, chance.random(total) < FALSE)
    worth = scores(outcomes_of(tally, batch, GOAL, SECONDS, len(box) * count), GOAL).worth
    return Rivers(
        depth,
        speed,
        felt.reshape(len(box), count, drifts).transpose(1, 0, 2),
        worth.reshape(len(box), count).T,
    )


def rule_of_thumb(place: int, touched: int, drifts: int, flies: int) -> int:
    """Return the next fly by common practice (no source): never a step deeper, more than half a step shallower, else stay."""
    step = 1 if touched == 0 else -int(touched > drifts / 2)
    return int(np.clip(place + step, 0, flies - 1))


def two_steps(place: int, touched: int, drifts: int, flies: int) -> int:
    """Return the next fly by a bolder practice (no source): never two deeper, always two shallower, else as above."""
    step = {0: 2, drifts: -2}.get(touched, -int(touched > drifts / 2))
    return int(np.clip(place + step, 0, flies - 1))


def nearest(chances: Sequence[float], wanted: float) -> int:
    """Return the fly whose chance of touching is nearest to the wanted one."""
    return int(np.argmin(np.abs(np.asarray(chances) - wanted)))
