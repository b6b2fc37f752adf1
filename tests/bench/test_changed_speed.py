"""Clips whose speed an editor changed: pictures held, and slow motion that begins or ends within a fall.

Truth: rendered or drawn at a known speed. A ramp may be refused, or what fell in real time measured; it is never good.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from clips import rendered, sheet_of
from followed import PIXEL, RATE, Seen, found
from rewritten import ramped, shown_again
from tankview.scene import Scene
from tankview.simple import clean_scene, drops

from flybench.bench.clip.footage import open_clip
from flybench.bench.measure import measure
from flybench.bench.sheet.read import read_sheet
from flybench.bench.track.held_pictures import filmed_at, first_shown
from flybench.bench.verdict.result import BenchResult

FILMED, SECONDS = 240.0, 1.15


def path_of(steps: list[float], noise: float = 0.1) -> np.ndarray:
    """Return places [px] of a fly that moves on by these steps, read with noise."""
    depth = np.cumsum([0.0, *steps])
    rng = np.random.default_rng(3)
    return np.column_stack([np.zeros(len(depth)), depth]) + rng.normal(0, noise, (len(depth), 2))


def test_a_picture_that_is_shown_again_counts_once() -> None:
    steps = [4.0, 0.0, 4.0, 4.0, 0.0, 0.0, 4.0] * 5
    assert first_shown(path_of(steps), 1.0).tolist() == [True, *(step > 0 for step in steps)]
    assert first_shown(path_of(steps) * PIXEL, PIXEL).tolist() == [True, *(step > 0 for step in steps)]


def test_no_picture_of_a_moving_fly_counts_as_held() -> None:
    """A fly that gains speed from a third of it on, one in waves that slow it by a third, and slow ones."""
    gaining = list(np.linspace(0.35, 1.0, 12) * 3.0) + [3.0] * 30
    waves = list(3.0 + np.sin(np.arange(60) / 3.0))
    for steps in (gaining, waves, [0.9] * 200, [0.3] * 300, [0.05] * 300):
        assert np.all(first_shown(path_of(steps), 1.0))


def test_held_pictures_were_filmed_evenly_where_the_fly_then_falls_evenly() -> None:
    """25 pictures a second shown at 30: every fifth one twice. Then a slowed half, and a lost picture that was held over."""
    number = np.arange(40)
    shown = np.ceil(number * 30 / 25) / 30
    path = path_of([4.0] * 39)
    filmed = filmed_at(shown, path)
    assert np.diff(filmed) == pytest.approx(1 / 25, rel=0.01)
    assert np.mean(filmed) == pytest.approx(np.mean(shown))
    slowed = np.where(number < 20, number, 2 * number - 20) / 30
    assert np.all(filmed_at(slowed, path) == slowed)
    lost = np.where(number < 20, number, number + 1) / 30
    assert np.all(filmed_at(lost, path_of([8.0 if one == 19 else 4.0 for one in range(39)])) == lost)


def test_a_drop_says_how_many_of_its_pictures_were_held() -> None:
    times = np.arange(0.5, 1.5, 1 / RATE)
    depths = 0.02 + 0.25 * np.floor((times - 0.5) * RATE / 2) * 2 / RATE
    held = found(Seen(tuple(times), tuple(depths)), scatter=2e-5).drops[0]
    even = found(Seen((0.5, 1.5), (0.02, 0.27)), scatter=2e-5).drops[0]
    assert held.held == pytest.approx(0.5, abs=0.02)
    assert len(held.times) == pytest.approx(len(even.times) / 2, abs=3)
    assert np.diff(held.times).min() > 1.5 / RATE
    assert even.held == 0.0


def _scene() -> Scene:
    return clean_scene(
        drops=drops(1, 1.2, first=0.1, response_time=0.06, release_y=0.015),
        duration=SECONDS,
        timing__fps=FILMED,
        camera__width=300,
        camera__height=532,
        camera__focal_px=925.0,
        encoding__preset="ultrafast",
        extras__noise=1.0,
    )


def _shown(numbers: list[float], rate: float, folder: Path, work: Path) -> tuple[BenchResult, float]:
    path, truth = rendered(_scene(), folder)
    shown_again(path, work / "r.mp4", numbers, rate)
    result = measure(open_clip(work / "r.mp4"), read_sheet(sheet_of(_scene(), {"capture_rate": None}))).result
    return result, truth.sink_speed_m_s


@pytest.mark.slow
@pytest.mark.parametrize("slower", [2.0, 4.0, 8.0])
@pytest.mark.parametrize("ramp", [(0.3, 9.0), (0.6, 9.0), (0.0, 0.4), (0.4, 0.6)])
def test_a_ramp_within_a_fall_is_never_good(
    ramp: tuple[float, float], slower: float, folder: Path, tmp_path: Path
) -> None:
    """Filmed at 240 a second, shown at 30: in real time but for the ramp, which is 2, 4 or 8 times slower."""
    result, true = _shown(ramped(SECONDS, FILMED, 30.0, *ramp, slower), 30.0, folder, tmp_path)
    assert result.verdict != "good"
    if result.sink_speed is not None and result.standard_uncertainty is not None:
        assert abs(result.sink_speed - true) < 2 * result.standard_uncertainty
        assert "taken-as-real-time" in result.flags


@pytest.mark.slow
def test_held_pictures_are_told_and_counted_once(folder: Path, tmp_path: Path) -> None:
    once, true = _shown([8.0 * number for number in range(34)], 30.0, folder, tmp_path)
    twice, _ = _shown([8.0 * (number // 2) for number in range(68)], 60.0, folder, tmp_path)
    assert "held-pictures" in twice.all_flags
    assert "held-pictures" not in once.all_flags
    assert twice.sink_speed == pytest.approx(once.sink_speed, rel=0.002)
    assert twice.sink_speed == pytest.approx(true, rel=0.01)
    assert len(twice.used_drops[0].drop.times) == pytest.approx(len(once.used_drops[0].drop.times), abs=2)
