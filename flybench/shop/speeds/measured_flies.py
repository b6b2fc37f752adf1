"""Measured flies of the catalog as records for the drag model: one for each fly and water temperature."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from flybench.bench.sheet.read import read_sheet
from flybench.catalog.shelf.run_records import RunSpeed
from flybench.catalog.tables.flies import BenchRun, Fly
from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.water import Water
from flybench.shop.fly.builds import build_of
from flybench.shop.fly.weights import Weighed, readings_in, readings_of, weigh
from flybench.shop.speeds.pooling import pool_runs
from flybench.shop.speeds.set_ups import SAME_SALT, SAME_WATER
from flybench.shop.speeds.sides import accepted_runs
from flybench.sinking.drag.steady_fall import SteadyDrag, drag_of
from flybench.sinking.drag.tied_fly import MeasuredFly


@dataclass
class Remarks:
    """What should be known of flies whose weight is not known or stands on assumptions, by fly."""

    by_fly: dict[str, list[str]] = field(default_factory=dict)

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


def records_of(flies: Iterable[Fly], remarks: Remarks) -> list[MeasuredFly]:
    """Return flies as records for the drag model, one for each fly and water; adds to ``remarks`` what should be known."""
    return [one for fly in flies for one in _of_fly(fly, remarks)]


def _of_fly(fly: Fly, remarks: Remarks) -> list[MeasuredFly]:
    runs = accepted_runs(fly)
    if not runs:
        return _without_runs(fly, remarks)
    return [_measured_fly(fly, group, remarks) for group in _by_water(runs)]


def _by_water(runs: Sequence[BenchRun]) -> list[list[BenchRun]]:
    """Return runs grouped by salinity and temperature: none farther than so much from its group's least."""
    salts = _near(runs, salinity_of, SAME_SALT)
    return [group for salt in salts for group in _near(salt, lambda run: run.temperature_k, SAME_WATER)]


def _near(runs: Sequence[BenchRun], value: Callable[[BenchRun], float], width: float) -> list[list[BenchRun]]:
    groups: list[list[BenchRun]] = []
    for run in sorted(runs, key=value):
        if groups and value(run) - value(groups[-1][0]) <= width:
            groups[-1].append(run)
        else:
            groups.append([run])
    return groups


def salinity_of(run: BenchRun) -> float:
    """Return the salt in the water of a run [kg/kg], from its sheet."""
    return read_sheet(run.sheet).salinity


def _measured_fly(fly: Fly, runs: Sequence[BenchRun], remarks: Remarks) -> MeasuredFly:
    speeds = [
        RunSpeed(
            run.free_speed_m_s or 0.0,
            run.free_uncertainty_m_s or 0.0,
            run.shared_uncertainty_m_s or 0.0,
            run.temperature_k,
            run.drops_used,
        )
        for run in runs
    ]
    pooled = pool_runs(speeds)
    temperature = float(np.mean([run.temperature_k for run in runs]))
    salinity = float(np.mean([salinity_of(run) for run in runs]))
    weighed = _weighed(fly, runs, Water(temperature, salinity), remarks)
    return MeasuredFly(
        fly.code,
        build_of(fly.variant),
        None if weighed is None else weighed.weight,
        pooled.value,
        pooled.own,
        pooled.shared,
        temperature,
        salinity,
        len(runs),
        sum(run.drops_used for run in runs),
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


def _weighed(fly: Fly, runs: Sequence[BenchRun], water: Water, remarks: Remarks) -> Weighed | None:
    """Return a fly's weight: by the catalog's weighings, else the newest sheet's, else its parts; or None and why."""
    readings, remarked = readings_of(fly)
    if readings.dry is None and readings.in_water is None:
        for run in sorted(runs, key=lambda run: run.measured_at):
            sheet = readings_in(read_sheet(run.sheet).fly)
            readings = sheet if sheet.dry or sheet.in_water else readings
    try:
        found = weigh(fly.variant, readings, water, True, remarked)
    except (BadValueError, FlybenchError) as error:
        remarks.add(fly.code, [f"fly {fly.code}: no weight, so no drag: {error}"])
        return None
    remarks.add(fly.code, found.remarks)
    return found
