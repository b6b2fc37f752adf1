"""Cost of the sinking rig, as a ratio within one run: ``python benchmarks/rig.py``.

The same chain of 12 pieces as stiff springs in scipy's LSODA, one rig after another, is what the chain is compared
to; then 10 000 pairs over a drift, and a whole choice from a box of 40 invented flies.

``python benchmarks/rig.py rivers [RIVERS]`` tells what adjusting is worth on simulated rivers that are not the model's.
Every river is fished from the middle fly of a box, six drifts at a time, and the fly is changed after each set: by what
``rig adjust`` says, and by two rules of thumb (common practice, no source). Told are, after each change, how often the fly
on the point is the one of most worth in that river, and how much worth is lost on it; how often a change was for the worse;
and how often the 80 % interval of the depth holds the true one. With the water as typed, and 25 % beside it.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from flybench.quantity import Measured
from flybench.rig.advice import next_point as advice
from flybench.rig.advice.choosing import choose
from flybench.rig.advice.next_point import Reported
from flybench.rig.advice.outcomes import outcomes
from flybench.rig.advice.touches import Touches
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.simulate import simulate, steps
from flybench.rig.odds.draws import best_estimate, rigs_of_draws
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.leader import Tackle
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "helpers"))
import simulated_rivers as rivers
from rigging import invented_box
from springs import spring_depth

RIVER = Current(Measured(1.2, 0.12), Measured(0.6, 0.06), 283.15, bed_named("gravel"))
TACKLE = Tackle(0.15e-3, 2.0, (0.5,), slack=0.3, entry_speed=0.0)
SECONDS, SPRINGS, SEED = 5.0, 12, 4
CHANGES, DRIFTS = 3, 6
FIRST = len(rivers.POINTS) // 2

Next = Callable[[int, list[tuple[int, int]]], tuple[int, tuple[float, float]]]


def main() -> None:
    flies = invented_box(100, SEED)
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
        choice = choose(invented_box(count, SEED), RIVER, TACKLE, Goal())
        print(f"choose from {count} flies, {choice.tried} pairs: {time.perf_counter() - start:.1f} s")


def _timed(rigs: Batch) -> float:
    start = time.perf_counter()
    for first in range(0, rigs.count, 5000):
        simulate(rigs.part(slice(first, first + 5000)), steps(SECONDS), lambda time, dt, state: False)
    return time.perf_counter() - start


def fish(count: int) -> None:
    """Print what adjusting is worth on so many rivers, beside two rules of thumb."""
    _remember_chances()
    for wrong in (0.0, 0.25):
        true = rivers.simulated(count, max(40, CHANGES * DRIFTS), 11, wrong)
        print(
            f"{count} rivers, water {wrong:.0%} beside what was typed; first fly right in {_right(true, FIRST):.0%}"
        )
        for name, way in (("adjust", _adjust), ("one step", _thumb), ("two steps", _bold)):
            _tell(name, true, way)


def _tell(name: str, true: rivers.Rivers, way: Next) -> None:
    """Fish all rivers one way and print what came of it."""
    count = len(true.depth)
    lost, right, held = np.zeros((CHANGES, count)), np.zeros((CHANGES, count)), np.zeros((CHANGES, count))
    worse = moves = 0
    for number in range(count):
        place, seen = FIRST, []
        best = true.worth[number].max()
        for turn in range(CHANGES):
            felt = true.felt[number, place, turn * DRIFTS : (turn + 1) * DRIFTS]
            seen.append((place, int(felt.sum())))
            after, (low, high) = way(place, seen)
            moves += after != place
            worse += true.worth[number, after] < true.worth[number, place]
            place = after
            lost[turn, number] = best - true.worth[number, place]
            right[turn, number] = true.worth[number].argmax() == place
            held[turn, number] = low <= true.depth[number] <= high
    print(
        f"  {name:10} right {_list(right)}, worth lost {_list(lost)}, {worse} of {moves} moves for the worse"
        + (f", depth held {_list(held)}" if name == "adjust" else "")
    )


def _list(values: np.ndarray) -> str:
    return " ".join(f"{one:.2f}" for one in values.mean(axis=1))


def _right(true: rivers.Rivers, place: int) -> float:
    return float(np.mean(true.worth.argmax(axis=1) == place))


def _adjust(place: int, seen: list[tuple[int, int]]) -> tuple[int, tuple[float, float]]:
    every = rivers.rigs()
    drifts = [Reported(every[one], Touches(DRIFTS, touched), rivers.SECONDS) for one, touched in seen]
    found = advice.next_point(drifts, rivers.flies(), rivers.TYPED, rivers.GOAL)
    names = [fly.name for fly in rivers.flies()]
    deep = found.after.depth_interval
    return names.index(found.best.names[-1]), (deep.low, deep.high)


def _thumb(place: int, seen: list[tuple[int, int]]) -> tuple[int, tuple[float, float]]:
    return rivers.rule_of_thumb(place, seen[-1][1], DRIFTS, len(rivers.POINTS)), (0.0, 0.0)


def _bold(place: int, seen: list[tuple[int, int]]) -> tuple[int, tuple[float, float]]:
    return rivers.two_steps(place, seen[-1][1], DRIFTS, len(rivers.POINTS)), (0.0, 0.0)


def _remember_chances() -> None:
    """Work out each rig's chances of touching once: all rivers are fished with the same ones."""
    whole = advice.touch_chance
    belief = advice.prior_belief(rivers.TYPED)
    kept = lru_cache(lambda rig, seconds: whole(rig, rivers.TYPED, belief, seconds))
    advice.touch_chance = lambda rig, current, before, seconds: kept(rig, seconds)
    advice._other_ways = lambda tackle: []


if __name__ == "__main__":
    if sys.argv[1:2] == ["rivers"]:
        fish(int(sys.argv[2]) if len(sys.argv) > 2 else 100)
    else:
        main()
