"""The plan follows its laws, its bound is the true bound of the fit, it keeps its word, and it says no where it must."""

from __future__ import annotations

import functools
import json
import math
from dataclasses import replace

import numpy as np
import pytest
from console import flybench
from numpy.typing import NDArray
from scipy.optimize import least_squares

from flybench.bench.fit.drop_pooling import pool_drops
from flybench.bench.fit.fall import fit_fall
from flybench.bench.fit.fall_model import answer, bound, bound_per_noise, depth_of, frame_times, from_rest
from flybench.bench.plan import search as planning
from flybench.bench.plan import terms as planning_terms
from flybench.bench.plan.asked import read_goal
from flybench.bench.plan.set_up import CARD_HEIGHT, MARGIN, SIDES, SQUARE_PX, BenchSetUp
from flybench.bench.plan.terms import TRACKING_NOISE, WANDER, WANDER_LENGTH, PlanGoal
from flybench.bench.sheet.settings import Settings, TankSettings
from flybench.bench.verdict.free_water import free_water
from flybench.errors import BadValueError
from flybench.hydraulics import falling_body as falling
from flybench.telling.bench import plan as telling

Floats = NDArray[np.float64]
WISH = PlanGoal(speed=0.3, precision=0.02, response_time=0.061)
plan = functools.cache(planning.plan)
PRECISIONS = (0.05, 0.03, 0.02, 0.015, 0.01, 0.001)


def fly(speed: float, **rest: float | bool) -> PlanGoal:
    """Return the wish for a fly 2.5 times as dense as water."""
    return replace(WISH, speed=speed, response_time=float(falling.response_time(speed, 2.5)), **rest)


# The bound


@pytest.mark.parametrize(
    ("count", "interval", "noise"), [(30, 1 / 30, 1e-3), (120, 1 / 120, 5e-4), (10, 0.1, 1e-3)]
)
def test_two_values_alone_have_the_bound_of_a_slope(count: int, interval: float, noise: float) -> None:
    """12 sigma^2 / (dt^2 N (N^2 - 1)), the standard bound of a slope (Kay 1993, from memory)."""
    times = 5.0 + np.arange(count) * interval
    settled = np.array([0.3, math.log(1e-3), 0.3, 0.0])
    slope = math.sqrt(12 * noise**2 / (interval**2 * count * (count**2 - 1)))
    assert bound(times, settled, noise, (0, 3)) < slope * (1 + 1e-3)
    late = settled + np.array([0.0, math.log(1e-6), 0.0, 0.0])
    assert bound(times, late, noise, (0, 3)) == pytest.approx(slope, rel=1e-6)


def test_each_free_value_costs_precision() -> None:
    times = frame_times(0.3, 120, 0.6, 0.12)
    bounds = [bound(times, from_rest(0.6, 0.12), 1e-4, (0, 3, 1, 2)[:count]) for count in (1, 2, 3, 4)]
    assert bounds == sorted(bounds)
    assert bounds[3] > 1.5 * bounds[1]


def test_too_few_frames_bound_nothing() -> None:
    assert bound(np.arange(4) / 60, from_rest(0.3, 0.06), 1e-4) == math.inf


def test_bound_is_the_root_of_the_inverse_information() -> None:
    times, values = frame_times(0.4, 60, 0.4, 0.1), from_rest(0.4, 0.1)
    row = answer(values, times, 0.0)
    assert bound(times, values, 2e-4) == pytest.approx(2e-4 * np.linalg.norm(row), rel=1e-6)


def test_bound_is_reached_by_least_squares() -> None:
    speed, response, noise, count = 0.6, 0.12, 2e-4, 400
    times, truth = frame_times(0.35, 120, speed, response), from_rest(speed, response)
    rng = np.random.default_rng(5)
    found = []
    for _ in range(count):
        seen = depth_of(truth, times) + rng.normal(0, noise, len(times))
        start = truth + np.array([0.0, 0.0, 0.05, 0.0])
        fit = least_squares(lambda p, seen=seen: (depth_of(p, times) - seen) / noise, start)
        found.append(fit.x[0])
    scatter = float(np.std(found, ddof=1))
    expected = noise * bound_per_noise(0.35, 120, speed, response)
    assert scatter / expected == pytest.approx(1, abs=3.5 / math.sqrt(2 * count))


def test_frames_stop_at_the_bottom() -> None:
    times = frame_times(0.3, 240, 0.5, 0.1)
    depths = falling.depth(np.append(times, times[-1] + 1 / 240), 0.5, 0.1)
    assert depths[-2] <= 0.3 < depths[-1]


# The terms


@pytest.mark.parametrize("share", [0.95, 0.99])
def test_settling_depth_is_the_closed_form(share: float) -> None:
    closed = -WISH.speed * WISH.response_time * math.log(1 - share**2) / 2
    assert WISH.settling_depth(share) == pytest.approx(closed, rel=1e-9)


def test_the_cards_place_is_the_derivative_of_the_carried_scale() -> None:
    def carried(gap: float, distance: float, depth: float) -> float:
        apparent = distance + depth / WISH.index
        return math.log(apparent / (apparent + gap / WISH.index))

    at, step, typed = np.array([0.05, 0.5, 0.1]), 1e-6, 0.0015
    slopes = [(carried(*(at + h)) - carried(*(at - h))) / (2 * step) for h in np.diag([step] * 3)]
    found = planning_terms.place_shares(WISH, *at)
    assert found == pytest.approx([typed * abs(slope) for slope in slopes], rel=1e-5)


def test_a_closer_card_does_not_make_the_gap_surer_and_a_farther_camera_does() -> None:
    near, far = (planning_terms.place_shares(WISH, gap, 0.4, 0.1)[0] for gap in (0.01, 0.02))
    assert near == pytest.approx(far, rel=0.03)
    assert planning_terms.place_shares(WISH, 0.01, 0.9, 0.1)[0] < near / 1.9


def test_walls_are_the_measurements_own() -> None:
    free = free_water(Settings(291.15, tank=TankSettings(width=0.2, depth=0.2)), 0.3, 0.0, 0.006)
    assert free is not None
    assert planning_terms.wall_share(WISH, 0.2) == free.uncertainty / free.speed
    assert planning_terms.wall_share(WISH, 0.02) == math.inf


@pytest.mark.parametrize("drops", [3, 6, 12])
def test_planned_spread_is_what_nine_runs_of_ten_stay_under(drops: int) -> None:
    rng = np.random.default_rng(drops)
    within, between = planning_terms.drop_shares(0.015, 0.001, drops)
    runs = [
        pool_drops(1 + math.hypot(0.015, 0.001) * rng.normal(size=drops), np.full(drops, 0.001))
        for _ in range(2000)
    ]
    assert np.mean(
        [run.standard_uncertainty <= math.hypot(within, between) for run in runs]
    ) == pytest.approx(0.9, abs=0.03)


# The plan's laws


def test_faster_fly_needs_a_taller_column() -> None:
    columns = [plan(fly(speed, frame_rate=240.0)).column for speed in (0.1, 0.3, 0.6, 1.0, 1.4)]
    assert columns == sorted(columns)
    assert columns[-1] > 2 * columns[0]


def test_longer_response_needs_a_taller_column() -> None:
    columns = [plan(replace(WISH, response_time=time)).column for time in (0.06, 0.2, 0.3, 0.5)]
    assert columns == sorted(columns)
    assert columns[-1] > columns[-2] > columns[0]


@pytest.mark.parametrize("speed", [0.15, 0.3, 0.5, 0.8, 1.2])
def test_finer_precision_needs_no_fewer_drops_and_no_nearer_camera(speed: float) -> None:
    """In one tank: a wider one holds the fly deeper, which takes from the farthest camera distance."""
    plans = [plan(fly(speed, precision=precision, tank_width=0.2)) for precision in PRECISIONS]
    for what in ("drops", "distance"):
        values = [getattr(one, what) for one in plans]
        assert values == sorted(values), what
        assert values[-1] > values[0], what


def test_finer_precision_and_wider_fly_need_a_wider_tank() -> None:
    for wishes in (
        [replace(WISH, precision=precision) for precision in PRECISIONS],
        [replace(WISH, fly_width=width) for width in (0.003, 0.006, 0.008, 0.010)],
    ):
        tanks = [plan(wish).tank for wish in wishes]
        assert tanks == sorted(tanks)
        assert tanks[-1] > tanks[0]


@pytest.mark.parametrize("speed", [0.05, 0.15, 0.3, 0.5, 0.8, 1.2])
@pytest.mark.parametrize("precision", PRECISIONS)
def test_every_advice_is_practical(speed: float, precision: float) -> None:
    one = plan(fly(speed, precision=precision))
    assert 0.010 <= one.gap <= 0.020
    assert 0.3 <= one.distance <= 1.5
    assert 0.18 <= one.tank <= 0.3
    assert CARD_HEIGHT <= one.column <= 1.0
    assert 3 <= one.drops <= 12
    assert one.frame_rate in planning.FRAME_RATES
    assert one.square_px >= SQUARE_PX - 1e-6
    assert one.picture >= MARGIN * one.column - 1e-9
    assert one.card_picture * SIDES >= MARGIN * 0.16
    assert one.settled_frames >= planning.SETTLED_FRAMES - 1e-9
    assert one.meets is (one.wanted <= precision)


def test_the_camera_stands_as_near_as_the_cards_place_allows() -> None:
    wish = replace(WISH, spread=0.003, precision=0.009)
    allowance = math.sqrt((0.009**2 - 0.003**2 - 0.0002**2) / 4)
    one = planning.set_up(wish, allowance)

    def doubt(distance: float) -> float:
        lines = replace(one, distance=distance).card_lines
        return 2 * math.sqrt(sum(line.standard_uncertainty**2 for line in lines))

    assert one.meets
    assert one.distance > planning.NEAREST
    assert doubt(one.distance) <= allowance < doubt(one.distance - planning.STEP)
    assert plan(wish) == one


def test_drops_are_the_fewest_that_do() -> None:
    one = plan(WISH)
    assert one.meets
    assert not replace(one, drops=one.drops - 1).meets
    assert plan(replace(WISH, spread=0.005)).drops < one.drops


def test_frame_rate_is_the_lowest_that_does() -> None:
    rates = [plan(fly(speed)).frame_rate for speed in (0.05, 0.3, 0.5, 1.0)]
    assert rates == [30, 60, 120, 240]


def test_free_water_asks_for_a_wider_tank_and_in_the_tank_does_not() -> None:
    tank, free = plan(WISH), plan(replace(WISH, free_water=True))
    assert tank.meets
    assert tank.in_free_water > WISH.precision
    assert free.meets
    assert free.in_free_water <= WISH.precision
    assert free.tank > tank.tank


def test_prediction_is_the_root_of_the_squares() -> None:
    one = plan(WISH)
    total = math.sqrt(sum(line.standard_uncertainty**2 for line in one.budget))
    assert one.in_tank == pytest.approx(2 * total)
    assert one.in_free_water == pytest.approx(2 * math.hypot(total, one.walls))


def test_the_best_possible_is_what_can_just_be_met() -> None:
    best = [plan(replace(WISH, precision=precision)) for precision in (0.0005, 0.002, 0.008)]
    assert not any(one.meets for one in best)
    values = [one.wanted for one in best]
    assert max(values) < 1.02 * min(values)
    assert plan(replace(WISH, precision=1.02 * max(values))).meets


def test_fixed_sizes_are_kept_and_judged_as_they_are() -> None:
    own = replace(WISH, frame_rate=120.0, column=0.3, distance=0.5, tank_width=0.25)
    one = plan(own)
    assert (one.frame_rate, one.column, one.distance, one.tank) == (120.0, 0.3, 0.5, 0.25)
    assert one.budget == BenchSetUp(own, 0.25, 0.5, 0.3, 120.0, one.drops).budget
    assert not plan(fly(1.2, column=0.24)).settles
    assert plan(replace(WISH, distance=0.2, column=1.0)).seen < 0.4
    assert not plan(replace(WISH, distance=2.0)).meets
    assert not plan(replace(WISH, tank_width=0.15)).meets


# The plan's own claim


def _track(one: BenchSetUp, speed: float, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Return times and depths of a tracked fall: reading noise, and the wobble of the fly's own wake."""
    wish = one.wish
    times = frame_times(one.column, one.frame_rate, speed, wish.response_time)
    keep = math.exp(-speed / (one.frame_rate * WANDER_LENGTH * wish.fly_width))
    wobble = np.empty(len(times))
    wobble[0] = rng.normal()
    for i in range(1, len(times)):
        wobble[i] = keep * wobble[i - 1] + math.sqrt(1 - keep**2) * rng.normal()
    noise = TRACKING_NOISE * one.pixel * rng.normal(size=len(times))
    depths = falling.depth(times, speed, wish.response_time)
    return times, depths + noise + WANDER * wish.fly_width * wobble


def _run(one: BenchSetUp, rng: np.random.Generator) -> tuple[float, float]:
    """Return a run's relative error and its stated expanded relative uncertainty."""
    wish = one.wish
    shared = [line.standard_uncertainty for line in one.budget[2:]]
    fits = []
    for _ in range(one.drops):
        times, depths = _track(one, wish.speed * (1 + wish.spread * rng.normal()), rng)
        fits.append(fit_fall(times, depths, TRACKING_NOISE * one.pixel))
    pooled = pool_drops(
        np.array([fit.terminal_speed for fit in fits]), np.array([fit.fit_uncertainty for fit in fits])
    )
    error = pooled.value / wish.speed - 1 + float(np.linalg.norm(shared)) * rng.normal()
    return error, 2 * math.hypot(pooled.standard_uncertainty / wish.speed, *shared)


@pytest.mark.parametrize(("speed", "precision"), [(0.3, 0.02), (0.5, 0.03)])
def test_runs_under_the_plan_meet_the_wish(speed: float, precision: float) -> None:
    one = plan(fly(speed, precision=precision))
    assert one.meets
    rng = np.random.default_rng(11)
    errors, stated = np.array([_run(one, rng) for _ in range(60)]).T
    assert np.mean(stated <= precision) >= 0.85
    assert np.mean(np.abs(errors) <= precision) >= 0.85
    assert np.mean(np.abs(errors) <= stated) >= 0.85
    assert np.median(stated) > 0.6 * one.in_tank


# The words and the command


def test_json_numbers_are_those_of_the_plan() -> None:
    one = plan(read_goal({"speed": "30 cm/s", "gap_uncertainty": "2 mm"}))
    machine = json.loads(json.dumps(telling.record(one), allow_nan=False))
    assert machine["met"] is True
    assert machine["relative_expanded_uncertainty_in_tank"] == one.in_tank
    assert machine["relative_expanded_uncertainty_in_free_water"] == one.in_free_water
    assert machine["coverage_factor"] == 2
    assert machine["wish"]["relative_precision"] == 0.02
    assert machine["wish"]["gap_standard_uncertainty_m"] == pytest.approx(0.001)
    assert {a["item"]: a["value"] for a in machine["advice"]} == {
        "column": one.column,
        "tank width": one.tank,
        "frame rate": one.frame_rate,
        "camera distance": one.distance,
        "card (gap)": one.gap,
        "drops": one.drops,
    }
    assert all(a["reason"].endswith(".") and a["numbers"] for a in machine["advice"])
    assert machine["stopped_by"] == machine["warnings"] == []


def test_density_ratio_stands_for_the_response_time() -> None:
    by_ratio = read_goal({"speed": "60 cm/s", "density_ratio": "6"}).response_time
    assert by_ratio == pytest.approx(float(falling.response_time(0.6, 6.0)))
    assert read_goal({"speed": "60 cm/s", "response_time": "60 ms"}).response_time == 0.06
    with pytest.raises(BadValueError) as told:
        read_goal({"speed": "60 cm/s", "response_time": "60 ms", "density_ratio": "6"})
    assert str(told.value) == "--density-ratio: is given together with --response-time. Give one of the two."


def planned(capsys: pytest.CaptureFixture[str], *arguments: str) -> list[str]:
    """Return what `flybench bench plan` prints; it must end with 0 and stay within 80 columns."""
    said = flybench(capsys, "bench", "plan", *arguments)
    assert (said.code, said.err) == (0, "")
    lines = said.out.splitlines()
    assert max(map(len, lines)) <= 80
    return lines


def in_one(lines: list[str]) -> str:
    """Return lines as one text with single blanks."""
    return " ".join(" ".join(lines).split())


@pytest.mark.parametrize("speed", ["15 cm/s", "30 cm/s", "50 cm/s"])
def test_command_gives_the_verdict_first(capsys: pytest.CaptureFixture[str], speed: str) -> None:
    lines = planned(capsys, "--speed", speed)
    assert lines[0].startswith(f"Yes: ±2 % of the speed in the tank can be reached; expect {speed[:2]}.")
    starts = ("column", "tank width", "frame rate", "camera distance", "card to fly", "drops")
    assert all(sum(line.startswith(start) for line in lines) == 1 for start in starts)
    assert any(line.startswith("  in the tank    ±1.9 %: drop-to-drop spread") for line in lines)
    assert any(line.startswith("  in free water  ±2.7 %: the same, and walls") for line in lines)
    assert not any(line.startswith(("Note:", "What stops it:")) for line in lines)


def test_command_says_what_was_assumed(capsys: pytest.CaptureFixture[str]) -> None:
    lines = planned(capsys, "--speed", "30 cm/s")
    start = next(number for number, line in enumerate(lines) if line.startswith("Assumed"))
    assert in_one(lines[start:]) == (
        "Assumed, as it was not given: water of 18 °C (--temperature), a fly 6 mm wide (--fly-width), a fly 2.5 times "
        "as dense as water (--density-ratio), drops that differ by 1.5 % (--spread) and a distance from card to fly "
        "known to ±3 mm (--gap-uncertainty)."
    )
    given = ("--temperature", "12 degC", "--response-time", "60 ms", "--spread", "1 %")
    lines = planned(capsys, "--speed", "30 cm/s", *given, "--gap-uncertainty", "2 mm")
    assert lines[-1] == "Assumed, as it was not given: a fly 6 mm wide (--fly-width)."
    lines = planned(capsys, "--speed", "30 cm/s", *given, "--gap-uncertainty", "2 mm", "--fly-width", "5 mm")
    assert lines[-1].startswith("  in free water")


def test_command_says_what_is_best_and_what_stops_it(capsys: pytest.CaptureFixture[str]) -> None:
    lines = planned(capsys, "--speed", "30 cm/s", "--precision", "0.1 %")
    assert in_one(lines[: lines.index("")]) == (
        "No: ±0.1 % of the speed in the tank cannot be reached; the best possible here is ±1.2 %, k = 2. "
        "What stops it: "
        "- Drops differ by 1.5 %, and the mean of 12, the most that is advised, is only so good: ±1.1 %. "
        "- A ruler reads the card's bar, 100 mm, to ±0.3 mm: ±0.30 %. "
        "- The distance from card to fly is known to ±3 mm, seen from 770 mm (from farther away, a square of the card "
        "would be under 24 pixels wide in 1080p): ±0.25 %."
    )


def test_free_water_may_be_stopped_by_the_walls(capsys: pytest.CaptureFixture[str]) -> None:
    lines = planned(
        capsys, "--speed", "30 cm/s", "--free-water", "--tank-width", "180 mm", "--fly-width", "7 mm"
    )
    assert lines[0].startswith("No: ±2 % of the speed in free water cannot be reached; the best possible")
    assert "- The published wall formulas differ, even in a tank 180 mm wide: ±2." in in_one(lines)


def test_command_judges_the_users_own_sizes(capsys: pytest.CaptureFixture[str]) -> None:
    own = ("--column", "120 mm", "--frame-rate", "30 Hz", "--distance", "200 mm", "--tank-width", "140 mm")
    text = in_one(planned(capsys, "--speed", "80 cm/s", *own))
    assert text.startswith(
        "No: ±2 % of the speed in the tank cannot be reached. What stops it: "
        "- Let go at rest, the fly has 95 % of its speed only after 152 mm, and 120 mm of its fall can be seen. "
        "- The card is 160 mm wide and does not fit into a tank of 140 mm. column 120 mm "
    )
    assert (
        "Note: The fly smears over 13 mm, more than half its width. Use a faster frame rate. "
        "Note: No frame will show the fly settled, and 20 are wanted. Use a taller column or a faster frame rate. "
        "Note: The card's strips are 240 mm tall. Cover what stands out of the water. Assumed"
    ) in text


@pytest.mark.parametrize(
    ("own", "words"),
    [
        (
            ("--column", "50 mm", "--frame-rate", "10 Hz"),
            "- 50 mm of fall at 10 Hz give too few frames to fit.",
        ),
        (
            ("--distance", "2 m"),
            "- A square of the card is 10 pixels wide in 1080p, and it needs 24.",
        ),
        (
            ("--distance", "50 mm", "--tank-width", "180 mm"),
            "- Where the card stands, the picture takes in 94 mm x 167 mm, and the card is 160 mm x 240 mm.",
        ),
        (
            ("--tank-width", "50 mm", "--fly-width", "15 mm"),
            "in free water unknown: the fly is too wide for so narrow a tank.",
        ),
        (
            ("--column", "1 m", "--distance", "400 mm"),
            "Note: The picture takes in 623 mm of the column of 1000 mm, and only that counts.",
        ),
        (
            ("--tank-width", "180 mm", "--fly-width", "15 mm"),
            "Note: The fly is wider than a fifteenth of the tank, and the measurement will carry the flag narrow-tank. "
            "A tank 225 mm wide would do.",
        ),
    ],
)
def test_extreme_sizes_are_named(
    capsys: pytest.CaptureFixture[str], own: tuple[str, ...], words: str
) -> None:
    text = in_one(planned(capsys, "--speed", "30 cm/s", *own))
    assert words in text
    assert not {"inf", "nan"} & set(text.replace("±", " ").split())
    said = flybench(capsys, "bench", "plan", "--speed", "30 cm/s", *own, "--json")
    assert json.loads(said.out)["advice"]


def test_json_alone_on_standard_output(capsys: pytest.CaptureFixture[str]) -> None:
    said = flybench(capsys, "bench", "plan", "--speed", "30 cm/s", "--json")
    assert (said.code, said.err) == (0, "")
    assert json.loads(said.out)["met"] is True


SPEED = "Give about the speed that you expect: flies sink at 5 to 100 cm/s."
PRECISION = "Give the ± that you want, as a share of the speed; 2 % is usual."


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--speed", "0 cm/s"), f"--speed: 0 cm/s is outside 1 to 300 cm/s. {SPEED}"),
        (("--speed", "20 m/s"), f"--speed: 20 m/s is outside 0.01 to 3 m/s. {SPEED}"),
        (("--speed", "200 in/s"), f"--speed: 200 in/s is outside 0.3938 to 118.1 in/s. {SPEED}"),
        (
            ("--speed", "20 m/s", "--response-time", "60 ms"),
            f"--speed: 20 m/s is outside 0.01 to 3 m/s. {SPEED}",
        ),
        (
            ("--speed", "30"),
            '--speed: "30" has no unit. Write it with its unit, for example "30 cm/s".',
        ),
        (
            ("--speed", "30 cm"),
            '--speed: "30 cm" is not a speed. Write it with its unit, for example "30 cm/s".',
        ),
        (
            ("--speed", "30,5 cm/s"),
            '--speed: "30,5 cm/s" has a comma. Write "30.5 cm/s", with a decimal point.',
        ),
        (("--precision", "0 %"), f"--precision: 0 % is outside 0.01 to 20 %. {PRECISION}"),
        (("--precision", "-1 %"), f"--precision: -1 % is outside 0.01 to 20 %. {PRECISION}"),
        (("--precision", "2"), f"--precision: 2 is outside 0.0001 to 0.2. {PRECISION}"),
        (
            ("--density-ratio", "0.9"),
            "--density-ratio: 0.9 is outside 1.05 to 20. Give 2.5 for a small brass bead, up to 8 for a big tungsten "
            "bead.",
        ),
        (
            ("--response-time", "5 s"),
            "--response-time: 5 s is outside 0.001 to 1 s. Leave it out, or give --density-ratio in its place.",
        ),
        (
            ("--fly-width", "1 m"),
            "--fly-width: 1 m is outside 0.0005 to 0.03 m. Give the widest side of the fly across its fall, hackle "
            "included.",
        ),
        (
            ("--temperature", "80 degC"),
            "--temperature: 80 degC is outside 0 to 40 degC. Give the temperature that the water in the tank will have.",
        ),
        (("--temperature", "18 C"), '--temperature: "18 C" has the unknown unit "C". Write "18 degC".'),
        (
            ("--frame-rate", "1 Hz"),
            "--frame-rate: 1 Hz is outside 10 to 1000 Hz. Give the rate that your camera films at, or leave it out.",
        ),
        (
            ("--column", "5 mm"),
            "--column: 5 mm is outside 50 to 3000 mm. Give the height of water that the camera sees, or leave it out.",
        ),
        (
            ("--distance", "9 m"),
            "--distance: 9 m is outside 0.05 to 5 m. Give the distance from lens to tank front, or leave it out.",
        ),
        (
            ("--tank-width", "9 m"),
            "--tank-width: 9 m is outside 0.05 to 5 m. Give the inner width of the tank, or leave it out.",
        ),
        (
            ("--spread", "50 %"),
            "--spread: 50 % is outside 0 to 20 %. Give the standard deviation from drop to drop as a share of the "
            "speed.",
        ),
        (
            ("--gap-uncertainty", "90 mm"),
            "--gap-uncertainty: 90 mm is outside 0 to 40 mm. Give the ± of the distance from card to fly (k = 2); 3 mm "
            "is usual.",
        ),
    ],
)
def test_nonsense_ends_with_1_and_names_the_option(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], message: str
) -> None:
    speed = () if "--speed" in arguments else ("--speed", "30 cm/s")
    said = flybench(capsys, "bench", "plan", *speed, *arguments)
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message}\n")


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("--speed", "30 cm/s", "--density-ratio", "2", "--response-time", "60 ms"),
        ("--speed", "30 cm/s", "--colum", "2 m"),
    ],
)
def test_wrong_usage_ends_with_2(capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]) -> None:
    said = flybench(capsys, "bench", "plan", *arguments)
    assert (said.code, said.out) == (2, "")
