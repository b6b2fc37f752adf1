"""Clips trimmed by an edit list, as phones trim them: less is shown, at the right times, and nobody is asked for the rate."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from clips import pairs, rendered, sheet_of
from rewritten import with_edit, with_time_scale
from tankview.simple import clean_scene, drops
from written_clips import write_clip

from flybench.bench.clip.footage import Clip, open_clip
from flybench.bench.clip.header import Edit, Lengths, lengths
from flybench.bench.clip.length_doubt import Pictures, header_ratio
from flybench.bench.measure import measure
from flybench.bench.sheet.read import read_sheet
from flybench.bench.verdict.flags import doubts
from flybench.errors import BadValueError

SECONDS, RATE = 4.0, 30.0
TRIMS = [(0.0, 1.7), (2.1, 1.9), (1.1, 0.8), (0.0, 3.9), (0.1, 3.9), (0.0, 1.0)]
"""Start and length [s]; the last leaves out a whole number of times what it shows."""


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("whole") / "v.mp4"
    write_clip(path, [3000 * i for i in range(int(SECONDS * RATE))])
    return path


@pytest.mark.parametrize(("start", "length"), TRIMS)
def test_a_trimmed_clip_agrees_with_itself(start: float, length: float, whole: Path, tmp_path: Path) -> None:
    with_edit(whole, tmp_path / "t.mp4", start, length)
    clip = open_clip(tmp_path / "t.mp4")
    clock = clip.clock(None)
    assert clock.capture_rate == pytest.approx(RATE)
    assert clock.relative_uncertainty < 0.001
    shown = sum(1 for _ in clip.frames())
    assert shown == pytest.approx(length * RATE, abs=1)
    assert (clip.survey.promised, clip.tally.broken, clip.tally.unordered) == (shown, 0, 0)


@pytest.mark.parametrize(
    ("start", "length", "factor"),
    [*((0.0, 3.0, factor) for factor in (4.0, 0.25, 1.6, 1 / 1.6)), (0.5, 3.0, 4.0), (0.5, 3.0, 1.6)],
)
def test_a_wrong_scale_of_time_shows_in_a_trimmed_clip_too(
    start: float, length: float, factor: float, whole: Path, tmp_path: Path
) -> None:
    """With the scale of the pictures off by a factor the movie lasts less or more than the pictures it is to show."""
    with_edit(whole, tmp_path / "t.mp4", start, length)
    with_time_scale(tmp_path / "t.mp4", tmp_path / "w.mp4", b"mdhd", factor)
    clip = open_clip(tmp_path / "w.mp4")
    assert abs(np.log(clip.survey.doubt.header_ratio)) > 0.05
    with pytest.raises(BadValueError, match="the file contradicts itself"):
        clip.clock(None)


def test_an_edit_list_that_slows_down_needs_the_rate(whole: Path, tmp_path: Path) -> None:
    """ISO/IEC 14496-12, 8.6.6: the rate at which the media is played, 1 unless it is slowed down or sped up."""
    with_edit(whole, tmp_path / "t.mp4", 0.0, SECONDS * 8, 1 / 8)
    clip = open_clip(tmp_path / "t.mp4")
    with pytest.raises(BadValueError) as caught:
        clip.clock(None)
    assert str(caught.value) == (
        "camera.capture_rate: is missing, and the file has its pictures played at 0.125 times their speed. Give the rate at "
        "which the camera filmed: the phone's camera shows it when slow motion is chosen."
    )
    assert not clip.survey.contradicted
    assert clip.clock(RATE).stretch == 1.0
    assert clip.clock(240.0).stretch == pytest.approx(8.0)


def test_an_edit_list_is_read_as_it_stands(whole: Path, tmp_path: Path) -> None:
    with_edit(whole, tmp_path / "t.mp4", 1.5, 2.0, 0.5)
    told = lengths(tmp_path / "t.mp4", 1)
    assert told is not None
    assert told.movie == 2.0
    assert told.movie_ticks in (1000, 90_000)  # which of them is the muxer's choice, by its version
    assert told.track == pytest.approx(SECONDS, abs=0.1)
    assert [(one.length, one.rate) for one in told.edits] == [(2.0, 0.5)]
    assert told.edits[0].start == pytest.approx(1.5, abs=0.15)  # and the delay of coding
    assert lengths(tmp_path / "t.mp4", 2) is None


def test_an_edit_list_in_the_long_form(tmp_path: Path) -> None:
    """Version 1 has 64-bit lengths and starts; a start of -1 is a pause without pictures."""
    entries = [(600, -1, 65536), (1200, 90_000, 32768)]
    listed = b"".join(
        length.to_bytes(8) + start.to_bytes(8, signed=True) + rate.to_bytes(4)
        for length, start, rate in entries
    )

    def box(kind: bytes, content: bytes) -> bytes:
        return (8 + len(content)).to_bytes(4) + kind + content

    def header(ticks: int, length: int) -> bytes:
        return bytes(12) + ticks.to_bytes(4) + length.to_bytes(4) + bytes(80)

    edits = box(b"edts", box(b"elst", b"\x01\0\0\0" + (2).to_bytes(4) + listed))
    media = box(b"mdia", box(b"mdhd", header(45_000, 180_000)))
    track = box(b"trak", box(b"tkhd", bytes(12) + (7).to_bytes(4) + bytes(68)) + edits + media)
    (tmp_path / "v").write_bytes(box(b"moov", box(b"mvhd", header(600, 1800)) + track))
    assert lengths(tmp_path / "v", 7) == Lengths(3.0, 600, 4.0, (Edit(1.0, None, 1.0), Edit(2.0, 2.0, 0.5)))


def _ratio(edits: tuple[Edit, ...], movie: float, ticks: int = 1000, **more: Any) -> float:
    known = {"count": 300, "gap": 1 / 30, "coded_rate": None, "others_end": 0.0} | more
    return header_ratio(Lengths(movie, ticks, 10.0, edits), Pictures(**known))


def test_which_lengths_agree() -> None:
    """Three hundred pictures at thirty a second last ten seconds."""
    assert _ratio((), 10.0) == 1.0
    assert _ratio((), 10.4, others_end=10.4) == 1.0
    assert _ratio((), 10.4) == pytest.approx(1.04)
    assert _ratio((Edit(10.0, 0.07, 1.0),), 10.0) == 1.0
    assert _ratio((Edit(1.0, None, 1.0), Edit(10.0, 0.07, 1.0)), 11.0) == 1.0
    assert _ratio((Edit(6.4, 0.0, 1.0),), 6.4, ticks=600) == 1.0
    assert _ratio((Edit(3.0, 0.0, 1.0), Edit(3.0, 5.0, 1.0)), 6.0) == 1.0
    assert _ratio((Edit(40.0, 0.0, 0.25),), 40.0) == 1.0
    assert _ratio((Edit(20.0, 0.0, 1.0),), 20.0) == pytest.approx(2.0, rel=0.02)
    assert _ratio((Edit(8.0, 5.0, 1.0),), 8.0) == pytest.approx(1.6, rel=0.05)


def test_what_tells_a_wrong_scale_from_a_trimmed_end() -> None:
    """The rate in the coded pictures, else a rate that no camera is set to, or ticks in which no program counts."""
    quarter = (Edit(2.5, 0.0, 1.0),)
    assert _ratio(quarter, 2.5) == 1.0
    assert _ratio(quarter, 2.5, coded_rate=30.0) == 1.0
    assert _ratio(quarter, 2.5, coded_rate=120.0) == pytest.approx(0.25)
    assert _ratio(quarter, 2.5, ticks=4000) == pytest.approx(0.25)
    assert _ratio(quarter, 2.5, gap=1 / 7.5) == pytest.approx(0.25)
    assert _ratio((Edit(2.5, 3.0, 1.0),), 2.5, gap=1 / 7.5) == 1.0
    assert _ratio((Edit(2.5, 3.0, 1.0),), 2.5, gap=1 / 7.5, coded_rate=30.0) == pytest.approx(0.25)
    assert _ratio((Edit(9.95, 0.0, 1.0),), 9.95, gap=1 / 17) == 1.0
    assert _ratio((Edit(9.9, 0.0, 1.0),), 9.9, gap=1 / 29.4) == pytest.approx(0.99)
    assert _ratio((Edit(9.9, 0.0, 1.0),), 9.9, gap=1 / 29.97) == 1.0
    few = (Edit(0.9, 0.0, 1.0),)
    assert header_ratio(Lengths(0.9, 1000, 1.0, few), Pictures(29, 1 / 29, None, 0.0)) == 1.0


@pytest.mark.slow
@pytest.mark.parametrize("kept", [(0.0, 3.1), (1.9, 3.1), (1.9, 1.2)])
def test_a_trimmed_clip_is_measured_as_the_whole_one(
    kept: tuple[float, float], folder: Path, tmp_path: Path
) -> None:
    """Truth: rendered; two drops at 0.4 and 2.6 s, of which the pieces hold one or both whole."""
    scene = clean_scene(
        drops=drops(2, 1.9, first=0.3),
        duration=5.0,
        camera__width=540,
        camera__height=960,
        camera__focal_px=1665.0,
        encoding__preset="ultrafast",
    )
    path, truth = rendered(scene, folder)
    with_edit(path, tmp_path / "t.mp4", *kept)
    clip: Clip = open_clip(tmp_path / "t.mp4")
    result = measure(clip, read_sheet(sheet_of(scene, {}))).result
    assert result.sink_speed is not None
    assert abs(result.sink_speed - truth.sink_speed_m_s) < 2 * (result.standard_uncertainty or 0)
    assert not doubts(set(result.all_flags) - {"single-drop", "taken-as-real-time"})
    assert np.all(np.diff(clip.survey.times) > 0)
    assert len(pairs(result, truth)) == len(result.used_drops)
