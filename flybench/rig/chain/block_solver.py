"""The linear equations of a step: chains of 2 x 2 blocks, all rigs at once."""

from __future__ import annotations

import numpy as np

from flybench.quantity import Floats


def solve_blocks(own: Floats, link: Floats, right: Floats, start: Floats | None) -> Floats:
    """Return the velocities (2, nodes, rigs) of a chain; ``own`` and ``right`` are used up.

    own[i] v_i - link[i-1] v_(i-1) - link[i] v_(i+1) = right[i], blocks symmetric.

    Parameters: own, xx, xz and zz of the diagonal blocks, (3, nodes, rigs); link, the same of the pieces,
    (3, pieces, rigs); right, (2, nodes, rigs); start, velocity of node 0 where it is given, (2, rigs).
    """
    last = own.shape[1] - 1
    end = 0 if start is None else 1
    turn = np.empty_like(own[:, 0])
    for node in range(last, end - 1, -1):
        _invert(own[:, node])
        if node == end:
            break
        _fold(own, link[:, node - 1], right, node, turn)
    found = np.empty_like(right)
    if start is None:
        found[:, 0] = _times(own[:, 0], right[:, 0])
    else:
        found[:, 0] = start
    for node in range(1, last + 1):
        above = _times(link[:, node - 1], found[:, node - 1])
        above += right[:, node]
        found[:, node] = _times(own[:, node], above)
    return found


def _invert(block: Floats) -> None:
    """Turn symmetric blocks (xx, xz, zz) into their inverses."""
    xx, xz, zz = block
    scale = xx * zz
    scale -= xz * xz
    np.divide(1.0, scale, out=scale)
    kept = xx * scale
    np.multiply(zz, scale, out=xx)
    zz[:] = kept
    np.negative(scale, out=scale)
    xz *= scale


def _fold(own: Floats, link: Floats, right: Floats, node: int, turn: Floats) -> None:
    """Take node's equation, its own block inverted, into the one above it."""
    inverse = own[:, node]
    first = link[0] * inverse[:2]
    first += link[1] * inverse[1:]
    second = link[1] * inverse[:2]
    second += link[2] * inverse[1:]
    np.multiply(first[0], link[:2], out=turn[:2])
    turn[:2] += first[1] * link[1:]
    np.multiply(second[0], link[1], out=turn[2])
    turn[2] += second[1] * link[2]
    own[:, node - 1] -= turn
    right[0, node - 1] += first[0] * right[0, node] + first[1] * right[1, node]
    right[1, node - 1] += second[0] * right[0, node] + second[1] * right[1, node]


def _times(block: Floats, vector: Floats) -> Floats:
    """Return symmetric blocks times vectors, (2, rigs)."""
    product: Floats = block[:2] * vector[0]
    product += block[1:] * vector[1]
    return product
