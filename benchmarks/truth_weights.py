"""Weights of flies by scales with known faults: how often do the stated intervals hold the truth?

    python benchmarks/truth_weights.py [COUNT]

Six scales, each read once and twice. For each: the share of k = 2 intervals of the weight in water that hold the true
weight, when only the last digit counts, and as stated; and the median of the stated uncertainty. Errors are drawn, not
taken from the program: noise of every reading, a zero that drifts between tare and reading, a bubble of 1.0 to 1.8 mm on
every other dip, a gain, and rounding to the last digit. Wanted: 90 to 98 %.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flybench.jobs.shelf.weigh import Scale
from flybench.sinking.weight.gain import GAIN
from flybench.sinking.weight.scale import RECTANGLE

Floats = NDArray[np.float64]
MILLIGRAM = 1e-6
"""[kg]."""


@dataclass(frozen=True)
class Fault:
    """What is wrong with a scale: standard deviations of a reading and of the zero [kg], share of dips with a bubble,
    gain's error (None: drawn, 0.3 %), step of the last digit [kg]."""

    noise: float = 0.3 * MILLIGRAM
    drift: float = 0.0
    bubbles: float = 0.0
    gain: float | None = None
    step: float = MILLIGRAM


FAULTS = {
    "clean": Fault(0.5 * MILLIGRAM),
    "repeatability 1 mg": Fault(1.0 * MILLIGRAM),
    "drift 2.2 mg": Fault(drift=2.2 * MILLIGRAM),
    "bubble, every other dip": Fault(bubbles=0.5),
    "gain 1 %": Fault(0.5 * MILLIGRAM, gain=0.01),
    "coarse, 10 mg": Fault(8.0 * MILLIGRAM, step=10 * MILLIGRAM),
}
"""Six scales."""


def shown(fault: Fault, true: Floats, readings: int, random: np.random.Generator) -> Floats:
    """Return what the scale shows [kg] of flies of true apparent mass [kg], one column a reading."""
    size = len(true), readings
    sign = np.where(random.random(len(true)) < 0.5, -1.0, 1.0)
    gain = random.normal(0, 0.003, len(true)) if fault.gain is None else sign * fault.gain
    lift = np.pi / 6 * random.uniform(1.0, 1.8, size) ** 3 * MILLIGRAM
    lift *= random.random(size) < fault.bubbles
    zero = random.normal(0, 1, size) * fault.drift + random.normal(0, 1, size) * fault.noise
    found: Floats = np.round(((true * (1 + gain))[:, None] - lift + zero) / fault.step) * fault.step
    return found


def held(fault: Fault, readings: int, count: int, seed: int = 1) -> tuple[float, float, float]:
    """Return the share of intervals that hold the truth by the last digit alone and as stated, and the median u [kg]."""
    random = np.random.default_rng(seed)
    true = np.exp(random.uniform(np.log(40 * MILLIGRAM), np.log(300 * MILLIGRAM), count))
    rows = shown(fault, true, readings, random)
    read = [Scale(fault.step).read(tuple(row), in_water=True) for row in rows.tolist()]
    mean = np.array([one.value for one in read])
    stated = np.hypot([one.standard_uncertainty for one in read], GAIN * mean)
    off = np.abs(mean - true)
    digit = np.mean(off <= 2 * fault.step / RECTANGLE)
    return float(digit), float(np.mean(off <= 2 * stated)), float(np.median(stated))


def scales(count: int) -> None:
    """Print a line for every scale."""
    print(f"{'scale':26}{'digit alone':>12}{'once':>9}{'u, mg':>8}{'twice':>9}{'u, mg':>8}")
    for name, fault in FAULTS.items():
        digit, once, u_once = held(fault, 1, count)
        _, twice, u_twice = held(fault, 2, count)
        cells = f"{100 * digit:>11.0f}%{100 * once:>8.1f}%{u_once / MILLIGRAM:>8.2f}"
        print(f"{name:26}{cells}{100 * twice:>8.1f}%{u_twice / MILLIGRAM:>8.2f}", flush=True)


def main() -> None:
    """Print all tables."""
    scales(int(sys.argv[1]) if len(sys.argv) > 1 else 4000)


if __name__ == "__main__":
    main()
