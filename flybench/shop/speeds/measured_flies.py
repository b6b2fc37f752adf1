"""Measured flies of the catalog as records for the drag model: one for each fly and water temperature."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from flybench.bench.sheet.read import read_sheet
from flybench.catalog.tables.flies import Fly
from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.water import Water
from flybench.shop.fly.builds import build_of
from flybench.shop.fly.weights import Weighed, readings_in, readings_of, weigh
from flybench.shop.speeds.run_parts import RunParts, by_water
from flybench.shop.speeds.set_ups import readable
from flybench.shop.speeds.shop_runs import ShopRuns
from flybench.shop.speeds.sides import FlyRuns, fly_side
from flybench.sinking.drag.steady_fall import SteadyDrag, drag_of
from flybench.sinking.drag.tied_fly import MeasuredFly


@dataclass
class Remarks:
    """What should be known of flies whose weight is not known or stands on assumptions, by fly; doubts, what of it says
    that readings look wrong, each once."""

    by_fly: dict[str, list[str]] = field(default_factory=dict)
    doubts: list[str] = field(default_factory=list)

    def add(self, fly: str, lines: Sequence[str]) -> None:
        """Add lines, each once."""
        kept = self.by_fly.setdefault(fly, [])
        kept += [line for line in lines if line not in kept]

    @property
    def lines(self) -> list[str]:
        """Return all of them, fly by fly."""
        return [line for lines in self.by_fly.values() for line in lines]


@dataclass(frozen=True)
class FlyDrag:
    """A measured fly in one water and its drag, None where its weight is not known."""

    measured: MeasuredFly
    drag: SteadyDrag | None


@dataclass(frozen=True)
class Drags:
    """Flies from the least drag to the most, those without last, and remarks on weights."""

    flies: list[FlyDrag]
    remarks: list[str]


def drags_of(flies: Iterable[MeasuredFly], remarks: Remarks) -> Drags:
    """Return the drag of measured flies, with the remarks on their weights and on a drag that cannot be."""
    found = [FlyDrag(one, drag_of(one)) for one in flies]
    found.sort(key=lambda one: (one.drag is None, one.drag.area.value if one.drag else 0.0, one.measured.fly))
    impossible = [
        f"{one.measured.fly}: it drags less than its bead alone would. Check its weight, its speed and the bead's size."
        for one in found
        if one.drag is not None and one.drag.below_bare_bead
    ]
    return Drags(found, list(dict.fromkeys([*remarks.lines, *impossible])))


def records_of(flies: Iterable[Fly], remarks: Remarks, shop: ShopRuns) -> list[MeasuredFly]:
    """Return flies as records for the drag model, one for each fly and water; adds to ``remarks`` what should be known."""
    return [one for fly in flies for one in _of_fly(fly, remarks, shop)]


def _of_fly(fly: Fly, remarks: Remarks, shop: ShopRuns) -> list[MeasuredFly]:
    parts = shop.of(fly)
    if not parts or parts[0].pooled:
        return _without_runs(fly, remarks)
    return [_measured_fly(fly, group, remarks, shop) for group in by_water(parts)]


def _measured_fly(fly: Fly, parts: Sequence[RunParts], remarks: Remarks, shop: ShopRuns) -> MeasuredFly:
    """Return a fly in one water, as its side has it: what it shares with other flies, and all the rest as its own."""
    side = fly_side(FlyRuns(fly.code, tuple(parts)), shop.spreads)
    shared = math.hypot(*side.shared.values())
    temperature = float(np.mean([run.temperature for run in parts]))
    salinity = float(np.mean([run.salinity for run in parts]))
    weighed = _weighed(fly, {run.number for run in parts}, Water(temperature, salinity), remarks)
    return MeasuredFly(
        fly.code,
        build_of(fly.variant),
        None if weighed is None else weighed.weight,
        side.speed,
        math.sqrt(max(side.uncertainty**2 - shared**2, 0.0)),
        shared,
        temperature,
        salinity,
        len(parts),
        sum(run.drops for run in parts),
    )


def _without_runs(fly: Fly, remarks: Remarks) -> list[MeasuredFly]:
    """Return a fly whose speed stands in the catalog without runs."""
    speed = fly.speed
    if speed is None:
        return []
    weighed = _weighed(fly, (), Water(speed.temperature_k), remarks)
    return [
        MeasuredFly(
            fly.code,
            build_of(fly.variant),
            None if weighed is None else weighed.weight,
            speed.free_speed_m_s,
            speed.free_uncertainty_m_s,
            0.0,
            speed.temperature_k,
            0.0,
            speed.runs,
            speed.drops,
        )
    ]


def _weighed(fly: Fly, runs: Collection[int], water: Water, remarks: Remarks) -> Weighed | None:
    """Return a fly's weight: by the catalog's weighings, else the newest sheet's of these runs, else its parts; or None and
    why."""
    readings, remarked = readings_of(fly)
    if readings.dry is None and readings.in_water is None:
        for run in sorted((one for one in fly.runs if one.id in runs), key=lambda run: run.measured_at):
            sheet = readings_in(read_sheet(readable(run.sheet)).fly)
            readings = sheet if sheet.dry or sheet.in_water else readings
    try:
        found = weigh(fly.variant, readings, water, True, remarked)
    except (BadValueError, FlybenchError) as error:
        remarks.add(fly.code, [f"fly {fly.code}: no weight, so no drag: {error}"])
        return None
    remarks.add(fly.code, found.remarks)
    remarks.doubts += [line for line in found.doubts if line not in remarks.doubts]
    return found
