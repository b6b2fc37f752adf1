"""Files with several streams of pictures: the clip is measured, never its cover, and two clips are told."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from av.stream import Disposition
from written_clips import write_clip

from flybench.bench.clip.footage import open_clip
from flybench.errors import FlybenchError

SMALL, LARGE = (160, 120), (320, 240)


def written(path: Path, *streams: tuple[str, tuple[int, int], int, bool]) -> Path:
    """Write streams of codec, size [px], number of pictures, and whether it is marked as a cover."""
    with av.open(str(path), "w") as out:
        made: list[Any] = []
        for codec, size, _, cover in streams:
            stream: Any = out.add_stream(codec, rate=30)
            stream.width, stream.height = size
            stream.pix_fmt = "yuvj420p" if codec == "mjpeg" else "yuv420p"
            stream.time_base = stream.codec_context.time_base = Fraction(1, 30)
            if cover:
                stream.disposition = Disposition.attached_pic
            made.append(stream)
        for stream, (_, size, count, _) in zip(made, streams, strict=True):
            for number in range(count):
                grey = np.full((size[1], size[0]), 60 + number, np.uint8)
                frame = av.VideoFrame.from_ndarray(grey, format="gray").reformat(format=stream.pix_fmt)
                frame.pts, frame.time_base = number, Fraction(1, 30)
                out.mux(stream.encode(frame))
            out.mux(stream.encode(None))
    return path


@pytest.mark.parametrize("marked", [True, False])
@pytest.mark.parametrize("form", ["mp4", "mkv"])
def test_a_cover_before_the_clip_is_passed_over(form: str, marked: bool, tmp_path: Path) -> None:
    path = written(tmp_path / f"v.{form}", ("mjpeg", (640, 480), 1, marked), ("libx264", LARGE, 20, False))
    clip = open_clip(path)
    assert (clip.orientation.columns, clip.orientation.rows) == LARGE
    assert sum(1 for _ in clip.frames()) == 20
    assert len(clip.samples(5)) == 5
    assert clip.flags == ()


@pytest.mark.parametrize(
    ("others", "best"),
    [
        ([("libx264", SMALL, 20, False), ("libx264", LARGE, 20, False)], LARGE),
        ([("libx264", LARGE, 20, False), ("libx264", SMALL, 20, False)], LARGE),
        ([("libx264", LARGE, 3, False), ("libx264", SMALL, 40, False)], SMALL),
    ],
)
def test_of_two_videos_the_one_that_shows_most_is_measured_and_it_is_said(
    others: list[Any], best: tuple[int, int], tmp_path: Path
) -> None:
    clip = open_clip(written(tmp_path / "v.mp4", *others))
    assert (clip.orientation.columns, clip.orientation.rows) == best
    assert clip.flags == ("several-videos",)


def test_nothing_but_a_cover_is_no_clip(tmp_path: Path) -> None:
    path = written(tmp_path / "v.mp4", ("mjpeg", SMALL, 1, True))
    with pytest.raises(
        FlybenchError, match=re.escape(f"{path}: holds sound but no picture. Give a video clip.")
    ):
        open_clip(path)


def test_the_length_is_that_of_the_stream_that_is_measured(tmp_path: Path) -> None:
    """The first track lasts two seconds, the one that is measured one; both lie within the movie's two."""
    path = written(tmp_path / "v.mp4", ("libx264", (64, 64), 60, False), ("libx264", LARGE, 30, False))
    clip = open_clip(path)
    assert len(clip.survey.times) == clip.survey.promised == 30
    assert clip.clock(None).capture_rate == pytest.approx(30.0)


def _ue(number: int) -> str:
    digits = f"{number + 1:b}"
    return "0" * (len(digits) - 1) + digits


def test_a_header_that_claims_an_enormous_picture_is_not_worked_on(tmp_path: Path) -> None:
    """ITU-T H.264, 7.3.2.1: a sequence header of the baseline profile that claims 16 000 x 16 000 px.

    It once took 77 s and 2.3 GB before the size was known.
    """
    side = 16_000
    bits = (
        f"{66:08b}{0:08b}{62:08b}"
        + _ue(0)
        + _ue(0)
        + _ue(2)
        + _ue(1)
        + "0"
        + 2 * _ue(side // 16 - 1)
        + "110"
        + "0"
        + "1"
    )
    header = b"\x67" + int(bits.ljust(-(-len(bits) // 8) * 8, "0"), 2).to_bytes(-(-len(bits) // 8))
    write_clip(tmp_path / "v.mp4", [3000 * i for i in range(12)])
    path = tmp_path / "v.h264"
    with av.open(str(tmp_path / "v.mp4")) as old, av.open(str(path), "w", format="h264") as new:
        stream = new.add_stream_from_template(old.streams.video[0])
        for packet in old.demux(old.streams.video[0]):
            if packet.dts is not None:
                packet.stream = stream
                new.mux(packet)
    units = path.read_bytes().split(b"\0\0\0\1")
    path.write_bytes(b"\0\0\0\1".join(header if unit[:1] == b"\x67" else unit for unit in units))
    with pytest.raises(FlybenchError) as caught:
        open_clip(path)
    assert str(caught.value) == (
        f"{path}: the picture is 16000 x 16000 px; the limit is 36 megapixels (8K). Film at 1080p: it is ample."
    )
