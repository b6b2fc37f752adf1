"""Evenings at the shop's tank: how tank, camera and card truly stood, and what was written down of them, slips included."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from tankview.scene import Scene
from tankview.sheet import sheet_text
from tankview.simple import clean_scene, drops

from flyshop.drag import Stream
from flyshop.fall import TrueFly, fall

_SPACING = 2.6
"""Time from one drop to the next [s]: longer than the slowest of the flies takes."""
_DROPS = 3
"""Falls in one run [-]."""
_RELEASE, _BOTTOM = -0.09, 0.36
"""Where a fly is let go, above the picture, and where it lands, below it [m]."""
_SPREAD = 0.006
"""Standard deviation of one fall's speed about the fly's, relative [-] (invented)."""
_WANDER, _ALONG = 0.0015, 0.00005
"""Wander sideways and along the fall, root mean square [m] (invented)."""


@dataclass(frozen=True)
class Evening:
    """One evening: its day, the true water, and by how much each typed value is off what is true (SI units, degC)."""

    day: str
    temperature: float
    stream: Stream
    slips: Mapping[str, float]


EVENINGS = {
    "kitchen": Evening(
        "2026-01-17", 18.2, Stream(998.56, 1.0490e-6), {"temperature": -0.2, "distance": 0.003, "gap": 0.0004}
    ),
    "kitchen-again": Evening(
        "2026-02-07",
        17.6,
        Stream(998.67, 1.0650e-6),
        {"temperature": 0.4, "distance": -0.004, "gap": -0.0003},
    ),
    "garage": Evening(
        "2026-02-21", 7.1, Stream(999.90, 1.4240e-6), {"temperature": -0.1, "distance": 0.002, "gap": 0.0005}
    ),
}
"""The shop's evenings. Density [kg/m3] and kinematic viscosity [m2/s] of water by its temperature: IAPWS, from memory."""


def tank_speed(fly: TrueFly, evening: Evening) -> float:
    """Return how fast a fly sinks in the shop's tank [m/s]: a little slower than in wide water."""
    true = fall(fly, evening.stream)
    area = 2 * true.weight / (evening.stream.density * true.speed**2)
    across = np.sqrt(4 * area / np.pi) / _bare().tank.width
    return float(true.speed * (1 - across**1.5))


def scene(fly: TrueFly, evening: Evening, seed: int, look: Mapping[str, float]) -> Scene:
    """Return the tank with the falls of one run; ``look`` holds what is to be seen of the fly (``Fly``)."""
    rng = np.random.default_rng(seed)
    true, speed = fall(fly, evening.stream), tank_speed(fly, evening)
    made = _bare().but(
        drops=drops(
            _DROPS,
            _SPACING,
            first=0.4,
            release_y=_RELEASE,
            bottom_y=_BOTTOM,
            rest=0.2,
            lift_speed=1.2,
            response_time=true.response_time,
            drag_exponent=true.exponent,
            wander=_WANDER,
            wander_along=_ALONG,
        ),
        duration=0.4 + _DROPS * _SPACING,
        seed=seed,
        tank__temperature=evening.temperature,
        **{f"fly__{name}": value for name, value in look.items()},
    )
    scatter = 1 + _SPREAD * rng.standard_normal(_DROPS)
    return made.but(
        **{f"drops__{n}__terminal_speed": float(speed * scatter[n]) for n in range(_DROPS)},
        **{f"drops__{n}__slope": float(rng.normal(0, 0.01)) for n in range(_DROPS)},
    )


def sheet(evening: Evening) -> dict[str, Any]:
    """Return the bench sheet of an evening as its owner typed it."""
    typed = tomllib.loads(sheet_text(_bare().but(tank__temperature=evening.temperature), evening.slips))
    del typed["camera"]["readout"]
    return typed


def _bare() -> Scene:
    """Return the shop's tank, 300 by 250 mm, with a phone three quarters of a metre away, before any fly falls in it."""
    return clean_scene(
        camera__focal_px=2300.0,
        camera__distance=0.74,
        camera__tilt_deg=0.3,
        camera__readout=0.016,
        tank__width=0.30,
        tank__depth=0.25,
        tank__wall=0.006,
        tank__wall_index=1.52,
        tank__fall_plane=0.125,
        timing__jitter=0.0001,
    )
