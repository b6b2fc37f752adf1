"""Render the demo clips again: ``python bench_videos/render.py [--out DIR] [NAME ...]``.

Each clip comes with its bench sheet and its truth. The flies, and the benches they fall in, are invented.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from tankview.render import render
from tankview.scene import Scene
from tankview.sheet import sheet_text
from tankview.simple import clean_scene, drops

CLIPS = Path(__file__).parent / "clips"


def reed_slip() -> Scene:
    """Return a slick slim fly, about 42 cm/s, 120 frames a second."""
    scene = clean_scene(
        drops=drops(5, 1.35, first=0.25, terminal_speed=0.418, response_time=0.056, wander=0.0008),
        duration=6.9,
        seed=11,
        timing__fps=120.0,
        timing__jitter=0.00012,
        camera__distance=0.62,
        camera__focal_px=2010.0,
        camera__tilt_deg=0.6,
        camera__roll_deg=0.5,
        camera__y=0.112,
        camera__k1=0.05,
        camera__exposure=0.3,
        camera__readout=0.008,
        card__roll_deg=-0.7,
        card__lean_deg=0.8,
        fly__bead_diameter=0.0033,
        fly__length=0.0125,
        fly__mass=0.00030,
        fly__mass_in_water=0.000262,
        extras__noise=1.2,
        encoding__crf=19,
        encoding__preset="medium",
    )
    falls = (0.4187, 0.4171, 0.4192, 0.4179, 0.4183)
    return _with_speeds(scene, falls)


def moss_hackle() -> Scene:
    """Return a hackled fly, about 28 cm/s, let go by tweezers, with shadow and bubbles, 60 a second."""
    scene = clean_scene(
        drops=drops(
            4,
            2.35,
            first=0.7,
            release_y=0.006,
            response_time=0.044,
            wander=0.0025,
            wander_along=0.0004,
            bottom_y=0.2405,
            rest=0.45,
            lift_speed=0.75,
            lowering=0.35,
            held=0.25,
        ),
        duration=8.9,
        seed=23,
        timing__fps=60.0,
        timing__jitter=0.0002,
        camera__distance=0.48,
        camera__focal_px=1600.0,
        camera__pan_deg=0.8,
        camera__x=-0.007,
        camera__exposure=0.18,
        camera__readout=0.016,
        card__offset=(0.002, 0.004),
        fly__hackle=0.0055,
        fly__length=0.0105,
        fly__bead_diameter=0.0031,
        fly__tilt_deg=6.0,
        fly__mass=0.00026,
        fly__mass_in_water=0.000226,
        extras__noise=1.2,
        extras__shadow=0.3,
        extras__bubbles=7,
        extras__tweezers=True,
        extras__hand=True,
        encoding__crf=19,
        encoding__preset="medium",
    )
    falls = (0.2764, 0.2796, 0.2803, 0.2811)
    return _with_speeds(scene, falls)


def slate_plump() -> Scene:
    """Return a soft bulky fly, about 22 cm/s, 240 frames a second stored four times slower."""
    scene = clean_scene(
        drops=drops(4, 1.75, first=0.25, response_time=0.050, wander=0.0016),
        duration=7.2,
        seed=37,
        timing__fps=240.0,
        timing__stretch=4.0,
        camera__distance=0.55,
        camera__focal_px=1800.0,
        camera__exposure=0.35,
        camera__readout=0.0038,
        card__roll_deg=0.4,
        card__gap=0.015,
        fly__hackle=0.0042,
        fly__length=0.0145,
        fly__body_width=0.0055,
        fly__bead_diameter=0.0036,
        fly__bead_level=70.0,
        fly__shine=190.0,
        fly__mass=0.00042,
        fly__mass_in_water=0.000352,
        extras__noise=1.0,
        encoding__crf=21,
        encoding__preset="medium",
    )
    falls = (0.2188, 0.2201, 0.2196, 0.2205)
    return _with_speeds(scene, falls)


SCENES = {"reed-slip": reed_slip, "moss-hackle": moss_hackle, "slate-plump": slate_plump}


def _with_speeds(scene: Scene, speeds: tuple[float, ...]) -> Scene:
    return scene.but(**{f"drops__{number}__terminal_speed": speed for number, speed in enumerate(speeds)})


def main() -> None:
    """Render the clips named on the command line, or all of them."""
    parser = argparse.ArgumentParser(description="Render the demo clips, with sheets and truth.")
    parser.add_argument("names", nargs="*", choices=[*SCENES, []], help="clips to render (default: all)")
    parser.add_argument("--out", type=Path, default=CLIPS, help="directory to write into")
    chosen = parser.parse_args()
    chosen.out.mkdir(parents=True, exist_ok=True)
    for name in chosen.names or SCENES:
        scene, path = SCENES[name](), chosen.out / f"{name}.mp4"
        begun = time.perf_counter()
        truth = render(scene, path, write_truth=True)
        path.with_suffix(".toml").write_text(sheet_text(scene), encoding="utf-8")
        count, size = len(truth.frame_time_s), path.stat().st_size / 1e3
        rate = count / (time.perf_counter() - begun)
        print(f"{path}: {count} frames, {size:.0f} kB, {rate:.0f} frames/s")


if __name__ == "__main__":
    main()
