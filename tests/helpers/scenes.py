"""Rendered scenes with known truth: every way a clip at the tank can be, clean and hard.

Rendered from the equations of motion by ``tankview`` (in bench_videos), whose optics and motion share no
code with the measuring side.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from tankview.scene import Scene
from tankview.simple import aimed, clean_scene, drops

SMALL_PICTURE: dict[str, Any] = {"camera__width": 360, "camera__height": 640, "camera__focal_px": 1110.0}
"""Two thirds of the usual picture a side, a third of a phone's: less than half the work, and the harder to measure."""
USUAL_PICTURE: dict[str, Any] = {"camera__width": 540, "camera__height": 960, "camera__focal_px": 1665.0}
"""Half a phone's picture a side."""
TWO: dict[str, Any] = {"drops": drops(2, 1.5), "duration": 3.1, "encoding__preset": "ultrafast"}
"""Two drops, encoded in a hurry, as phones do: with the same quality asked for, in half the time."""
ONE: dict[str, Any] = {"drops": drops(1, 1.5), "duration": 1.6}
"""One drop: for clips of very many pictures."""
CAREFUL: dict[str, Any] = {"encoding__preset": "veryfast"}
"""An encoder that searches longer, and leaves out more of what it takes for noise."""


def scene(**changes: Any) -> Scene:
    """Return two drops at 0.30 m/s with nested changes (``timing__fps=240``)."""
    return clean_scene(**(SMALL_PICTURE | TWO | changes))


def falls(speed: float, response: float | None = None, spacing: float = 1.5, **fields: Any) -> dict[str, Any]:
    """Return two drops at a speed, with a clip long enough for them."""
    column = 0.37 / speed + 0.4
    gap = max(spacing, column + 0.15)
    response = 2.0 * speed / 9.81 if response is None else response
    made = drops(2, gap, terminal_speed=speed, response_time=response, **fields)
    return {"drops": made, "duration": 0.15 + 2 * gap}


LYING: dict[str, Any] = {
    "camera__stored_rotation": 0,
    "camera__width": 960,
    "camera__height": 540,
    "camera__focal_px": 936.0,
}
"""A phone on its side: wider than tall, its sensor read down the picture."""
FLIES: dict[str, tuple[float, dict[str, Any]]] = {
    "slick": (1.3, {}),
    "hairy": (3.0, {"fly__hackle": 0.006, "fly__body_width": 0.0035}),
}
"""Response time over terminal speed / g, and the look."""


def fly(kind: str, speed: float) -> Scene:
    """Return two drops of a slick or a hairy fly."""
    factor, look = FLIES[kind]
    return scene(**falls(speed, response=factor * speed / 9.81), **look)


def longer(one: Scene, count: int) -> Scene:
    """Return a scene with its first drop made ``count`` times, at the pace it has."""
    first, second = one.drops[:2]
    gap = second.start - first.start
    made = tuple(replace(first, start=first.start + number * gap) for number in range(count))
    return replace(one, drops=made, duration=one.duration + (count - len(one.drops)) * gap)


CLEAN: dict[str, Scene] = {
    "30 a second": scene(timing__fps=30.0),
    "60 a second": scene(**CAREFUL),
    "120 a second": scene(**USUAL_PICTURE, timing__fps=120.0),
    "240 a second": scene(**ONE, timing__fps=240.0),
    "slow motion, 8 times": scene(**ONE, timing__fps=240.0, timing__stretch=8.0),
    "HEVC, ten bits": scene(encoding__codec="hevc", encoding__ten_bit=True),
    "card rolled by 4 degrees": scene(card__roll_deg=4.0),
    "plunged at 1.1 m/s": scene(**falls(0.30, start_speed=1.1), timing__fps=120.0),
    "1080 x 1920": scene(
        drops=drops(1, 1.8), duration=1.9, camera__width=1080, camera__height=1920, camera__focal_px=3330.0
    ),
    "letter paper": scene(card__paper="letter"),
    "stored unturned, wider than tall, readout given": scene(**LYING, camera__readout=0.010),
    "stored on its head, readout given": scene(camera__stored_rotation=180, camera__readout=0.010),
    "stored turned to the left, readout given": scene(camera__stored_rotation=90, camera__readout=0.010),
    "stored turned to the right, readout given": scene(camera__readout=0.010),
} | {
    f"{kind}, {100 * speed:.0f} cm/s": fly(kind, speed)
    for kind in FLIES
    for speed in (0.15, 0.25, 0.35, 0.50)
}

HARD: dict[str, Scene] = {
    "noise": scene(extras__noise=7.0),
    "low light": scene(extras__light=0.35, extras__noise=4.0),
    "mains flicker": scene(extras__flicker=0.08, camera__readout=0.012),
    "mains flicker, 240 a second": scene(
        drops=drops(1, 1.8),
        duration=1.6,
        extras__flicker=0.2,
        camera__readout=0.004,
        timing__fps=240.0,
    ),
    "shadow": scene(extras__shadow=0.5),
    "bubbles": scene(extras__bubbles=20, extras__bubble_diameter=(0.0008, 0.0025)),
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
    "barrel distortion, 1 % at the corners": scene(camera__k1=-0.09),
    "barrel distortion": scene(camera__k1=-0.15),
    "gap of 35 mm at 450 mm": scene(camera__distance=0.45, camera__focal_px=1000.0, card__gap=0.035),
    "reflection and ghost": scene(
        tank__surface_y=-0.03, extras__reflection=0.4, extras__ghost=0.3, extras__waves=0.0006
    ),
    "hidden half of the card": scene(card__hidden=(0.0, 0.5, 1.0, 1.0)),
    "card upside down": scene(card__upside_down=True),
    "printed at 97 %": scene(card__print_scale=0.97),
    "heavily compressed": scene(**CAREFUL, encoding__crf=30),
    "lifted back up": scene(
        **falls(0.30, spacing=2.6, bottom_y=0.235, rest=0.4, lift_speed=0.5), extras__tweezers=True
    ),
    "lowered into view, then let go": scene(
        drops=drops(2, 2.2, first=1.2, release_y=0.05, lowering=0.8, held=0.25), duration=5.0
    ),
    "many troubles at once": aimed(
        scene(
            camera__tilt_deg=2.0,
            camera__k1=-0.09,
            camera__shake_px=2.0,
            camera__readout=0.010,
            extras__flicker=0.06,
            extras__shadow=0.3,
            extras__noise=4.0,
            extras__bubbles=6,
            extras__thread=True,
            extras__ghost=0.25,
            timing__dropped=0.05,
        )
    ),
}

SMALL = clean_scene(
    drops=drops(3, 0.7, first=0.05, terminal_speed=0.5),
    duration=2.2,
    camera__width=240,
    camera__height=426,
    camera__focal_px=740.0,
    encoding__preset="ultrafast",
    extras__noise=1.0,
)
"""Three drops at half a metre a second, in 2.2 s of 240 x 426 px at 60 a second: quick to render and to measure."""
