"""Cost of the sinking rig, as a ratio within one run: ``python benchmarks/rig.py``.

The same chain of 12 pieces as stiff springs in scipy's LSODA, one rig after another, is what the chain is compared
to; then come cold processes of the commands on a box of 40 invented flies.

``python benchmarks/rig.py compare [WATERS]`` compares choices with a run that has ten times the draws.

``python benchmarks/rig.py rivers [RIVERS]`` tells what adjusting is worth on simulated rivers that are not the model's.
Every river is fished from the middle fly of a box, six drifts at a time, and the fly is changed after each set: by what
``rig adjust`` says, and by two rules of thumb (common practice, no source). Told are, after each change, how often the fly
on the point is the one of most worth in that river, and how much worth is lost on it; how often a change was for the worse;
and how often the 80 % interval of the depth holds the true one. With the water as typed, and 25 % beside it.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from flybench.catalog.search.nouns import NOUNS
from flybench.hydraulics.sphere import GRAVITY
from flybench.jobs.shelf.rows import add_row
from flybench.quantity import Measured
from flybench.rig.advice import next_point as advice
from flybench.rig.advice.choosing import DRAWS, choose
from flybench.rig.advice.next_point import Reported
from flybench.rig.advice.outcomes import joined
from flybench.rig.advice.scores import difference, scores
from flybench.rig.advice.touches import Touches
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.simulate import BLOCK, STEP, simulate, steps
from flybench.rig.chain.watchers import Tally
from flybench.rig.odds.draws import best_estimate, drawn, rigs_of_draws
from flybench.rig.odds.goal import Goal, Outcomes, outcomes_of
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Tackle
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "helpers"))
import simulated_rivers as rivers
from rigging import invented_box
from shop import measured, shop
from springs import spring_depth

RIVER = Current(Measured(1.2, 0.12), Measured(0.6, 0.06), 283.15, bed_named("gravel"))
TACKLE = Tackle(0.15e-3, 2.0, (0.5,), slack=0.3, entry_speed=0.0)
SECONDS, SPRINGS, SEED = 5.0, 4, 4
WATER = ("--depth", "1.2 m", "--surface-speed", "0.6 m/s", "--bed", "gravel")
CHANGES, DRIFTS = 3, 6
FIRST = len(rivers.POINTS) // 2

Next = Callable[[int, list[tuple[int, int]]], tuple[int, tuple[float, float]]]


def main() -> None:
    """Print what a rig costs, beside the same chain in scipy's LSODA, and what cold processes of the commands take."""
    flies = invented_box(100, SEED)
    pairs = [(one, two) for one in range(100) for two in range(100)]
    some = pairs[:: len(pairs) // SPRINGS][:SPRINGS]
    rigs, _ = rigs_of_draws(RIVER, TACKLE, flies, some, best_estimate(100))
    deep = replace(rigs, floor=np.full(rigs.count, 50.0))
    many, _ = rigs_of_draws(RIVER, TACKLE, flies, pairs, best_estimate(100))
    spring = []
    for number in range(rigs.count):
        start = time.process_time()
        spring_depth(deep.part(slice(number, number + 1)), SECONDS)
        spring.append(time.process_time() - start)
    each = min(_timed(many.single()) for _ in range(3)) / len(pairs)
    print(
        f"processor time a rig over {SECONDS:g} s of river, {len(pairs)} at once: {each * 1e3:.3f} ms (wanted: 0.08)"
    )
    print(f"the same as springs in LSODA: {np.median(spring) * 1e3:.0f} ms (median of {SPRINGS})")
    print(f"ratio a rig: {np.median(spring) / each:.0f} (wanted: at least 300)")
    with tempfile.TemporaryDirectory() as folder:
        for words, wanted in _commands(Path(folder)):
            wall, processor = _cold(words, folder)
            print(
                f"{' '.join(words[:2])} {words[-1]}: {wall:.1f} s, processor {processor:.1f} s (wanted: {wanted} s)"
            )


def _timed(rigs: Batch) -> float:
    """Return the processor time of all rigs [s]."""
    start = time.process_time()
    for first in range(0, rigs.count, BLOCK):
        simulate(rigs.part(slice(first, first + BLOCK)), steps(SECONDS), lambda time, dt, state: False)
    return time.process_time() - start


def _commands(folder: Path) -> list[tuple[list[str], int]]:
    """Return commands on a box of 40 flies, the last word of each telling them apart, and the seconds wanted of each."""
    box = invented_box(40, SEED)
    lines = [f"{one.name},{one.speed.value * 100:.2f} cm/s,{one.weight.value * 1e3:.3f} mN" for one in box]
    (folder / "box.csv").write_text("name,speed,weight\n" + "\n".join(lines) + "\n", encoding="utf-8")
    catalog = shop(folder / "shop.sqlite")
    for one in box:
        hangs = one.weight.value / GRAVITY
        given = {
            "code": one.name,
            "variant": "MILL-28-14",
            "mass-in-water": f"{hangs * 1e3:.4f} g +- 0.002 g",
        }
        add_row(catalog, NOUNS["fly"], given)
        measured(catalog, one.name, one.speed.value, 0.01 * one.speed.value)
    listed = ["--box-csv", "box.csv"]
    felt = ["--point", "F1", "--dropper", "F2", "--drifts", "6", "--touched", "2", "--seconds", "6"]
    return [
        (["rig", "choose", *listed, *WATER, "--droppers", "1"], 3),
        (["rig", "choose", *listed, *WATER, "--droppers", "2"], 3),
        (["rig", "adjust", *listed, *WATER, *felt, "--session", "session.json"], 3),
        (["print", "pocket", "--bed", "gravel", "--text"], 8),
    ]


def _cold(words: list[str], folder: str) -> tuple[float, float]:
    """Return the time that a command takes in a process of its own, and its processor time [s]."""
    around = {**os.environ, "FLYBENCH_CATALOG": f"{folder}/shop.sqlite", "OMP_NUM_THREADS": "1"}
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    call = [sys.executable, "-m", "flybench", *words]
    subprocess.run(call, cwd=folder, env=around, stdout=subprocess.DEVNULL, check=True)
    wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def compare(count: int) -> None:
    """Print how ``choose`` fares beside a run with ten times the draws, in double precision and with half the steps.

    Over so many waters, each with a box of its own: the odds of the first two rigs, off by how many of their standard
    uncertainties; and how much less the first rig is worth there than the best of the first two, and of the first two of
    another seed.
    """
    chance = np.random.default_rng(SEED)
    off, lost, alike = [], [], 0
    for number in range(count):
        depth, speed = chance.uniform(0.4, 1.6), chance.uniform(0.25, 1.0)
        stones = bed_named(str(chance.choice(["sand", "gravel", "cobble"])))
        current = Current(Measured(depth, 0.1 * depth), Measured(speed, 0.1 * speed), 283.15, stones)
        box, tackle = invented_box(40, SEED + number), Tackle(0.15e-3, max(1.5, 1.6 * depth), (0.5,))
        goal = Goal(stretch=1.0, farthest=3.0)
        first, other = (choose(box, current, tackle, goal, seed).ranked[:2] for seed in (1, 2))
        tried = list(dict.fromkeys(one.flies for one in (*first, *other)))
        fine = scores(_fine(current, tackle, box, tried, goal), goal)
        for one in first:
            place = tried.index(one.flies)
            pairs = (
                (one.in_time, fine.in_time, one.in_time_doubt),
                (one.touched, fine.touched, np.sqrt((one.touched * (1 - one.touched) + 0.01) / DRAWS)),
            )
            off += [(share - there[place]) / doubt for share, there, doubt in pairs]
            off.append((one.worth - fine.worth[place]) / np.hypot(one.doubt, fine.doubt[place]))
        gap, doubt = difference(fine, int(fine.worth.argmax()), tried.index(first[0].flies))
        lost.append(gap)
        alike += gap <= 2 * max(doubt, first[0].doubt)
    print(
        f"{count} waters: odds and worth of the first two rigs are off by {np.sqrt(np.mean(np.square(off))):.2f} standard "
        f"uncertainties (rms), {np.mean(np.abs(off) > 2):.0%} by more than 2; the first rig is as good as the best of four "
        f"in {alike} of {count}, and worth {np.mean(lost):.3f} less (mean), {np.max(lost):.3f} at the most"
    )


def _fine(
    current: Current, tackle: Tackle, box: list[RigFly], sets: list[tuple[int, ...]], goal: Goal
) -> Outcomes:
    """Return what sets come to over ten times the draws of ``choose``."""
    seconds = goal.longest(current, tackle)
    times = steps(seconds, STEP / 2)
    parts = []
    for one in sets:
        taken = drawn(10 * DRAWS, len(box), len(times), 77)
        rigs, noise = rigs_of_draws(current, tackle, box, [one], taken)
        tally = Tally(rigs, goal.level, seconds)
        simulate(rigs, times, tally, noise)
        parts.append(outcomes_of(tally, rigs, goal, seconds, 1))
    return joined(parts)


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
    elif sys.argv[1:2] == ["compare"]:
        compare(int(sys.argv[2]) if len(sys.argv) > 2 else 30)
    else:
        main()
