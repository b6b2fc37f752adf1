"""Values and their uncertainties as texts, rounded to the place that the uncertainty deserves."""

from __future__ import annotations

import math
from decimal import Context, Decimal

from flybench.errors import BadValueError
from flybench.quantity import INCH

_EXACT = Context(prec=1400)
"""Arithmetic in which nothing is lost: digits enough for the largest over the smallest float [-]."""
_LOWERED = Decimal("0.95")
"""Least share of an uncertainty that is left of it when it is rounded [-] (judgement)."""
_TWO_DIGITS = Decimal("2.95")
"""Below this, with its first digit before the point, an uncertainty keeps two digits [-] (judgement)."""


def rounded(value: float, uncertainty: float) -> tuple[str, str]:
    """Return value and uncertainty as text, rounded to the place the uncertainty deserves.

    Two significant digits where the uncertainty begins with 1 or 2, else one. Rounding never lowers
    the uncertainty by more than 5 %: it is rounded up then. The value ends at the same place.
    Range: finite numbers, uncertainty above zero.
    Reference: JCGM 100:2008 (GUM), 7.2.6.

    >>> rounded(31.4159, 0.4321)
    ('31.4', '0.5')
    """
    if not (math.isfinite(value) and math.isfinite(uncertainty) and uncertainty > 0):
        cure = "Give finite numbers, the uncertainty above zero."
        raise BadValueError(
            "uncertainty", f"cannot round {value:g} with the uncertainty {uncertainty:g}", cure
        )
    exact = Decimal(repr(float(uncertainty)))
    step = _last_place(exact)
    short = exact.quantize(step, context=_EXACT)
    if short < _EXACT.multiply(exact, _LOWERED):
        short = _EXACT.add(short, step)
    whole = _EXACT.plus(Decimal(repr(float(value))).quantize(step, context=_EXACT))  # no sign of "-0.0"
    return f"{whole:f}", f"{short:f}"


def speed_text(value_m_s: float, expanded_m_s: float) -> str:
    """Return a speed as the user reads it, in cm/s and in/s; both arguments in m/s, k = 2.

    >>> speed_text(0.314, 0.004)
    '31.4 ± 0.4 cm/s (12.36 ± 0.16 in/s)'
    """
    metric = rounded(value_m_s * 100, expanded_m_s * 100)
    imperial = rounded(value_m_s / INCH, expanded_m_s / INCH)
    return f"{metric[0]} ± {metric[1]} cm/s ({imperial[0]} ± {imperial[1]} in/s)"


def _last_place(uncertainty: Decimal) -> Decimal:
    """Return one unit of the last digit to keep."""
    leading = uncertainty.adjusted()
    two_digits = uncertainty.scaleb(-leading) < _TWO_DIGITS
    return Decimal(1).scaleb(leading - two_digits)
