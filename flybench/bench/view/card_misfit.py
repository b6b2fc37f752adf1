"""What would make the corners of a card fit that do not: a squeezed picture, or another distance of the camera.

A flat card seen through a lens shows how its squares shrink with distance, so the corners alone tell both, to a few
per cent, where the camera looks at the card a little from above, below or aside.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from flybench.bench.view.camera import BEND_PRIOR, TILT_PRIOR, Calibration, Camera, OpticalPath, first_guess

Floats = NDArray[np.float64]

MISFIT_PX = 0.25
"""Root mean square distance of the corners from a flat card from which a reason is looked for [px]: five times what a
corner averaged over sharp pictures is good for (judgement)."""
_BETTER = 0.5
"""Share of that distance that a reason must leave at most to be believed [-] (judgement)."""
_OUTLIER_PX = 1.0
"""Distance from which on a corner counts less, so that a few misread ones decide nothing [px] (judgement)."""
LEAST_SQUEEZE = 0.003
"""Least squeeze that is believed [-]: it moves the corners of a sharp picture by five times what they are good for
(judgement)."""
LEAST_DISTANCE = 0.10
"""Least difference between typed and seen distance that is believed, relative [-]: less hardly matters (judgement)."""
_STARTS = (-2.0, -1.0, 0.0, 1.0)
"""Natural logarithms of the factors on the distance from which it is looked for: a lost decimal point is 2.3 (judgement)."""

Kind = Literal["squeeze", "distance"]


@dataclass(frozen=True)
class Corners:
    """Corners of the card: pixels (n, 2), their places (n, 2) [m], what lies before the card."""

    pixels: Floats
    places: Floats
    layers: OpticalPath


@dataclass(frozen=True)
class Reason:
    """Why corners do not fit: rows that must be stretched by ``aspect`` [-], or another ``distance`` [m]."""

    aspect: float = 1.0
    distance: float | None = None


def reason(corners: Corners, found: Calibration) -> Reason:
    """Return what makes corners fit that do not; nothing where they fit or nothing makes them."""
    if found.residual_px < MISFIT_PX:
        return Reason()
    camera = found.camera
    aspect, left_squeezed = _freed(corners, camera, "squeeze", float(np.log(_affine_aspect(corners))))
    trials = [_freed(corners, camera, "distance", start) for start in _STARTS]
    factor, left_moved = min(trials, key=lambda trial: trial[1])
    if min(left_squeezed, left_moved) > _BETTER * _misfit(corners, found):
        return Reason()
    if left_squeezed <= left_moved:
        return Reason(aspect=aspect) if abs(aspect - 1.0) > LEAST_SQUEEZE else Reason()
    near = abs(np.log(factor)) < LEAST_DISTANCE
    return Reason() if near else Reason(distance=corners.layers.thickness[0] * factor)


def _affine_aspect(corners: Corners) -> float:
    """Return how many metres a pixel spans down the picture over how many across [-]."""
    pixels = np.column_stack([corners.pixels, np.ones(len(corners.pixels))])
    spans = np.linalg.lstsq(pixels, corners.places, rcond=None)[0][:2]
    across, down = np.linalg.norm(spans, axis=1)
    return float(down / across)


def _misfit(corners: Corners, found: Calibration) -> float:
    """Return the root mean square distance of all corners, those far off cut short [px]."""
    off = np.linalg.norm(found.camera.to_plane(corners.pixels, corners.layers) - corners.places, axis=1)
    metres = found.camera.metres_per_pixel(found.camera.centre, corners.layers)
    return float(np.sqrt(np.mean(_cut(off / metres) ** 2)))


def _cut(off_px: Floats) -> Floats:
    return np.asarray(np.minimum(off_px, 4.0 * _OUTLIER_PX))


def _freed(corners: Corners, camera: Camera, kind: Kind, start: float) -> tuple[float, float]:
    """Fit the camera with one more value free; return its factor [-] and the misfit that is left [px]."""
    from scipy.optimize import least_squares  # slow to load, and seldom needed

    metres = camera.metres_per_pixel(camera.centre, corners.layers)
    prior = np.array([TILT_PRIOR, TILT_PRIOR, np.inf, np.inf, np.inf, np.inf, BEND_PRIOR])

    def off(values: Floats) -> Floats:
        factor = float(np.exp(values[7]))
        aspect = camera.aspect * factor if kind == "squeeze" else camera.aspect
        layers = corners.layers if kind == "squeeze" else corners.layers.moved(factor)
        seen = Camera(values[:7], camera.centre, aspect).to_plane(corners.pixels, layers)
        return np.asarray((seen - corners.places) / metres)

    def misfit(values: Floats) -> Floats:
        return np.concatenate([off(values).ravel(), values[:7] / prior])

    first = np.append(camera.parameters, start)
    if kind == "distance":  # a wrong distance was made up for by a tilt that is not there: begin anew
        moved = corners.layers.moved(float(np.exp(start)))
        first[:7] = first_guess(corners.pixels, corners.places, np.array(camera.centre), moved)[0]
    bounds = (np.append(np.full(7, -np.inf), -4.0), np.append(np.full(7, np.inf), 4.0))
    scale = np.full(8, 0.01)
    fitted = least_squares(
        misfit, first, bounds=bounds, x_scale=scale, loss="soft_l1", f_scale=_OUTLIER_PX, max_nfev=80
    ).x
    left = float(np.sqrt(np.mean(_cut(np.linalg.norm(off(fitted), axis=1)) ** 2)))
    return float(np.exp(fitted[7])), left
