"""Plan a bench run: what to set up for a wanted precision, with the reason for each size."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from flybench import __version__
from flybench.bench import planning
from flybench.bench.planning import Design
from flybench.bench.planning_terms import Wish
from flybench.errors import BadValueError
from flybench.hydraulics import falling
from flybench.jobs.plan_reasons import Advice, advice_on, mm, percent, stoppers, warnings_about
from flybench.quantity import COVERAGE_FACTOR, inside, parse, speed_text

DENSITY_RATIO = 2.5
"""Fly over water when neither ratio nor response time is given: a small brass bead with its dressing."""
UNITS = {
    "speed": "m/s",
    "precision": "1",
    "fly-width": "m",
    "density-ratio": "1",
    "response-time": "s",
    "temperature": "K",
    "frame-rate": "Hz",
    "column": "m",
    "gap": "m",
    "spread": "1",
}
"""What can be wished for, in the unit each is read in."""


@dataclass(frozen=True)
class PlanMade:
    """The design, the advice drawn from it, what stops the wish, and what to mind."""

    design: Design
    advice: list[Advice]
    stoppers: list[str]
    warnings: list[str]

    @property
    def verdict(self) -> str:
        """Whether the wish can be met, in one line."""
        design = self.design
        wish, expanded = design.wish, design.expanded
        if design.meets:
            speed = speed_text(wish.speed, expanded * wish.speed)
            return f"Yes: ±{percent(wish.precision)} can be met; expect {speed} (k = 2) in free water."
        if not design.settles:
            return f"No: the fly does not settle in the {mm(design.column)} of fall that can be seen."
        return f"No: ±{percent(wish.precision)} cannot be met; the best here is ±{percent(expanded)} (k = 2)."

    def as_json(self) -> dict[str, Any]:
        """Return the machine form, SI units."""
        design = self.design
        return {
            "flybench": __version__,
            "met": design.meets,
            "verdict": self.verdict,
            "wish": _wish_json(design.wish),
            "relative_expanded_uncertainty": design.expanded,
            "relative_expanded_uncertainty_in_tank": design.expanded_in_tank,
            "coverage_factor": COVERAGE_FACTOR,
            "advice": [
                {"item": a.item, "value": a.value, "unit": a.unit, "reason": a.reason, "numbers": a.numbers}
                for a in self.advice
            ],
            "budget": [
                {"source": line.source, "relative_standard_uncertainty": line.standard_uncertainty}
                for line in design.budget
            ],
            "stopped_by": self.stoppers,
            "warnings": self.warnings,
        }


def make_plan(texts: Mapping[str, str], tracking_noise: float = 0.2, pixels: int = 1920) -> PlanMade:
    """Plan from what the user wrote: keys as in UNITS, "speed" among them; noise and picture in pixels."""
    given = {key: parse(text, UNITS[key], key) for key, text in texts.items()}
    speed, response = given["speed"], given.pop("response-time", None)
    ratio = given.pop("density-ratio", None)
    if response is None:
        response = _response_time(speed, DENSITY_RATIO if ratio is None else ratio)
    elif ratio is not None:
        raise BadValueError("density-ratio", "given together with response-time", "Give one of the two.")
    given.setdefault("precision", 0.03)
    settings = {key.replace("-", "_"): value for key, value in given.items()}
    wish = Wish(**settings, response_time=response, tracking_noise=tracking_noise, pixels=pixels)
    design = planning.plan(wish)
    return PlanMade(
        design, advice_on(design), [] if design.meets else stoppers(design), warnings_about(design)
    )


def _response_time(speed: float, ratio: float) -> float:
    """Return the response time of a fly so dense, with a sphere's added mass [s]."""
    inside("speed", speed, 0.01, 3.0, "m/s", "Give about the speed expected: flies sink at 5 to 100 cm/s.")
    cure = "Give fly over water density, 1.05 to 20: 2.5 for a small brass bead, up to 8 for big tungsten."
    inside("density-ratio", ratio, 1.05, 20.0, "", cure)
    return float(falling.response_time(speed, ratio))


def _wish_json(wish: Wish) -> dict[str, float | None]:
    """Return the wish with its units in the keys."""
    return {
        "speed_m_s": wish.speed,
        "relative_precision": wish.precision,
        "response_time_s": wish.response_time,
        "fly_width_m": wish.fly_width,
        "temperature_k": wish.temperature,
        "relative_spread": wish.spread,
        "tracking_noise_px": wish.tracking_noise,
        "pixels": wish.pixels,
        "frame_rate_hz": wish.frame_rate,
        "column_m": wish.column,
        "gap_m": wish.gap,
    }
