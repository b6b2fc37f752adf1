"""The drag law of a fly: sentences and machine form."""

from __future__ import annotations

from math import exp
from typing import Any

from flybench.jobs.sink.law import FoundLaw
from flybench.quantity import COVERAGE_FACTOR
from flybench.sinking.drag.published_bodies import published_bodies
from flybench.sinking.drag.shape import LEAST_REYNOLDS, length_name
from flybench.sinking.model.law import LawParameter
from flybench.sinking.model.other_water import HIGHEST_REYNOLDS
from flybench.telling.numbers import percent, plus_minus
from flybench.telling.sink import learning
from flybench.telling.table import paragraph

_NONE_MEASURED = "No fly of this pattern was measured and weighed, so the law is what style and physics lead one to expect."
_ONE_CONDITION = (
    "The pattern was measured at one Reynolds number only, so the exponent leans on the other flies of the shop and on "
    "published bodies. Tie the dressing on another bead."
)
_ONE_WATER = (
    "No fly of this pattern was dropped in two waters, so how its drag goes with the water leans on other patterns and "
    "on published bodies. Drop one fly in cold and in warm water."
)


def lines(found: FoundLaw) -> list[str]:
    """Return a head and the law in sentences."""
    law = found.law
    area, exponent = law.area, law.exponent
    low, high = (exp(area.mean + k * COVERAGE_FACTOR * area.sd) * 1e6 for k in (-1, 1))
    text = [
        f"The drag area at Reynolds number 1000 is {exp(area.mean) * 1e6:.3g} mm², from {low:.3g} to {high:.3g} mm² "
        f"(k = 2). {_source(area)}",
        f"The exponent s is {plus_minus(exponent.mean, exponent.sd)} (k = 2). {_source(exponent)}",
        f"In water twice as viscous it drags {_thicker(law.thickness)} at the same speed (k = 2). {_source(law.thickness)}",
    ]
    if law.bare_bead is not None:
        ratio = exp(area.mean) / law.bare_bead
        text.append(f"At Reynolds number 1000 it drags like {ratio:.2g} bare beads.")
    text.append(
        f"The Reynolds number is on {length_name(law.build)}, {law.length * 1e3:.3g} mm. The law holds for Reynolds "
        f"numbers from {LEAST_REYNOLDS:g} to {HIGHEST_REYNOLDS:g}."
    )
    bodies = ", ".join(f"{one.body} {one.exponent:.1f}" for one in published_bodies())
    about = [
        _conditions(law.conditions),
        _waters(law.waters),
        f"For comparison, s of published bodies: {bodies}.",
    ]
    about += learning.lines(found.learned)
    return [
        f"Drag law of {found.of}",
        *(paragraph(line, "  ", "    ") for line in text),
        *map(paragraph, about),
    ]


def _source(one: LawParameter) -> str:
    return f"Of what is known of it, {percent(one.from_data)} comes from measurements; the rest was assumed before."


def _thicker(one: LawParameter) -> str:
    """Return by how many percent drag grows where viscosity doubles."""
    low, middle, high = (2 ** (one.mean + k * COVERAGE_FACTOR * one.sd) - 1 for k in (-1, 0, 1))
    return f"{100 * middle:.0f} % more, from {100 * low:.0f} to {100 * high:.0f} %,"


def _waters(flies: tuple[str, ...]) -> str:
    if not flies:
        return _ONE_WATER
    return f"How its drag goes with the water was measured on {', '.join(flies)}, dropped in more than one water."


def _conditions(count: int) -> str:
    if count == 0:
        return _NONE_MEASURED
    if count == 1:
        return _ONE_CONDITION
    return f"The pattern was measured at {count} Reynolds numbers that are at least 15 % apart."


def record(found: FoundLaw) -> dict[str, Any]:
    """Return the same in machine form."""
    law = found.law
    return {
        "of": found.of,
        "variant": law.build.code,
        "length_m": law.length,
        "bare_bead_area_m2": law.bare_bead,
        "ln_area_m2_at_re_1000": _parameter(law.area),
        "exponent": _parameter(law.exponent),
        "viscosity_exponent": _parameter(law.thickness),
        "conditions": law.conditions,
        "dropped_in_two_waters": list(law.waters),
        "points": [
            {
                "fly": point.fly,
                "reynolds": point.reynolds,
                "drag_area_m2": point.area,
                "standard_uncertainty_m2": point.uncertainty,
                "temperature_k": point.temperature,
            }
            for point in law.points
        ],
        "learned_from": learning.record(found.learned),
    }


def _parameter(one: LawParameter) -> dict[str, float]:
    return {
        "mean": one.mean,
        "standard_uncertainty": one.sd,
        "prior_mean": one.prior_mean,
        "prior_standard_uncertainty": one.prior_sd,
        "from_data": one.from_data,
    }
