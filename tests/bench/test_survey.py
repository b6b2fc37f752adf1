"""What a clip's file says: its capture rate, its stated length, and no place."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from console import flybench
from written_clips import numbered_picture, write_clip

from flybench.bench.clip.clock import clock_of
from flybench.bench.clip.footage import open_clip
from flybench.bench.clip.header import stated_length


def test_slow_motion_from_the_tag(tmp_path: Path) -> None:
    write_clip(tmp_path / "v.mp4", [3000 * i for i in range(30)], tags={"com.android.capture.fps": "240.0"})
    clip = open_clip(tmp_path / "v.mp4")
    clock = clock_of(clip.survey.times, clip.capture_rate_tag, None)
    assert clock.stretch == 8.0
    assert clock.capture_rate == pytest.approx(240.0)


def test_place_tags_are_never_read(tmp_path: Path) -> None:
    place = {"com.apple.quicktime.location.ISO6709": "+12.3456+065.4321/", "location": "+12.3456+065.4321/"}
    write_clip(tmp_path / "v.mp4", [3000 * i for i in range(10)], tags=place)
    clip = open_clip(tmp_path / "v.mp4")
    assert "12.3456" not in repr(clip)
    assert clip.capture_rate_tag is None


@pytest.mark.parametrize("tag", ["nan", "inf", "-240", "0", "1e9", "many", ""])
def test_rate_tags_that_make_no_sense_are_left_alone(tag: str, tmp_path: Path) -> None:
    write_clip(tmp_path / "v.mp4", [3000 * i for i in range(5)], tags={"com.android.capture.fps": tag})
    assert open_clip(tmp_path / "v.mp4").capture_rate_tag is None


def test_tags_that_are_no_utf_8(tmp_path: Path) -> None:
    path = tmp_path / "v.mp4"
    tags = {"com.android.capture.fps": "240.0", "comment": "filmed by XXXX"}
    write_clip(path, [3000 * i for i in range(5)], tags=tags)
    path.write_bytes(path.read_bytes().replace(b"XXXX", b"\xff\xfe\xe9\x80"))
    assert open_clip(path).capture_rate_tag == 240.0


@pytest.mark.slow
@pytest.mark.parametrize("keep", [1.0, 0.6])
def test_place_is_in_no_output(keep: float, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = {"com.apple.quicktime.location.ISO6709": "+12.3456+065.4321/", "location": "+12.3456+065.4321/"}
    path = tmp_path / "v.mp4"
    write_clip(path, [3000 * i for i in range(40)], tags=place)
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
    write_clip(tmp_path / "v.mp4", [3000 * i for i in range(45)])
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
            frame = av.VideoFrame.from_ndarray(numbered_picture(number), format="gray")
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
