"""What is kept of a run, so that it can be fitted again without the clip.

The clip's facts, its frame times, the known pixels of the scale, and every spot that has to do with a drop.
One zlib stream behind a mark and a version number: a JSON header, then columns of plain numbers.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import Clock, clock_of
from flybench.bench.evaluate import fit_seen, sightings_of
from flybench.bench.measure import Run
from flybench.bench.saved.run_bytes import Kept, packed, unpacked
from flybench.bench.sheet.read import Tables, read_sheet
from flybench.bench.sheet.settings import Length, Settings
from flybench.bench.track.drops import FEWEST
from flybench.bench.track.join import join
from flybench.bench.track.sightings import Seen
from flybench.bench.verdict.free_water import submerged_weight
from flybench.bench.verdict.result import BenchResult
from flybench.bench.view.card import BAR
from flybench.bench.view.geometry import Geometry, Known, look, points_known
from flybench.errors import FlybenchError
from flybench.hydraulics.water import Water

MARGIN_S = 1.0
"""Real time before and after each drop of which everything is kept [s]."""


def kept(run: Run) -> bytes:
    """Return what has to be kept of a run: a few hundred bytes a frame of each drop at most, compressed."""
    geometry = run.stage.geometry
    rows = _rows(run.seen, geometry, run.clock, run.result)
    seen = replace(run.seen, spots=[run.seen.spots[row] for row in rows])
    scale = geometry.settings.scale
    return packed(Kept(seen, scale.card, None if scale.bar is None else scale.bar.value))


def refit(data: bytes, tables: Tables) -> BenchResult:
    """Fit what was kept of a run again, under the sheet's tables.

    With the software and the sheet of the first time, speed and uncertainty are those of the first time.
    Raises FlybenchError where the data are damaged or the sheet has another kind of scale, BadValueError
    for a sheet that cannot be used.
    """
    again = unpacked(data)
    settings = read_sheet(tables)
    submerged_weight(settings.fly, Water(settings.temperature, settings.salinity))
    seen = again.seen
    clock = clock_of(seen.times, seen.capture_rate_tag, settings.camera.capture_rate)
    known = _known(again, settings)
    return fit_seen(replace(seen, known=known), look(settings, known), clock).result


def _rows(seen: Seen, geometry: Geometry, clock: Clock, result: BenchResult) -> NDArray[np.int64]:
    """Return which spots to keep: whole tracks of drops, and all there is about the time of each.

    Where there is no drop everything that was followed for a while is kept.
    """
    if not seen.spots:
        return np.zeros(0, dtype=np.int64)
    sightings = sightings_of(seen, geometry, clock)
    tracks = [track.rows for track in join(sightings) if len(track) >= FEWEST]
    wanted = np.zeros(len(seen.spots), dtype=bool)
    fell = {int(row) for measured in result.drops for row in measured.drop.rows}
    for rows in tracks:
        wanted[rows] |= not fell or not fell.isdisjoint(rows)
    for measured in result.drops:
        first, last = measured.drop.times[0], measured.drop.times[-1]
        wanted |= (sightings.times > first - MARGIN_S) & (sightings.times < last + MARGIN_S)
    return np.flatnonzero(wanted)


def _known(again: Kept, settings: Settings) -> Known:
    """Return the known pixels and places; a bar measured again stretches the card."""
    known, scale = again.seen.known, settings.scale
    if scale.card != again.card:
        raise FlybenchError(
            f"{again.seen.name}: was measured with {'the card' if again.card else 'two points'} as its scale and can "
            "only be fitted again with that. Measure the clip anew for another scale."
        )
    if not scale.card:
        return points_known(settings, known.size)
    before, after = again.bar or BAR, (scale.bar or Length(BAR)).value
    return known if before == after else replace(known, places=known.places * (after / before))
