"""Reading clips: times, turns, luma and tags as the file has them."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import cv2
import numpy as np
import pytest
from console import flybench
from hypothesis import given, settings
from hypothesis import strategies as st

from flybench.bench.clip.clock import clock_of
from flybench.bench.clip.footage import open_clip
from flybench.bench.clip.orientation import Orientation
from flybench.bench.clip.survey import stated_length
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


def test_start_offset(tmp_path: Path) -> None:
    _write(tmp_path / "whole.mp4", [3000 * i + 9000 for i in range(60)])
    clip = open_clip(tmp_path / "whole.mp4")
    times = [frame.clip_time for frame in clip.frames()]
    assert times[0] == 0.0
    assert len(times) == 60
    assert clip.tally.broken == 0


def test_edit_list(tmp_path: Path) -> None:
    """A clip trimmed by an edit list shows only what the list says (ISO/IEC 14496-12, 8.6.6).

    Phones trim that way: the frames left out stay in the file, as the others are coded from them.
    """
    path = tmp_path / "v.mp4"
    _write(path, [3000 * i for i in range(60)])
    data = bytearray(path.read_bytes())
    entry = data.index(b"elst") + 12
    start = int.from_bytes(data[entry + 4 : entry + 8])
    data[entry + 4 : entry + 8] = (start + 10 * 3000).to_bytes(4)
    scale = (
        data.index(b"mvhd") + 16
    )  # ticks a second of the movie's header; 1000 or 90000, as the library likes
    ticks, length = int.from_bytes(data[scale : scale + 4]), scale + 4
    assert int.from_bytes(data[length : length + 4]) == 2 * ticks
    shown = round(50 / 30 * ticks).to_bytes(4)
    data[entry : entry + 4] = shown
    data[length : length + 4] = shown
    path.write_bytes(data)
    clip = open_clip(path)
    seen = [(frame.clip_time, _number(frame.luma)) for frame in clip.frames()]
    assert [number for _, number in seen] == list(range(10, 60))
    assert np.allclose([time for time, _ in seen], np.arange(50) / 30.0, atol=1e-9)
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
    with pytest.raises(BadValueError) as caught:
        clock_of(times, None, 15.0)
    assert str(caught.value) == (
        "camera.capture_rate: 15 Hz is below the clip's own 30 frames a second. Give the rate at which the camera "
        "filmed, or leave it out."
    )


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


@pytest.mark.parametrize("flips", [{}, {"hflip": True}, {"vflip": True}])
@pytest.mark.parametrize("degrees", [0, 90, -90, 180])
def test_upright_picture_pixel_by_pixel(degrees: int, flips: dict[str, bool], tmp_path: Path) -> None:
    """ISO/IEC 14496-12, 8.3.2 and 6.2.2: p = a m + c n + x and q = b m + d n + y, matrix read from the file's bytes."""
    path = tmp_path / "v.mp4"
    _write(path, [3000 * i for i in range(3)], turn=(degrees, flips))
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
    _write(tmp_path / "v.mp4", [3000 * i for i in range(3)], turn=(60, {}))
    assert open_clip(tmp_path / "v.mp4").orientation == Orientation(240, 320)


@pytest.mark.parametrize("pix_fmt", ["yuv420p", "yuvj420p", "yuv444p", "yuv420p10le"])
def test_luma_is_untouched_whatever_its_range(pix_fmt: str, tmp_path: Path) -> None:
    _write(tmp_path / "v.mp4", [3000 * i for i in range(4)], pix_fmt=pix_fmt)
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


@pytest.mark.parametrize("tag", ["nan", "inf", "-240", "0", "1e9", "many", ""])
def test_rate_tags_that_make_no_sense_are_left_alone(tag: str, tmp_path: Path) -> None:
    _write(tmp_path / "v.mp4", [3000 * i for i in range(5)], tags={"com.android.capture.fps": tag})
    assert open_clip(tmp_path / "v.mp4").capture_rate_tag is None


def test_tags_that_are_no_utf_8(tmp_path: Path) -> None:
    path = tmp_path / "v.mp4"
    tags = {"com.android.capture.fps": "240.0", "comment": "filmed by XXXX"}
    _write(path, [3000 * i for i in range(5)], tags=tags)
    path.write_bytes(path.read_bytes().replace(b"XXXX", b"\xff\xfe\xe9\x80"))
    assert open_clip(path).capture_rate_tag == 240.0


@pytest.mark.parametrize("keep", [1.0, 0.6])
def test_place_is_in_no_output(keep: float, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = {"com.apple.quicktime.location.ISO6709": "+12.3456+065.4321/", "location": "+12.3456+065.4321/"}
    path = tmp_path / "v.mp4"
    _write(path, [3000 * i for i in range(40)], tags=place)
    data = path.read_bytes()
    assert b"+12.3456" in data
    path.write_bytes(data[: int(keep * len(data))])
    scale = ("--temperature", "18 degC", "--points", "20,10 20,200", "--length", "250 mm")
    written = [tmp_path / name for name in ("o.mp4", "o.png")]
    options = [word for pair in zip(("--overlay", "--report"), written, strict=True) for word in pair]
    said = flybench(capsys, "bench", "measure", path, *scale, *options, "--json")
    assert said.code == 1
    assert "12.3456" not in said.out + said.err
    there = [file for file in written if file.exists()]
    assert len(there) == (2 if keep == 1.0 else 0)
    assert bool(said.out) == (keep == 1.0)  # the machine form
    assert all(b"12.3456" not in file.read_bytes() for file in there)


def test_length_stated_in_the_header(tmp_path: Path) -> None:
    _write(tmp_path / "v.mp4", [3000 * i for i in range(45)])
    assert stated_length(tmp_path / "v.mp4") == pytest.approx(1.5)
    assert not open_clip(tmp_path / "v.mp4").survey.contradicted
    for content in (b"", b"\0" * 100, b"\0\0\0\x08moov", b"\0\0\0\x01moov" + b"\xff" * 8, b"text" * 9):
        (tmp_path / "odd").write_bytes(content)
        assert stated_length(tmp_path / "odd") is None


def test_length_stated_in_the_long_form(tmp_path: Path) -> None:
    """ISO/IEC 14496-12, 8.2.2: version 1 has 64-bit times."""
    header = b"\x01\0\0\0" + bytes(16) + (600).to_bytes(4) + (900).to_bytes(8) + bytes(76)
    movie = (8 + len(header)).to_bytes(4) + b"mvhd" + header
    front = (16 + 5).to_bytes(8)
    (tmp_path / "v").write_bytes(
        b"\0\0\0\x01mdat" + front + b"12345" + (8 + len(movie)).to_bytes(4) + b"moov" + movie
    )
    assert stated_length(tmp_path / "v") == 1.5


def test_sound_longer_than_the_pictures_is_no_contradiction(tmp_path: Path) -> None:
    path = tmp_path / "v.mp4"
    with av.open(str(path), "w") as out:
        video: Any = out.add_stream("libx264", rate=30)
        video.width, video.height, video.pix_fmt = 320, 240, "yuv420p"
        sound: Any = out.add_stream("aac", rate=44100)
        for number in range(30):
            frame = av.VideoFrame.from_ndarray(_picture(number), format="gray")
            out.mux(video.encode(frame.reformat(format="yuv420p")))
        for number in range(70):
            part = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), format="fltp", layout="mono")
            part.sample_rate, part.pts = 44100, 1024 * number
            out.mux(sound.encode(part))
        out.mux(video.encode(None))
        out.mux(sound.encode(None))
    clip = open_clip(path)
    assert stated_length(path) == pytest.approx(70 * 1024 / 44100, abs=0.05)
    assert not clip.survey.contradicted
    assert sum(1 for _ in clip.frames()) == 30


def test_memory_does_not_grow_with_the_clip(tmp_path: Path) -> None:
    """Four hundred frames of 640 x 480 px would take 120 MB if they were kept."""
    path = tmp_path / "v.mp4"
    with av.open(str(path), "w") as out:
        stream: Any = out.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = 640, 480, "yuv420p"
        stream.codec_context.options = {"preset": "ultrafast"}
        for number in range(400):
            picture = cv2.resize(_picture(number % 256), (640, 480))
            out.mux(
                stream.encode(av.VideoFrame.from_ndarray(picture, format="gray").reformat(format="yuv420p"))
            )
        out.mux(stream.encode(None))
    resident = []
    for frame in open_clip(path).frames():
        if frame.index in (60, 399):
            resident.append(int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1]) * 4096)
    assert resident[1] - resident[0] < 30e6


@given(
    st.lists(st.floats(0.001, 0.1), min_size=1, max_size=60),
    st.one_of(st.none(), st.floats(1, 10_000)),
    st.one_of(st.none(), st.floats(1, 10_000)),
)
@settings(deadline=None)
def test_clock_of_any_times(gaps: list[float], tag: float | None, rate: float | None) -> None:
    times = np.concatenate([[0.0], np.cumsum(gaps)])
    try:
        clock = clock_of(times, tag, rate)
    except BadValueError as error:
        assert rate is not None
        assert rate * float(np.median(np.diff(times))) < 0.81
        assert "is below the clip's own" in str(error)
        return
    assert clock.stretch >= 1.0
    assert np.isfinite([clock.capture_rate, clock.jitter, clock.relative_uncertainty]).all()
    assert clock.missing >= 0


def test_clock_without_gaps() -> None:
    for times in (np.array([]), np.array([0.5]), np.array([0.5, 0.5])):
        assert clock_of(times, None, None).stretch == 1.0


@pytest.mark.parametrize(
    ("rate", "tag", "given_rate", "stretch", "guessed"),
    [
        (30.0, 240.0, None, 8.0, False),
        (30.0, 236.0, None, 8.0, False),
        (29.97, 239.76, None, 8.0, False),
        (30.0, 240.0, 120.0, 4.0, False),
        (30.0, 30.0, None, 1.0, False),
        (30.0, 24.0, None, 1.0, False),
        (30.0, 100.0, None, 10 / 3, True),
    ],
)
def test_stretch(rate: float, tag: float, given_rate: float | None, stretch: float, guessed: bool) -> None:
    clock = clock_of(np.arange(90) / rate, tag, given_rate)
    assert clock.stretch == pytest.approx(stretch)
    assert clock.guessed == guessed
