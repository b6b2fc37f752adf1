"""Plan a bench run: what to set up for a wanted precision, with the reason for each size."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from flybench import __version__
from flybench.bench.plan import search as planning
from flybench.bench.plan.set_up import SetUp
from flybench.bench.plan.terms import ASSURANCE, Wish
from flybench.errors import BadValueError
from flybench.hydraulics import falling_body as falling
from flybench.jobs.bench.plan_limits import stoppers, warnings_about
from flybench.jobs.bench.plan_reasons import Advice, advice_on, given, spread_of
from flybench.quantity import COVERAGE_FACTOR, inside, parse, speed_text

DENSITY_RATIO = 2.5
"""Fly over water when neither ratio nor response time is given: a small brass bead with its dressing."""
PRECISION = 0.02
"""Wished when nothing else is, k = 2 [-]."""
UNITS = {
    "speed": "m/s",
    "precision": "1",
    "fly-width": "m",
    "density-ratio": "1",
    "response-time": "s",
    "temperature": "K",
    "frame-rate": "Hz",
    "column": "m",
    "distance": "m",
    "tank-width": "m",
    "spread": "1",
    "gap-uncertainty": "m",
}
"""What can be wished for, in the unit each is read in."""


@dataclass(frozen=True)
class PlanMade:
    """The set-up, the advice drawn from it, what stops the wish, and what to mind."""

    plan: SetUp
    advice: list[Advice]
    stoppers: list[str]
    warnings: list[str]

    @property
    def verdict(self) -> str:
        """Whether the wish can be met, in one line."""
        plan = self.plan
        where = "in free water" if plan.wish.free_water else "in the tank"
        wanted = f"±{given(plan.wish.precision)} {where}"
        if plan.meets:
            speed = speed_text(plan.wish.speed, plan.wanted * plan.wish.speed)
            return f"Yes: {wanted} can be met; expect {speed} (k = 2)."
        if plan.settles and plan.sees_card and math.isfinite(plan.wanted):
            best = spread_of(plan.wanted, plan.wish.precision)
            return f"No: {wanted} cannot be met; the best possible here is {best} (k = 2)."
        return f"No: {wanted} cannot be met."

    def as_json(self) -> dict[str, Any]:
        """Return the machine form, SI units; null where a number would be infinite."""
        plan = self.plan
        return {
            "flybench": __version__,
            "met": plan.meets,
            "verdict": self.verdict,
            "wish": _wish_json(plan.wish),
            "relative_expanded_uncertainty_in_tank": _finite(plan.in_tank),
            "relative_expanded_uncertainty_in_free_water": _finite(plan.in_free_water),
            "coverage_factor": COVERAGE_FACTOR,
            "share_of_runs_as_good": ASSURANCE,
            "advice": [
                {"item": a.item, "value": a.value, "unit": a.unit, "reason": a.reason, "numbers": a.numbers}
                for a in self.advice
            ],
            "budget": [
                {
                    "source": line.source,
                    "relative_standard_uncertainty": _finite(line.standard_uncertainty),
                }
                for line in plan.budget
            ],
            "walls_relative_standard_uncertainty": _finite(plan.walls),
            "stopped_by": self.stoppers,
            "warnings": self.warnings,
        }


def make_plan(texts: Mapping[str, str], free_water: bool = False) -> PlanMade:
    """Plan from what the user wrote: keys as in UNITS, "speed" among them."""
    read = {key: parse(text, UNITS[key], key) for key, text in texts.items()}
    speed, response = read["speed"], read.pop("response-time", None)
    ratio = read.pop("density-ratio", None)
    if response is None:
        response = _response_time(speed, DENSITY_RATIO if ratio is None else ratio)
    elif ratio is not None:
        raise BadValueError("density-ratio", "given together with response-time", "Give one of the two.")
    if "gap-uncertainty" in read:
        read["gap-uncertainty"] /= COVERAGE_FACTOR
    read.setdefault("precision", PRECISION)
    settings = {key.replace("-", "_"): value for key, value in read.items()}
    plan = planning.plan(Wish(**settings, response_time=response, free_water=free_water))
    return PlanMade(plan, advice_on(plan), [] if plan.meets else stoppers(plan), warnings_about(plan))


def _response_time(speed: float, ratio: float) -> float:
    """Return the response time of a fly so dense, with a sphere's added mass [s]."""
    inside("speed", speed, 0.01, 3.0, "m/s", "Give about the speed expected: flies sink at 5 to 100 cm/s.")
    cure = "Give fly over water density, 1.05 to 20: 2.5 for a small brass bead, up to 8 for big tungsten."
    inside("density-ratio", ratio, 1.05, 20.0, "", cure)
    return float(falling.response_time(speed, ratio))


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _wish_json(wish: Wish) -> dict[str, float | bool | None]:
    """Return the wish with its units in the keys."""
    return {
        "speed_m_s": wish.speed,
        "relative_precision": wish.precision,
        "free_water": wish.free_water,
        "response_time_s": wish.response_time,
        "fly_width_m": wish.fly_width,
        "temperature_k": wish.temperature,
        "relative_spread": wish.spread,
        "gap_standard_uncertainty_m": wish.gap_uncertainty,
        "frame_rate_hz": wish.frame_rate,
        "column_m": wish.column,
        "distance_m": wish.distance,
        "tank_width_m": wish.tank_width,
    }
