"""Draws of what is not known: how wide they are, against what is published, and that rigs get what was drawn for them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from flybench.errors import BadValueError
from flybench.hydraulics.cylinder import ALONG_DOUBT, LAWS, NORMAL_DOUBT, friction_along
from flybench.quantity import Measured
from flybench.rig.odds.draws import (
    MEMORY,
    RELIEF,
    WANDER,
    Draws,
    best_estimate,
    drawn,
    rigs_of_draws,
    river,
    tops,
)
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Entry, Hold, Tackle
from flybench.rig.water.bed import UNKNOWN, bed_named, bed_of_stones
from flybench.rig.water.current import Current
from flybench.rig.water.profile import LogProfile, PowerProfile

RIVER = Current(Measured(1.2, 0.12), Measured(0.6, 0.09), 283.15, bed_named("gravel"))
TACKLE = Tackle(0.15e-3, 2.0, (0.5,))
BOX = [
    RigFly("a", Measured(0.2, 0.01), Measured(1e-3, 4e-5)),
    RigFly("b", Measured(0.3, 0.03), Measured(2e-3, 4e-5)),
    RigFly("c", Measured(0.4, 0.0), Measured(3e-3, 0.0), 5e-4),
]
MANY = 4000


@pytest.fixture(scope="module")
def taken() -> Draws:
    return drawn(MANY, 3, 5, seed=2)


def spread(values: np.ndarray) -> float:
    return float(np.std(np.log(values)))


def test_the_doubt_of_drag_across_is_that_of_the_published_laws(taken: Draws) -> None:
    # Lines in rivers: Reynolds numbers 4 to 115 (0.1 to 0.3 mm, 0.05 to 0.5 m/s). Choo & Casarella (1971), from memory.
    reynolds = np.geomspace(4, 115, 12)
    choo = np.where(reynolds <= 30, 1.45 + 8.55 * reynolds**-0.9, 1.1 + 4 * reynolds**-0.5)
    laws = np.stack([choo, *(law.coefficient(reynolds) for law in LAWS.values())])
    half_range = np.ptp(laws, axis=0) / 2 / laws.mean(axis=0)
    assert half_range.max() > NORMAL_DOUBT > half_range.mean()
    rigs, _ = rigs_of_draws(RIVER, TACKLE, BOX, [(0, 1)], taken)
    assert spread(rigs.normal) == pytest.approx(NORMAL_DOUBT, rel=0.05)


def test_the_doubt_of_drag_along_is_that_of_the_published_laws(taken: Draws) -> None:
    # Nusselt numbers of wires at Prandtl number 1: Churchill & Bernstein (1977), Kramers (1946), from memory.
    reynolds = np.geomspace(1, 115, 12)
    used = friction_along(reynolds, 1.0) / np.pi
    root = np.sqrt(reynolds)
    churchill = 0.3 + 0.62 * root / (1 + 0.4 ** (2 / 3)) ** 0.25 * (1 + (reynolds / 282000) ** 0.625) ** 0.8
    kramers = 0.42 + 0.57 * root
    apart = np.abs(np.stack([churchill, kramers]) / used - 1)
    assert apart.max() < 2 * ALONG_DOUBT
    assert apart.max() > ALONG_DOUBT
    rigs, _ = rigs_of_draws(RIVER, TACKLE, BOX, [(0, 1)], taken)
    assert spread(rigs.tangential) == pytest.approx(ALONG_DOUBT, rel=0.05)


def test_river_and_bed_scatter_as_they_are_doubted(taken: Draws) -> None:
    speed, depth, shape = river(RIVER, taken)
    assert spread(speed) == pytest.approx(0.15, rel=0.05)
    assert spread(depth) == pytest.approx(0.10, rel=0.05)
    assert spread(shape) == pytest.approx(RIVER.bed.doubt, rel=0.05)
    assert np.median(speed) == pytest.approx(0.6, rel=0.02)
    np.testing.assert_array_equal(speed > 0.6, taken.surface_speed > 0)
    np.testing.assert_array_equal(depth > 1.2, taken.depth > 0)
    np.testing.assert_array_equal(shape > 0.003, taken.shape > 0)
    assert np.median(depth) == pytest.approx(1.2, rel=0.02)
    assert np.median(shape) == pytest.approx(0.003, rel=0.05)
    # A single size of stones misses the roughness by a factor of two at the worst (Ferguson 2007, abstract).
    alone = river(replace(RIVER, bed=bed_of_stones(Measured(0.05, 0.0))), taken)[2]
    assert 2.0 < np.quantile(alone / 0.005, 0.975) < 3.0
    exponents = river(replace(RIVER, bed=UNKNOWN), taken)[2]
    assert np.median(exponents) == pytest.approx(6.0, rel=0.02)
    assert spread(exponents) == pytest.approx(0.3, rel=0.05)


def test_flies_get_the_draws_of_their_place_in_the_box(taken: Draws) -> None:
    rigs, noise = rigs_of_draws(RIVER, TACKLE, BOX, [(0, 1), (2, 0)], taken)
    assert rigs.count == 2 * MANY
    first, second = slice(0, MANY), slice(MANY, 2 * MANY)
    speed = np.sqrt(rigs.fly_weight / rigs.fly_drag)  # k = W / v2
    assert spread(speed[0, first]) == pytest.approx(0.05, rel=0.05)
    assert spread(speed[1, first]) == pytest.approx(0.10, rel=0.05)
    assert spread(rigs.fly_weight[0, first]) == pytest.approx(0.04, rel=0.05)
    np.testing.assert_allclose(speed[0, second], 0.4)
    np.testing.assert_array_equal(rigs.fly_weight[1, second], rigs.fly_weight[0, first])
    # By hand: weighed dry, m + (m - W/g) / 2; else a density of 4000 kg/m3 is taken.
    sunk = 3e-3 / 9.80665
    np.testing.assert_allclose(rigs.fly_mass[0, second], 5e-4 + 0.5 * (5e-4 - sunk))
    light = 1e-3 / 9.80665
    dry = light / (1 - RIVER.water.density / 4000)
    np.testing.assert_allclose(rigs.fly_mass[0, first], dry + 0.5 * (dry - light))
    np.testing.assert_array_equal(noise[:, first], noise[:, second])
    np.testing.assert_array_equal(noise[:, first], taken.noise)


def test_turbulence_is_that_of_the_shear_velocity() -> None:
    rigs, noise = rigs_of_draws(RIVER, TACKLE, BOX, [(0, 1)], best_estimate(3))
    assert noise is None
    # u* = 0.41 us / ln(1 + h/z0), by hand for z0 = 3 mm.
    friction = 0.41 * 0.6 / np.log1p(1.2 / 0.003)
    assert rigs.wander[0] == pytest.approx(WANDER * friction)
    assert rigs.memory[0] == pytest.approx(MEMORY * 1.2 / friction)
    # Nezu & Nakagawa 1993, from memory: 1.27 exp(-y/h) has 0.80 as its mean over the depth; 0.41/6 of the diffusivity.
    assert 1.27 * (1 - np.exp(-1)) < WANDER < 1.27
    assert round(0.41 / 6 / WANDER**2, 2) == MEMORY
    unknown, _ = rigs_of_draws(replace(RIVER, bed=UNKNOWN), TACKLE, BOX, [(0, 1)], best_estimate(3))
    assert unknown.wander[0] == pytest.approx(WANDER * 0.41 * 0.6 / 7)


def test_the_best_estimate_is_what_was_measured() -> None:
    rigs, _ = rigs_of_draws(RIVER, TACKLE, BOX, [(0, 1)], best_estimate(3))
    assert rigs.count == best_estimate(3).count == 1
    assert rigs.floor[0] == pytest.approx(1.2 - 0.2 * 0.03)
    assert (rigs.normal[0], rigs.tangential[0], rigs.slack[0], rigs.entry_speed[0]) == (1.0, 1.0, 0.6, 2.0)
    assert isinstance(rigs.profile, LogProfile)
    unknown, _ = rigs_of_draws(replace(RIVER, bed=UNKNOWN), TACKLE, BOX, [(0, 1)], best_estimate(3))
    assert isinstance(unknown.profile, PowerProfile)
    assert unknown.floor[0] == pytest.approx(1.2)


@pytest.mark.parametrize(
    ("tackle", "lead"),
    [
        (TACKLE, 0.6),
        (replace(TACKLE, hold=Hold.STILL), 0.0),
        (replace(TACKLE, hold=Hold.LED, lead_speed=0.45), 0.45),
        (replace(TACKLE, hold=Hold.LED, lead_speed=0.0), 0.0),
    ],
    ids=["floating", "still", "led", "led at no speed"],
)
def test_the_line_goes_as_it_is_held(tackle: Tackle, lead: float) -> None:
    rigs, _ = rigs_of_draws(RIVER, tackle, BOX, [(0, 1)], best_estimate(3))
    assert rigs.lead[0] == pytest.approx(lead)


def test_slack_scatters_within_what_can_be(taken: Draws) -> None:
    steep, _ = rigs_of_draws(RIVER, TACKLE, BOX, [(0, 1)], taken)
    assert (steep.slack.min(), steep.slack.max()) == (0.0, 0.97)
    inner = steep.slack[(steep.slack > 0) & (steep.slack < 0.97)]
    assert np.median(steep.slack) == pytest.approx(0.6, abs=0.01)
    assert np.corrcoef(steep.slack, taken.slack)[0, 1] > 0.9
    assert np.quantile(inner, 0.25) == pytest.approx(0.6 - 0.674 * 0.2, abs=0.02)
    flat, _ = rigs_of_draws(RIVER, replace(TACKLE, entry=Entry.FLAT), BOX, [(0, 1)], taken)
    assert np.quantile(flat.slack, 0.8413) == pytest.approx(0.1, abs=0.01)


def test_stones_scatter_with_the_bed_and_leave_water(taken: Draws) -> None:
    _, depth, _ = river(RIVER, taken)
    high = tops(RIVER, taken, depth)
    assert np.median(high) == pytest.approx(0.006, rel=0.05)
    np.testing.assert_array_equal(high > 0.006, taken.shape > 0)
    assert spread(high) == pytest.approx(RIVER.bed.doubt, rel=0.05)
    shallow = replace(RIVER, depth=Measured(0.4, 0.04), bed=bed_named("boulder"))
    deep = river(shallow, taken)[1]
    highest = tops(shallow, taken, deep)
    assert (highest <= 0.5 * deep).all()
    assert (highest == 0.5 * deep).any()


def test_draws_for_longer_drifts_begin_with_the_gusts_of_the_shorter_ones() -> None:
    short = drawn(4, 2, 3, 1)
    assert short.lasting(3, 1) is short
    assert drawn(4, 2, 3, 1, turbulence=False).lasting(9, 1).noise is None
    long = short.lasting(5, 1)
    assert long.noise is not None and short.noise is not None
    assert long.noise.shape == (10, 4)
    np.testing.assert_array_equal(long.noise[[0, 1, 2, 5, 6, 7]], short.noise)
    assert len(set(long.noise.ravel())) == long.noise.size
    np.testing.assert_array_equal(long.speeds, short.speeds)


def test_the_seed_fixes_the_draws_and_level_water_has_no_noise() -> None:
    one, same, other = drawn(4, 2, 3, 1), drawn(4, 2, 3, 1), drawn(4, 2, 3, 2)
    np.testing.assert_array_equal(one.depth, same.depth)
    assert (one.depth != other.depth).all()
    assert (one.speeds.shape, one.weights.shape, one.noise.shape) == ((4, 2), (4, 2), (6, 4))
    assert drawn(1, 2, 3, 1).count == 1
    level = drawn(4, 2, 3, 1, turbulence=False)
    assert level.noise is None
    np.testing.assert_array_equal(level.slack, one.slack)
    first = (one.depth, one.surface_speed, one.shape, one.line, one.slack, one.bump)
    assert len({values[0] for values in first}) == 6


def test_each_equally_likely_part_of_a_law_is_drawn_once() -> None:
    """By hand: four parts of a normal law end at -0.6745, 0 and 0.6745 (tables of the normal law)."""
    four = drawn(4, 2, 3, 1)
    ends = [-0.6745, 0.0, 0.6745]
    for values in (four.depth, four.bump, four.speeds[:, 0], four.weights[:, 1]):
        assert sorted(np.searchsorted(ends, values)) == [0, 1, 2, 3]
    assert sorted(four.depth.tolist()) != sorted(four.slack.tolist())


def test_river_and_water_are_the_same_for_any_box() -> None:
    small, large = drawn(6, 1, 3, 1), drawn(6, 9, 3, 1)
    np.testing.assert_array_equal(small.depth, large.depth)
    np.testing.assert_array_equal(small.noise, large.noise)
    picked = large.of_flies([4, 2])
    np.testing.assert_array_equal(picked.speeds, large.speeds[:, [4, 2]])
    np.testing.assert_array_equal(picked.weights, large.weights[:, [4, 2]])


def test_bumps_lift_the_floor_by_their_relief_and_leave_water(taken: Draws) -> None:
    rigs, _ = rigs_of_draws(RIVER, TACKLE, BOX, [(0, 1)], taken)
    _, depth, _ = river(RIVER, taken)
    lifted = depth - tops(RIVER, taken, depth) - rigs.floor
    assert np.std(lifted) == pytest.approx(RELIEF, rel=0.01)
    np.testing.assert_array_equal(lifted > 0, taken.bump > 0)
    thin = replace(RIVER, depth=Measured(0.1, 0.0), bed=UNKNOWN)
    floor = rigs_of_draws(thin, TACKLE, BOX, [(0, 1)], taken)[0].floor
    assert floor.min() == pytest.approx(0.05)


def test_no_draws_at_all_are_refused() -> None:
    with pytest.raises(BadValueError) as refused:
        drawn(0, 2, 3, 1)
    message = "draws: 0 is too few. Give 1 or more; with 200 a share is good to about 0.03 (k = 1)."
    assert str(refused.value) == message
