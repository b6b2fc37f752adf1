"""Cases of files that were trimmed, noted, held or put together, as phones and editors do before a clip is measured."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from notes import noted
from rewritten import (
    beside_other_pictures,
    held,
    ramped,
    shown_again,
    with_edit,
    with_notes,
    with_time_scale,
)
from tankview.scene import Scene

from kitchen.case import Case
from kitchen.clock import NONE, at_the_table, slowed, typed

SLOW = noted(b"Invalid_Data", b"SlowMotion_Data")
LONG = 30.0
"""Longer than any of these clips [s]."""


def cut(clip: Path, target: Path, begin: float, end: float) -> None:
    """Trim so much off the beginning and the end of a clip [s] by its edit list."""
    with_edit(clip, target, begin, _length(clip) - begin - end)


def slowly(clip: Path, target: Path, times: float) -> None:
    """Have the edit list play a clip so many times as slowly."""
    with_edit(clip, target, 0.0, _length(clip) * times, 1 / times)


def cut_and_wrong(clip: Path, target: Path, factor: float) -> None:
    """Trim half a second off the end, and put the scale of time wrong as well."""
    part = target.with_name("cut.mp4")
    cut(clip, part, 0.0, 0.5)
    with_time_scale(part, target, b"mdhd", factor)


def ramp(clip: Path, target: Path, slower: float, stop: float = LONG) -> None:
    """Slow a clip filmed at 240 a second down from the middle of its first fall till an instant [s], at 30 a second."""
    shown_again(clip, target, ramped(_length(clip), 240.0, 30.0, 1.1, stop, slower), 30.0)


def _length(clip: Path) -> float:
    data = clip.read_bytes()
    at = data.index(b"mvhd") + 4 + 12
    return int.from_bytes(data[at + 4 : at + 8]) / int.from_bytes(data[at : at + 4])


def _sent(
    name: str,
    outcome: str,
    sent: Callable[[Path, Path], None],
    scene: Callable[[int], Scene] = at_the_table,
    **more: object,
) -> Case:
    return Case(name, scene, outcome, sent=sent, **more)  # type: ignore[arg-type]


CASES = [
    _sent("beginning trimmed", "clean", partial(cut, begin=0.25, end=0.0)),
    _sent("end trimmed", "clean", partial(cut, begin=0.0, end=0.1)),
    _sent("both ends trimmed", "clean", partial(cut, begin=0.25, end=0.1)),
    _sent("two pictures trimmed", "clean", partial(cut, begin=0.0, end=0.03)),
    _sent("end trimmed, 30 a second", "clean", partial(cut, begin=0.0, end=0.1), partial(at_the_table, fps=30.0)),
    _sent("beginning trimmed, HEVC", "clean", partial(cut, begin=0.25, end=0.0),
          partial(at_the_table, encoding__codec="hevc")),
    _sent("end trimmed, scale of time a quarter", "refused", partial(cut_and_wrong, factor=0.25), typed=NONE),
    _sent("end trimmed, scale of time 4 times", "refused", partial(cut_and_wrong, factor=4.0), typed=NONE),
    _sent("movie's ticks 4 times", "refused", partial(with_time_scale, box=b"mvhd", factor=4.0), typed=NONE),
    _sent("movie's ticks 2 % up", "flagged", partial(with_time_scale, box=b"mvhd", factor=1.02), typed=NONE),
    _sent("played slowly by its edit list, 30 a second", "refused", partial(slowly, times=4.0),
          partial(at_the_table, fps=30.0), typed=NONE),
    _sent("played slowly by its edit list, rate typed", "clean", partial(slowly, times=4.0),
          partial(at_the_table, fps=30.0), typed=typed("30 Hz")),
    _sent("noted as slow motion", "refused", partial(with_notes, notes=SLOW), partial(slowed, times=4.0), typed=NONE),
    _sent("noted as slow motion, rate typed", "clean", partial(with_notes, notes=SLOW), partial(slowed, times=4.0)),
    _sent("noted as slow motion, tagged", "clean", partial(with_notes, notes=SLOW),
          partial(at_the_table, fps=240.0, timing__stretch=8.0)),
    _sent("other notes of that maker", "clean", partial(with_notes, notes=noted(b"MCC_Data"))),
    _sent("cover before the clip", "clean", partial(beside_other_pictures, count=1, size=(1200, 1200))),
    _sent("small video before the clip", "clean", partial(beside_other_pictures, count=40, size=(160, 120)),
          flags=frozenset({"several-videos"})),
    _sent("pictures held twice", "flagged", partial(held, times=2), flags=frozenset({"held-pictures"})),
    *(
        _sent(f"ramp within the first fall, {slower:g} times", "measured", partial(ramp, slower=slower, stop=1.4),
              partial(at_the_table, fps=240.0), typed=NONE)
        for slower in (2.0, 4.0, 8.0)
    ),
    _sent("from the first fall on 8 times slower", "refused", partial(ramp, slower=8.0),
          partial(at_the_table, fps=240.0), typed=NONE),
]  # fmt: skip
