"""What flybench would have kept of a run's clip, simulated without pictures: where the fly was seen in each frame.

The paths, the camera and the sensor's read-out are those of the rendered clips; the pictures are left out. Instead each
place gets the scatter that spotting has, and the fly's size in the picture follows from its own.
"""

from __future__ import annotations

import hashlib

import numpy as np
from numpy.typing import NDArray
from tankview import cardface, motion, optics
from tankview.encode import TICKS
from tankview.render import Shown, Studio, row_share
from tankview.scene import Scene
from tankview.truth import DropTruth

from flybench.bench.clip.container import DecodingTally
from flybench.bench.clip.orientation import Orientation
from flybench.bench.saved.run_bytes import SavedRun, packed
from flybench.bench.track.observations import Observations, rounded_to_grain
from flybench.bench.track.spotting import Spot
from flybench.bench.view import card
from flybench.bench.view.geometry import ScalePoints

Floats = NDArray[np.float64]
_PLACE_PX, _CORNER_PX = 0.05, 0.03
"""Scatter of a spot's place and of a card's corner [px]: what flybench reaches on rendered clips of clean water."""
_BROAD = 1.2
"""How much broader a fly looks for its fibres, over their reach [-]: both sides, but thin at the tips (as rendered)."""
_SIZE = 0.02
"""Scatter of a spot's size from frame to frame, relative [-] (invented)."""
_GROUND, _CONTRAST = 190.0, -85.0
"""Grey of the card behind the fly, and how much darker the fly is [grey levels] (as in rendered clips)."""


def saved_run(scene: Scene, name: str) -> tuple[bytes, tuple[DropTruth, ...]]:
    """Return the bytes of a run as the catalog keeps them, and what is true of its falls."""
    studio = Studio(scene)
    rng = np.random.default_rng([scene.seed, 17])
    spots = [spot for shown in studio.shown for spot in _spots(studio, shown, rng)]
    truth = studio.truth()
    count = len(truth.stamp_s)
    camera = scene.camera
    observed = Observations(
        name,
        hashlib.sha256(f"simulated, not filmed: {name}".encode()).hexdigest(),
        Orientation(camera.width, camera.height, 3),
        None,
        truth.stamp_s - truth.stamp_s[0],
        count,
        DecodingTally(count),
        _card(scene, rng),
        [],
        sorted((rounded_to_grain(spot) for spot in spots), key=lambda spot: spot.frame),
    )
    return packed(SavedRun(observed, True, card.BAR)), truth.drops


def _card(scene: Scene, rng: np.random.Generator) -> ScalePoints:
    """Return the card's corners as they were read off the picture."""
    assert scene.card is not None
    places = np.concatenate([card.corners(0), card.corners(1)])
    points = cardface.plane(scene.card, scene.tank.fall_plane).place(places)
    pixels = optics.project(points, scene.camera, scene.tank) + rng.normal(0, _CORNER_PX, places.shape)
    inside = np.all((pixels > 1) & (pixels < [scene.camera.width - 2, scene.camera.height - 2]), axis=1)
    return ScalePoints(pixels[inside], places[inside], (scene.camera.width, scene.camera.height))


def _spots(studio: Studio, shown: Shown, rng: np.random.Generator) -> list[Spot]:
    """Return where the fly was seen whole in the picture while it sank."""
    scene = studio.scene
    fly, size = scene.fly, np.array([scene.camera.width, scene.camera.height])
    half = 0.5 * fly.length * studio.px_per_m
    whole = np.all((shown.pixel > half) & (shown.pixel < size - half), axis=1)
    seen = np.flatnonzero(whole & (shown.path.state(shown.time) == motion.SINKING))
    return [_spot(studio, shown, int(frame), rng) for frame in seen]


def _spot(studio: Studio, shown: Shown, frame: int, rng: np.random.Generator) -> Spot:
    fly, scale = studio.scene.fly, float(shown.scale[frame])
    x, y = shown.pixel[frame] + rng.normal(0, _PLACE_PX, 2)
    long, broad = fly.length * scale, (fly.body_width + _BROAD * fly.hackle) * scale
    grown = 1 + rng.normal(0, _SIZE, 3)
    stamp = float(studio.stamps[frame] - studio.stamps[0]) / TICKS
    return Spot(
        frame=frame,
        clip_time=stamp,
        x=float(x),
        y=float(y),
        area=float(0.6 * long * broad * grown[0]),
        contrast=float(_CONTRAST + rng.normal(0, 1.0)),
        length=float(long * grown[1]),
        breadth=float(broad * grown[2]),
        lean=float(np.radians(fly.tilt_deg) + rng.normal(0, 0.01)),
        at_edge=False,
        ground=float(_GROUND + rng.normal(0, 0.5)),
        unevenness=0.01,
        sensor_row=float(row_share(shown.pixel[frame : frame + 1], studio.scene)[0] + 0.5),
    )
