"""The plan follows its laws, its bound is the true bound of the fit, and it says no where it must."""

from __future__ import annotations

import json
import math
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import t as student

from flybench import cli
from flybench.bench import planning, planning_terms
from flybench.bench.fall_bound import bound_per_noise, frame_times, speed_bound
from flybench.bench.planning import Design, plan
from flybench.bench.planning_terms import Wish
from flybench.errors import BadValueError
from flybench.hydraulics import falling
from flybench.hydraulics.walls import wall_factor
from flybench.jobs.plan import make_plan

WISH = Wish(speed=0.3, precision=0.03, response_time=0.061)


# The bound


@pytest.mark.parametrize(
    ("count", "interval", "noise", "printed"),
    [
        (30, 1 / 30, 1e-3, 0.63281),
        (60, 1 / 60, 1e-3, 0.44728),
        (120, 1 / 120, 5e-4, 0.15812),
        (10, 1 / 30, 1e-3, 3.3029),
    ],
)
def test_bound_without_transient_is_the_slope_bound(
    count: int, interval: float, noise: float, printed: float
) -> None:
    times = np.arange(count) * interval
    bound = speed_bound(times, noise, 0.3, 1e-9, 0.3, ("terminal_speed", "start_depth"))
    slope = math.sqrt(12 * noise**2 / (interval**2 * count * (count**2 - 1)))
    assert bound == pytest.approx(slope, rel=1e-6)
    assert bound * 1000 == pytest.approx(printed, abs=5e-5 if printed > 1 else 5e-6)


def test_bound_is_the_slope_bound_where_no_frame_sees_the_transient() -> None:
    times = 1.0 + np.arange(50) / 60
    bound = speed_bound(times, 1e-3, 0.1, 0.002)
    assert bound == pytest.approx(math.sqrt(12 * 1e-6 * 3600 / (50 * (50**2 - 1))), rel=1e-5)


def test_each_free_parameter_costs_precision() -> None:
    times = frame_times(0.3, 120, 0.6, 0.12)
    names = ("terminal_speed", "start_depth", "response_time", "start_speed")
    bounds = [speed_bound(times, 1e-4, 0.6, 0.12, 0.0, names[:count]) for count in (1, 2, 3, 4)]
    assert bounds == sorted(bounds)
    assert bounds[3] > 1.5 * bounds[1]


def test_too_few_frames_bound_nothing() -> None:
    assert speed_bound(np.arange(4) / 60, 1e-4, 0.3, 0.06) == math.inf


def test_bound_is_reached_by_least_squares() -> None:
    speed, response, noise = 0.6, 0.12, 2e-4
    times = frame_times(0.35, 120, speed, response)
    truth = falling.depth(times, speed, response, 0.0)
    draw = np.random.default_rng(5)

    def fitted() -> float:
        seen = truth + draw.normal(0, noise, len(times))

        def left(p: np.ndarray) -> np.ndarray:
            return (falling.depth(times, p[0], p[1], p[2]) + p[3] - seen) / noise

        return float(least_squares(left, [speed, response, 0.05, 0.0], x_scale=[0.1, 0.05, 0.1, 0.01]).x[0])

    count = 400
    scatter = float(np.std([fitted() for _ in range(count)], ddof=1))
    bound = noise * bound_per_noise(0.35, 120, speed, response)
    assert scatter / bound == pytest.approx(1, abs=3.5 / math.sqrt(2 * count))


def test_frames_stop_at_the_bottom() -> None:
    times = frame_times(0.3, 240, 0.5, 0.1)
    depths = falling.depth(np.append(times, times[-1] + 1 / 240), 0.5, 0.1, 0.0)
    assert depths[-2] <= 0.3 < depths[-1]


# The terms


@pytest.mark.parametrize("share", [0.95, 0.99])
def test_settling_depth_from_rest_is_the_closed_form(share: float) -> None:
    closed = -WISH.speed * WISH.response_time * math.log(1 - share**2) / 2
    assert planning_terms.settling_depth(WISH, share, 0.0) == pytest.approx(closed, rel=1e-9)


def test_settling_depth_from_a_plunge_is_the_closed_form() -> None:
    slow = replace(WISH, speed=0.1, response_time=0.02)
    start = planning_terms.plunge_speed()
    closed = 0.1 * 0.02 / 2 * math.log((start**2 - 0.1**2) / ((1.05 * 0.1) ** 2 - 0.1**2))
    assert planning_terms.settling_depth(slow, 0.95, start) == pytest.approx(closed, rel=1e-9)
    assert planning_terms.settling_depth(slow, 0.95, 0.098) == 0


def test_card_place_is_the_derivative_of_the_carried_scale() -> None:
    def carried(gap: float, distance: float, depth: float) -> float:
        fly = distance + depth / WISH.index
        return math.log(fly / (fly + gap / WISH.index))

    gap, distance = planning_terms.card_place(WISH, 0.05, 0.5, 0.1)
    step, typed = 1e-6, 0.0015
    per_gap = (carried(0.05 + step, 0.5, 0.1) - carried(0.05 - step, 0.5, 0.1)) / (2 * step)
    per_distance = (carried(0.05, 0.5 + step, 0.1) - carried(0.05, 0.5 - step, 0.1)) / (2 * step)
    per_depth = (carried(0.05, 0.5, 0.1 + step) - carried(0.05, 0.5, 0.1 - step)) / (2 * step)
    assert gap == pytest.approx(typed * abs(per_gap), rel=1e-5)
    assert distance == pytest.approx(typed * math.hypot(per_distance, per_depth), rel=1e-5)


@pytest.mark.parametrize("drops", [3, 5, 12])
def test_few_drops_are_widened_by_student(drops: int) -> None:
    assert planning_terms.small_sample(drops) == pytest.approx(student.ppf(0.97725, drops - 1) / 2, rel=1e-9)


# The plan's laws


def test_faster_fly_needs_a_taller_column() -> None:
    columns = []
    for speed in (0.1, 0.3, 0.6, 1.0, 1.4):
        response = float(falling.response_time(speed, 2.5))
        columns.append(plan(replace(WISH, speed=speed, response_time=response, frame_rate=240.0)).column)
    assert columns == sorted(columns)
    assert columns[-1] > 3 * columns[0]


def test_longer_response_needs_a_taller_column() -> None:
    columns = [plan(replace(WISH, response_time=time)).column for time in (0.1, 0.2, 0.4)]
    assert columns == sorted(set(columns))


def test_finer_precision_needs_more_drops_and_larger_sizes() -> None:
    designs = [plan(replace(WISH, precision=precision)) for precision in (0.06, 0.03, 0.02, 0.015)]
    assert all(design.meets for design in designs)
    for what in ("drops", "column", "tank", "distance"):
        values = [getattr(design, what) for design in designs]
        assert values == sorted(values), what
        assert values[-1] > values[0] or what == "distance", what


def test_wider_fly_needs_a_wider_tank() -> None:
    tanks = [plan(replace(WISH, fly_width=width)).tank for width in (0.003, 0.006, 0.009)]
    assert tanks == sorted(set(tanks))


@pytest.mark.parametrize("precision", [0.02, 0.03, 0.05])
@pytest.mark.parametrize("width", [0.004, 0.006, 0.008])
def test_tank_is_the_least_that_keeps_the_walls_in_their_third(precision: float, width: float) -> None:
    wish = replace(WISH, precision=precision, fly_width=width)
    design = planning.design(wish, precision / 3)

    def good(tank: float) -> bool:
        factor = wall_factor(width / tank, wish.reynolds)
        return width / tank <= 0.03 and 2 * factor.standard_uncertainty / factor.value <= precision / 3

    if design.tank < planning.WIDEST_TANK:
        assert good(design.tank)
    if design.tank > 0.181:
        assert not good(design.tank - 0.01)


def test_camera_keeps_card_and_lean_in_their_third_and_sees_the_column() -> None:
    design = planning.design(replace(WISH, precision=0.02), 0.02 / 3)
    place = planning_terms.card_place(design.wish, design.gap, design.distance, design.depth)
    lean = planning_terms.lean_share(design.wish, design.column, design.distance, design.depth)
    assert 2 * math.hypot(*place, lean / math.sqrt(3)) <= 0.02 / 3
    assert design.pixel * design.wish.pixels >= 1.1 * design.column
    assert design.square_px >= planning.SQUARE_PX - 1e-6


def test_a_known_gap_sends_the_camera_away_for_finer_wishes() -> None:
    wishes = (replace(WISH, precision=p, gap=0.012, spread=0.002) for p in (0.009, 0.04))
    fine, coarse = (plan(wish).distance for wish in wishes)
    assert fine > coarse


def test_frame_rate_is_the_lowest_that_does() -> None:
    slow = plan(replace(WISH, speed=0.05, response_time=0.01))
    fast = plan(replace(WISH, speed=1.0, response_time=0.2))
    assert slow.frame_rate == 30
    assert fast.frame_rate == 240
    for design in (slow, fast, plan(WISH)):
        assert design.blur <= design.wish.fly_width / 2
        assert design.settled_frames >= planning.SETTLED_FRAMES


def test_drops_are_the_fewest_that_do() -> None:
    design = plan(WISH)
    assert design.meets
    assert not replace(design, drops=design.drops - 1).meets


def test_less_spread_needs_fewer_drops() -> None:
    assert plan(replace(WISH, spread=0.005)).drops < plan(WISH).drops


def test_prediction_is_the_root_of_the_squares() -> None:
    design = plan(WISH)
    total = math.sqrt(sum(line.standard_uncertainty**2 for line in design.budget))
    assert design.expanded == pytest.approx(2 * total)
    assert design.expanded_in_tank < design.expanded


def test_best_possible_hardly_depends_on_how_much_too_fine_the_wish_is() -> None:
    best = [plan(replace(WISH, precision=precision)) for precision in (0.0005, 0.002, 0.008)]
    assert not any(design.meets for design in best)
    values = [design.expanded for design in best]
    assert max(values) < 1.02 * min(values)
    assert plan(replace(WISH, precision=1.05 * max(values))).meets


def test_column_that_is_too_short_is_not_promised() -> None:
    design = plan(replace(WISH, speed=1.3, response_time=0.16, column=0.2))
    assert not design.settles
    assert not design.meets


# The words and the command


def test_json_numbers_are_those_of_the_design() -> None:
    made = make_plan({"speed": "30 cm/s", "precision": "2 %"})
    design: Design = made.design
    machine = json.loads(json.dumps(made.as_json()))
    assert machine["met"] is True
    assert machine["relative_expanded_uncertainty"] == design.expanded
    assert machine["coverage_factor"] == 2
    assert {a["item"]: a["value"] for a in machine["advice"]} == {
        "visible column": design.column,
        "tank, inner width and depth": design.tank,
        "frame rate": design.frame_rate,
        "lens to tank front": design.distance,
        "fly to card (gap)": design.gap,
        "drops": design.drops,
    }
    assert all(a["reason"].endswith(".") and a["numbers"] for a in machine["advice"])
    assert machine["stopped_by"] == []


def test_density_ratio_stands_for_the_response_time() -> None:
    by_ratio = make_plan({"speed": "60 cm/s", "density-ratio": "6"}).design.wish.response_time
    assert by_ratio == pytest.approx(float(falling.response_time(0.6, 6.0)))
    assert make_plan({"speed": "60 cm/s", "response-time": "60 ms"}).design.wish.response_time == 0.06
    with pytest.raises(BadValueError, match="Give one of the two"):
        make_plan({"speed": "60 cm/s", "response-time": "60 ms", "density-ratio": "6"})


def run(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    """Run `flybench bench plan` and return its exit code."""
    monkeypatch.setattr(sys, "argv", ["flybench", "bench", "plan", *arguments])
    try:
        cli.main()
    except SystemExit as end:
        return int(end.code or 0)
    return 0


def test_command_gives_the_verdict_first(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, "--speed", "30 cm/s") == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("Yes: ±3 % can be met; expect 30.0 ± ")
    assert max(map(len, lines[1:])) <= 100
    starts = ("visible column", "tank", "frame rate", "lens", "fly to card", "drops")
    assert all(any(line.startswith(start) for line in lines) for start in starts)
    assert not any(line.startswith(("Mind:", "What stops it:")) for line in lines)


def test_command_says_what_stops_a_wish(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, "--speed", "30 cm/s", "--precision", "0.1 %") == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "No: ±0.1 % cannot be met; the best here is ±1.2 % (k = 2)."
    assert lines[1].startswith("What stops it: drops differ by 1.5 %, and 12 of them")
    assert any("wall formulas" in line for line in lines)
    assert any("ruler" in line for line in lines)


def test_command_warns_of_the_users_own_sizes(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    own = ("--speed", "80 cm/s", "--column", "120 mm", "--frame-rate", "30 Hz", "--gap", "12 mm")
    assert run(monkeypatch, *own) == 0
    said = capsys.readouterr().out
    assert said.splitlines()[0] == "No: the fly does not settle in the 120 mm of fall that can be seen."
    assert said.count("Mind:") == 3


def test_json_alone_on_standard_output(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, "--speed", "30 cm/s", "--json", "-") == 0
    machine = json.loads(capsys.readouterr().out)
    assert machine["met"] is True


def test_json_to_a_file_leaves_the_table(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, "--speed", "30 cm/s", "--json", str(tmp_path / "plan.json")) == 0
    assert json.loads((tmp_path / "plan.json").read_text())["met"] is True
    assert capsys.readouterr().out.startswith("Yes:")


def test_json_to_nowhere_ends_with_1(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "none" / "plan.json"
    assert run(monkeypatch, "--speed", "30 cm/s", "--json", str(target)) == 1
    said = capsys.readouterr().err
    assert (
        said == f"Error: {target}: cannot write there (No such file or directory). "
        "Name a file in a folder you may write to.\n"
    )


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--speed", "0 cm/s"), "speed: 0 is outside 0.01 to 3 m/s"),
        (("--speed", "20 m/s"), "speed: 20 is outside 0.01 to 3 m/s"),
        (("--speed", "20 m/s", "--response-time", "60 ms"), "speed: 20 is outside"),
        (("--speed", "30"), 'speed: "30" has no unit'),
        (("--speed", "30 cm"), "speed: "),
        (("--speed", "30 cm/s", "--precision", "0 %"), "precision: 0 is outside 0.0001 to 0.2"),
        (("--speed", "30 cm/s", "--precision", "-1 %"), "precision: -0.01 is outside"),
        (("--speed", "30 cm/s", "--density-ratio", "0.9"), "density-ratio: 0.9 is outside 1.05 to 20"),
        (("--speed", "30 cm/s", "--response-time", "5 s"), "response-time: 5 is outside"),
        (("--speed", "30 cm/s", "--fly-width", "1 m"), "fly-width: 1 is outside"),
        (("--speed", "30 cm/s", "--temperature", "80 degC"), "temperature: 353.15 is outside"),
        (("--speed", "30 cm/s", "--frame-rate", "1 Hz"), "frame-rate: 1 is outside"),
        (("--speed", "30 cm/s", "--column", "5 mm"), "column: 0.005 is outside"),
        (("--speed", "30 cm/s", "--spread", "50 %"), "spread: 0.5 is outside"),
        (("--speed", "30 cm/s", "--tracking-noise", "0"), "tracking-noise: 0 is outside"),
        (("--speed", "30 cm/s", "--pixels", "10"), "pixels: 10 is outside"),
    ],
)
def test_nonsense_ends_with_1_and_names_the_option(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    arguments: tuple[str, ...],
    message: str,
) -> None:
    assert run(monkeypatch, *arguments) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith(f"Error: {message}")


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("--speed", "30 cm/s", "--density-ratio", "2", "--response-time", "60 ms"),
        ("--speed", "30 cm/s", "--pixels", "many"),
    ],
)
def test_wrong_usage_ends_with_2(monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...]) -> None:
    assert run(monkeypatch, *arguments) == 2
