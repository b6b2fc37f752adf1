"""What adjusting is worth on simulated rivers that are not the model's: ``python benchmarks/rig_rivers.py [RIVERS]``.

Every river is fished from the middle fly of a box, six drifts at a time, and the fly is changed after each set: by what
``rig adjust`` says, and by two rules of thumb (common practice, no source). Told are, after each change, how often the fly
on the point is the one of most worth in that river, and how much worth is lost on it; how often a change was for the worse;
and how often the 80 % interval of the depth holds the true one. With the water as typed, and 25 % beside it.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "helpers"))
import simulated_rivers as rivers

from flybench.rig.advice import next_point as advice
from flybench.rig.advice.next_point import Reported
from flybench.rig.advice.touches import Touches

CHANGES, DRIFTS = 3, 6
FIRST = len(rivers.POINTS) // 2

Next = Callable[[int, list[tuple[int, int]]], tuple[int, tuple[float, float]]]


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
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
    main()
