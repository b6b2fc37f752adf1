"""Whether a shop's numbers are true, on invented shops whose laws are not the model's.

    python benchmarks/truth.py [SHOPS] [FIRST]

All of it, one table after another: means of flies, equal flies, odds and what would settle a pair, on shops of
``tests/helpers/shop_worlds.py``, SHOPS of each kind (6 unless given) from the seed FIRST on (3000); then evenings and
set-ups, scales, predictions and other waters, which have files of their own (``truth_evenings``, ``truth_weights``,
``truth_waters``), a few shops of each. Printed beside numbers of the first three: what the same worlds gave on commit
d7a51cc, before spreads were learned from the whole shop, 40 shops of each kind. No constant was chosen on these seeds, nor
on the ``FRESH_LAWS``.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "helpers"))

from measured_worlds import binned, held, odds_of, settled_of, twins_told_apart
from shop_worlds import FRESH_LAWS, LAWS, World, shop_of_world
from truth_evenings import evenings
from truth_waters import waters
from truth_weights import predictions, scales

SPREADS = (0.015, 0.03, 0.05)
BEFORE_HELD = {
    0.015: {
        "normal": (83, 96, 94, 99, 98, 99),
        "lognormal": (83, 96, 94, 99, 98, 99),
        "skewed": (79, 98, 98, 95, 96, 99),
        "t-tailed": (88, 97, 97, 99, 97, 95),
        "drifting": (74, 95, 96, 98, 99, 98),
    },
    0.03: {
        "normal": (54, 89, 86, 92, 97, 96),
        "lognormal": (54, 89, 86, 92, 97, 96),
        "skewed": (55, 91, 94, 91, 94, 96),
        "t-tailed": (69, 92, 93, 95, 94, 96),
        "drifting": (52, 82, 89, 94, 97, 94),
    },
    0.05: {
        "normal": (33, 80, 83, 89, 96, 91),
        "lognormal": (32, 81, 81, 89, 96, 92),
        "skewed": (34, 84, 86, 88, 92, 94),
        "t-tailed": (54, 87, 91, 94, 93, 94),
        "drifting": (36, 74, 84, 87, 94, 89),
    },
}
"""Share of flies whose interval held the truth, by run spread, law and 1 to 6 runs [%]."""
BEFORE_TWINS = {
    (0.015, 1): 15.6,
    (0.015, 2): 1.2,
    (0.015, 4): 1.5,
    (0.03, 1): 39.6,
    (0.03, 2): 7.5,
    (0.03, 4): 3.3,
    (0.05, 1): 59.6,
    (0.05, 2): 12.9,
    (0.05, 4): 6.0,
}
"""Share of equal flies that the ladder told apart, by run spread and runs of each [%]."""
BEFORE_ODDS = {
    0.015: ((60.9, 59.8), (77.2, 84.2), (90.5, 92.2), (99.0, 99.5)),
    0.03: ((59.1, 47.8), (77.8, 67.9), (91.1, 82.7), (98.9, 97.5)),
    0.05: ((59.4, 48.6), (77.4, 52.6), (90.7, 74.4), (98.6, 91.0)),
}
"""Odds said and share that was right, by run spread and bin of odds [%]."""


def main() -> None:
    """Print all tables."""
    shops, first = (int(one) for one in (*sys.argv[1:], *("6", "3000")[len(sys.argv) - 1 :]))
    fly_means(shops, first)
    equal_flies(shops, first)
    odds(shops, first)
    settling(shops, first)
    fresh_laws(shops, first)
    evenings(8 * shops, first)
    scales(4000)
    predictions(shops, first)
    waters(max(shops // 6, 1), first)


def fly_means(shops: int, first: int = 0) -> None:
    """Print how often a fly's interval holds the truth (wanted: 92 to 98 %)."""
    print("fly mean inside k = 2, %, by 1 to 6 runs (wanted 92 to 98; in brackets: before)")
    for spread in SPREADS:
        for law in LAWS:
            found: dict[int, list[bool]] = {}
            for seed in range(first, first + shops):
                for runs, inside in held(shop_of_world(World(spread, law), seed)):
                    found.setdefault(runs, []).append(inside)
            cells = zip(sorted(found), BEFORE_HELD[spread][law], strict=True)
            row = "  ".join(f"{100 * np.mean(found[runs]):3.0f} ({was})" for runs, was in cells)
            print(f"  runs of {100 * spread:g} %, {law:<10} {row}", flush=True)


def equal_flies(shops: int, first: int = 0) -> None:
    """Print how often two equal flies are told apart (wanted: at most 5 %)."""
    print("equal flies told apart, % (wanted at most 5; in brackets: before)")
    for spread in SPREADS:
        for runs in (1, 2, 4):
            counts = (runs,) if runs > 1 else (1, 1, 1, 1, 2, 2)
            apart: list[bool] = []
            for seed in range(first, first + shops):
                world = World(spread, LAWS[seed % len(LAWS)], runs=counts, twins=True)
                apart += twins_told_apart(shop_of_world(world, seed))
            was = BEFORE_TWINS.get((spread, runs))
            print(
                f"  runs of {100 * spread:g} %, {runs} of each: {100 * np.mean(apart):.1f} ({was})",
                flush=True,
            )


def odds(shops: int, first: int = 0) -> None:
    """Print the odds said beside how often they were right (wanted: within 4 points)."""
    print("odds said, and share that was right, % (wanted within 4 points; in brackets: before)")
    for spread in SPREADS:
        found = []
        for seed in range(first, first + 4 * shops):
            found += odds_of(shop_of_world(World(spread, LAWS[seed % len(LAWS)], runs=(1, 2, 3)), seed))
        for (count, said, right), was in zip(binned(found).values(), BEFORE_ODDS[spread], strict=False):
            before = f"({was[0]} {was[1]})"
            print(
                f"  runs of {100 * spread:g} %: {100 * said:.1f} {100 * right:.1f} of {count} {before}",
                flush=True,
            )


def fresh_laws(shops: int, first: int = 0) -> None:
    """Print the same of shops with other laws and spreads, of which few variants have flies that differ, and widely."""
    print(
        "other laws: fly mean inside k = 2 after one run and more, equal flies told apart, odds said and right, %"
    )
    for spread in (0.01, 0.025, 0.06):
        for law in FRESH_LAWS:
            world = World(spread, law, runs=(1, 2, 3), few_unlike=True)
            made = [shop_of_world(world, seed) for seed in range(first, first + shops)]
            inside = [one for shop in made for one in held(shop)]
            once, more = (
                np.mean([ok for runs, ok in inside if (runs == 1) is single]) for single in (True, False)
            )
            twins = [shop_of_world(replace(world, twins=True), seed) for seed in range(first, first + shops)]
            apart = np.mean([one for shop in twins for one in twins_told_apart(shop)])
            found = binned([one for shop in made for one in odds_of(shop)]).values()
            told = "  ".join(f"{100 * said:.0f} {100 * right:.0f} of {count}" for count, said, right in found)
            print(
                f"  {100 * spread:g} % {law:<12} {100 * once:.0f} {100 * more:.0f}  {100 * apart:.1f}  {told}",
                flush=True,
            )


def settling(shops: int, first: int = 0) -> None:
    """Print how often as many more runs as promised told two flies apart, or alike (promised: 80 %)."""
    print("pairs settled by as many more runs as promised, % (promised 80)")
    for spread in SPREADS:
        for kind, twins in (("unlike flies", False), ("equal flies", True)):
            found: list[bool] = []
            for seed in range(first, first + shops):
                found += settled_of(World(spread, LAWS[seed % len(LAWS)], runs=(1, 2, 3), twins=twins), seed)
            settled = f"{100 * np.mean(found):.0f} of {len(found)}" if found else "none"
            print(f"  runs of {100 * spread:g} %, {kind}: {settled}", flush=True)


if __name__ == "__main__":
    main()
