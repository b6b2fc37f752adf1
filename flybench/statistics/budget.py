"""The uncertainty budget and the law of propagation, after the GUM (JCGM 100:2008)."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from flybench.errors import BadValueError
from flybench.quantity import Floats

_STEP_SHARE = 0.1
"""Step of the difference quotient over the input's standard uncertainty [-]: JCGM 100:2008, 5.1.3, note 2, takes the
whole of it; a tenth leaves a hundredth of the curvature (judgement)."""
_SMALLEST_STEP = math.sqrt(np.finfo(float).eps)
"""Smallest step over the input itself [-]: the root of a float's last digit, below which rounding spoils the quotient
(any textbook of numerical differentiation)."""


@dataclass(frozen=True)
class BudgetLine:
    """One source's standard uncertainty of the RESULT, in the result's unit, and how well it is known: degrees of
    freedom [-]. Raises BadValueError for a negative uncertainty or degrees of freedom not above zero."""

    source: str
    standard_uncertainty: float
    degrees_of_freedom: float = math.inf

    def __post_init__(self) -> None:
        """Refuse what cannot be an uncertainty, or degrees of freedom that are not positive."""
        if not (self.standard_uncertainty >= 0 and self.degrees_of_freedom > 0):
            problem = (
                f"a standard uncertainty of {self.standard_uncertainty:g} with {self.degrees_of_freedom:g} degrees of "
                "freedom cannot be"
            )
            cure = "Give an uncertainty of zero or more, with more than zero degrees of freedom."
            raise BadValueError(self.source, problem, cure)


def combined(lines: Sequence[BudgetLine]) -> float:
    """Return the combined standard uncertainty of independent sources.

    u = sqrt(sum u_i^2).

    Parameters: lines, all in one unit. Returns: u in that unit, 0 without lines.
    Reference: JCGM 100:2008, 5.1.2.

    >>> combined([BudgetLine("scale", 3.0), BudgetLine("fit", 4.0)])
    5.0
    """
    return math.hypot(*(line.standard_uncertainty for line in lines))


def effective_degrees_of_freedom(lines: Sequence[BudgetLine]) -> float:
    """Return the effective degrees of freedom of the combined uncertainty (Welch-Satterthwaite).

    nu = u^4 / sum(u_i^4 / nu_i); infinite where every source is known exactly or is zero.

    Parameters: lines, all in one unit. Returns: nu [-].
    Reference: JCGM 100:2008, G.4.1.

    >>> round(effective_degrees_of_freedom([BudgetLine("a", 1.0, 4), BudgetLine("b", 1.0)]), 6)
    16.0
    """
    total = combined(lines)
    if total == 0:
        return math.inf
    spread = sum((line.standard_uncertainty / total) ** 4 / line.degrees_of_freedom for line in lines)
    return 1 / spread if spread > 0 else math.inf


def sensitivities(
    function: Callable[[Floats], ArrayLike],
    values: ArrayLike,
    uncertainties: ArrayLike,
    steps: ArrayLike | None = None,
) -> Floats:
    """Return the sensitivity coefficients of ``function`` at ``values`` by central differences.

    c_ji = [f_j(x_i + h_i) - f_j(x_i - h_i)] / (2 h_i), h_i a tenth of the input's standard uncertainty.

    Parameters: function, from an array of n inputs to m outputs; values and uncertainties, n each
    (zero uncertainty is allowed), in any units; steps, n, in place of the tenths, in the units of the inputs.
    Returns: coefficients, shape (m, n) [unit of the output per unit of the input].
    Range: none is checked. Reference: JCGM 100:2008, 5.1.3 with note 2.

    >>> sensitivities(lambda x: x[0] * x[1], [2.0, 3.0], [0.1, 0.1]).round(9).tolist()
    [[3.0, 2.0]]
    """
    inputs = np.atleast_1d(np.asarray(values, dtype=float))
    widths = _steps(inputs, np.asarray(uncertainties, dtype=float)) if steps is None else np.asarray(steps)
    columns = []
    for index, width in enumerate(np.broadcast_to(widths, inputs.shape)):
        above, below = inputs.copy(), inputs.copy()
        above[index] += width
        below[index] -= width
        rise = _outputs(function, above) - _outputs(function, below)
        columns.append(rise / (above[index] - below[index]))
    return np.stack(columns, axis=-1)


def propagate(
    function: Callable[[Floats], ArrayLike],
    values: ArrayLike,
    covariance: ArrayLike,
    steps: ArrayLike | None = None,
) -> tuple[Floats, Floats]:
    """Return outputs and their covariance to first order, correlations included.

    U_y = C U_x C^T, C the sensitivity coefficients.

    Parameters: function, from an array of n inputs to m outputs; values, n; covariance of the inputs,
    (n, n), or their n variances where they are independent; steps, n, for the difference quotients.
    Returns: outputs (m), covariance (m, m), in the units of the outputs.
    Range: nearly linear over a standard uncertainty; else use a Monte Carlo (JCGM 101:2008).
    Reference: JCGM 100:2008, 5.2.2; JCGM 102:2011, 6.2.

    >>> outputs, covariance = propagate(lambda x: x[0] * x[1], [2.0, 3.0], [0.01, 0.04])
    >>> round(float(covariance[0, 0]), 9)
    0.25
    """
    inputs = np.atleast_1d(np.asarray(values, dtype=float))
    known = np.atleast_1d(np.asarray(covariance, dtype=float))
    matrix = np.diag(known) if known.ndim == 1 else known
    slopes = sensitivities(function, inputs, np.sqrt(np.diag(matrix)), steps)
    return _outputs(function, inputs), slopes @ matrix @ slopes.T


def _steps(inputs: Floats, uncertainties: Floats) -> Floats:
    """Return steps wide enough to survive rounding."""
    size = np.maximum(np.abs(inputs), np.where(uncertainties > 0, 0.0, 1.0))
    return np.maximum(_STEP_SHARE * uncertainties, _SMALLEST_STEP * size)


def _outputs(function: Callable[[Floats], ArrayLike], inputs: Floats) -> Floats:
    """Return the outputs as a flat array of floats."""
    return np.atleast_1d(np.asarray(function(inputs), dtype=float)).ravel()
