"""Photos beside recipe files: they go in and come out whole, and what is no photo is refused and nothing kept.

All of it is invented. Pictures are made by Pillow; what they begin with is in ISO/IEC 15948 (PNG) and ITU-T T.81 (JPEG).
"""

from __future__ import annotations

import io
import os
from pathlib import Path

import pytest
from PIL import Image
from recipe_texts import SMALL

from flybench.catalog.store.open import open_catalog
from flybench.errors import FlybenchError
from flybench.jobs.shelf.recipes import export_recipes, import_recipes

STYLE = 'style = "ribbed"'


def picture(kind: str, colour: int = 0) -> bytes:
    out = io.BytesIO()
    Image.new("L", (8, 8), colour).save(out, kind)
    return out.getvalue()


def with_photos(folder: Path, names: str, code: str = "mill-test") -> Path:
    folder.mkdir(exist_ok=True)
    path = folder / f"{code}.toml"
    text = SMALL.replace("mill-test", code).replace(STYLE, f"{STYLE}\nphotos = [{names}]", 1)
    path.write_text(text, encoding="utf-8")
    return path


def refused(tmp_path: Path, path: Path) -> str:
    with pytest.raises(FlybenchError) as told:
        import_recipes(str(tmp_path / "c.db"), [path])
    assert not (tmp_path / "c.db").exists()
    return str(told.value)


def test_photos_go_in_and_come_out(tmp_path: Path) -> None:
    path = with_photos(tmp_path / "in", '"side.jpg", "Top.PNG"')
    (tmp_path / "in" / "side.jpg").write_bytes(picture("JPEG"))
    (tmp_path / "in" / "Top.PNG").write_bytes(picture("PNG"))
    catalog = open_catalog(str(tmp_path / "c.db"))
    import_recipes(catalog, [tmp_path / "in"])
    (written,) = export_recipes(catalog, ["MILL-TEST"], tmp_path / "out")
    for name in ("mill-test.toml", "side.jpg", "Top.PNG"):
        assert (tmp_path / "out" / name).read_bytes() == (tmp_path / "in" / name).read_bytes()
    assert sorted(one.name for one in (tmp_path / "out").iterdir()) == [
        "Top.PNG",
        "mill-test.toml",
        "side.jpg",
    ]
    assert import_recipes(catalog, [written]).patterns.unchanged == 1
    (tmp_path / "in" / "side.jpg").write_bytes(picture("JPEG", 99))
    with pytest.raises(FlybenchError) as told:
        import_recipes(catalog, [path])
    assert str(told.value) == (
        f"{path}: pattern mill-test: differs from the catalog in photos[1]. "
        "Nothing was changed. Add --replace to take what the file says, or correct the file."
    )
    assert import_recipes(catalog, [path], replace=True).patterns.changed == 1
    export_recipes(catalog, None, tmp_path / "new")
    assert (tmp_path / "new" / "side.jpg").read_bytes() == picture("JPEG", 99)
    assert (tmp_path / "new" / "Top.PNG").read_bytes() == picture("PNG")


def test_photos_that_are_none(tmp_path: Path) -> None:
    path = with_photos(tmp_path / "in", '"a.jpg"')
    key = f"{path}: pattern.photos[1]:"
    photo = tmp_path / "in" / "a.jpg"
    assert refused(tmp_path, path) == (
        f'{key} "a.jpg" is not beside the file. Put it there, or take it out of the list.'
    )
    photo.write_bytes(picture("PNG"))
    assert refused(tmp_path, path) == (
        f'{key} "a.jpg" is not such a picture. Save it as JPEG or PNG, with the ending that fits.'
    )
    photo.write_bytes(b"\xff\xd8\xff" + bytes(5_000_000))
    assert refused(tmp_path, path) == f'{key} "a.jpg" is larger than 5 MB. Make it smaller.'
    photo.unlink()
    photo.mkdir()
    assert refused(tmp_path, path) == f'{key} "a.jpg" is not an ordinary file. Name a file.'


@pytest.mark.skipif(os.name == "nt", reason="links and pipes as on POSIX")
def test_links_out_of_the_folder_and_pipes_are_refused(tmp_path: Path) -> None:
    path = with_photos(tmp_path / "in", '"a.jpg"')
    key = f"{path}: pattern.photos[1]:"
    (tmp_path / "secret.jpg").write_bytes(picture("JPEG"))
    photo = tmp_path / "in" / "a.jpg"
    photo.symlink_to(tmp_path / "secret.jpg")
    assert refused(tmp_path, path) == (
        f'{key} "a.jpg" is a link out of the folder. Put the picture itself there.'
    )
    photo.unlink()
    photo.symlink_to(photo)
    assert refused(tmp_path, path) == (
        f'{key} "a.jpg" is not beside the file. Put it there, or take it out of the list.'
    )
    photo.unlink()
    os.mkfifo(photo)
    assert refused(tmp_path, path) == f'{key} "a.jpg" is not an ordinary file. Name a file.'
    pipe = tmp_path / "pipe.toml"
    os.mkfifo(pipe)
    assert refused(tmp_path, pipe) == f"{pipe}: is not an ordinary file. Name a file."


def test_paths_that_lead_to_nothing(tmp_path: Path) -> None:
    gone, empty = tmp_path / "gone.toml", tmp_path / "empty"
    empty.mkdir()
    assert refused(tmp_path, gone) == f"{gone}: there is no such file. Check the name."
    assert refused(tmp_path, empty) == (
        f"{empty}: holds no .toml files. Name a folder with recipes, or the files themselves."
    )


def test_pictures_of_one_name_that_are_not_alike_are_not_mixed_up(tmp_path: Path) -> None:
    catalog = open_catalog(str(tmp_path / "c.db"))
    for colour, code in ((1, "mill-a"), (2, "mill-b")):
        with_photos(tmp_path / code, '"a.png"', code)
        (tmp_path / code / "a.png").write_bytes(picture("PNG", colour))
        import_recipes(catalog, [tmp_path / code])
    with pytest.raises(FlybenchError) as told:
        export_recipes(catalog, None, tmp_path / "out")
    assert str(told.value) == (
        "photo a.png: patterns mill-a and mill-b each have another photo of that name. "
        "Export the two to different folders."
    )
    assert not (tmp_path / "out").exists()
