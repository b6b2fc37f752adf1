"""A hundred damaged copies of a good clip: no traceback, no hang, no wrong speed without a flag.

Each number makes its own damage. What one copy in 32 shows, whatever its kind, is missed here once in 20 times;
``benchmarks/damage.py`` tries thousands.
"""

from __future__ import annotations

import json
import time
import tomllib
from pathlib import Path

import numpy as np
import pytest
from clips import index_first, rendered
from tankview.sheet import sheet_text
from tankview.simple import clean_scene, drops

from flybench.bench.clip.footage import open_clip
from flybench.bench.measure import measure
from flybench.bench.sheet.read import read_sheet
from flybench.bench.verdict.flags import doubts
from flybench.errors import FlybenchError
from flybench.quantity import COVERAGE_FACTOR
from flybench.telling.bench import measurement as telling

pytestmark = pytest.mark.slow

COPIES, PARTS = 16, 2
"""Copies in each part, and parts of each kind, so that workers share them."""
FIRST = {"index last": 0, "index first": 3000, "in the index": 480}
"""First seed: the last range holds one (506) that once gave a wrong speed without a flag."""
PATIENCE = 20.0
ALWAYS = {"single-drop", "taken-as-real-time"}
"""Doubts that the undamaged clip raises as well: a single drop at 30 frames a second, settled when it comes into view."""


def _damaged(data: bytes, number: int) -> bytes:
    """Return the data cut off, with bytes flipped, or with a block zeroed or repeated."""
    rng = np.random.default_rng(number)
    spoilt = bytearray(data)
    kind = number % 4
    if kind == 0:
        return bytes(spoilt[: int(rng.integers(1, len(spoilt)))])
    if kind == 1:
        for place in rng.integers(0, len(spoilt), int(rng.integers(1, 200))):
            spoilt[place] ^= int(rng.integers(1, 256))
    start = int(rng.integers(0, len(spoilt)))
    length = int(rng.integers(1, 4000))
    if kind == 2:
        spoilt[start : start + length] = bytes(len(spoilt[start : start + length]))
    if kind == 3:
        spoilt[start:start] = spoilt[start : start + length]
    return bytes(spoilt)


def _damaged_index(data: bytes, number: int) -> bytes:
    """Return the data with a few bytes altered in the index alone: sizes, times, turns, tables."""
    rng = np.random.default_rng(number)
    spoilt, start = bytearray(data), data.index(b"moov")
    stop = start - 4 + int.from_bytes(data[start - 4 : start])
    for place in rng.integers(start, stop, int(rng.integers(1, 4))):
        spoilt[place] ^= int(rng.integers(1, 256))
    return bytes(spoilt)


@pytest.fixture(scope="module")
def good(folder: Path) -> tuple[bytes, dict[str, object], float]:
    """Return the bytes of a small good clip, its sheet and the true speed."""
    scene = clean_scene(
        drops=drops(1, 1.6, first=0.1),
        duration=1.5,
        timing__fps=30.0,
        camera__width=360,
        camera__height=640,
        camera__focal_px=1110.0,
    )
    path, truth = rendered(scene, folder)
    return path.read_bytes(), tomllib.loads(sheet_text(scene)), truth.drops[0].terminal_speed_m_s


@pytest.mark.parametrize("part", range(PARTS))
@pytest.mark.parametrize("kind", ["index last", "index first", "in the index"])
def test_damaged_clips(
    kind: str, part: int, good: tuple[bytes, dict[str, object], float], tmp_path: Path
) -> None:
    data, tables, speed = good
    if kind == "index first":
        (tmp_path / "last.mp4").write_bytes(data)
        index_first(tmp_path / "last.mp4", tmp_path / "first.mp4")
        data = (tmp_path / "first.mp4").read_bytes()
    settings = read_sheet(tables)  # type: ignore[arg-type]
    wrong: list[str] = []
    for number in range(part * COPIES, (part + 1) * COPIES):
        path = tmp_path / "spoilt.mp4"
        spoil = _damaged_index if kind == "in the index" else _damaged
        path.write_bytes(spoil(data, FIRST[kind] + number))
        begun = time.monotonic()
        try:
            result = measure(open_clip(path), settings).result
            json.dumps(telling.record(result), allow_nan=False)
            telling.lines(result)
        except FlybenchError:
            continue
        finally:
            assert time.monotonic() - begun < PATIENCE, number
        if result.sink_speed is None or result.standard_uncertainty is None:
            continue
        off = abs(result.sink_speed - speed)
        flags = set(result.flags).union(*(drop.flags for drop in result.used_drops)) - ALWAYS
        if off > COVERAGE_FACTOR * result.standard_uncertainty and not doubts(list(flags)):
            wrong.append(f"{number}: off by {off / speed:.2%}, flags {result.all_flags}")
    assert not wrong
