"""Which of two things that fall in step is the fly: shadows thrown by rays and seen by a pinhole, and flies let go by hand.

A lamp, a fly and a wall give the shadow by a straight ray; the camera sees both through one point (central projection).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from clips import result_of
from numpy.typing import NDArray
from tankview.scene import Drop as Dropped
from tankview.simple import clean_scene

from flybench.bench.track.companions import without_companions
from flybench.bench.track.drop import Drop

Floats = NDArray[np.float64]
CAMERA, WALL = 0.50, 0.05
"""From the fall to the camera, and to the wall behind it [m]."""
SUN = (-2.0, -4.0, -10.0)
"""A lamp far away, in front, above and to the left of the fall: across, down, away from the camera [m]."""
NEAR_LAMP = (0.0, -0.3, -0.25)
"""A lamp nearer than the camera, above the tank [m]."""
STEP = "kept step with the fly (its shadow or reflection)"


@dataclass(frozen=True)
class Look:
    """How a thing shows: contrast [grey levels], area [px]."""

    contrast: float
    area: float


PALE, DARK, SHADE = Look(-26.0, 37.0), Look(-120.0, 200.0), Look(-45.0, 250.0)


def way(begin: float = 0.3, speed: float = 0.27, wander: float = 0.0, seed: int = 1) -> tuple[Floats, Floats]:
    """Return instants [s] and places [m] of a fall of 0.9 s, 60 frames a second, that rocks to both sides."""
    rng = np.random.default_rng(seed)
    t = np.arange(np.ceil(begin * 60), np.floor((begin + 0.9) * 60)) / 60
    rock = wander * np.sin(2 * np.pi * (t - begin) * rng.uniform(1.5, 3.0) + rng.uniform(0, 6.28))
    return t, np.column_stack([rock, speed * (t - begin) - 0.11])


def thrown(places: Floats, lamp: tuple[float, float, float]) -> Floats:
    """Return where the camera sees the shadow that a lamp throws on the wall, on the plane of the fall [m]."""
    light = np.array(lamp)
    fly = np.column_stack([places, np.zeros(len(places))])
    on_wall = light + (fly - light) * (WALL - light[2]) / -light[2]
    return on_wall[:, :2] * CAMERA / (CAMERA + WALL)


def seen(times: Floats, places: Floats, look: Look, seed: int) -> Drop:
    """Return what is read of a way to 0.05 mm, before a ground of 180 grey levels."""
    read = places + 5e-5 * np.random.default_rng(seed).normal(size=places.shape)
    rows = np.arange(len(times)) + 1000 * seed
    return Drop(
        rows, times, read, look.contrast, look.area, 0.01, 0.003, np.zeros(len(times)), False, ground=180.0
    )


def shaded(
    look: Look,
    lamp: tuple[float, float, float],
    shade: Look = SHADE,
    *,
    begin: float = 0.3,
    wander: float = 0.0,
) -> list[Drop]:
    """Return a fly and its shadow."""
    times, places = way(begin, wander=wander, seed=int(10 * begin))
    number = int(100 * begin)
    return [seen(times, thrown(places, lamp), shade, number), seen(times, places, look, number + 1)]


def speed(drop: Drop) -> float:
    """Return the mean speed [m/s]."""
    return float(np.polyfit(drop.times, drop.places[:, 1], 1)[0])


def kept(*drops: Drop) -> tuple[list[Drop], Counter[str]]:
    """Return the flies, and why the rest is none."""
    left_out: Counter[str] = Counter()
    return without_companions(list(drops), left_out), left_out


@pytest.mark.parametrize("look", [PALE, DARK, Look(-50.0, 240.0)])
def test_a_shadow_is_never_the_fly_however_pale_that_is(look: Look) -> None:
    """It falls at 0.91 of the speed: by the pinhole 0.50 / 0.55, and next to nothing by rays of a lamp so far away."""
    flies, left_out = kept(*shaded(look, SUN), *shaded(look, SUN, begin=2.0))
    assert [(fly.contrast, fly.together, fly.shadow_doubt) for fly in flies] == [
        (look.contrast, False, 0.0)
    ] * 2
    assert [speed(fly) for fly in flies] == pytest.approx([0.27, 0.27], rel=0.002)
    assert left_out == {STEP: 2}


@pytest.mark.parametrize("look", [PALE, Look(-50.0, 240.0)])
def test_one_fall_is_enough_where_both_rock_alike(look: Look) -> None:
    flies, left_out = kept(*shaded(look, SUN, wander=0.001))
    assert [(fly.contrast, fly.together, fly.shadow_doubt) for fly in flies] == [(look.contrast, False, 0.0)]
    assert left_out == {STEP: 1}


def test_a_shadow_with_a_piece_of_its_own_is_no_fly() -> None:
    """The piece keeps step with the shadow at one speed and is fainter, in both falls, as a reflection is beside a fly."""
    drops = []
    for begin in (0.3, 2.0):
        times, places = way(begin, seed=int(10 * begin))
        beside = 0.998 * thrown(places, SUN)[:40] + np.array([0.004, 0.002])
        drops += [
            *shaded(PALE, SUN, begin=begin),
            seen(times[:40], beside, Look(-19.0, 20.0), int(9 * begin)),
        ]
    flies, left_out = kept(*drops)
    assert [fly.contrast for fly in flies] == [PALE.contrast] * 2
    assert [speed(fly) for fly in flies] == pytest.approx([0.27, 0.27], rel=0.002)
    assert sum(left_out.values()) == 4


def test_a_straight_fall_of_one_clip_tells_not_which_is_the_fly() -> None:
    """Nothing proves that the plainer one is a shadow: it is kept, and open to the speed of the other."""
    flies, _ = kept(*shaded(PALE, SUN))
    assert len(flies) == 1
    assert speed(flies[0]) * (1 + flies[0].shadow_doubt) == pytest.approx(0.27, rel=0.002)
    assert flies[0].shadow_doubt > 0.08


def test_a_near_lamp_throws_a_shadow_that_is_faster_than_the_fly() -> None:
    """By its rays 0.30 / 0.25, by the pinhole 0.50 / 0.55: 1.09. A fly too dark for a shadow is told, another is not."""
    both = [one for begin in (0.3, 2.0) for one in shaded(DARK, NEAR_LAMP, begin=begin)]
    assert speed(both[0]) / speed(both[1]) == pytest.approx(1.2 / 1.1, rel=0.002)
    flies, _ = kept(*both)
    assert [(fly.contrast, fly.shadow_doubt) for fly in flies] == [(DARK.contrast, 0.0)] * 2
    flies, _ = kept(
        *(one for begin in (0.3, 2.0) for one in shaded(Look(-60.0, 260.0), NEAR_LAMP, begin=begin))
    )
    assert [speed(fly) * (1 - fly.shadow_doubt) for fly in flies] == pytest.approx([0.27, 0.27], rel=0.002)
    assert all(fly.shadow_doubt > 0.08 for fly in flies)


@pytest.mark.parametrize("wander", [0.0, 0.001])
def test_flies_let_go_by_hand_are_two(wander: float) -> None:
    """Two of one kind, 20 mm apart, the second one 30 ms and then 60 ms later: each rocks in its own way."""
    drops = []
    for number, (begin, later) in enumerate(((0.3, 0.03), (2.0, 0.06))):
        for side, start in enumerate((begin, begin + later)):
            times, places = way(start, 0.27 * (1 - 0.02 * side), wander, seed=10 * number + side)
            drops.append(seen(times, places + np.array([0.02 * side, 0.0]), DARK, 2 * number + side + 1))
    assert [drop.together for drop in kept(*drops)[0]] == [True] * 4


def test_what_rocks_alike_in_one_fall_only_is_a_second_fly() -> None:
    """A shadow would show in the other falls as well."""
    alone = seen(*way(2.0), Look(-50.0, 240.0), 9)
    flies, _ = kept(*shaded(Look(-50.0, 240.0), SUN, wander=0.001), alone)
    assert [fly.together for fly in flies] == [True, True, False]


@pytest.mark.slow
def test_interval_of_a_shadow_that_cannot_be_told_holds_the_fly(folder: Path) -> None:
    """A pale fly falls once and straight, before its strong shadow on a card 35 mm behind."""
    pale = {"body_level": 200.0, "bead_level": 196.0, "shine": 215.0, "hackle_level": 200.0}
    result, truth = result_of(
        clean_scene(
            drops=(Dropped(start=0.3, terminal_speed=0.27, response_time=0.05),),
            duration=1.9,
            card__gap=0.035,
            camera__distance=0.45,
            camera__focal_px=1500.0,
            encoding__preset="ultrafast",
            extras__shadow=0.5,
            **{f"fly__{key}": level for key, level in pale.items()},
        ),
        folder,
    )
    assert "shadow-or-fly" in result.all_flags
    assert result.verdict == "usable"
    assert result.sink_speed is not None
    assert result.standard_uncertainty is not None
    assert abs(result.sink_speed - truth.sink_speed_m_s) < 2 * result.standard_uncertainty
    assert "shadow taken for the fly" in {line.source for line in result.budget}
