"""Clips that cannot be measured.

Each is refused in a clear message that says what, which value, which limit and what to do; the exit code is 1, and
nothing is written.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import av
import numpy as np
import pytest
from clips import index_first
from console import flybench
from refusals import AGAIN, AGAIN_FALLING, CARD, UNREADABLE, only_inputs, refused, video

Capture = pytest.CaptureFixture[str]


def test_no_file(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "missing.mp4"
    said = flybench(capsys, "bench", "measure", path, "--temperature", "18 degC", "--card")
    refused(said, f"{path}: no such file. Check the name and the folder.")


def test_folder(tmp_path: Path, capsys: Capture) -> None:
    said = flybench(capsys, "bench", "measure", tmp_path, "--temperature", "18 degC", "--card", "--no-report")
    refused(said, f"{tmp_path}: is a folder. Give the clip itself, for example {tmp_path / 'drop.mp4'}.")


@pytest.mark.parametrize(
    ("content", "what"),
    [(b"", "is empty (0 bytes)"), (b"not a clip at all\n" * 9, "is not a clip that can be read (162 bytes)")],
)
def test_no_clip_at_all(content: bytes, what: str, clip: Path, capsys: Capture) -> None:
    clip.write_bytes(content)
    refused(
        flybench(capsys, "bench", "measure", clip), f"{clip}: {what}. Copy it from the phone again, unedited."
    )
    assert only_inputs(clip.parent)


def test_sound_only(clip: Path, capsys: Capture) -> None:
    with av.open(str(clip), "w") as out:
        stream = out.add_stream("aac", rate=44100)
        sound = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), format="fltp", layout="mono")
        sound.sample_rate = 44100
        out.mux(stream.encode(sound))
        out.mux(stream.encode(None))
    refused(
        flybench(capsys, "bench", "measure", clip), f"{clip}: holds sound but no picture. Give a video clip."
    )


def test_one_frame(clip: Path, capsys: Capture) -> None:
    video(clip, [np.full((320, 240), 200, np.uint8)])
    said = flybench(capsys, "bench", "measure", clip)
    refused(said, f"{clip.name}: holds a single picture. Film the whole fall as a clip.")


def test_a_photograph(clip: Path, capsys: Capture) -> None:
    from PIL import Image

    photo = clip.with_suffix(".jpg")
    Image.new("L", (320, 240), 200).save(photo)
    said = flybench(capsys, "bench", "measure", photo, "--temperature", "18 degC", "--card")
    refused(said, "drop.jpg: holds a single picture. Film the whole fall as a clip.")


@pytest.mark.slow
def test_huge_size_in_the_container_alone_is_not_believed(clip: Path, capsys: Capture) -> None:
    """The container claims 10 000 x 10 000 px (ISO/IEC 14496-12, VisualSampleEntry), the pictures 960 x 540.

    Its turn is then not believed either: the card tells which way is down. Truth: rendered at 0.3 m/s.
    """
    data = bytearray(clip.read_bytes())
    at = data.index(b"avc1", data.index(b"stsd"))
    data[at + 28 : at + 32] = (10_000).to_bytes(2, "big") * 2
    clip.write_bytes(data)
    told = json.loads(flybench(capsys, "bench", "measure", clip, "--no-report", "--json").out)
    assert {told["clip"]["width"], told["clip"]["height"]} == {540, 960}
    assert abs(told["sink_speed_m_s"] - 0.3) < told["expanded_uncertainty_m_s"]


@pytest.mark.slow
def test_really_huge_picture(clip: Path, capsys: Capture) -> None:
    with av.open(str(clip), "w") as out:
        stream = out.add_stream("mjpeg", rate=1)
        stream.width = stream.height = 10_000
        stream.pix_fmt = "yuvj420p"
        out.mux(stream.encode(av.VideoFrame(10_000, 10_000, "yuvj420p")))
        out.mux(stream.encode(None))
    said = flybench(capsys, "bench", "measure", clip)
    refused(
        said,
        f"{clip}: the picture is 10000 x 10000 px; the limit is 36 megapixels (8K). Film at 1080p: it is ample.",
    )


def test_header_promises_frames_that_do_not_decode(clip: Path, capsys: Capture) -> None:
    data = bytearray(clip.read_bytes())
    start = data.index(b"mdat") + 4
    data[start + 200 : -4000] = bytes(len(data) - 4000 - start - 200)
    clip.write_bytes(data)
    said = flybench(capsys, "bench", "measure", clip, "--no-report")
    refused(said, f"{clip}: none of its frames can be read. {UNREADABLE}")


def test_cut_off_before_its_index(clip: Path, capsys: Capture) -> None:
    data = clip.read_bytes()
    clip.write_bytes(data[: data.index(b"moov") - 4])
    said = flybench(capsys, "bench", "measure", clip)
    refused(said, f"{clip}: is not a clip that can be read ({clip.stat().st_size} bytes). {AGAIN}")
    assert only_inputs(clip.parent)


@pytest.mark.slow
def test_cut_off_half_way_is_flagged_and_right(clip: Path, capsys: Capture) -> None:
    """Truth: rendered at 0.3 m/s. The index comes first, as in clips sent by messengers."""
    index_first(clip, clip.with_name("first.mp4"))
    data = clip.with_name("first.mp4").read_bytes()
    clip.write_bytes(data[: len(data) // 2])
    said = flybench(capsys, "bench", "measure", clip, "--json", "--no-report")
    told = json.loads(said.out)
    assert said.code == 0
    assert told["verdict"] == "usable"
    assert "clip-damaged" in told["flags"]
    assert told["clip"]["frames"] < 80
    assert abs(told["sink_speed_m_s"] - 0.3) < told["expanded_uncertainty_m_s"]


@pytest.mark.slow
def test_time_table_against_the_movie_header_is_flagged_and_carried(clip: Path, capsys: Capture) -> None:
    """A damaged time scale (ISO/IEC 14496-12, mdhd) alters every time, and the speed with it, by the same factor."""
    data = bytearray(clip.read_bytes())
    at = data.index(b"mdhd") + 16
    assert int.from_bytes(data[at : at + 4]) == 90_000
    data[at : at + 4] = (92_000).to_bytes(4)
    clip.write_bytes(data)
    sheet = clip.with_suffix(".toml")
    lines = sheet.read_text(encoding="utf-8").splitlines(keepends=True)
    sheet.write_text("".join(line for line in lines if not line.startswith("capture_rate")), encoding="utf-8")
    told = json.loads(flybench(capsys, "bench", "measure", clip, "--json", "--no-report").out)
    # Which of the two is raised hangs on what the version of the decoder makes of the edit list.
    assert {"clip-damaged", "times-contradicted"} & set(told["flags"])
    assert told["verdict"] == "usable"
    assert abs(told["sink_speed_m_s"] - 0.3) < told["expanded_uncertainty_m_s"]


def test_not_a_file(clip: Path, capsys: Capture) -> None:
    pipe = clip.with_name("pipe.mp4")
    os.mkfifo(pipe)
    device = "is a pipe or a device, not a file. Save the clip as a file first."
    for path in (pipe, Path("/dev/null")):
        refused(flybench(capsys, "bench", "measure", path, *CARD), f"{path}: {device}")
    long = clip.with_name("x" * 300)
    said = flybench(capsys, "bench", "measure", long, *CARD)
    refused(said, f"{long}: cannot be opened (File name too long). Check the name.")
    pipe.unlink()


@pytest.mark.parametrize("verb", ["measure", "sheet"])
@pytest.mark.parametrize("path", ["/", ".", "", ".."])
def test_folders_without_a_name(verb: str, path: str, capsys: Capture) -> None:
    said = flybench(capsys, "bench", verb, path)
    refused(said, f"{Path(path)}: is a folder. Give the clip itself, for example {Path(path) / 'drop.mp4'}.")


def test_missing_clip_is_said_before_a_missing_sheet_or_folder(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "no" / "drop.mp4"
    for more in ((), CARD):
        said = flybench(capsys, "bench", "measure", path, *more)
        refused(said, f"{path}: no such file. Check the name and the folder.")


@pytest.mark.slow
def test_name_that_is_no_utf_8(clip: Path, capsys: Capture) -> None:
    odd = Path(os.fsdecode(os.fsencode(clip.parent) + b"/dr\xffp.mp4"))
    clip.rename(odd)
    said = flybench(capsys, "bench", "measure", odd, *CARD, "--no-report", "--json")
    assert said.code == 0
    assert json.loads(said.out)["clip"]["name"] == "dr\ufffdp.mp4"
    for again in range(2):
        said = flybench(capsys, "bench", "measure", odd, *CARD)
        assert said.code == 0, again


@pytest.mark.parametrize("shape", [(2, 2), (16, 16), (24, 500), (500, 24)])
def test_tiny_pictures(shape: tuple[int, int], clip: Path, capsys: Capture) -> None:
    video(clip, [np.full(shape, 60 + 9 * i, np.uint8) for i in range(20)])
    said = flybench(capsys, "bench", "measure", clip, "--no-report")
    refused(
        said,
        "drop.mp4: the scale card was not found (0 corners seen, 8 needed). Show both strips sharp and evenly lit, "
        "filling most of the picture; or give scale.points and scale.length.",
    )


def _points(capsys: Capture, clip: Path, *more: str | Path):  # type: ignore[no-untyped-def]
    clip.with_suffix(".toml").unlink(missing_ok=True)
    scale = ("--points", "20,10 20,300", "--length", "250 mm")
    return flybench(capsys, "bench", "measure", clip, "--temperature", "18 degC", *scale, *more)


def _first(out: str) -> str:
    """Return the verdict, which may run over several lines, as one."""
    lines = out.splitlines()
    end = next(number for number, line in enumerate(lines) if line.startswith("  "))
    return " ".join(lines[:end])


def _disc(at: tuple[float, float], radius: float = 9.0) -> np.ndarray:
    y, x = np.mgrid[0:320, 0:240]
    inside = np.clip(radius - np.hypot(x - at[0], y - at[1]) + 0.5, 0, 1)
    return (210 - 170 * inside).astype(np.uint8)


@pytest.mark.slow
def test_nothing_moves(clip: Path, capsys: Capture) -> None:
    video(clip, [np.full((320, 240), 200, np.uint8)] * 40)
    said = _points(capsys, clip)
    assert (said.code, said.err) == (1, f"Wrote {clip.with_suffix('.bench.png')}\n")
    assert _first(said.out) == f"REFUSED: no sink speed. No drop was found: nothing moved. {AGAIN_FALLING}"
    assert "nan" not in said.out


@pytest.mark.slow
def test_only_rises(clip: Path, capsys: Capture) -> None:
    video(clip, [_disc((120, 300 - 5 * i)) for i in range(58)])
    said = _points(capsys, clip, "--no-report")
    assert (said.code, said.err) == (1, "")
    assert (
        _first(said.out) == f"REFUSED: no sink speed. No drop was found: 1 rose (a bubble?). {AGAIN_FALLING}"
    )


@pytest.mark.slow
def test_only_a_hand(clip: Path, capsys: Capture) -> None:
    frames = []
    for i in range(60):
        frame = np.full((320, 240), 210, np.uint8)
        frame[: 20 + 4 * i, 90:150] = 60
        frames.append(frame)
    video(clip, frames)
    said = _points(capsys, clip, "--no-report")
    assert (said.code, said.err) == (1, "")
    assert _first(said.out).startswith("REFUSED: no sink speed. No drop was found: ")


def test_too_short_in_view(clip: Path, capsys: Capture) -> None:
    """Eight frames, 20 px (17 mm) of fall: less than the 30 mm that are looked at."""
    empty = [np.full((320, 240), 210, np.uint8)] * 20
    video(clip, [*empty, *(_disc((120, 150 + 2.5 * i)) for i in range(8)), *empty])
    said = _points(capsys, clip, "--no-report")
    assert (said.code, said.err) == (1, "")
    assert _first(said.out) == f"REFUSED: no sink speed. No drop was found: 1 hardly moved. {AGAIN_FALLING}"


def test_refused_json_has_nulls(clip: Path, capsys: Capture) -> None:
    video(clip, [np.full((320, 240), 200, np.uint8)] * 40)
    said = _points(capsys, clip, "--json", "--no-report")
    told = json.loads(said.out)
    assert said.code == 1
    assert told["verdict"] == "refused"
    assert told["sink_speed_m_s"] is None
    assert told["free_water"] is None
    assert told["drops"] == []
    assert said.err == f"REFUSED: no sink speed. No drop was found: nothing moved. {AGAIN_FALLING}\n"
