"""Several readings of one weighing: what their mean is worth, and what one reading alone usually is."""

from __future__ import annotations

import math
from collections.abc import Sequence

from flybench.quantity import Measured
from flybench.sinking.weight.scale import reading
from flybench.statistics.student import widened

HANGING = 1e-6
"""Standard deviation of a reading in water at the least [kg]: 1 mg, by the pull of the surface on the thread, which is
up to 2.3 mg for a thread of 0.1 mm and differs from dip to dip, by drift since the tare and by small bubbles (judgement)."""
_USUAL_FREEDOM = 3.0
"""Degrees of freedom that the usual standard deviation counts for, beside those of the readings taken [-]: it is a
guess, so five readings of one's own outvote it (judgement)."""
_ALONE_FREEDOM = 2.5
"""Degrees of freedom that the usual standard deviation counts for where one reading stands alone [-]: fewer, as nothing shows
then whether the zero has drifted or a bubble hangs on the fly (judgement: by benchmarks/truth_weights.py, where the zero
drifts by 2.2 mg beside a usual 1 mg, two would hold 96 and three 89 % of the truths)."""
_APART = 3.0
"""Standard deviations of the difference of two readings beyond which they are said to differ [-]: k = 3, one in 370 by
chance (normal law)."""


def usual_repeatability(resolution: float, in_water: bool) -> float:
    """Return the standard deviation of a reading on a scale of which no more is known [kg].

    One step of the last digit in air; in water as much, and no less than ``HANGING``.
    Parameters: resolution, one step of the last digit [kg]; in_water, whether the fly hangs in water.
    Range: none is checked. Reference: judgement; makers of pocket scales state a digit (common practice, no source).

    >>> usual_repeatability(1e-5, True), usual_repeatability(1e-7, True)
    (1e-05, 1e-06)
    """
    return max(resolution, HANGING) if in_water else resolution


def alone(usual: float, known: bool = False) -> float:
    """Return the standard uncertainty that the scatter of readings leaves where there is one reading alone [kg].

    u = f u0: Student's factor for 2.5 degrees of freedom over 2, where the usual standard deviation u0 is a guess.
    Parameters: usual u0 [kg], known: it was measured, and stands.
    Range: none is checked. Reference: JCGM 100:2008, G.3; the degrees of freedom are judgement.

    >>> round(alone(1e-6) * 1e6, 2), alone(1e-6, known=True)
    (1.87, 1e-06)
    """
    return usual if known else widened([(usual, _ALONE_FREEDOM)])


def mean_reading(shown: Sequence[float], resolution: float, usual: float, known: bool = False) -> Measured:
    """Return the mean of several readings of one weighing, each tared and laid on anew, with its doubt.

    u^2 = d^2 / 12 + (f s)^2 / n, s^2 = (3 u0^2 + sum (r_i - r)^2) / (3 + n - 1): the usual standard deviation u0 counts
    like three degrees of freedom, and f is Student's factor for 2 + n of them over 2. One reading alone: as ``alone``.

    Parameters: shown r_i [kg], one or more; resolution d [kg]; usual u0 [kg], known: it was measured, and stands.
    Returns: mean and standard uncertainty [kg], without the scale's gain.
    Range: as ``scale.reading``, BadValueError else. Reference: JCGM 100:2008, 4.2 and G.3; a conjugate prior.

    >>> mean_reading([0.2e-3], 1e-6, 1e-6, True).standard_uncertainty == reading(0.2e-3, 1e-6, 1e-6).standard_uncertainty
    True
    """
    count, mean = len(shown), sum(shown) / len(shown)
    scatter = alone(usual, known) if count == 1 else usual / math.sqrt(count)
    if count > 1 and not known:
        freedom = _USUAL_FREEDOM + count - 1
        squares = _USUAL_FREEDOM * usual**2 + sum((one - mean) ** 2 for one in shown)
        scatter = widened([(math.sqrt(squares / freedom / count), freedom)])
    return reading(mean, resolution, scatter)


def readings_differ(shown: Sequence[float], resolution: float, usual: float) -> bool:
    """Tell whether readings of one weighing [kg] differ by more than they usually do, k = 3.

    Parameters: as ``mean_reading``.

    >>> readings_differ([0.200e-3, 0.204e-3], 1e-6, 1e-6), readings_differ([0.200e-3, 0.206e-3], 1e-6, 1e-6)
    (False, True)
    """
    least = reading(shown[0], resolution, usual).standard_uncertainty
    return max(shown) - min(shown) > _APART * math.sqrt(2) * least
