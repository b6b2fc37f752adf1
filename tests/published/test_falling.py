"""The closed form of a fall against a table worked apart and against its differential equation."""

import math

import numpy as np
import pytest
from rows import Row, rows
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from flybench.errors import BadValueError
from flybench.hydraulics.falling_body import depth, response_time, speed, time_to_share

TERMINAL = math.sqrt(2e-3 / 5e-3)
TAU = 5e-4 * TERMINAL / 2e-3

COMPUTED = {
    "speed": lambda row: speed(row["t"], TERMINAL, TAU, row["v0"]),
    "depth": lambda row: depth(row["t"], TERMINAL, TAU, row["v0"]),
    "rest time": lambda row: time_to_share(0.0, TERMINAL, TAU, row["v0"]),
    "rise": lambda row: -depth(time_to_share(0.0, TERMINAL, TAU, row["v0"]), TERMINAL, TAU, row["v0"]),
    "response time": lambda row: response_time(row["v"], row["ratio"]),
    "share at depth": lambda row: (
        speed(time_at(row["x"], row["v"], row["tau"]), row["v"], row["tau"]) / row["v"]
    ),
}


def time_at(x: float, terminal: float, tau: float) -> float:
    return brentq(lambda t: float(depth(t, terminal, tau)) - x, 0.0, 10.0)


@pytest.mark.parametrize("row", rows("falling.csv"), ids=str)
def test_the_fall_is_as_worked_apart(row: Row) -> None:
    row.check(float(COMPUTED[row.quantity](row)))


@pytest.mark.parametrize("start", [-3.0, -0.2, 0.0, 0.3, TERMINAL, 1.0, 20.0])
def test_the_closed_form_solves_the_equation_of_motion(start: float) -> None:
    def motion(_: float, state: np.ndarray) -> list[float]:
        return [state[1], TERMINAL / TAU * (1 - state[1] * abs(state[1]) / TERMINAL**2)]

    times = np.linspace(0.0, 1.5, 31)
    there = solve_ivp(motion, (0.0, 1.5), [0.0, start], "DOP853", times, rtol=1e-12, atol=1e-13)
    assert depth(times, TERMINAL, TAU, start) == pytest.approx(there.y[0], abs=2e-10)
    assert speed(times, TERMINAL, TAU, start) == pytest.approx(there.y[1], abs=2e-10)


@pytest.mark.parametrize("start", [-5.0, 0.0, 0.5, 1.0, 5.0])
def test_long_falls_neither_overflow_nor_lose_their_start(start: float) -> None:
    late = depth(np.array([1e3, 1e3 + 1]), 1.0, 1.0, start)
    assert np.diff(late) == pytest.approx(1.0, abs=1e-9)
    assert float(speed(1e3, 1.0, 1.0, start)) == 1.0


def test_the_first_instants_keep_all_their_digits() -> None:
    for t in (1e-9, 1e-6, 1e-3):
        assert float(depth(t, 1.0, 1.0)) == pytest.approx(t * t / 2 - t**4 / 12, rel=1e-12)
        assert float(depth(t, 1.0, 1.0, -0.5)) == pytest.approx(-0.5 * t + 0.625 * t * t, rel=2e-6)


def test_a_start_at_terminal_speed_stays_there() -> None:
    times = np.array([0.0, 0.1, 1.0, 100.0])
    assert depth(times, 0.4, 0.05, 0.4) == pytest.approx(0.4 * times, rel=1e-15)
    assert speed(times, 0.4, 0.05, 0.4) == pytest.approx(0.4, rel=1e-15)


def test_drops_and_times_broadcast() -> None:
    table = depth(np.linspace(0, 1, 5), np.array([[0.3], [0.6]]), 0.1, np.array([[0.0], [-0.1]]))
    assert table.shape == (2, 5)
    assert table[1, 3] == depth(0.75, 0.6, 0.1, -0.1)


@pytest.mark.parametrize(("share", "start"), [(1.0, 0.0), (0.5, 0.6), (1.2, 0.0), (0.9, 2.0), (-0.5, 0.0)])
def test_a_share_never_reached_is_refused(share: float, start: float) -> None:
    with pytest.raises(BadValueError) as told:
        time_to_share(share, 1.0, 1.0, start)
    assert str(told.value) == (
        f"share of terminal speed: {share:.6g} is never reached. Give a share between that of the start and 1."
    )


def test_impossible_falls_are_refused() -> None:
    with pytest.raises(BadValueError) as told:
        depth(-0.1, 1.0, 1.0)
    assert str(told.value) == "time: -0.1 is below 0 s. Count from the start."
    with pytest.raises(BadValueError) as told:
        speed(0.1, 0.0, 1.0)
    assert str(told.value) == "terminal speed: 0 m/s is not above zero. Give a value above zero."
    with pytest.raises(BadValueError) as told:
        speed(0.1, 1.0, -1.0)
    assert str(told.value) == "response time: -1 s is not above zero. Give a value above zero."
    with pytest.raises(BadValueError) as told:
        response_time(0.3, 0.9)
    assert str(told.value) == "density ratio: 0.9 is below 1. Give a body denser than the water."
