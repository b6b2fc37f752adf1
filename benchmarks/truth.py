"""Whether a shop's numbers are true, on invented shops whose laws are not the model's: ``benchmarks/truth.py [SHOPS]``.

Shops of ``tests/helpers/shop_worlds.py``, SHOPS of each kind (10 unless given). Printed beside each number: what the same
worlds gave on commit d7a51cc, before spreads were learned from the whole shop, 40 shops of each kind.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "helpers"))

from measured_worlds import binned, held, odds_of, twins_told_apart
from shop_worlds import LAWS, World, shop_of_world

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
    shops = int(sys.argv[1]) if len(sys.argv) > 1 else 10
    fly_means(shops)
    equal_flies(shops)
    odds(shops)


def fly_means(shops: int) -> None:
    """Print how often a fly's interval holds the truth (wanted: 92 to 98 %)."""
    print("fly mean inside k = 2, %, by 1 to 6 runs (wanted 92 to 98; in brackets: before)")
    for spread in SPREADS:
        for law in LAWS:
            found: dict[int, list[bool]] = {}
            for seed in range(shops):
                for runs, inside in held(shop_of_world(World(spread, law), seed)):
                    found.setdefault(runs, []).append(inside)
            cells = zip(sorted(found), BEFORE_HELD[spread][law], strict=True)
            row = "  ".join(f"{100 * np.mean(found[runs]):3.0f} ({was})" for runs, was in cells)
            print(f"  runs of {100 * spread:g} %, {law:<10} {row}", flush=True)


def equal_flies(shops: int) -> None:
    """Print how often two equal flies are told apart (wanted: at most 5 %)."""
    print("equal flies told apart, % (wanted at most 5; in brackets: before)")
    for spread in SPREADS:
        for runs in (1, 2, 4):
            counts = (runs,) if runs > 1 else (1, 1, 1, 1, 2, 2)
            apart: list[bool] = []
            for seed in range(shops):
                world = World(spread, LAWS[seed % len(LAWS)], runs=counts, twins=True)
                apart += twins_told_apart(shop_of_world(world, seed))
            was = BEFORE_TWINS.get((spread, runs))
            print(
                f"  runs of {100 * spread:g} %, {runs} of each: {100 * np.mean(apart):.1f} ({was})",
                flush=True,
            )


def odds(shops: int) -> None:
    """Print the odds said beside how often they were right (wanted: within 4 points)."""
    print("odds said, and share that was right, % (wanted within 4 points; in brackets: before)")
    for spread in SPREADS:
        found = []
        for seed in range(4 * shops):
            found += odds_of(shop_of_world(World(spread, LAWS[seed % len(LAWS)], runs=(1, 2, 3)), seed))
        for (count, said, right), was in zip(binned(found).values(), BEFORE_ODDS[spread], strict=False):
            before = f"({was[0]} {was[1]})"
            print(
                f"  runs of {100 * spread:g} %: {100 * said:.1f} {100 * right:.1f} of {count} {before}",
                flush=True,
            )


if __name__ == "__main__":
    main()
