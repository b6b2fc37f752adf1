"""A tight line of the chain, from a rod's tip through the air into the water, against exact and continuous solutions.

The three worked cases hold constant drag coefficients and g = 9.81 m/s2, for they test the geometry and not the drag law.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from exact_rig import MU, RHO, cheng, constant
from exact_tight import Hung, TightCase, hung
from rigging import NO_DRAG, Law, chain, even, line, settled, sheared

from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch, ChainLine
from flybench.rig.chain.line_drag import ThinLine
from flybench.rig.chain.state import ChainState

G = 9.81
NYLON = 1140.0


def constant_law(d: float, cn: float = 1.5, ct: float = 0.02) -> Law:
    return Law(lambda u: 500 * cn * d * u, lambda u: 500 * math.pi * ct * d * u)


def of_nylon(d: float, law: object) -> ChainLine:
    tied = line(d, NYLON, law)
    return replace(tied, weight=tied.weight * G / 9.80665, lift=tied.lift * G / 9.80665)


def trailing(rigs: Batch, seconds: float, step: float = 0.1) -> tuple[Floats, Floats, ChainState]:
    """Return depth and trail downstream of the tip of the first rig's nodes [m] once it has settled."""
    state = settled(rigs, seconds, step)
    place = state.place[:, :, 0]
    return place[1], place[0] - place[0, 0], state


def test_line_without_drag_hangs_from_the_tip_in_a_catenary() -> None:
    # T cos a = T0, z = c (cosh(x/c) - 1), c = T0/w. T0 is the drag on a fly that floats half under water, level with the
    # line's end: 0.18 mm nylon in air, 1 mN, 2 m of it reach 1.9053 m and 0.5293 m, and pull by 1.1506 mN there.
    tied = of_nylon(0.18e-3, NO_DRAG)
    c = 1e-3 / (tied.weight + tied.lift)
    across, up = c * math.asinh(2.0 / c), c * (math.hypot(1, 2.0 / c) - 1)
    assert (across, up) == (pytest.approx(1.9053, abs=5e-5), pytest.approx(0.5293, abs=5e-5))
    floats = 1e-3
    rigs = chain(
        [2.0 / 24] * 24,
        [24],
        tied,
        even(0.3),
        [2e-3 / 0.09],
        [-floats],
        [2 * floats / 9.80665],
        tip=up,
    )
    depth, trail, state = trailing(rigs, 60)
    assert depth[-1] == pytest.approx(0.0, abs=1e-3)
    assert trail[-1] == pytest.approx(across, rel=1e-3)
    # The first piece pulls as in its middle, which is lower than the tip by half its height.
    half = (tied.weight + tied.lift) * (up + depth[1]) / 2
    assert (state.tension[0, 0] + half) * 1e3 == pytest.approx(1.1506, rel=1e-3)


@pytest.mark.slow
def test_weightless_line_with_drag_across_it_is_a_catenary_on_its_side() -> None:
    # cot a = cot a0 - s/c, c = 2T/(rho d Cn U^2): 0.18 mm, Cn 1.5, U 0.3 m/s, T 3 mN, a0 90 degrees; after 0.5 m x is
    # -0.31073 and z 0.35920 m. Above the surface it is straight, at cot a = -2.0250.
    law = constant_law(0.18e-3, 1.5, 0.0)
    lean = 0.5 / 0.24691
    tip = 0.5
    length = 0.5 + tip * math.hypot(1, lean)
    rigs = chain(
        [length / 30] * 30, [30], ChainLine(0.0, 1e-5, law), even(0.3), [0.0], [3e-3], [3e-4], tip=tip
    )
    depth, trail, state = trailing(rigs, 60)
    assert depth[-1] == pytest.approx(0.35920, rel=5e-3)
    assert trail[-1] == pytest.approx(0.31073 + tip * lean, rel=2e-3)
    np.testing.assert_allclose(state.tension[:, 0], 3e-3, rtol=1e-2)


@pytest.mark.slow
@pytest.mark.parametrize("share", [0.5, 1.0, 1.5, 2.0])
def test_line_without_weight_and_drag_leans_by_the_flys_own_speed(share: float) -> None:
    # depth + H over L: 1/sqrt(1 + (U/ws)^4) = 0.9701, 0.7071, 0.4061, 0.2425.
    straight = {0.5: 0.9701, 1.0: 0.7071, 1.5: 0.4061, 2.0: 0.2425}[share]
    length = 2.0
    tip = 0.6 * straight * length
    rigs = chain(
        [length / 12] * 12,
        [12],
        ChainLine(0.0, 1e-5, NO_DRAG, stiffness=200.0),
        even(0.2 * share),
        [2e-3 / 0.04],
        [2e-3],
        [3e-4],
        tip=tip,
    )
    depth, _, _ = trailing(rigs, 110, 0.2)
    assert (depth[-1] + tip) / length == pytest.approx(straight, abs=1e-4)


WORKED = {
    "A": (even(0.30), 1.0, 0.0, 0.8, 2.0, 0.18e-3, 3e-3, 0.25, 60),
    "B": (sheared(0.60, 0.9, 5e-3), 0.9, 0.45, 1.2, 2.0, 0.15e-3, 2e-3, 0.20, 700),
    "C": (sheared(0.90, 1.2, 8e-3), 1.2, 0.65, 1.5, 2.6, 0.20e-3, 5e-3, 0.30, 200),
}
"""Current; depth of the water; lead; tip; length; diameter; weight; sink speed; and seconds until it rests."""
PRINTED = {
    "A": (0.14229, 1.76312, 5.2595, 5.6022),
    "B": (0.75166, 0.33961, 2.0057, 2.2617),
    "C": (0.48504, 1.65087, 5.1884, 5.7823),
}
"""Depth of the fly and how far it is downstream of the tip [m], tension at fly and tip [mN], by shooting and
by scipy's solve_bvp, outside this program."""


def continuous(name: str) -> TightCase:
    stream, _, lead, tip, length, d, weight, speed, _ = WORKED[name]
    tied = of_nylon(d, None)

    def water(depth: float) -> float:
        return float(stream.speed(np.asarray(depth)))

    fly = (0.0, weight / speed**2, weight, weight)
    return TightCase(constant(d, 1.5, 0.02), tied.weight, tied.lift, water, lead, tip, length, (fly,))


@pytest.mark.slow
@pytest.mark.parametrize("name", WORKED)
def test_shooting_gives_the_printed_places_of_rest(name: str) -> None:
    depth, trail, at_point, at_tip = PRINTED[name]
    [found] = hung(continuous(name), WORKED[name][1] - 0.01)
    assert found.depth[0] == pytest.approx(depth, abs=6e-6)
    assert found.trail[0] == pytest.approx(trail, abs=1e-5)
    assert (found.at_point * 1e3, found.at_tip * 1e3) == pytest.approx((at_point, at_tip), abs=6e-5)


@pytest.mark.slow
@pytest.mark.parametrize("name", WORKED)
def test_tight_line_comes_to_rest_where_it_does_by_shooting(name: str) -> None:
    stream, floor, lead, tip, length, d, weight, speed, seconds = WORKED[name]
    tied = of_nylon(d, constant_law(d))
    pieces, mass = 12, 1.5 * weight / 9.80665
    rigs = chain(
        [length / pieces] * pieces,
        [pieces],
        tied,
        stream,
        [weight / speed**2],
        [weight],
        [mass],
        lead=lead,
        tip=tip,
        slack=0.05,
        floor=floor,
        upstream=True,
    )
    depth, trail, state = trailing(rigs, seconds, 0.2)
    wanted = PRINTED[name]
    assert depth[-1] == pytest.approx(wanted[0], rel=0.006)
    assert trail[-1] == pytest.approx(wanted[1], abs=0.01)
    half = (tied.weight + tied.lift) * (tip + depth[1]) / 2
    assert (state.tension[0, 0] + half) * 1e3 == pytest.approx(wanted[3], rel=0.006)


def with_dropper(gap: float, water_depth: float = 1.2) -> tuple[TightCase, Batch]:
    """Return a rig of two flies on a thin line with the drag law that rigs have, for both solutions."""
    d, lead, tip, length = 0.15e-3, 0.55, 1.2, 2.2
    stream = sheared(0.70, water_depth, 6e-3)
    law = ThinLine(d, RHO, MU)
    tied = line(d, NYLON, law)
    point, dropper = (4e-3 / 0.35**2, 4e-3), (1e-3 / 0.2**2, 1e-3)

    def water(depth: float) -> float:
        return float(stream.speed(np.asarray(depth)))

    dry = 4 / 3  # of a density of 4000 kg/m3
    flies = ((0.0, *point, dry * point[1]), (gap, *dropper, dry * dropper[1]))
    case = TightCase(cheng(d), tied.weight, tied.lift, water, lead, tip, length, flies)
    up, down = 10, 4
    lengths = [(length - gap) / up] * up + [gap / down] * down
    masses = [(dry + 0.5 * (dry - 1)) * weight / 9.80665 for weight in (dropper[1], point[1])]
    rigs = chain(
        lengths,
        [up, up + down],
        tied,
        stream,
        [dropper[0], point[0]],
        [dropper[1], point[1]],
        masses,
        lead=lead,
        tip=tip,
        slack=0.05,
        floor=water_depth,
        upstream=True,
    )
    return case, rigs


@pytest.mark.slow
@pytest.mark.parametrize("gap", [0.4, 0.9], ids=["in the water", "nearer the surface"])
def test_two_flies_on_a_tight_line_rest_where_they_do_by_shooting(gap: float) -> None:
    case, rigs = with_dropper(gap)
    found = hung(case, 1.19)
    assert found
    depth, _, _ = trailing(rigs, 400, 0.2)
    ours = depth[list(rigs.layout.nodes)][::-1]
    nearest = min(found, key=lambda one: abs(one.depth[0] - ours[0]))
    np.testing.assert_allclose(ours, nearest.depth, atol=0.006)


@pytest.mark.slow
def test_a_case_without_rest_under_water_has_none_by_shooting() -> None:
    slow = replace(continuous("B"), lead=0.35)
    assert hung(slow, 0.89, 25) == ()
    assert isinstance(hung(replace(slow, lead=0.42), 0.89, 25)[0], Hung)
