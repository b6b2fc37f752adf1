"""What a clip showed: all that the method needs once the frames have been looked at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from flybench.bench.clip.clock import NO_DOUBT, Clock, TimesDoubt
from flybench.bench.clip.container import DecodingTally
from flybench.bench.clip.orientation import Orientation
from flybench.bench.track.spotting import Spot
from flybench.bench.view.geometry import Geometry, ScalePoints

Floats = NDArray[np.float64]

GRAIN = {
    "x": 2.0**-12,
    "y": 2.0**-12,
    "area": 2.0**-6,
    "contrast": 2.0**-8,
    "length": 2.0**-10,
    "breadth": 2.0**-10,
    "lean": 2.0**-12,
    "ground": 2.0**-8,
    "unevenness": 2.0**-14,
    "sensor_row": 2.0**-18,
}
"""Steps to which what is read off a picture is rounded, far below what a picture can tell (a place by a
hundredth of its best reading): what is kept of a run is then what was fitted, to the last bit."""


@dataclass(frozen=True)
class Observations:
    """The clip's own facts, the known pixels of its scale, and everything that was spotted."""

    name: str
    sha256: str
    orientation: Orientation
    capture_rate_tag: float | None
    """Capture rate that the file states [Hz]."""
    times: Floats
    """Presentation times of all frames that the file holds [s]."""
    promised: int
    """Frames that the file says it holds."""
    tally: DecodingTally
    scale_points: ScalePoints
    flags: list[str]
    """What the sample pictures tell, whatever the settings: a card upside down, a shaking hand."""
    spots: list[Spot]
    times_doubt: TimesDoubt = NO_DOUBT
    breaths: tuple[tuple[int, int, float], ...] = ()
    """Moments in which the picture was larger or smaller: first and last frame, and by how much, relative [-]."""

    def growth(self, rows: NDArray[np.int64]) -> float:
        """Return by how much the picture grew or shrank at most while these spots were seen, relative [-]; nought if not."""
        first, last = self.spots[rows[0]].frame, self.spots[rows[-1]].frame
        return max((size for begin, end, size in self.breaths if begin <= last and end >= first), default=0.0)


def rounded_to_grain(spot: Spot) -> Spot:
    """Return a spot rounded to whole steps of GRAIN."""
    return replace(spot, **{name: round(getattr(spot, name) / step) * step for name, step in GRAIN.items()})


@dataclass(frozen=True)
class PlacedSpots:
    """All spots of a clip as columns: frame numbers, real times [s], places [m] on the fall plane."""

    spots: Sequence[Spot]
    times: Floats
    places: Floats


def placed_spots(observed: Observations, geometry: Geometry, clock: Clock) -> PlacedSpots:
    """Return the spots with their real times [s] and places [m]; there must be at least one."""
    places = geometry.places(np.array([[spot.x, spot.y] for spot in observed.spots]))
    told = not observed.orientation.turn_is_baked_in
    readout = geometry.settings.camera.readout or 0.0 if told else 0.0
    times = [spot.clip_time / clock.stretch + (spot.sensor_row - 0.5) * readout for spot in observed.spots]
    return PlacedSpots(observed.spots, np.array(times), places)
