"""Slow motion that the phone's maker noted at the end of the file: never taken for real time, never asked about twice.

The form was read off a public sample of such a clip (github google/ExoPlayer, test data sample_sef_slow_motion.mp4): notes,
then a list that begins with SEFH, then the list's length and SEFT.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from notes import noted
from written_clips import write_clip

from flybench.bench.clip.footage import open_clip
from flybench.bench.clip.maker_marks import marked_as_slow_motion
from flybench.errors import BadValueError

SLOW = noted(b"Invalid_Data", b"SlowMotion_Data")


@pytest.mark.parametrize("name", [b"SlowMotion_Data", b"Super_SlowMotion_Data", b"Super_SlowMotion_BGM"])
def test_notes_about_slow_motion_are_found(name: bytes, tmp_path: Path) -> None:
    (tmp_path / "v").write_bytes(b"clip" * 99 + noted(b"Invalid_Data", name))
    assert marked_as_slow_motion(tmp_path / "v")


@pytest.mark.parametrize(
    "end",
    [
        b"",
        b"SEFT",
        noted(b"Invalid_Data", b"MCC_Data"),
        noted(),
        SLOW[:-1],
        SLOW[:-8] + b"\xff\xff\xff\x7fSEFT",
        SLOW.replace(b"SEFH", b"free"),
        SLOW[:-8] + bytes(4) + b"SEFT",
        SLOW.replace(b"\x1f\0\0\0", b"\xff\xff\xff\xff"),
        b"SlowMotion_Data is a word that a comment may hold",
    ],
)
def test_other_ends_say_nothing(end: bytes, tmp_path: Path) -> None:
    (tmp_path / "v").write_bytes(b"clip" * 99 + end)
    assert not marked_as_slow_motion(tmp_path / "v")
    (tmp_path / "v").write_bytes(end)
    assert not marked_as_slow_motion(tmp_path / "v")


def _clip(path: Path, fps: float, end: bytes, tags: dict[str, str] | None = None) -> Path:
    write_clip(path, [round(90_000 / fps * i) for i in range(12)], tags=tags or {})
    path.write_bytes(path.read_bytes() + end)
    return path


def test_a_marked_clip_without_a_rate_is_refused(tmp_path: Path) -> None:
    clip = open_clip(_clip(tmp_path / "v.mp4", 30.0, SLOW))
    with pytest.raises(BadValueError) as caught:
        clip.clock(None)
    assert str(caught.value) == (
        "camera.capture_rate: is missing, and the phone marked the clip as slow motion. Give the rate at which the camera "
        "filmed: the phone's camera shows it when slow motion is chosen."
    )
    assert clip.clock(240.0).stretch == pytest.approx(8.0)


def test_a_marked_clip_with_the_rate_in_a_tag_is_undone(tmp_path: Path) -> None:
    tagged = _clip(tmp_path / "v.mp4", 30.0, SLOW, {"com.android.capture.fps": "240.0"})
    assert open_clip(tagged).clock(None).stretch == 8.0


def test_no_rate_of_its_own_proves_a_marked_clip_to_be_in_real_time(tmp_path: Path) -> None:
    clip = open_clip(_clip(tmp_path / "v.mp4", 240.0, SLOW))
    with pytest.raises(BadValueError, match="the phone marked the clip as slow motion"):
        clip.clock(None)
    assert clip.clock(240.0).stretch == 1.0


def test_a_usual_clip_of_that_maker_is_not_asked_about(tmp_path: Path) -> None:
    clip = open_clip(_clip(tmp_path / "v.mp4", 30.0, noted(b"MCC_Data")))
    assert clip.clock(None).stretch == 1.0


@pytest.mark.parametrize("tags", [{}, {"com.android.capture.fps": "30.0"}])
def test_a_rate_that_has_a_marked_clip_play_in_real_time_is_refused(
    tmp_path: Path, tags: dict[str, str]
) -> None:
    clip = open_clip(_clip(tmp_path / "v.mp4", 30.0, SLOW, tags))
    cure = "Give the rate at which the camera filmed: the phone's camera shows it when slow motion is chosen."
    with pytest.raises(BadValueError) as caught:
        clip.clock(30.0)
    assert str(caught.value) == (
        f"camera.capture_rate: 30 Hz has the clip play in real time, but the phone marked the clip as slow motion. {cure}"
    )
    with pytest.raises(BadValueError) as caught:
        clip.clock(None)
    assert (
        str(caught.value)
        == f"camera.capture_rate: is missing, and the phone marked the clip as slow motion. {cure}"
    )
