"""Recipe files that are wrong or meant to harm: each is refused with file, key, limit and cure, and nothing is kept.

All of it is invented. Pictures are made by Pillow; what they begin with is in ISO/IEC 15948 (PNG) and
ITU-T T.81 (JPEG).
"""

from __future__ import annotations

import io
import os
from pathlib import Path

import pytest
from PIL import Image
from recipe_texts import SMALL

from flybench.catalog.recipe.read import read_recipe
from flybench.catalog.store.open import open_catalog
from flybench.errors import FlybenchError
from flybench.jobs.shelf.recipes import export_recipes, import_recipes

FILE = "catalog/xx.toml"
STYLE = 'style = "ribbed"'
ABOUT = 'about = "Invented for tests"'
PLAIN = "Give the plain name of a .jpg, .jpeg or .png file that lies beside this file."
DEEP = "is nested too deep. Recipes have tables and lists of one level."
AMOUNT = "is not possible. Give 1e-06 to 1e+09."
UNIT = 'Write it with its unit, for example "620 mm".'
NO_PRICE = "is not a price. Write it as 2.40, zero or more."
MATERIAL = "Add the material to this file, or mend the code."
CIRCLE = "Base it on a variant that stands alone."

REFUSED = [
    (STYLE, 'stile = "ribbed"', "pattern.stile: is not known. Did you mean style?"),
    (STYLE, 'style = "ribed"', 'pattern.style: "ribed" is not known. Did you mean ribbed?'),
    (STYLE, "style = 3", 'pattern.style: 3 is not a text. Write it in "quotes".'),
    (STYLE, "", "pattern.style: is missing. Give it; it is a text."),
    ('name = "Mill Test"', 'name = ""', "pattern.name: is empty. Full name: give it a value."),
    (
        'name = "Mill Test"',
        f'name = "{"x" * 201}"',
        "pattern.name: is 201 letters long. Keep it to 200.",
    ),
    (
        'name = "Mill Test"',
        'name = "a\\u0007b"',
        "pattern.name: holds the control character '\\x07'. Take it out.",
    ),
    (
        'code = "mill-test"',
        'code = "mill/test"',
        'pattern.code: "mill/test" holds a blank or one of , : " / \\. Write it in one word, such as AB-12.',
    ),
    (
        'code = "mill-test"',
        f'code = "{"x" * 41}"',
        "pattern.code: is 41 letters long. Keep it to 40.",
    ),
    (
        STYLE,
        f'{STYLE}\nnotes = "{"x" * 20001}"',
        "pattern.notes: is 20001 letters long. Keep it to 20000.",
    ),
    ("amount = 8", "amount = nan", f"step[1].amount: nan {AMOUNT}"),
    ("amount = 8", "amount = -inf", f"step[1].amount: -inf {AMOUNT}"),
    ("amount = 8", "amount = -8", f"step[1].amount: -8 {AMOUNT}"),
    ("amount = 8", "amount = 0", f"step[1].amount: 0 {AMOUNT}"),
    ("amount = 8", "amount = true", "step[1].amount: true is not a number. Write it bare, such as 2.5."),
    (
        "amount = 8",
        f"amount = 0x{'f' * 5000}",
        "step[1].amount: a huge number is not possible. Give a smaller number.",
    ),
    ("amount = 8", f"amount = {'9' * 5000}", "holds an impossible number or date. Take it out."),
    ('unit = "turn"\n', "", "step[1].unit: is missing. Give amount and unit together, or neither."),
    ('unit = "turn"', 'unit = "turns"', 'step[1].unit: "turns" is not known. Did you mean turn?'),
    ('part = "rib"', 'part = "wig"', 'step[1].part: "wig" is not known. Did you mean wing?'),
    (
        'material = "wi-1"',
        'material = "wi-2"',
        f'step[1].material: no [[material]] has the code "wi-2". {MATERIAL}',
    ),
    (
        'bead = "bd-30"',
        'bead = "bd-31"',
        f'variant[1].bead: no [[material]] has the code "bd-31". {MATERIAL}',
    ),
    ('bead = "bd-30"', 'bead = "hk-12"', 'variant[1].bead: "hk-12" is a hook. Name a bead.'),
    ('price = "2.40"', 'price = "-2"', f'variant[1].price: "-2" {NO_PRICE}'),
    ('price = "2.40"', 'price = "NaN"', f'variant[1].price: "NaN" {NO_PRICE}'),
    ('price = "2.40"', "price = 2.4", 'variant[1].price: 2.4 is not a text. Write it in "quotes".'),
    (
        'code = "mill-test-14"',
        'code = "Mill-Test-12"',
        'variant[2].code: "Mill-Test-12" stands there already, in variant[1]. '
        "Choose another code; upper and lower case count as the same.",
    ),
    (
        'code = "hk-14"\nkind',
        'code = "hk-12"\nkind',
        'material[3].code: "hk-12" stands there already, in material[2]. '
        "Choose another code; upper and lower case count as the same.",
    ),
    (
        'price = "2.40"',
        'based_on = "mill-test-14"',
        f"variant[1].based_on: leads in a circle: mill-test-12 -> mill-test-14 -> mill-test-12. {CIRCLE}",
    ),
    (
        'based_on = "mill-test-12"',
        'based_on = "elsewhere"',
        'variant[2].based_on: no [[variant]] here has the code "elsewhere". '
        "Name a variant of this file, or leave it out.",
    ),
    ("step = 1", "step = 3", "variant[2].change: there is no step 3. Steps are 1 to 2."),
    (
        "step = 1",
        "step = 1.0",
        "variant[2].change[1].step: 1.0 is not a whole number. Write it bare, such as 14.",
    ),
    (
        "step = 1",
        "step = 2",
        "variant[2].change: step 2 has no unit for an amount. Give step[2] an amount and a unit.",
    ),
    (
        "amount = 6.5\n",
        "amount = 6.5\n[[variant.change]]\nstep = 1\namount = 1\n",
        "variant[2].change: step 1 is changed twice. Join the two.",
    ),
    (
        "step = 1\namount = 6.5",
        "step = 1",
        "variant[2].change[1].step: is not changed. Give another material or amount, or leave the change out.",
    ),
    ('"3 mm"', '"3"', f'material[1].diameter: "3" has no unit. {UNIT}'),
    ('"3 mm"', '"3 kg"', f'material[1].diameter: "3 kg" is not a length. {UNIT}'),
    ('"3 mm"', '"nan mm"', f'material[1].diameter: "nan mm" is not a length. {UNIT}'),
    ('"3 mm"', '"1e999 mm"', f'material[1].diameter: "1e999 mm" is not a finite number. {UNIT}'),
    (
        '"3 mm"',
        '"-3 mm"',
        "material[1].diameter: -3 mm is not possible. Diameter of a bead: give 0.001 to 12 mm.",
    ),
    (
        '"3 mm"',
        '"3 m"',
        "material[1].diameter: 3 m is not possible. Diameter of a bead: give 0.001 to 12 mm.",
    ),
    (
        '"3 mm"',
        '"3 mm +- 1 mm"',
        'material[1].diameter: has an uncertainty. Leave out what follows "+-".',
    ),
    (
        'diameter = "3 mm"\n',
        "",
        "material[1].diameter: is missing. A bead needs diameter, metal and bore.",
    ),
    (
        "hook = 12\n",
        "",
        "material[2].hook: is missing. A hook needs its trade size, such as hook = 14.",
    ),
    (
        'gape = "4.9 mm"',
        'diameter = "4.9 mm"',
        "material[2].diameter: belongs to a bead, not to a hook. Take it out.",
    ),
    (
        'gape = "4.9 mm"',
        'mass = "30 mg +- 1 mg"',
        'material[2].mass: of a hook is kept without uncertainty. Leave out what follows "+-".',
    ),
    ("pack = 25\n", "", "material[1].pack: is missing. Give pack and price together, or neither."),
    (
        "\nmaterial = " + '"wi-1"',
        "",
        'material[4].code: nothing uses "wi-1". Take it out, or name it in a step or a variant.',
    ),
    (
        "[pattern]",
        "[patern]",
        "patern: is not known. Did you mean pattern?",
    ),
    (
        "[[step]]",
        "[[extra]]",
        "extra: is not known. Use about, pattern, step, variant, material.",
    ),
    (
        ABOUT,
        'about = "a\\nb"',
        "about: runs over several lines. Keep it to one; use pattern.notes for more.",
    ),
    (ABOUT, f"about = {'[' * 100_000}", DEEP),
    (ABOUT, f"about.{'a.' * 400_000}a = 1", DEEP),
    (ABOUT, "about" + ' . "x"' * 100_000 + " = 1", DEEP),
    (ABOUT, f'about = "{"x" * 1_000_000}"', "is larger than 1 MB. Recipes are short texts."),
    (
        STYLE,
        f'{STYLE}\nphotos = ["../a.jpg"]',
        'pattern.photos[1]: "../a.jpg" holds a folder, a drive or a sign that file names cannot have. '
        + PLAIN,
    ),
    (
        STYLE,
        f'{STYLE}\nphotos = ["C:a.jpg"]',
        'pattern.photos[1]: "C:a.jpg" holds a folder, a drive or a sign that file names cannot have. '
        + PLAIN,
    ),
    (
        STYLE,
        f'{STYLE}\nphotos = ["a\\\\b.jpg"]',
        'pattern.photos[1]: "a\\b.jpg" holds a folder, a drive or a sign that file names cannot have. '
        + PLAIN,
    ),
    (
        STYLE,
        f'{STYLE}\nphotos = ["a\\u0000.jpg"]',
        f'pattern.photos[1]: "a?.jpg" holds a control character. {PLAIN}',
    ),
    (STYLE, f'{STYLE}\nphotos = [".."]', f'pattern.photos[1]: ".." is not an ordinary file name. {PLAIN}'),
    (
        STYLE,
        f'{STYLE}\nphotos = ["con.jpg"]',
        f'pattern.photos[1]: "con.jpg" is not an ordinary file name. {PLAIN}',
    ),
    (
        STYLE,
        f'{STYLE}\nphotos = ["a.gif"]',
        f'pattern.photos[1]: "a.gif" does not end in .jpg, .jpeg or .png. {PLAIN}',
    ),
    (
        STYLE,
        f'{STYLE}\nphotos = ["a.jpg", "A.jpg"]',
        f'pattern.photos[2]: "A.jpg" stands there twice. {PLAIN}',
    ),
]


@pytest.mark.parametrize(("old", "new", "message"), REFUSED, ids=[f"{i}" for i in range(len(REFUSED))])
def test_refused_with_file_key_and_cure(old: str, new: str, message: str) -> None:
    assert old in SMALL
    with pytest.raises(FlybenchError) as told:
        read_recipe(SMALL.replace(old, new, 1).encode(), FILE)
    assert str(told.value) == f"{FILE}: {message}"


def test_what_is_no_text_is_refused() -> None:
    with pytest.raises(FlybenchError) as told:
        read_recipe(b"about = 1\n\xff\xfe", FILE)
    assert str(told.value) == f"{FILE}: byte 11 is not UTF-8. Save the file as text in UTF-8."
    with pytest.raises(FlybenchError, match=r"xx\.toml: is not TOML \(.*line 1.*\)\. Mend that place\."):
        read_recipe(b"about = open", FILE)
    with pytest.raises(FlybenchError) as told:
        read_recipe(b"", FILE)
    assert (
        str(told.value)
        == f"{FILE}: pattern: is missing. Begin the recipe with [pattern], with code, name and style."
    )


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
    with pytest.raises(FlybenchError, match=r"differs from the catalog in photo\[1\]\.sha256\."):
        import_recipes(catalog, [path])
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
        f'{key} "a.jpg" does not begin as such a picture does. Save it as JPEG or PNG, with the ending that fits.'
    )
    photo.write_bytes(b"\xff\xd8\xff" + bytes(5_000_000))
    assert refused(tmp_path, path) == f'{key} "a.jpg" is larger than 5 MB. Make it smaller.'
    photo.unlink()
    photo.mkdir()
    assert refused(tmp_path, path).startswith(f'{key} "a.jpg" ')


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
    assert refused(tmp_path, path).startswith(f'{key} "a.jpg" is not beside the file.')
    photo.unlink()
    os.mkfifo(photo)
    assert refused(tmp_path, path) == f'{key} "a.jpg" is no ordinary file. Name a file.'
    pipe = tmp_path / "pipe.toml"
    os.mkfifo(pipe)
    assert refused(tmp_path, pipe) == f"{pipe}: is no ordinary file. Name a file."


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
        "photo a.png: patterns mill-a and mill-b have different ones of that name. "
        "Export the two into folders of their own."
    )
    assert not (tmp_path / "out").exists()
