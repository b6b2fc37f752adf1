"""Forces on line and flies by hand: drag across, along and on flies, and that each grows with speed as it is said to."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from rigging import Law, Stream, chain, weightless

from flybench.quantity import Floats
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.forces import NORMAL_GROWTH, SHARING, directions, fly_drag, line_drag
from flybench.rig.chain.state import ChainState, landed

CN, CT = 0.7, 0.2
"""Coefficients across and along the line [N s/m2]."""
LAW = Law(lambda u: 0 * u + CN, lambda u: 0 * u + CT)
SHEAR = Stream(lambda z: 0.5 - 0.3 * z)


def rig(law: Law = LAW) -> Batch:
    """Return a rig of two pieces of 0.4 and 0.3 m with a fly at each lower end, in sheared water that rises."""
    return chain([0.4, 0.3], [1, 2], weightless(law), SHEAR, [0.02, 0.03], [1e-3, 2e-3], [3e-4, 3e-4])


def moving(rigs: Batch, seed: int = 3) -> ChainState:
    """Return a state with the pieces askew, every node moving on its own."""
    draw = np.random.default_rng(seed)
    state = landed(rigs)
    state.place[:, :, 0] = [[0.0, 0.25, 0.40], [0.0, 0.30, 0.50]]
    state.velocity = draw.uniform(-0.4, 0.4, state.velocity.shape)
    state.rising = np.array([0.07])
    return state


def test_pieces_point_from_the_surface_down_and_are_stretched_beyond_their_length() -> None:
    rigs = rig()
    way, long, stretch = directions(rigs, moving(rigs))
    first = np.hypot(0.25, 0.30)
    np.testing.assert_allclose(way[:, 0, 0], [0.25 / first, 0.30 / first])
    np.testing.assert_allclose(long[:, 0], [first, np.hypot(0.15, 0.20)])
    np.testing.assert_allclose(stretch[:, 0], [first - 0.4, 0.25 - 0.3], atol=1e-15)


def by_hand(rigs: Batch, state: ChainState, piece: int) -> tuple[Floats, Floats, float]:
    """Return drag on half a piece [N], its growth (2 x 2) [N s/m] and half the piece's length [m]."""
    place, velocity = state.place[:, :, 0], state.velocity[:, :, 0]
    span = place[:, piece + 1] - place[:, piece]
    along = span / np.hypot(*span)
    across = np.array([along[1], -along[0]])
    middle = (place[1, piece] + place[1, piece + 1]) / 2
    water = np.array([0.5 - 0.3 * middle, state.rising[0]])
    slip = (velocity[:, piece] + velocity[:, piece + 1]) / 2 - water
    half = rigs.layout.lengths[piece] / 2
    force = -half * (CN * (slip @ across) * across + CT * (slip @ along) * along)
    growth = half * (NORMAL_GROWTH * CN * np.outer(across, across) + CT * np.outer(along, along))
    return force, growth, half


@pytest.mark.parametrize("piece", [0, 1])
def test_drag_on_a_piece_is_that_of_its_middle(piece: int) -> None:
    rigs = rig()
    state = moving(rigs)
    way, _, _ = directions(rigs, state)
    push, shared, growth = (part.copy() for part in line_drag(rigs, state, way))
    force, slope, _ = by_hand(rigs, state, piece)
    np.testing.assert_allclose(push[:, piece, 0], force, rtol=1e-9)
    xx, xz, zz = growth[:, piece, 0]
    np.testing.assert_allclose([[xx, xz], [xz, zz]], slope, rtol=1e-9)
    lag = state.velocity[:, piece + 1, 0] - state.velocity[:, piece, 0]
    np.testing.assert_allclose(shared[:, piece, 0], SHARING / 2 * slope @ lag, rtol=1e-9)


def test_factors_on_the_drag_act_across_and_along_apart() -> None:
    plain = rig()
    state = moving(plain)
    way, _, _ = directions(plain, state)
    push = line_drag(plain, state, way)[0].copy()
    more = replace(plain, normal=np.array([2.0]), tangential=np.array([3.0]))
    again = line_drag(more, state, way)[0].copy()
    one = way[:, 0, 0]
    side = np.array([one[1], -one[0]])
    assert again[:, 0, 0] @ side == pytest.approx(2 * push[:, 0, 0] @ side)
    assert again[:, 0, 0] @ one == pytest.approx(3 * push[:, 0, 0] @ one)


def test_drag_follows_the_speed_across_and_not_its_sign() -> None:
    rigs = rig(Law(lambda u: 5 * u, lambda u: 0 * u))
    state = moving(rigs)
    state.rising = np.array([0.0])
    rigs = replace(rigs, profile=Stream(lambda z: 0 * z))
    way, _, _ = directions(rigs, state)
    push = line_drag(rigs, state, way)[0].copy()
    state.velocity = -state.velocity
    np.testing.assert_allclose(line_drag(rigs, state, way)[0], -push)


@pytest.mark.parametrize("number", [0, 1])
def test_a_fly_drags_with_the_square_of_its_speed_against_the_water(number: int) -> None:
    rigs = rig()
    state = moving(rigs)
    node, k = number + 1, (0.02, 0.03)[number]
    water = np.array([0.5 - 0.3 * state.place[1, node, 0], 0.07])

    def force(velocity: Floats) -> Floats:
        slip = velocity - water
        return -k * np.hypot(*slip) * slip

    velocity = state.velocity[:, node, 0].copy()
    right, down, growth = fly_drag(rigs, state, number)
    np.testing.assert_allclose([right[0], down[0]], force(velocity), rtol=1e-9)
    step = 1e-6
    slopes = [-(force(velocity + step * e) - force(velocity - step * e)) / (2 * step) for e in np.eye(2)]
    xx, xz, zz = (part[0] for part in growth)
    np.testing.assert_allclose([[xx, xz], [xz, zz]], slopes, rtol=1e-6)
