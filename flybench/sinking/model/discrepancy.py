"""What the drag law gets wrong from one build to the next: a smooth function of bead, hook and weight.

A Gaussian process on the residuals of ln(drag area): builds that are alike are missed alike. How large it is is one of
the spreads that a shop's fit averages over. Amounts of dressing are not in it, so that more of it never drags less, and
it is so smooth that a heavier bead hardly ever sinks slower.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from flybench.quantity import Floats
from flybench.sinking.drag.tied_fly import Build

_BEAD, _GAPE, _WEIGHT = 0.5, 0.4, 1.0
"""How far builds are from each other before they are missed apart, in ln of the bead's diameter, of the hook's gape and
of the weight [-]: some half of the range of a shop each (judgement)."""
_NO_BEAD = 1e-3
"""Diameter that counts for a fly without a bead [m]: less than any bead (judgement)."""


def likeness(
    builds: Sequence[Build], weights: Floats, others: Sequence[Build], other_weights: Floats
) -> Floats:
    """Return how alike builds are missed by the law (n, m) [-]: 1 for the same build and weight, 0 for builds far apart.

    exp(-r^2 / 2), r the distance in units of the constants above.
    Parameters: builds (n) and others (m); their weights in water [N].
    Reference: Rasmussen & Williams (2006), eq. 4.9.
    """
    one, other = _places(builds, weights), _places(others, other_weights)
    squares = ((one[:, None, :] - other[None, :, :]) ** 2).sum(-1)
    alike: Floats = np.exp(-squares / 2)
    return alike


def _places(builds: Sequence[Build], weights: Floats) -> Floats:
    rows = [
        [
            np.log(build.bead_diameter or _NO_BEAD) / _BEAD,
            np.log(build.hook_gape) / _GAPE,
            np.log(weight) / _WEIGHT,
        ]
        for build, weight in zip(builds, weights, strict=True)
    ]
    return np.array(rows, dtype=float).reshape(-1, 3)
