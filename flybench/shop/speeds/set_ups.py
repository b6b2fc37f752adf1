"""Which bench runs were made in one set-up, as far as their sheets say, and what of their doubt differs by clip."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flybench.bench.sheet.read import read_sheet
from flybench.bench.sheet.settings import CameraSettings, ScaleSettings, TankSettings
from flybench.catalog.tables.flies import BenchRun
from flybench.errors import BadValueError

SAME_WATER, SAME_SALT = 1.0, 1e-3
"""Water no farther apart than this [K], [kg/kg], counts as one; so much salt makes less than 0.1 % of the density
(judgement)."""
PER_CLIP_SOURCES = ("card corners", "history force", "vertical")
"""Lines of the budget that are other errors in each clip or for each fly: they do not cancel, even in one set-up."""


@dataclass(frozen=True)
class SetUp:
    """Tank, camera and scale of a run as its sheet has them, the salt [kg/kg], and the picture's size."""

    tank: TankSettings
    camera: CameraSettings
    scale: ScaleSettings
    salinity: float
    picture: tuple[Any, ...]

    def differs(self, other: SetUp) -> list[str]:
        """Return the names of what differs."""
        names = {
            "tank": "tank",
            "camera": "camera",
            "scale": "scale",
            "salinity": "salt",
            "picture": "camera",
        }
        found = [word for name, word in names.items() if getattr(self, name) != getattr(other, name)]
        return list(dict.fromkeys(found))


def set_up_of(run: BenchRun) -> SetUp | None:
    """Return a run's set-up, or None where its sheet cannot be read."""
    try:
        sheet = read_sheet(run.sheet)
    except BadValueError:
        return None
    clip = run.result.get("clip") or {}
    picture = tuple(clip.get(name) for name in ("width", "height", "rotation"))
    return SetUp(sheet.tank, sheet.camera, sheet.scale, sheet.salinity, picture)


def numbered(set_ups: Sequence[SetUp | None], temperatures: Sequence[float]) -> list[int]:
    """Return the number of each run's set-up: one where all agrees and water [K] is within 1 K of the coldest.

    An unknown set-up is nobody else's.
    """
    begun: list[tuple[SetUp | None, float]] = []
    numbers = [0] * len(set_ups)
    for place in sorted(range(len(set_ups)), key=lambda place: temperatures[place]):
        here, kelvin = set_ups[place], temperatures[place]
        known = [
            number
            for number, (one, coldest) in enumerate(begun)
            if here is not None and one == here and kelvin - coldest <= SAME_WATER
        ]
        if not known:
            begun.append((here, kelvin))
        numbers[place] = known[-1] if known else len(begun) - 1
    return numbers


def per_clip_share(run: BenchRun) -> float:
    """Return the relative standard uncertainty of a run that is another error in each clip, 0 where not known."""
    if not run.sink_speed_m_s:
        return 0.0
    lines: Sequence[Mapping[str, Any]] = run.result.get("budget") or []
    sizes = [line["standard_uncertainty_m_s"] for line in lines if line["source"] in PER_CLIP_SOURCES]
    return math.hypot(*sizes) / run.sink_speed_m_s
