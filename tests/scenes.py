"""Rendered scenes with known truth: every way a clip at the tank can be, clean and hard.

Rendered from the equations of motion by ``tankview`` (in bench_videos), whose optics and motion share no
code with the measuring side.
"""

from __future__ import annotations

from typing import Any

from tankview.scene import Scene
from tankview.simple import aimed, clean_scene, drops

TWO: dict[str, Any] = {"drops": drops(2, 1.8), "duration": 3.7}


def scene(**changes: Any) -> Scene:
    """Return two drops at 0.30 m/s with nested changes (``timing__fps=240``)."""
    return clean_scene(**(TWO | changes))


def falls(speed: float, response: float | None = None, spacing: float = 1.8, **fields: Any) -> dict[str, Any]:
    """Return two drops at a speed, with a clip long enough for them."""
    column = 0.37 / speed + 0.4
    gap = max(spacing, column + 0.3)
    response = 2.0 * speed / 9.81 if response is None else response
    made = drops(2, gap, terminal_speed=speed, response_time=response, **fields)
    return {"drops": made, "duration": 0.3 + 2 * gap}


CLEAN: dict[str, Scene] = {
    "30 a second": scene(timing__fps=30.0),
    "60 a second": scene(),
    "120 a second": scene(timing__fps=120.0),
    "240 a second": scene(timing__fps=240.0, duration=3.6),
    "slow motion, 8 times": scene(timing__fps=240.0, timing__stretch=8.0, duration=3.6),
    "HEVC, ten bits": scene(encoding__codec="hevc", encoding__ten_bit=True),
    "slick, 50 cm/s": scene(**falls(0.50)),
    "hairy, 25 cm/s": scene(**falls(0.25), fly__hackle=0.005),
    "slick, 35 cm/s": scene(**falls(0.35)),
    "hairy, 15 cm/s": scene(**falls(0.15), fly__hackle=0.006, fly__body_width=0.004),
    "card rolled by 4 degrees": scene(card__roll_deg=4.0),
    "plunged at 1.1 m/s": scene(**falls(0.30, start_speed=1.1), timing__fps=120.0),
    "1080 x 1920": scene(
        drops=drops(1, 1.8), duration=1.9, camera__width=1080, camera__height=1920, camera__focal_px=3330.0
    ),
    "letter paper": scene(card__paper="letter"),
    "stored unturned, readout given": scene(camera__stored_rotation=0, camera__readout=0.010),
    "stored on its head, readout given": scene(camera__stored_rotation=180, camera__readout=0.010),
    "stored turned the other way": scene(camera__stored_rotation=90),
}

HARD: dict[str, Scene] = {
    "noise": scene(extras__noise=7.0),
    "low light": scene(extras__light=0.35, extras__noise=4.0),
    "mains flicker": scene(extras__flicker=0.08, camera__readout=0.012),
    "shadow": scene(extras__shadow=0.4),
    "bubbles": scene(extras__bubbles=10),
    "tweezers, hand and thread": scene(
        **falls(0.30, spacing=2.4, release_y=0.006, held=0.25),
        extras__tweezers=True,
        extras__hand=True,
        extras__thread=True,
    ),
    "hand shake of 9 px": scene(camera__shake_px=9.0 / 2**0.5),
    "dropped frames": scene(timing__dropped=0.10),
    "jittered times": scene(timing__jitter=0.002),
    "wandering path": scene(**falls(0.30, wander=0.004, wander_along=0.0003)),
    "phone tilted by 4 degrees": aimed(scene(camera__tilt_deg=4.0)),
    "barrel distortion": scene(camera__k1=-0.15),
    "gap of 35 mm at 450 mm": scene(camera__distance=0.45, camera__focal_px=1500.0, card__gap=0.035),
    "reflection and ghost": scene(
        tank__surface_y=-0.03, extras__reflection=0.4, extras__ghost=0.3, extras__waves=0.0006
    ),
    "hidden half of the card": scene(card__hidden=(0.0, 0.5, 1.0, 1.0)),
    "card upside down": scene(card__upside_down=True),
    "printed at 97 %": scene(card__print_scale=0.97),
    "heavily compressed": scene(encoding__crf=30),
    "lifted back up": scene(
        **falls(0.30, spacing=2.6, bottom_y=0.235, rest=0.4, lift_speed=0.5), extras__tweezers=True
    ),
}
