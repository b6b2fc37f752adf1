"""Do the stated intervals hold the truth as often as they say, and are they no wider than needed?

Truth: falls integrated by scipy's ODE solver from m dv/dt = W - k v^2 (not the product's closed form), and
rendered clips whose typed distances were drawn from their stated uncertainty.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from clips import measured, once, pairs, rendered, sheet_of
from numpy.typing import NDArray
from scenes import CLEAN, HARD, longer
from scipy.integrate import solve_ivp
from tankview.scene import Scene

from flybench.bench.fit.drop_pooling import pool_drops
from flybench.bench.fit.fall import fit_fall
from flybench.bench.fit.fall_model import bound
from flybench.bench.saved.refitting import refit, saved_bytes

Floats = NDArray[np.float64]


def _fall(v: float, tau: float, v0: float, column: float, rate: float) -> tuple[Floats, Floats]:
    """Integrate dv/dt = (v / tau) (1 - (u / v)^2) until the column is through."""

    def slope(_: float, state: Floats) -> list[float]:
        return [state[1], v / tau * (1.0 - (state[1] / v) ** 2)]

    t = np.arange(0.0, column / v + 4 * tau, 1.0 / rate)
    y = solve_ivp(slope, (0.0, t[-1]), [0.0, v0], t_eval=t, rtol=1e-9, atol=1e-11, method="DOP853").y[0]
    inside = y < column
    return t[inside], y[inside]


COVARIANCES: dict[str, Callable[[Floats], Floats]] = {
    "rough": lambda r: np.exp(-r),
    "smooth": lambda r: (1 + r) * np.exp(-r),
}
"""Of a wander, over time apart as a share of its memory: first-order Markov, and Matern 3/2."""


def _wander(kind: str, t: Floats, memory: float, rng: np.random.Generator) -> Floats:
    """Return a wander of unit size, drawn from its covariance matrix (no filter involved)."""
    covariance = COVARIANCES[kind](np.abs(t[:, None] - t[None, :]) / memory)
    root = np.linalg.cholesky(covariance + 1e-9 * np.eye(len(t)))
    return np.asarray(root @ rng.normal(size=len(t)))


def _scores(count: int, seed: int, kind: str | None) -> tuple[Floats, Floats]:
    """Return errors over stated uncertainty, and stated uncertainty over the Cramer-Rao bound."""
    rng = np.random.default_rng(seed)
    scores, ratios = [], []
    for number in range(count):
        v = rng.uniform(0.15, 0.50)
        tau = rng.uniform(1.1, 4.0) * v / 9.80665
        v0 = [0.0, rng.uniform(0, v), rng.uniform(v, 1.1)][number % 3]
        t, y = _fall(v, tau, v0, 0.28, float(rng.choice([30.0, 60.0, 120.0, 240.0])))
        noise = rng.uniform(2e-5, 1e-4)
        read = y + noise * rng.normal(size=len(t))
        if kind is not None:
            memory = float(np.exp(rng.uniform(np.log(0.02), np.log(0.2))))
            read += rng.uniform(0, 4e-4) * _wander(kind, t, memory, rng)
        fit = fit_fall(t, read, 5e-5)
        scores.append((fit.terminal_speed - v) / fit.fit_uncertainty)
        ratios.append(fit.fit_uncertainty / bound(t, np.array([v, np.log(tau), v0, 0.0]), noise))
    return np.array(scores), np.array(ratios)


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["rough", "smooth"])
def test_intervals_of_simulated_falls_hold_the_truth(kind: str) -> None:
    """Reading noise of 0.02 to 0.1 mm and a wander of 0 to 0.4 mm with a memory of 0.02 to 0.2 s.

    Of 120 fewer than 90 % are held once in 300 times where 95.5 % are, and 4 times in 5 where 87 % are;
    ``benchmarks/falls.py`` fits many more.
    """
    scores, _ = _scores(120, 5, kind)
    assert 0.90 <= np.mean(np.abs(scores) <= 2.0) <= 0.99


@pytest.mark.slow
def test_clean_intervals_are_within_twice_the_cramer_rao_bound() -> None:
    scores, ratios = _scores(60, 6, None)
    assert np.median(ratios) < 2.0
    assert np.mean(ratios < 2.0) >= 0.90
    assert np.median(ratios) > 0.8
    assert np.sqrt(np.mean(scores**2)) < 1.3


@pytest.mark.slow
@pytest.mark.parametrize("count", [2, 3, 4, 5, 6])
def test_pooled_interval_holds_the_flys_speed(count: int) -> None:
    """Drops scattered by 1.5 % about the fly's speed, each read to 0.3 %."""
    rng = np.random.default_rng(count)
    held = []
    for _ in range(400):
        speeds = 0.30 * (1 + 0.015 * rng.normal(size=count) + 0.003 * rng.normal(size=count))
        pooled = pool_drops(speeds, np.full(count, 0.003 * 0.30))
        held.append(abs(pooled.value - 0.30) <= 2 * pooled.standard_uncertainty)
    assert 0.90 <= np.mean(held) <= 0.99


def test_drops_that_agree_by_luck_do_not_pass_for_certainty() -> None:
    close = pool_drops(np.array([0.300, 0.3001]), np.array([0.0003, 0.0003]))
    many = pool_drops(np.full(12, 0.300) + np.linspace(-1e-4, 1e-4, 12), np.full(12, 0.0003))
    assert close.standard_uncertainty > 4 * many.standard_uncertainty


COVERED = {
    "60 a second": CLEAN,
    "30 a second": CLEAN,
    "120 a second": CLEAN,
    "HEVC, ten bits": CLEAN,
    "slick, 50 cm/s": CLEAN,
    "hairy, 25 cm/s": CLEAN,
    "card rolled by 4 degrees": CLEAN,
    "letter paper": CLEAN,
    "noise": HARD,
    "low light": HARD,
    "mains flicker": HARD,
    "shadow": HARD,
    "bubbles": HARD,
    "dropped frames": HARD,
    "wandering path": HARD,
    "phone tilted by 4 degrees": HARD,
    "barrel distortion": HARD,
    "gap of 35 mm at 450 mm": HARD,
}
DRAWS = 3


Offsets = dict[str, float | None]


def _drawn() -> dict[str, tuple[Scene, list[Offsets]]]:
    """Return each clip with a lean of its own, and what its owner might have typed: offsets [m] of each draw."""
    rng = np.random.default_rng(17)
    drawn: dict[str, tuple[Scene, list[Offsets]]] = {}
    for name, group in COVERED.items():
        one = longer(group[name], 3).but(card__lean_deg=float(rng.normal(0, 0.5)))
        drawn[name] = one, []
        for _ in range(DRAWS):
            off: Offsets = {key: float(rng.normal(0, 0.0015)) for key in ("distance", "gap", "fall_plane")}
            off["gap"] = 2.0 * (off["gap"] or 0.0)  # tweezers let go up to 6 mm off
            off["bar"] = float(rng.normal(0, 0.00015))
            drawn[name][1].append(off)
    return drawn


DRAWN = _drawn()


def _held(name: str, folder: Path) -> list[list[bool]]:
    """Return for each draw which drops' intervals hold the truth; worked out once for all workers.

    The clip is read once; the other sheets go with what was read.
    """

    def work() -> list[list[bool]]:
        one, (first, *others) = DRAWN[name]
        path, truth = rendered(one, folder)
        run = measured(one, path, first)
        saved = saved_bytes(run)
        results = [run.result, *(refit(saved, sheet_of(one, off)) for off in others)]
        return [[pair.holds for pair in pairs(result, truth)] for result in results]

    held: list[list[bool]] = once(folder, f"held by {name}", work)
    return held


@pytest.mark.slow
@pytest.mark.parametrize("name", COVERED)
def test_every_drop_of_a_clip_is_found_whatever_was_typed(name: str, folder: Path) -> None:
    assert [len(draw) for draw in _held(name, folder)] == [3] * DRAWS


@pytest.mark.slow
def test_intervals_of_rendered_drops_hold_the_truth(folder: Path) -> None:
    """Everything that the budget takes as typed or assumed is drawn from its stated uncertainty.

    Distances +-3 mm, the gap +-6 mm, the bar +-0.3 mm and the card's lean +-1 degree (k = 2). Each clip has a lean of its
    own and is measured under three draws of what its owner might have typed.
    """
    draws = [draw for name in COVERED for draw in _held(name, folder)]
    held = [one for draw in draws for one in draw]
    assert len(held) == 3 * DRAWS * len(COVERED)
    assert 3 * len(COVERED) >= 40
    assert 0.90 <= np.mean(held) <= 0.99
