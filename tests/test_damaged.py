"""Three hundred damaged copies of a good clip: no traceback, no hang, no wrong speed without a flag."""

from __future__ import annotations

import time
import tomllib
from pathlib import Path

import numpy as np
import pytest
from tankview.render import render
from tankview.sheet import sheet_text
from tankview.simple import clean_scene, drops

from flybench.bench.checks import doubts
from flybench.bench.footage import open_clip
from flybench.bench.measure import measure
from flybench.bench.sheet import read_sheet
from flybench.errors import FlybenchError

pytestmark = pytest.mark.slow

COPIES = 300
PATIENCE = 20.0


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


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, dict[str, object], float]:
    """Return the bytes of a small good clip, its sheet and the true speed."""
    path = tmp_path_factory.mktemp("whole") / "drop.mp4"
    scene = clean_scene(
        drops=drops(1, 1.6, first=0.1),
        duration=1.5,
        timing__fps=30.0,
        camera__width=360,
        camera__height=640,
        camera__focal_px=1110.0,
    )
    truth = render(scene, path)
    return path.read_bytes(), tomllib.loads(sheet_text(scene)), truth.drops[0].terminal_speed_m_s


@pytest.mark.parametrize("front", [False, True], ids=["index-last", "index-first"])
def test_damaged_clips(front: bool, good: tuple[bytes, dict[str, object], float], tmp_path: Path) -> None:
    data, tables, speed = good
    data = _index_first(data, tmp_path) if front else data
    settings = read_sheet(tables)  # type: ignore[arg-type]
    wrong: list[str] = []
    for number in range(COPIES // 2):
        path = tmp_path / "spoilt.mp4"
        path.write_bytes(_damaged(data, 2 * number + front))
        begun = time.monotonic()
        try:
            result = measure(open_clip(path), settings).result
        except FlybenchError:
            continue
        assert time.monotonic() - begun < PATIENCE
        if result.sink_speed is None or result.standard_uncertainty is None:
            continue
        off = abs(result.sink_speed - speed)
        beyond_single = [flag for flag in result.all_flags if flag not in ("single-drop",)]
        if off > 2 * result.standard_uncertainty and not (beyond_single and doubts(beyond_single)):
            wrong.append(f"{number}: off by {off / speed:.2%}, flags {result.all_flags}")
    assert not wrong


def _index_first(data: bytes, folder: Path) -> bytes:
    """Return the same clip with its index before the pictures, as streamed files have it."""
    import av

    source, target = folder / "last.mp4", folder / "first.mp4"
    source.write_bytes(data)
    with av.open(str(source)) as old, av.open(str(target), "w", options={"movflags": "faststart"}) as new:
        stream = new.add_stream_from_template(old.streams.video[0])
        for packet in old.demux(old.streams.video[0]):
            if packet.dts is not None:
                packet.stream = stream
                new.mux(packet)
    return target.read_bytes()
