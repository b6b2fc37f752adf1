"""A plan of a bench run in words and as machine form: the verdict first, then every size with its reason."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import Any

from flybench.bench.plan.asked import DENSITY_RATIO
from flybench.bench.plan.set_up import BenchSetUp
from flybench.bench.plan.terms import ASSURANCE, PlanGoal
from flybench.quantity import COVERAGE_FACTOR, celsius
from flybench.rounding import speed_text
from flybench.telling.bench.plan_advice import RUNS_AS_GOOD, advice_on, given, mm, percent, spread_of
from flybench.telling.bench.plan_limits import stoppers, warnings_about
from flybench.telling.table import paragraph
from flybench.telling.wording import listed
from flybench.version import __version__

_NEGLIGIBLE = 0.02
"""Share of the whole below which a source is left out of the words (judgement) [-]."""
_LABELS = {"card (gap)": "card to fly"}
"""What a size is called in the table, where the machine form has another name."""


def plan_verdict(plan: BenchSetUp) -> str:
    """Return in one sentence whether the wanted precision can be reached."""
    where = "in free water" if plan.wish.free_water else "in the tank"
    wanted = f"±{given(plan.wish.precision)} of the speed {where}"
    if plan.meets:
        speed = speed_text(plan.wish.speed, plan.wanted * plan.wish.speed)
        return f"Yes: {wanted} can be reached; expect {speed}, k = 2."
    if plan.settles and plan.sees_card and math.isfinite(plan.wanted):
        best = spread_of(plan.wanted, plan.wish.precision)
        return f"No: {wanted} cannot be reached; the best possible here is {best}, k = 2."
    return f"No: {wanted} cannot be reached."


def lines(plan: BenchSetUp, asked: Collection[str]) -> list[str]:
    """Return the verdict, what stops the goal, the sizes with reasons, what to expect, and what was assumed.

    ``asked`` names the values that the user gave, as in ``bench.plan.asked.UNITS``.
    """
    lines = [_wrapped("", plan_verdict(plan))]
    if not plan.meets:
        lines += ["What stops it:", *(_wrapped("  - ", stopper) for stopper in stoppers(plan))]
    advice = advice_on(plan)
    labels = [_LABELS.get(one.item, one.item) for one in advice]
    names, sizes = max(map(len, labels)), max(len(one.text) for one in advice)
    lines.append("")
    for label, one in zip(labels, advice, strict=True):
        lines.append(_wrapped(f"{label:<{names}}  {one.text:>{sizes}}  ", one.reason))
    lines += ["", *_expected(plan)]
    lines += [_wrapped("Note: ", warning) for warning in warnings_about(plan)]
    return [*lines, *_assumed(plan.wish, asked)]


def _expected(plan: BenchSetUp) -> list[str]:
    """Return both speeds' expected uncertainty and the budget behind them, the largest first."""
    largest = sorted(plan.budget, key=lambda line: -line.standard_uncertainty)
    parts = [
        f"{line.source} {percent(COVERAGE_FACTOR * line.standard_uncertainty)}"
        for line in largest
        if math.isfinite(line.standard_uncertainty)
        and COVERAGE_FACTOR * line.standard_uncertainty >= _NEGLIGIBLE * plan.in_tank
    ]
    walls = f"the same, and walls {percent(COVERAGE_FACTOR * plan.walls)}"
    if not math.isfinite(plan.walls):
        walls = "the fly is too wide for so narrow a tank"
    return [
        _wrapped(
            "", f"What to expect, k = 2 ({RUNS_AS_GOOD} runs set up like this come out as good or better):"
        ),
        _wrapped("  in the tank    ", f"{spread_of(plan.in_tank)}: {', '.join(parts)}."),
        _wrapped("  in free water  ", f"{spread_of(plan.in_free_water)}: {walls}."),
    ]


def _assumed(goal: PlanGoal, asked: Collection[str]) -> list[str]:
    """Return in one sentence what was taken because it was not given."""
    dense = "" if "response_time" in asked else f"a fly {DENSITY_RATIO:g} times as dense as water"
    taken = {
        "temperature": f"water of {celsius(goal.temperature):.4g} °C",
        "fly_width": f"a fly {mm(goal.fly_width)} wide",
        "density_ratio": dense,
        "spread": f"drops that differ by {given(goal.spread)}",
        "gap_uncertainty": f"a distance from card to fly known to ±{mm(COVERAGE_FACTOR * goal.gap_uncertainty)}",
    }
    parts = [
        f"{text} (--{key.replace('_', '-')})" for key, text in taken.items() if text and key not in asked
    ]
    return [_wrapped("", f"Assumed, as it was not given: {listed(parts)}.")] if parts else []


def _wrapped(head: str, text: str) -> str:
    """Return a paragraph hung under its head."""
    return paragraph(head + text, "", " " * len(head))


def record(plan: BenchSetUp) -> dict[str, Any]:
    """Return the machine form, SI units; null where a number would be infinite."""
    return {
        "flybench": __version__,
        "met": plan.meets,
        "verdict": plan_verdict(plan),
        "wish": _goal_record(plan.wish),
        "relative_expanded_uncertainty_in_tank": _finite(plan.in_tank),
        "relative_expanded_uncertainty_in_free_water": _finite(plan.in_free_water),
        "coverage_factor": COVERAGE_FACTOR,
        "share_of_runs_as_good": ASSURANCE,
        "advice": [
            {"item": a.item, "value": a.value, "unit": a.unit, "reason": a.reason, "numbers": dict(a.numbers)}
            for a in advice_on(plan)
        ],
        "budget": [
            {"source": line.source, "relative_standard_uncertainty": _finite(line.standard_uncertainty)}
            for line in plan.budget
        ],
        "walls_relative_standard_uncertainty": _finite(plan.walls),
        "stopped_by": [] if plan.meets else stoppers(plan),
        "warnings": warnings_about(plan),
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _goal_record(goal: PlanGoal) -> dict[str, float | bool | None]:
    """Return the goal with its units in the keys."""
    return {
        "speed_m_s": goal.speed,
        "relative_precision": goal.precision,
        "free_water": goal.free_water,
        "response_time_s": goal.response_time,
        "fly_width_m": goal.fly_width,
        "temperature_k": goal.temperature,
        "relative_spread": goal.spread,
        "gap_standard_uncertainty_m": goal.gap_uncertainty,
        "frame_rate_hz": goal.frame_rate,
        "column_m": goal.column,
        "distance_m": goal.distance,
        "tank_width_m": goal.tank_width,
    }
