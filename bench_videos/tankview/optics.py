"""Light from a point in the water to the picture and back: through water, wall, air, lens."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tankview.scene import Camera, Tank

Floats = NDArray[np.float64]
_ROUNDS = 60
_CLOSE = 1e-14


def turn(camera: Camera) -> Floats:
    """Return the matrix that takes a direction of the tank into the camera's axes."""
    pan, tilt, roll = np.radians([camera.pan_deg, camera.tilt_deg, camera.roll_deg])
    about_y = [[np.cos(pan), 0, -np.sin(pan)], [0, 1, 0], [np.sin(pan), 0, np.cos(pan)]]
    about_x = [[1, 0, 0], [0, np.cos(tilt), -np.sin(tilt)], [0, np.sin(tilt), np.cos(tilt)]]
    about_z = [[np.cos(roll), np.sin(roll), 0], [-np.sin(roll), np.cos(roll), 0], [0, 0, 1]]
    return np.array(about_z) @ np.array(about_x) @ np.array(about_y)


def sine_in_air(reach: Floats, depth: Floats, camera: Camera, tank: Tank) -> Floats:
    """Return the sine of the angle in air of the ray that ends ``reach`` off the axis at ``depth`` [m].

    Each layer adds thickness x tangent, with n sin(angle) the same in all of them. In terms of the
    tangent in air the sum is concave, so Newton's steps from the near-normal guess never overshoot.
    """
    layers = ((camera.distance, 1.0), (tank.wall, tank.wall_index), (depth, tank.water_index))
    tangent = reach / sum(thick / index for thick, index in layers)
    for _ in range(_ROUNDS):
        sine = tangent / np.sqrt(1 + tangent**2)
        found, slope = np.zeros_like(reach), np.zeros_like(reach)
        for thick, index in layers:
            root = np.sqrt(index**2 - sine**2)
            found = found + thick * sine / root
            slope = slope + thick * index**2 / root**3
        step = (reach - found) / (slope * (1 - sine**2) ** 1.5)
        tangent = tangent + step
        if np.all(np.abs(step) < _CLOSE):
            break
    return tangent / np.sqrt(1 + tangent**2)


def project(points: Floats, camera: Camera, tank: Tank) -> Floats:
    """Return the picture position [px, pixel centres whole] of points (n, 3): x, y, depth [m]."""
    points = np.asarray(points, dtype=float).reshape(-1, 3)
    aside = points[:, :2] - [camera.x, camera.y]
    reach = np.hypot(aside[:, 0], aside[:, 1])
    sine = sine_in_air(reach, points[:, 2], camera, tank)
    share = np.divide(sine, reach, out=np.zeros_like(sine), where=reach > 0)
    direction = np.column_stack([aside * share[:, None], np.sqrt(1 - sine**2)]) @ turn(camera).T
    flat = direction[:, :2] / direction[:, 2:]
    flat = flat * (1 + camera.k1 * np.sum(flat**2, axis=1, keepdims=True))
    return flat * camera.focal_px + middle(camera)


def middle(camera: Camera) -> Floats:
    """Return the principal point [px]."""
    return np.array([(camera.width - 1) / 2, (camera.height - 1) / 2]) + camera.offset_px


def trace(pixels: Floats, camera: Camera, tank: Tank) -> tuple[Floats, Floats]:
    """Follow pixels (n, 2) into the tank.

    Return where their rays leave the wall (x, y [m]) and by how much x and y grow per metre of depth.
    """
    bent = (np.asarray(pixels, dtype=float) - middle(camera)) / camera.focal_px
    flat = _undistorted(bent, camera.k1)
    direction = np.column_stack([flat, np.ones(len(flat))]) @ turn(camera)
    direction /= np.linalg.norm(direction, axis=1, keepdims=True)
    side = direction[:, :2]
    square = np.sum(side**2, axis=1, keepdims=True)
    entry = np.array([camera.x, camera.y]) + camera.distance * side / np.sqrt(1 - square)
    entry = entry + tank.wall * side / np.sqrt(tank.wall_index**2 - square)
    return entry, side / np.sqrt(tank.water_index**2 - square)


def _undistorted(bent: Floats, k1: float) -> Floats:
    if k1 == 0:
        return bent
    wanted = np.linalg.norm(bent, axis=1)
    radius = wanted.copy()
    for _ in range(20):
        radius -= (radius * (1 + k1 * radius**2) - wanted) / (1 + 3 * k1 * radius**2)
    return bent / (1 + k1 * radius**2)[:, None]


def scale(point: Floats, camera: Camera, tank: Tank) -> float:
    """Return the pixels per metre around one point (x, y, depth), over both directions."""
    nudge = 1e-4
    x, y, depth = point
    cross = [[x - nudge, y, depth], [x + nudge, y, depth], [x, y - nudge, depth], [x, y + nudge, depth]]
    left, right, up, down = project(np.array(cross), camera, tank)
    return float((np.linalg.norm(right - left) + np.linalg.norm(down - up)) / (4 * nudge))
