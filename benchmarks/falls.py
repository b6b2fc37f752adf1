"""Simulated falls, most of which do not obey the model that is fitted to them: how often do the intervals hold?

    python benchmarks/falls.py [COUNT] [CLASS ...]

For every class of falls: the share of stated k = 2 intervals that hold the true speed, the median stated uncertainty over
the speed, the root of the mean squared error over the stated uncertainty, and errors and stated uncertainty over the
Cramér-Rao bound of the white part of the noise. The uncertainty is that of the fit alone, with that for the history force
where there is one. No clips, and of the product nothing but the fit. Wanted: 92 to 98 % in every class, and errors in white
noise below 1.1 of the bound.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from flybench.bench.fit.fall import fit_fall
from flybench.bench.fit.fall_model import bound

Floats = NDArray[np.float64]
G = 9.80665
"""Standard gravity [m/s2]."""
STEP = 5e-4
"""Step of the integration [s]: a fiftieth of the shortest response time."""
VISCOSITY = 1.05e-6
"""Kinematic viscosity of water at 18 degC [m2/s] (IAPWS, from memory)."""
RADIUS = 0.0015
"""Radius of the ball that stands for a fly where a size is needed [m]."""


@dataclass
class Fall:
    """One fall to be simulated: SI units."""

    v: float
    tau: float
    v0: float
    column: float
    rate: float
    noise: float
    drag: Callable[[float, float], float] = field(default=lambda depth, moved: 1.0)
    """Drag over its usual value at a depth, ``moved`` since the last call [m]."""
    exponent: float = 2.0
    history: bool = False
    step: float = STEP
    """Step of the integration [s]."""
    reached: float | None = None
    """Share of the terminal speed at which the fall leaves the view."""

    @property
    def true_values(self) -> Floats:
        """Return the four fitted values."""
        return np.array([self.v, np.log(self.tau), self.v0, 0.0])


def usual(rng: np.random.Generator, number: int) -> Fall:
    """Return a fall as tanks and flies make them: slow to fast, dense to light, let go, lowered or plunged."""
    v = float(rng.uniform(0.15, 0.50))
    start = [0.0, float(rng.uniform(0, v)), float(rng.uniform(v, 1.1))][number % 3]
    factor, rate = float(rng.uniform(1.1, 4.0)), float(rng.choice([30.0, 60.0, 120.0, 240.0]))
    return Fall(v, factor * v / G, start, 0.28, rate, float(rng.uniform(2e-5, 1e-4)))


def course(fall: Fall) -> tuple[Floats, Floats]:
    """Integrate dv/dt = (V / tau) (1 - c (v / V)^p) - history, and return frames' times [s] and depths [m]."""
    depth, speed, time = 0.0, fall.v0, 0.0
    depths, speeds, pulls = [0.0], [fall.v0], [0.0]
    last = 0.0
    while depth < fall.column and time < 6.0:
        drag = fall.drag(depth, depth - last)
        last = depth
        held = _history(fall, np.array(pulls), time) if fall.history else 0.0

        def pull(u: float, drag: float = drag, held: float = held) -> float:
            return fall.v / fall.tau * (1.0 - drag * (u / fall.v) ** fall.exponent) - held

        middle = speed + 0.5 * fall.step * pull(speed)
        change = pull(max(middle, 0.0))
        depth += fall.step * middle
        speed = max(speed + fall.step * change, 0.0)
        time += fall.step
        depths.append(depth)
        speeds.append(speed)
        pulls.append(change)
        if fall.reached is not None and speed > fall.reached * fall.v:
            break
    times = np.arange(0.0, time, 1.0 / fall.rate)
    return times, np.interp(times, fall.step * np.arange(len(depths)), depths)


def _history(fall: Fall, pulls: Floats, now: float) -> float:
    """Return the history force over the moved mass [m/s2], kernel of Mei and Adrian (1992), from memory.

    6 pi a mu times the integral of K dv, K = ([pi t nu / a^2]^(1/4) + [pi V^3 t^2 / (2 a nu f^3)]^(1/2))^-2,
    f = 0.75 + 0.105 Re; the density of the ball follows from its response time.
    """
    factor = fall.tau * G / fall.v
    density = (factor + 0.5) / (factor - 1.0)
    moved = (density + 0.5) * 4.0 / 3.0 * np.pi * RADIUS**3
    since = now - fall.step * (np.arange(len(pulls)) - 0.5)
    reynolds = 2.0 * RADIUS * fall.v / VISCOSITY
    slow = (np.pi * since * VISCOSITY / RADIUS**2) ** 0.25
    bent = 2.0 * RADIUS * VISCOSITY * (0.75 + 0.105 * reynolds) ** 3
    kernel = (slow + np.sqrt(np.pi * fall.v**3 * since**2 / bent)) ** -2
    return float(6.0 * np.pi * RADIUS * VISCOSITY * fall.step * (kernel @ pulls) / moved)


def memory_course(t: Floats, memory: float, rng: np.random.Generator) -> Floats:
    """Return a first-order autoregressive course of unit size."""
    kept = np.exp(-np.diff(t) / memory)
    found = [float(rng.normal())]
    for keep in kept:
        found.append(keep * found[-1] + np.sqrt(1 - keep**2) * float(rng.normal()))
    return np.array(found)


def wake(
    size: float, rng: np.random.Generator, length: float = 12 * RADIUS
) -> Callable[[float, float], float]:
    """Return drag that fluctuates by ``size`` over a ``length`` of path [m], six diameters."""
    now = [float(rng.normal())]

    def drag(_: float, moved: float) -> float:
        keep = np.exp(-max(moved, 0.0) / length)
        now[0] = keep * now[0] + np.sqrt(1 - keep**2) * float(rng.normal())
        return 1.0 + size * now[0]

    return drag


Drawn = tuple[Fall, Floats, Floats]


def _read(fall: Fall, rng: np.random.Generator) -> Drawn:
    t, depths = course(fall)
    return fall, t, depths + fall.noise * rng.normal(size=len(t))


def white(rng: np.random.Generator, number: int) -> Drawn:
    """White noise alone."""
    return _read(usual(rng, number), rng)


def autoregressive(rng: np.random.Generator, number: int) -> Drawn:
    """A wander of up to 0.4 mm with a memory of 0.02 to 0.2 s."""
    fall, t, depths = _read(usual(rng, number), rng)
    memory = float(np.exp(rng.uniform(np.log(0.02), np.log(0.2))))
    return fall, t, depths + rng.uniform(0, 4e-4) * memory_course(t, memory, rng)


def quantised(rng: np.random.Generator, number: int) -> Drawn:
    """Readings in whole steps of 0.1 to 0.3 mm."""
    fall, t, depths = _read(usual(rng, number), rng)
    step = float(rng.uniform(1e-4, 3e-4))
    return fall, t, np.round(depths / step) * step


def outliers(rng: np.random.Generator, number: int) -> Drawn:
    """Three readings in a hundred off by 1 to 5 mm."""
    fall, t, depths = _read(usual(rng, number), rng)
    wild = rng.random(len(t)) < 0.03
    return fall, t, depths + wild * rng.choice([-1, 1], len(t)) * rng.uniform(1e-3, 5e-3, len(t))


def plunge(rng: np.random.Generator, number: int) -> Drawn:
    """Pushed in at 1.3 to 2.5 times the terminal speed."""
    fall = usual(rng, number)
    fall.v0 = float(rng.uniform(1.3, 2.5)) * fall.v
    return _read(fall, rng)


def early_stop(rng: np.random.Generator, number: int) -> Drawn:
    """Out of view at 93 to 98.5 % of the terminal speed."""
    fall = usual(rng, 0)
    fall.reached, fall.rate = float(rng.uniform(0.93, 0.985)), float(rng.choice([120.0, 240.0]))
    return _read(fall, rng)


def wobble(rng: np.random.Generator, number: int) -> Drawn:
    """Rocks along the path by 0.1 to 0.5 mm, two to six times a second."""
    fall, t, depths = _read(usual(rng, number), rng)
    beat = 2 * np.pi * rng.uniform(2, 6) * t + rng.uniform(0, 2 * np.pi)
    return fall, t, depths + rng.uniform(1e-4, 5e-4) * np.sin(beat)


def history(rng: np.random.Generator, number: int) -> Drawn:
    """The history force, which the model leaves out."""
    fall = usual(rng, number)
    fall.history, fall.step = True, 4 * STEP
    return _read(fall, rng)


def wake_3(rng: np.random.Generator, number: int) -> Drawn:
    """Drag fluctuates by 3 % over six diameters."""
    fall = usual(rng, number)
    fall.drag = wake(0.03, rng)
    return _read(fall, rng)


def wake_8(rng: np.random.Generator, number: int) -> Drawn:
    """Drag fluctuates by 8 % over six diameters."""
    fall = usual(rng, number)
    fall.drag = wake(0.08, rng)
    return _read(fall, rng)


def drag_drift(rng: np.random.Generator, number: int) -> Drawn:
    """Drag changes evenly by up to 4 % on the way, either way, and is the usual one half way down."""
    fall = usual(rng, number)
    size, column = float(rng.uniform(-0.04, 0.04)), fall.column
    fall.drag = lambda depth, _: 1.0 + size * (depth / column - 0.5)
    return _read(fall, rng)


CLASSES: dict[str, Callable[[np.random.Generator, int], Drawn]] = {
    "white": white,
    "autoregressive": autoregressive,
    "quantised": quantised,
    "outliers": outliers,
    "plunge": plunge,
    "early stop": early_stop,
    "wobble": wobble,
    "history": history,
    "wake 3 %": wake_3,
    "wake 8 %": wake_8,
    "drag drift": drag_drift,
}


@dataclass(frozen=True)
class Study:
    """What came of one class of falls."""

    scores: Floats
    """Errors over stated standard uncertainties [-]."""
    stated: Floats
    """Stated standard uncertainties over the speed [-]."""
    ratios: Floats
    """Stated uncertainties of the fit over the bound for the white part of the noise [-]."""
    errors: Floats
    """Errors over that bound [-]."""

    @property
    def held(self) -> float:
        """Return the share of k = 2 intervals that hold the truth [-]."""
        return float(np.mean(np.abs(self.scores) <= 2.0))


def studied(name: str, count: int, seed: int = 1) -> Study:
    """Simulate and fit ``count`` falls of a class."""
    rng = np.random.default_rng(seed)
    scores, stated, ratios, errors = [], [], [], []
    for number in range(count):
        fall, t, depths = CLASSES[name](rng, number)
        fit = fit_fall(t, depths, 5e-5)
        left_out = fit.history_uncertainty if fall.history else 0.0
        own = float(np.hypot(fit.fit_uncertainty, left_out))
        scores.append((fit.terminal_speed - fall.v) / own)
        stated.append(own / fall.v)
        least = bound(t, fall.true_values, fall.noise)
        ratios.append(fit.fit_uncertainty / least)
        errors.append((fit.terminal_speed - fall.v) / least)
    return Study(np.array(scores), np.array(stated), np.array(ratios), np.array(errors))


def main() -> None:
    """Print a line for every class."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    print(
        f"{'class':16}{'held':>8}{'stated':>9}{'rms score':>11}{'errors / bound':>16}{'stated / bound':>16}"
    )
    for name in sys.argv[2:] or CLASSES:
        found = studied(name, count)
        score = float(np.sqrt(np.mean(found.scores**2)))
        print(
            f"{name:16}{100 * found.held:>7.1f}%{100 * np.median(found.stated):>8.2f}%{score:>11.2f}"
            f"{np.sqrt(np.mean(found.errors**2)):>16.2f}{np.median(found.ratios):>16.2f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
