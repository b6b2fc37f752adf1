"""Pooled drops against the same model integrated by scipy, and the trend of wetting against scipy's regression."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.stats import linregress, norm
from scipy.stats import t as student

from flybench.bench.fit.drop_pooling import pool_drops, wetting_trend

Floats = NDArray[np.float64]

SETS = [
    ([0.300, 0.306, 0.297], [0.001, 0.002, 0.001]),
    ([0.300, 0.3002], [0.0005, 0.0005]),
    ([0.25], [0.002]),
    ([0.40, 0.44, 0.37, 0.41, 0.39], [0.004, 0.002, 0.003, 0.004, 0.002]),
    ([0.300, 0.301, 0.299, 0.3005], [0.02, 0.02, 0.02, 0.02]),
]


def moments(speeds: Floats, own: Floats) -> tuple[float, float, float]:
    """Return mean, half the half-width of 95.45 % and mean spread of y_j ~ N(mu, u_j^2 + s^2), mu flat, s half-t (2).

    Given s, mu is normal; what is left is an integral over s, by the trapezium rule at 4001 spreads on a
    logarithmic scale, and scipy's root finder. The scale of s is 1.5 % of the speed (a judgement of the product).
    """
    scale = 0.015 * float(np.median(speeds))
    s = scale * np.geomspace(1e-6, 300.0, 4001)
    variance = own[:, None] ** 2 + s**2
    total = np.sum(1 / variance, axis=0)
    means = np.sum(speeds[:, None] / variance, axis=0) / total
    log = np.sum(norm.logpdf(speeds[:, None], means, np.sqrt(variance)), axis=0) - 0.5 * np.log(total)
    weight = np.exp(log - log.max()) * student.pdf(s / scale, 2) * np.gradient(s)
    weight /= weight.sum()
    mean = float(weight @ means)

    def short(half: float) -> float:
        inside = norm.cdf(mean + half, means, total**-0.5) - norm.cdf(mean - half, means, total**-0.5)
        return float(weight @ inside) - (1 - 2 * float(norm.sf(2)))

    return mean, brentq(short, 1e-6, 1.0, xtol=1e-9) / 2, float(weight @ s)


@pytest.mark.parametrize(("speeds", "own"), SETS)
def test_pooled_speed_is_the_mean_of_the_model(speeds: list[float], own: list[float]) -> None:
    values, doubts = np.array(speeds), np.array(own)
    mean, half, spread = moments(values, doubts)  # pooling sums over 241 spreads: good to some 2 %
    found = pool_drops(values, doubts)
    assert found.value == pytest.approx(mean, rel=1e-5)
    assert found.standard_uncertainty == pytest.approx(half, rel=2e-2)
    assert found.spread == pytest.approx(spread, rel=3e-2)
    assert found.within == pytest.approx(np.sum(doubts**-2.0) ** -0.5, rel=1e-12)
    assert found.between**2 == pytest.approx(half**2 - found.within**2, rel=5e-2)
    assert (found.count, found.degrees_of_freedom) == (len(speeds), max(len(speeds) - 1, 1))


def test_drops_that_scatter_more_are_less_certain() -> None:
    """Between is what their spread adds: nought as it vanishes, and growing with it."""
    own = np.full(4, 0.0005)
    near, far = (pool_drops(0.3 + wide * np.array([-1.5, -0.5, 0.5, 1.5]), own) for wide in (0.0005, 0.01))
    assert near.value == pytest.approx(far.value)
    assert near.within == far.within
    assert far.between > 3 * near.between > 0.0


RISING = np.array([0.300, 0.304, 0.309, 0.315])
OWN = np.full(4, 0.001)


def test_a_fly_that_gets_faster_is_still_being_wetted() -> None:
    """Gain a drop over the mean speed: scipy.stats.linregress."""
    slope = linregress(np.arange(4), RISING).slope
    assert wetting_trend(RISING, OWN) == pytest.approx(slope / RISING.mean(), rel=1e-9)
    assert wetting_trend(RISING[:3], OWN[:3]) == pytest.approx(
        linregress(np.arange(3), RISING[:3]).slope / RISING[:3].mean(), rel=1e-9
    )


@pytest.mark.parametrize(
    ("speeds", "own"),
    [
        (RISING[:2], 0.001),
        (RISING[::-1], 0.001),
        (RISING, 0.006),
        (np.array([0.3, 0.309, 0.304, 0.312]), 0.0005),
        (0.3 + np.array([0.0, 0.0005, 0.001, 0.002]), 1e-5),
        (np.array([0.300, 0.310, 0.305]), 0.0005),
    ],
)
def test_what_is_no_wetting(speeds: Floats, own: float) -> None:
    """Two drops; slower ones; gain within the drops' doubt; a slope by chance; less than one per cent; not steady."""
    assert wetting_trend(speeds, np.full(len(speeds), own)) is None


@pytest.mark.parametrize(
    ("dip", "wetting"), [(0.3032, True), (0.3009, True), (0.3007, False), (0.2990, False)]
)
def test_a_dip_is_borne_where_the_slope_is_no_chance(dip: float, wetting: bool) -> None:
    """Five drops, the third slower than the second: p of scipy.stats.linregress on either side of 0.05."""
    speeds = np.array([0.300, 0.304, dip, 0.309, 0.3115])
    assert bool(linregress(np.arange(5), speeds).pvalue < 0.05) is wetting
    assert (wetting_trend(speeds, np.full(5, 0.0005)) is not None) is wetting


@pytest.mark.parametrize(
    ("own", "wetting"),
    [
        ((0.007, 1e-4, 1e-4, 0.001), True),
        ((0.007, 0.1, 0.1, 0.001), True),
        ((0.008, 1e-4, 1e-4, 0.001), False),
        ((0.001, 0.1, 0.1, 0.008), False),
    ],
)
def test_the_gain_is_held_against_the_first_and_the_last_drop(own: tuple[float, ...], wetting: bool) -> None:
    """A gain of 15 mm/s is plain where twice the root of both squares is less: 14.1 or 16.1 mm/s."""
    assert (wetting_trend(RISING, np.array(own)) is not None) is wetting


@pytest.mark.parametrize("count", [3, 4, 6])
def test_drops_without_a_trend_are_seldom_taken_for_wetting(count: int) -> None:
    """Drops that scatter by 1.5 %, each read to 0.3 %: one clip in twenty at most."""
    rng = np.random.default_rng(count)
    speeds = 0.3 * (1 + 0.015 * rng.normal(size=(2000, count)))
    found = [wetting_trend(one, np.full(count, 0.0009)) is not None for one in speeds]
    assert np.mean(found) < 0.05


def test_drops_that_grow_faster_by_three_in_a_hundred_are() -> None:
    """Three drops, each 3 % faster than the one before but for a scatter of 0.5 %."""
    rng = np.random.default_rng(1)
    speeds = 0.3 * (1 + 0.03 * np.arange(3) + 0.005 * rng.normal(size=(200, 3)))
    assert np.mean([wetting_trend(one, np.full(3, 0.0009)) is not None for one in speeds]) > 0.95


@pytest.mark.slow
@pytest.mark.parametrize(("spread", "least"), [(0.015, 0.93), (0.05, 0.75)])
@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_a_fly_that_scatters_is_held_as_well(count: int, spread: float, least: float) -> None:
    """The usual 1.5 %, and 5 %, each drop read to 0.3 %."""
    rng = np.random.default_rng(count)
    speeds = 0.3 * (1 + spread * rng.normal(size=(400, count)) + 0.003 * rng.normal(size=(400, count)))
    pooled = [pool_drops(one, np.full(count, 0.0009)) for one in speeds]
    assert np.mean([abs(one.value - 0.3) <= 2 * one.standard_uncertainty for one in pooled]) >= least


def test_limits_are_not_beyond_the_limits() -> None:
    """A gain of twice the drops' doubt, of a hundredth of the speed, or a drop as fast as the one before, is no wetting.

    By hand, in numbers that floats hold exactly: 0.25 = 2 x 0.125, and 1 = 0.01 x 100.
    """
    doubt = np.array([0.125, 0.0, 0.0])
    assert wetting_trend(np.array([0.25, 0.375, 0.5]), doubt) is None
    assert wetting_trend(np.array([0.25, 0.375, 0.5]), 0.99 * doubt) == pytest.approx(0.125 / 0.375)
    sure = np.full(3, 1e-4)
    assert wetting_trend(np.array([99.0, 99.5, 100.0]), sure) is None
    assert wetting_trend(np.array([98.95, 99.48, 100.0]), sure) is not None  # 1.05 %
    assert wetting_trend(np.array([0.30, 0.31, 0.31]), sure) is None


def test_a_fly_that_slows_after_a_bad_first_drop_is_not_being_wetted() -> None:
    """The last drop is faster than the first, and yet the slope goes down, and is no chance (scipy.stats.linregress)."""
    speeds = np.append(0.300, np.arange(0.360, 0.3049, -0.005))
    line = linregress(np.arange(len(speeds)), speeds)
    assert line.slope < 0
    assert line.pvalue < 0.05
    assert speeds[-1] > 1.01 * speeds[0]
    assert wetting_trend(speeds, np.full(len(speeds), 1e-4)) is None
