"""A report page is known again as flybench's own page of one clip, and nothing else is taken for it."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from flybench import __version__
from flybench.paper.page_mark import is_report_on, page_mark


def page(path: Path, texts: dict[str, str], form: str = "PNG") -> Path:
    """Write a small picture with these texts in it."""
    info = PngInfo()
    for keyword, text in texts.items():
        info.add_text(keyword, text)
    Image.new("L", (8, 8)).save(path, form, **({"pnginfo": info} if form == "PNG" else {}))
    return path


def test_the_mark_names_program_and_clip() -> None:
    assert page_mark("drop.mp4") == {
        "Software": f"flybench {__version__}",
        "Comment": "sink speed measured in drop.mp4",
    }


@pytest.mark.parametrize("name", ["drop.mp4", "fällt.mp4", "釣り.mov", "dr\udcffp.mp4"])
def test_a_page_is_known_again(name: str, tmp_path: Path) -> None:
    path = page(tmp_path / "page.png", {**page_mark(name), "Software": "flybench 9.9"})
    assert is_report_on(path, name)
    assert not is_report_on(path, "other.mp4")


@pytest.mark.parametrize(
    "texts",
    [
        {},
        {"Software": "flybench 0.1"},
        {"Comment": "sink speed measured in drop.mp4"},
        {"Software": "another program", "Comment": "sink speed measured in drop.mp4"},
        {"Software": "flybenchmark 1", "Comment": "sink speed measured in drop.mp4"},
    ],
)
def test_other_pictures_are_not_taken_for_a_page(texts: dict[str, str], tmp_path: Path) -> None:
    assert not is_report_on(page(tmp_path / "page.png", texts), "drop.mp4")


def test_what_is_no_picture_is_not_taken_for_a_page(tmp_path: Path) -> None:
    whole = page(tmp_path / "page.png", page_mark("drop.mp4")).read_bytes()
    for number, content in enumerate(
        [b"", b"my notes", whole[:20], whole[:40], b"\x89PNG\r\n\x1a\n" + bytes(99)]
    ):
        path = tmp_path / f"{number}.png"
        path.write_bytes(content)
        assert not is_report_on(path, "drop.mp4")
    assert not is_report_on(tmp_path, "drop.mp4")
    assert not is_report_on(tmp_path / "missing.png", "drop.mp4")
    assert not is_report_on(page(tmp_path / "photo.png", {}, "JPEG"), "drop.mp4")
