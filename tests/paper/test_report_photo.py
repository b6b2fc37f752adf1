"""The catalog's photo on the report page: whole, in its room, and named where it is of another fly.

Pictures are made by Pillow. Sides are worked out by hand from their shape and the room.
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from console import flybench
from measured_clips import measured
from PIL import Image
from shop import shop

from flybench.catalog.shelf.pictures import picture_for
from flybench.jobs.bench import measure as measuring
from flybench.jobs.demo import shipped_clips
from flybench.jobs.photos.photos import add_photo
from flybench.paper.report.blank import HEIGHT, WIDTH, Page
from flybench.paper.report.page import report_page, save_png
from flybench.paper.report.photo import PagePhoto, draw_photo

Capture = pytest.CaptureFixture[str]


def jpeg(size: tuple[int, int], colour: str = "red") -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, "JPEG")
    return out.getvalue()


@pytest.mark.parametrize(
    ("of", "size", "left", "low", "words"),
    [
        ("fly", (160, 120), 322.667, 92.0, []),  # 58 high, so 77.333 wide
        ("fly", (200, 50), 312.0, 56.0, []),  # 88 wide, so 22 high
        ("pattern", (160, 120), 337.333, 81.0, ["its pattern"]),  # 47 high under 11 of words, so 62.667 wide
        ("variant", (160, 120), 337.333, 81.0, ["its variant"]),
    ],
)
def test_a_photo_is_shown_whole_in_its_room(
    of: str, size: tuple[int, int], left: float, low: float, words: list[str]
) -> None:
    page = Page()
    assert draw_photo(page, PagePhoto(of, jpeg(size)), 400.0, 34.0, 92.0, 88.0) == pytest.approx(
        left, abs=1e-3
    )
    (axes,) = page.figure.axes
    (x, bottom), (right, top) = axes.get_position().get_points() * (WIDTH, HEIGHT)
    assert (x, HEIGHT - top, right, HEIGHT - bottom) == pytest.approx((left, 34.0, 400.0, low), abs=1e-3)
    assert [text.get_text() for text in page.figure.texts] == words


def test_words_wider_than_a_narrow_photo_are_kept_clear() -> None:
    left = draw_photo(Page(), PagePhoto("pattern", jpeg((20, 200))), 400.0, 34.0, 92.0, 88.0)
    assert 340.0 < left < 370.0  # the photo begins at 395.3


def test_a_damaged_photo_says_so_in_its_place() -> None:
    page = Page()
    assert draw_photo(page, PagePhoto("fly", b"\xff\xd8\xff"), 400.0, 34.0, 92.0, 88.0) == 300.0
    assert page.figure.axes == []
    assert [text.get_text() for text in page.figure.texts] == [
        "The photo is damaged: run",
        "flybench catalog check",
    ]


def test_the_nearest_thing_with_a_photo_gives_it(tmp_path: Path) -> None:
    catalog = shop(tmp_path / "c.sqlite")
    codes = {"fly": "M1", "pattern": "MILL"}

    def shown() -> str | None:
        with catalog.reading() as session:
            found = picture_for(session, codes)
        return None if found is None else found.of

    assert shown() is None
    for noun in ("pattern", "fly"):
        path = tmp_path / f"{noun}.png"
        Image.new("RGB", (64, 48), "red").save(path)
        add_photo(catalog, noun, codes[noun], path)
        assert shown() == noun


@pytest.mark.slow
def test_the_page_of_a_kept_run_shows_the_photo_and_changes_nothing_below(
    tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    run, _ = measured("reed-slip")
    monkeypatch.setattr(measuring, "measure", lambda *given: run)
    catalog = shop(tmp_path / "c.sqlite")
    Image.new("RGB", (160, 120), (0, 160, 0)).save(tmp_path / "side.png")
    add_photo(catalog, "fly", "M1", tmp_path / "side.png")
    clip, files = shipped_clips() / "reed-slip.mp4", [tmp_path / "with.png", tmp_path / "plain.png"]
    said = flybench(
        capsys, "bench", "measure", clip, "--fly", "M1", "--catalog", catalog.name, "--report", files[0]
    )
    assert said.code == 0, said.err
    save_png(report_page(run), run, files[1])
    shown, plain = (np.asarray(Image.open(file).convert("RGB")).astype(int) for file in files)
    rows, columns = np.nonzero(np.abs(shown - (0, 160, 0)).max(axis=2) < 12)
    # The fly falling is 128 points wide at the right edge, 553.276; the photo, 58 high and 77.333 wide, ends 16 left of it.
    # Its frame covers up to a point of each side.
    ends = np.array([rows.min(), rows.max() + 1, columns.min(), columns.max() + 1]) * 72 / 150
    assert ends == pytest.approx([34.0, 92.0, 331.943, 409.276], abs=1.0)
    assert (shown == plain)[200:].all()  # from the line of the speed on
