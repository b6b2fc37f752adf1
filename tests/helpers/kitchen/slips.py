"""Cases of slips that a number gets past: points of another picture, gaps, bars, moved cards, loops, ramps, squeezes, cuts.

Each stands beside a clean neighbour that must not be flagged.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import av
import cv2
import numpy as np
from rewritten import shown_again
from tankview import optics
from tankview.render import render
from tankview.scene import Scene
from tankview.simple import clean_scene, drops

from kitchen.case import Case, Tables
from kitchen.clock import NONE
from kitchen.sheet import squeezed

Sent = Callable[[Path, Path], None]
Look = Callable[[Any, float], Any]
NO_CARD: dict[str, Any] = {"card": None}
LYING: dict[str, Any] = {
    "camera__width": 960, "camera__height": 540, "camera__focal_px": 936.0, "camera__stored_rotation": 0,
    "camera__readout": 1 / 60,
}  # fmt: skip
"""A phone on its side, the slowest readout that 60 frames a second leave time for."""


def _scene(seed: int, /, count: int = 3, wander: float = 0.0008, **changes: Any) -> Scene:
    """Return drops of a fly by seed that reaches its speed before the picture, or in it."""
    rng = np.random.default_rng([seed, 21])
    speed = float(rng.uniform(0.22, 0.34))
    gap = 0.37 / speed + 0.7
    fell = drops(
        count, gap, first=0.3, terminal_speed=speed, response_time=float(rng.uniform(1.4, 2.4)) * speed / 9.81,
        wander=wander, wander_along=0.0001, release_y=0.015,
    )  # fmt: skip
    base: dict[str, Any] = {
        "drops": fell,
        "duration": 0.5 + count * gap,
        "seed": seed,
        "encoding__preset": "ultrafast",
        "extras__noise": 1.5,
    }
    return clean_scene(**(base | changes))


def but(**changes: Any) -> Callable[[int], Scene]:
    return lambda seed: _scene(seed, **changes)


def _typed(table: str, **values: Any) -> Callable[[Tables], Tables]:
    return lambda tables: {**tables, table: {**tables.get(table, {}), **values}}


def _read_off(share: float, picture: str | None = None) -> Callable[[Tables], Tables]:
    """Return what types points read off a picture that is so much smaller."""

    def typed(tables: Tables) -> Tables:
        points = [[(one + 0.5) * share - 0.5 for one in point] for point in tables["scale"]["points"]]
        told = {} if picture is None else {"picture": picture}
        return {**tables, "scale": {**tables["scale"], "points": points} | told}

    return typed


def _points_across(squeeze: float, **changes: Any) -> Callable[[Tables], Tables]:
    """Return what types two points across the fall, 120 mm apart, of a picture squeezed so much across."""
    scene = _scene(1, **NO_CARD, **changes)
    ends = np.array([[-0.06, 0.12, 0.07], [0.06, 0.12, 0.07]])
    pixels = optics.project(ends, scene.camera, scene.tank)
    pixels[:, 0] *= squeeze
    return _typed("scale", points=pixels.round(2).tolist(), length="120 mm")


def _as_it_is(picture: Any, time: float) -> Any:
    return picture


def _zoomed(size: float, begin: float, down: float = 0.0) -> Look:
    """Return what shows pictures from ``begin`` [s] on larger about their middle, and moved down [px]."""

    def look(picture: Any, time: float) -> Any:
        if time < begin:
            return picture
        middle = (np.array(picture.shape[::-1]) - 1) / 2
        matrix = np.column_stack([size * np.eye(2), (1 - size) * middle + [0.0, down]])
        return cv2.warpAffine(picture, matrix, picture.shape[::-1], borderMode=cv2.BORDER_REPLICATE)

    return look


def _narrowed(tables: Tables, share: float) -> Tables:
    """Return what types the points off the squeezed picture, as its owner sees it."""
    points = [[(x + 0.5) * share - 0.5, y] for x, y in tables["scale"]["points"]]
    return {**tables, "scale": {**tables["scale"], "points": points}}


def _written(
    parts: Callable[[Path], list[Path]],
    cut: slice = slice(None),
    slow: float | None = None,
    look: Look = _as_it_is,
) -> Sent:
    """Return what writes clips one after the other, upright, cut out of the width, or four times slower from ``slow`` [s];
    ``look`` alters each picture, at its time [s]."""

    def sent(clip: Path, target: Path) -> None:
        with av.open(str(target), "w") as new:
            out: Any = None
            offset = last = 0.0
            for part in parts(clip):
                with av.open(str(part)) as old:
                    for frame in old.decode(video=0):
                        upright = np.rot90(frame.to_ndarray(format="gray"), round(frame.rotation / 90))
                        picture: Any = np.ascontiguousarray(look(upright[:, cut], float(frame.time)))
                        if out is None:
                            out = new.add_stream("libx264", rate=60)
                            out.height, out.width = picture.shape
                            out.pix_fmt = "yuv420p"
                            out.codec_context.time_base = Fraction(1, 90_000)
                            out.codec_context.options = {"crf": "18", "preset": "ultrafast"}
                        last = offset + _slowed(float(frame.time), slow)
                        if slow is not None and frame.time < slow and round(frame.time * 240) % 4:
                            continue
                        shown = av.VideoFrame.from_ndarray(picture, format="gray").reformat(format="yuv420p")
                        shown.pts, shown.time_base = round(last * 90_000), Fraction(1, 90_000)
                        new.mux(out.encode(shown))
                offset = last + 1 / 60
            new.mux(out.encode(None))

    return sent


def _slowed(time: float, begin: float | None) -> float:
    return time if begin is None or time < begin else begin + 4.0 * (time - begin)


@cache
def _other(**changes: Any) -> Path:
    path = Path(mkdtemp()) / "other.mp4"
    render(_scene(99, count=2, **changes), path)
    return path


def _joined(**changes: Any) -> Sent:
    """Return what joins another clip of the same tank behind."""
    return _written(lambda clip: [clip, _other(**changes)])


def looking(look: Look) -> Sent:
    return _written(lambda clip: [clip], look=look)


def _ramped(begin: float, slow: float) -> Sent:
    """Return what plays all from ``begin`` [s] on so many times slower, pictures blended, as an editor's ramp does."""

    def sent(clip: Path, target: Path) -> None:
        with av.open(str(clip)) as old:
            count = sum(1 for _ in old.decode(video=0))
        first = round(60 * begin)
        shown_again(clip, target, [*map(float, range(first)), *np.arange(first, count - 1, 1 / slow)], 60.0)

    return sent


def _without_readout(tables: Tables) -> Tables:
    camera = {key: value for key, value in tables["camera"].items() if key != "readout"}
    return {**tables, "camera": camera}


def _round_of(wider: float) -> Callable[[Tables], Tables]:
    """Return what types a round column and two points in it, which it shows so much wider."""

    def typed(tables: Tables) -> Tables:
        return {**_points_across(wider)(tables), "tank": {"diameter": "190 mm", "wall": "4 mm"}}

    return typed


def _flag(name: str) -> frozenset[str]:
    return frozenset({name})


CHANGED, UNWATCHED = _flag("picture-changed"), _flag("size-unwatched")
CLUTTER: dict[str, Any] = {**NO_CARD, "backdrop__clutter": 14}
ONE_ROOM: dict[str, Any] = {**CLUTTER, "seed": 99}
"""The room in which the other clip was filmed, whatever the fly."""
LINE: dict[str, Any] = {**NO_CARD, "backdrop__texture": 0.0, "tank__surface_y": -0.02}
BOTH: dict[str, Any] = {**LINE, "tank__surface_y": 0.0, "tank__floor_y": 0.235}
LOWER: dict[str, Any] = {**LINE, "tank__floor_y": 0.235}
"""The water line leaves the picture where it is zoomed, the table's edge does not."""
ONCE: Sent = _written(lambda clip: [clip])
"""Written again, upright, and nothing else done to it."""
CASES: list[Case] = [
    Case("slips: points off half the size", but(**NO_CARD), "flagged", typed=_read_off(0.5),
         flags=_flag("points-of-another-picture")),
    Case("slips: points off half the size, said so", but(**NO_CARD), "clean", typed=_read_off(0.5, "270 x 480")),
    Case("slips: points off another shape", but(**NO_CARD), "refused", typed=_read_off(0.5, "480 x 270")),
    Case("slips: points off the clip's own size", but(**NO_CARD), "clean"),
    Case("slips: points across a round column", but(**NO_CARD), "flagged", squeezed(1.27, 1.0), _round_of(1.27),
         _flag("round-column")),
    Case("slips: points across, straight from the phone", but(**NO_CARD), "clean", typed=_points_across(1.0)),
    Case("slips: points across a squeezed picture", but(**NO_CARD), "flagged", squeezed(0.75, 1.0), _points_across(0.75),
         _flag("points-across")),
    Case("slips: points across three to four made nine to sixteen", but(**NO_CARD, camera__width=720), "flagged",
         squeezed(0.75, 1.0), _points_across(0.75, camera__width=720), _flag("points-across")),
    Case("slips: points down three to four made nine to sixteen", but(**NO_CARD, camera__width=720), "measured",
         squeezed(0.75, 1.0), lambda tables: _narrowed(tables, 0.75)),
    Case("slips: phone on its side, cut upright", but(**LYING), "measured",
         _written(lambda clip: [clip], slice(330, 630)), _without_readout),
    Case("slips: gap of 1.2 mm for 12", _scene, "flagged", typed=_typed("scale", gap="1.2 mm"), flags=_flag("gap-doubt")),
    Case("slips: gap of 8 mm", but(card__gap=0.008), "clean"),
    Case("slips: card pushed back before the second half", _scene, "refused", _joined(card__gap=0.045)),
    Case("slips: phone put nearer before the second half", _scene, "refused", _joined(camera__distance=0.44)),
    Case("slips: two clips of one set-up joined", _scene, "clean", _joined()),
    Case("slips: bar read 104 mm", _scene, "flagged", typed=_typed("scale", bar="104 mm"),
         flags=_flag("card-size-unusual")),
    Case("slips: bar read 94 mm", _scene, "flagged", typed=_typed("scale", bar="94 mm"), flags=_flag("card-size-unusual")),
    Case("slips: printed at 102 %", but(card__print_scale=1.02), "clean"),
    Case("slips: one drop five times over", but(count=1), "flagged", _written(lambda clip: [clip] * 5),
         flags=_flag("repeated-drop")),
    Case("slips: three drops written again", _scene, "clean", ONCE),
    Case("slips: three drops that do not wander", but(wander=0.0), "clean"),
    Case("slips: the last two drops four times slower", but(timing__fps=240.0), "refused",
         _written(lambda clip: [clip], slow=1.9), typed=NONE),
    Case("slips: all but the first drop 1.5 times slower", but(count=4), "flagged", _ramped(2.05, 1.5), typed=NONE,
         flags=_flag("another-clock")),
    Case("slips: all but the first drop 3 times slower", but(count=4), "refused", _ramped(2.05, 3.0), typed=NONE),
    Case("slips: zoomed after the first drop", but(**CLUTTER), "refused", looking(_zoomed(1.08, 2.3)), flags=CHANGED),
    Case("slips: zoomed out before the last drop", but(**CLUTTER), "refused", looking(_zoomed(1 / 1.06, 4.6)),
         flags=CHANGED),
    Case("slips: zoomed before all drops", but(**CLUTTER), "refused", looking(_zoomed(1.07, 0.2, 15.0)), flags=CHANGED),
    Case("slips: zoomed before all, two lines", but(**BOTH), "refused", looking(_zoomed(1.07, 0.2)), flags=CHANGED),
    Case("slips: zoomed before all, one line left", but(**LOWER), "flagged", looking(_zoomed(1.07, 0.2)), flags=UNWATCHED),
    Case("slips: zoomed before all, the line lost", but(**LINE), "flagged", looking(_zoomed(1.07, 0.2)),
         flags=_flag("steadiness-unknown")),
    Case("slips: zoomed by 1 % before all", but(**CLUTTER), "refused", looking(_zoomed(1.01, 0.2)), flags=CHANGED),
    Case("slips: picture jumped by 18 px", but(**CLUTTER), "measured", looking(_zoomed(1.0, 2.3, 18.0))),
    Case("slips: phone nearer for the other half, points", but(count=1, **ONE_ROOM), "refused",
         _joined(**CLUTTER, camera__distance=0.46), flags=CHANGED),
    Case("slips: another room for the other half, points", but(**CLUTTER), "refused", _joined(**CLUTTER), flags=CHANGED),
    Case("slips: cluttered room, points, written again", but(**CLUTTER), "clean", ONCE),
]  # fmt: skip
