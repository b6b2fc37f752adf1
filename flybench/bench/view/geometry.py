"""Geometry of tank, card and camera: from settings and known pixels to a camera that sees the fall plane."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from flybench.bench.sheet.settings import (
    LEAST_GAP,
    POINTS_UNCERTAINTY_PX,
    UNKNOWN_GAP,
    Length,
    ScaleSettings,
    Settings,
)
from flybench.bench.view.camera import (
    POINTS_TILT_PRIOR,
    TILT_PRIOR,
    Calibration,
    OpticalPath,
    calibrate,
)
from flybench.bench.view.card_misfit import Corners, Reason, reason
from flybench.hydraulics.refractive_index import refractive_index

Floats = NDArray[np.float64]

PHONE_FOCAL = 0.75
"""Focal length of a phone's main camera over the longer side of the picture (common practice, no source)."""
UNKNOWN_DISTANCE = 0.30
"""Relative standard uncertainty of a camera distance that was not typed but guessed from that."""
SEEN_DISTANCE = 0.10
"""Relative standard uncertainty of a camera distance read off the card's perspective [-]: on simulated corners it came out
within 8 % (judgement)."""
SHORTEST_LENS, LONGEST_LENS = 0.37, 4.2
"""Focal lengths of phones over the longer side of the picture [-]: from a wide-angle camera, 13 mm on film of 36 by 24 mm,
to one of 120 mm, cut down by a fifth to steady the picture (common practice, no source)."""
SQUEEZE_SHARE = 0.25
"""Standard uncertainty of a squeeze that the card shows, as a share of it (judgement)."""
CARD_SIGMA_PX = 0.05
"""Least standard uncertainty of a card corner averaged over pictures [px]."""
_SIDEWAYS = np.sqrt(0.5)
"""Cosine of the card's turn in the picture between minus and plus which the picture lies on its side [-]: nearer to a quarter
turn than to none or a half; the card's own up is believed then."""
UPRIGHT_UNCERTAINTY = np.radians(0.5)
"""Standard uncertainty of card and fall being parallel [rad]: +-1 degree, k = 2 (judgement)."""


@dataclass(frozen=True)
class ScalePoints:
    """Pixels (n, 2) of the upright reference picture and their true places (n, 2) [m] on the scale plane."""

    pixels: Floats
    places: Floats
    size: tuple[int, int]


@dataclass(frozen=True)
class Geometry:
    """A calibrated view of the tank."""

    settings: Settings
    scale_points: ScalePoints
    calibration: Calibration
    fall: OpticalPath
    scale: OpticalPath
    guessed_distance: bool
    sign: float
    reason: Reason = field(default_factory=Reason)
    """What the corners say of a squeezed picture and of the camera's distance."""

    @property
    def lens_unlikely(self) -> bool:
        """Tell whether at the typed distance the lens would be none that a phone has."""
        lens = self.calibration.camera.focal / max(self.scale_points.size)
        return not self.guessed_distance and not SHORTEST_LENS <= lens <= LONGEST_LENS

    def places(self, pixels: Floats) -> Floats:
        """Return where pixels (n, 2) lie on the fall plane [m], x to the right and y down the picture."""
        return self.sign * self.calibration.camera.to_plane(pixels, self.fall)

    @property
    def on_its_side(self) -> bool:
        """Tell whether the card stands across the picture: the picture lies on its side."""
        return (
            bool(abs(np.cos(self.calibration.camera.parameters[2])) < _SIDEWAYS) and self.settings.scale.card
        )

    @property
    def metres_per_px(self) -> float:
        """Return the size of a pixel on the fall plane in the middle of the picture [m]."""
        return self.calibration.camera.metres_per_pixel(self.calibration.camera.centre, self.fall)

    @property
    def picture_height(self) -> float:
        """Return the height of the picture on the fall plane [m]."""
        return self.metres_per_px * self.scale_points.size[1]


def look(settings: Settings, scale_points: ScalePoints, why: Reason | None = None) -> Geometry:
    """Calibrate the camera for these settings; ``why`` corners do not fit is looked for where it is not given."""
    distance, guessed = _distance(settings, scale_points)
    if why is not None and why.distance is not None:
        distance = why.distance
    fall, scale = _layers(settings, distance)
    prior = TILT_PRIOR if settings.scale.card else POINTS_TILT_PRIOR
    sigma = CARD_SIGMA_PX if settings.scale.card else POINTS_UNCERTAINTY_PX
    pixels, places, aspect = scale_points.pixels, scale_points.places, 1.0 if why is None else why.aspect
    found = calibrate(pixels, places, scale_points.size, scale, sigma, prior, aspect)
    if why is None and settings.scale.card:
        why = reason(Corners(pixels, places, scale), found)
        if why != Reason():
            return look(settings, scale_points, why)
    sign = -1.0 if np.cos(found.camera.parameters[2]) < -_SIDEWAYS else 1.0
    return Geometry(settings, scale_points, found, fall, scale, guessed, sign, why or Reason())


def _distance(settings: Settings, scale_points: ScalePoints) -> tuple[float, bool]:
    """Return the camera distance [m], typed or guessed from a phone's usual focal length."""
    if settings.camera.distance is not None:
        return settings.camera.distance.value, False
    span = np.ptp(scale_points.places, axis=0) @ np.ptp(scale_points.places, axis=0)
    metres = float(
        np.sqrt(span / (np.ptp(scale_points.pixels, axis=0) @ np.ptp(scale_points.pixels, axis=0)))
    )
    return max(PHONE_FOCAL * max(scale_points.size) * metres, 0.05), True


def _layers(settings: Settings, distance: float) -> tuple[OpticalPath, OpticalPath]:
    """Return what lies before the fall plane and before the scale plane."""
    water = settings.water
    n = float(refractive_index(settings.temperature, water.density))
    tank = settings.tank
    plane = tank.fall_plane.value if tank.fall_plane else (tank.depth_along_view or 0.0) / 2
    index = (1.0, tank.wall_index, n)
    fall = OpticalPath((distance, tank.wall, plane), index)
    return fall, OpticalPath((distance, tank.wall, plane + settings.scale.gap.value), index)


Change = tuple[str, Callable[[Floats], Floats]]


def changes(geometry: Geometry) -> Iterator[Change]:
    """Yield every doubt about the geometry: its name, and places [m] of pixels if it were one sigma off.

    One name may come more than once; its parts are independent and add up as squares.
    """
    why = geometry.reason
    for name, settings in _typed_changes(geometry):
        yield name, look(settings, _rescaled(geometry, settings), replace(why, distance=None)).places
    if why.aspect != 1.0:
        squeezed = replace(why, aspect=why.aspect ** (1.0 - SQUEEZE_SHARE))
        yield "squeezed picture", look(geometry.settings, geometry.scale_points, squeezed).places
    yield from _fit_changes(geometry)
    yield "card or camera not square to the fall", lambda pixels: _leaning(geometry, pixels)


def _typed_changes(geometry: Geometry) -> Iterator[tuple[str, Settings]]:
    """Yield the settings with one typed length moved by its standard uncertainty."""
    settings, scale, tank = geometry.settings, geometry.settings.scale, geometry.settings.tank
    distance = _doubted_distance(geometry)
    settings = replace(settings, camera=replace(settings.camera, distance=distance))
    moved = replace(settings.camera, distance=distance.shifted(1))
    yield "camera distance", replace(settings, camera=moved)
    plane = tank.fall_plane or Length(geometry.fall.thickness[2], 0.0015)
    if geometry.fall.thickness[2] > 0:
        yield "fall plane", replace(settings, tank=replace(tank, fall_plane=plane.shifted(1)))
    gap = _doubted_gap(scale).shifted(1)
    yield "gap between scale and fall", replace(settings, scale=replace(scale, gap=gap))
    if scale.length is not None:
        yield (
            "length between the points",
            replace(settings, scale=replace(scale, length=scale.length.shifted(1))),
        )
    if scale.bar is not None:
        yield "print size of the card", replace(settings, scale=replace(scale, bar=scale.bar.shifted(1)))


def _doubted_gap(scale: ScaleSettings) -> Length:
    """Return the gap with its doubt: as typed, or as of one that nobody told where no fly falls so near before a card."""
    believed = not scale.card or scale.gap.value >= LEAST_GAP
    return scale.gap if believed else replace(scale.gap, standard_uncertainty=UNKNOWN_GAP)


def _doubted_distance(geometry: Geometry) -> Length:
    """Return the camera's distance as it was used, with its doubt: typed, seen, guessed, or typed and hardly possible."""
    used, typed = geometry.fall.thickness[0], geometry.settings.camera.distance
    if geometry.reason.distance is not None:
        return Length(used, SEEN_DISTANCE * used)
    if typed is None:
        return Length(used, UNKNOWN_DISTANCE * used)
    if not geometry.lens_unlikely:
        return typed
    usual = PHONE_FOCAL * max(geometry.scale_points.size) / geometry.calibration.camera.focal * used
    return Length(used, usual - used)


def _rescaled(geometry: Geometry, settings: Settings) -> ScalePoints:
    """Return the known places under changed settings: a longer bar or length stretches them all."""
    before, after = geometry.settings.scale, settings.scale
    factor = 1.0
    if before.bar and after.bar:
        factor = after.bar.value / before.bar.value
    if before.length and after.length:
        factor = after.length.value / before.length.value
    return replace(geometry.scale_points, places=geometry.scale_points.places * factor)


def _fit_changes(geometry: Geometry) -> Iterator[Change]:
    """Yield the independent directions in which corners or points leave the camera open."""
    calibration = geometry.calibration
    values, vectors = np.linalg.eigh(calibration.covariance)
    name = "card corners" if geometry.settings.scale.card else "scale points"
    for value, vector in zip(values, vectors.T, strict=True):
        shifted = calibration.camera.parameters + np.sqrt(max(value, 0.0)) * vector
        camera = replace(calibration.camera, parameters=shifted)
        yield name, lambda pixels, camera=camera: geometry.sign * camera.to_plane(pixels, geometry.fall)  # type: ignore[misc]


def _leaning(geometry: Geometry, pixels: Floats) -> Floats:
    """Return the places if the scale leaned against the fall by one standard uncertainty."""
    places = geometry.places(pixels)
    foot = geometry.sign * geometry.calibration.camera.parameters[4]
    apparent, n = geometry.fall.apparent_distance, geometry.fall.index[-1]
    lower = places[:, 1] - foot
    shift = lower**2 * UPRIGHT_UNCERTAINTY / (n * apparent)
    return np.asarray(places + np.column_stack([np.zeros(len(places)), shift]))
