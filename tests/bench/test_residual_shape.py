"""Residuals looked at for shape: what perspective, hands and waves leave in a track is told, what noise leaves is not.

Truth: depths by hand, among them the tank's own geometry for a ball that is filmed close by.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from flybench.bench.fit.fall import FallFit, fit_fall
from flybench.bench.fit.residual_shape import Drift, ResidualShape, common_drift, shape_of
from flybench.bench.sheet.settings import Settings
from flybench.bench.track.drop import Drop
from flybench.bench.verdict.drop_flags import drop_flags

Floats = NDArray[np.float64]
G = 9.80665
"""Standard gravity [m/s2]."""
TANK: Any = SimpleNamespace(settings=Settings(291.15))


def read(depths: Floats, seed: int = 1, noise: float = 1e-4) -> Floats:
    return depths + noise * np.random.default_rng(seed).normal(size=len(depths))


def settled(speed: float = 0.25, column: float = 0.25, rate: float = 60.0) -> tuple[Floats, Floats]:
    """Return times and depths of a fall that was settled when it came into view."""
    t = np.arange(int(column / speed * rate)) / rate
    return t, speed * t


def fitted(t: Floats, depths: Floats) -> FallFit:
    return fit_fall(t, depths, 1e-4)


def flags(t: Floats, depths: Floats, fit: FallFit) -> list[str]:
    places = np.column_stack([np.zeros(len(t)), depths])
    drop = Drop(np.arange(len(t)), t, places, -90.0, 300.0, 0.011, 0.004, np.zeros(len(t)), False)
    return drop_flags(drop, fit, np.array([0.0, 1.0]), TANK)[0]


def test_the_late_change_is_that_of_the_track() -> None:
    """Speed falls evenly by a tenth over the way: x = v t (1 - 0.1 t / 2T), so 0.06 over the last 60 % of it."""
    t, depths = settled()
    fit = fitted(t, read(depths * (1.0 - 0.05 * t / t[-1]), noise=1e-5))
    shape = shape_of(fit)
    left = (
        shape.change + (fit.speed_at(t[-1:]) - fit.speed_at(t[[int(0.4 * len(t))]]))[0] / fit.terminal_speed
    )
    assert left == pytest.approx(-0.06, rel=0.08)
    assert shape.along_the_way == pytest.approx(shape.change / 0.6)


def test_stated_noise_of_the_change_is_the_scatter_of_many_falls() -> None:
    shapes = [shape_of(fitted(*(settled()[0], read(settled()[1], seed)))) for seed in range(16)]
    scatter = np.std([shape.change for shape in shapes])
    assert np.median([shape.change_uncertainty for shape in shapes]) == pytest.approx(scatter, rel=0.4)
    assert all(shape.slow < 1.5e-4 and shape.swing < 0.02 for shape in shapes)


def waves(share: float, hertz: float) -> tuple[Floats, Floats, float]:
    """Return a fall whose speed swings by ``share`` of itself, and the root mean square of that swing."""
    t, depths = settled(0.15)
    course = share * 0.15 / (2 * np.pi * hertz) * np.sin(2 * np.pi * hertz * t)
    return t, depths + course, share / np.sqrt(2)


@pytest.mark.parametrize("hertz", [1.5, 2.5, 4.0])
def test_a_ball_in_waves_is_told(hertz: float) -> None:
    """Means over 80 ms of a sine, and differences over 80 ms, keep sin(x) / x of it each; x = 0.08 pi f."""
    t, depths, swing = waves(0.3, hertz)
    depths = read(depths)
    fit = fitted(t, depths)
    x = 0.08 * np.pi * hertz
    assert shape_of(fit).swing == pytest.approx(swing * (np.sin(x) / x) ** 2, rel=0.2)
    assert "uneven-speed" in flags(t, depths, fit)


def test_a_fly_that_rocks_a_little_is_not() -> None:
    """Half a millimetre at four beats a second is 6 % of 20 cm/s, less what averaging takes."""
    t, depths = settled(0.2)
    depths = read(depths + 0.5e-3 * np.sin(2 * np.pi * 4.0 * t))
    assert flags(t, depths, fitted(t, depths)) == []


def reach(t: Floats, length: float) -> Floats:
    """Return the depth of a hand that moves from rest to rest with the least jerk (Flash & Hogan 1985, from memory)."""
    share = t / t[-1]
    return np.asarray(length * (10 * share**3 - 15 * share**4 + 6 * share**5))


def test_a_smooth_reach_of_a_hand_is_no_fall() -> None:
    """Cut as drops are: from three tenths of its usual speed to where the tail loses 15 %."""
    t = np.arange(0, 1.0, 1 / 60)
    depths = reach(t, 0.25)
    speed = np.gradient(depths, t)
    kept = np.arange(np.argmax(speed > 0.3 * 0.4), np.flatnonzero(speed > 0.85 * 0.4)[-1])
    track = read(depths[kept])
    found = flags(t[kept], track, fitted(t[kept], track))
    assert set(found) & {"poor-fit", "not-terminal"}


def uneven_lowering(seed: int) -> tuple[Floats, Floats]:
    """Return a hand that goes down at 25 cm/s, slower by a third half way and back again."""
    t = np.arange(0, 1.0, 1 / 60)
    speed = 0.25 * (1.0 - 0.35 * np.exp(-(((t - 0.65) / 0.15) ** 2)))
    return t, read(np.cumsum(speed) / 60, seed)


@pytest.mark.parametrize("seed", range(3))
def test_an_uneven_hand_is_told(seed: int) -> None:
    t, depths = uneven_lowering(seed)
    assert set(flags(t, depths, fitted(t, depths))) & {"poor-fit", "uneven-speed"}


def perspective(speed: float, camera: float, column: float, aside: float) -> tuple[Floats, Floats]:
    """Return the depths as read with one scale for all, of a fall that leans away from the camera by ``aside`` [m].

    A pinhole at ``camera`` [m], level with the middle of the fall: what is further away looks smaller.
    """
    t, depths = settled(speed, column)
    away = camera + aside * depths / column
    return t, (depths - column / 2) * camera / away


def test_what_all_drops_share_is_a_drift() -> None:
    """A way that leans away by a tenth of the distance; the change of apparent speed by numpy's gradient."""
    t, depths = perspective(0.105, 0.3, 0.2, 0.03)
    speeds = np.gradient(depths, t)
    drift = common_drift([shape_of(fitted(t, read(depths, seed, 3e-4))) for seed in range(3)])
    assert drift.change == pytest.approx((speeds[-1] - speeds[0]) / speeds.mean(), rel=0.15)
    assert drift.beyond_chance > 0.05


def test_what_each_drop_does_in_its_own_way_is_none() -> None:
    shapes = [ResidualShape(0.6 * change, 0.0, 0.0, 0.0) for change in (0.12, -0.10, 0.02)]
    drift = common_drift(shapes)
    assert drift.change == pytest.approx(0.04 / 3)
    assert drift.uncertainty == pytest.approx(np.std([0.12, -0.10, 0.02], ddof=1) / np.sqrt(3))
    assert drift.beyond_chance == 0.0


def test_drops_that_agree_by_luck_keep_the_usual_scatter() -> None:
    """1.6 % each, and reading noise of 3 % of the way, by hand."""
    shapes = [ResidualShape(0.024, 0.018, 0.0, 0.0) for _ in range(4)]
    drift = common_drift(shapes)
    assert drift.change == pytest.approx(0.04)
    assert drift.uncertainty == pytest.approx(np.hypot(0.016, 0.03) / 2)


def test_a_fall_seen_late_in_one_frame_only_tells_no_change() -> None:
    """Three readings lie on a parabola always; a clip with a broken index has falls of which hardly the end is seen."""
    t, depths = settled()
    kept = np.concatenate([np.flatnonzero(t < 0.3 * t[-1]), [len(t) - 1]])
    shape = shape_of(fitted(t[kept], read(depths)[kept]))
    assert (shape.change, shape.change_uncertainty) == (0.0, np.inf)
    whole = shape_of(fitted(t, read(depths)))
    assert common_drift([shape, whole]) == common_drift([whole])
    assert common_drift([shape]) == Drift(0.0, 0.0)


@pytest.mark.parametrize(("shift", "settling"), [(-0.015, 0.6), (-0.02, 0.5), (-0.025, 0.4), (-0.025, 1.0)])
def test_a_change_that_dies_away_is_carried(shift: float, settling: float) -> None:
    """A current that slows the fly and dies away exponentially [m/s, s]; the speed is known, each drop in doubt by 1 %."""
    true = 0.27
    t, depths = settled(true, 0.33)
    slowed = depths + shift * settling * (1.0 - np.exp(-t / settling))
    fits = [fitted(t, read(slowed, seed)) for seed in range(3)]
    found = np.mean([fit.terminal_speed for fit in fits])
    doubt = common_drift([shape_of(fit) for fit in fits]).beyond_chance
    assert abs(found - true) < 2.0 * true * np.hypot(doubt, 0.01)
    assert abs(found - true) > 2.0 * true * 0.007
    still = [fitted(t, read(depths, seed)) for seed in range(3)]
    assert common_drift([shape_of(fit) for fit in still]).beyond_chance == 0.0
