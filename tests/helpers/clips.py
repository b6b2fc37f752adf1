"""Rendering scenes once for the whole suite, whichever worker comes first, and measuring them."""

from __future__ import annotations

import hashlib
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import av
from looked_once import looked_once
from made_once import once
from tankview.render import render
from tankview.scene import Scene
from tankview.sheet import sheet_text
from tankview.truth import DropTruth, Truth

from flybench.bench.clip.footage import Clip, open_clip
from flybench.bench.measure import Measurement, measure
from flybench.bench.sheet.read import read_sheet
from flybench.bench.sheet.settings import Settings
from flybench.bench.verdict.result import BenchResult, MeasuredDrop


def read_once(folder: Path, clip: Clip, settings: Settings, close_ups: bool = True) -> Measurement:
    """Measure a clip with its settings once for all workers, with close-ups or without them."""
    key = f"{clip.name} {clip.sha256()} {settings!r}"

    def read() -> Measurement:
        with looked_once(folder):
            return measure(clip, settings)

    run: Measurement = once(folder, key, read)
    return run if close_ups else replace(run, close_up=None)


def rendered(scene: Scene, folder: Path) -> tuple[Path, Truth]:
    """Render a scene once for all workers; nobody may write to the clip."""
    key = repr(scene)
    path = folder / f"clip-{hashlib.sha256(key.encode()).hexdigest()[:20]}.mp4"
    truth: Truth = once(folder, f"truth of {key}", lambda: render(scene, path))
    return path, truth


def measured(scene: Scene, path: Path, overrides: dict[str, float | None] | None = None) -> Measurement:
    """Measure a rendered clip with its own sheet, typed lengths off by ``overrides`` [m] if given."""
    return measure(open_clip(path), read_sheet(sheet_of(scene, overrides or {})))


def sheet_of(scene: Scene, overrides: dict[str, float | None]) -> dict[str, Any]:
    """Return the tables of a scene's own sheet, typed lengths off by ``overrides`` [m]."""
    return tomllib.loads(sheet_text(scene, overrides))


def result_of(scene: Scene, folder: Path) -> tuple[BenchResult, Truth]:
    """Render and measure a scene with its own sheet, each once for all workers."""
    path, truth = rendered(scene, folder)
    result: BenchResult = once(folder, f"result of {scene!r}", lambda: measured(scene, path).result)
    return result, truth


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


def pairs(result: BenchResult, truth: Truth) -> list[Pair]:
    """Return the used drops, each with the true drop that it overlaps."""
    found = []
    for drop in result.used_drops:
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
