"""Sink speeds timed by hand: the law of the start, the budget, and what is refused."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from console import flybench
from refusals import refused
from scipy.integrate import solve_ivp

from flybench.bench.by_clock.asked import read_timing
from flybench.bench.by_clock.timed import Timing, time_taken, timed_speed
from flybench.errors import BadValueError
from flybench.jobs.bench.timing import time_run
from flybench.quantity import Measured
from flybench.telling.bench.timing import timed_lines


@pytest.mark.parametrize(("speed", "run_up"), [(0.3, 0.0), (0.3, 0.1), (0.9, 0.0), (0.12, 0.02)])
def test_the_start_as_an_integrator_has_it(speed: float, run_up: float) -> None:
    """dv/dt = (g / F) (1 - (u / v)^2) from rest, by scipy's ODE solver; F = 2.2."""
    length, rate = 0.6, 9.80665 / 2.2

    def slope(_: float, state: Any) -> list[float]:
        return [state[1], rate * (1 - (state[1] / speed) ** 2)]

    times = []
    for reached in (max(run_up, 1e-12), run_up + length):

        def there(_: float, state: Any, reached: float = reached) -> float:
            return float(state[0] - reached)

        there.terminal = True  # type: ignore[attr-defined]
        found = solve_ivp(slope, (0.0, 30.0), [0.0, 0.0], events=there, rtol=1e-9, atol=1e-13)
        times.append(0.0 if run_up == 0.0 and not times else float(found.t_events[0][0]))
    assert time_taken(speed, length, run_up, 2.2) == pytest.approx(times[1] - times[0], rel=1e-5)


@pytest.mark.slow
def test_intervals_hold_the_truth() -> None:
    """Flies whose start differs from the usual, hands that press off by 0.05 s and late by 0.05 s, distances off by 5 mm."""
    rng = np.random.default_rng(8)
    held, sizes = [], []
    for _ in range(300):
        fly, response = rng.uniform(0.12, 0.45), 2.2 * 1.4 ** rng.normal()
        late = rng.normal(0, 0.05)
        drops = fly * (1 + 0.015 * rng.normal(size=3))
        times = [
            round(time_taken(v, 0.6, 0.0, response) + late + rng.normal(0, 0.05 * 2**0.5), 2) for v in drops
        ]
        found = timed_speed(Timing(Measured(0.6 + rng.normal(0, 0.005), 0.005), times, 0.01))
        held.append(abs(found.speed - fly) <= 2 * found.standard_uncertainty)
        sizes.append(found.standard_uncertainty / found.speed)
    assert 0.92 <= np.mean(held) <= 0.995
    assert np.median(sizes) < 0.06


def test_the_watchs_own_step_counts() -> None:
    coarse = timed_speed(read_timing("60 cm", ["2", "2", "2"]))
    fine = timed_speed(read_timing("60 cm", ["2.00", "2.00", "2.00"]))
    assert coarse.standard_uncertainty > 1.5 * fine.standard_uncertainty
    assert coarse.speed == pytest.approx(fine.speed, rel=0.01)


SLIPS: dict[tuple[str, ...], str] = {
    ("60", "2.1"): '--distance: "60" has no unit. Write it with its unit, for example "60 cm +- 1 cm".',
    ("60 m", "2.1"): "--distance: 60 m is outside 0.1 to 5 m. Give the distance between the two marks.",
    (
        "60 cm +- 70 cm",
        "2.1",
    ): '--distance: "60 cm +- 70 cm" has an uncertainty larger than the value itself. Write it as '
    '"60 cm +- 1 cm".',
    ("60 cm", "2,1"): 'times: "2,1 s" has a comma. Write "2.1 s", with a decimal point.',
    ("60 cm", "0"): "times: 0 s is outside 0.3 to 120 s. Give what the watch showed, in seconds.",
    (
        "60 cm",
        "2.1",
        "21",
    ): "times: 2.1 s and 21 s are too different to be of one fly. Leave out the one that was pressed "
    "wrongly, or time each fly by itself.",
    (
        "60 cm",
        "0.7",
    ): "times: 0.7 s over 60 cm is hardly longer than the fly takes to come to its speed. Time a longer fall, "
    "so that it takes 1.1 s or more, or film it: flybench bench measure.",
}


@pytest.mark.parametrize("typed", SLIPS)
def test_slips(typed: tuple[str, ...]) -> None:
    distance, *times = typed
    with pytest.raises(BadValueError) as slip:
        timed_speed(read_timing(distance, times))
    assert str(slip.value) == SLIPS[typed]


def test_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    along = ("--temperature", "18 degC", "--distance", "60 cm +- 1 cm")
    said = flybench(capsys, "bench", "time", *along, "2.1", "2.2", "2.0")
    assert said.code == 0
    assert " ".join(said.out.split()).startswith(
        "USABLE: 29.1 ± 2.2 cm/s (11.5 ± 0.9 in/s) in the tank, k = 2, from 3 drops timed by hand"
    )
    refused(
        flybench(capsys, "bench", "time", "--temperature", "99 degC", "--distance", "60 cm", "2.1"),
        "--temperature: 99 degC is outside 0 to 40 degC. Give the temperature of the water in the tank, for example "
        '"18 degC".',
    )
    refused(
        flybench(capsys, "bench", "time", *along, "--fly-width", "6 cm", "2.1"),
        "--fly-width: 6 cm is outside 0.05 to 5 cm. Measure it across, hackle included.",
    )


@pytest.mark.parametrize("typed", ["-2.2", "-.5"])
def test_a_time_below_zero_is_a_time_and_no_option(capsys: pytest.CaptureFixture[str], typed: str) -> None:
    along = ("--temperature", "18 degC", "--distance", "60 cm")
    refused(
        flybench(capsys, "bench", "time", *along, "2.1", typed),
        f"times: {typed} s is outside 0.3 to 120 s. Give what the watch showed, in seconds.",
    )
    said = flybench(capsys, "bench", "time", *along, "2.1", "--nonsense")
    assert said.code == 2
    assert said.err.splitlines()[-1] == "Error: No such option '--nonsense'."


def test_the_command_tells_of_its_own_options() -> None:
    run = time_run("60 cm", ["2.1", "2.2"], None, {"water": {"temperature": "18 degC"}})
    few, tank = (" ".join(line.split()) for line in timed_lines(run)[-2:])
    assert few == "few-drops: Only two drops were timed. Time three to six."
    assert tank == (
        "tank-unknown: Nothing says how large the tank is, so the speed in free water cannot be worked out. Give "
        "--tank-width and --tank-depth, or --tank-diameter."
    )


@pytest.mark.parametrize(
    ("typed", "cure"),
    [
        ("1:10", "70 for 1 min 10 s, or 1.10 if the colon stands for a point"),
        ("0:02.3", "2.3 for 0 min 02.3 s"),
    ],
)
def test_a_colon_may_be_minutes_or_a_slip(typed: str, cure: str) -> None:
    with pytest.raises(BadValueError) as refusal:
        read_timing("60 cm", [typed])
    assert str(refusal.value) == f'times: "{typed}" has a colon. Write seconds alone: {cure}.'
