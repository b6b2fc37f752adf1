"""The luma plane as it was decoded, and pictures and positions turned upright."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from written_clips import write_clip

from flybench.bench.clip.footage import open_clip
from flybench.bench.clip.orientation import Orientation


def test_ten_bits_are_kept(tmp_path: Path) -> None:
    write_clip(tmp_path / "ten.mp4", [3000 * i for i in range(10)], "libx265", pix_fmt="yuv420p10le")
    clip = open_clip(tmp_path / "ten.mp4")
    with av.open(str(tmp_path / "ten.mp4")) as source:
        decoded = [frame.to_ndarray()[:240] for frame in source.decode(video=0)]
    for frame, plane in zip(clip.frames(), decoded, strict=True):
        assert frame.shift == 2
        assert frame.luma.dtype == np.uint16
        assert np.array_equal(frame.luma, plane)


def test_luma_is_the_decoders_own_plane(tmp_path: Path) -> None:
    write_clip(tmp_path / "v.mp4", [3000 * i for i in range(10)])
    with av.open(str(tmp_path / "v.mp4")) as source:
        decoded = [frame.to_ndarray()[:240] for frame in source.decode(video=0)]
    for frame, plane in zip(open_clip(tmp_path / "v.mp4").frames(), decoded, strict=True):
        assert np.array_equal(frame.luma, plane)
        assert frame.luma.base is not None


@pytest.mark.parametrize(
    ("turn", "corner"),
    [
        (None, (0, 0)),
        ((90, {}), (0, 1)),
        ((-90, {}), (1, 0)),
        ((180, {}), (1, 1)),
        ((0, {"hflip": True}), (1, 0)),
        ((0, {"vflip": True}), (0, 1)),
    ],
)
def test_upright_as_the_display_matrix_says(turn: Any, corner: tuple[int, int], tmp_path: Path) -> None:
    """The bright corner lands where the matrix sends it; +90 is counter-clockwise (FFmpeg, display.h)."""
    write_clip(tmp_path / "v.mp4", [3000 * i for i in range(5)], turn=turn)
    clip = open_clip(tmp_path / "v.mp4")
    upright = clip.orientation.picture(next(iter(clip.frames())).luma)
    assert upright.shape == (clip.orientation.height, clip.orientation.width)
    across, down = corner
    patch = upright[-30:, :] if down else upright[:30, :]
    patch = patch[:, -30:] if across else patch[:, :30]
    assert patch.mean() > 180


@pytest.mark.slow
@given(
    st.integers(0, 3),
    st.booleans(),
    st.lists(st.tuples(st.floats(0, 99), st.floats(0, 59)), min_size=1, max_size=5),
)
@settings(deadline=None)
def test_turning_positions_there_and_back(
    turns: int, mirrored: bool, points: list[tuple[float, float]]
) -> None:
    orientation = Orientation(60, 100, turns, mirrored)
    given_points = np.array(points)
    assert np.allclose(orientation.stored(orientation.upright(given_points)), given_points)


@pytest.mark.parametrize("turns", range(4))
@pytest.mark.parametrize("mirrored", [False, True])
def test_positions_turn_with_the_picture(turns: int, mirrored: bool) -> None:
    orientation = Orientation(60, 100, turns, mirrored)
    stored = np.zeros((60, 100))
    stored[7, 31] = 1.0
    y, x = np.argwhere(orientation.picture(stored) == 1.0)[0]
    assert np.allclose(orientation.upright(np.array([[31.0, 7.0]])), [[x, y]])


@pytest.mark.parametrize("flips", [{}, {"hflip": True}, {"vflip": True}])
@pytest.mark.parametrize("degrees", [0, 90, -90, 180])
def test_upright_picture_pixel_by_pixel(degrees: int, flips: dict[str, bool], tmp_path: Path) -> None:
    """ISO/IEC 14496-12, 8.3.2 and 6.2.2: p = a m + c n + x and q = b m + d n + y, matrix read from the file's bytes."""
    path = tmp_path / "v.mp4"
    write_clip(path, [3000 * i for i in range(3)], turn=(degrees, flips))
    data = path.read_bytes()
    at = data.index(b"tkhd") + 4 + 40
    numbers = [int.from_bytes(data[at + 4 * i : at + 4 * i + 4], signed=True) / 65536 for i in range(9)]
    a, b, _, c, d, *_ = numbers
    clip = open_clip(path)
    stored = next(iter(clip.frames())).luma.copy()
    n, m = np.mgrid[0 : stored.shape[0], 0 : stored.shape[1]]
    p, q = a * m + c * n, b * m + d * n
    p, q = (p - p.min()).astype(int), (q - q.min()).astype(int)
    expected = np.zeros((q.max() + 1, p.max() + 1), np.uint8)
    expected[q, p] = stored
    assert np.array_equal(clip.orientation.picture(stored), expected)
    assert (clip.orientation.width, clip.orientation.height) == expected.shape[::-1]


def test_crooked_turn_is_taken_as_none(tmp_path: Path) -> None:
    write_clip(tmp_path / "v.mp4", [3000 * i for i in range(3)], turn=(60, {}))
    assert open_clip(tmp_path / "v.mp4").orientation == Orientation(240, 320)


@pytest.mark.parametrize("pix_fmt", ["yuv420p", "yuvj420p", "yuv444p", "yuv420p10le"])
def test_luma_is_untouched_whatever_its_range(pix_fmt: str, tmp_path: Path) -> None:
    write_clip(tmp_path / "v.mp4", [3000 * i for i in range(4)], pix_fmt=pix_fmt)
    kind = np.uint16 if "10" in pix_fmt else np.uint8
    with av.open(str(tmp_path / "v.mp4")) as source:
        planes = []
        for frame in source.decode(video=0):
            plane = frame.planes[0]
            rows = np.frombuffer(bytes(plane), kind).reshape(-1, plane.line_size // kind().itemsize)
            planes.append(rows[:240, :320])
    for frame, plane in zip(open_clip(tmp_path / "v.mp4").frames(), planes, strict=True):
        assert frame.luma.dtype == kind
        assert np.array_equal(frame.luma, plane)
