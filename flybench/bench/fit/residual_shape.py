"""What is left of a track beside its fit, looked at for shape: noise has none, a hand or perspective has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from flybench.bench.fit.fall import FallFit
from flybench.quantity import Floats

_LATE = 0.6
"""Last share of the fall in which a change of speed is looked for [-]: the start, where the fly gains speed, is left to the
fit (judgement)."""
_FEWEST_LATE = 4
"""Fewest readings of the late fall in which a bend is looked for [-]: three lie on a parabola always."""
_SLOW_S = 0.08
"""Time over which residuals are averaged before they count as slow [s]: two to five frames, a tenth of a fall
(judgement)."""
_OF_NOISE = 2.0 * np.sqrt(180.0)
"""Uncertainty of a change of speed over that of a reading / (time x root of frames) [-]: least squares of a parabola
through many even readings has sigma_a = sqrt(180 / n) sigma / T^2 (textbook), and the change is 2 a T."""
USUAL_CHANGE = 0.016
"""Standard deviation of such a change in free falls, over the speed and the whole way [-]: 1 % over the last 60 % of
500 simulated falls that wander by 0.15 mm, 5 to 95 % being -0.016 to 0.015 (simulated here)."""


@dataclass(frozen=True)
class ResidualShape:
    """The shape of one drop's residuals; speeds as shares of the terminal speed [-]."""

    change: float
    """Change of speed over the late fall beyond what the fit has, signed."""
    change_uncertainty: float
    """Its standard uncertainty from reading noise alone; infinite where the late fall shows in too few frames."""
    slow: float
    """Standard deviation of the residuals' running mean [m]."""
    swing: float
    """Standard deviation of the speed about the fit's, over times of 80 ms."""

    @property
    def along_the_way(self) -> float:
        """Return the change taken over the whole way."""
        return self.change / _LATE


@dataclass(frozen=True)
class Drift:
    """A change of speed on the way down that all drops share, as a share of the speed [-]."""

    change: float
    uncertainty: float

    @property
    def beyond_chance(self) -> float:
        """Return what of it is beyond one standard uncertainty, never below zero."""
        return max(abs(self.change) - self.uncertainty, 0.0)


def shape_of(fit: FallFit) -> ResidualShape:
    """Return the shape of a fit's residuals, frames left out of the fit not counted."""
    t, rest = fit.times[fit.used], fit.residuals[fit.used]
    late = t >= t[-1] - _LATE * (t[-1] - t[0])
    span = float(np.ptp(t[late]))
    white = fit.sigma * np.sqrt(1.0 - fit.wander_share)
    bend, noise = 0.0, np.inf
    if late.sum() >= _FEWEST_LATE:
        bend = float(np.polyfit(t[late] - t[late].mean(), rest[late], 2)[0])
        noise = _OF_NOISE * white / (span * np.sqrt(late.sum()))
    slow, lag = _running_mean(t, rest)
    speeds = (slow[lag:] - slow[:-lag]) / (t[lag:] - t[:-lag])[: len(slow) - lag]
    v = fit.terminal_speed
    swing = float(np.std(speeds)) / v if len(speeds) > 1 else 0.0
    return ResidualShape(2.0 * bend * span / v, float(noise / v), float(np.std(slow)), swing)


def _running_mean(t: Floats, rest: Floats) -> tuple[Floats, int]:
    """Return the running mean of the residuals and over how many of them it goes."""
    count = int(np.clip(round(_SLOW_S / float(np.median(np.diff(t)))), 1, len(t) // 3))
    return np.convolve(rest, np.full(count, 1.0 / count), "valid"), count


def common_drift(shapes: Sequence[ResidualShape]) -> Drift:
    """Return the change of speed on the way down that the drops share, one at least.

    One drop may wander; what all of them do is perspective, a current or a leaning card. Drops whose late fall shows in too
    few frames tell nothing.
    """
    shapes = [shape for shape in shapes if np.isfinite(shape.change_uncertainty)]
    if not shapes:
        return Drift(0.0, 0.0)
    changes = np.array([shape.along_the_way for shape in shapes])
    noise = np.array([shape.change_uncertainty / _LATE for shape in shapes])
    usual = float(np.sqrt(np.mean(USUAL_CHANGE**2 + noise**2)))
    seen = float(np.std(changes, ddof=1)) if len(changes) > 1 else 0.0
    return Drift(float(np.mean(changes)), max(usual, seen) / np.sqrt(len(changes)))
