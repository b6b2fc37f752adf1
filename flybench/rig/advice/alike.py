"""Flies of a box that are alike, and one to stand for each group: a large box is looked through by groups first."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flybench.quantity import Floats
from flybench.rig.tackle.flies import RigFly


def groups_of(box: Sequence[RigFly], count: int) -> tuple[NDArray[np.intp], list[int]]:
    """Return the group of each fly, and the place in the box of the fly that stands for each of ``count`` groups.

    Each next one to stand for a group is the fly that is least like those before, by the logarithms of speed and weight, both
    over their spread in the box; the others belong to the one they are most like.
    """
    made = np.log([[fly.speed.value, fly.weight.value] for fly in box])
    made = (made - made.mean(axis=0)) / np.maximum(made.std(axis=0), np.finfo(float).eps)
    standing = [int(np.argmin((made**2).sum(axis=1)))]
    apart = [_apart(made, standing[0])]
    while len(standing) < min(count, len(box)):
        standing.append(int(np.argmax(np.min(apart, axis=0))))
        apart.append(_apart(made, standing[-1]))
    return np.argmin(apart, axis=0), standing


def _apart(made: Floats, place: int) -> Floats:
    """Return how unlike one fly all flies are [-]."""
    square: Floats = ((made - made[place]) ** 2).sum(axis=1)
    return square
