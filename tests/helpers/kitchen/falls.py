"""Cases of what falls and how: hands that lift and step down, waves, perspective, flies that scatter or are seen badly."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from tankview.scene import Drop, Scene
from tankview.simple import clean_scene

from kitchen.case import Case, Outcome

NO_CARD: dict[str, Any] = {"card": None}
NEAR: dict[str, Any] = {"card": None, "camera__distance": 0.25, "camera__focal_px": 980.0}
WAVES = frozenset({"uneven-speed", "poor-fit"})
SMALL: dict[str, Any] = {"fly__bead_diameter": 0.0018, "fly__body_width": 0.0012}
PALE: dict[str, Any] = {
    "fly__body_level": 200.0,
    "fly__bead_level": 196.0,
    "fly__shine": 215.0,
    "fly__hackle_level": 200.0,
}
"""A fly nearly as bright as the card: its shadow shows more plainly than itself."""
LIFTED: dict[str, Any] = {"bottom_y": 0.235, "rest": 0.4, "lift_speed": 0.35}


def at_the_tank(seed: int, count: int = 2, spread: float = 0.0, spacing: float = 0.0, **fields: Any) -> Scene:
    """Return drops by seed: speed 20 to 32 cm/s, response time 1.3 to 3 V/g, drag to the power 1.8 to 2, some wander.

    ``spread`` is the standard deviation between drops, over the speed [-]; fields starting with a part of the scene
    and two underscores change that, all others every drop.
    """
    rng = np.random.default_rng([seed, 11])
    speed = float(rng.uniform(0.20, 0.32))
    gap = 0.37 / speed + 0.6 + spacing
    scene_fields = {key: value for key, value in fields.items() if "__" in key or key == "card"}
    usual: dict[str, Any] = {
        "response_time": float(rng.uniform(1.3, 3.0)) * speed / 9.81,
        "drag_exponent": float(rng.uniform(1.8, 2.0)),
        "wander": 0.0008,
        "wander_along": 0.0002,
    }
    usual |= {key: value for key, value in fields.items() if key not in scene_fields}
    made = tuple(
        Drop(
            start=0.3 + number * gap,
            **{"terminal_speed": speed * (1 + spread * float(rng.normal())), **usual},
        )
        for number in range(count)
    )
    look = {
        "fly__length": float(rng.uniform(0.008, 0.013)),
        "extras__noise": float(rng.uniform(1.0, 3.0)),
        "encoding__preset": "ultrafast",
    }
    base: dict[str, Any] = {"drops": made, "duration": 0.4 + count * gap, "seed": seed}
    return clean_scene(**(base | look | scene_fields))


def strange(seed: int, factor: float, count: int = 3, **fields: Any) -> Scene:
    """Return drops of which the first has ``factor`` times the speed of the others, as of another fly."""
    scene = at_the_tank(seed, count, **fields)
    first = replace(scene.drops[0], terminal_speed=scene.drops[1].terminal_speed * factor)
    return replace(scene, drops=(first, *scene.drops[1:]))


def twins(seed: int) -> Scene:
    """Return two flies of one kind let go by two hands, twice; each wanders and starts in its own way."""
    scene = at_the_tank(seed, 2)
    rng = np.random.default_rng([seed, 12])
    pairs = [
        replace(
            drop, start=drop.start + side * float(rng.uniform(0.02, 0.15)), release_x=(0.026 * side - 0.012)
        )
        for drop in scene.drops
        for side in (0, 1)
    ]
    return replace(scene, drops=tuple(pairs), duration=scene.duration + 0.2)


def wetted(seed: int, gain: float) -> Scene:
    """Return four drops each ``gain`` faster than the one before [-]."""
    scene = at_the_tank(seed, 4)
    made = tuple(
        replace(drop, terminal_speed=drop.terminal_speed * (1 + gain) ** number)
        for number, drop in enumerate(scene.drops)
    )
    return replace(scene, drops=made)


def _case(name: str, outcome: Outcome, flags: frozenset[str] = frozenset(), **fields: Any) -> Case:
    return Case(name, lambda seed: at_the_tank(seed, **fields), outcome, flags=flags)


CASES: list[Case] = [
    _case("falls: two clean drops", "clean"),
    _case("falls: three clean drops", "clean", count=3),
    _case("falls: three drops that differ by 1.5 %", "measured", count=3, spread=0.015),
    _case("falls: three drops that differ by 5 %", "measured", count=3, spread=0.05),
    _case("falls: one drop of a fly that scatters by 3 %", "measured", count=1, spread=0.03),
    _case("falls: two points in place of the card", "measured", **NO_CARD),
    _case("falls: lifted straight out", "clean", spacing=1.6, **LIFTED),
    _case("falls: step of 43 mm while lifted", "clean", spacing=1.9, lift_step=0.043, **LIFTED),
    _case(
        "falls: step of 60 mm while lifted", "clean", spacing=1.9, lift_step=0.060, lift_step_y=0.08, **LIFTED
    ),
    _case("falls: step while lifted, no card", "measured", spacing=1.9, lift_step=0.043, **LIFTED, **NO_CARD),
    _case("falls: waves of 30 %, 2 a second", "flagged", WAVES, swing=0.3),
    _case(
        "falls: waves of 30 %, 3 a second",
        "flagged",
        frozenset({"uneven-speed", "poor-fit"}),
        swing=0.3,
        swing_hz=3.0,
    ),
    _case("falls: waves of 3 %", "measured", swing=0.03),
    _case(
        "falls: leans away by a third, near camera, no card",
        "flagged",
        away=0.35,
        camera__distance=0.25,
        camera__focal_px=980.0,
        **NO_CARD,
    ),
    _case(
        "falls: leans towards the camera, no card",
        "flagged",
        away=-0.35,
        camera__distance=0.25,
        camera__focal_px=980.0,
        **NO_CARD,
    ),
    _case("falls: plunged", "clean", start_speed=0.6, release_y=-0.02),
    _case("falls: dim and noisy", "measured", extras__light=0.35, extras__noise=4.0),
    _case("falls: tiny fly", "measured", **SMALL, extras__noise=2.5),
    _case(
        "falls: dim tiny fly",
        "measured",
        fly__bead_diameter=0.0018,
        fly__body_width=0.0012,
        extras__light=0.4,
    ),
    _case("falls: wanders along by half a millimetre", "measured", wander_along=0.0005),
    _case(
        "falls: pale fly, shadow on the card 20 mm behind",
        "clean",
        count=3,
        card__gap=0.020,
        extras__shadow=0.3,
        **PALE,
    ),
    _case(
        "falls: pale fly, strong shadow on the card 12 mm behind",
        "clean",
        count=3,
        extras__shadow=0.45,
        **PALE,
    ),
    _case(
        "falls: pale fly falls once, shadow on the card",
        "measured",
        count=1,
        card__gap=0.020,
        extras__shadow=0.4,
        **PALE,
    ),
    _case(
        "falls: dark fly, shadow as plain", "clean", count=3, extras__shadow=0.65, extras__shadow_blur=0.0008
    ),
    _case("falls: dark fly, weak shadow", "clean", count=3, extras__shadow=0.35, extras__shadow_blur=0.0008),
    _case("falls: brown fly, reflection", "clean", count=3, extras__ghost=0.3, fly__body_level=120.0),
    Case("falls: two flies at once, twice", twins, "refused", flags=frozenset({"two-flies"})),
    Case("falls: two flies by turns", lambda seed: strange(seed, 1.6, 2), "refused"),
    Case(
        "falls: wetted by 3 % a drop",
        lambda seed: wetted(seed, 0.03),
        "flagged",
        flags=frozenset({"wetting"}),
    ),
    _case("falls: four drops without a trend", "measured", count=4, spread=0.01),
]
