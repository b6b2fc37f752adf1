"""Recipe files come back byte for byte, go in whole or not at all, and hostile ones are told what is wrong.

All flies, materials and prices here and in catalog/ are invented.
"""

from __future__ import annotations

import json
import math
import subprocess
import sys
import tomllib
from dataclasses import replace
from functools import cache
from pathlib import Path

import jsonschema
import pytest
from console import flybench
from hypothesis import given, settings
from recipe_texts import SMALL, recipes

from flybench.catalog.recipe.read import read_recipe
from flybench.catalog.recipe.records import Recipe
from flybench.catalog.recipe.schema import schema, schema_text
from flybench.catalog.recipe.write import write_recipe
from flybench.catalog.search.materials import MATERIAL
from flybench.catalog.store.open import open_catalog
from flybench.errors import BadValueError
from flybench.jobs.shelf.recipes import export_recipes, import_recipes
from flybench.quantity import parse

ROOT = Path(__file__).resolve().parents[2]
DEMO = sorted((ROOT / "catalog").glob("*.toml"))


@cache
def validator() -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(schema())


def test_there_are_demo_files_of_every_style_and_each_says_it_is_invented() -> None:
    read = [read_recipe(path.read_bytes(), path.name) for path in DEMO]
    assert len(read) >= 16
    assert {recipe.pattern.style.value for recipe in read} == {
        "slick",
        "ribbed",
        "dubbed",
        "hackled",
        "soft",
        "bulky",
    }
    assert all(path.read_text(encoding="utf-8").startswith('about = "Invented') for path in DEMO)
    assert all(2 <= len(recipe.variants) <= 4 for recipe in read)
    assert [path.stem for path in DEMO] == [recipe.code for recipe in read]


@pytest.mark.parametrize("path", DEMO, ids=lambda path: path.stem)
def test_demo_file_is_the_same_byte_for_byte(path: Path) -> None:
    assert write_recipe(read_recipe(path.read_bytes(), path.name)) == path.read_bytes()


@pytest.mark.slow
def test_demo_files_go_through_a_catalog_byte_for_byte(tmp_path: Path) -> None:
    address = str(tmp_path / "c.db")
    stored = import_recipes(address, [ROOT / "catalog"])
    assert stored.patterns.added == len(DEMO)
    written = export_recipes(address, None, tmp_path / "out")
    assert {path.name: path.read_bytes() for path in written} == {
        path.name: path.read_bytes() for path in DEMO
    }
    again = import_recipes(address, [tmp_path / "out", ROOT / "catalog" / DEMO[0].name][:1])
    assert (again.patterns.unchanged, again.patterns.added, again.patterns.changed) == (len(DEMO), 0, 0)
    assert (again.materials.added, again.materials.changed) == (0, 0)


@pytest.mark.slow
@settings(max_examples=40, deadline=None)
@given(recipes())
def test_any_recipe_reads_back_as_it_was_and_keeps_to_the_schema(recipe: Recipe) -> None:
    text = write_recipe(recipe)
    again = read_recipe(text, "x.toml")
    assert again == recipe
    assert write_recipe(again) == text
    plain = tomllib.loads(text.decode())  # the standard library's reader, of TOML 1.0
    assert plain["pattern"].get("notes", "") == recipe.pattern.notes
    assert [one.get("text", "") for one in plain["step"]] == [one.text for one in recipe.steps]
    validator().validate(plain)


@pytest.mark.slow
@settings(max_examples=10, deadline=None)
@given(recipe=recipes(plain=True))
def test_any_recipe_goes_through_a_catalog(recipe: Recipe, tmp_path_factory: pytest.TempPathFactory) -> None:
    folder = tmp_path_factory.mktemp("any")
    file = folder / "x.toml"
    file.write_bytes(write_recipe(recipe))
    catalog = open_catalog(str(folder / "c.db"))
    import_recipes(catalog, [file])
    (written,) = export_recipes(catalog, None, folder / "out")
    assert written.read_bytes() == file.read_bytes()
    assert import_recipes(catalog, [written]).patterns.unchanged == 1


def test_text_with_every_awkward_sign_survives() -> None:
    awkward = "quote \" ' \"\"\" ''' back \\ \\n # = [x] tab\tnew\nline é 鱒 🎣 \u2028\ufeff"
    recipe = read_recipe(SMALL.encode(), "x.toml")
    changed = Recipe(pattern=replace(recipe.pattern, notes=awkward))
    text = write_recipe(changed)
    assert tomllib.loads(text.decode())["pattern"]["notes"] == awkward
    assert read_recipe(text, "x.toml").pattern.notes == awkward


def test_windows_line_ends_and_byte_order_mark_are_read() -> None:
    windows = b"\xef\xbb\xbf" + SMALL.replace("\n", "\r\n").encode()
    assert read_recipe(windows, "x") == read_recipe(SMALL.encode(), "x")


def test_mass_of_a_bead_follows_from_its_geometry(tmp_path: Path) -> None:
    """Spherical ring (Weisstein, MathWorld, eq. 12) of brass, 8500 kg/m3 (Metals Handbook, vol. 1)."""
    from flybench.catalog.tables.materials import Bead

    (tmp_path / "a.toml").write_text(SMALL, encoding="utf-8")
    catalog = open_catalog(str(tmp_path / "c.db"))
    import_recipes(catalog, [tmp_path / "a.toml"])
    with catalog.reading() as session:
        bead = session.query(Bead).one()
        ring = math.pi / 6 * (3e-3**2 - 1e-3**2) ** 1.5
        assert bead.mass_kg == pytest.approx(ring * 8500, rel=1e-9)
        assert bead.mass_u_kg is not None and 0 < bead.mass_u_kg < 0.2 * ring * 8500
        assert (bead.weighed_kg, bead.weighed_u_kg) == pytest.approx((102e-6, 1e-6))


def test_schema_on_disk_is_that_of_the_program() -> None:
    assert (ROOT / "docs" / "recipe.schema.json").read_text(encoding="utf-8") == schema_text()
    jsonschema.Draft202012Validator.check_schema(json.loads(schema_text()))


@pytest.mark.parametrize("path", DEMO, ids=lambda path: path.stem)
def test_demo_file_keeps_to_the_schema(path: Path) -> None:
    validator().validate(tomllib.loads(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('style = "ribbed"', 'style = "furry"'),
        ('style = "ribbed"', 'stile = "ribbed"'),
        ('diameter = "3 mm"', "diameter = 3"),
        ('diameter = "3 mm"', 'diameter = "3 kg"'),
        ('diameter = "3 mm"\n', ""),
        ("amount = 8\n", ""),
        ("amount = 8", "amount = -8"),
        ("hook = 12", "hook = 12.5"),
        ('price = "2.40"', "price = 2.4"),
        ("[[step]]", "[step]"),
        ('code = "mill-test"', 'code = "mill test"'),
        ('style = "ribbed"', 'style = "ribbed"\nphotos = ["../a.jpg"]'),
    ],
)
def test_schema_refuses_what_the_reader_refuses(old: str, new: str) -> None:
    text = SMALL.replace(old, new, 1)
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        content = {"step": {}}
    assert not validator().is_valid(content)


@pytest.mark.parametrize(
    ("key", "unit"),
    [("diameter", unit) for unit in ("mm", "µm", "μm", "um", "cm", "in", "inch", "inches", "ft", "feet")]
    + [("diameter", unit) for unit in ("m", "metre", "meters", "millimetre", "foot")]
    + [
        ("mass", unit)
        for unit in ("mg", "g", "gram", "grams", "kg", "gr", "grain", "oz", "ounce", "lb", "pounds")
    ]
    + [("density", unit) for unit in ("kg/m3", "kg/m**3", "g/cm^3", "g / cm³", "kg/l", "g/ml", "lb/ft3")]
    + [
        (key, unit)
        for key in ("diameter", "mass", "density")
        for unit in ("s", "nmm", "stone", "g/m2", "kg/", "mm2")
    ]
    + [("diameter", "mg"), ("mass", "mm"), ("density", "g")],
)
def test_schema_knows_the_units_that_the_reader_knows(key: str, unit: str) -> None:
    """Names of units: NIST SP 811 (2008), appendix B; which of them are read, the program says."""
    form = schema()["$defs"]["RecipeMaterial"]["properties"][key]
    try:
        parse(f"3 {unit}", MATERIAL.fields[key].unit, key)
        known = True
    except BadValueError:
        known = False
    assert jsonschema.Draft202012Validator(form).is_valid(f"3 {unit}") is known


def test_command_line_names_files_and_folders_as_machine_form(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FLYBENCH_CATALOG", "shop.sqlite")
    Path("a.toml").write_text(SMALL, encoding="utf-8")
    unchanged = {"added": 0, "changed": 0, "unchanged": 0}
    done = flybench(capsys, "pattern", "import", "a.toml", "--json")
    assert json.loads(done.out) == {
        "patterns": {**unchanged, "added": 1},
        "materials": {**unchanged, "added": 4},
    }
    assert json.loads(flybench(capsys, "pattern", "export", "--output", "out", "--json").out) == [
        str(Path("out") / "mill-test.toml")
    ]
    Path("out", "mill-test.toml").write_text("mine", encoding="utf-8")
    refused = flybench(capsys, "pattern", "export", "--output", "out")
    assert (refused.code, refused.out) == (1, "")
    assert refused.err == (
        f"Error: {Path('out') / 'mill-test.toml'}: exists already with other content; nothing was written. "
        "Name another folder, or add --overwrite.\n"
    )


@pytest.mark.slow
def test_reading_a_recipe_loads_pydantic_and_nothing_before_does() -> None:
    """In a process of its own: other tests have loaded it here."""
    lines = [
        "import sys",
        "import flybench.cli.shelf.recipes, flybench.jobs.shelf.recipes, flybench.jobs.shelf.make_list",
        "print('pydantic' in sys.modules)",
        "from flybench.catalog.recipe.read import read_recipe",
        f"read_recipe({SMALL.encode()!r}, 'x')",
        "print('pydantic' in sys.modules)",
    ]
    ran = subprocess.run([sys.executable, "-c", "\n".join(lines)], capture_output=True, text=True, check=True)
    assert ran.stdout.split() == ["False", "True"]
