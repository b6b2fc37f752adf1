"""Footage: every frame with its own time, whatever the container does, and the clock made of those times."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import av
import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rewritten import with_time_scale
from written_clips import TICKS, numbered_picture, write_clip

from flybench.bench.clip.clock import CLOCK_UNCERTAINTY, Source, clock_of
from flybench.bench.clip.footage import open_clip
from flybench.errors import BadValueError


def _number(luma: np.ndarray) -> int:
    middle = luma[luma.shape[0] // 2 + 8 : luma.shape[0] // 2 + 16]
    return sum((middle[:, 86 + 20 * bit : 94 + 20 * bit].mean() > 120) << bit for bit in range(8))


def _uneven(count: int = 90) -> list[int]:
    rng = np.random.default_rng(4)
    return np.cumsum(rng.integers(1200, 5200, count)).tolist()


@pytest.mark.slow
@pytest.mark.parametrize("codec", ["libx264", "libx265"])
@pytest.mark.parametrize("suffix", ["mp4", "mov"])
def test_every_frame_has_its_own_time(codec: str, suffix: str, tmp_path: Path) -> None:
    stamps = _uneven()
    write_clip(tmp_path / f"v.{suffix}", stamps, codec)
    clip = open_clip(tmp_path / f"v.{suffix}")
    seen = [(frame.clip_time, _number(frame.luma)) for frame in clip.frames()]
    assert [number for _, number in seen] == list(range(90))
    true = (np.array(stamps) - stamps[0]) / TICKS
    assert np.allclose([time for time, _ in seen], true, atol=1e-9)
    assert np.allclose(clip.survey.times - clip.survey.times[0], true, atol=1e-9)


@pytest.mark.slow
def test_start_offset(tmp_path: Path) -> None:
    write_clip(tmp_path / "whole.mp4", [3000 * i + 9000 for i in range(60)])
    clip = open_clip(tmp_path / "whole.mp4")
    times = [frame.clip_time for frame in clip.frames()]
    assert times[0] == 0.0
    assert len(times) == 60
    assert clip.tally.broken == 0


@pytest.mark.slow
def test_edit_list(tmp_path: Path) -> None:
    """A clip trimmed by an edit list shows only what the list says (ISO/IEC 14496-12, 8.6.6).

    Phones trim that way: the frames left out stay in the file, as the others are coded from them.
    """
    path = tmp_path / "v.mp4"
    write_clip(path, [3000 * i for i in range(60)])
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


@pytest.mark.slow
def test_cut_off_clip_gives_what_there_is(tmp_path: Path) -> None:
    write_clip(tmp_path / "v.mp4", [3000 * i for i in range(80)])
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


@pytest.mark.slow
def test_samples_are_spread_and_begin_with_the_first(tmp_path: Path) -> None:
    write_clip(tmp_path / "v.mp4", [3000 * i for i in range(100)])
    numbers = [_number(sample.luma) for sample in open_clip(tmp_path / "v.mp4").samples(9)]
    assert numbers[0] == 0
    assert len(numbers) == 9
    assert max(np.diff(numbers)) < 20


@pytest.mark.slow
def test_memory_does_not_grow_with_the_clip(tmp_path: Path) -> None:
    """Four hundred frames of 640 x 480 px would take 120 MB if they were kept."""
    path = tmp_path / "v.mp4"
    with av.open(str(path), "w") as out:
        stream: Any = out.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = 640, 480, "yuv420p"
        stream.codec_context.options = {"preset": "ultrafast"}
        for number in range(400):
            picture = cv2.resize(numbered_picture(number % 256), (640, 480))
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
        ratio = rate * float(np.median(np.diff(times)))
        assert ratio < 0.98 or ratio > 100
        assert (
            "is below the clip's own" if ratio < 1 else "and no camera slows down by more than 100"
        ) in str(error)
        return
    assert clock.stretch >= 0.98
    assert np.isfinite([clock.capture_rate, clock.jitter, clock.relative_uncertainty]).all()
    assert clock.missing >= 0


@pytest.mark.parametrize(
    ("rate", "typed", "stretch"),
    [
        (29.75, 240.0, 240 / 29.75),
        (29.7, 1000.0, 1000 / 29.7),
        (30.0, 31.0, 31 / 30),
        (59.94, 60.0, 1.0),
        (59.2, 60.0, 1.0),
        (30.0, 30.0, 1.0),
    ],
)
def test_a_typed_rate_is_used_as_typed(rate: float, typed: float, stretch: float) -> None:
    """60 stands for 59.94 and what a phone makes of it (common practice, no source): the clip's own times are kept."""
    clock = clock_of(np.arange(90) / rate, 120.0, typed)
    assert clock.stretch == pytest.approx(stretch, rel=1e-12)
    assert clock.capture_rate == pytest.approx(typed if stretch != 1.0 else rate, rel=1e-12)
    assert clock.source is Source.TYPED


@pytest.mark.parametrize(
    ("rate", "tag", "stretch", "tag_ratio"),
    [
        (120.0, 60.0, 1.0, 0.5),
        (72.0, 60.0, 1.0, 60 / 72),
        (15.0, 30.0, 1.0, 2.0),
        (24.0, 30.0, 1.0, 1.25),
        (30.0, 60.0, 1.0, 2.0),
        (27.0, 240.0, 9.0, None),
        (30.0, 240.0, 8.0, None),
        (29.9, 30.0, 1.0, None),
        (240.0, 240.0, 1.0, None),
    ],
)
def test_a_tag_that_the_times_contradict_is_no_slow_motion(
    rate: float, tag: float, stretch: float, tag_ratio: float | None
) -> None:
    """Slow motion begins at 100 frames a second, and phones lengthen gaps in dim light (common practice, no source)."""
    clock = clock_of(np.arange(90) / rate, tag, None)
    assert clock.stretch == pytest.approx(stretch, rel=1e-9)
    assert clock.tag_ratio == (None if tag_ratio is None else pytest.approx(tag_ratio, rel=1e-9))
    assert clock.source is Source.TAGGED


@pytest.mark.parametrize(("rate", "tag"), [(15.0, 30.0), (24.0, 30.0), (30.0, 60.0), (120.0, 60.0)])
def test_a_typed_rate_settles_what_a_tag_left_open(rate: float, tag: float) -> None:
    """The cure of ``rates-differ`` is to write the rate at which the camera filmed."""
    times = np.arange(90) / rate
    assert clock_of(times, tag, None).tag_ratio is not None
    settled = clock_of(times, tag, rate)
    assert (settled.stretch, settled.tag_ratio) == (1.0, None)


@pytest.mark.parametrize("rate", [60.0, 120.0, 240.0])
def test_times_in_whole_milliseconds_tell_the_rate_by_their_span(rate: float) -> None:
    times = np.round(np.arange(300) / rate, 3)
    assert clock_of(times, None, None).capture_rate == pytest.approx(rate, rel=1e-3)
    typed = clock_of(times, None, rate)
    assert (typed.stretch, typed.relative_uncertainty) == (1.0, CLOCK_UNCERTAINTY)
    slowed = clock_of(np.round(np.arange(300) / 30.0, 3), None, 240.0)
    assert slowed.stretch == pytest.approx(8.0, rel=1e-3)


@pytest.mark.parametrize("rate", [240.0, 239.76, 120.0, 100.0])
@pytest.mark.parametrize("rounded", [np.rint, np.floor])
def test_times_in_six_hundredths_of_a_second_are_even(rate: float, rounded: np.ufunc) -> None:
    """240 a second then have gaps of two and three ticks by turns; some pictures are lost."""
    times = rounded(np.delete(np.arange(400), [50, 51, 200]) / rate * 600.0) / 600.0
    clock = clock_of(times, None, None)
    assert clock.capture_rate == pytest.approx(rate, rel=1e-3)
    assert clock.jitter < 0.05
    assert clock.missing == 3


def test_times_that_stray_from_the_beat_are_uneven_in_whole_ticks_too() -> None:
    rng = np.random.default_rng(2)
    times = np.round((np.arange(400) / 240.0 + rng.normal(0.0, 1.5e-3, 400)) * 600.0) / 600.0
    assert clock_of(np.unique(times), None, None).jitter > 0.15


def test_a_typed_rate_a_hundredth_off_carries_the_difference() -> None:
    near, same = (clock_of(np.arange(90) / rate, None, 60.0) for rate in (59.2, 59.94))
    assert near.relative_uncertainty == pytest.approx(0.8 / 59.2 / np.sqrt(3), rel=1e-3)
    assert same.relative_uncertainty == CLOCK_UNCERTAINTY


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        (
            25.0,
            "camera.capture_rate: 25 Hz is below the clip's own 30 frames a second. Give the rate at which the camera "
            "filmed, or leave it out.",
        ),
        (
            4000.0,
            "camera.capture_rate: 4000 Hz is 133 times the clip's own 30 frames a second, and no camera slows down by more "
            "than 100. Give the rate at which the camera filmed, in frames a second.",
        ),
    ],
)
def test_a_typed_rate_that_cannot_be_is_refused(typed: float, message: str) -> None:
    with pytest.raises(BadValueError) as caught:
        clock_of(np.arange(90) / 30.0, None, typed)
    assert str(caught.value) == message


@pytest.mark.parametrize(
    ("rate", "tag", "typed", "source"),
    [
        (30.0, None, None, Source.UNTOLD),
        (60.0, None, None, Source.UNTOLD),
        (120.0, None, None, Source.UNTOLD),
        (30.0, 240.0, None, Source.TAGGED),
        (30.0, 240.0, 120.0, Source.TYPED),
    ],
)
def test_where_the_clock_comes_from(
    rate: float, tag: float | None, typed: float | None, source: Source
) -> None:
    assert clock_of(np.arange(90) / rate, tag, typed).source is source


def test_a_raw_stream_demands_the_rate(tmp_path: Path) -> None:
    write_clip(tmp_path / "v.mp4", [3000 * i for i in range(40)])
    with (
        av.open(str(tmp_path / "v.mp4")) as old,
        av.open(str(tmp_path / "v.h264"), "w", format="h264") as new,
    ):
        stream = new.add_stream_from_template(old.streams.video[0])
        for packet in old.demux(old.streams.video[0]):
            if packet.dts is not None:
                packet.stream = stream
                new.mux(packet)
    clip = open_clip(tmp_path / "v.h264")
    assert [_number(frame.luma) for frame in clip.frames()] == list(range(40))
    assert len(clip.samples(5)) == 5
    with pytest.raises(BadValueError) as caught:
        clock_of(clip.survey.times, None, None, clip.survey.doubt)
    assert str(caught.value) == (
        "camera.capture_rate: is missing, and the file holds pictures without times (a raw stream). Give the rate at which "
        "the camera filmed, or copy the clip from the phone again as an MP4 or MOV file."
    )
    clock = clock_of(clip.survey.times, None, 60.0, clip.survey.doubt)
    assert clip.survey.times[-1] / clock.stretch == pytest.approx(39 / 60.0)


@pytest.mark.slow
@pytest.mark.parametrize("box", [b"mvhd", b"mdhd"])
@pytest.mark.parametrize("factor", [4.0, 0.25, 1.02, 1 / 1.02])
def test_time_scales_that_contradict_each_other_are_refused_or_carried(
    box: bytes, factor: float, tmp_path: Path
) -> None:
    """ISO/IEC 14496-12: ``mvhd`` and ``mdhd`` state the length apart, each with ticks a second of its own."""
    write_clip(tmp_path / "v.mp4", [3000 * i for i in range(300)])
    with_time_scale(tmp_path / "v.mp4", tmp_path / "w.mp4", box, factor)
    clip = open_clip(tmp_path / "w.mp4")
    lasts = factor if box == b"mdhd" else 1 / factor
    assert clip.survey.doubt.header_ratio == pytest.approx(lasts, rel=0.005)
    assert not clip.survey.contradicted
    assert clip.tally.broken == 0
    if max(factor, 1 / factor) < 1.05:
        clock = clock_of(clip.survey.times, None, None, clip.survey.doubt)
        assert clock.relative_uncertainty == pytest.approx(0.02, abs=0.005)
        return
    with pytest.raises(BadValueError) as caught:
        clock_of(clip.survey.times, None, None, clip.survey.doubt)
    assert str(caught.value) == (
        "camera.capture_rate: is missing, and the file contradicts itself: it says that it lasts "
        f"{clip.survey.doubt.header_ratio:.3g} times as long as its pictures do. Copy the clip from the phone again, "
        "unedited, or give the rate at which the camera filmed."
    )
    real = clock_of(clip.survey.times, None, 30.0, clip.survey.doubt)
    assert real.capture_rate == pytest.approx(30.0)


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
