"""One scene at the kitchen table, what its owner did with the file and typed, and what an honest bench may say of it."""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal
from zlib import crc32

import numpy as np
from clips import Pair, pairs, rendered
from tankview.scene import Scene
from tankview.sheet import sheet_text
from tankview.truth import Truth

from flybench.bench.clip.footage import open_clip
from flybench.bench.measure import measure
from flybench.bench.sheet.read import read_sheet
from flybench.bench.verdict.result import BenchResult
from flybench.errors import FlybenchError

Outcome = Literal["clean", "measured", "flagged", "doubted", "refused"]
"""What an honest bench may say.

clean: a speed, no drop lost, none but harmless flags. measured: a speed whose interval holds the truth.
flagged: refused, or flagged as doubtful with an interval that holds the truth. doubted: refused, or flagged as doubtful,
where a factor stays open that no interval can hold. refused: no speed at all.
"""
Tables = dict[str, Any]


def _as_filmed(clip: Path, target: Path) -> None:
    shutil.copyfile(clip, target)


def _as_typed(tables: Tables) -> Tables:
    return tables


@dataclass(frozen=True)
class Case:
    """A scene by seed; ``sent`` writes the file as its owner has it, ``typed`` alters the true sheet."""

    name: str
    scene: Callable[[int], Scene]
    outcome: Outcome
    sent: Callable[[Path, Path], None] = _as_filmed
    typed: Callable[[Tables], Tables] = _as_typed
    flags: frozenset[str] = frozenset()
    """Flags of which at least one must be raised where there is a result; empty: any that doubts."""


@dataclass(frozen=True)
class Tried:
    """What came of a case with one seed; ``result`` is None where measuring ended in a message."""

    result: BenchResult | None
    message: str
    truth: Truth

    @property
    def pairs(self) -> list[Pair]:
        """Return the used drops of a run with a speed, each with its truth."""
        if self.result is None or self.result.sink_speed is None:
            return []
        return pairs(self.result, self.truth)

    @property
    def scores(self) -> list[float]:
        """Return each used drop's error over its standard uncertainty."""
        return [pair.error * pair.truth.terminal_speed_m_s / pair.measured.uncertainty for pair in self.pairs]

    @property
    def score(self) -> float | None:
        """Return the error of the pooled speed over its standard uncertainty; None without a speed."""
        if self.result is None or self.result.sink_speed is None or not self.result.standard_uncertainty:
            return None
        return (self.result.sink_speed - self.truth.sink_speed_m_s) / self.result.standard_uncertainty


def let_go_by_hand(scene: Scene, seed: int) -> Scene:
    """Return the scene with its drops let go off the plane that the sheet states, as tweezers do.

    All of one evening lie off by some 3 mm, each by a millimetre of its own (standard deviations; judgement: a gap without
    a typed ± counts as known to ±6 mm, k = 2), and none by more than 8 mm. Drops that a scene lets go off the plane by itself
    stay where they are. One scene is one evening, whatever is done with its clip or typed beside it, so that it need be
    rendered only once.
    """
    rng = np.random.default_rng([seed, crc32(repr(scene).encode())])
    common = rng.normal(0.0, 0.003)
    offsets = np.clip(common + rng.normal(0.0, 0.001, len(scene.drops)), -0.008, 0.008)
    fallen = (
        drop if drop.depth_offset else replace(drop, depth_offset=float(offset))
        for drop, offset in zip(scene.drops, offsets, strict=True)
    )
    return scene.but(drops=tuple(fallen))


def tried(case: Case, seed: int, folder: Path, work: Path) -> Tried:
    """Render (once for all workers), hand the file over as its owner would, and measure."""
    scene = let_go_by_hand(case.scene(seed), seed)
    clip, truth = rendered(scene, folder)
    own = work / "clip.mp4"
    case.sent(clip, own)
    tables = case.typed(tomllib.loads(sheet_text(scene)))
    try:
        return Tried(measure(open_clip(own), read_sheet(tables)).result, "", truth)
    except FlybenchError as refused:
        return Tried(None, str(refused), truth)
