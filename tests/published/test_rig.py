"""The chain against exact and continuous solutions; the printed value is that solution, the tolerance the chain's.

Flies are (terminal speed [m/s], submerged weight [N]).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache

import exact_rig as exact
import numpy as np
import pytest
from rigging import DEEP, NO_DRAG, STILL, Law, Stream, chain, line, seen, settled, weightless
from rows import Row, rows

from flybench.rig.chain.line_drag import ThinLine
from flybench.rig.water.profile import LogProfile

THIN = 1e-9
"""A mass too small to matter [kg]."""


def drag(speed: float, weight: float) -> float:
    return weight / speed**2


def constant_law(d: float, cn: float, ct: float) -> Law:
    return Law(lambda u: 500 * cn * d * u, lambda u: 500 * math.pi * ct * d * u)


def smooth(d: float) -> ThinLine:
    return ThinLine(d, exact.RHO, exact.MU)


def free_fall(row: Row) -> tuple[dict[str, float], dict[str, float]]:
    t, entry = row["t"], row["entry"]
    depth, speed = exact.free_fall(t, 0.3, 2e-3, 0.3e-3, entry)
    rig = chain(
        [1.0], [1], weightless(mass=THIN), STILL, [drag(0.3, 2e-3)], [2e-3], [0.3e-3], slack=0.99, entry=entry
    )
    _, places, velocities, _ = seen(rig, [5e-4] * round(t / 5e-4))
    wanted = {"free fall depth": depth * 1e3, "free fall speed": speed}
    return wanted, {
        "free fall depth": places[-1, 1, -1] * 1e3,
        "free fall speed": velocities[-1, 1, -1],
    }


def linked_pair(row: Row) -> tuple[dict[str, float], dict[str, float]]:
    speed, tension = exact.linked_pair((0.2, 0.3), (1e-3, 2e-3))
    drags = [drag(0.2, 1e-3), drag(0.3, 2e-3)]
    rig = chain([0.5], [0, 1], weightless(), STILL, drags, [1e-3, 2e-3], [3e-4, 3e-4], lead=None)
    state = settled(rig, 60)
    wanted = {"linked pair speed": speed, "linked pair tension": tension * 1e3}
    return wanted, {
        "linked pair speed": state.velocity[1, 1, 0],
        "linked pair tension": state.tension[0, 0] * 1e3,
    }


def catenary(row: Row) -> tuple[dict[str, float], dict[str, float]]:
    tied = line(1e-3, 8000.0, Law(lambda u: 0 * u + 0.5, lambda u: 0 * u + 0.5), stiffness=1000.0)
    sag, tension = exact.catenary(1.2, 1.5, tied.weight)
    rig = chain([1.5 / 40] * 40, [40], tied, STILL, [0.0], [0.0], [1e9], slack=0.2)
    state = settled(rig, 20, 0.02)
    wanted = {"catenary sag": sag, "catenary tension": tension * 1e3}
    # The tension stands at the middle of the first piece, half a piece below its end.
    return wanted, {
        "catenary sag": float(state.place[1].max()),
        "catenary tension": state.tension[0, 0] * 1e3 + tied.weight * state.place[1, 1, 0] / 2 * 1e3,
    }


def critical_angle(row: Row) -> tuple[dict[str, float], dict[str, float]]:
    angle, tension = exact.critical_angle(1e-3, 3000.0, 1.2, 0.02, 0.5, 2.0)
    tied = line(1e-3, 3000.0, constant_law(1e-3, 1.2, 0.02))
    rig = chain([0.1] * 20, [], tied, Stream(lambda z: 0 * z + 0.5), [], [], [])
    state = settled(rig, 40)
    place = state.place[:, :, 0]
    wanted = {"critical angle": angle, "critical angle tension": tension * 1e3}
    # The first piece pulls with the load of all but its own upper half.
    return wanted, {
        "critical angle": math.degrees(math.atan2(place[1, -1], place[0, -1])),
        "critical angle tension": state.tension[0, 0] * 1e3 * 20 / 19.5,
    }


def light_line(row: Row) -> tuple[dict[str, float], dict[str, float]]:
    pieces, f = round(row["pieces"]), row["f"]
    r = 500 * 1.4 * 0.3e-3 * 0.4**2
    depth, trail, tension = exact.light_line(3e-3, 0.02 * 0.4**2, r, 1.5, f)
    law = Law(lambda u: 500 * 1.4 * 0.3e-3 * u, lambda u: f * r / np.maximum(u, 1e-6))
    even = Stream(lambda z: 0 * z + 0.4)
    rig = chain([1.5 / pieces] * pieces, [pieces], weightless(law, 1e-2), even, [0.02], [3e-3], [3e-4])
    state = settled(rig, 60)
    wanted = {"light line depth": depth, "light line trail": trail, "light line tension": tension * 1e3}
    return wanted, {
        "light line depth": state.place[1, -1, 0],
        "light line trail": state.place[0, -1, 0],
        "light line tension": (state.tension[0, 0] + f * r * 0.75 / pieces) * 1e3,
    }


def heavy_line(row: Row) -> tuple[dict[str, float], dict[str, float]]:
    pieces, d = round(row["pieces"]), 0.3e-3
    tied = line(d, 1780.0, constant_law(d, 1.4, 0.02))
    law = exact.constant(d, 1.4, 0.02)
    [(depth, trail)] = exact.towed(law, tied.weight, lambda z: 0.4, 0.0, 1.5, [(0.0, 0.02, 3e-3)])
    even = Stream(lambda z: 0 * z + 0.4)
    state = settled(chain([1.5 / pieces] * pieces, [pieces], tied, even, [0.02], [3e-3], [3e-4]), 60)
    wanted = {"heavy line depth": depth, "heavy line trail": trail}
    return wanted, {"heavy line depth": state.place[1, -1, 0], "heavy line trail": state.place[0, -1, 0]}


def two_flies(row: Row) -> tuple[dict[str, float], dict[str, float]]:
    d, one = row["d"] * 1e-3, np.ones(1)
    tied = line(d, 1140.0, smooth(d))

    def water(z: float) -> float:
        return 0.8 * math.log(1 + max(1.2 - z, 0.0) / 0.01) / math.log(1 + 1.2 / 0.01)

    flies = [(0.0, drag(0.35, 3e-3), 3e-3), (0.5, drag(0.2, 1e-3), 1e-3)]
    dropper, point = exact.towed(exact.cheng(d), tied.weight, water, 0.45, 1.3, flies)
    lengths, drags = [0.8 / 7] * 7 + [0.1] * 5, [flies[1][1], flies[0][1]]
    stream = LogProfile(0.8 * one, 1.2 * one, 0.01 * one)
    state = settled(chain(lengths, [7, 12], tied, stream, drags, [1e-3, 3e-3], [2e-4, 4e-4], lead=0.45), 60)
    place = state.place[:, :, 0]
    wanted = {"two flies point": point[0], "two flies dropper": dropper[0], "two flies trail": point[1]}
    return wanted, {
        "two flies point": place[1, -1],
        "two flies dropper": place[1, 7],
        "two flies trail": place[0, -1] - place[0, 0],
    }


def taut_swing(row: Row) -> tuple[dict[str, float], dict[str, float]]:
    share, dt = row["share"], row["dt"] * 1e-3
    rig = chain([1.0], [1], weightless(mass=THIN), STILL, [drag(0.3, 2e-3)], [2e-3], [1e-6], entry=0.3)
    times, places, _, _ = seen(rig, [dt] * round(5 / dt))
    reached = float(np.interp(share, places[:, 1, -1], times))
    return {"taut swing time": exact.swing_time(share, 0.3, 1.0)}, {"taut swing time": reached}


def pulled_line(row: Row) -> tuple[dict[str, float], dict[str, float]]:
    wanted = exact.pulled_line(0.3, 2e-3, 0.2e-3, 1140.0, 1.0)
    tied = line(0.2e-3, 1140.0, smooth(0.2e-3))
    rig = chain([0.1] * 10, [10], tied, STILL, [drag(0.3, 2e-3)], [2e-3], [3e-4], lead=None)
    return {"pulled line speed": wanted}, {"pulled line speed": settled(rig, 200).velocity[1, -1, 0]}


def broadside(row: Row) -> tuple[dict[str, float], dict[str, float]]:
    tied = line(0.2e-3, 1780.0, smooth(0.2e-3))
    rig = chain([0.1] * 10, [], tied, STILL, [], [], [], lead=None)
    wanted = exact.broadside(0.2e-3, 1780.0)
    return {"broadside line speed": wanted}, {"broadside line speed": settled(rig, 20).velocity[1, 5, 0]}


def tilted_pair(row: Row) -> tuple[dict[str, float], dict[str, float]]:
    tilt, speed = exact.tilted_pair((0.2, 0.35), (1e-3, 3e-3), 0.5, 0.6)
    drags = [drag(0.2, 1e-3), drag(0.35, 3e-3)]
    sheared = Stream(lambda z: -0.6 * z)
    rig = chain([0.5], [0, 1], weightless(), sheared, drags, [1e-3, 3e-3], [THIN, THIN], lead=None)
    state = settled(rig, 60, 0.01)
    along = state.place[:, 1, 0] - state.place[:, 0, 0]
    wanted = {"tilted pair tilt": tilt, "tilted pair speed": speed}
    return wanted, {
        "tilted pair tilt": math.degrees(math.atan2(abs(along[0]), along[1])),
        "tilted pair speed": state.velocity[1, 1, 0],
    }


CASES: Mapping[str, Callable[[Row], tuple[dict[str, float], dict[str, float]]]] = {
    "free fall": free_fall,
    "linked pair": linked_pair,
    "catenary": catenary,
    "critical angle": critical_angle,
    "light line": light_line,
    "heavy line": heavy_line,
    "two flies": two_flies,
    "taut swing": taut_swing,
    "pulled line": pulled_line,
    "broadside": broadside,
    "tilted pair": tilted_pair,
}


@cache
def both(case: str, inputs: str) -> tuple[dict[str, float], dict[str, float]]:
    [row] = [row for row in rows("rig.csv") if row.inputs == inputs and row.quantity.startswith(case)][:1]
    return CASES[case](row)


@pytest.mark.slow
@pytest.mark.parametrize("row", rows("rig.csv"), ids=str)
def test_the_chain_meets_the_exact_solution(row: Row) -> None:
    case = next(case for case in CASES if row.quantity.startswith(case))
    wanted, got = both(case, row.inputs)
    replace(row, tolerance="", reason="").check(wanted[row.quantity])
    row.check(got[row.quantity] * row.value / wanted[row.quantity])


@pytest.mark.slow
def test_steady_shapes_do_not_depend_on_the_step() -> None:
    even = Stream(lambda z: 0 * z + 0.4)
    tied = line(0.3e-3, 1140.0, smooth(0.3e-3))
    rig = chain([0.125] * 12, [12], tied, even, [0.02], [3e-3], [3e-4], floor=DEEP)
    depths = [float(settled(rig, 40, step).place[1, -1, 0]) for step in (0.05, 0.01)]
    assert depths[0] == pytest.approx(depths[1], rel=1e-6)


def test_a_line_without_drag_or_weight_is_nothing() -> None:
    rig = chain([0.25] * 4, [4], weightless(NO_DRAG), STILL, [0.02], [2e-3], [3e-4], slack=0.9)
    state = settled(rig, 2, 0.01)
    alone, _ = exact.free_fall(2.0, math.sqrt(2e-3 / 0.02), 2e-3, 3e-4)
    assert state.place[1, -1, 0] == pytest.approx(alone, rel=0.005)
