"""Reading clips: times, turns, luma and tags as the file has them."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flybench.bench.clock import clock_of
from flybench.bench.footage import open_clip
from flybench.bench.orientation import Orientation
from flybench.errors import BadValueError

TICKS = 90_000


def _picture(number: int, width: int = 320, height: int = 240) -> np.ndarray:
    """Return a grey picture whose top left corner is bright and whose number can be read off its middle."""
    grey = np.full((height, width), 90, np.uint8)
    grey[:40, :60] = 220
    for bit in range(8):
        grey[height // 2 : height // 2 + 24, 80 + 20 * bit : 100 + 20 * bit] = (
            200 if number >> bit & 1 else 40
        )
    return grey


def _number(luma: np.ndarray) -> int:
    middle = luma[luma.shape[0] // 2 + 8 : luma.shape[0] // 2 + 16]
    return sum((middle[:, 86 + 20 * bit : 94 + 20 * bit].mean() > 120) << bit for bit in range(8))


def _write(path: Path, stamps: list[int], codec: str = "libx264", turn: Any = None, **more: Any) -> None:
    """Encode one picture a stamp (in ticks) with B-frames; ``turn`` are arguments of the display matrix."""
    with av.open(str(path), "w", options={"movflags": "use_metadata_tags"}) as out:
        stream: Any = out.add_stream(codec, rate=30)
        stream.width, stream.height, stream.pix_fmt = 320, 240, more.get("pix_fmt", "yuv420p")
        stream.codec_context.time_base = stream.time_base = Fraction(1, TICKS)
        quiet = {"x265-params": "log-level=error:bframes=3"} if codec == "libx265" else {"bf": "3"}
        stream.codec_context.options = {"crf": "12", **quiet}
        if turn is not None:
            stream.set_display_rotation(turn[0], **turn[1])
        out.metadata.update(more.get("tags", {}))
        for number, stamp in enumerate(stamps):
            frame = av.VideoFrame.from_ndarray(_picture(number), format="gray").reformat(
                format=stream.pix_fmt
            )
            frame.pts, frame.time_base = stamp, Fraction(1, TICKS)
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))


def _uneven(count: int = 90) -> list[int]:
    rng = np.random.default_rng(4)
    return np.cumsum(rng.integers(1200, 5200, count)).tolist()


@pytest.mark.parametrize("codec", ["libx264", "libx265"])
@pytest.mark.parametrize("suffix", ["mp4", "mov"])
def test_every_frame_has_its_own_time(codec: str, suffix: str, tmp_path: Path) -> None:
    stamps = _uneven()
    _write(tmp_path / f"v.{suffix}", stamps, codec)
    clip = open_clip(tmp_path / f"v.{suffix}")
    seen = [(frame.clip_time, _number(frame.luma)) for frame in clip.frames()]
    assert [number for _, number in seen] == list(range(90))
    true = (np.array(stamps) - stamps[0]) / TICKS
    assert np.allclose([time for time, _ in seen], true, atol=1e-9)
    assert np.allclose(clip.survey.times - clip.survey.times[0], true, atol=1e-9)


def test_start_offset_and_edit_list(tmp_path: Path) -> None:
    """A clip trimmed by an edit list shows only what the list says (ISO/IEC 14496-12, 8.6.6)."""
    _write(tmp_path / "whole.mp4", [3000 * i + 9000 for i in range(60)])
    clip = open_clip(tmp_path / "whole.mp4")
    times = [frame.clip_time for frame in clip.frames()]
    assert times[0] == 0.0
    assert len(times) == 60
    assert clip.tally.broken == 0


def test_ten_bits_are_kept(tmp_path: Path) -> None:
    _write(tmp_path / "ten.mp4", [3000 * i for i in range(10)], "libx265", pix_fmt="yuv420p10le")
    clip = open_clip(tmp_path / "ten.mp4")
    with av.open(str(tmp_path / "ten.mp4")) as source:
        decoded = [frame.to_ndarray()[:240] for frame in source.decode(video=0)]
    for frame, plane in zip(clip.frames(), decoded, strict=True):
        assert frame.shift == 2
        assert frame.luma.dtype == np.uint16
        assert np.array_equal(frame.luma, plane)


def test_luma_is_the_decoders_own_plane(tmp_path: Path) -> None:
    _write(tmp_path / "v.mp4", [3000 * i for i in range(10)])
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
    _write(tmp_path / "v.mp4", [3000 * i for i in range(5)], turn=turn)
    clip = open_clip(tmp_path / "v.mp4")
    upright = clip.orientation.picture(next(iter(clip.frames())).luma)
    assert upright.shape == (clip.orientation.height, clip.orientation.width)
    across, down = corner
    patch = upright[-30:, :] if down else upright[:30, :]
    patch = patch[:, -30:] if across else patch[:, :30]
    assert patch.mean() > 180


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


def test_slow_motion_from_the_tag(tmp_path: Path) -> None:
    _write(tmp_path / "v.mp4", [3000 * i for i in range(30)], tags={"com.android.capture.fps": "240.0"})
    clip = open_clip(tmp_path / "v.mp4")
    clock = clock_of(clip.survey.times, clip.capture_rate_tag, None)
    assert clock.stretch == 8.0
    assert clock.capture_rate == pytest.approx(240.0)


def test_clock_keeps_to_the_median_gap_and_counts_holes() -> None:
    times = np.arange(60) / 30.0
    holed = np.delete(times, [10, 11, 30])
    clock = clock_of(holed, 120.0, None)
    assert clock.stretch == 4.0
    assert clock.missing == 3
    assert clock_of(times, 30.0, None).stretch == 1.0
    assert clock_of(times, None, 100.0).guessed
    with pytest.raises(BadValueError, match="below the clip's own 30 frames a second"):
        clock_of(times, None, 15.0)


def test_place_tags_are_never_read(tmp_path: Path) -> None:
    place = {"com.apple.quicktime.location.ISO6709": "+12.3456+065.4321/", "location": "+12.3456+065.4321/"}
    _write(tmp_path / "v.mp4", [3000 * i for i in range(10)], tags=place)
    clip = open_clip(tmp_path / "v.mp4")
    assert "12.3456" not in repr(clip)
    assert clip.capture_rate_tag is None


def test_cut_off_clip_gives_what_there_is(tmp_path: Path) -> None:
    _write(tmp_path / "v.mp4", [3000 * i for i in range(80)])
    fast = {"movflags": "faststart"}
    with av.open(str(tmp_path / "v.mp4")) as old, av.open(str(tmp_path / "f.mp4"), "w", options=fast) as new:
        stream = new.add_stream_from_template(old.streams.video[0])
        for packet in old.demux(old.streams.video[0]):
            if packet.dts is not None:
                packet.stream = stream
                new.mux(packet)
    data = (tmp_path / "f.mp4").read_bytes()
    (tmp_path / "f.mp4").write_bytes(data[: len(data) * 6 // 10])
    clip = open_clip(tmp_path / "f.mp4")
    count = sum(1 for _ in clip.frames())
    assert 0 < count < 80
    assert clip.survey.promised == 80


def test_samples_are_spread_and_begin_with_the_first(tmp_path: Path) -> None:
    _write(tmp_path / "v.mp4", [3000 * i for i in range(100)])
    numbers = [_number(sample.luma) for sample in open_clip(tmp_path / "v.mp4").samples(9)]
    assert numbers[0] == 0
    assert len(numbers) == 9
    assert max(np.diff(numbers)) < 20
