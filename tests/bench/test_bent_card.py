"""A card that is bent: its corners are projected by the renderer's optics, which share no code with the bench."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from tankview.optics import project
from tankview.scene import Camera, Tank

from flybench.bench.view.camera import Calibration, OpticalPath, calibrate
from flybench.bench.view.tank_view import _DOUBTFUL_PX

HALF_WIDTH, HALF_LENGTH, GAP = 0.07, 0.12, 0.012
"""Of the corners' field, and plane of fall to card [m]."""
SIZE = (540, 960)


def seen(distance: float, bow: float, along: bool) -> Calibration:
    """Return what is made of a card whose middle stands ``bow`` [m] nearer than its ends, or than its sides."""
    across = np.array([-0.07, -0.06, -0.05, -0.04, -0.03, 0.03, 0.04, 0.05, 0.06, 0.07])
    places: NDArray[np.float64] = np.array([(x, y) for x in across for y in np.linspace(-0.12, 0.12, 21)])
    share = places[:, 1] / HALF_LENGTH if along else places[:, 0] / HALF_WIDTH
    tank = Tank()
    camera = Camera(width=SIZE[0], height=SIZE[1], focal_px=1950 * distance, distance=distance)
    depth = tank.fall_plane + GAP
    corners = project(np.column_stack([places, depth - bow * (1 - share**2)]), camera, tank)
    corners = corners + np.random.default_rng(1).normal(0.0, 0.04, corners.shape)
    layers = OpticalPath((distance, tank.wall, depth), (1.0, tank.wall_index, tank.water_index))
    return calibrate(corners, places, SIZE, layers, 0.05)


@pytest.mark.parametrize("distance", [0.3, 0.48, 0.7])
@pytest.mark.parametrize("along", [True, False])
def test_a_card_bent_by_14_mm_is_doubted_and_a_flat_one_is_not(distance: float, along: bool) -> None:
    assert seen(distance, 0.0, along).residual_px < 0.2 * _DOUBTFUL_PX
    for bow in (0.014, -0.014):
        assert seen(distance, bow, along).residual_px > _DOUBTFUL_PX


@pytest.mark.parametrize("distance", [0.3, 0.48, 0.7])
def test_the_doubt_grows_with_the_bend(distance: float) -> None:
    """The camera's covariance is stretched by the corners' own misfit."""
    sizes = [np.sqrt(seen(distance, bow, True).covariance[0, 0]) for bow in (0.0, 0.007, 0.014)]
    assert sizes[0] < 0.4 * sizes[1] < 0.4 * sizes[2]
