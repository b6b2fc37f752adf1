"""Cases of a phone that is carried off, of a focus that breathes, and of somebody who looks in; each beside a true zoom."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import cv2
import numpy as np
from tankview.scene import Scene

from kitchen.case import Case, Outcome
from kitchen.slips import CHANGED, CLUTTER, Look, but, looking

Size = Callable[[float], float]
FACE_FROM, FACE_TO = 2.6, 4.1
"""When somebody looks in [s]."""


def _shown(picture: Any, matrix: Any, border: int = cv2.BORDER_REPLICATE) -> Any:
    size = picture.shape[::-1]
    return cv2.warpAffine(picture, matrix, size, flags=cv2.INTER_CUBIC, borderMode=border)


def _carried(share: Callable[[float], float], far: float) -> Look:
    """Return what shows a phone lifted, turned and pushed nearer: by ``share`` of time [s], 0 at rest, times ``far``."""

    def look(picture: Any, time: float) -> Any:
        way = share(time)
        if way <= 0.0:
            return picture
        rows, columns = picture.shape
        matrix = cv2.getRotationMatrix2D((columns / 2, rows), far * 25 * way**1.5, 1 + far * 0.2 * way)
        matrix[:, 2] += [far * 90 * way**1.5, -far * 260 * way**1.3]
        return _shown(picture, matrix, cv2.BORDER_REFLECT)

    return look


def _sized(size: Size) -> Look:
    """Return what shows each picture larger about its middle by what ``size`` says of its time [s]."""

    def look(picture: Any, time: float) -> Any:
        middle = (np.array(picture.shape[::-1]) - 1) / 2
        large = 1.0 + size(time)
        return _shown(picture, np.column_stack([large * np.eye(2), (1 - large) * middle]))

    return look


def _hunt(growth: float, begin: float) -> Size:
    """Return a focus that overshoots for a third of a second and comes back, from ``begin`` [s] on."""

    def size(time: float) -> float:
        since = time - begin
        there, back = np.exp(-(((since - 0.2) / 0.12) ** 2)), np.exp(-(((since - 0.45) / 0.1) ** 2))
        return float(growth * (there - 0.5 * back))

    return size


def _face(picture: Any, time: float) -> Any:
    """Show somebody's face, behind the tank, over most of the picture."""
    if not FACE_FROM < time < FACE_TO:
        return picture
    rows, columns = picture.shape
    coarse = np.random.default_rng(5).normal(0, 1, (48, 27)).astype(np.float32)
    face = cv2.resize(coarse, (columns, rows), interpolation=cv2.INTER_CUBIC)
    y, x = np.mgrid[0:rows, 0:columns]
    inside = ((x - columns / 2) / (0.43 * columns)) ** 2 + ((y - rows / 2) / (0.42 * rows)) ** 2 < 1
    mask = cv2.GaussianBlur(inside.astype(np.float32), (0, 0), 4)
    return np.clip(
        picture * (1 - mask) + (cv2.GaussianBlur(face, (0, 0), 3) * 28 + 95) * mask, 0, 255
    ).astype(np.uint8)


def _lamp(share: float) -> Look:
    """Return what shows the room before a lamp was switched on, after the first drop: so much of the light [-]."""

    def look(picture: Any, time: float) -> Any:
        return picture if time > LAMP else np.rint(picture * share).astype(np.uint8)

    return look


def _case(
    name: str, outcome: Outcome, look: Look, flags: frozenset[str] = frozenset(), **changes: Any
) -> Case:
    return Case(f"carried: {name}", but(**changes), outcome, looking(look), flags=flags)


def _longer(seed: int, /, **changes: Any) -> Scene:
    """Return the scene with time at its end to take the phone."""
    return but(**changes)(seed).but(duration=LONG)


LAMP = 2.1
"""When the lamp is switched on [s]: the first drop has landed in nearly every scene."""
LONG = 9.0
"""How long those clips last at whose end the phone is taken [s]: all drops have landed by 7.7 s."""
LEFT, HIDDEN = frozenset({"picture-left"}), frozenset({"picture-hidden"})
BREATHES = frozenset({"picture-breathes"})


def _at_the_end(time: float) -> float:
    return (time - (LONG - 0.9)) / 0.9


def _at_first(time: float) -> float:
    return (0.28 - time) / 0.28


def _taken(name: str, far: float, **changes: Any) -> Case:
    look = looking(_carried(_at_the_end, far))
    return Case(f"carried: {name}", lambda seed: _longer(seed, **changes), "clean", look, flags=LEFT)


CASES: list[Case] = [
    _taken("phone taken at the end, card", 1.0),
    _taken("phone taken at the end, points", 1.0, **CLUTTER),
    _taken("phone moved a little at the end, card", 0.35),
    _taken("phone moved a little at the end, points", 0.35, **CLUTTER),
    _case("phone put down before the first drop, card", "measured", _carried(_at_first, 1.0)),
    _case("phone put down before the first drop, points", "refused", _carried(_at_first, 1.0), CHANGED, **CLUTTER),
    _case("focus hunts between drops", "measured", _sized(_hunt(0.012, 1.9)), **CLUTTER),
    _case("focus hunts in the first drop", "measured", _sized(_hunt(0.012, 0.6)), **CLUTTER),
    _case("focus hunts in the first drop, card", "measured", _sized(_hunt(0.012, 0.6))),
    _case("focus settles at first, points", "flagged", _sized(lambda time: 0.012 * float(np.exp(-time / 0.15))),
          BREATHES, **CLUTTER),
    _case("focus settles at first, card", "measured", _sized(lambda time: 0.012 * float(np.exp(-time / 0.15)))),
    _case("zoomed by 1.2 % for half the clip, which is followed", "measured",
          _sized(lambda time: 0.012 * (1.5 < time < 3.5)), **CLUTTER),
    _case("zoomed by 4 % for a moment", "refused", _sized(lambda time: 0.04 * (1.7 < time < 2.2)), CHANGED, **CLUTTER),
    _case("somebody looks in from behind, points", "measured", _face, HIDDEN, **CLUTTER),
    _case("somebody looks in from behind, card", "measured", _face),
    _case("lamp switched on after the first drop, card", "clean", _lamp(0.5)),
    _case("lamp switched on after the first drop, points", "clean", _lamp(0.6), **CLUTTER),
]  # fmt: skip
