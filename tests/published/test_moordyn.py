"""The chain against MoorDyn: the same rigs from the same start, how deep the flies are and how far they went, in time.

Paths are compared, not only places of rest: a drift is over long before it rests.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from moordyn_rig import RHO, STIFFNESS, MoorCase, moordyn_depths
from rigging import Law, Stream, chain, even, line, sheared

from flybench.quantity import Floats
from flybench.rig.chain.simulate import steps
from flybench.rig.chain.state import landed
from flybench.rig.chain.step import take_step

NYMPH = 3000.0
"""Density of a fly [kg/m3]: above that of water; it counts little."""


def fly(up: float, speed: float, weight: float) -> tuple[float, float, float, float]:
    return up, speed, weight * 1e-3, NYMPH


SECONDS = (0.3, 1.0, 2.0, 4.0, 6.0)


def rig(
    stream: Stream,
    lead: float,
    tip: float,
    length: float,
    diameter: float,
    flies: list[tuple[float, float, float, float]],
    depth: float,
    upstream: bool = False,
    loose: float = 0.0005,
) -> MoorCase:
    """Return a rig that begins straight, the point at a depth [m], with a share of the line loose."""
    x = math.sqrt((length * (1 - loose)) ** 2 - (tip + depth) ** 2)
    place = (-x if upstream else x, depth)
    return MoorCase(stream.speed, lead, tip, length, diameter, flies, place, SECONDS)


GRAVEL = sheared(0.70, 1.3, 8e-3)
CASES = {
    "tight in even water": rig(even(0.30), 0.0, 0.8, 2.0, 0.18e-3, [fly(0, 0.25, 3)], 0.2),
    "tight and led": rig(sheared(0.9, 1.2, 8e-3), 0.65, 1.5, 2.6, 0.20e-3, [fly(0, 0.30, 5)], 0.1),
    "tight from upstream": rig(
        sheared(0.6, 0.9, 5e-3), 0.45, 1.2, 2.0, 0.15e-3, [fly(0, 0.20, 2)], 0.05, upstream=True
    ),
    "tight, led faster than the water": rig(
        sheared(0.5, 1.0, 5e-3), 0.60, 1.0, 2.2, 0.15e-3, [fly(0, 0.30, 3)], 0.1, upstream=True
    ),
    "tight, thick, from a high tip": rig(
        sheared(0.7, 1.5, 1e-2), 0.50, 2.0, 3.4, 0.30e-3, [fly(0, 0.35, 6)], 0.2
    ),
    "the same, 4 % loose": rig(
        sheared(0.7, 1.5, 1e-2), 0.50, 2.0, 3.4, 0.30e-3, [fly(0, 0.35, 6)], 0.2, loose=0.04
    ),
    "tight with a dropper": rig(GRAVEL, 0.50, 0.8, 2.4, 0.18e-3, [fly(0, 0.35, 4), fly(0.4, 0.20, 1)], 1.5),
    "two flies from the surface": rig(
        sheared(0.8, 1.2, 1e-2), 0.45, 0.0, 1.3, 0.13e-3, [fly(0, 0.35, 3), fly(0.5, 0.20, 1)], 1.25
    ),
    "swing in still water": rig(even(0.0), 0.0, 0.0, 1.0, 0.15e-3, [fly(0, 0.30, 2)], 0.03),
    "swing in even water": rig(even(0.15), 0.0, 0.0, 1.0, 0.15e-3, [fly(0, 0.20, 2)], 0.05),
    "falling beside its line": rig(even(0.0), 0.0, 0.0, 1.2, 0.13e-3, [fly(0, 0.20, 2)], 0.05, loose=0.75),
}
WITHIN = {"the same, 4 % loose": 0.04, "falling beside its line": 0.015}
"""Limit where it is not 1.1 cm [m]: loose pieces of MoorDyn get shorter and stay straight, those of the chain bow at once."""


def chain_depths(case: MoorCase) -> Floats:
    """Return the same as ``moordyn_depths``, by the chain."""
    flies = sorted(case.flies, reverse=True)
    lengths = [span / count for span, count in case.spans for _ in range(count)]
    nodes = np.cumsum([count for _, count in case.spans])
    masses = [one[3] * case.volume(one) + 0.5 * RHO * case.volume(one) for one in flies]
    d = case.diameter
    law = Law(lambda u: 500 * case.cn * d * u, lambda u: 500 * math.pi * case.ct * d * u)
    rigs = chain(
        lengths,
        [int(node) for node in nodes],
        line(d, case.density, law, RHO, STIFFNESS),
        Stream(case.water),
        [one[2] / one[1] ** 2 for one in flies],
        [one[2] for one in flies],
        masses,
        lead=case.lead,
        tip=case.tip,
    )
    state = landed(rigs)
    ups = case.length - np.concatenate([[0.0], np.cumsum(lengths)])
    places = np.array([case.at(float(up)) for up in ups])
    state.place[0, :, 0], state.place[1, :, 0] = places[:, 0], -places[:, 1]
    state.velocity[0], state.velocity[1] = case.lead, 0.0
    seen, time = [], 0.0
    for until in case.times:
        for dt in steps(until - time, 0.04, 0.005 if time == 0 else 0.04):
            take_step(rigs, state, dt)
        time = until
        seen.append((state.place[:, nodes, 0] - [[case.lead * time], [0.0]]).T[::-1])
    return np.array(seen)


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_flies_go_where_moordyn_has_them(name: str, tmp_path: Path) -> None:
    pytest.importorskip("moordyn", reason="moordyn has wheels for Python 3.9 to 3.13 on common systems only")
    theirs, ours = moordyn_depths(CASES[name], tmp_path), chain_depths(CASES[name])
    np.testing.assert_allclose(ours, theirs, atol=WITHIN.get(name, 0.011))
