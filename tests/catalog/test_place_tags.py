"""No place of a phone goes into the catalog or out of it with recipes; pixels, and which way is up, stay.

Pictures and notes are written and read by Pillow. EXIF tags: CIPA DC-008. All places are invented.
"""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image, PngImagePlugin
from recipe_texts import SMALL
from sqlalchemy import select

from flybench.catalog.store.open import open_catalog
from flybench.catalog.store.place_tags import without_place
from flybench.catalog.tables.photos import Picture
from flybench.jobs.moving.open_files import export_catalog
from flybench.jobs.shelf.recipes import export_recipes, import_recipes

GPS, ORIENTATION, MAKER = 0x8825, 0x0112, 0x010F
SECRET = "52.0001 N secret-place"
XMP = b"<x:xmpmeta><exif:GPSLatitude>52,0.0001N</exif:GPSLatitude></x:xmpmeta>"


def notes(*, place: bool, turned: int = 6) -> Image.Exif:
    exif = Image.Exif()
    exif[ORIENTATION] = turned
    exif[MAKER] = SECRET
    if place:
        exif.get_ifd(GPS).update({1: "N", 2: (52.0, 0.0, 0.36)})
    return exif


def picture(kind: str, **extra: object) -> bytes:
    """Return a picture with a red left half; an own profile of colours in it."""
    made = Image.new("RGB", (40, 24), "blue")
    made.paste("red", (0, 0, 20, 24))
    out = io.BytesIO()
    made.save(out, kind, icc_profile=b"invented profile", **extra)
    return out.getvalue()


@pytest.mark.parametrize("progressive", [False, True])
@pytest.mark.parametrize("turned", [1, 6])
def test_a_jpeg_loses_the_place_and_nothing_that_is_seen(turned: int, progressive: bool) -> None:
    told = {"comment": SECRET, "xmp": XMP, "progressive": progressive}
    before = picture("JPEG", exif=notes(place=True, turned=turned), **told)
    after = without_place(before + b"a small preview behind it: " + SECRET.encode())
    assert SECRET.encode() in before
    assert b"secret" not in after
    assert b"GPS" not in after
    first, second = (Image.open(io.BytesIO(one)) for one in (before, after))
    assert first.tobytes() == second.tobytes()
    assert dict(second.getexif()) == ({} if turned == 1 else {ORIENTATION: 6})
    assert second.info["icc_profile"] == b"invented profile"
    assert after.endswith(b"\xff\xd9")
    assert without_place(after) == after


def test_a_png_loses_the_place_too() -> None:
    info = PngImagePlugin.PngInfo()
    info.add_text("Comment", SECRET)
    before = picture("PNG", exif=notes(place=True), pnginfo=info)
    after = without_place(before)
    assert SECRET.encode() in before
    assert b"secret" not in after
    first, second = (Image.open(io.BytesIO(one)) for one in (before, after))
    assert first.tobytes() == second.tobytes()
    assert dict(second.getexif()) == {ORIENTATION: 6}
    assert second.info["icc_profile"] == b"invented profile"


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
@pytest.mark.parametrize("end", [60, 120, 200])
def test_pictures_without_a_place_and_damaged_ones_stay_byte_by_byte(kind: str, end: int) -> None:
    plain = picture(kind, exif=notes(place=False))
    assert without_place(plain) == plain
    cut = picture(kind, exif=notes(place=True))[:end]
    assert without_place(cut) == cut


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_notes_that_cannot_be_read_go(kind: str) -> None:
    broken = picture(kind, exif=b"Exif\x00\x00" + b"MM\x00*\xff\xff\xff\xff" + SECRET.encode())
    assert SECRET.encode() in broken
    assert SECRET.encode() not in without_place(broken)


def test_a_place_in_xmp_alone_goes() -> None:
    assert b"GPS" not in without_place(picture("JPEG", xmp=XMP))
    info = PngImagePlugin.PngInfo()
    info.add_itxt("XML:com.adobe.xmp", XMP.decode(), zip=True)
    assert b"xmp" not in without_place(picture("PNG", pnginfo=info))


def test_no_place_goes_into_the_catalog_or_out_of_an_older_one(tmp_path: Path) -> None:
    path, style = tmp_path / "mill-test.toml", 'style = "ribbed"'
    path.write_text(SMALL.replace(style, f'{style}\nphotos = ["side.jpg"]', 1), encoding="utf-8")
    tagged = picture("JPEG", exif=notes(place=True))
    (tmp_path / "side.jpg").write_bytes(tagged)
    catalog = open_catalog(str(tmp_path / "c.db"))
    import_recipes(catalog, [path])
    with catalog.reading() as session:
        kept = session.scalars(select(Picture)).one()
        assert b"secret" not in kept.content
    assert import_recipes(catalog, [path]).patterns.unchanged == 1  # the same photo, its place and all
    export_recipes(catalog, None, tmp_path / "out")
    assert (tmp_path / "out" / "side.jpg").read_bytes() == without_place(tagged)
    assert export_catalog(catalog, tmp_path / "all").remarks == ()
    with catalog.writing() as session:  # as kept before places were taken out
        session.scalars(select(Picture)).one().content = tagged
    export_recipes(catalog, None, tmp_path / "older")
    assert b"secret" not in (tmp_path / "older" / "side.jpg").read_bytes()
    assert export_catalog(catalog, tmp_path / "all-of-older").remarks == (
        "The folder pictures holds 1 picture with a note that tells, or may tell, the place where it was taken. Leave that "
        "folder out of what you give to others.",
    )
