"""Cases of the sheet: what was typed, how the card stands, where tweezers let go; slips that a picture contradicts.

Tweezers let go 3 mm off (one standard deviation) before or behind the plane that was told, each drop anew.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
from tankview.scene import Scene
from tankview.simple import aimed, clean_scene, drops

from kitchen.case import Case, Tables

OFF_PLANE = 0.003
"""Standard deviation of where tweezers let go, before or behind the plane of fall [m]."""


def _scene(seed: int, **changes: Any) -> Scene:
    """Return two drops of a fly of its own, typed as filmed but for where the tweezers let go."""
    rng = np.random.default_rng(seed)
    speed = float(rng.uniform(0.2, 0.4))
    gap = 0.37 / speed + 0.7
    fields = {
        "terminal_speed": speed,
        "response_time": float(rng.uniform(1.3, 3.5)) * speed / 9.81,
        "wander": float(rng.uniform(0, 0.001)),
        "release_x": float(rng.normal(0, 0.004)),
    }
    base = clean_scene(
        drops=drops(2, gap, **fields),
        duration=0.3 + 2 * gap,
        encoding__preset="ultrafast",
        extras__noise=float(rng.uniform(1, 3)),
        camera__distance=float(rng.uniform(0.45, 0.6)),
        seed=seed,
    )
    fell = tuple(replace(drop, depth_offset=float(rng.normal(0, OFF_PLANE))) for drop in base.drops)
    return aimed(replace(base, drops=fell).but(**changes))


def _but(**changes: Any) -> Any:
    return lambda seed: _scene(seed, **changes)


def _typed(table: str, key: str, value: Any) -> Any:
    """Return what types a value, or leaves a key out where it is None."""

    def typed(tables: Tables) -> Tables:
        changed = dict(tables.get(table, {})) | {key: value}
        return {**tables, table: {name: one for name, one in changed.items() if one is not None}}

    return typed


def _times(table: str, key: str, factor: float) -> Any:
    """Return what types a length so many times too large."""

    def typed(tables: Tables) -> Tables:
        number, unit = tables[table][key].split()
        return {**tables, table: {**tables[table], key: f"{float(number) * factor:g} {unit}"}}

    return typed


def squeezed(across: float, down: float) -> Any:
    """Return what hands the clip over upright, its picture squeezed, as an editor does."""

    def sent(clip: Path, target: Path) -> None:
        with av.open(str(clip)) as old, av.open(str(target), "w") as new:
            stream = old.streams.video[0]
            out = new.add_stream("libx264", rate=stream.average_rate or Fraction(60))
            out.options = {"preset": "ultrafast", "crf": "18"}
            out.pix_fmt = "yuv420p"
            for frame in old.decode(stream):
                picture = np.rot90(frame.to_ndarray(format="gray"), -1 if frame.rotation == -90 else 0)
                high, wide = (
                    2 * round(side * by / 2) for side, by in zip(picture.shape, (down, across), strict=True)
                )
                upright = av.VideoFrame.from_ndarray(np.ascontiguousarray(picture), format="gray")
                if not out.codec_context.is_open:
                    out.width, out.height = wide, high
                small = upright.reformat(width=wide, height=high, format="yuv420p", interpolation="BICUBIC")
                small.pts, small.time_base = frame.pts, frame.time_base
                new.mux(out.encode(small))
            new.mux(out.encode(None))

    return sent


def _distances() -> list[Case]:
    doubt = frozenset({"distance-doubt"})
    slips = {"10 times too far": 10.0, "a tenth as far": 0.1, "8 times too far": 8.0}
    found = [
        Case(f"distance {name}, phone tilted by {tilt:g} degrees", _but(camera__tilt_deg=tilt), "flagged",
             typed=_times("camera", "distance", factor), flags=doubt)
        for name, factor in slips.items()
        for tilt in ((0.0, 2.0) if factor > 1 else (0.0,))
    ]  # fmt: skip
    return [
        *found,
        Case("distance twice too far, phone tilted by 5 degrees", _but(camera__tilt_deg=5.0), "flagged",
             typed=_times("camera", "distance", 2.0), flags=doubt),
        Case("distance off by 3 mm", _scene, "clean", typed=_times("camera", "distance", 1.006)),
        Case("neither distance nor gap told", _scene, "flagged", typed=lambda tables: _typed("scale", "gap", None)(
            _typed("camera", "distance", None)(tables)), flags=frozenset({"gap-unknown"})),
    ]  # fmt: skip


CASES: list[Case] = [
    *_distances(),
    Case("as typed", _scene, "clean"),
    Case("gap of 25 mm", _but(card__gap=0.025), "clean"),
    Case("card rolled by 4 degrees", _but(card__roll_deg=4.0), "clean"),
    Case("printed at 97 %", _but(card__print_scale=0.97), "clean"),
    Case("phone tilted by 2 degrees", _but(camera__tilt_deg=2.0), "clean"),
    Case("letter paper", _but(card__paper="letter"), "clean"),
    Case("fly behind the card", _scene, "refused", typed=_typed("scale", "gap", "-12 mm")),
    Case("gap not told", _scene, "flagged", typed=_typed("scale", "gap", None), flags=frozenset({"gap-unknown"})),
    Case("bar read 90 mm", _scene, "flagged", typed=_typed("scale", "bar", "90 mm"), flags=frozenset({"card-size-odd"})),
    Case("bar read 110 mm", _scene, "flagged", typed=_typed("scale", "bar", "110 mm"), flags=frozenset({"card-size-odd"})),
    Case("± larger than the distance", _scene, "refused", typed=_typed("camera", "distance", "500 mm +- 5 m")),
    Case("± of the frame rate", _scene, "refused", typed=_typed("camera", "capture_rate", "60 Hz +- 1 Hz")),
    Case("± of the wall", _scene, "refused", typed=_typed("tank", "wall", "4 mm +- 1 mm")),
    Case("± of the bead", _scene, "refused", typed=_typed("fly", "bead", "2.8 mm +- 0.1 mm")),
    Case("bar beside two points", _but(card=None), "refused", typed=_typed("scale", "bar", "100 mm")),
    Case("two points", _but(card=None), "measured"),
    Case("let go 6 mm before the plane", _but(drops__all__depth_offset=-0.006), "measured"),
    Case("let go 6 mm behind the plane", _but(drops__all__depth_offset=0.006), "measured"),
    Case("all drops slant by 4 degrees", _but(drops__all__slope=0.07), "measured"),
    Case("one drop left out by hand", _scene, "measured", typed=_typed("drops", "without", [[1, "hit the wall"]])),
    *[
        Case(f"squeezed to {across:g} across and {down:g} down", _scene, "flagged", squeezed(across, down),
             flags=frozenset({"squeezed-picture"}))
        for across, down in ((1.0, 0.9), (0.75, 1.0), (0.97, 1.0), (1.0, 1.15))
    ],
    Case("sent upright and unsqueezed", _scene, "measured", squeezed(1.0, 1.0)),
]  # fmt: skip
