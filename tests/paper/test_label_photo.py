"""Photos on labels stand where a place is free, move nothing, and are the first thing to go. All flies are invented."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import cv2
import pypdfium2
import pytest
from console import flybench
from label_pages import MM, PLAIN, POINT, cut, letters, page_of, picture
from PIL import Image
from shop import shop

from flybench.jobs.photos.photos import add_photo
from flybench.jobs.printed.labels import labels_for
from flybench.paper.label.content import Label
from flybench.paper.label.label_paper import Area, label_paper_named
from flybench.paper.label.pages import save_labels
from flybench.telling.printed import labels as telling

Capture = pytest.CaptureFixture[str]


def jpeg(size: tuple[int, int], colour: str = "orange") -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, "JPEG")
    return out.getvalue()


def photos_on(path: Path) -> list[Area]:
    """Return the places of pictures on a page [m]."""
    page = page_of(path)
    bounds = [one.get_bounds() for one in page.get_objects() if isinstance(one, pypdfium2.PdfImage)]
    height = page.get_height()
    return [
        Area(left * POINT, (height - top) * POINT, (right - left) * POINT, (top - bottom) * POINT)
        for left, bottom, right, top in bounds
    ]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["a4-3x8-70x37", "a4-2x7-99x38", "letter-3x10-66x25"])
def test_a_photo_stands_free_and_moves_nothing(name: str, tmp_path: Path) -> None:
    paper, with_it, without = label_paper_named(name), tmp_path / "with.pdf", tmp_path / "without.pdf"
    own = replace(PLAIN, photo=jpeg((1600, 900)))
    assert save_labels([own], paper, with_it).left_out == {}
    save_labels([PLAIN], paper, without)
    assert letters(with_it) == letters(without)
    (place,) = photos_on(with_it)
    assert place.width / place.height == pytest.approx(16 / 9, rel=0.01)
    assert place.width >= 7 * MM
    safe = paper.safe(0)
    assert safe.x - 1e-6 <= place.x and place.x + place.width <= safe.x + safe.width + 1e-6
    assert safe.y - 1e-6 <= place.y and place.y + place.height <= safe.y + safe.height + 1e-6
    for sign, area, _ in letters(with_it):
        beside = area.x + area.width <= place.x or place.x + place.width <= area.x
        assert beside or area.y + area.height <= place.y or place.y + place.height <= area.y, sign
    page = cut(picture(with_it), paper.place(0))
    small = cv2.resize(page, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    assert cv2.QRCodeDetector().detectAndDecode(small)[0] == PLAIN.qr


def test_what_has_no_room_is_told_once(tmp_path: Path) -> None:
    paper, path = label_paper_named("a4-9x22-20x12"), tmp_path / "labels.pdf"
    full = Label(
        "N-1",
        "Nymph",
        "",
        "",
        "",
        "",
        None,
        PLAIN.speed,
    )
    labels = [replace(full, photo=jpeg((900, 1600))), replace(full, code="N-2", photo=b"\xff\xd8\xff")]
    printed = save_labels(labels * 3, paper, path)
    assert photos_on(path) == []
    assert telling.remarks(printed) == [
        "The label of N-1 has no room for photo.",
        "The label of N-2 has no room for photo (it is damaged).",
    ]


@pytest.mark.slow
def test_the_photo_is_that_of_the_fly_else_of_its_pattern(tmp_path: Path, capsys: Capture) -> None:
    catalog = shop(tmp_path / "c.sqlite")
    for noun, code, colour in (("fly", "M1", "red"), ("pattern", "MILL", "blue")):
        Image.new("RGB", (64, 48), colour).save(tmp_path / f"{noun}.png")
        add_photo(catalog, noun, code, tmp_path / f"{noun}.png")
    told = {}
    for label in labels_for(catalog, [], flies=True, photo=True):
        if label.photo is not None:
            seen = Image.open(io.BytesIO(label.photo)).convert("RGB").getpixel((32, 24))
            told[label.code] = "red" if seen[0] > seen[2] else "blue"
    assert told["M1"] == "red"
    assert told["M2"] == "blue"
    assert all(label.photo is None for label in labels_for(catalog, [], flies=True))
    file = tmp_path / "labels.pdf"
    words = ("--flies", "--photo", "--catalog", catalog.name, "--output", file)
    assert flybench(capsys, "print", "labels", *words).code == 0
    assert len(photos_on(file)) == len(told)
