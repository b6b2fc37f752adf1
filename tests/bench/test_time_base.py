"""What falls tell of the clock: response numbers, and the verdict on slow motion nobody declared.

Truth: bodies of known density fall by an equation of motion integrated here, with a drag exponent from 1.7 to 2 and a
wandering path; the response number of the law with exponent 2 is (s + Ca) / (s - 1) by algebra.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from clips import measured, rendered
from scenes import scene
from scipy.integrate import solve_ivp

from flybench.bench.clip.clock import CLOCK_UNCERTAINTY, Clock, Source, TimesDoubt, clock_of
from flybench.bench.fit.response_number import NUMBERS, ResponseProfile, response_profile
from flybench.bench.fit.stretch_evidence import filled_share
from flybench.bench.sheet.settings import FlySettings
from flybench.bench.verdict.time_base import TimeBase, density_ratio, judged, seen_drag
from flybench.hydraulics.water import Water
from flybench.quantity import Measured

G = 9.81
UNRESOLVED = 1.5 / 30 * G / 0.3
"""Response number of an approach that is over within a gap and a half between two frames [-]."""
NOISE, WANDER, MEMORY = 3e-5, 5e-5, 0.06
"""Scatter of a reading and wander of the body [m], and how long it lasts [s]: a tenth of a pixel of a third of a mm."""


def fall(
    density: float,
    *,
    speed: float = 0.3,
    stretch: float = 1.0,
    start: float = 0.2,
    exponent: float = 2.0,
    seed: int = 1,
) -> ResponseProfile:
    """Return the profile of a fall of 24 cm filmed at 30 frames a second times the stretch, and played at 30."""
    added = 0.5

    def rate(_: float, state: np.ndarray) -> list[float]:
        drag = (abs(state[1]) / speed) ** exponent
        return [state[1], G * (density - 1) / (density + added) * (1 - drag)]

    fps, length = 30.0 * stretch, 0.24 / speed
    real = np.arange(0.0, length, 1 / fps)
    found = solve_ivp(rate, (0, length), [0.0, start * speed], t_eval=real, rtol=1e-9, atol=1e-12)
    rng = np.random.default_rng(seed)
    keep = np.exp(-1 / fps / MEMORY)
    wander = np.zeros(len(real))
    for i in range(1, len(real)):
        wander[i] = keep * wander[i - 1] + rng.normal(0, WANDER * np.sqrt(1 - keep**2))
    return response_profile(real * stretch, found.y[0] + wander + rng.normal(0, NOISE, len(real)), NOISE)


def clock(rate: float = 30.0, source: Source = Source.UNTOLD) -> Clock:
    return Clock(1.0, rate, 0.0, 0, CLOCK_UNCERTAINTY, False, source)


def verdict(profiles: list[ResponseProfile], speed: float = 0.3, rate: float = 30.0) -> TimeBase:
    return judged(clock(rate), profiles, speed, None, None)


@pytest.mark.parametrize("density", [1.25, 2.0, 4.0, 8.0])
@pytest.mark.parametrize("stretch", [1.0, 2.0, 4.0, 8.0])
def test_the_response_number_is_that_of_the_density_times_the_stretch_squared(
    density: float, stretch: float
) -> None:
    profile = fall(density, stretch=stretch)
    fitting = NUMBERS[profile.log_likelihood > -2.0]
    expected = (density + 0.5) / (density - 1) * stretch**2
    assert fitting[0] < 1.13 * expected
    assert expected / 1.13 < fitting[-1] < 1.3 * max(expected, UNRESOLVED)
    assert profile.approach_seen


def test_a_settled_fall_tells_nothing() -> None:
    profile = fall(3.0, start=1.0)
    assert np.all(profile.log_likelihood == 0.0)


@pytest.mark.parametrize("exponent", [1.7, 1.85, 2.0])
def test_flies_that_are_let_go_in_view_prove_their_time(exponent: float) -> None:
    for seed, density in enumerate(np.geomspace(1.8, 7.0, 6)):
        found = verdict([fall(float(density), exponent=exponent, seed=10 * seed + one) for one in range(2)])
        assert (found.flag, found.proved) == (None, True), density


@pytest.mark.parametrize("exponent", [1.7, 2.0])
@pytest.mark.parametrize("stretch", [4.0, 8.0])
def test_slow_motion_nobody_declared_is_refuted(exponent: float, stretch: float) -> None:
    for seed, density in enumerate(np.geomspace(1.5, 7.0, 5)):
        falls = [
            fall(float(density), stretch=stretch, exponent=exponent, seed=10 * seed + one) for one in range(2)
        ]
        found = verdict(falls, 0.3 / stretch)
        assert found.flag == "looks-slowed", density
        assert 0.5 < found.factors[0] / stretch < 2.1


@pytest.mark.slow
def test_twice_too_slow_is_never_proved_real() -> None:
    for seed, density in enumerate(np.geomspace(1.3, 7.0, 6)):
        for start in (0.1, 0.6, 1.0, 1.8):
            found = verdict([fall(float(density), stretch=2.0, start=start, seed=seed)], 0.15)
            assert not found.proved, (density, start)
            assert found.flag in ("taken-as-real-time", "looks-slowed")


def test_twice_too_slow_shows_once_the_density_is_known() -> None:
    for density in (2.0, 4.0, 7.0):
        found = judged(clock(), [fall(density, stretch=2.0)], 0.15, Measured(density, 0.05 * density), None)
        assert found.flag == "looks-slowed"
        assert found.factors[0] == 2.0


def test_a_light_fly_is_asked_about_and_not_refused() -> None:
    """Bodies of 1.15 to 1.4 times the water's density fall in real time like dense ones seen twice too slow."""
    flags = [
        verdict([fall(density, seed=seed)], 0.1).flag for seed, density in enumerate((1.15, 1.2, 1.3, 1.4))
    ]
    assert "looks-slowed" not in flags
    for density in (1.15, 1.2, 1.3, 1.4):
        known = judged(clock(), [fall(density, speed=0.1)], 0.1, Measured(density, 0.01 * density), None)
        assert known.flag is None


def test_drag_beyond_any_fly_tells_of_slow_motion() -> None:
    """A cylinder end on has a drag coefficient of some 0.9, a disc 1.2 (handbook values); sixteen times that is none."""
    settled = [fall(3.0, start=1.0)]
    at = {q: judged(clock(), settled, 0.3 / q, None, Measured(1.0 * q**2, 0.05 * q**2)) for q in (1.0, 4.0)}
    assert (at[1.0].flag, at[4.0].flag) == (None, "looks-slowed")


def test_a_bushy_fly_at_half_speed_passes_for_no_compact_one() -> None:
    """Hackle 7.4 mm wide about a bead of 2.8 mm: a drag of 1.6 on the whole disc in real time, or of 0.4 at half speed.

    0.4 of that disc is 2.8 of the bead's own, which is what a bead with a few fibres may have (judgement); a compact fly,
    3 mm wide about the same bead, has no such way out.
    """
    settled, quick = [fall(3.0, start=1.0)], clock(60.0)
    bushy, compact = (filled_share(breadth, 0.0028) for breadth in (0.0074, 0.0030))
    assert bushy == pytest.approx((2.8 / 7.4) ** 2)
    assert filled_share(0.0020, 0.0028) == 1.0
    drag = Measured(1.6, 0.08)
    assert judged(quick, settled, 0.13, None, drag, bushy).flag == "taken-as-real-time"
    for usual in (0.5, 0.9):
        assert judged(quick, settled, 0.27, None, Measured(usual, 0.05), bushy).flag is None
        assert judged(quick, settled, 0.27, None, Measured(usual, 0.05), compact).proved


def test_without_evidence_a_usual_rate_is_taken_as_real_and_said() -> None:
    settled = [fall(3.0, start=1.0)]
    assert verdict(settled).flag == "taken-as-real-time"
    for rate in (24.0, 60.0, 120.0, 240.0):
        for speed in (0.05, 0.27, 0.5, 0.7):
            found = verdict(settled, speed, rate=rate)
            assert (found.flag, found.proved) == ("taken-as-real-time", False)


@pytest.mark.parametrize("rate", [40.0, 75.0, 80.0, 90.0, 180.0])
def test_rates_at_which_no_camera_films_are_never_proved_real(rate: float) -> None:
    """Cameras film at 24, 25, 30, 50, 60 and their multiples (common practice, no source)."""
    for density in (2.0, 5.0):
        assert verdict([fall(density, seed=one) for one in range(3)], rate=rate).flag == "taken-as-real-time"


@pytest.mark.parametrize(("rate", "filmed"), [(24.0, 30.0), (25.0, 30.0), (50.0, 60.0)])
def test_a_clip_that_was_fitted_to_another_rate_is_never_proved(rate: float, filmed: float) -> None:
    """30 pictures a second are played at 24 or 25, and 60 at 50, every one kept (common practice, no source)."""
    for density in (2.0, 4.0, 7.0):
        falls = [fall(density, stretch=filmed / rate, seed=one) for one in range(3)]
        found = verdict(falls, 0.3 * rate / filmed, rate=rate)
        assert (found.flag, found.conformed) == ("taken-as-real-time", pytest.approx(filmed / rate))


def test_a_clip_of_a_rate_that_others_are_fitted_to_is_clear_where_it_is_stated_or_the_falls_show_it() -> (
    None
):
    """A body of 7 times the water's density has 1.25 = (7 + 0.5) / (7 - 1); were it slowed it would be 0.8, and none is."""
    light, dense = ([fall(density, seed=one) for one in range(3)] for density in (2.0, 7.0))
    for rate in (24.0, 25.0, 50.0):
        for source in (Source.TYPED, Source.TAGGED):
            stated = judged(clock(rate, source), light, 0.3, None, None)
            assert (stated.flag, stated.conformed) == (None, 1.0)
    assert verdict(dense, rate=24.0).conformed == 1.0
    assert verdict(light, rate=24.0).conformed == pytest.approx(1.25)
    assert verdict(light, rate=30.0).conformed == verdict(light, rate=60.0).conformed == 1.0


def typed(stretch: float, tag_ratio: float | None = None, source: Source = Source.TYPED) -> Clock:
    return Clock(stretch, 30.0 * stretch, 0.0, 0, CLOCK_UNCERTAINTY, False, source, tag_ratio)


def test_a_typed_rate_against_the_files_own_is_good_only_where_the_falls_bear_it_out() -> None:
    settled, seen = [fall(3.0, start=1.0)], [fall(3.0, seed=one) for one in range(2)]
    for ratio in (0.5, 2.0, 8.0):
        assert judged(typed(4.0, ratio), settled, 0.3, None, None).flag == "rates-differ"
        known = judged(typed(4.0, ratio), seen, 0.3, Measured(3.0, 0.1), None)
        assert known.flag is None


def test_a_stated_slowing_of_about_two_must_show_in_the_falls_and_usual_ones_need_not() -> None:
    settled, seen = [fall(3.0, start=1.0)], [fall(3.0, seed=one) for one in range(2)]
    for source in (Source.TYPED, Source.TAGGED):
        for stretch in (4.0, 8.0):
            assert judged(typed(stretch, source=source), settled, 0.3, None, None).flag is None
        assert judged(typed(2.0, source=source), settled, 0.3, None, None).flag == "rate-not-borne-out"
        assert judged(typed(2.0, source=source), seen, 0.3, None, None).flag is None


@pytest.mark.parametrize("stored", [15.0, 20.0, 50.0, 59.94, 120.0])
def test_a_tag_of_slow_motion_that_no_phone_writes_so_must_show_in_the_falls(stored: float) -> None:
    """Phones have slow motion played at 30 a second, at 24 or at 25, or in real time (common practice, no source)."""
    settled, seen = [fall(3.0, start=1.0)], [fall(3.0, seed=one) for one in range(2)]
    odd = clock_of(np.arange(90) / stored, 240.0, None)
    assert odd.slowing == pytest.approx(240.0 / stored, rel=0.02)
    assert judged(odd, settled, 0.3, None, None).flag in ("rate-not-borne-out", "rate-contradicted")
    assert judged(odd, seen, 0.3, None, None).flag is None
    assert judged(clock_of(np.arange(90) / stored, None, 240.0), settled, 0.3, None, None).flag == (
        "rate-not-borne-out" if stored == 120.0 else None
    )
    for usual in (24.0, 29.97, 30.0, 240.0):
        plain = clock_of(np.arange(90) / usual, 240.0, None)
        assert judged(plain, settled, 0.3, None, None).flag is None


def test_a_typed_rate_for_a_clip_without_times_is_no_slow_motion() -> None:
    """A raw stream has none: what is made up for it, 25 frames a second, is the program's own."""
    raw = clock_of(np.arange(90) / 25.0, None, 60.0, TimesDoubt(made_up=True))
    assert (raw.stretch, raw.slowing) == (pytest.approx(2.4), 1.0)
    assert judged(raw, [fall(3.0, start=1.0)], 0.27, None, None).flag is None


def test_a_stated_slowing_that_makes_a_fly_faster_than_flies_are_is_doubted() -> None:
    """Weighted flies sink at some 10 to 80 cm/s (common practice, no source)."""
    settled = [fall(3.0, start=1.0)]
    assert judged(typed(4.0), settled, 1.1, None, None).flag == "rate-not-borne-out"
    assert judged(typed(8.0), settled, 2.2, None, None).flag == "rate-contradicted"


def test_a_stated_rate_that_does_not_fit_the_falls_is_contradicted() -> None:
    slow, fine = [fall(3.0, stretch=8.0)], [fall(3.0)]
    for source in (Source.TYPED, Source.TAGGED):
        assert judged(clock(source=source), fine, 0.3, None, None).flag is None
        assert judged(clock(source=source), slow, 0.0375, None, None).flag == "rate-contradicted"


def test_density_and_drag_from_the_sheet() -> None:
    water = Water(291.15)
    fly = FlySettings(mass=(3e-4, 3e-6), mass_in_water=(2.5e-4, 2.5e-6))
    found = density_ratio(fly, water)
    assert found is not None
    assert found.value == pytest.approx(6.0)
    assert found.standard_uncertainty == pytest.approx(6.0 * np.hypot(3.905e-6 / 5e-5, 0.01), rel=1e-3)
    assert density_ratio(FlySettings(mass=(3e-4, 3e-6)), water) is None
    by_volume = density_ratio(FlySettings(mass=(3e-4, 3e-6), volume=(1e-7, 1e-9)), water)
    assert by_volume is not None
    assert by_volume.value == pytest.approx(3e-4 / (1e-7 * water.density))
    drag = seen_drag(Measured(1e-3, 1e-5), 0.25, 0.005, water)
    assert drag is not None
    assert drag.value == pytest.approx(2e-3 / (water.density * np.pi / 4 * 0.005**2 * 0.25**2))
    assert seen_drag(None, 0.25, 0.005, water) is None


@pytest.mark.slow
@pytest.mark.parametrize(("stored", "times"), [(30.0, 2.0), (30.0, 8.0), (60.0, 4.0)])
def test_a_slowed_clip_that_shows_no_start_is_never_good_and_says_so(
    stored: float, times: float, folder: Path
) -> None:
    slowed = scene(timing__fps=stored * times, timing__stretch=times, timing__tag=False)
    path, truth = rendered(slowed, folder)
    result = measured(slowed, path, {"capture_rate": None}).result
    assert result.sink_speed == pytest.approx(truth.sink_speed_m_s / times, rel=0.01)
    assert "taken-as-real-time" in result.flags
    assert result.verdict == "usable"
    stated = measured(slowed, path).result
    assert stated.sink_speed == pytest.approx(truth.sink_speed_m_s, rel=0.003)
    assert "taken-as-real-time" not in stated.flags
