"""Cases like real films of falling balls: few and small pictures, slow rates, no card, a camera that stands near.

Such films are: a nylon sphere in a wave tank (63 frames, 20 a second), a ball filmed in slow motion in air, dark balls in
glycerine. Their laws of drag and their noise are none of the bench's: drag to the power 1 (glycerine) to 1.85, a wander,
readings coarsened by the encoder.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from tankview.scene import Drop, Scene
from tankview.simple import clean_scene

from kitchen.case import Case, Outcome

BALL: dict[str, Any] = {"fly__ball": True, "fly__bead_diameter": 0.016}
"""A ball of 16 mm, which is 20 px wide here."""
SMALL: dict[str, Any] = {
    "card": None,
    "camera__width": 240,
    "camera__height": 320,
    "camera__focal_px": 680.0,
    "camera__stored_rotation": 0,
}
"""Pictures of 240 x 320 px that show 26 cm of the column, as re-encoded ones are stored: upright, without a turn."""
WHITE: dict[str, Any] = {
    "fly__bead_level": 235.0,
    "fly__shine": 250.0,
    "backdrop__level": 30.0,
    "backdrop__texture": 2.0,
}
"""A white ball before a dark ground."""
NEAR: dict[str, Any] = {"camera__distance": 0.20, "camera__focal_px": 310.0}
"""A camera so near that a ball that drifts towards it grows."""
GLYCERINE: dict[str, Any] = {"drag_exponent": 1.0, "response_time": 0.012}
"""Creeping flow: drag to the first power, and the terminal speed reached at once."""
IN_VIEW: dict[str, Any] = {"release_y": 0.01, "extras__tweezers": True}
"""Let go from tweezers where the camera sees it."""


def film(
    seed: int, rate: float, speed: tuple[float, float], count: int = 1, stretch: float = 1.0, **fields: Any
) -> Scene:
    """Return drops of a ball by seed: ``rate`` frames a second, a speed [m/s] between two limits.

    Fields starting with a part of the scene and two underscores change that, all others every drop.
    """
    rng = np.random.default_rng([seed, 23])
    terminal = float(rng.uniform(*speed))
    scene_fields = {key: value for key, value in fields.items() if "__" in key or key == "card"}
    usual: dict[str, Any] = {
        "terminal_speed": terminal,
        "response_time": float(rng.uniform(1.5, 4.0)) * terminal / 9.81,
        "drag_exponent": float(rng.uniform(1.7, 1.85)),
        "wander": 0.001,
        "wander_along": 0.0002,
        "release_y": -0.06,
    }
    usual |= {key: value for key, value in fields.items() if key not in scene_fields}
    spacing = 0.40 / terminal + 0.5
    made = tuple(Drop(start=0.4 + number * spacing, **usual) for number in range(count))
    look: dict[str, Any] = {
        "timing__fps": rate,
        "timing__stretch": stretch,
        "encoding__preset": "ultrafast",
        "encoding__keyint": 250,
        "extras__noise": float(rng.uniform(1.0, 3.0)),
    }
    base: dict[str, Any] = {"drops": made, "duration": 0.5 + count * spacing, "seed": seed}
    return clean_scene(**(base | look | SMALL | BALL | scene_fields))


def _case(
    name: str,
    outcome: Outcome,
    rate: float,
    speed: tuple[float, float],
    flags: frozenset[str] = frozenset(),
    **fields: Any,
) -> Case:
    return Case(f"films: {name}", lambda seed: film(seed, rate, speed, **fields), outcome, flags=flags)


UNEVEN = frozenset({"uneven-speed", "drifting-speed", "poor-fit"})
DRIFTING = frozenset({"drifting-speed", "poor-fit"})
CASES: list[Case] = [
    _case("14 to 17 frames, 16 a second", "measured", 16.0, (0.22, 0.26)),
    _case("five to eight frames, 16 a second", "refused", 16.0, (0.55, 0.70)),
    _case("26 to 35 frames, 25 a second", "measured", 25.0, (0.18, 0.24)),
    _case("some 150 frames, 60 a second", "measured", 60.0, (0.10, 0.12)),
    _case("let go in view, 30 a second", "measured", 30.0, (0.15, 0.25), **IN_VIEW),
    _case("three drops, 30 a second", "measured", 30.0, (0.15, 0.25), count=3),
    _case("white sphere, 20 a second", "measured", 20.0, (0.07, 0.08), **WHITE),
    _case(
        "white sphere in waves of 30 %",
        "flagged",
        20.0,
        (0.07, 0.08),
        UNEVEN,
        swing=0.3,
        wander=0.003,
        **WHITE,
    ),
    _case("dark ball in glycerine", "measured", 30.0, (0.045, 0.06), **GLYCERINE),
    _case("dark ball in glycerine, let go in view", "measured", 16.0, (0.03, 0.05), **GLYCERINE, **IN_VIEW),
    _case(
        "dark ball in glycerine, drifting towards a near camera",
        "flagged",
        30.0,
        (0.05, 0.07),
        away=-0.30,
        **GLYCERINE,
        **NEAR,
    ),
    _case(
        "three dark balls in glycerine, drifting away from a near camera",
        "flagged",
        30.0,
        (0.05, 0.07),
        count=3,
        away=0.30,
        **GLYCERINE,
        **NEAR,
    ),
    *(
        _case(
            f"three dark balls in glycerine, drifting {way} a near camera by a twelfth",
            "flagged",
            30.0,
            (0.05, 0.07),
            DRIFTING,
            count=3,
            away=away,
            **GLYCERINE,
            **NEAR,
        )
        for way, away in (("towards", -0.08), ("away from", 0.08))
    ),
    _case(
        "three dark balls in glycerine, near camera looks down by ten degrees",
        "flagged",
        30.0,
        (0.05, 0.07),
        DRIFTING,
        count=3,
        camera__tilt_deg=10.0,
        camera__y=0.08,
        **GLYCERINE,
        **NEAR,
    ),
    _case("hard compression, 30 a second", "measured", 30.0, (0.12, 0.20), encoding__crf=34),
    _case(
        "uneven times, one frame in ten lost",
        "measured",
        24.0,
        (0.12, 0.20),
        timing__jitter=0.002,
        timing__dropped=0.1,
    ),
    _case(
        "never at its speed, as in air, slow motion of 4",
        "refused",
        120.0,
        (6.0, 8.0),
        stretch=4.0,
        response_time=0.75,
        wander=0.0,
        wander_along=0.0,
        release_y=0.01,
    ),
]
