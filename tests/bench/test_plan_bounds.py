"""How well the sink speed can be known at best: bounds, settling, the card, the walls, many runs."""

from __future__ import annotations

import math

import numpy as np
import pytest
from plans import WISH
from scipy.optimize import least_squares

from flybench.bench.fit.drop_pooling import pool_drops
from flybench.bench.fit.fall_model import answer, bound, bound_per_noise, depth_of, frame_times, from_rest
from flybench.bench.plan import terms as planning_terms
from flybench.bench.sheet.settings import Settings, TankSettings
from flybench.bench.verdict.free_water import free_water
from flybench.hydraulics import falling_body as falling


@pytest.mark.parametrize(
    ("count", "interval", "noise"), [(30, 1 / 30, 1e-3), (120, 1 / 120, 5e-4), (10, 0.1, 1e-3)]
)
def test_two_values_alone_have_the_bound_of_a_slope(count: int, interval: float, noise: float) -> None:
    """12 sigma^2 / (dt^2 N (N^2 - 1)), the standard bound of a slope (Kay 1993, from memory)."""
    times = 5.0 + np.arange(count) * interval
    settled = np.array([0.3, math.log(1e-3), 0.3, 0.0])
    slope = math.sqrt(12 * noise**2 / (interval**2 * count * (count**2 - 1)))
    assert bound(times, settled, noise, (0, 3)) < slope * (1 + 1e-3)
    late = settled + np.array([0.0, math.log(1e-6), 0.0, 0.0])
    assert bound(times, late, noise, (0, 3)) == pytest.approx(slope, rel=1e-6)


def test_each_free_value_costs_precision() -> None:
    times = frame_times(0.3, 120, 0.6, 0.12)
    bounds = [bound(times, from_rest(0.6, 0.12), 1e-4, (0, 3, 1, 2)[:count]) for count in (1, 2, 3, 4)]
    assert bounds == sorted(bounds)
    assert bounds[3] > 1.5 * bounds[1]


def test_too_few_frames_bound_nothing() -> None:
    assert bound(np.arange(4) / 60, from_rest(0.3, 0.06), 1e-4) == math.inf


def test_bound_is_the_root_of_the_inverse_information() -> None:
    times, values = frame_times(0.4, 60, 0.4, 0.1), from_rest(0.4, 0.1)
    row = answer(values, times, 0.0)
    assert bound(times, values, 2e-4) == pytest.approx(2e-4 * np.linalg.norm(row), rel=1e-6)


@pytest.mark.slow
def test_bound_is_reached_by_least_squares() -> None:
    speed, response, noise, count = 0.6, 0.12, 2e-4, 400
    times, truth = frame_times(0.35, 120, speed, response), from_rest(speed, response)
    rng = np.random.default_rng(5)
    found = []
    for _ in range(count):
        seen = depth_of(truth, times) + rng.normal(0, noise, len(times))
        start = truth + np.array([0.0, 0.0, 0.05, 0.0])
        fit = least_squares(lambda p, seen=seen: (depth_of(p, times) - seen) / noise, start)
        found.append(fit.x[0])
    scatter = float(np.std(found, ddof=1))
    expected = noise * bound_per_noise(0.35, 120, speed, response)
    assert scatter / expected == pytest.approx(1, abs=3.5 / math.sqrt(2 * count))


def test_frames_stop_at_the_bottom() -> None:
    times = frame_times(0.3, 240, 0.5, 0.1)
    depths = falling.depth(np.append(times, times[-1] + 1 / 240), 0.5, 0.1)
    assert depths[-2] <= 0.3 < depths[-1]


@pytest.mark.parametrize("share", [0.95, 0.99])
def test_settling_depth_is_the_closed_form(share: float) -> None:
    closed = -WISH.speed * WISH.response_time * math.log(1 - share**2) / 2
    assert WISH.settling_depth(share) == pytest.approx(closed, rel=1e-9)


def test_the_cards_place_is_the_derivative_of_the_carried_scale() -> None:
    def carried(gap: float, distance: float, depth: float) -> float:
        apparent = distance + depth / WISH.index
        return math.log(apparent / (apparent + gap / WISH.index))

    at, step, typed = np.array([0.05, 0.5, 0.1]), 1e-6, (0.003, 0.0015, 0.0015)
    slopes = [(carried(*(at + h)) - carried(*(at - h))) / (2 * step) for h in np.diag([step] * 3)]
    found = planning_terms.place_shares(WISH, *at)
    assert found == pytest.approx(np.abs(slopes) * typed, rel=1e-5)


def test_a_closer_card_does_not_make_the_gap_surer_and_a_farther_camera_does() -> None:
    near, far = (planning_terms.place_shares(WISH, gap, 0.4, 0.1)[0] for gap in (0.01, 0.02))
    assert near == pytest.approx(far, rel=0.03)
    assert planning_terms.place_shares(WISH, 0.01, 0.9, 0.1)[0] < near / 1.9


def test_walls_are_the_measurements_own() -> None:
    free = free_water(Settings(291.15, tank=TankSettings(width=0.2, depth=0.2)), 0.3, 0.0, 0.006)
    assert free is not None
    assert planning_terms.wall_share(WISH, 0.2) == free.uncertainty / free.speed
    assert planning_terms.wall_share(WISH, 0.02) == math.inf


@pytest.mark.slow
@pytest.mark.parametrize("drops", [3, 6, 12])
def test_planned_spread_is_what_nine_runs_of_ten_stay_under(drops: int) -> None:
    rng = np.random.default_rng(drops)
    within, between = planning_terms.drop_shares(0.015, 0.001, drops)
    runs = [
        pool_drops(1 + math.hypot(0.015, 0.001) * rng.normal(size=drops), np.full(drops, 0.001))
        for _ in range(2000)
    ]
    assert np.mean(
        [run.standard_uncertainty <= math.hypot(within, between) for run in runs]
    ) == pytest.approx(0.9, abs=0.03)
