"""Cost of the sinking rig, as a ratio within one run: ``python benchmarks/rig.py``.

The same chain of 12 pieces as stiff springs in scipy's LSODA, one rig after another, is what the chain is compared
to; then 10 000 pairs over a drift, and a whole choice from a box of 40 invented flies.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

from flybench.quantity import Measured
from flybench.rig.advice.choosing import choose
from flybench.rig.advice.outcomes import outcomes
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.simulate import simulate, steps
from flybench.rig.odds.draws import best_estimate, rigs_of_draws
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Tackle
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "helpers"))
from springs import spring_depth

RIVER = Current(Measured(1.2, 0.12), Measured(0.6, 0.06), 283.15, bed_named("gravel"))
TACKLE = Tackle(0.15e-3, 2.0, (0.5,), slack=0.3, entry_speed=0.0)
SECONDS, SPRINGS = 5.0, 12


def main() -> None:
    flies = box(100)
    pairs = [(one, two) for one in range(100) for two in range(100)]
    some = pairs[:: len(pairs) // SPRINGS][:SPRINGS]
    rigs, _ = rigs_of_draws(RIVER, TACKLE, flies, some, best_estimate(100))
    deep = replace(rigs, floor=np.full(rigs.count, 50.0))
    spring = []
    for number in range(rigs.count):
        start = time.perf_counter()
        spring_depth(deep.part(slice(number, number + 1)), SECONDS)
        spring.append(time.perf_counter() - start)
    many, _ = rigs_of_draws(RIVER, TACKLE, flies, pairs, best_estimate(100))
    took = min(_timed(many) for _ in range(3))
    each = took / len(pairs)
    print(f"{len(pairs)} pairs over {SECONDS:g} s of river: {took:.2f} s, {each * 1e3:.3f} ms a rig")
    print(f"the same as springs in LSODA: {np.median(spring) * 1e3:.0f} ms a rig (median of {SPRINGS})")
    print(f"ratio a rig: {np.median(spring) / each:.0f} (wanted: at least 300)")
    start = time.perf_counter()
    outcomes(RIVER, TACKLE, flies, pairs, best_estimate(100), Goal())
    print(f"{len(pairs)} pairs with bed, landing and useful drift: {time.perf_counter() - start:.1f} s")
    for count in (40, 100):
        start = time.perf_counter()
        choice = choose(box(count), RIVER, TACKLE, Goal())
        print(f"choose from {count} flies, {choice.tried} pairs: {time.perf_counter() - start:.1f} s")


def box(count: int) -> list[RigFly]:
    """Return invented flies."""
    draw = np.random.default_rng(4)
    speed, weight = draw.uniform(0.12, 0.5, count), np.exp(draw.uniform(np.log(4e-4), np.log(5e-3), count))
    return [
        RigFly(f"F{number}", Measured(v, 0.03 * v), Measured(w, 0.02 * w))
        for number, (v, w) in enumerate(zip(speed, weight, strict=True))
    ]


def _timed(rigs: Batch) -> float:
    start = time.perf_counter()
    for first in range(0, rigs.count, 5000):
        simulate(rigs.part(slice(first, first + 5000)), steps(SECONDS), lambda time, dt, state: False)
    return time.perf_counter() - start


if __name__ == "__main__":
    main()
