"""What is not written in a recipe file stays; what will change is shown old and new, asked about, and backed up first.

All flies, materials and prices are invented.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import pytest
from console import flybench
from imported_files import everything, put
from recipe_texts import SMALL
from sqlalchemy import select

from flybench.catalog.recipe.from_rows import load, material_of
from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import change
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.catalog.tables.materials import Material
from flybench.errors import FlybenchError
from flybench.jobs.shelf.recipes import export_recipes, import_recipes

HEAD = '[pattern]\ncode = "mill-test"\nname = "Mill Test"\nstyle = "ribbed"\n'
BY_CODE = """[pattern]
code = "mill-lean"
name = "Mill Lean"
style = "ribbed"

[[step]]
part = "rib"
material = "WI-1"
amount = 5
unit = "turn"

[[variant]]
code = "mill-lean-12"
hook = "hk-12"
bead = "bd-30"
"""


@pytest.fixture
def catalog(tmp_path: Path) -> Catalog:
    made = open_catalog(str(tmp_path / "c.db"))
    import_recipes(made, [put(tmp_path, SMALL)])
    return made


def told(catalog: Catalog, *paths: Path) -> list[str]:
    """Bring files in with --replace; returns what would be asked about."""
    heard: list[str] = []
    import_recipes(catalog, list(paths), replace=True, ask=heard.extend)
    return heard


@pytest.mark.parametrize(
    "text",
    [
        HEAD,
        f'{HEAD}\n[[variant]]\ncode = "mill-test-12"\nhook = "hk-12"\n',
        f'{HEAD}\n[[variant]]\ncode = "mill-test-14"\nhook = "hk-14"\n\n[[material]]\ncode = "wi-1"\n',
        f'{HEAD}\n[[material]]\ncode = "bd-30"\n\n[[material]]\ncode = "hk-12"\nkind = "hook"\n',
        f'{HEAD}\n[[material]]\ncode = "wi-1"\nkind = "wire"\nname = "Wire"\n',
    ],
)
def test_what_is_not_written_stays(catalog: Catalog, tmp_path: Path, text: str) -> None:
    before = everything(catalog)
    assert told(catalog, put(tmp_path, text)) == []
    assert everything(catalog) == before
    assert list(tmp_path.glob("*before-import*")) == []


def test_an_old_export_gives_back_what_is_written_in_it_and_says_so(catalog: Catalog, tmp_path: Path) -> None:
    (old,) = export_recipes(catalog, None, tmp_path / "old")
    with catalog.writing() as session:
        change(session, NOUNS["material"], "bd-30", {"colour": "copper", "notes": "new packet"})
        change(session, NOUNS["variant"], "mill-test-12", {"price": 3})
        change(session, NOUNS["variant"], "mill-test-14", {"price": 3, "notes": "sells"})
    assert told(catalog, old) == ["pattern mill-test: variant mill-test-12: price: 3.00 -> 2.40"]
    with catalog.reading() as session:
        bead = material_of(session.scalars(select(Material).where(Material.code == "bd-30")).one())
        assert (bead.colour, bead.notes) == ("copper", "new packet")
        twelve, fourteen = load(session, "mill-test").variants
        assert (str(twelve.price), str(fourteen.price), fourteen.notes) == ("2.40", "3.00", "sells")
    (kept,) = tmp_path.glob("*before-import*")
    with open_catalog(str(kept)).reading() as session:
        assert str(load(session, "mill-test").variants[0].price) == "3.00"


def test_every_field_is_shown_old_and_new(catalog: Catalog, tmp_path: Path) -> None:
    text = (
        SMALL.replace("amount = 8", "amount = 9")
        .replace("amount = 6.5", "amount = 7")
        .replace('name = "Mill Test"', 'name = "Mill Trial"')
        .replace('bead = "bd-30"', 'bead = ""')
        .replace('diameter = "3 mm"', 'diameter = "3.2 mm"')
        .replace('[[step]]\npart = "finish"\ntext = "Say \\"done\\"."\n\n', "")
        .replace('name = "Brass bead"', 'name = "Brass bead"\nsize = "3.2 mm"')
    )
    text += '\n[[variant]]\ncode = "mill-test-16"\nhook = "hk-14"\nprice = "2"\n'
    text = text.replace("[[step]]\n", '[[step]]\npart = "bead"\nmaterial = "bd-30"\n\n[[step]]\n', 1)
    text = text.replace("step = 1\n", "step = 2\n")
    assert told(catalog, put(tmp_path, text)) == [
        "material bd-30: size: nothing -> 3.2 mm",
        "material bd-30: diameter: 3 mm -> 3.2 mm",
        "pattern mill-test: name: Mill Test -> Mill Trial",
        "pattern mill-test: step[1].part: rib -> bead",
        "pattern mill-test: step[1].material: wi-1 -> bd-30",
        "pattern mill-test: step[1].amount: 8 -> nothing",
        "pattern mill-test: step[1].unit: turn -> nothing",
        "pattern mill-test: step[2].part: finish -> rib",
        "pattern mill-test: step[2].material: nothing -> wi-1",
        "pattern mill-test: step[2].amount: nothing -> 9",
        "pattern mill-test: step[2].unit: nothing -> turn",
        'pattern mill-test: step[2].text: Say \\"done\\". -> nothing',
        "pattern mill-test: variant mill-test-12: bead: bd-30 -> nothing",
        "pattern mill-test: variant mill-test-14: changes: step 1, amount 6.5 -> step 2, amount 7",
        "pattern mill-test: variant mill-test-16: nothing -> code mill-test-16, hook hk-14, price 2.00",
    ]


def test_a_no_leaves_all_as_it_is(catalog: Catalog, tmp_path: Path) -> None:
    path = put(tmp_path, SMALL.replace('"2.40"', '"2.60"'))
    before = everything(catalog)

    def never(lines: Sequence[str]) -> None:
        raise FlybenchError("no")

    with pytest.raises(FlybenchError, match=r"^no$"):
        import_recipes(catalog, [path], replace=True, ask=never)
    assert everything(catalog) == before
    assert list(tmp_path.glob("*before-import*")) == []


def test_a_change_by_others_while_being_asked_is_told(catalog: Catalog, tmp_path: Path) -> None:
    path = put(tmp_path, SMALL.replace('"2.40"', '"2.60"'))

    def meanwhile(lines: Sequence[str]) -> None:
        with catalog.writing() as session:
            change(session, NOUNS["variant"], "mill-test-12", {"price": 9})

    with pytest.raises(FlybenchError) as refused:
        import_recipes(catalog, [path], replace=True, ask=meanwhile)
    assert str(refused.value) == (
        f"{catalog.name}: was changed by somebody else meanwhile; nothing was imported. Import once more."
    )
    with catalog.reading() as session:
        assert str(load(session, "mill-test").variants[0].price) == "9.00"


def test_codes_of_the_catalog_suffice(catalog: Catalog, tmp_path: Path) -> None:
    path = put(tmp_path, BY_CODE, "lean.toml")
    done = import_recipes(catalog, [path])
    assert (done.patterns.added, done.materials.added, done.materials.changed) == (1, 0, 0)
    with catalog.reading() as session:
        recipe = load(session, "mill-lean")
        assert [one.code for one in recipe.materials] == ["bd-30", "hk-12", "wi-1"]
        assert recipe.steps[0].material == "wi-1"
    assert import_recipes(catalog, [path]).patterns.unchanged == 1
    with pytest.raises(FlybenchError) as refused:
        import_recipes(catalog, [put(tmp_path, BY_CODE.replace('"hk-12"', '"wi-1"'), "lean.toml")])
    assert str(refused.value) == f'{path}: variant[1].hook: "wi-1" is a wire. Name a hook.'
    with pytest.raises(FlybenchError) as refused:
        import_recipes(catalog, [put(tmp_path, BY_CODE.replace('"hk-12"', '"hk-99"'), "lean.toml")])
    assert str(refused.value) == (
        f'{path}: variant[1].hook: no [[material]] has the code "hk-99". '
        "Add the material to this file, or correct the code."
    )


def test_codes_of_another_file_suffice(tmp_path: Path) -> None:
    lean, whole = put(tmp_path, BY_CODE, "0.toml"), put(tmp_path, SMALL)
    made = import_recipes(str(tmp_path / "new.db"), [lean, whole])
    assert (made.patterns.added, made.materials.added) == (2, 4)


def test_fewer_steps_than_a_variant_changes_are_refused(catalog: Catalog, tmp_path: Path) -> None:
    path = put(tmp_path, HEAD.replace("[pattern]", "step = []\n[pattern]"))
    with pytest.raises(FlybenchError) as refused:
        told(catalog, path)
    assert str(refused.value) == (
        f"{path}: variant mill-test-14 changes step 1 in the catalog, and the file has 0 steps. "
        "Write that variant with its changes into the file."
    )


def test_the_command_shows_asks_and_backs_up(
    catalog: Catalog, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FLYBENCH_CATALOG", catalog.name)
    path = put(tmp_path, SMALL.replace('"2.40"', '"2.60"'))
    monkeypatch.setattr("click.confirm", lambda *a, **k: (_ for _ in ()).throw(SystemExit(1)))
    assert flybench(capsys, "pattern", "import", path, "--replace").code == 1
    said = flybench(capsys, "pattern", "import", path, "--replace", "--yes")
    assert said.code == 0
    first, second = said.err.splitlines()
    assert first == "pattern mill-test: variant mill-test-12: price: 2.40 -> 2.60"
    place = re.fullmatch(r"The catalog before the change is kept as (.+)", second)
    assert place is not None and Path(place[1]).is_file()
    assert said.out.startswith("Patterns: 0 added, 1 changed, 0 already")
