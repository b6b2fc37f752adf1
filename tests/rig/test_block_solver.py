"""The linear equations of a step against numpy's dense solver: few rigs and many, free and pulled chains."""

from __future__ import annotations

import numpy as np
import pytest

from flybench.quantity import Floats
from flybench.rig.chain.block_solver import FEW, solve_blocks

PIECES = 5


def equations(rigs: int, seed: int) -> tuple[Floats, Floats, Floats]:
    """Return own blocks, links and right sides as a chain of masses has them: positive definite."""
    rng = np.random.default_rng(seed)
    link = rng.uniform(0, 1, (3, PIECES, rigs))
    link[[0, 2]] += 0.5
    link[1] *= 0.4
    own = np.zeros((3, PIECES + 1, rigs))
    own[[0, 2]] += rng.uniform(0.01, 1.0, (PIECES + 1, rigs))
    own[:, 1:] += link
    own[:, :-1] += link
    return own, link, rng.normal(size=(2, PIECES + 1, rigs))


def dense(own: Floats, link: Floats, right: Floats, start: Floats | None, rig: int) -> Floats:
    """Return one rig's velocities (2, nodes) by numpy.linalg.solve."""
    size = 2 * (PIECES + 1)
    matrix = np.zeros((size, size))

    def full(block: Floats) -> Floats:
        return np.array([[block[0], block[1]], [block[1], block[2]]])

    for node in range(PIECES + 1):
        here = slice(2 * node, 2 * node + 2)
        matrix[here, here] = full(own[:, node, rig])
        if node < PIECES:
            below = slice(2 * node + 2, 2 * node + 4)
            matrix[here, below] = matrix[below, here] = -full(link[:, node, rig])
    load = right[:, :, rig].T.ravel()
    if start is not None:
        matrix[:2] = np.eye(size)[:2]
        load = np.concatenate([start[:, rig], load[2:]])
    return np.linalg.solve(matrix, load).reshape(-1, 2).T


@pytest.mark.parametrize("pulled", [False, True])
@pytest.mark.parametrize("rigs", [1, 3, FEW, FEW + 1])
def test_velocities_are_those_of_a_dense_solver(rigs: int, pulled: bool) -> None:
    own, link, right = equations(rigs, 3)
    start = np.random.default_rng(4).normal(size=(2, rigs)) if pulled else None
    found = solve_blocks(own.copy(), link, right.copy(), start)
    for rig in {0, rigs // 2, rigs - 1}:
        np.testing.assert_allclose(
            found[:, :, rig], dense(own, link, right, start, rig), rtol=1e-9, atol=1e-12
        )


def test_a_matrix_that_is_not_positive_definite_is_solved_as_well() -> None:
    own, link, right = equations(2, 5)
    own[[0, 2], 3] -= 4.0
    found = solve_blocks(own.copy(), link, right.copy(), None)
    for rig in range(2):
        np.testing.assert_allclose(
            found[:, :, rig], dense(own, link, right, None, rig), rtol=1e-9, atol=1e-12
        )
