"""The camera: rays from a pixel through air, wall and water to a plane in the tank.

Refraction is traced exactly through parallel layers; the near-normal formula
(apparent depth = depth / n) serves only as a check in the tests. Tank axes: x to the right, y down the
front wall, z into the tank; the planes of card and fall are taken parallel to the front wall.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

TILT_PRIOR = 0.10
"""Standard deviation of tilt and pan before any corner is seen [rad]."""
POINTS_TILT_PRIOR = 0.035
"""The same where only two points are given, which cannot show a tilt [rad]."""
BEND_PRIOR = 0.10
"""Standard deviation of the lens distortion coefficient before any corner is seen."""

_MOST_STEPS = 60
"""Most steps tried when a camera is fitted [-]; it takes some five."""
_STEP = 1e-7
"""Difference by which slopes are taken [rad, m or 1]: the root of the last digit of values about one, somewhat widened."""
_CLOSE = 1e-10
"""Change of every value at which the search ends [rad, m or 1]: far below what any corner tells."""
_FIRST_DAMPING = 1e-3
"""First damping over the curvature [-] (common practice, no source)."""


@dataclass(frozen=True)
class OpticalPath:
    """What lies between lens and plane: thicknesses [m] and refractive indices, lens first."""

    thickness: tuple[float, ...]
    index: tuple[float, ...]

    def reach(self, tangent: Floats) -> Floats:
        """Return how far sideways a ray gets, leaving the lens at this slope (tangent of the angle) [m]."""
        sine = tangent / np.sqrt(1.0 + tangent**2)
        inside = [sine / n for n in self.index]
        slopes = [s / np.sqrt(1.0 - s**2) for s in inside]
        return np.asarray(sum(d * slope for d, slope in zip(self.thickness, slopes, strict=True)))

    def moved(self, factor: float) -> OpticalPath:
        """Return the path with the lens so many times as far away."""
        return replace(self, thickness=(self.thickness[0] * factor, *self.thickness[1:]))

    @property
    def apparent_distance(self) -> float:
        """Return the distance at which the plane seems to lie when seen square on [m]."""
        return sum(d / n for d, n in zip(self.thickness, self.index, strict=True))


@dataclass(frozen=True)
class Camera:
    """A pin-hole with one radial distortion term; ``centre`` is the middle of the picture [px]."""

    parameters: Floats
    """tilt, pan, roll [rad], lens position x, y [m], log of focal length [px], bend; shape (7,)."""
    centre: tuple[float, float]
    aspect: float = 1.0
    """How much taller a pixel is than wide [-]: other than 1 where the picture was squeezed."""

    @property
    def focal(self) -> float:
        """Return the focal length [px]."""
        return float(np.exp(self.parameters[5]))

    @property
    def tilt_degrees(self) -> float:
        """Return the angle between the lens axis and the normal of the card [degrees]."""
        along = _turns(self.parameters[None, :3])[0, 2, 2]
        return float(np.degrees(np.arccos(np.clip(along, -1.0, 1.0))))

    def to_plane(self, pixels: Floats, layers: OpticalPath) -> Floats:
        """Trace pixels (n, 2) to a plane behind ``layers``; returns positions (n, 2) [m]."""
        flat = (pixels - np.array(self.centre)) * np.array([1.0, self.aspect])
        return np.asarray(_traced(self.parameters[None], flat, layers)[0])

    def metres_per_pixel(self, pixel: tuple[float, float], layers: OpticalPath) -> float:
        """Return the size of a pixel at one place of a plane, mean of across and down [m]."""
        x, y = pixel
        corner = np.array([[x - 0.5, y], [x + 0.5, y], [x, y - 0.5], [x, y + 0.5]])
        left, right, up, down = self.to_plane(corner, layers)
        return float(np.sqrt(np.linalg.norm(right - left) * np.linalg.norm(down - up)))


@dataclass(frozen=True)
class Calibration:
    """A camera fitted to known places, with what the fit leaves open."""

    camera: Camera
    covariance: Floats
    """Covariance of the parameters, shape (7, 7)."""
    residual_px: float
    """Root mean square distance of used corners from the model [px]."""
    used: NDArray[np.bool_]
    """Which corners agreed with the rest."""


def calibrate(
    pixels: Floats,
    places: Floats,
    size: tuple[int, int],
    layers: OpticalPath,
    pixel_sigma: float,
    tilt_prior: float = TILT_PRIOR,
    aspect: float = 1.0,
) -> Calibration:
    """Fit the camera to pixels (n, 2) of known places (n, 2) [m] in a plane behind ``layers``.

    Robust: corners more than four scaled median deviations off are left out. The stated covariance uses
    the corners' own scatter, but never less than ``pixel_sigma`` [px]. ``aspect``: see Camera.
    """
    centre = ((size[0] - 1) / 2.0, (size[1] - 1) / 2.0)
    start, metres = first_guess(pixels * np.array([1.0, aspect]), places, np.array(centre), layers)
    prior = np.array([tilt_prior, tilt_prior, np.inf, np.inf, np.inf, np.inf, BEND_PRIOR])
    used = np.ones(len(pixels), dtype=bool)
    solution = start
    for _ in range(4):
        solution, jacobian = _solve(
            solution, pixels[used], places[used], (centre, aspect), layers, metres * pixel_sigma, prior
        )
        off = (
            np.linalg.norm(Camera(solution, centre, aspect).to_plane(pixels, layers) - places, axis=1)
            / metres
        )
        limit = max(4.0 * 1.4826 * float(np.median(off[used])), 6.0 * pixel_sigma, 0.3)
        if np.array_equal(off < limit, used):
            break
        used = off < limit
    residual = float(np.sqrt(np.mean(off[used] ** 2)))
    spare = max(2 * int(used.sum()) - 7, 1)
    inflation = max(1.0, residual / pixel_sigma * np.sqrt(used.sum() / spare))
    covariance = np.linalg.inv(jacobian.T @ jacobian) * inflation**2
    return Calibration(Camera(solution, centre, aspect), covariance, residual, used)


def first_guess(pixels: Floats, places: Floats, centre: Floats, layers: OpticalPath) -> tuple[Floats, float]:
    """Return first parameters and the metres a pixel spans, from the best turn, shift and scale."""
    z = (pixels - centre) @ np.array([1.0, 1.0j])
    w = places @ np.array([1.0, 1.0j])
    turn = np.vdot(z - z.mean(), w - w.mean()) / np.vdot(z - z.mean(), z - z.mean())
    foot = w.mean() - turn * z.mean()
    metres = float(abs(turn))
    focal = layers.apparent_distance / metres
    return np.array([0.0, 0.0, np.angle(turn), foot.real, foot.imag, np.log(focal), 0.0]), metres


def _solve(
    start: Floats,
    pixels: Floats,
    places: Floats,
    picture: tuple[tuple[float, float], float],
    layers: OpticalPath,
    sigma: float,
    prior: Floats,
) -> tuple[Floats, Floats]:
    """Return the best parameters and the Jacobian in units of ``sigma`` [m], priors included.

    ``picture`` is its middle [px] and how much taller than wide its pixels are.
    """

    flat = (pixels - np.array(picture[0])) * np.array([1.0, picture[1]])

    def misfits(parameters: Floats) -> Floats:
        off = (_traced(parameters, flat, layers) - places).reshape(len(parameters), -1) / sigma
        return np.concatenate([off, parameters / prior], axis=1)

    return _least(misfits, start)


def _least(misfits: Callable[[Floats], Floats], start: Floats) -> tuple[Floats, Floats]:
    """Return the values (p,) whose misfits (n,) have the least sum of squares, and the Jacobian (n, p) there.

    ``misfits`` takes several sets of values at once, (k, p) to (k, n).

    Damped after Levenberg and Marquardt: by the diagonal of the curvature, less after a step that helped, more after one
    that did not.
    """
    values, damping = start, _FIRST_DAMPING
    off = misfits(values[None])[0]
    slopes = _slopes(misfits, values, off)
    for _ in range(_MOST_STEPS):
        curved = slopes.T @ slopes
        step = -np.linalg.solve(curved + damping * np.diag(np.diag(curved)), slopes.T @ off)
        there = misfits((values + step)[None])[0]
        if not there @ there <= off @ off:  # none for a place that no ray can reach either
            damping *= 10.0
        else:
            values, off, damping = values + step, there, damping / 10.0
            slopes = _slopes(misfits, values, off)
        if np.max(np.abs(step)) < _CLOSE:
            break
    return values, slopes


def _slopes(misfits: Callable[[Floats], Floats], values: Floats, off: Floats) -> Floats:
    moved = misfits(values + _STEP * np.eye(len(values)))
    return np.asarray((moved - off).T / _STEP)


def _traced(parameters: Floats, flat: Floats, layers: OpticalPath) -> Floats:
    """Return where the rays of pixels (n, 2), counted from the picture's middle and unsqueezed, meet a plane [m], for several
    cameras (k, 7) at once: (k, n, 2)."""
    seen = flat * np.exp(-parameters[:, 5])[:, None, None]
    square = np.einsum("kni,kni->kn", seen, seen)
    seen *= (1.0 + parameters[:, 6, None] * square)[:, :, None]
    turns = _turns(parameters[:, :3])
    rays = seen @ turns[:, :, :2].transpose(0, 2, 1) + turns[:, None, :, 2]
    slope = rays[:, :, :2] / rays[:, :, 2:]
    tangent = np.hypot(slope[:, :, 0], slope[:, :, 1])
    stretch = layers.reach(tangent) / np.maximum(tangent, 1e-12)
    return np.asarray(parameters[:, None, 3:5] + slope * stretch[:, :, None])


def _turns(turn: Floats) -> Floats:
    """Return the matrices (k, 3, 3) that turn by rotation vectors (k, 3) [rad], after Rodrigues."""
    angle = np.linalg.norm(turn, axis=1)
    x, y, z = axis = (turn / np.where(angle > 0.0, angle, 1.0)[:, None]).T
    cosine, sine, none = np.cos(angle), np.sin(angle), np.zeros(len(turn))
    across = np.array([[none, -z, y], [z, none, -x], [-y, x, none]])
    along = (1.0 - cosine) * axis[:, None] * axis[None, :]
    return np.asarray((cosine * np.eye(3)[:, :, None] + along + sine * across).transpose(2, 0, 1))
