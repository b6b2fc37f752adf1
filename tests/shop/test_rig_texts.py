"""Water, tackle, flies and goal as typed: what they become, and that what cannot be is refused in the words typed."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from flybench.errors import BadValueError
from flybench.rig.odds.goal import Goal
from flybench.rig.water.level import FishLevel
from flybench.shop.river.goal_texts import goal_from
from flybench.shop.river.goal_words import goal_words
from flybench.shop.river.rig_texts import RigTexts, current_from, level_from
from flybench.shop.river.tackle_texts import tackle_from
from flybench.shop.river.typed_flies import is_typed_fly, typed_fly

WATER = {"depth": "1.0 m", "surface_speed": "0.6 m/s", "bed": "gravel"}


def texts(**given: object) -> RigTexts:
    return RigTexts(**{**WATER, **given})  # type: ignore[arg-type]


def wanted(**given: object) -> Goal:
    return goal_from(texts(**given), current_from(texts()))


def refused(make: Callable[[], object]) -> str:
    with pytest.raises(BadValueError) as error:
        make()
    return str(error.value)


def test_what_comes_without_its_doubt_gets_the_usual_one() -> None:
    water = current_from(texts())
    assert (water.depth.value, water.depth.standard_uncertainty) == (1.0, 0.1)
    assert water.surface_speed.standard_uncertainty == pytest.approx(0.06)
    assert water.temperature == pytest.approx(283.15)
    # ± is the expanded uncertainty, k = 2.
    assert current_from(texts(depth="1 m +- 10 cm")).depth.standard_uncertainty == pytest.approx(0.05)
    assert typed_fly("30 cm/s, 2 mN", "--point", "point").speed.standard_uncertainty == pytest.approx(0.015)
    on_a_scale = typed_fly("30 cm/s, 0.2 g +- 0.01 g", "--point", "point").weight
    # 1 kgf = 9.80665 N (standard gravity, 3rd CGPM 1901)
    assert on_a_scale.value == pytest.approx(1.96133e-3)
    assert on_a_scale.standard_uncertainty == pytest.approx(0.0490e-3, rel=1e-3)
    exact = typed_fly("30 cm/s +- 1 cm/s, 2 mN +- 0.1 mN", "--point", "point")
    assert exact.speed.standard_uncertainty == pytest.approx(0.005)
    assert (exact.weight.value, exact.weight.standard_uncertainty) == pytest.approx((2e-3, 5e-5))


def test_stones_and_roughness_get_doubts_of_their_own() -> None:
    stones = current_from(texts(bed=None, d84="5 cm")).bed
    # 30 % of the size, with the bed law's 0.5, in squares.
    assert (stones.roughness, stones.doubt) == (pytest.approx(0.005), pytest.approx((0.3**2 + 0.5**2) ** 0.5))
    rough = current_from(texts(bed=None, z0="5 mm")).bed
    assert (rough.roughness, rough.doubt) == (0.005, pytest.approx(0.5))


def test_a_float_stands_for_the_surface_speed() -> None:
    water = current_from(
        texts(surface_speed=None, float_distance="5 m", float_times=("10 s", "10 s", "10 s"))
    )
    assert water.surface_speed.value == 0.5
    # 2 % of the distance; 0.15 s a press, two presses, three floats.
    doubt = (0.02**2 + (2**0.5 * 0.15 / 3**0.5 / 10) ** 2) ** 0.5
    assert water.surface_speed.standard_uncertainty == pytest.approx(0.5 * doubt)


def test_levels_are_heights_above_the_stones() -> None:
    water = current_from(texts())  # tops of gravel: 0.2 x 3 cm
    assert level_from("near-bottom", water) == FishLevel(0.0, 0.2)
    middle = level_from("mid", water)
    assert (middle.low, middle.high) == (pytest.approx(0.4 * 0.994), pytest.approx(0.6 * 0.994))
    at = level_from("60 cm", water)
    assert (at.low, at.high) == (pytest.approx(0.294), pytest.approx(0.494))
    shallow = current_from(texts(depth="15 cm"))
    assert level_from("near-bottom", shallow).high == shallow.floor
    assert level_from("10 cm", shallow).low == 0.0


def test_droppers_hang_where_they_usually_do() -> None:
    assert tackle_from(texts(), 0).gaps == ()
    assert tackle_from(texts(), 1).gaps == (0.5,)
    assert tackle_from(texts(), 2).gaps == (1.0, 0.5)
    assert tackle_from(texts(dropper_gap="90 cm, 16 in"), 2).gaps == (0.9, pytest.approx(16 * 0.0254))


def test_a_change_of_hold_drops_the_lead_speed() -> None:
    led = texts(hold="led", lead_speed="0.4 m/s")
    assert tackle_from(led, 0).lead_speed == 0.4
    assert led.changed({"hold": "still"}).lead_speed is None
    assert led.changed({"lead-speed": "0.5 m/s"}).lead_speed == "0.5 m/s"


def test_codes_are_told_from_typed_flies() -> None:
    assert is_typed_fly("30 cm/s, 2 mN")
    assert is_typed_fly("-3 cm/s, 2 mN")
    assert not is_typed_fly("M1")
    assert not is_typed_fly("28-14 olive")


LEVEL = FishLevel(0.0, 0.2)
SURFACE = "Time a float over a known distance; the surface of water that is fished runs 0.1 to 1.5 m/s."


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"depth": ""}, '--depth: is missing. Give the depth of the water, such as --depth "1.2 m".'),
        (
            {"depth": "0 m"},
            "--depth: 0 m is outside 0.1 to 6 m. Measure the depth with the wading staff.",
        ),
        (
            {"depth": "25 ft"},
            "--depth: 25 ft is outside 0.3281 to 19.68 ft. Measure the depth with the wading staff.",
        ),
        ({"depth": "1,2 m"}, '--depth: "1,2 m" has a comma. Write "1.2 m", with a decimal point.'),
        ({"depth": "1"}, '--depth: "1" has no unit. Write it with its unit, for example "1.2 m".'),
        (
            {"depth": "1 m +- 1.2 m"},
            '--depth: "1 m +- 1.2 m" says next to nothing. Measure it again: its ± may be no larger than the value itself.',
        ),
        ({"surface_speed": "9 m/s"}, f"--surface-speed: 9 m/s is outside 0.02 to 3 m/s. {SURFACE}"),
        (
            {"surface_speed": None},
            '--surface-speed: is missing. Give --surface-speed "0.6 m/s", or time a float: --float-distance "5 m" '
            '--float-time "8.2 s".',
        ),
        (
            {"float_distance": "5 m"},
            "--surface-speed: is given beside the times of a float. Give either --surface-speed, or --float-distance with "
            "--float-time.",
        ),
        (
            {"surface_speed": None, "float_distance": "5 m"},
            '--float-time: is missing. Time a float over the distance, better three times: --float-time "8.2 s" '
            '--float-time "8.6 s".',
        ),
        (
            {"surface_speed": None, "float_distance": "20 cm", "float_times": ("3 s",)},
            "--float-distance: 20 cm is outside 50 to 10000 cm. Pace off 3 to 10 m of even water.",
        ),
        (
            {"surface_speed": None, "float_distance": "5 m", "float_times": ("0.5 s",)},
            "--float-time: 0.5 s is outside 1 to 300 s. Choose a distance that takes the float 5 to 60 s.",
        ),
        (
            {"surface_speed": None, "float_distance": "5 m", "float_times": ("8",)},
            '--float-time: "8" has no unit. Write it with its unit, for example "8.2 s".',
        ),
        (
            {"surface_speed": None, "float_distance": "0.5 m", "float_times": ("300 s",)},
            "--float-time: 0.00166667 is outside 0.02 to 3 m/s. Check distance and times.",
        ),
        (
            {"d84": "5 cm"},
            "--d84: is given beside --bed. Give only one of --bed, --d84 and --z0.",
        ),
        (
            {"bed": None, "d84": "2 m"},
            "--d84: 2 m is outside 0.0001 to 1 m. Give the size that 84 of 100 stones are smaller than.",
        ),
        (
            {"bed": None, "z0": "20 cm"},
            "--z0: 20 cm is outside 0.001 to 10 cm. Give about a tenth of the size of the larger stones.",
        ),
        (
            {"depth": "30 cm", "bed": "boulder"},
            "--bed: stones of 35 cm stand out of water that is 30 cm deep. Choose deeper water or smaller stones: no law "
            "covers this.",
        ),
        (
            {"temperature": "90 degC"},
            "--temperature: 90 degC is outside 0 to 40 degC. Give the temperature of the river.",
        ),
        ({"temperature": "18 C"}, '--temperature: "18 C" has the unknown unit "C". Write "18 degC".'),
    ],
)
def test_water_that_cannot_be_is_refused(given: dict[str, object], message: str) -> None:
    assert refused(lambda: current_from(texts(**given))) == message


@pytest.mark.parametrize(
    ("given", "droppers", "message"),
    [
        (
            {"leader_length": "9 m"},
            0,
            "--leader-length: 9 m is outside 0.3 to 6 m. Count from where the line enters the water to the point.",
        ),
        (
            {"leader_diameter": "1.2 in"},
            0,
            '--leader-diameter: "1.2 in" is 30.48 mm, outside 0.05 to 0.6 mm. Give the diameter of the leader or tippet.',
        ),
        (
            {"dropper_gap": "3 m"},
            1,
            "--dropper-gap: 3 m is outside 0.05 to 1.95 m. The leader is 2 m long in the water: tie the dropper within it.",
        ),
        (
            {"dropper_gap": "0,5 m"},
            1,
            '--dropper-gap: "0,5 m" has a comma. Write "0.5 m", with a decimal point.',
        ),
        (
            {"dropper_gap": "0.5 m"},
            2,
            '--dropper-gap: "0.5 m" does not hold as many distances as there are droppers (2). Give one for each, the '
            'upper first, such as "1.0 m, 0.5 m".',
        ),
        (
            {"dropper_gap": "0.4 m, 0.8 m"},
            2,
            '--dropper-gap: "0.4 m, 0.8 m" does not name the upper dropper first. Give the upper one first, at least 5 cm '
            "above the other.",
        ),
        (
            {"hold": "led"},
            0,
            '--lead-speed: is missing for a line that is led. Give it, such as --lead-speed "0.5 m/s"; about 0.8 of the '
            "surface speed is good.",
        ),
        (
            {"lead_speed": "0.4 m/s"},
            0,
            '--lead-speed: "0.4 m/s" is given, but the line is floating, not led. Leave it out, or add --hold led.',
        ),
        (
            {"hold": "led", "lead_speed": "9 ft/s"},
            0,
            None,
        ),
        (
            {"hold": "led", "lead_speed": "12 ft/s"},
            0,
            "--lead-speed: 12 ft/s is outside 0 to 9.842 ft/s. Lead at about 0.8 of the surface speed.",
        ),
        ({"hold": "loose"}, 0, '--hold: "loose" is not known. Use one of floating, led, still, tight.'),
        ({"entry": "wild"}, 0, '--entry: "wild" is not known. Use one of flat, steep.'),
        (
            {"leader_material": "gut"},
            0,
            '--leader-material: "gut" is not known. Use one of nylon, fluorocarbon.',
        ),
        (
            {"slack": "1.5"},
            0,
            "--slack: 1.5 is outside 0 to 0.97. Give the share of the leader that lies loose: 0 for a straight leader.",
        ),
        (
            {"entry_speed": "20 m/s"},
            0,
            "--entry-speed: 20 m/s is outside 0 to 10 m/s. Give how fast the flies go down as they enter the water.",
        ),
    ],
)
def test_tackle_that_cannot_be_is_refused(
    given: dict[str, object], droppers: int, message: str | None
) -> None:
    if message is None:
        assert tackle_from(texts(**given), droppers).lead_speed == pytest.approx(9 * 0.3048)
    else:
        assert refused(lambda: tackle_from(texts(**given), droppers)) == message


SINKS = "A fly on a rig must sink: give how fast it sinks in still water, such as 30 cm/s."
WEIGHS = "A fly on a rig must sink: give its weight in water, such as 2.0 mN."


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: level_from("2 m", current_from(texts())),
            '--level: "2 m" is not between the surface and the tops of the stones, which lie 0.994 m deep. Give '
            "near-bottom, mid, or a depth in this water.",
        ),
        (
            lambda: level_from("bottom", current_from(texts()), "--dropper-level"),
            '--dropper-level: "bottom" is not known. Give near-bottom, mid, or a depth such as "0.6 m".',
        ),
        (
            lambda: typed_fly("-3 cm/s, 2 mN", "--point", "point"),
            f"--point: -3 cm/s is outside 2 to 200 cm/s. {SINKS}",
        ),
        (
            lambda: typed_fly("30 cm/s, -2 mN", "--point", "point"),
            f"--point: -2 mN is outside 0.02 to 100 mN. {WEIGHS}",
        ),
        (
            lambda: typed_fly("30 cm/s, 0 g", "--point", "point"),
            f"--point: 0 g is outside 0.00204 to 10.19 g. {WEIGHS}",
        ),
        (
            lambda: typed_fly("30 cm/s, 2", "--dropper", "dropper"),
            '--dropper: "2" has no unit. Write it with its unit, for example "2.0 mN".',
        ),
        (
            lambda: typed_fly("30, 2 mN", "--point", "point"),
            '--point: "30" has no unit. Write it with its unit, for example "30 cm/s".',
        ),
        (
            lambda: typed_fly("0,3 m/s, 2,0 mN", "--point", "point"),
            '--point: "0,3 m/s" has a comma. Write "0.3 m/s", with a decimal point.',
        ),
        (
            lambda: wanted(stretch="50 m"),
            "--stretch: 50 m is outside 0.2 to 20 m. Give the way along which the fish lie, such as 1 m for one stone.",
        ),
        (
            lambda: wanted(farthest="40 m"),
            "--farthest: 40 m is outside 0.5 to 30 m. Give how far upstream of the fish you can land the flies and still "
            "fish them.",
        ),
        (
            lambda: wanted(bed_cost="-1"),
            "--bed-cost: -1 is outside 0 to 10. Give 1 to 2, more where the bed holds snags, 0 for none.",
        ),
        (
            lambda: wanted(in_time="80"),
            "--in-time: 80 is outside 0 to 1. Give a share, such as 0.8 for four drifts of five.",
        ),
        (
            lambda: wanted(dropper_worth="11"),
            "--dropper-worth: 11 is outside 0 to 10. Give 1 where it counts as much as the point.",
        ),
        (
            lambda: wanted(point_worth="11"),
            "--point-worth: 11 is outside 0 to 10. Give 1, or 0 where the point is only a weight.",
        ),
        (
            lambda: wanted(touches="often"),
            '--touches: "often" does not say how many of 10 drifts should touch the bed. Give a number from 0 to 10, such '
            "as 3.",
        ),
        (
            lambda: wanted(touches="11"),
            '--touches: "11" does not say how many of 10 drifts should touch the bed. Give a number from 0 to 10, such as '
            "3.",
        ),
        (
            lambda: texts().changed({"colour": "red"}),
            '--with: there is no option "colour" that can be changed. Name point, dropper, or one of depth, surface-speed, '
            "float-distance, temperature, bed, d84, z0, leader-diameter, leader-length, dropper-gap, dropper-tag, "
            "leader-material, leader, hold, lead-speed, tip-height, entry, entry-angle, slack, entry-speed, level, "
            "dropper-level, touches, in-time, stretch, farthest, bed-cost, point-worth, dropper-worth.",
        ),
    ],
)
def test_levels_flies_and_goals_that_cannot_be_are_refused(make: Callable[[], object], message: str) -> None:
    assert refused(make) == message


def test_what_is_wanted_is_what_was_typed() -> None:
    usual = goal_from(texts(), current_from(texts()))
    assert usual == Goal()
    typed = {
        "touches": "4 of 10",
        "in_time": "0.9",
        "stretch": "50 cm",
        "bed_cost": "2",
        "dropper_level": "mid",
    }
    found = wanted(**typed, point_worth="0.5", dropper_worth="1", farthest="4 m")
    assert (found.touches, found.down, found.stretch, found.bed_cost) == (0.4, 0.9, 0.5, 2.0)
    assert (found.point_worth, found.dropper_worth, found.farthest) == (0.5, 1.0, 4.0)
    assert found.dropper_level == level_from("mid", current_from(texts()))


def test_away_from_the_bottom_no_touches_are_wanted_unless_they_are_asked_for() -> None:
    assert wanted(level="mid").touches == 0.0
    assert wanted(level="mid", touches="2").touches == 0.2


def test_a_goal_in_words() -> None:
    assert goal_words(Goal()) == (
        "Wanted: flies that are down with the fish in 8 of 10 drifts, touches of the bottom in 3 of 10 drifts, and much time "
        "with the fish along 2 m."
    )
    assert "with the fish in nearly every drift, no touches of the bottom," in goal_words(
        Goal(touches=0.0, down=1.0)
    )
