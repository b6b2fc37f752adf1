"""`flybench bench look` as a tier meets it: a photo, a clip, and files that cannot be looked at."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import av
import pytest
from console import flybench
from PIL import Image

from flybench.jobs.demo import shipped_clips

Capture = pytest.CaptureFixture[str]
SEEN = """\
READY: nothing needs to be changed before you film.
  picture     540 x 960 px, upright
  card        100 % of its corners read, the right way up
"""


@pytest.fixture
def clip(tmp_path: Path) -> Path:
    """Return a demo clip without its sheet."""
    shutil.copyfile(shipped_clips() / "reed-slip.mp4", tmp_path / "tank.mp4")
    return tmp_path / "tank.mp4"


@pytest.fixture
def photo(clip: Path) -> Image.Image:
    with av.open(str(clip)) as container:
        picture = next(container.decode(video=0)).to_image().convert("L")
    return picture if picture.height > picture.width else picture.rotate(-90, expand=True)


@pytest.mark.slow
def test_a_clip_is_looked_at(clip: Path, capsys: Capture) -> None:
    said = flybench(capsys, "bench", "look", clip)
    assert (said.code, said.err) == (0, "")
    assert said.out.startswith(SEEN)
    told = " ".join(said.out.split())
    assert "frame rate 120 a second, taken as real time; for slow motion give --capture-rate" in told
    assert max(map(len, said.out.splitlines())) <= 80
    machine = json.loads(flybench(capsys, "bench", "look", clip, "--json").out)
    assert (machine["ready"], machine["changes"], machine["stretch"]) == (True, [], 1.0)
    assert machine["capture_rate_hz"] == pytest.approx(120, rel=1e-3)


def test_a_photo_is_turned_as_its_file_asks(photo: Image.Image, tmp_path: Path, capsys: Capture) -> None:
    """Orientation 6 of EXIF 2.32 (JEITA CP-3451): the first row is the right-hand side; to be turned clockwise."""
    told = Image.Exif()
    told[0x0112] = 6
    photo.rotate(90, expand=True).save(tmp_path / "tank.jpg", exif=told, quality=95)
    said = flybench(capsys, "bench", "look", tmp_path / "tank.jpg")
    assert said.out.startswith(SEEN)
    assert "  frame rate  unknown: this is a photo\n" in said.out


def test_a_photo_on_its_head_is_told(photo: Image.Image, tmp_path: Path, capsys: Capture) -> None:
    photo.rotate(180).save(tmp_path / "tank.png")
    said = flybench(capsys, "bench", "look", tmp_path / "tank.png")
    assert said.code == 0
    assert said.out.startswith("NOT READY: 1 thing to change before you film; the first matters most.\n")
    assert said.out.endswith(
        "To change:\n"
        "  1. The card's arrow points down in the picture. Turn the card if it stands on\n"
        "     its head; else the phone was held upside down, and every fall would be\n"
        "     taken for a rise.\n"
    )


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        (
            "a.png",
            b"no photo",
            "{}: cannot be read as a photo. Take it again as JPEG, or film two seconds in its place.",
        ),
        ("a.jpg", None, "{}: no such file. Check the name and the folder."),
    ],
)
def test_what_cannot_be_looked_at(
    name: str, content: bytes | None, message: str, tmp_path: Path, capsys: Capture
) -> None:
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    said = flybench(capsys, "bench", "look", path)
    assert (said.code, said.out, said.err) == (1, "", f"Error: {message.format(path)}\n")


def test_a_huge_photo_is_refused(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "huge.png"
    Image.new("1", (8000, 8000)).save(path)
    said = flybench(capsys, "bench", "look", path)
    assert (said.code, said.err) == (
        1,
        f"Error: {path}: the picture is 8000 x 8000 px; the limit is 36 megapixels (8K). Film at 1080p: it is ample.\n",
    )
