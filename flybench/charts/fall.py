"""What is left of each drop beside its fit, against time, with the noise of the readings: a strip for each drop."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from flybench.bench.fit.fall import FallFit
from flybench.bench.verdict.result import BenchResult, MeasuredDrop
from flybench.charts.style import INK, MOST_NAMED, MUTED, RULE, SMALL, look_of, quiet, readings

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Fitted = tuple[int, MeasuredDrop, FallFit]

NAME_WIDTH = 57.0
"""Room for a drop's name and its scatter, right of its strip [points]."""
_FAR = 6.0
"""Rms residuals beyond which a reading left out of the fit is not drawn [-]: it would flatten all others (judgement)."""
_NUMBERED, _NAME_LINE = 17.0, 8.6
"""Height of a strip from which its marks have numbers, and line to line of its name [points]."""
_TICK_AT = 0.8
"""Largest share of the reach of a strip at which its mark can stand [-]: its number has room there (judgement)."""
_SIGMAS_A_MEDIAN = 1.4826
"""Standard deviation over the median size of a deviation, of a normal law [-]."""
_LEAST_REACH = 1e-6
"""Least reach of a strip [m]: fits of invented falls can be exact."""
_ROOM = 1.35
"""Half the height of a strip over the largest residual in it [-] (judgement)."""
_BAND = 2.0
"""Half the width of the band of reading noise [standard deviations]: one reading in twenty lies outside."""


def fitted(result: BenchResult) -> Iterator[Fitted]:
    """Yield number, drop and fit of every drop that was fitted, those not used first (so they lie below)."""
    for wanted in (False, True):
        for number, measured in enumerate(result.drops):
            if measured.fit is not None and measured.used is wanted:
                yield number, measured, measured.fit


def stripped(result: BenchResult) -> list[Fitted]:
    """Return the drops that get a strip, in order: those used, all where none is, at most eight."""
    shown = [entry for entry in fitted(result) if entry[1].used or not result.used_drops]
    return sorted(shown, key=lambda entry: entry[0])[:MOST_NAMED]


def residual_strips(strips: Sequence[Axes], shown: Sequence[Fitted]) -> str:
    """Draw measured less fitted depth against time [s, mm], a drop on each pair of axes, all to the same scales.

    The grey band is the noise of the readings, two standard deviations either way. Readings that the fit left out are
    hollow; those far off the scale are not shown. Returns what has to be said of them: with little height for each, its
    scale stands there and not beside it.
    """
    longest = max(float(fit.times[-1] - fit.times[0]) for _, _, fit in shown)
    reach = max(_reach(fit) for _, _, fit in shown)
    tick, high = _tick(reach), strips[0].bbox.height / strips[0].figure.dpi * 72
    named = high >= _NUMBERED
    for axes, (number, measured, fit) in zip(strips, shown, strict=True):
        _strip(axes, measured, fit, look_of(number, measured))
        _name(axes, number, measured, fit, high)
        axes.set_xlim(-0.02 * longest, 1.02 * longest)
        axes.set_ylim(-reach, reach)
        axes.set_yticks([-tick, 0.0, tick], [f"−{tick:g}", "", f"+{tick:g}"] if named else [""] * 3)
        axes.tick_params(labelbottom=axes is strips[-1])
    strips[-1].set_xlabel("seconds since its first reading", fontsize=SMALL, color=INK, labelpad=2)
    scale = "" if named else f"marks at ±{tick:g}; "
    return f"{scale}grey: reading noise; hollow: left out of the fit"


def _strip(axes: Axes, measured: MeasuredDrop, fit: FallFit, look: tuple[str, str, Any]) -> None:
    colour, mark, _ = look
    t, off = fit.times - fit.times[0], fit.residuals * 1e3
    quiet(axes)
    noise = _noise(fit) * 1e3
    axes.axhspan(-noise, noise, color=RULE, alpha=0.75, linewidth=0)
    axes.axhline(0.0, color=MUTED, linewidth=0.7)
    readings(axes, t[fit.used], off[fit.used], colour, mark, most=120)
    out = ~fit.used & (np.abs(off) < _FAR * _rms(fit) * 1e3)
    axes.plot(t[out], off[out], mark, color=colour, markersize=3.2, fillstyle="none", markeredgewidth=0.6)


def _name(axes: Axes, number: int, measured: MeasuredDrop, fit: FallFit, high: float) -> None:
    """Write beside a strip which drop it is, and the root mean square of its residuals."""
    name = [f"drop {number + 1}", *([] if measured.used else ["not used"]), f"rms {_rms(fit) * 1e3:.2g}"]
    axes.annotate(
        "\n".join(name) if high >= _NAME_LINE * len(name) else f"{number + 1}: {name[-1]}",
        (1.0, 0.5),
        xycoords="axes fraction",
        xytext=(6, 0),
        textcoords="offset points",
        fontsize=SMALL,
        color=INK,
        va="center",
        linespacing=1.05,
    )


def _rms(fit: FallFit) -> float:
    """Return the root mean square of the residuals [m]."""
    return float(np.sqrt(np.mean(fit.residuals[fit.used] ** 2)))


def _noise(fit: FallFit) -> float:
    """Return half the width of the band of reading noise [m], from how readings differ from the mean of their neighbours.

    Of white noise such a difference has a variance of 1.5; what wanders slowly cancels.
    """
    off = fit.residuals[fit.used]
    apart = np.abs(off[1:-1] - (off[:-2] + off[2:]) / 2)
    return _BAND * _SIGMAS_A_MEDIAN * float(np.median(apart)) / math.sqrt(1.5)


def _reach(fit: FallFit) -> float:
    """Return how far a strip has to reach [mm]."""
    largest = float(np.abs(fit.residuals[fit.used]).max())
    return max(_ROOM * largest, _ROOM * _noise(fit), _LEAST_REACH) * 1e3


def _tick(reach: float) -> float:
    """Return the largest round number [mm] of the 1-2-5 series that has room in a strip of such a reach."""
    most = _TICK_AT * reach
    decade = 10.0 ** math.floor(math.log10(most))
    return max(step * decade for step in (1.0, 2.0, 5.0) if step * decade <= most)
