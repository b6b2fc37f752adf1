"""What a bench run found: plain records, and their machine form."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from flybench.bench.fit.fall import FallFit
from flybench.bench.track.drop import Drop
from flybench.bench.verdict.flags import doubts, refuses
from flybench.bench.verdict.time_base import TimeBase
from flybench.quantity import COVERAGE_FACTOR
from flybench.statistics.budget import BudgetLine, combined, effective_degrees_of_freedom

_GOOD_DROPS = 3
"""Drops from which a result can be good [-]: two cannot show which of them is odd (judgement)."""
_GOOD_RELATIVE = 0.03
"""Largest expanded uncertainty over the speed of a good result, k = 2 [-]: about a ninth of the 26 % from one speed
band of the R10 series to the next (ISO 3), so that the band is sure save near its edge (judgement)."""


@dataclass(frozen=True)
class ClipFacts:
    """What the file is, as shown to the user; times are real seconds."""

    name: str
    sha256: str
    frames: int
    width: int
    height: int
    rotation: int
    duration_s: float
    capture_rate_hz: float
    stretch: float


@dataclass(frozen=True)
class MeasuredDrop:
    """One drop with its fit; ``uncertainty`` [m/s] is fit, history force and everything shared together."""

    drop: Drop
    fit: FallFit | None
    uncertainty: float
    tilt_degrees: float
    flags: list[str]
    why: str = ""
    """What the user said about it, where the user left it out; or how a stray drop's speed compares."""
    growth: float = 0.0
    """By how much the picture grew or shrank for a moment while it fell, relative [-]."""

    @property
    def flags_told(self) -> list[str]:
        """Return the flags as a person reads them: with the reason where there is one."""
        explained = ("left-out", "stray-drop") if self.why else ()
        return [f"{flag} ({self.why})" if flag in explained else flag for flag in self.flags]

    @property
    def used(self) -> bool:
        """Tell whether its speed counts."""
        return self.fit is not None and not refuses(self.flags)


@dataclass(frozen=True)
class FreeWater:
    """Sink speed with the walls taken out [m/s]; what walls and card left of it [-], and the relative
    standard uncertainty of what the walls of the tank did [-]."""

    speed: float
    uncertainty: float
    wall_factor: float
    tank_doubt: float = 0.0


@dataclass(frozen=True)
class MeasuredDrag:
    """Drag of the fly: submerged weight [N], drag area [m2], coefficient on the bead's frontal area."""

    submerged_weight: float
    submerged_weight_uncertainty: float
    drag_area: float
    drag_area_uncertainty: float
    drag_coefficient: float | None
    reference_area: float | None
    reynolds: float | None
    dressing_factor: float | None


@dataclass(frozen=True)
class BenchResult:
    """Everything ``bench measure`` has to say about a clip."""

    clip: ClipFacts
    scale_source: str
    metres_per_px: float
    scale_relative_uncertainty: float
    drops: list[MeasuredDrop]
    sink_speed: float | None
    budget: list[BudgetLine] = field(default_factory=list)
    drop_spread: float = 0.0
    free_water: FreeWater | None = None
    drag: MeasuredDrag | None = None
    flags: list[str] = field(default_factory=list)
    left_out: dict[str, int] = field(default_factory=dict)
    time_base: TimeBase | None = None
    """What the times rest on; None where no fall was seen."""

    @property
    def standard_uncertainty(self) -> float | None:
        """Return the combined standard uncertainty of the sink speed in the tank [m/s]."""
        return combined(self.budget) if self.sink_speed is not None else None

    @property
    def degrees_of_freedom(self) -> float | None:
        """Return the effective degrees of freedom (Welch-Satterthwaite)."""
        return effective_degrees_of_freedom(self.budget) if self.sink_speed is not None else None

    @property
    def used_drops(self) -> list[MeasuredDrop]:
        """Return the drops that count."""
        return [drop for drop in self.drops if drop.used]

    @property
    def all_flags(self) -> list[str]:
        """Return the clip's flags and those of drops, each once."""
        return list(dict.fromkeys(self.flags + [flag for drop in self.drops for flag in drop.flags]))

    @property
    def verdict(self) -> str:
        """Return good, usable or refused."""
        uncertainty = self.standard_uncertainty
        if self.sink_speed is None or uncertainty is None:
            return "refused"
        used = self.used_drops
        raised = self.flags + [flag for drop in used for flag in drop.flags]
        fine = COVERAGE_FACTOR * uncertainty <= _GOOD_RELATIVE * self.sink_speed
        return "good" if fine and len(used) >= _GOOD_DROPS and not doubts(raised) else "usable"


def as_json(result: BenchResult, version: str) -> dict[str, Any]:
    """Return the machine form: SI units, real seconds from the first frame, null where not measurable."""
    uncertainty = result.standard_uncertainty
    return {
        "flybench": version,
        "clip": vars(result.clip),
        "scale": {
            "source": result.scale_source,
            "mm_per_px": result.metres_per_px * 1e3,
            "relative_standard_uncertainty": result.scale_relative_uncertainty,
        },
        "drops": [_drop(drop) for drop in result.drops],
        "sink_speed_m_s": result.sink_speed,
        "standard_uncertainty_m_s": uncertainty,
        "coverage_factor": COVERAGE_FACTOR,
        "expanded_uncertainty_m_s": None if uncertainty is None else COVERAGE_FACTOR * uncertainty,
        "degrees_of_freedom": _finite(result.degrees_of_freedom),
        "free_water": _free_water(result.free_water),
        "drag": _drag(result.drag),
        "budget": [
            {"source": line.source, "standard_uncertainty_m_s": line.standard_uncertainty}
            for line in result.budget
        ],
        "flags": result.all_flags,
        "verdict": result.verdict,
    }


def _finite(value: float | None) -> float | None:
    """Return the value, or None where it is infinite: JSON has no infinity."""
    return value if value is not None and math.isfinite(value) else None


def _drop(measured: MeasuredDrop) -> dict[str, Any]:
    drop, fit = measured.drop, measured.fit
    told: dict[str, Any] = {
        "start_s": float(drop.times[0]),
        "end_s": float(drop.times[-1]),
        "frames_used": len(drop.times),
    }
    names = (
        "sink_speed_m_s",
        "standard_uncertainty_m_s",
        "fit_uncertainty_m_s",
        "start_speed_m_s",
        "response_time_s",
    )
    if fit is None:
        told |= dict.fromkeys((*names, "terminal_share"))
    else:
        values = (
            fit.terminal_speed,
            measured.uncertainty,
            fit.fit_uncertainty,
            fit.start_speed,
            fit.response_time,
        )
        told |= dict(zip(names, values, strict=True)) | {
            "terminal_share": fit.terminal_share,
            "frames_used": int(fit.used.sum()),
        }
    residual = None if fit is None else float((fit.residuals[fit.used] ** 2).mean() ** 0.5 * 1e3)
    return told | {
        "path_tilt_deg": measured.tilt_degrees,
        "residual_rms_mm": residual,
        "used": measured.used,
        "flags": measured.flags,
    }


def _free_water(free: FreeWater | None) -> dict[str, float] | None:
    if free is None:
        return None
    return {
        "sink_speed_m_s": free.speed,
        "standard_uncertainty_m_s": free.uncertainty,
        "wall_factor": free.wall_factor,
    }


def _drag(drag: MeasuredDrag | None) -> dict[str, float | None] | None:
    if drag is None:
        return None
    return {
        "submerged_weight_n": drag.submerged_weight,
        "submerged_weight_uncertainty_n": drag.submerged_weight_uncertainty,
        "drag_area_m2": drag.drag_area,
        "drag_area_uncertainty_m2": drag.drag_area_uncertainty,
        "drag_coefficient": drag.drag_coefficient,
        "reference_area_m2": drag.reference_area,
        "reynolds": drag.reynolds,
        "dressing_factor": drag.dressing_factor,
    }
