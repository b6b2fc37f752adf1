"""Flies taken to other water, in worlds whose drag laws are not the model's: how often does the stated change hold?

    python benchmarks/truth_waters.py [SEEDS]

For each kind of shop and each world of tests/helpers/water_worlds.py, over flies taken from 18 degC to 0, 3, 10 and
30 degC: the share of true changes of speed inside the stated ones (k = 2), in percent, and after it by how much the
stated intervals are wider than the narrowest multiple of them that would hold 95 %. A width is judged over all worlds
of a kind of shop: no one knows beforehand in which world a shop stands. Wanted: 90 to 99 % and at most 2.0.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "helpers"))

from water_worlds import WORLDS, WorldShop, true_change

from flybench.hydraulics.water import Water
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.other_water import speed_in_other_water
from flybench.sinking.model.viscosity import ViscosityLaw, learn_viscosity

TARGETS = (0.0, 3.0, 10.0, 30.0)
HERE = 18.0
KINDS = {
    "nothing measured but the fly": None,
    "all measured at 18 degC": (),
    "one fly at 4 degC too": (1, 4.0),
    "a third at 4 degC too": (10, 4.0),
}
"""Kinds of shops: how many flies were dropped once more, and in which water [degC]."""


def places(world: str, kind: str, seed: int) -> list[tuple[float, float]]:
    """Return for each fly and target how many stated standard uncertainties the true change is away, and the target."""
    shop = WorldShop(world, seed)
    here = shop.measured(HERE)
    law = _learned(shop, here, kind)
    found = []
    for fly, measured in zip(shop.flies, here, strict=True):
        for target in TARGETS:
            told = speed_in_other_water(law, measured, Water(target + 273.15))
            off = told.change - true_change(fly, HERE + 273.15, target + 273.15)
            found.append((off / told.change_uncertainty, target))
    return found


def _learned(shop: WorldShop, here: list[MeasuredFly], kind: str) -> ViscosityLaw:
    more = KINDS[kind]
    if more is None:
        return ViscosityLaw(())
    again = shop.measured(more[1], shop.flies[: more[0]]) if more else []
    return learn_viscosity([*here, *again])


def line(name: str, away: np.ndarray) -> str:  # type: ignore[type-arg]
    """Return one row of the table: percent held at each target, over all, and the width over the needed."""
    sizes, targets = np.abs(away[:, 0]), away[:, 1]
    held = [100 * np.mean(sizes[targets == target] <= 2) for target in TARGETS]
    return (
        f"{name:34s}"
        + "".join(f"{one:6.0f}" for one in held)
        + f"{100 * np.mean(sizes <= 2):7.1f}{2 / np.quantile(sizes, 0.95):8.2f}"
    )


def main() -> None:
    """Print the table for as many seeds as asked."""
    waters(int(sys.argv[1]) if len(sys.argv) > 1 else 4)


def waters(seeds: int, first: int = 0) -> None:
    """Print the table."""
    print(f"{'held (k = 2), %':34s}" + "".join(f"{f'{one:g} C':>6s}" for one in TARGETS) + "    all   width")
    for kind in KINDS:
        print(kind)
        every = []
        for world in WORLDS:
            away = np.array(
                [row for seed in range(first, first + seeds) for row in places(world, kind, seed)]
            )
            every.append(away)
            print(line(f"  {world}", away))
        print(line("  all worlds", np.concatenate(every)), flush=True)


if __name__ == "__main__":
    main()
