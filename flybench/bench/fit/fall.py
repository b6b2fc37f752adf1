"""The fall: terminal speed, response time, start speed and start point of one drop, fitted together.

Nothing is tied or fixed: a response time tied to the speed, or a fixed release point, biases dense flies
by percents, and a straight line through the lower half is worse. Only a weak prior keeps the response
time within what floats and tungsten can do.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flybench.bench.fit.fall_model import answer, depth_of, jacobian, scales
from flybench.bench.fit.noise import AveragedFit, FitsByNoise, average, fit_under_all
from flybench.bench.fit.robust import soft_fit
from flybench.hydraulics.falling_body import speed
from flybench.hydraulics.sphere import GRAVITY

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

MASS_FACTOR = 2.2
"""Usual response time over terminal speed / g: 1.1 for bare tungsten, 3 for brass in a soft dressing."""
MASS_FACTOR_SPREAD = 0.5
"""Standard deviation of the logarithm of that factor (judgement; covers 0.8 to 6 at two deviations)."""
START_SPREAD = 1.0
"""Standard deviation of the start speed about the terminal speed, as a share of it (judgement)."""
LEAST_FACTOR, MOST_FACTOR = 0.7, 12.0
"""Limits of that factor: (s + Ca) / (s - 1) for density ratios s from 1.15 up, with room for history."""
HISTORY_SHARE, HISTORY_LIGHT = 0.01, 0.06
"""Standard uncertainty from the history force, as a share of the mean shortfall from terminal speed [-]: for a body so dense
that its response time is V/g, and what is added for one so light that water makes up all that it moves. Fits of this form
to falls with Mei and Adrian's kernel (from memory) of a ball of 3 mm are off by 0.01 to 0.02 for tungsten and by 0.06 to
0.08 at response times of 2 to 4 V/g, low where it was let go and high where it was plunged (simulated here)."""
_OUTLIER = 5.0
"""Scaled median deviations beyond which a reading is left out as misread [-]: of normal scatter one in some two million
lies there, so that a good reading is as good as never lost (judgement)."""
_MOST_OUTLIERS = 0.2
"""Share of readings above which none is left out [-]: that many are no misreadings but a path that is no free fall,
which has to show in the fit (judgement)."""
_NOISE_FLOOR = 1e-6
"""Least scatter taken when the fit answers for its depths [m]: thousandths of a usual pixel, better than any track."""
_HELD = 1e14
"""Precision that holds the logarithm of the response time where it is [-]: far above what any track gives, far below
where the sums lose their digits."""
_MOSTLY_SETTLED = 0.5
"""Weight of the straight line from which the fall answers as a straight line does [-]: the likelier of two models."""

_LOW, _HIGH = np.array([0.004, -9.0, 0.0, -np.inf]), np.array([20.0, 3.0, 10.0, np.inf])
"""Limits of the four values in the first fit [m/s, log s, m/s, m]: far outside what sinks in a tank (judgement)."""


@dataclass(frozen=True)
class FallFit:
    """A fitted fall. ``values`` are terminal speed [m/s], log of response time [s], start speed [m/s] and
    start depth [m]; the start is the first frame of ``times``."""

    times: Floats
    depths: Floats
    used: Mask
    values: Floats
    covariance: Floats
    """Twice the speed's standard deviation in it is its interval of 95 %."""
    sigma: float
    wander_share: float
    memory: float
    share_uncertainty: float
    settled: float
    """Weight of having been at terminal speed all along, against an approach to it."""

    @property
    def terminal_speed(self) -> float:
        """Return the terminal speed [m/s]."""
        return float(self.values[0])

    @property
    def fit_uncertainty(self) -> float:
        """Return its standard uncertainty from the scatter of the track alone [m/s]."""
        return float(np.sqrt(self.covariance[0, 0]))

    @property
    def history_uncertainty(self) -> float:
        """Return the standard uncertainty from leaving the history force out [m/s]."""
        shortfall = np.abs(1.0 - self.speed_at(self.times[self.used]) / self.terminal_speed)
        share = left_out_share(self.terminal_speed, self.response_time)
        return float(share * np.mean(shortfall) * self.terminal_speed)

    @property
    def response_time(self) -> float:
        """Return the response time [s]."""
        return float(np.exp(self.values[1]))

    @property
    def start_speed(self) -> float:
        """Return the speed at the first used frame [m/s]."""
        return float(self.values[2])

    @property
    def terminal_share(self) -> float:
        """Return the share of terminal speed reached at the end; for a plunged fly, terminal over speed."""
        return _share(self.values, float(self.times[-1] - self.times[0]))

    @property
    def residuals(self) -> Floats:
        """Return measured less fitted depth [m], outliers included."""
        return self.depths - self.depth_at(self.times)

    def depth_at(self, times: Floats) -> Floats:
        """Return the fitted depth at real times [m]."""
        return depth_of(self.values, times - self.times[0])

    def speed_at(self, times: Floats) -> Floats:
        """Return the fitted speed at real times [m/s]."""
        v, log_tau, v0, _ = self.values
        return np.asarray(speed(times - self.times[0], v, np.exp(log_tau), v0))


def left_out_share(speed: float, response_time: float) -> float:
    """Return the standard uncertainty from the history force over the mean shortfall from terminal speed [-], for a
    terminal speed [m/s] and a response time [s]."""
    dense = min(speed / (GRAVITY * response_time), 1.0)
    return HISTORY_SHARE + HISTORY_LIGHT * (1.0 - dense)


def fit_fall(times: Floats, depths: Floats, reading_noise: float) -> FallFit:
    """Fit one drop: times [s] and depths [m] along the fall, ``reading_noise`` [m] a first guess of scatter.

    First a robust fit to find outliers (single misread frames), then the average over all noise models.
    """
    t = times - times[0]
    start, rough_log_tau = _robust(t, depths, reading_noise)
    used = _inliers(depths - depth_of(start, t), reading_noise)
    values, averaged, free = start, None, True
    line = _line(start, t[used], depths[used])
    for _ in range(4):
        values, averaged = _refined(values, t[used], depths[used], line, rough_log_tau if free else None)
        low, high = _response_limits(values[0])
        if not low <= values[1] <= high:
            values[1], free = np.clip(values[1], low, high), False
    assert averaged is not None
    covariance = averaged.covering
    return FallFit(
        times,
        depths,
        used,
        values,
        covariance,
        averaged.sigma,
        averaged.wander_share,
        averaged.memory,
        _share_uncertainty(values, covariance, float(t[-1])),
        averaged.model_weights[1],
    )


def response_to_depths(fit: FallFit) -> Floats:
    """Return d terminal speed / d depth of each used frame [1/s]: how plain least squares answers.

    For small changes only: what the speed becomes when the scale or a distance changes.
    """
    t = fit.times[fit.used] - fit.times[0]
    if fit.settled > _MOSTLY_SETTLED:
        centred = t - t.mean()
        return np.asarray(centred / (centred @ centred))
    low, high = _response_limits(fit.terminal_speed)
    held = not low + 1e-6 < fit.values[1] < high - 1e-6
    loose = max(fit.sigma, _NOISE_FLOOR) ** 2 / MASS_FACTOR_SPREAD**2
    return answer(fit.values, t, _HELD if held else loose)


def _response_limits(speed: float) -> tuple[float, float]:
    """Return the least and greatest logarithm of the response time that a body can have at this speed.

    Within them, a slight curve that tilt or lens leaves in the track is not taken for a slow approach.
    """
    return float(np.log(LEAST_FACTOR * speed / GRAVITY)), float(np.log(MOST_FACTOR * speed / GRAVITY))


def _robust(t: Floats, depths: Floats, noise: float) -> tuple[Floats, float]:
    """Return the better of two robust fits, and the logarithm of the response time expected for its speed."""
    third = max(len(t) // 3, 3)
    early = max(float(np.polyfit(t[:third], depths[:third], 1)[0]), 0.005)
    late = max(float(np.polyfit(t[-third:], depths[-third:], 1)[0]), 0.01)

    def model(values: Floats) -> tuple[Floats, Floats]:
        off = (depth_of(values, t) - depths) / (3 * noise)
        expected = np.log(MASS_FACTOR * max(values[0], 0.005) / GRAVITY)
        pull = [-1.0 / values[0] if values[0] > 0.005 else 0.0, 1.0, 0.0, 0.0]
        slopes = np.vstack([jacobian(values, t) / (3 * noise), np.array(pull) / MASS_FACTOR_SPREAD])
        return np.append(off, (values[1] - expected) / MASS_FACTOR_SPREAD), slopes

    found = []
    for factor in (1.0, 1.25):
        guess = np.array([late * factor, np.log(MASS_FACTOR * late / GRAVITY), early, depths[0]])
        found.append(soft_fit(model, guess, _LOW, _HIGH, scales(guess)))
    best = min(found, key=lambda one: one[1])[0]
    return best, float(np.log(MASS_FACTOR * best[0] / GRAVITY))


def _inliers(residual: Floats, noise: float) -> Mask:
    """Return which frames agree: within five scaled median deviations of a running middle."""
    spread = 1.4826 * float(np.median(np.abs(residual - np.median(residual))))
    used = np.abs(residual) < _OUTLIER * max(spread, 0.3 * noise)
    if np.mean(~used) > _MOST_OUTLIERS:
        return np.ones(len(residual), dtype=bool)
    return used


def _refined(
    values: Floats, t: Floats, depths: Floats, line: FitsByNoise, expected: float | None
) -> tuple[Floats, AveragedFit]:
    """One Gauss-Newton step, averaged over all noise models and over two of the fall: with an approach to
    terminal speed, and at terminal speed all along.

    ``line`` is the straight line fitted to the depths; ``expected`` is the prior mean of the logarithm of
    the response time; None holds it where it is.
    """
    averaged = average([_approaching(values, t, depths, expected), _settled(values, line, expected)])
    step = averaged.step / max(1.0, float(np.max(np.abs(averaged.step) / (0.5 * scales(values)))))
    moved = values + step
    moved[0] = max(moved[0], 0.004)
    return moved, averaged


def _approaching(values: Floats, t: Floats, depths: Floats, expected: float | None) -> FitsByNoise:
    """Fit all four values; the start speed has a wide prior about the terminal speed."""
    tightness = _HELD if expected is None else MASS_FACTOR_SPREAD**-2
    difference = np.array([-1.0, 0.0, 1.0, 0.0]) / (START_SPREAD * values[0])
    precision = np.diag([0.0, tightness, 0.0, 0.0]) + np.outer(difference, difference)
    pull = np.array([-values[0], 0.0 if expected is None else expected - values[1], -values[2], 0.0])
    log_prior = -np.log(MASS_FACTOR_SPREAD) - np.log(START_SPREAD * values[0])
    residual = depths - depth_of(values, t)
    return fit_under_all(residual, jacobian(values, t), t, pull, precision, float(log_prior))


def _line(values: Floats, t: Floats, depths: Floats) -> FitsByNoise:
    """Fit a straight line, whose ``step`` is then speed and start: no round of refining changes it."""
    line = np.column_stack([t, np.ones(len(t))])
    near = np.array([values[0], values[3]])
    found = fit_under_all(depths - line @ near, line, t, np.zeros(2), np.zeros((2, 2)))
    return replace(found, step=found.step + near)


def _settled(values: Floats, line: FitsByNoise, expected: float | None) -> FitsByNoise:
    """Put a straight line into the four values: the fly was at terminal speed from the first reading on,
    start speed is terminal speed, response time is as expected.
    """
    into = np.array([[1.0, 0.0], [0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    step = line.step @ into.T - values
    step[:, 1] = 0.0 if expected is None else expected - values[1]
    covariance = np.einsum("ip,gpq,jq->gij", into, line.covariance, into)
    covariance[:, 1, 1] += MASS_FACTOR_SPREAD**2
    return replace(line, step=step, covariance=covariance)


def _share(values: Floats, t: float) -> float:
    v, log_tau, v0, _ = values
    ratio = float(speed(t, v, np.exp(log_tau), v0)) / v
    return min(ratio, 1.0 / ratio) if ratio > 0 else 0.0


def _share_uncertainty(values: Floats, covariance: Floats, t: float) -> float:
    slope = np.zeros(4)
    for i, h in enumerate(1e-4 * scales(values)):
        shift = np.zeros(4)
        shift[i] = h
        slope[i] = (_share(values + shift, t) - _share(values - shift, t)) / (2 * h)
    return float(np.sqrt(max(float(slope @ covariance @ slope), 0.0)))
