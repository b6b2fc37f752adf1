"""The bench sheet that belongs to a scene: what its owner would have typed, errors included."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from flybench.bench.view import card as drawing
from tankview import optics
from tankview.scene import Scene

MARKS = (0.02, 0.22)
"""Heights of the two marked points when there is no card, in the plane of fall [m]."""
_MM, _G = 1e3, 1e3


def sheet_text(scene: Scene, overrides: Mapping[str, float | None] | None = None) -> str:
    """Return the sheet as TOML.

    ``overrides`` adds errors in SI units (degC for the temperature) by key, ``{"distance": 0.002}``,
    or leaves a key out with None. Keys: temperature, width, depth, wall, wall_index, fall_plane,
    distance, capture_rate, readout, gap, bar, length, mass, mass_in_water, bead.
    """
    errors = dict(overrides or {})
    blocks = []
    for name, entries in _entries(scene).items():
        lines = [_line(key, *entry, errors) for key, entry in entries.items()]
        kept = [line for line in lines if line]
        if kept:
            blocks.append(f"[{name}]\n" + "\n".join(kept) + "\n")
    return "\n".join(blocks)


def _line(key: str, value: Any, unit: str, factor: float, errors: Mapping[str, float | None]) -> str:
    error = errors.get(key, 0.0)
    if error is None or value is None:
        return ""
    if isinstance(value, str):
        return f'{key} = "{value}"'
    if isinstance(value, list):
        return f"{key} = {value}"
    number = f"{round((value + error) * factor, 6):.10g}"
    return f'{key} = "{number} {unit}"' if unit else f"{key} = {number}"


def _entries(scene: Scene) -> dict[str, dict[str, tuple[Any, str, float]]]:
    tank, camera, timing, fly = scene.tank, scene.camera, scene.timing, scene.fly
    tagged = timing.stretch != 1 and timing.tag
    weighed = fly.mass is not None or fly.mass_in_water is not None
    return {
        "water": {"temperature": (tank.temperature, "degC", 1.0)},
        "tank": {
            "width": (tank.width, "mm", _MM),
            "depth": (tank.depth, "mm", _MM),
            "wall": (tank.wall, "mm", _MM),
            "wall_index": (tank.wall_index, "", 1.0),
            "fall_plane": (tank.fall_plane, "mm", _MM),
        },
        "camera": {
            "distance": (camera.distance, "mm", _MM),
            "capture_rate": (None if tagged else timing.fps, "Hz", 1.0),
            "readout": (camera.readout or None, "ms", _MM),
        },
        "scale": _scale(scene),
        "fly": {
            "mass": (fly.mass, "g", _G),
            "mass_in_water": (fly.mass_in_water, "g", _G),
            "bead": (fly.bead_diameter if weighed else None, "mm", _MM),
        },
    }


def _scale(scene: Scene) -> dict[str, tuple[Any, str, float]]:
    if scene.card is not None:
        return {
            "card": ("in water", "", 1.0),
            "gap": (scene.card.gap, "mm", _MM),
            "bar": (drawing.BAR * scene.card.print_scale, "mm", _MM),
        }
    points = np.array([[0.0, y, scene.tank.fall_plane] for y in MARKS])
    pixels = optics.project(points, scene.camera, scene.tank)
    return {
        "points": (np.round(pixels, 3).tolist(), "", 1.0),
        "length": (MARKS[1] - MARKS[0], "mm", _MM),
        "gap": (0.0, "mm", _MM),
    }
