"""One rig's drift: fans that hold what they say, the same seed the same answer, flags where they belong."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from flybench.errors import BadValueError
from flybench.quantity import Measured
from flybench.rig.odds.doubts import rig_flags
from flybench.rig.odds.drift import Drift, drift
from flybench.rig.odds.flags import FLAGS
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Entry, Hold, Rig, Tackle
from flybench.rig.water.bed import UNKNOWN, bed_named
from flybench.rig.water.current import Current
from flybench.rig.water.level import FishLevel

RIVER = Current(Measured(1.2, 0.1), Measured(0.6, 0.06), 283.15, bed_named("gravel"))
DROPPER = RigFly("dropper", Measured(0.2, 0.01), Measured(1e-3, 3e-5))
POINT = RigFly("point", Measured(0.32, 0.01), Measured(2.5e-3, 5e-5))
RIG = Rig(Tackle(0.15e-3, 2.0, (0.5,)), (DROPPER, POINT))


@pytest.fixture(scope="module")
def drifted() -> Drift:
    return drift(RIG, RIVER, 10.0, draws=600, seed=3)


@pytest.mark.slow
def test_a_drift_starts_where_the_flies_land(drifted: Drift) -> None:
    dropper, point = drifted.flies
    assert [fly.role for fly in drifted.flies] == ["dropper", "point"]
    assert drifted.times[0] == 0
    assert drifted.times[-1] == pytest.approx(10.0)
    assert point.depth[0] == 0
    # 60 % slack of a 2 m leader: 0.8 m upstream of the line's entry; half the draws have less slack.
    assert point.x[0] == pytest.approx(-0.8, abs=0.03)
    assert dropper.x[0] == pytest.approx(-0.6, abs=0.03)


@pytest.mark.slow
def test_the_fan_holds_nine_tenths_of_fresh_drifts(drifted: Drift) -> None:
    point = drifted.flies[-1]
    for seed in (11, 12):
        fresh = drift(RIG, RIVER, 10.0, draws=600, seed=seed).flies[-1]
        np.testing.assert_allclose(fresh.depth[::10], point.depth[::10], atol=0.05)
        np.testing.assert_allclose(fresh.depth_low[::10], point.depth_low[::10], atol=0.09)
        np.testing.assert_allclose(fresh.depth_high[::10], point.depth_high[::10], atol=0.09)
    assert (point.depth_low <= point.depth).all()
    assert (point.depth <= point.depth_high).all()


@pytest.mark.slow
def test_the_median_is_near_the_best_estimate(drifted: Drift) -> None:
    estimate = drift(RIG, RIVER, 10.0, draws=0)
    assert estimate.draws == 1
    np.testing.assert_allclose(drifted.flies[-1].depth, estimate.flies[-1].depth, atol=0.1)
    assert estimate.time_to_level.low == estimate.time_to_level.high


@pytest.mark.slow
def test_a_bed_nobody_looked_at_is_told(drifted: Drift) -> None:
    unknown = drift(RIG, replace(RIVER, bed=UNKNOWN), 10.0, draws=300)
    assert "bed-unknown" in unknown.flags
    np.testing.assert_allclose(unknown.flies[-1].depth, drifted.flies[-1].depth, atol=0.1)


@pytest.mark.slow
def test_turbulence_widens_the_fan(drifted: Drift) -> None:
    level = drift(RIG, RIVER, 10.0, draws=600, seed=3, turbulence=False)

    def width(one: Drift) -> float:
        return float(one.flies[-1].depth_high[25] - one.flies[-1].depth_low[25])

    assert width(drifted) > 1.3 * width(level)


@pytest.mark.slow
def test_the_same_seed_is_the_same_drift(drifted: Drift) -> None:
    again = drift(RIG, RIVER, 10.0, draws=600, seed=3)
    np.testing.assert_array_equal(again.flies[-1].depth, drifted.flies[-1].depth)
    assert again.time_to_level == drifted.time_to_level


@pytest.mark.slow
def test_what_never_comes_down_says_so() -> None:
    light = RigFly("light", Measured(0.06, 0.0), Measured(1e-4, 0.0))
    held = Tackle(0.25e-3, 1.0, hold=Hold.STILL, entry=Entry.FLAT)
    result = drift(Rig(held, (light,)), RIVER, 5.0, draws=50)
    assert result.time_to_level.middle == np.inf
    assert result.share_reached == 0
    # The leader of 1.0 m just reaches the level in 1.2 m of water, and not in the 1.4 m that its ± allows.
    assert set(result.flags) == {"held-back", "level-not-reached", "leader-short", "skates"}


@pytest.mark.slow
def test_a_heavy_point_in_thin_water_lies_on_the_bed() -> None:
    shallow = replace(RIVER, depth=Measured(0.4, 0.02))
    lump = RigFly("lump", Measured(0.6, 0.0), Measured(2e-2, 0.0))
    result = drift(Rig(Tackle(0.15e-3, 1.0, (0.4,)), (POINT, lump)), shallow, 8.0, draws=50)
    assert result.share_on_bed > 0.5
    assert "mostly-grounded" in result.flags
    assert "point-slower" in drift(Rig(RIG.tackle, (POINT, DROPPER)), RIVER, 8.0, draws=0).flags


@pytest.mark.parametrize(
    ("speed", "weight", "odd"),
    [
        (0.3, 2e-3, False),
        (0.3, 2e-2, True),  # 2 g typed for 0.2 g
        (0.3, 2e-5, True),  # 0.02 mN typed for 2 mN
        (0.08, 2.5e-4, False),
        (0.9, 1.2e-3, False),  # hardly more than a bare bead: 2 x 1.2e-3 / (1000 x 0.81) = 3e-6 m2
    ],
)
def test_numbers_that_are_not_those_of_a_fly_are_told(speed: float, weight: float, odd: bool) -> None:
    fly = RigFly("typed", Measured(speed, 0.0), Measured(weight, 0.0))
    assert ("unlike-a-fly" in drift(Rig(Tackle(0.15e-3, 2.0), (fly,)), RIVER, 0.5, draws=0).flags) is odd


def test_a_leader_that_cannot_reach_says_so() -> None:
    deep = replace(RIVER, depth=Measured(2.5, 0.1))
    assert "leader-short" in drift(RIG, deep, 5.0, draws=0).flags
    # 2 m of leader reach 0.2 m above a bed at 2.1 m, but not above one at 2.3 m, which ± 0.2 m allows.
    for doubt, short in ((0.1, True), (0.02, False)):
        water = replace(RIVER, depth=Measured(2.1, doubt))
        assert ("leader-short" in drift(RIG, water, 5.0, draws=0).flags) is short


@pytest.mark.parametrize(("share", "flag"), [(0.6, "held-back"), (0.8, None), (1.0, None), (1.1, "led-fast")])
def test_a_line_that_is_led_too_slowly_or_too_fast_is_told(share: float, flag: str | None) -> None:
    lead = share * RIVER.surface_speed.value
    for hold, tip in ((Hold.LED, None), (Hold.TIGHT, 1.5)):
        rig = Rig(Tackle(0.15e-3, 4.0, hold=hold, lead_speed=lead, tip_height=tip), (POINT,))
        raised = set(rig_flags(rig, RIVER, Goal())) & {"held-back", "led-fast"}
        assert raised == ({flag} if flag else set())


def test_every_flag_is_explained() -> None:
    for flag in FLAGS.values():
        assert flag.meaning.endswith(".")
        assert flag.cure.endswith(".")


def test_impossible_drifts_are_refused() -> None:
    for make, message in (
        (
            lambda: drift(RIG, RIVER, 0.0),
            "seconds: 0 is outside 0.5 to 60 s. Give the length of a drift, such as 8 s.",
        ),
        (
            lambda: drift(RIG, RIVER, 5.0, draws=-1),
            "draws: -1 is outside 0 to 4000. Give a number such as 200: a share is then good to about 0.03 (k = 1).",
        ),
        (
            lambda: drift(RIG, RIVER, 5.0, goal=Goal(FishLevel(0.3, 0.2))),
            "level: 0.3 to 0.2 m above the stones is not a level in 1.194 m of water. Give two heights from 0 up, the "
            "lower first.",
        ),
    ):
        with pytest.raises(BadValueError) as refused:
            make()
        assert str(refused.value) == message
