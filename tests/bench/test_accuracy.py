"""Tank sink speeds of rendered drops against the truth they were rendered from.

Truth: the terminal speed put into the equations of motion by ``tankview``, which shares no measuring code.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from clips import measured, pairs, rendered, result_of
from scenes import CLEAN, HARD, LYING, falls, scene
from tankview.simple import aimed, drops

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("name", CLEAN)
def test_clean_clips_within_three_tenths_of_a_percent(name: str, folder: Path) -> None:
    result, truth = result_of(CLEAN[name], folder)
    found = pairs(result, truth)
    assert len(result.drops) == len(found) == len(truth.drops)
    assert max(abs(pair.error) for pair in found) < 0.003
    assert all(pair.holds for pair in found)


@pytest.mark.parametrize("name", HARD)
def test_hard_clips_within_one_percent(name: str, folder: Path) -> None:
    result, truth = result_of(HARD[name], folder)
    found = pairs(result, truth)
    assert len(result.drops) == len(found) == len(truth.drops)
    assert max(abs(pair.error) for pair in found) < 0.01
    assert all(pair.holds for pair in found)


def test_slow_motion_is_undone_from_the_tag(folder: Path) -> None:
    name = "slow motion, 8 times"
    clip = result_of(CLEAN[name], folder)[0].clip
    assert clip.stretch == 8.0
    assert clip.capture_rate_hz == pytest.approx(240.0, rel=1e-4)


def test_bright_fly_on_dark_ground_with_two_points(folder: Path) -> None:
    dark = scene(
        card=None,
        backdrop__level=24.0,
        backdrop__texture=2.0,
        fly__bead_level=225.0,
        fly__body_level=215.0,
        fly__hackle_level=200.0,
    )
    found = pairs(*result_of(dark, folder))
    assert len(found) == 2
    assert found[0].measured.drop.contrast > 0
    assert max(abs(pair.error) for pair in found) < 0.01
    assert all(pair.holds for pair in found)


def test_wandering_towards_the_camera_stays_inside_the_stated_interval(folder: Path) -> None:
    swaying = scene(**falls(0.30, wander_depth=0.0015, wander=0.002))
    assert all(pair.holds for pair in pairs(*result_of(swaying, folder)))


def test_card_leaning_by_one_degree_stays_inside_the_stated_interval(folder: Path) -> None:
    """One degree is what the budget allows for at k = 2."""
    leaning = scene(card__lean_deg=1.0)
    assert all(pair.holds for pair in pairs(*result_of(leaning, folder)))


@pytest.mark.parametrize(("tilt", "lean"), [(4.0, 2.0), (0.0, 2.0), (0.0, -2.0)])
def test_leaning_card_costs_less_than_one_percent(tilt: float, lean: float, folder: Path) -> None:
    leaning = aimed(scene(camera__tilt_deg=tilt, card__lean_deg=lean))
    result, truth = result_of(leaning, folder)
    found = pairs(result, truth)
    assert len(found) == len(truth.drops)
    assert max(abs(pair.error) for pair in found) < 0.01


def test_ignoring_the_gap_would_have_been_wrong_by_percents(folder: Path) -> None:
    """The correction is not idle: apparent / true = D' / (D' + gap / n), near-normal (physics of refraction)."""
    name = "gap of 35 mm at 450 mm"
    path, truth = rendered(HARD[name], folder)
    flat = pairs(measured(HARD[name], path, {"gap": -0.035}).result, truth)
    n, wall = 1.3334, 0.004 / 1.49
    near, far = 0.45 + wall + 0.070 / n, 0.45 + wall + 0.105 / n
    assert np.mean([pair.error for pair in flat]) == pytest.approx(far / near - 1.0, abs=0.004)


def test_rolling_shutter_unknown_is_flagged_and_covered(folder: Path) -> None:
    side = scene(**LYING, camera__readout=0.012)
    path, truth = rendered(side, folder)
    run = measured(side, path, {"readout": None})
    assert "rolling-shutter" in run.result.flags
    assert all(pair.holds for pair in pairs(run.result, truth))


@pytest.mark.parametrize(
    ("speed", "response", "release", "rate"),
    [(1.2, 0.40, -0.02, 120.0), (0.9, 0.30, 0.05, 120.0), (0.7, 0.25, 0.18, 120.0)],
)
def test_dense_fly_in_a_short_column_is_refused(
    speed: float, response: float, release: float, rate: float, folder: Path
) -> None:
    """A body still accelerating at the end of the column (80 to 89 % reached) has no sink speed."""
    dense = scene(
        drops=drops(2, 1.2, terminal_speed=speed, response_time=response, release_y=release),
        duration=2.5,
        timing__fps=rate,
    )
    result, truth = result_of(dense, folder)
    assert all(drop.speed_m_s[-1] < 0.93 * speed for drop in truth.drops)
    assert result.verdict == "refused"
    assert result.sink_speed is None
    assert len(result.drops) == len(truth.drops)
    assert all("not-terminal" in drop.flags for drop in result.drops)
