"""What is saved of a run, so that it can be fitted again without the clip.

The clip's facts, its frame times, the known pixels of the scale, and every spot that has to do with a drop.
One zlib stream behind a mark and a version number: a JSON header, then columns of plain numbers.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import Clock, clock_of
from flybench.bench.evaluate import evaluate
from flybench.bench.measure import Measurement
from flybench.bench.saved.run_bytes import SavedRun, packed, unpacked
from flybench.bench.sheet.read import read_sheet
from flybench.bench.sheet.settings import Length, Settings
from flybench.bench.sheet.values import Tables
from flybench.bench.track.drops import FEWEST
from flybench.bench.track.joining import join
from flybench.bench.track.observations import Observations, placed_spots
from flybench.bench.verdict.free_water import submerged_weight
from flybench.bench.verdict.result import BenchResult
from flybench.bench.view.card import BAR
from flybench.bench.view.geometry import Geometry, ScalePoints, look
from flybench.bench.view.typed_points import typed_points
from flybench.errors import FlybenchError

MARGIN_S = 1.0
"""Real time before and after each drop of which everything is kept [s]."""


def saved_bytes(run: Measurement) -> bytes:
    """Return what has to be saved of a run: a few hundred bytes a frame of each drop at most, compressed."""
    geometry = run.view.geometry
    rows = _rows(run.observed, geometry, run.clock, run.result)
    observed = replace(run.observed, spots=[run.observed.spots[row] for row in rows])
    scale = geometry.settings.scale
    return packed(SavedRun(observed, scale.card, None if scale.bar is None else scale.bar.value))


def refit(data: bytes, tables: Tables) -> BenchResult:
    """Fit what was saved of a run again, under the sheet's tables.

    With the software and the sheet of the first time, speed and uncertainty are those of the first time.
    Raises FlybenchError where the data are damaged or the sheet has another kind of scale, BadValueError
    for a sheet that cannot be used.
    """
    again = unpacked(data)
    settings = read_sheet(tables)
    submerged_weight(settings.fly, settings.water)
    observed = again.observed
    clock = clock_of(
        observed.times, observed.capture_rate_tag, settings.camera.capture_rate, observed.times_doubt
    )
    scale_points = _scale_points(again, settings)
    return evaluate(replace(observed, scale_points=scale_points), look(settings, scale_points), clock).result


def _rows(observed: Observations, geometry: Geometry, clock: Clock, result: BenchResult) -> NDArray[np.int64]:
    """Return which spots to keep: whole tracks of drops, and all there is about the time of each.

    Where there is no drop everything that was followed for a while is kept.
    """
    if not observed.spots:
        return np.zeros(0, dtype=np.int64)
    sightings = placed_spots(observed, geometry, clock)
    tracks = [track.rows for track in join(sightings) if len(track) >= FEWEST]
    wanted = np.zeros(len(observed.spots), dtype=bool)
    fell = {int(row) for measured in result.drops for row in measured.drop.rows}
    for rows in tracks:
        wanted[rows] |= not fell or not fell.isdisjoint(rows)
    for measured in result.drops:
        first, last = measured.drop.times[0], measured.drop.times[-1]
        wanted |= (sightings.times > first - MARGIN_S) & (sightings.times < last + MARGIN_S)
    return np.flatnonzero(wanted)


def _scale_points(again: SavedRun, settings: Settings) -> ScalePoints:
    """Return the known pixels and places; a bar measured again stretches the card."""
    scale_points, scale = again.observed.scale_points, settings.scale
    if scale.card != again.card:
        raise FlybenchError(
            f"{again.observed.name}: was measured with {'the card' if again.card else 'two points'} as its scale and can "
            "only be fitted again with that. To use another scale, measure the clip again."
        )
    if not scale.card:
        return typed_points(settings, scale_points.size)
    before, after = again.bar or BAR, (scale.bar or Length(BAR)).value
    return (
        scale_points
        if before == after
        else replace(scale_points, places=scale_points.places * (after / before))
    )
