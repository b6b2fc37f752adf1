"""Cases of a phone that stands still, is held in the hand, or cannot tell: grounds, hands, people, light."""

from __future__ import annotations

from typing import Any

import numpy as np
from tankview.scene import Scene
from tankview.simple import clean_scene, drops

from kitchen.case import Case, Outcome

PLAIN: dict[str, Any] = {"card": None, "backdrop__texture": 0.0}
"""A bare sheet of paper or the room's wall behind the tank: nothing to hold on to."""
WATER_LINE: dict[str, Any] = {**PLAIN, "tank__surface_y": -0.02}
TABLE_EDGE: dict[str, Any] = {**PLAIN, "tank__floor_y": 0.235}
BOTH: dict[str, Any] = {**WATER_LINE, **TABLE_EDGE}
MOTTLED: dict[str, Any] = {"card": None}
CLUTTERED: dict[str, Any] = {"card": None, "backdrop__clutter": 14}
CARD: dict[str, Any] = {}
SWAY: dict[str, Any] = {"camera__sway_px": 15.0}
TREMOR: dict[str, Any] = {"camera__shake_px": 3.0}
BREATH: dict[str, Any] = {"camera__breath": 0.006}
HANDS: dict[str, Any] = {
    "extras__tweezers": True,
    "extras__hand": True,
    "drops__all__release_y": 0.006,
    "drops__all__held": 0.25,
}
DIM: dict[str, Any] = {"extras__light": 0.4, "extras__noise": 4.0}
PEOPLE: dict[str, Any] = {"extras__people": 2}
FAINT: dict[str, Any] = {"card": None, "backdrop__texture": 0.5, "tank__width": 0.5}
"""A ground too faint to be held on to, and no wall of the tank in view."""
WRITING: dict[str, Any] = {"extras__writing": True}
DIRT: dict[str, Any] = {"extras__dirt": True}
RAMP: dict[str, Any] = {"extras__ramp": -0.25, "backdrop__level": 228.0}


def at_the_table(seed: int, **changes: Any) -> Scene:
    """Return two drops whose speed, start, noise and look vary with the seed, and whose path wanders a little."""
    rng = np.random.default_rng([seed, 4])
    speed = float(rng.uniform(0.22, 0.34))
    gap = 0.37 / speed + 0.8
    falling = drops(
        2,
        gap,
        first=float(rng.uniform(0.2, 0.5)),
        terminal_speed=speed,
        response_time=float(rng.uniform(1.3, 2.5)) * speed / 9.81,
        wander=0.0008,
        wander_along=0.0002,
    )
    look = {
        "fly__length": float(rng.uniform(0.008, 0.013)),
        "fly__tilt_deg": float(rng.uniform(-12, 12)),
        "extras__noise": float(rng.uniform(1.0, 3.0)),
        "encoding__preset": "ultrafast",
        "encoding__crf": int(rng.integers(18, 26)),
    }
    base = {"drops": falling, "duration": 0.5 + 2 * gap, "seed": seed} | look
    return clean_scene(**(base | changes))


def _case(name: str, outcome: Outcome, *parts: dict[str, Any], flags: frozenset[str] = frozenset()) -> Case:
    changes: dict[str, Any] = {}
    for part in parts:
        changes |= part
    return Case(name, lambda seed: at_the_table(seed, **changes), outcome, flags=flags)


_MOVED = frozenset({"hand-held"})
_UNTOLD = frozenset({"steadiness-unknown"})

CASES: list[Case] = [
    _case("still, water line only", "clean", WATER_LINE),
    _case("still, table edge only", "clean", TABLE_EDGE),
    _case("still, water line and table edge", "clean", BOTH),
    _case("still, mottled ground", "clean", MOTTLED),
    _case("still, cluttered ground", "clean", CLUTTERED),
    _case("still, water line, tweezers and hand", "clean", WATER_LINE, HANDS),
    _case("still, table edge, tweezers and hand", "clean", TABLE_EDGE, HANDS),
    _case("still, mottled ground, tweezers and hand, dim", "clean", MOTTLED, HANDS, DIM),
    _case("still, cluttered, people and hand", "measured", CLUTTERED, PEOPLE, HANDS),
    _case("still, mottled, people", "measured", MOTTLED, PEOPLE),
    _case("still, both lines, people", "measured", BOTH, PEOPLE),
    _case("still, both lines, exposure ramp", "clean", BOTH, RAMP),
    _case("still, cluttered, exposure ramp", "clean", CLUTTERED, RAMP),
    _case("still, card, people", "clean", CARD, PEOPLE),
    _case("still, card, tweezers and hand, dim", "clean", CARD, HANDS, DIM),
    _case("bare ground, still", "flagged", PLAIN, flags=_UNTOLD),
    _case("bare ground, swaying", "flagged", PLAIN, SWAY, flags=_UNTOLD),
    _case("bare ground, swaying, tweezers and hand", "flagged", PLAIN, SWAY, HANDS, flags=_UNTOLD),
    _case("bare ground, writing, swaying", "flagged", PLAIN, WRITING, SWAY, flags=_UNTOLD),
    _case("faint ground, writing, swaying", "flagged", FAINT, WRITING, SWAY, flags=_UNTOLD),
    _case("faint ground, dirt on the lens, swaying", "flagged", FAINT, DIRT, SWAY, flags=_UNTOLD | _MOVED),
    _case("still, writing before a water line", "clean", WATER_LINE, WRITING),
    _case("still, writing before a mottled ground", "clean", MOTTLED, WRITING),
    _case("still, writing before a cluttered ground", "clean", CLUTTERED, WRITING),
    _case("still, dirt before a mottled ground", "clean", MOTTLED, DIRT),
    _case("sway before a mottled ground, writing", "measured", MOTTLED, WRITING, SWAY, flags=_MOVED),
    _case("sway before both lines, dirt", "measured", BOTH, DIRT, SWAY, flags=_MOVED),
    _case("still, dirt before both lines", "clean", BOTH, DIRT),
    _case("sway before the water line, dirt", "measured", WATER_LINE, DIRT, SWAY, flags=_MOVED),
    _case("sway before the water line", "measured", WATER_LINE, SWAY, flags=_MOVED),
    _case("sway before the table edge", "measured", TABLE_EDGE, SWAY, flags=_MOVED),
    _case("sway before both lines", "measured", BOTH, SWAY, flags=_MOVED),
    _case("sway before both lines, tweezers and hand", "measured", BOTH, SWAY, HANDS, flags=_MOVED),
    _case("sway before a mottled ground", "measured", MOTTLED, SWAY, flags=_MOVED),
    _case("sway before a cluttered ground, people", "measured", CLUTTERED, SWAY, PEOPLE, flags=_MOVED),
    _case("sway before both lines, dim", "measured", BOTH, SWAY, DIM, flags=_MOVED),
    _case("sway before a card, hand", "measured", CARD, SWAY, HANDS, flags=_MOVED),
    _case("tremor before the water line", "measured", WATER_LINE, TREMOR, flags=_MOVED),
    _case("tremor before a cluttered ground, hand", "measured", CLUTTERED, TREMOR, HANDS, flags=_MOVED),
    _case("breathing focus, both lines", "measured", BOTH, BREATH, flags=_MOVED),
    _case("breathing focus, mottled ground", "measured", MOTTLED, BREATH, flags=_MOVED),
    _case("breathing focus, cluttered ground, hand", "measured", CLUTTERED, BREATH, HANDS, flags=_MOVED),
    _case("slow sway and exposure ramp, both lines", "measured", BOTH, SWAY, RAMP, flags=_MOVED),
]
