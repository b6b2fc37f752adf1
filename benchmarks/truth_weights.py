"""Weights by scales with known faults, and predictions of untied flies: how often do the intervals hold the truth?

    python benchmarks/truth_weights.py [COUNT] [SHOPS]

Six scales, each read once and twice. For each: the share of k = 2 intervals of the weight in water that hold the true
weight, when only the last digit counts, and as stated; and the median of the stated uncertainty. Errors are drawn, not
taken from the program: noise of every reading, a zero that drifts between tare and reading, a bubble of 1.0 to 1.8 mm on
every other dip, a gain, and rounding to the last digit. Wanted: 90 to 98 %.

Then predictions of 12 untied flies a shop, learned from 3, 10 and 40 flies, in shops whose drag follows other laws than
the model's (tests/helpers/fly_worlds), with beads as heavy as listed and a tenth heavier, and of published bodies. For
each: the share of 50, 80 and 95 % intervals that hold the truth, bias and root mean square of ln(speed), the error that is
printed (variants left out), and log scores beside those of a line through logarithms, the nearest fly and a plain
Gaussian process. Wanted: 47 to 53, 77 to 83, 93 to 97 %, and the best score.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.stats import gaussian_kde

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "helpers"))
from fly_worlds import ROOM, WATER, BendingShop, Case, bodies
from rival_rules import RULES

from flybench.hydraulics.water import Water
from flybench.jobs.shelf.weigh import Scale
from flybench.sinking.model.forecast import Forecast, forecast
from flybench.sinking.model.leave_one_out import leave_one_out
from flybench.sinking.model.shop_fit import fit_shop
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


LEVELS = (0.5, 0.8, 0.95)
"""Levels of intervals that are looked at [-]."""
ASKED = 12
"""Untied flies a shop."""


def shop_of(kind: str, seed: int, count: int) -> tuple[list[Case], list[Case], Water]:
    """Return flies to learn from, untied flies of other variants, and the water."""
    if kind == "bodies":
        found = bodies(seed)
        return found[:count], found[count : count + ASKED], WATER
    shop = BendingShop(seed, 0.1 if kind == "heavier beads" else 0.0)
    known = [shop.tie() for _ in range(count)]
    codes = {one.measured.build.code for one in known}
    asked: list[Case] = []
    while len(asked) < ASKED:
        one = shop.tie()
        if one.measured.build.code not in codes:
            asked.append(one)
    return known, asked, ROOM


@dataclass(frozen=True)
class Foretold:
    """What came of many shops: places of the truth within the forecasts [-], errors of ln(speed), printed errors squared,
    and log scores by rule."""

    places: Floats
    errors: Floats
    printed: list[float]
    scores: dict[str, list[float]]

    def held(self, level: float) -> float:
        """Return the share of intervals of a level that hold the truth [-]."""
        return float(np.mean(np.abs(self.places - 0.5) <= level / 2))

    def line(self) -> str:
        """Return all of it as a line."""
        held = "/".join(f"{100 * self.held(level):.0f}" for level in LEVELS)
        size = np.sqrt(np.mean(self.errors**2))
        printed = f"{100 * np.sqrt(np.mean(self.printed)):.1f}" if self.printed else "-"
        scores = "".join(f"{np.mean(each):>9.2f}" for each in self.scores.values())
        return f"{held:>10}{100 * np.mean(self.errors):>+8.1f}{100 * size:>8.1f}{printed:>9}{scores}"


def foretold(kind: str, count: int, shops: int, first: int = 0) -> Foretold:
    """Predict the untied flies of many shops, from the seed ``first`` on, from ``count`` flies each."""
    places, errors, printed = [], [], []
    scores: dict[str, list[float]] = defaultdict(list)
    for seed in range(first, first + shops):
        known, asked, water = shop_of(kind, seed, count)
        builds = [one.measured.build for one in asked]
        fit = fit_shop([one.measured for one in known], builds)
        found = forecast(fit, builds, [one.parts for one in asked], water)
        places += [float(np.mean(one.draws <= each.speed)) for one, each in zip(found, asked, strict=True)]
        errors += [np.log(one.speed / each.speed) for one, each in zip(found, asked, strict=True)]
        scores["model"] += [_score(one, each.speed) for one, each in zip(found, asked, strict=True)]
        for name, rule in RULES.items():
            scores[name] += rule(known, asked).tolist()
        left_out = leave_one_out(fit)
        printed += [] if left_out is None else [left_out.rms**2]
    return Foretold(np.array(places), np.array(errors), printed, scores)


def _score(one: Forecast, truth: float) -> float:
    """Return the log density of ln(speed) at the truth."""
    return float(np.log(gaussian_kde(np.log(one.draws))(np.log(truth))[0] + 1e-12))


def predictions(shops: int, first: int = 0) -> None:
    """Print a line for every kind of shop and number of flies."""
    head = "".join(f"{name:>9}" for name in ("model", *RULES))
    print(f"{'learned from':>18}{'flies':>6}{'held, %':>10}{'bias, %':>8}{'rms, %':>8}{'printed':>9}{head}")
    for kind in ("as listed", "heavier beads", "bodies"):
        for count in (3, 10, 40):
            print(f"{kind:>18}{count:>6}{foretold(kind, count, shops, first).line()}", flush=True)


def main() -> None:
    """Print all tables."""
    scales(int(sys.argv[1]) if len(sys.argv) > 1 else 4000)
    predictions(int(sys.argv[2]) if len(sys.argv) > 2 else 12)


if __name__ == "__main__":
    main()
