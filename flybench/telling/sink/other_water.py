"""Sink speeds in other water: table, remarks and machine form."""

from __future__ import annotations

from typing import Any

from flybench.jobs.sink.other_water import OtherWater
from flybench.sinking.drag.shape import LEAST_REYNOLDS
from flybench.sinking.model.other_water import HIGHEST_REYNOLDS, SpeedInOtherWater
from flybench.telling.numbers import plus_minus
from flybench.telling.sink import learning, one_water
from flybench.telling.sink.drag import uncertainty
from flybench.telling.table import fitted
from flybench.telling.wording import listed

_LEAST = 1e-4
"""A change known to better than this share of itself is not worth more digits [-] (judgement)."""


def lines(found: OtherWater) -> list[str]:
    """Return a table from the slowest to the fastest."""
    head = ["fly", "measured cm/s", "in", f"at {one_water.water_text(found.water)}, cm/s", "change"]
    return fitted([head, *(_row(one) for one in found.flies)], [False, True, True, True, True])


def _row(one: SpeedInOtherWater) -> list[str]:
    fly = one.measured
    same = one.change == 1.0 and one.change_uncertainty == 0.0
    change = plus_minus(one.change - 1, max(one.change_uncertainty, _LEAST / 2), 100)
    return [
        fly.fly,
        plus_minus(fly.speed, uncertainty(fly), 100),
        one_water.water_text(fly.water),
        plus_minus(one.speed, one.uncertainty, 100),
        "same water" if same else f"{change} %",
    ]


def remarks(found: OtherWater) -> list[str]:
    """Return what a reader should know of the change."""
    notes = []
    codes = [one.measured.fly for one in found.flies]
    several = [code for code in dict.fromkeys(codes) if codes.count(code) > 1]
    if several:
        notes.append(
            "Measured in more than one water, so the speed is that of all runs together, as on the ladder: "
            f"{one_water.named(several)}."
        )
    unknown = list(dict.fromkeys(one.measured.fly for one in found.flies if one.density_assumed))
    if unknown:
        notes.append(
            f"The weight in water is not known, so a usual density was assumed: {', '.join(unknown)}. "
            "Weigh them: flybench fly weigh CODE"
        )
    stretched = list(dict.fromkeys(one.measured.fly for one in found.flies if one.out_of_range))
    if stretched:
        notes.append(
            f"The Reynolds number lies outside the range of the drag law, {LEAST_REYNOLDS:g} to "
            f"{HIGHEST_REYNOLDS:g}, so the change is less sure than its ± says: {', '.join(stretched)}."
        )
    if found.floating:
        notes.append(
            f"By their weight these would float in that water, so they are not shown: {listed(found.floating)}. "
            "Weigh them again: flybench fly weigh CODE"
        )
    notes.append("How the drag of a fly goes with the water is shown by: flybench sink law FLY")
    return notes


def record(found: OtherWater) -> dict[str, Any]:
    """Return the same in machine form."""
    return {
        "water": learning.water_record(found.water),
        "learned_from": None if found.learned is None else learning.record(found.learned),
        "floating": list(found.floating),
        "flies": [
            {
                "code": one.measured.fly,
                "variant": one.measured.build.code,
                "measured_m_s": one.measured.speed,
                "measured_temperature_k": one.measured.temperature,
                "sink_speed_m_s": one.speed,
                "standard_uncertainty_m_s": one.uncertainty,
                "change": one.change,
                "change_standard_uncertainty": one.change_uncertainty,
                "reynolds": one.reynolds,
                "density_assumed": one.density_assumed,
                "out_of_range": one.out_of_range,
            }
            for one in found.flies
        ],
    }
