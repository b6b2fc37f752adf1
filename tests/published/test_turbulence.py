"""The rig's gusts against the exponential laws of open channels, and against what such walks must do.

rms / u* = D exp(-y/h), D = 2.30 downstream, 1.27 up and down, 1.63 across (Nezu 1977; Nezu & Nakagawa 1993). The factors
were read in an abstract only (Johnson & Cowen 2018, who find that they are not universal), the exponent is from memory.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from rigging import STILL, chain, weightless
from scipy.integrate import quad

from flybench.quantity import Floats
from flybench.rig.chain.state import landed
from flybench.rig.chain.turbulence import ALONG_OVER_UP, LONGER, TOGETHER, blow, gust_down
from flybench.rig.odds.draws import MEMORY, WANDER

ALONG, UP, ACROSS = 2.30, 1.27, 1.63


def mean(law: object, low: float = 0.0, high: float = 1.0) -> float:
    return quad(law, low, high)[0] / (high - low)  # type: ignore[arg-type]


def up(y: float) -> float:
    return UP * math.exp(-y)


def along(y: float) -> float:
    return ALONG * math.exp(-y)


def test_factors_make_the_energy_of_the_same_source() -> None:
    # k / u*^2 = 4.78 exp(-2 y/h) (from memory).
    assert pytest.approx(4.78, abs=0.01) == (ALONG**2 + UP**2 + ACROSS**2) / 2


@pytest.mark.parametrize(("y", "printed"), [(0.1, 1.15), (0.2, 1.04), (0.5, 0.77), (0.8, 0.57), (0.9, 0.52)])
def test_law_of_gusts_up_and_down(y: float, printed: float) -> None:
    assert up(y) == pytest.approx(printed, abs=0.006)


def test_a_rigs_gusts_lie_between_the_means_over_all_and_over_the_lower_half() -> None:
    assert mean(up) < WANDER < mean(up, 0.0, 0.5)
    assert mean(along) < WANDER * ALONG_OVER_UP < mean(along, 0.0, 0.5)


def test_gusts_keep_as_long_as_the_eddy_diffusivity_wants_it() -> None:
    # K = 0.41 u* y (1 - y/h), T = K / rms^2: in h/u*, by the mean of K over the square of the rig's rms.
    spread = mean(lambda y: 0.41 * y * (1 - y))
    assert spread / WANDER**2 == pytest.approx(MEMORY, rel=0.1)
    # Half of the time in which 1.5 u* goes along 0.75 depths.
    assert pytest.approx(LONGER * MEMORY, rel=0.1) == 0.5 * 0.75 / 1.5


@pytest.mark.parametrize("y", [0.1, 0.3, 0.5, 0.7])
def test_gusts_go_together_as_the_stress_wants_it(y: float) -> None:
    # -u'w' = u*^2 (1 - y/h) in even flow.
    assert (1 - y) / (up(y) * along(y)) == pytest.approx(TOGETHER, abs=0.07)


def blown(count: int, seconds: float, dt: float = 0.05) -> tuple[Floats, Floats]:
    """Return gusts down and downstream of many rigs whose rms up and down is 0.05 m/s, kept for 0.4 s: (steps, rigs)."""
    ones = np.ones(count)
    rigs = chain([1.0], [1], weightless(), STILL, [0.02], [1e-3], [3e-4])
    many = replace(rigs, floor=ones, wander=0.05 * ones, memory=0.4 * ones, slack=0 * ones)
    state = landed(rigs)
    noise = np.random.default_rng(4).standard_normal((2 * round(seconds / dt), count))
    down, downstream = [], []
    for step in range(len(noise) // 2):
        blow(many, state, dt, noise, step)
        down.append(state.rising)
        downstream.append(state.surging)
    return np.array(down), np.array(downstream)


def test_walks_have_the_rms_the_memory_and_the_company_that_they_should() -> None:
    down, downstream = blown(4000, 8.0)
    # 4000 rigs: a rms is good to 1.1 %, a correlation to 0.016.
    for walk, rms, memory in ((down, 0.05, 0.4), (downstream, 0.05 * ALONG_OVER_UP, 0.4 * LONGER)):
        assert walk[0].std() == pytest.approx(rms, rel=0.05)
        assert walk[-1].std() == pytest.approx(rms, rel=0.05)
        later = np.corrcoef(walk[-1], walk[-1 - round(memory / 0.05)])[0, 1]
        assert later == pytest.approx(math.exp(-1), abs=0.06)
    # Two walks of unlike memory whose pushes go together by r do so by 2 r sqrt(T1 T2) / (T1 + T2).
    wanted = TOGETHER * 2 * math.sqrt(LONGER) / (1 + LONGER)
    assert np.corrcoef(down[-1], downstream[-1])[0, 1] == pytest.approx(wanted, abs=0.06)


def test_gusts_up_and_down_die_away_at_surface_and_stones() -> None:
    rigs = chain([1.0], [1], weightless(), STILL, [0.02], [1e-3], [3e-4], floor=1.0)
    calm = replace(rigs, calm=np.array([[0.1], [0.05]]))
    state = landed(rigs)
    state.rising = np.array([0.04])
    depth = np.array([[-0.2], [0.0], [0.05], [0.1], [0.5], [0.95], [0.975], [1.0], [1.01]])
    np.testing.assert_allclose(
        gust_down(calm, state, depth)[:, 0] / 0.04, [0, 0, 0.5, 1, 1, 1, 0.5, 0, 0], atol=1e-12
    )
    assert gust_down(rigs, state, depth) == pytest.approx(0.04)
