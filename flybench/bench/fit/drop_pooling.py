"""Pooling drops: one sink speed from several drops, and whether they got faster as the fly was wetted through."""

from __future__ import annotations

import numpy as np

from flybench.quantity import Floats
from flybench.statistics.pooling import Pooled, pool
from flybench.statistics.tails import student_beyond

EXPECTED_SPREAD = 0.015
"""Scale of the prior for the drop-to-drop spread, as a share of the speed [-]: two drops of one fly then
differ by some 2 % (judgement; its sources and what it does, see ``statistics.pooling.pool``)."""
_WETTING_P = 0.05
"""Probability below which a slope over more than three drops is no chance, two-sided [-]: the usual 1 in 20."""
_WETTING_LEAST = 0.01
"""Least gain from the first to the last drop, over the speed [-]: less is within what drops of one fly differ by anyway,
see EXPECTED_SPREAD (judgement)."""

_WETTING_SURE = 2.0 * np.sqrt(2.0)
"""Gain from the first to the last drop, in usual spreads of a drop, that is believed where each drop is faster than the one
before [-]: two standard deviations of the difference of two drops; three drops rise by chance once in six."""


def pool_drops(speeds: Floats, uncertainties: Floats) -> Pooled:
    """Pool drops' speeds (n) and standard uncertainties (n) [m/s], n >= 1; see ``statistics.pooling.pool``."""
    return pool(speeds, uncertainties, EXPECTED_SPREAD)


def wetting_trend(speeds: Floats, uncertainties: Floats) -> float | None:
    """Return how much faster the fly got a drop, as a share of its speed, or None where it did not.

    A dressing that holds air falls slower on its first drops. Needs three drops at least, a slope that chance
    rarely gives (p < 0.05) or a gain, drop after drop, beyond what drops of one fly differ by anyway; and in
    both cases a gain beyond the drops' own uncertainties.
    """
    if len(speeds) < 3:
        return None
    slope, p_value = _slope(speeds)
    share = slope / float(np.mean(speeds))
    gain = speeds[-1] - speeds[0]
    plain = gain > 2.0 * np.hypot(uncertainties[0], uncertainties[-1])
    beyond = gain > _WETTING_SURE * EXPECTED_SPREAD * speeds[-1]
    steady = bool(np.all(np.diff(speeds) > 0) and beyond) or p_value < _WETTING_P
    return share if steady and plain and gain > _WETTING_LEAST * speeds[-1] and share > 0 else None


def _slope(speeds: Floats) -> tuple[float, float]:
    """Return the least-squares slope over the drops' order and its two-sided p value (Student's t)."""
    order = np.arange(len(speeds)) - (len(speeds) - 1) / 2
    spread = float(order @ order)
    slope = float(order @ speeds) / spread
    rest = speeds - speeds.mean() - slope * order
    freedom = len(speeds) - 2
    error = float(np.sqrt(rest @ rest / freedom / spread))
    return slope, student_beyond(slope / max(error, 1e-300), freedom)
