"""The linear equations of a step: chains of 2 x 2 blocks, all rigs at once.

Many rigs are taken together block by block; few are one banded system each, which saves some thirty times the
time where numpy's calls would cost more than the arithmetic. Both agree to rounding.
"""

from __future__ import annotations

import numpy as np
from scipy.linalg.lapack import dpbsv

from flybench.quantity import Floats

FEW = 200
"""Rigs up to which banded systems are quicker [-] (measured: equal at some 300 on a chain of 12 pieces)."""


def solve_blocks(own: Floats, link: Floats, right: Floats, start: Floats | None) -> Floats:
    """Return the velocities (2, nodes, rigs) of a chain; ``own`` and ``right`` are used up.

    own[i] v_i - link[i-1] v_(i-1) - link[i] v_(i+1) = right[i], blocks symmetric.

    Parameters: own, xx, xz and zz of the diagonal blocks, (3, nodes, rigs); link, the same of the pieces,
    (3, pieces, rigs); right, (2, nodes, rigs); start, velocity of node 0 where it is given, (2, rigs).
    """
    if own.shape[2] <= FEW:
        found = _by_bands(own, link, right, start)
        if found is not None:
            return found
    return _by_blocks(own, link, right, start)


def _by_bands(own: Floats, link: Floats, right: Floats, start: Floats | None) -> Floats | None:
    """Solve the rigs one behind the other by Cholesky; None where rounding left a matrix not positive definite.

    The four rows of the band are the diagonal and what stands 1, 2 and 3 below it, as LAPACK's DPBSV wants them.
    """
    first = 0 if start is None else 1
    blocks, links, load = own[:, first:], link[:, first:], right[:, first:]
    if start is not None:
        load = load.copy()
        load[:, 0] += _times(link[:, 0], start)
    nodes, rigs = blocks.shape[1:]
    band = np.zeros((4, rigs, nodes, 2))
    band[0, :, :, 0], band[1, :, :, 0], band[0, :, :, 1] = blocks.transpose(0, 2, 1)
    below = -links.transpose(0, 2, 1)
    band[2, :, :-1, 0], band[1, :, :-1, 1], band[2, :, :-1, 1] = below
    band[3, :, :-1, 0] = below[1]
    _, velocity, failed = dpbsv(band.reshape(4, -1), load.transpose(2, 1, 0).ravel(), lower=1)
    if failed:
        return None
    found = np.empty_like(right)
    found[:, first:] = velocity.reshape(rigs, nodes, 2).transpose(2, 1, 0)
    if start is not None:
        found[:, 0] = start
    return found


def _by_blocks(own: Floats, link: Floats, right: Floats, start: Floats | None) -> Floats:
    """Solve all rigs at once, from the last node up and down again."""
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
