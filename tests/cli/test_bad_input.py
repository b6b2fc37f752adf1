"""Bad input: a clear message that says what, which value, which limit and what to do; exit code 1; nothing written."""

from __future__ import annotations

import json
import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import av
import numpy as np
import pytest
from clips import index_first
from console import flybench
from tankview.render import render
from tankview.sheet import sheet_text
from tankview.simple import clean_scene, drops

Capture = pytest.CaptureFixture[str]
AGAIN = "Copy it from the phone again, unedited."
UNREADABLE = "The file is damaged; copy it from the phone again."
CARD = ("--temperature", "18 degC", "--card")
PLACE = "Name a file in a folder you may write to."


@pytest.fixture(scope="session")
def good(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a good small clip with its sheet beside it."""
    folder = tmp_path_factory.mktemp("good")
    scene = clean_scene(drops=drops(1, 1.7), duration=1.8)
    render(scene, folder / "drop.mp4")
    (folder / "drop.toml").write_text(sheet_text(scene), encoding="utf-8")
    return folder / "drop.mp4"


@pytest.fixture
def clip(good: Path, tmp_path: Path) -> Path:
    """Return a copy of the good clip and its sheet, free to be spoilt."""
    for ending in (".mp4", ".toml"):
        shutil.copyfile(good.with_suffix(ending), tmp_path / f"drop{ending}")
    return tmp_path / "drop.mp4"


def _only_inputs(folder: Path) -> bool:
    """Tell whether a folder holds nothing but what a test put there."""
    return {path.suffix for path in folder.iterdir()} <= {".mp4", ".toml", ".jpg", ".MP4"}


def _video(path: Path, frames: list[np.ndarray], rate: int = 30) -> None:
    with av.open(str(path), "w") as out:
        stream = out.add_stream("libx264", rate=rate)
        stream.height, stream.width = frames[0].shape
        stream.pix_fmt = "yuv420p"
        for frame in frames:
            out.mux(
                stream.encode(av.VideoFrame.from_ndarray(frame, format="gray").reformat(format="yuv420p"))
            )
        out.mux(stream.encode(None))


def _refused(said, message: str) -> None:  # type: ignore[no-untyped-def]
    assert said.code == 1
    assert said.out == ""
    assert said.err == f"Error: {message}\n"


# --- files ------------------------------------------------------------------------------------------


def test_no_file(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "missing.mp4"
    said = flybench(capsys, "bench", "measure", path, "--temperature", "18 degC", "--card")
    _refused(said, f"{path}: no such file. Check the name and the folder.")


def test_folder(tmp_path: Path, capsys: Capture) -> None:
    said = flybench(capsys, "bench", "measure", tmp_path, "--temperature", "18 degC", "--card", "--no-report")
    _refused(said, f"{tmp_path}: is a folder. Give the clip itself, for example {tmp_path / 'drop.mp4'}.")


@pytest.mark.parametrize(
    ("content", "what"),
    [(b"", "is empty (0 bytes)"), (b"not a clip at all\n" * 9, "is not a clip that can be read (162 bytes)")],
)
def test_no_clip_at_all(content: bytes, what: str, clip: Path, capsys: Capture) -> None:
    clip.write_bytes(content)
    _refused(
        flybench(capsys, "bench", "measure", clip), f"{clip}: {what}. Copy it from the phone again, unedited."
    )
    assert _only_inputs(clip.parent)


def test_sound_only(clip: Path, capsys: Capture) -> None:
    with av.open(str(clip), "w") as out:
        stream = out.add_stream("aac", rate=44100)
        sound = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), format="fltp", layout="mono")
        sound.sample_rate = 44100
        out.mux(stream.encode(sound))
        out.mux(stream.encode(None))
    _refused(
        flybench(capsys, "bench", "measure", clip), f"{clip}: holds sound but no picture. Give a video clip."
    )


def test_one_frame(clip: Path, capsys: Capture) -> None:
    _video(clip, [np.full((320, 240), 200, np.uint8)])
    said = flybench(capsys, "bench", "measure", clip)
    _refused(said, f"{clip.name}: holds a single picture. Film the whole fall as a clip.")


def test_a_photograph(clip: Path, capsys: Capture) -> None:
    from PIL import Image

    photo = clip.with_suffix(".jpg")
    Image.new("L", (320, 240), 200).save(photo)
    said = flybench(capsys, "bench", "measure", photo, "--temperature", "18 degC", "--card")
    _refused(said, "drop.jpg: holds a single picture. Film the whole fall as a clip.")


def test_huge_size_in_the_container_alone_is_not_believed(clip: Path, capsys: Capture) -> None:
    """The container claims 10 000 x 10 000 px (ISO/IEC 14496-12, VisualSampleEntry), the pictures 960 x 540."""
    data = bytearray(clip.read_bytes())
    at = data.index(b"avc1", data.index(b"stsd"))
    data[at + 28 : at + 32] = (10_000).to_bytes(2, "big") * 2
    clip.write_bytes(data)
    said = flybench(capsys, "bench", "measure", clip, "--no-report")
    assert said.code == 0
    assert "540 x 960 px upright" in said.out


def test_really_huge_picture(clip: Path, capsys: Capture) -> None:
    with av.open(str(clip), "w") as out:
        stream = out.add_stream("mjpeg", rate=1)
        stream.width = stream.height = 10_000
        stream.pix_fmt = "yuvj420p"
        out.mux(stream.encode(av.VideoFrame(10_000, 10_000, "yuvj420p")))
        out.mux(stream.encode(None))
    said = flybench(capsys, "bench", "measure", clip)
    _refused(
        said,
        f"{clip}: the picture is 10000 x 10000 px; the limit is 36 megapixels (8K). Film at 1080p: it is ample.",
    )


def test_header_promises_frames_that_do_not_decode(clip: Path, capsys: Capture) -> None:
    data = bytearray(clip.read_bytes())
    start = data.index(b"mdat") + 4
    data[start + 200 : -4000] = bytes(len(data) - 4000 - start - 200)
    clip.write_bytes(data)
    said = flybench(capsys, "bench", "measure", clip, "--no-report")
    _refused(said, f"{clip}: no frame decodes. {UNREADABLE}")


def test_cut_off_before_its_index(clip: Path, capsys: Capture) -> None:
    data = clip.read_bytes()
    clip.write_bytes(data[: data.index(b"moov") - 4])
    said = flybench(capsys, "bench", "measure", clip)
    _refused(said, f"{clip}: is not a clip that can be read ({clip.stat().st_size} bytes). {AGAIN}")
    assert _only_inputs(clip.parent)


def test_cut_off_half_way_is_flagged_and_right(clip: Path, capsys: Capture) -> None:
    """Truth: rendered at 0.3 m/s. The index comes first, as in clips sent by messengers."""
    index_first(clip, clip.with_name("first.mp4"))
    data = clip.with_name("first.mp4").read_bytes()
    clip.write_bytes(data[: len(data) // 2])
    said = flybench(capsys, "bench", "measure", clip, "--json", "-", "--no-report")
    told = json.loads(said.out)
    assert said.code == 0
    assert told["verdict"] == "usable"
    assert "clip-damaged" in told["flags"]
    assert told["clip"]["frames"] < 80
    assert abs(told["sink_speed_m_s"] - 0.3) < told["expanded_uncertainty_m_s"]


def test_time_table_against_the_movie_header_is_flagged(clip: Path, capsys: Capture) -> None:
    """A damaged time scale (ISO/IEC 14496-12, mdhd) alters every time, and the speed with it, by the same factor."""
    data = bytearray(clip.read_bytes())
    at = data.index(b"mdhd") + 16
    assert int.from_bytes(data[at : at + 4]) == 90_000
    data[at : at + 4] = (95_000).to_bytes(4)
    clip.write_bytes(data)
    told = json.loads(flybench(capsys, "bench", "measure", clip, "--json", "-", "--no-report").out)
    assert "clip-damaged" in told["flags"]


def test_not_a_file(clip: Path, capsys: Capture) -> None:
    pipe = clip.with_name("pipe.mp4")
    os.mkfifo(pipe)
    device = "is a pipe or a device, not a file. Save the clip as a file first."
    for path in (pipe, Path("/dev/null")):
        _refused(flybench(capsys, "bench", "measure", path, *CARD), f"{path}: {device}")
    long = clip.with_name("x" * 300)
    said = flybench(capsys, "bench", "measure", long, *CARD)
    _refused(said, f"{long}: cannot be opened (File name too long). Check the name.")
    pipe.unlink()


@pytest.mark.parametrize("verb", ["measure", "sheet"])
@pytest.mark.parametrize("path", ["/", ".", "", ".."])
def test_folders_without_a_name(verb: str, path: str, capsys: Capture) -> None:
    said = flybench(capsys, "bench", verb, path)
    _refused(said, f"{Path(path)}: is a folder. Give the clip itself, for example {Path(path) / 'drop.mp4'}.")


def test_missing_clip_is_said_before_a_missing_sheet_or_folder(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "no" / "drop.mp4"
    for more in ((), CARD):
        said = flybench(capsys, "bench", "measure", path, *more)
        _refused(said, f"{path}: no such file. Check the name and the folder.")


def test_name_that_is_no_utf_8(clip: Path, capsys: Capture) -> None:
    odd = Path(os.fsdecode(os.fsencode(clip.parent) + b"/dr\xffp.mp4"))
    clip.rename(odd)
    out = clip.with_name("o.json")
    said = flybench(capsys, "bench", "measure", odd, *CARD, "--no-report", "--json", out)
    assert said.code == 0
    assert json.loads(out.read_text(encoding="utf-8"))["clip"]["name"] == "dr\ufffdp.mp4"


@pytest.mark.parametrize("shape", [(2, 2), (16, 16), (24, 500), (500, 24)])
def test_tiny_pictures(shape: tuple[int, int], clip: Path, capsys: Capture) -> None:
    _video(clip, [np.full(shape, 60 + 9 * i, np.uint8) for i in range(20)])
    said = flybench(capsys, "bench", "measure", clip, "--no-report")
    _refused(
        said,
        "drop.mp4: the scale card was not found (0 corners seen, 8 needed). Show both strips sharp and evenly lit, "
        "filling most of the picture; or give scale.points and scale.length.",
    )


# --- sheet ------------------------------------------------------------------------------------------

SHEETS = {
    'water.temprature = "18 degC"': "water.temprature: is not a key of the bench sheet. Did you mean water.temperature?",
    'pond.depth = "1 m"': "pond.depth: is not a key of the bench sheet. Did you mean tank.depth?",
    'tank.width = "200 kg"': 'tank.width: "200 kg" is not a length. Write it with its unit, for example "620 mm".',
    "tank.width = 200": 'tank.width: 200 has no unit. Write it with its unit, for example "200 mm".',
    'water.temperature = "64 degC"': "water.temperature: 64 degC is not possible (temperature of the water in the "
    "tank). Give 0 to 40 degC.",
    'tank.diameter = "190 mm"': "tank.diameter: stands beside tank.width or tank.depth. Give a diameter for a round "
    "column, width and depth for a square one.",
    'tank.fall_plane = "300 mm"': "tank.fall_plane: 300 mm lies outside the tank (140 mm deep). Measure from the inner "
    "front face to where the fly falls.",
    'camera.capture_rate = "20 Hz"': "camera.capture_rate: 20 Hz is below the clip's own 60 frames a second. Give the "
    "rate at which the camera took the pictures, or leave the key out.",
    'tank.wall_material = "jelly"': "tank.wall_material: 'jelly' is not known. Use one of acrylic, borosilicate, "
    "glass, polycarbonate, polystyrene, or give wall_index.",
    'tank.wall_material = ["glass"]': "tank.wall_material: ['glass'] is not known. Use one of acrylic, borosilicate, "
    "glass, polycarbonate, polystyrene, or give wall_index.",
    'tank.wall_material = "glass"\ntank.wall_index = 1.5': "tank.wall_material: stands beside tank.wall_index. Keep "
    "one of them: a wall has one refractive index.",
    "tank.wall_index = 3": "tank.wall_index: 3 is no refractive index of a wall. Give a number from 1.3 to 1.9, "
    "without quotes.",
    'scale.gap = "200 mm"': "scale.gap: 200 mm puts the scale outside the tank. It is positive when the fly falls "
    "nearer to the camera than the scale.",
    'scale.length = "200 mm"': "scale.length: stands beside a card. It belongs to points; the card's own bar goes into "
    "scale.bar.",
    'fly.volume = "-3 mm**3"': "fly.volume: -3 mm**3 is not possible (volume of the soaked fly). Give 0.01 to 10000 "
    "mm**3.",
    'water.temperature = "1e999 degC"': 'water.temperature: "1e999 degC" is not a finite number. Write it with its '
    'unit, for example "18 degC".',
    'water.temperature = "2**99999999 K"': 'water.temperature: "2**99999999 K" is not a temperature. Write it with its '
    'unit, for example "18 degC".',
    "fly.code = 5": 'fly.code: 5 is not text. Write code = "…" in quotes.',
    'scale.card = "behind"': "scale.card: 'behind' is not known. Stand the card in the tank and write card = "
    '"in water".',
    "scale.points = [[1, 2], [3, 400]]": "scale: has both a card and points. Keep one of them: a clip has one scale.",
    'fly.mass = "0.1 g"\nfly.mass_in_water = "0.2 g"': "fly.mass_in_water: is not below fly.mass. A fly weighs less "
    "under water; were the two swapped?",
    'fly.mass = "0.02 g"\nfly.volume = "30 mm**3"': "fly.volume: displaces 0.03 g of water, the fly weighs 0.02 g: it "
    "would float. Weigh the soaked fly hanging in water and give fly.mass_in_water instead.",
    'scale.bar = "3 m"': "scale.bar: 3 m is not possible (what a ruler says of the card's 100 mm bar). Give 50 to "
    "150 mm.",
}


@pytest.mark.parametrize("wrong", SHEETS)
def test_wrong_sheet(wrong: str, clip: Path, capsys: Capture) -> None:
    tables: dict[str, dict[str, str]] = {
        "water": {"temperature": '"18 degC"'},
        "tank": {"width": '"200 mm"', "depth": '"140 mm"'},
        "scale": {"card": '"in water"', "bar": '"100 mm"'},
        "camera": {"distance": '"500 mm"'},
    }
    for line in wrong.split("\n"):
        name, value = line.split(" = ", 1)
        table, key = name.split(".")
        tables.setdefault(table, {})[key] = value
    lines = [
        f"[{table}]\n" + "".join(f"{k} = {v}\n" for k, v in keys.items()) for table, keys in tables.items()
    ]
    clip.with_suffix(".toml").write_text("\n".join(lines), encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip)
    _refused(said, SHEETS[wrong])
    assert _only_inputs(clip.parent)


def test_missing_temperature(clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").write_text('[scale]\ncard = "in water"\n', encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip)
    _refused(
        said,
        "water.temperature: is missing; the water's temperature is always needed. "
        'Write for example temperature = "18 degC".',
    )


def test_no_sheet_and_no_options(clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").unlink()
    said = flybench(capsys, "bench", "measure", clip)
    _refused(
        said,
        f"{clip}: there is no sheet beside it (drop.toml) and no options were given. "
        f"Write one with: flybench bench sheet {clip}",
    )


def test_no_scale(clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").write_text('[water]\ntemperature = "18 degC"\n', encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip)
    _refused(
        said,
        "scale: is missing: nothing tells how large a pixel is. Print the card (flybench bench card) and write "
        'card = "in water" under [scale], or give points and length.',
    )


def test_broken_toml(clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").write_text("[water\ntemperature = 18", encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip)
    _refused(
        said,
        f"{clip.with_suffix('.toml')}: is not a sheet that can be read: Expected ']' at the end of a table declaration "
        "(at line 1, column 7). Mend that line.",
    )


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("a = " + "[" * 5000, "is not a sheet that can be read: "),
        ("a = " + "9" * 5000, "is not a sheet that can be read: "),
        ("#" * 200_000, "is longer than any sheet (100 kB at most). Give the .toml file."),
    ],
)
def test_sheets_that_break_readers(text: str, why: str, clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").write_text(text, encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip)
    assert said.code == 1
    assert said.err.startswith(f"Error: {clip.with_suffix('.toml')}: {why}")


def test_sheet_that_is_a_folder_or_missing(clip: Path, capsys: Capture) -> None:
    said = flybench(capsys, "bench", "measure", clip, "--sheet", clip.parent)
    _refused(said, f"{clip.parent}: cannot be read (Is a directory). Check the name.")
    other = clip.with_name("other.toml")
    said = flybench(capsys, "bench", "measure", clip, "--sheet", other)
    _refused(said, f"{other}: cannot be read (No such file or directory). Check the name.")


def test_value_outside_any_table_with_an_option_for_it(clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").write_text("water = 18\n", encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip, *CARD)
    _refused(
        said, "water: stands outside any table. Write it under [water], [tank], [camera], [scale] or [fly]."
    )


def test_gap_without_distance(clip: Path, capsys: Capture) -> None:
    text = '[water]\ntemperature = "18 degC"\n[tank]\ndepth = "140 mm"\n[scale]\ncard = "in water"\ngap = "12 mm"\n'
    clip.with_suffix(".toml").write_text(text, encoding="utf-8")
    said = flybench(capsys, "bench", "measure", clip)
    _refused(
        said,
        "camera.distance: is missing; a gap between scale and fall plane cannot be corrected without it. "
        'Write for example distance = "620 mm".',
    )


@pytest.mark.parametrize(
    ("points", "message"),
    [
        (
            "10,10 10,5000",
            "scale.points: [10, 5000] lies outside the picture, which is 540 x 960 px upright. Read the pixels off the "
            "upright first frame; x runs right and y down from the top left corner.",
        ),
        (
            "10,10 10,10",
            "scale.points: lie 0 px apart. Give two different points at least 20 px apart, better a whole picture's "
            "height.",
        ),
        (
            "10,10 nan,900",
            "scale.points: [[10.0, 10.0], [nan, 900.0]] is not finite. Give pixels of the upright first frame.",
        ),
        (
            "10,10",
            "scale.points: [[10.0, 10.0]] is not two points. Write points = [[x, y], [x, y]] in pixels of the upright "
            "first frame.",
        ),
        ("a,b c,d", "--points: 'a,b c,d' is not two pixels. Write for example --points \"120,80 120,1500\"."),
    ],
)
def test_wrong_points(points: str, message: str, clip: Path, capsys: Capture) -> None:
    clip.with_suffix(".toml").unlink()
    said = flybench(
        capsys, "bench", "measure", clip, "--temperature", "18 degC", "--points", points, "--length", "250 mm"
    )
    _refused(said, message)


# --- what the clip shows ------------------------------------------------------------------------------


def _points(capsys: Capture, clip: Path, *more: str | Path):  # type: ignore[no-untyped-def]
    clip.with_suffix(".toml").unlink(missing_ok=True)
    scale = ("--points", "20,10 20,300", "--length", "250 mm")
    return flybench(capsys, "bench", "measure", clip, "--temperature", "18 degC", *scale, *more)


def _disc(at: tuple[float, float], radius: float = 9.0) -> np.ndarray:
    y, x = np.mgrid[0:320, 0:240]
    inside = np.clip(radius - np.hypot(x - at[0], y - at[1]) + 0.5, 0, 1)
    return (210 - 170 * inside).astype(np.uint8)


def test_nothing_moves(clip: Path, capsys: Capture) -> None:
    _video(clip, [np.full((320, 240), 200, np.uint8)] * 40)
    said = _points(capsys, clip)
    assert said.code == 1
    assert said.out.startswith("REFUSED: no sink speed. No drop found: nothing moved.")
    assert "nan" not in said.out


def test_only_rises(clip: Path, capsys: Capture) -> None:
    _video(clip, [_disc((120, 300 - 5 * i)) for i in range(58)])
    said = _points(capsys, clip, "--no-report")
    assert said.code == 1
    assert said.out.startswith("REFUSED: no sink speed. No drop found: 1 rose (a bubble?).")


def test_only_a_hand(clip: Path, capsys: Capture) -> None:
    frames = []
    for i in range(60):
        frame = np.full((320, 240), 210, np.uint8)
        frame[: 20 + 4 * i, 90:150] = 60
        frames.append(frame)
    _video(clip, frames)
    said = _points(capsys, clip, "--no-report")
    assert said.code == 1
    assert "No drop found" in said.out


def test_too_short_in_view(clip: Path, capsys: Capture) -> None:
    """Eight frames, 20 px (17 mm) of fall: less than the 30 mm that are looked at."""
    empty = [np.full((320, 240), 210, np.uint8)] * 20
    _video(clip, [*empty, *(_disc((120, 150 + 2.5 * i)) for i in range(8)), *empty])
    said = _points(capsys, clip, "--no-report")
    assert said.code == 1
    assert said.out.splitlines()[0] == (
        "REFUSED: no sink speed. No drop found: 1 hardly moved. "
        "Film the fly falling freely past the scale, whole column in view."
    )


def test_refused_json_has_nulls(clip: Path, capsys: Capture) -> None:
    _video(clip, [np.full((320, 240), 200, np.uint8)] * 40)
    said = _points(capsys, clip, "--json", "-", "--no-report")
    told = json.loads(said.out)
    assert said.code == 1
    assert told["verdict"] == "refused"
    assert told["sink_speed_m_s"] is None
    assert told["free_water"] is None
    assert told["drops"] == []
    assert said.err.startswith("REFUSED: no sink speed.")


# --- outputs ------------------------------------------------------------------------------------------


def test_outputs_that_cannot_be_written(clip: Path, capsys: Capture) -> None:
    nowhere = clip.parent / "no" / "page.png"
    said = flybench(capsys, "bench", "measure", clip, "--report", nowhere)
    _refused(said, f"{nowhere}: there is no folder {nowhere.parent}. Make it first or name another.")
    under_file = clip / "page.png"
    said = flybench(capsys, "bench", "measure", clip, "--report", under_file)
    _refused(said, f"{under_file}: there is no folder {clip}. Make it first or name another.")
    folder = clip.parent / "page.png"
    folder.mkdir()
    said = flybench(capsys, "bench", "measure", clip, "--report", folder)
    _refused(said, f"{folder}: is a folder. Name a file in it.")
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--json", clip.parent)
    _refused(said, f"{clip.parent}: is a folder. Name a file in it.")
    long = clip.with_name("x" * 300)
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--json", long)
    _refused(said, f"{long}: cannot write there (File name too long). Name another file.")
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--overlay", folder.with_suffix(".mp4"), "--json",
        folder.with_suffix(".mp4"))  # fmt: skip
    _refused(said, f"{folder.with_suffix('.mp4')}: is to be written twice. Give each file a name of its own.")


@pytest.mark.parametrize("verb", [["measure", "CLIP", "--no-report"], ["plan", "--speed", "30 cm/s"]])
def test_devices_are_never_replaced(verb: list[str], clip: Path, capsys: Capture) -> None:
    """An administrator could put a file in the place of /dev/null."""
    arguments = [str(clip) if word == "CLIP" else word for word in verb]
    said = flybench(capsys, "bench", *arguments, "--json", "/dev/null")
    _refused(said, "/dev/null: is a pipe or a device. Name an ordinary file.")
    assert Path("/dev/null").is_char_device()


def test_the_clip_and_its_sheet_are_never_written_over(clip: Path, capsys: Capture) -> None:
    before = clip.read_bytes(), clip.with_suffix(".toml").read_bytes()
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--overlay", clip)
    _refused(said, f"{clip}: is the clip itself. Name another file to write.")
    sheet = clip.with_suffix(".toml")
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--json", sheet)
    _refused(said, f"{sheet}: is the sheet itself. Name another file to write.")
    assert (clip.read_bytes(), sheet.read_bytes()) == before


def test_other_names_of_the_clip_and_another_sheet_are_known(clip: Path, capsys: Capture) -> None:
    before = clip.read_bytes()
    for name, link in (("hard.mp4", os.link), ("soft.mp4", os.symlink)):
        link(clip, clip.with_name(name))
        said = flybench(capsys, "bench", "measure", clip, "--no-report", "--overlay", clip.with_name(name))
        _refused(said, f"{clip.with_name(name)}: is the clip itself. Name another file to write.")
    other = clip.with_name("other.toml")
    shutil.copyfile(clip.with_suffix(".toml"), other)
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--sheet", other, "--json", other)
    _refused(said, f"{other}: is the sheet itself. Name another file to write.")
    assert clip.read_bytes() == before


def test_full_disk_is_said_and_leaves_nothing(
    clip: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    wanted = clip.parent / "out.json"
    said = flybench(capsys, "bench", "measure", clip, "--no-report", "--json", wanted)
    _refused(
        said,
        f"{wanted}: cannot write there (No space left on device). Name a file in a folder you may write to.",
    )
    assert _only_inputs(clip.parent)


def _run_small(limit: int, *arguments: str | Path) -> subprocess.CompletedProcess[str]:
    """Run the command where no file may grow beyond ``limit`` bytes, which ends as a full disk does."""

    def shrink() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))

    command = [sys.executable, "-m", "flybench", "bench", "measure", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False, preexec_fn=shrink)


@pytest.mark.parametrize("name", ["o.mp4", "o.png", "o.pdf"])
def test_full_disk_while_drawing(name: str, clip: Path) -> None:
    wanted = clip.with_name(name)
    option = ["--no-report", "--overlay"] if name == "o.mp4" else ["--report"]
    done = _run_small(2000, clip, *option, wanted)
    assert done.returncode == 1
    assert done.stdout == ""
    assert done.stderr == f"Error: {wanted}: cannot write there (File too large). {PLACE}\n"
    assert sorted(path.name for path in clip.parent.iterdir()) == ["drop.mp4", "drop.toml"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_standard_output_on_a_full_disk() -> None:
    command = [sys.executable, "-m", "flybench", "bench", "flags"]
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 1
    assert done.stderr == "Error: standard output: No space left on device. Check the disk and try again.\n"


@pytest.mark.parametrize(
    "wrong",
    [
        ["--report", "page.gif"],
        ["--overlay", "seen.avi"],
        ["--report", "a.png", "--no-report"],
        ["--nonsense"],
        [],
    ],
)
def test_usage_errors(wrong: list[str], clip: Path, capsys: Capture) -> None:
    arguments = [clip, *wrong] if wrong else []
    said = flybench(capsys, "bench", "measure", *arguments)
    assert said.code == 2
    assert "Usage: flybench bench measure" in said.err


@pytest.mark.parametrize("wait", ["overlay", "0.7 s", "1.2 s"])
def test_interrupted_leaves_nothing_behind(wait: str, clip: Path) -> None:
    overlay, page = clip.with_name("o.mp4"), clip.with_name("o.png")
    options = [
        "--overlay",
        str(overlay),
        *(["--no-report"] if wait == "overlay" else ["--report", str(page)]),
    ]
    command = [sys.executable, "-m", "flybench", "bench", "measure", str(clip), *options]
    running = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    deadline = time.monotonic() + 30
    if wait == "overlay":
        while time.monotonic() < deadline and not list(clip.parent.glob(".o.*.part.mp4")):
            time.sleep(0.01)
    else:
        time.sleep(float(wait.split(maxsplit=1)[0]))
    running.send_signal(signal.SIGINT)
    _, err = running.communicate(timeout=30)
    assert running.returncode == 1
    assert "Traceback" not in err
    assert not list(clip.parent.glob(".*part*"))
    assert not overlay.exists()
