"""Rendering scenes once a session and measuring them."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import av
from tankview.render import render
from tankview.scene import Scene
from tankview.sheet import sheet_text
from tankview.truth import DropTruth, Truth

from flybench.bench.clip.footage import open_clip
from flybench.bench.measure import Run, measure
from flybench.bench.sheet.read import read_sheet
from flybench.bench.verdict.result import MeasuredDrop

_DONE: dict[str, tuple[Path, Truth]] = {}


def rendered(scene: Scene, folder: Path) -> tuple[Path, Truth]:
    """Render a scene, once a session."""
    key = repr(scene)
    if key not in _DONE:
        path = folder / f"clip-{len(_DONE)}.mp4"
        _DONE[key] = path, render(scene, path)
    return _DONE[key]


def measured(scene: Scene, path: Path, overrides: dict[str, float | None] | None = None) -> Run:
    """Measure a rendered clip with its own sheet, typed lengths off by ``overrides`` [m] if given."""
    tables: dict[str, Any] = tomllib.loads(sheet_text(scene, overrides or {}))
    return measure(open_clip(path), read_sheet(tables))


@dataclass(frozen=True)
class Pair:
    """A measured drop and its truth."""

    measured: MeasuredDrop
    truth: DropTruth

    @property
    def error(self) -> float:
        """Return the relative error of the tank sink speed."""
        assert self.measured.fit is not None
        return self.measured.fit.terminal_speed / self.truth.terminal_speed_m_s - 1.0

    @property
    def holds(self) -> bool:
        """Tell whether the k = 2 interval holds the truth."""
        return abs(self.error) * self.truth.terminal_speed_m_s <= 2.0 * self.measured.uncertainty


def pairs(run: Run, truth: Truth) -> list[Pair]:
    """Return the used drops, each with the true drop that it overlaps."""
    found = []
    for drop in run.result.used_drops:
        middle = float(drop.drop.times.mean())
        true = min(truth.drops, key=lambda one: abs((one.start_s + one.end_s) / 2 - middle))
        found.append(Pair(drop, true))
    return found


def index_first(source: Path, target: Path) -> None:
    """Write the same clip with its index before the pictures, as streamed files have it."""
    with av.open(str(source)) as old, av.open(str(target), "w", options={"movflags": "faststart"}) as new:
        stream = new.add_stream_from_template(old.streams.video[0])
        for packet in old.demux(old.streams.video[0]):
            if packet.dts is not None:
                packet.stream = stream
                new.mux(packet)
