"""Cases of the clock and of up and down: slow motion that nobody declared, wrong rates, turned and rewritten pictures."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from rewritten import in_ticks, raw, replayed, turned, with_time_scale, without_tags
from tankview.scene import Scene
from tankview.simple import clean_scene, drops

from kitchen.case import Case, Outcome, Tables

TAG_240 = (("com.android.capture.fps", "240.0"),)
TAG_120 = (("com.android.capture.fps", "120.0"),)
TAG_60 = (("com.android.capture.fps", "60.0"),)
WATER = 998.6
"""Density of water at 18 degC [kg/m3] (table of physical constants, from memory)."""
WIDE, HIGH = 360, 640
"""Size of the picture [px]: a third of a phone's a side, as times do not hang on more."""
SMALL: dict[str, Any] = {"camera__width": WIDE, "camera__height": HIGH, "camera__focal_px": 1110.0}
LYING: dict[str, Any] = {
    "camera__width": HIGH,
    "camera__height": WIDE,
    "camera__focal_px": 624.0,
    "camera__stored_rotation": 0,
}
"""A phone on its side: its picture is wider than tall, its sensor read down the picture."""
LIFTED: dict[str, Any] = {"bottom_y": 0.235, "rest": 0.4, "lift_speed": 0.7}
LIGHT = (1.25, 1.35)
"""Density ratios of a fly without a bead."""


def at_the_table(
    seed: int,
    *,
    seen: bool = True,
    weighed: bool = False,
    density: tuple[float, float] = (1.9, 5.0),
    fps: float = 60.0,
    fall: dict[str, Any] | None = None,
    **changes: Any,
) -> Scene:
    """Return two drops; speed, density, start, noise and look vary with the seed.

    ``seen``: let go in view, else settled when it comes into view. The response time is (s + Ca) v / ((s - 1) g), longer by
    up to a tenth as the history force makes it; with ``weighed`` the sheet holds masses that fit density and drag.
    """
    rng = np.random.default_rng([seed, 7])
    speed = float(rng.uniform(0.22, 0.34)) if density != LIGHT else float(rng.uniform(0.12, 0.16))
    ratio = float(rng.uniform(*density))
    number = (ratio + float(rng.uniform(0.3, 0.6))) / (ratio - 1) * float(rng.uniform(1.0, 1.1))
    gap = 0.37 / speed + (0.8 if fall is None else 1.6)
    falling = {
        "first": float(rng.uniform(0.4, 0.6)),
        "terminal_speed": speed,
        "response_time": number * speed / 9.81,
        "wander": 0.0008,
        "wander_along": 0.0001,
        "release_y": 0.015 if seen else -0.046,
    }
    made = drops(2, gap, **(falling | (fall or {})))
    bead = 0.0028
    weight = 0.5 * WATER * float(rng.uniform(0.8, 1.4)) * np.pi / 4 * 0.0045**2 * speed**2 / 9.81
    masses = {
        "fly__mass": weight * ratio / (ratio - 1),
        "fly__mass_in_water": weight,
        "fly__bead_diameter": bead,
    }
    look = {
        "fly__hackle": 0.0022,
        "extras__noise": float(rng.uniform(1.0, 2.5)),
        "encoding__preset": "ultrafast",
        "encoding__crf": int(rng.integers(18, 24)),
        "timing__fps": fps,
    }
    base = {"drops": made, "duration": 0.7 + 2 * gap, "seed": seed} | look | (masses if weighed else {})
    return clean_scene(**(SMALL | base | changes))


def slowed(seed: int, times: float, stored: float = 30.0, **more: Any) -> Scene:
    """Return a scene filmed ``times`` as fast as it is stored, without a word of it in the file."""
    return at_the_table(seed, fps=stored * times, timing__stretch=times, timing__tag=False, **more)


def typed(rate: str | None) -> Callable[[Tables], Tables]:
    """Return what types a capture rate into the sheet, or takes it out."""

    def alter(tables: Tables) -> Tables:
        camera = {key: value for key, value in tables["camera"].items() if key != "capture_rate"}
        return tables | {"camera": camera | ({} if rate is None else {"capture_rate": rate})}

    return alter


def rescaled(factor: float) -> Callable[[Path, Path], None]:
    """Return what multiplies the track's ticks a second."""
    return partial(with_time_scale, box=b"mdhd", factor=factor)


def left_out(every: int, rate: float) -> Callable[[Path, Path], None]:
    """Return what leaves out one picture of so many and plays the rest at an even rate [Hz]."""
    return partial(replayed, pace=every / (every - 1), rate=rate)


def points_turned(tables: Tables) -> Tables:
    """Type the scale points as they lie in a picture on its head."""
    points = [[WIDE - 1 - x, HIGH - 1 - y] for x, y in tables["scale"]["points"]]
    return tables | {"scale": tables["scale"] | {"points": points}}


def _case(
    name: str,
    outcome: Outcome,
    scene: Callable[[int], Scene],
    *,
    sent: Callable[[Path, Path], None] | None = None,
    alter: Callable[[Tables], Tables] | None = None,
    flags: tuple[str, ...] = (),
) -> Case:
    more: dict[str, Any] = {} if sent is None else {"sent": sent}
    more |= {} if alter is None else {"typed": alter}
    return Case(name, scene, outcome, flags=frozenset(flags), **more)


BLENDED = ("blended-pictures",)
SLOW, ASKED, NONE = ("looks-slowed",), ("taken-as-real-time",), typed(None)
CASES = [
    _case("60 a second, settled, weighed", "measured", partial(at_the_table, seen=False, weighed=True), alter=NONE),
    _case("60 a second, settled", "measured", partial(at_the_table, seen=False), flags=ASKED, alter=NONE),
    _case("60 a second, settled, rate typed", "clean", partial(at_the_table, seen=False), alter=typed("60 Hz")),
    _case("60 a second, let go in view", "clean", at_the_table, alter=NONE),
    _case("240 a second in ticks of 1/600 s, rate typed", "clean", partial(at_the_table, fps=240.0),
          sent=partial(in_ticks, ticks=600), alter=typed("240 Hz")),
    _case("30 a second, let go in view", "clean", partial(at_the_table, fps=30.0), alter=NONE),
    _case("30 a second, let go in view, weighed", "clean", partial(at_the_table, fps=30.0, weighed=True), alter=NONE),
    _case("30 a second, settled, rate typed", "clean", partial(at_the_table, fps=30.0, seen=False), alter=typed("30 Hz")),
    _case("120 a second, let go in view", "clean", partial(at_the_table, fps=120.0), alter=NONE),
    _case("120 a second, settled, weighed", "measured", partial(at_the_table, fps=120.0, seen=False, weighed=True),
          alter=NONE),
    _case("120 a second, settled", "measured", partial(at_the_table, fps=120.0, seen=False), flags=ASKED, alter=NONE),
    _case("8 times slower, tagged, settled", "clean",
          partial(at_the_table, fps=240.0, timing__stretch=8.0, seen=False)),
    _case("twice too slow at 120 a second", "doubted", partial(slowed, times=2.0, stored=120.0), alter=NONE),
    _case("twice too slow at 120 a second, settled", "doubted", partial(slowed, times=2.0, stored=120.0, seen=False),
          alter=NONE, flags=ASKED),
    _case("3 times too slow at 80 a second", "doubted", partial(slowed, times=3.0, stored=80.0), alter=NONE),
    _case("3 times too slow at 80 a second, settled", "doubted", partial(slowed, times=3.0, stored=80.0, seen=False),
          alter=NONE, flags=ASKED),
    _case("twice too slow at 60 a second, settled", "doubted", partial(slowed, times=2.0, stored=60.0, seen=False),
          alter=NONE, flags=ASKED),
    _case("twice too slow at 60 a second, bushy, weighed, settled", "doubted",
          partial(slowed, times=2.0, stored=60.0, seen=False, weighed=True, fly__hackle=0.006), alter=NONE, flags=ASKED),
    _case("sped up from 60 to 75 a second", "doubted", partial(slowed, times=0.8, stored=75.0), alter=NONE),
    _case("sped up from 60 to 90 a second, settled", "doubted", partial(slowed, times=2 / 3, stored=90.0, seen=False),
          alter=NONE, flags=ASKED),
    _case("sped up from 30 to 60 a second, settled", "doubted", partial(slowed, times=0.5, stored=60.0, seen=False),
          alter=NONE, flags=ASKED),
    _case("240 typed, 120 in the file, settled", "doubted",
          partial(at_the_table, fps=120.0, timing__stretch=4.0, seen=False), alter=typed("240 Hz"), flags=("rates-differ",)),
    _case("120 typed, 120 in the file, settled", "clean",
          partial(at_the_table, fps=120.0, timing__stretch=4.0, seen=False), alter=typed("120 Hz")),
    _case("120 typed for 60 in real time, settled", "doubted", partial(at_the_table, seen=False), alter=typed("120 Hz"),
          flags=("rate-not-borne-out",)),
    _case("60 in the file of 30 in real time, settled", "doubted",
          partial(at_the_table, fps=30.0, seen=False, encoding__tags=TAG_60),
          flags=("rates-differ",), alter=NONE),
    _case("240 in the file of 60 in real time, slow and settled", "doubted",
          partial(at_the_table, density=LIGHT, seen=False, encoding__tags=TAG_240), alter=NONE,
          flags=("rate-not-borne-out",)),
    _case("120 in the file, every other picture lost, settled", "doubted",
          partial(at_the_table, fps=60.0, timing__stretch=4.0, timing__tag=False, density=LIGHT, seen=False,
                  encoding__tags=TAG_120), flags=("rate-not-borne-out",), alter=NONE),
    _case("240 typed of a clip played at 60, settled", "clean",
          partial(at_the_table, fps=240.0, timing__stretch=4.0, timing__tag=False, seen=False), alter=typed("240 Hz")),
    _case("8 times slower, tagged", "clean", partial(at_the_table, fps=240.0, timing__stretch=8.0)),
    _case("4 times slower, typed", "clean", partial(slowed, times=4.0)),
    _case("light fly at 60 a second", "measured", partial(at_the_table, density=LIGHT), alter=NONE),
    _case("light fly at 30 a second, weighed", "clean", partial(at_the_table, density=LIGHT, fps=30.0, weighed=True),
          alter=NONE),
    _case("twice too slow, weighed", "refused", partial(slowed, times=2.0, weighed=True), alter=NONE, flags=SLOW),
    _case("4 times too slow", "refused", partial(slowed, times=4.0), alter=NONE, flags=SLOW),
    _case("4 times too slow, stored at 60", "refused", partial(slowed, times=4.0, stored=60.0), alter=NONE, flags=SLOW),
    _case("8 times too slow", "refused", partial(slowed, times=8.0), alter=NONE, flags=SLOW),
    _case("8 times too slow, settled, weighed", "refused", partial(slowed, times=8.0, seen=False, weighed=True), alter=NONE,
          flags=SLOW),
    _case("tag lost on the way", "refused", partial(at_the_table, fps=120.0, timing__stretch=4.0), sent=without_tags,
          flags=SLOW),
    _case("tag of another clip", "refused",
          partial(at_the_table, fps=30.0, encoding__tags=TAG_240), flags=("rate-contradicted",), alter=NONE),
    _case("240 typed for a clip in real time", "refused", partial(at_the_table, fps=30.0), alter=typed("240 Hz"),
          flags=("rate-contradicted",)),
    _case("rate below the clip's own typed", "refused", at_the_table, alter=typed("25 Hz")),
    _case("raw stream", "refused", at_the_table, sent=raw, alter=NONE),
    _case("raw stream, rate typed", "measured", at_the_table, sent=raw, alter=typed("60 Hz")),
    _case("scale of time 4 times", "refused", at_the_table, sent=rescaled(4.0), alter=NONE),
    _case("scale of time a quarter", "refused", at_the_table, sent=rescaled(0.25), alter=NONE),
    _case("scale of time 2 % up", "flagged", at_the_table, sent=rescaled(1.02), alter=NONE),
    _case("scale of time 2 % down", "flagged", at_the_table, sent=rescaled(1 / 1.02), alter=NONE),
    _case("half speed, blended, rate typed, settled", "doubted", partial(at_the_table, seen=False),
          sent=partial(replayed, pace=0.5, rate=60.0, blended=True), alter=typed("60 Hz"), flags=BLENDED),
    _case("half speed, blended, light fly, rate typed", "doubted", partial(at_the_table, density=LIGHT, seen=False),
          sent=partial(replayed, pace=0.5, rate=60.0, blended=True), alter=typed("60 Hz"), flags=BLENDED),
    _case("three quarters speed, blended, rate typed", "doubted", at_the_table,
          sent=partial(replayed, pace=0.75, rate=60.0, blended=True), alter=typed("60 Hz"), flags=BLENDED),
    _case("four fifths speed at 30, blended, rate typed", "doubted", partial(at_the_table, fps=30.0),
          sent=partial(replayed, pace=0.8, rate=30.0, blended=True), alter=typed("30 Hz"), flags=BLENDED),
    _case("30 blended to 60, rate typed", "measured", partial(at_the_table, fps=30.0),
          sent=partial(replayed, pace=0.5, rate=60.0, blended=True), alter=typed("60 Hz"), flags=BLENDED),
    _case("every fifth picture left out, rate typed", "flagged", at_the_table, sent=left_out(5, 60.0), alter=typed("60 Hz"),
          flags=("pictures-left-out",)),
    _case("every tenth picture left out, rate typed, settled", "flagged", partial(at_the_table, seen=False),
          sent=left_out(10, 60.0), alter=typed("60 Hz"), flags=("pictures-left-out",)),
    _case("30 thinned to 24, rate typed", "measured", partial(at_the_table, fps=30.0), sent=left_out(5, 24.0),
          alter=typed("24 Hz"), flags=("pictures-left-out",)),
    _case("24 held to 60, rate typed", "flagged", partial(at_the_table, fps=24.0),
          sent=partial(replayed, pace=0.4, rate=60.0), alter=typed("60 Hz"), flags=("held-pictures",)),
    _case("25 held to 30, rate typed", "measured", partial(at_the_table, fps=25.0),
          sent=partial(replayed, pace=25 / 30, rate=30.0), alter=typed("30 Hz"), flags=("held-pictures",)),
    _case("30 played at 24", "flagged", partial(slowed, times=1.25, stored=24.0), alter=NONE, flags=ASKED),
    _case("60 played at 50", "flagged", partial(slowed, times=1.2, stored=50.0), alter=NONE, flags=ASKED),
    _case("24 a second, let go in view, rate typed", "clean", partial(at_the_table, fps=24.0), alter=typed("24 Hz")),
    _case("25 a second, settled, rate typed", "clean", partial(at_the_table, fps=25.0, seen=False), alter=typed("25 Hz")),
    _case("written again upright", "clean", at_the_table, sent=partial(turned, turns=0)),
    _case("written again upright, readout typed", "clean", partial(at_the_table, camera__readout=0.014),
          sent=partial(turned, turns=0)),
    _case("on its side, readout typed", "clean", partial(at_the_table, **LYING, camera__readout=0.008)),
    _case("lifted out between drops", "clean", partial(at_the_table, fall=LIFTED)),
    _case("on its head, lifted out", "refused", partial(at_the_table, fall=LIFTED), sent=partial(turned, turns=2)),
    _case("on its head, lifted out, no card", "refused", partial(at_the_table, fall=LIFTED, card=None),
          sent=partial(turned, turns=2), alter=points_turned),
    _case("on its head, not lifted", "refused", at_the_table, sent=partial(turned, turns=2)),
    _case("quarter turned, lifted out", "flagged", partial(at_the_table, fall=LIFTED), sent=partial(turned, turns=1)),
    _case("card upside down", "flagged", partial(at_the_table, card__upside_down=True), flags=("card-upside-down",)),
]  # fmt: skip
