"""Photos of flies: made anew without what a phone writes into them, kept once, and nothing hostile gets in.

Pictures are made by Pillow; PNG chunks as in ISO/IEC 15948, EXIF tags as in its standard (CIPA DC-008). All is invented.
"""

from __future__ import annotations

import io
import json
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from console import flybench
from PIL import Image, PngImagePlugin
from shop import shop
from sqlalchemy import func, select

from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.photos import Picture
from flybench.errors import FlybenchError
from flybench.jobs.photos.clean_picture import LONGEST_SIDE, clean_picture
from flybench.jobs.photos.photos import add_photo, photos_of, remove_photo

PLACE = b"52.0001 N secret-place"
GPS, ORIENTATION = 0x8825, 0x0112
Capture = pytest.CaptureFixture[str]


@pytest.fixture
def catalog(tmp_path: Path) -> Catalog:
    return shop(tmp_path / "c.sqlite")


def phone_photo(path: Path, size: tuple[int, int] = (60, 40), turned: int = 1) -> Path:
    """Write a photo as a phone does: with place, maker's notes and XMP; left half red, right half blue."""
    picture = Image.new("RGB", size, "blue")
    picture.paste("red", (0, 0, size[0] // 2, size[1]))
    exif = Image.Exif()
    exif[ORIENTATION] = turned
    exif[0x010F] = PLACE.decode()
    exif.get_ifd(GPS).update({1: "N", 2: (52.0, 0.0, 0.36)})
    picture.save(path, quality=95, exif=exif, xmp=PLACE, comment=PLACE)
    return path


def test_nothing_but_pixels_is_kept_of_a_phone_photo(catalog: Catalog, tmp_path: Path) -> None:
    file = phone_photo(tmp_path / "side.jpg", turned=6)
    assert PLACE in file.read_bytes()
    kept = add_photo(catalog, "fly", "M1", file, "from the side")
    with catalog.reading() as session:
        content = session.get_one(Picture, kept.sha256).content
    assert PLACE not in content
    found = Image.open(io.BytesIO(content))
    assert (found.format, dict(found.getexif()), "xmp" in found.info, "comment" in found.info) == (
        "JPEG",
        {},
        False,
        False,
    )
    assert found.size == (kept.width, kept.height) == (40, 60)  # tag 6: to be turned right by a quarter
    seen = np.asarray(found)
    assert (seen[5, 20, [0, 2]] > 128).tolist() == [True, False]
    assert (seen[55, 20, [0, 2]] > 128).tolist() == [False, True]


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_notes_of_other_kinds_are_gone_too_and_clear_is_white(kind: str, tmp_path: Path) -> None:
    path = tmp_path / f"side.{kind.lower()}"
    notes = PngImagePlugin.PngInfo()
    notes.add_text("Comment", PLACE.decode())
    notes.add_itxt("XML:com.adobe.xmp", PLACE.decode())
    extra = {"pnginfo": notes} if kind == "PNG" else {"xmp": PLACE, "lossless": True}
    Image.new("RGBA", (30, 20), (255, 0, 0, 0)).save(path, kind, **extra)
    assert PLACE in path.read_bytes()
    kept = clean_picture(path)
    assert PLACE not in kept.content
    assert np.asarray(Image.open(io.BytesIO(kept.content))).min() > 250


def test_a_large_photo_is_made_smaller(tmp_path: Path) -> None:
    kept = clean_picture(phone_photo(tmp_path / "a.jpg", (2400, 1200)))
    assert (kept.width, kept.height) == (LONGEST_SIDE, LONGEST_SIDE // 2)


def test_one_picture_of_two_flies_is_kept_once_and_comes_off_one_by_one(
    catalog: Catalog, tmp_path: Path
) -> None:
    file = phone_photo(tmp_path / "side.jpg")
    first, second = (
        add_photo(catalog, noun, code, file) for noun, code in (("fly", "M1"), ("pattern", "MILL"))
    )
    assert first.sha256 == second.sha256
    with catalog.reading() as session:
        assert session.scalar(select(func.count()).select_from(Picture)) == 1
    assert [one.name for one in photos_of(catalog, "fly", "M1")] == ["side.jpg"]
    remove_photo(catalog, "fly", "M1", "side.jpg")
    assert photos_of(catalog, "fly", "M1") == []
    assert [one.name for one in photos_of(catalog, "pattern", "MILL")] == ["side.jpg"]


def png_that_says(width: int, height: int) -> bytes:
    """Return a small PNG file whose header promises so many pixels."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("a.jpg", b"no picture at all", "is no JPEG, PNG or WebP picture. Save the photo as one of these."),
        ("a.svg", b"<svg/>", "is no JPEG, PNG or WebP picture. Save the photo as one of these."),
        (
            "a.jpg",
            png_that_says(3, 3),
            "is a PNG picture, and its name ends in .jpg. Name it with .png, or save it anew.",
        ),
        ("a", png_that_says(3, 3), "is a PNG picture, and its name has no ending. Name it with .png."),
        (
            "a.png",
            png_that_says(50_000, 50_000),
            "the picture has 2500 megapixels, more than the limit of 60. Save it smaller.",
        ),
        (
            "a.png",
            png_that_says(9_000, 9_000),
            "the picture has 81 megapixels, more than the limit of 60. Save it smaller.",
        ),
        ("a.png", b"", "is no JPEG, PNG or WebP picture. Save the photo as one of these."),
        ("a.jpg", bytes(30_000_001), "is larger than 30 MB. Save the photo smaller."),
    ],
    ids=["text", "svg", "png named jpg", "no ending", "bomb", "large", "empty", "heavy"],
)
def test_hostile_pictures_are_refused(
    name: str, content: bytes, message: str, catalog: Catalog, tmp_path: Path, capsys: Capture
) -> None:
    file = tmp_path / name
    file.write_bytes(content)
    said = flybench(capsys, "fly", "photo", "M1", file, "--catalog", tmp_path / "c.sqlite")
    assert (said.code, said.out, said.err) == (1, "", f"Error: {file}: {message}\n")
    assert photos_of(catalog, "fly", "M1") == []


def test_a_photo_cut_off_anywhere_is_refused_and_never_a_traceback(tmp_path: Path) -> None:
    whole = phone_photo(tmp_path / "whole.jpg", (200, 100)).read_bytes()
    cut = tmp_path / "cut.jpg"
    for end in range(3, len(whole) - 40, len(whole) // 40):
        cut.write_bytes(whole[:end])
        with pytest.raises(FlybenchError) as told:
            clean_picture(cut)
        assert str(told.value).startswith(
            (f"{cut}: the picture is damaged or cut off (", f"{cut}: is no JPEG, PNG or WebP picture.")
        )


def test_the_commands_add_list_and_remove(catalog: Catalog, tmp_path: Path, capsys: Capture) -> None:
    file, where = phone_photo(tmp_path / "side.jpg"), ("--catalog", tmp_path / "c.sqlite")
    said = flybench(capsys, "fly", "photo", "M1", file, "--caption", "wet", *where)
    assert (said.code, said.out, said.err) == (
        0,
        "",
        "Kept side.jpg with fly M1: 60 x 40 px, made anew, so that no place and no other note of the phone is in it.\n",
    )
    twice = flybench(capsys, "fly", "photo", "M1", file, *where)
    assert (twice.code, twice.err) == (
        1,
        "Error: FILE: fly M1 has a photo side.jpg already. Take it off with --remove side.jpg, or give the file another "
        "name.\n",
    )
    listed = flybench(capsys, "fly", "photo", "M1", *where)
    assert listed.out.split() == ["photo", "pixels", "kB", "caption", "side.jpg", "60", "x", "40", "1", "wet"]
    (told,) = json.loads(flybench(capsys, "fly", "photo", "M1", "--json", *where).out)
    assert (told["name"], told["width"], told["height"], told["caption"]) == ("side.jpg", 60, 40, "wet")
    assert "side.jpg" in flybench(capsys, "fly", "show", "M1", *where).out
    wrong = flybench(capsys, "fly", "photo", "M1", "--remove", "top.jpg", *where)
    assert wrong.err == 'Error: --remove: fly M1 has no photo "top.jpg". Name one of side.jpg.\n'
    gone = flybench(capsys, "fly", "photo", "M1", "--remove", "side.jpg", *where)
    assert (gone.code, gone.err) == (0, "Took side.jpg off fly M1.\n")
    none = flybench(capsys, "fly", "photo", "M1", *where)
    assert none.out == "There are no photos of fly M1. Add one with: flybench fly photo M1 FILE\n"
    assert photos_of(catalog, "fly", "M1") == []
    assert flybench(capsys, "undo", "--yes", *where).code == 0
    assert [one.caption for one in photos_of(catalog, "fly", "M1")] == ["wet"]
