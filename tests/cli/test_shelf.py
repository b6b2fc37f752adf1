"""The commands of the catalog as a user meets them: whole messages, exit codes, nothing half-done."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from console import Said, flybench
from refusals import fields_of
from shop import measured, shop
from sinking_shop import flat

from flybench.catalog.store.open import Catalog
from flybench.catalog.tables.vocabulary import Bore, Metal


@pytest.fixture
def catalog(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Catalog:
    monkeypatch.setenv("FLYBENCH_CATALOG", str(tmp_path / "shop.sqlite"))
    return shop(tmp_path / "shop.sqlite")


@pytest.fixture
def run(catalog: Catalog, capsys: pytest.CaptureFixture[str]):  # type: ignore[no-untyped-def]
    def call(*arguments: str) -> Said:
        return flybench(capsys, *arguments)

    return call


def test_add_show_change_list_remove(run) -> None:  # type: ignore[no-untyped-def]
    said = run("fly", "add", "M9", "--variant", "mill-28-14", "--mass", "0.2 g +- 2 mg", "--json")
    assert said.code == 0
    made = json.loads(said.out)
    assert made["variant"] == "MILL-28-14"
    assert made["mass_kg"] == pytest.approx(2e-4)
    assert made["mass_u_kg"] == pytest.approx(1e-6)
    assert run("fly", "change", "m9", "--length", "14 mm", "--mass", "").out == "Changed fly M9.\n"
    shown = json.loads(run("fly", "show", "M9", "--json").out)
    assert (shown["length_m"], shown["mass_kg"], shown["mass_u_kg"]) == (0.014, None, None)
    assert run("fly", "list", "M9", "--columns", "code,length").out == "code  length, mm\nM9            14\n"
    assert run("fly", "remove", "M9", "--yes").out == "Removed fly M9.\n"
    assert run("fly", "list", "M9").err == (
        'Searched for the word "M9". A field is named before a colon, as in bead:2.8.\nNo flies found.\n'
    )


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ("fly add M1 --variant MILL-28-14", "code: there is a fly M1 already. Choose another code, or change that one."),
        ("fly add m1 --variant MILL-28-14", "code: there is a fly M1 already. Choose another code, or change that one."),
        ("fly add Z1", "--variant: is missing. Give it with --variant."),
        ("fly add Z1 --variant MILL-28-15", '--variant: there is no "MILL-28-15". Did you mean MILL-28-14?'),
        ("fly add a,b --variant MILL-28-14", 'code: "a,b" has a blank or one of , : " / \\ in it. Write it as one word, such as AB-12.'),
        ("fly add Z1 --variant MILL-28-14 --mass 0.21", '--mass: "0.21" has no unit. Write it with its unit, for example "0.21 g".'),
        ("fly add Z1 --variant MILL-28-14 --mass -1g", "--mass: -1g is outside 0.001 to 20 g. Check the number and its unit."),
        ("fly add Z1 --variant MILL-28-14 --mass nang", '--mass: "nang" is not a mass. Write it with its unit, for example "0.21 g".'),
        ("fly add Z1 --variant MILL-28-14 --tied 2026-02-30", '--tied: "2026-02-30" is not a date. Write it as year-month-day, such as 2026-03-14.'),
        ("variant add V --pattern MILL --hook-code B28", "--hook-code: B28 is a bead, not a hook. Name a material of the kind hook."),
        ("variant add V --pattern MILL --hook-code H14 --price 2.345", '--price: "2.345" is not a price. Write it as 2.40, zero or more.'),
        ("variant change MILL-28-14 --based-on MILL-24-16", "--based-on: MILL-28-14 would be based on itself. Base it on another variant."),
        ("material add B1 --kind bead --name b --metal brass --bore straight", "--diameter: is missing for the bead B1. Give it with --diameter."),
        ("material add B1 --kind thread --name b --hook 14", "--kind: B1 is a thread, but was given the sizes of a hook. Give --kind hook, or leave those sizes out."),
        ("material add B1 --kind bead --name b --diameter 2.8mm --metal gold --bore straight", '--metal: "gold" is not known. Use one of tungsten, brass, copper, steel, tin, lead, glass.'),
        ("material remove B28 --yes", "material B28: cannot be removed while it is used by variant MILL-28-14. Remove those first; nothing was changed."),
        ("pattern remove MILL --yes", "pattern MILL: cannot be removed while it is used by variant MILL-28-14, MILL-24-16. Remove those first; nothing was changed."),
        ("variant remove MILL-28-14 --yes", "variant MILL-28-14: cannot be removed while it is used by fly M1, M2; variant based on it: MILL-24-16. Remove those first; nothing was changed."),
        ("fly change M1", "fly M1: no field to change was given. Give one, for example --notes TEXT."),
        ("fly list --columns cod", '--columns: flies have no field "cod". Did you mean code?'),
        ("fly list --sort speed", f'--sort: flies have no field "speed". The fields of flies are {fields_of("fly")}.'),
        ("stock out MILL-28-14 5", "AMOUNT: 5 of MILL-28-14 cannot be taken out; there are 0 in stock. Give less, or correct the stock after a count with: flybench stock count MILL-28-14 AMOUNT."),
        ("stock in MILL-28-14 0.5", "AMOUNT: 0.5 is not a whole number of flies. Give whole flies, or add --material where CODE is a material."),
        ("pattern make-list MILL-28-14=0.01", "MILL-28-14=0.01: 0.01 dozen is not a number of whole flies from 1 to 100000. Write dozens, as in MILL-28-14=2, or MILL-28-14=0.5 for six flies."),
    ],
)  # fmt: skip
def test_refusals(run, arguments: str, message: str) -> None:  # type: ignore[no-untyped-def]
    before = [run(noun, "list", "--csv", "-").out for noun in ("material", "pattern", "variant", "fly")]
    said = run(*arguments.split())
    assert said.code == 1
    assert said.out == ""
    assert said.err == f"Error: {message}\n"
    assert before == [
        run(noun, "list", "--csv", "-").out for noun in ("material", "pattern", "variant", "fly")
    ]


def test_a_weighed_bead_goes_before_its_geometry(run) -> None:  # type: ignore[no-untyped-def]
    weighed = json.loads(run("material", "show", "B28", "--json").out)
    assert weighed["mass_kg"] == pytest.approx(150e-6)
    run("material", "change", "B28", "--mass", "")
    worked_out = json.loads(run("material", "show", "B28", "--json").out)
    assert worked_out["mass_kg"] != pytest.approx(150e-6)
    assert worked_out["mass_u_kg"] > 5e-6


def test_a_bead_without_a_hole_weighs_what_a_ball_does(run) -> None:  # type: ignore[no-untyped-def]
    """Volume of a sphere, pi d^3 / 6, times 8500 kg/m3 (brass; physics handbook value, from memory)."""
    run("material", "add", "BALL", "--kind", "bead", "--name", "b", "--diameter", "3 mm", "--metal", "brass",
        "--bore", "straight", "--hole", "0.001 mm")  # fmt: skip
    mass = json.loads(run("material", "show", "BALL", "--json").out)["mass_kg"]
    assert mass == pytest.approx(3.141592653589793 * 0.003**3 / 6 * 8500, rel=0.01)


def test_stock_is_a_history(run) -> None:  # type: ignore[no-untyped-def]
    run("stock", "in", "MILL-28-14", "24")
    run("stock", "out", "MILL-28-14", "3", "--note", "market")
    assert run("stock", "count", "MILL-28-14", "20").out == "MILL-28-14: 20 flies in stock.\n"
    log = json.loads(run("stock", "log", "mill-28-14", "--json").out)
    assert [(move["amount"], move["on_hand"], move["why"]) for move in log] == [
        (24, 24, "tied"),
        (-3, 21, "sold"),
        (-1, 20, "counted"),
    ]
    assert run("variant", "list", "stock:>0", "--columns", "code,stock").out.split() == [
        "code", "stock", "MILL-28-14", "20",
    ]  # fmt: skip
    assert run("variant", "remove", "MILL-28-14", "--yes").err == (
        "Error: variant MILL-28-14: cannot be removed while it is used by fly M1, M2; variant based on it: "
        "MILL-24-16; stock movement 1, 2, 3. Remove those first; nothing was changed.\n"
    )


def test_make_list_adds_up(run) -> None:  # type: ignore[no-untyped-def]
    """Two dozen: 24 hooks at 6.00 / 25 and 24 beads at 5.00 / 20, worked by hand."""
    run("stock", "in", "B28", "10", "--material", "--why", "bought")
    found = json.loads(run("pattern", "make-list", "MILL-28-14=2", "--json").out)
    lines = {line["code"]: line for line in found["materials"]}
    assert (lines["B28"]["needed"], lines["B28"]["on_hand"], lines["B28"]["short"]) == (24, 10, 14)
    assert lines["H14"]["cost"] == pytest.approx(24 * 6 / 25)
    assert found["flies"][0]["cost"] == pytest.approx(6 / 25 + 5 / 20)


def test_a_cost_that_nothing_is_known_of_is_not_nought(run) -> None:  # type: ignore[no-untyped-def]
    found = json.loads(run("pattern", "make-list", "A-0-16", "--json").out)
    assert found["flies"] == [{"code": "A-0-16", "flies": 12, "cost": None, "unknown": ["H16"]}]
    told = " ".join(run("pattern", "make-list", "A-0-16").out.split())
    assert "what the materials cost is not known, as none has a price and a pack." in told


@pytest.mark.parametrize("noun", ["metal", "bore"])
def test_every_bead_of_the_catalog_has_a_mass(run, noun: str) -> None:  # type: ignore[no-untyped-def]
    """The words of the catalog and those of the densities and shapes are kept apart, and must agree."""
    for number, word in enumerate({"metal": Metal, "bore": Bore}[noun]):
        given = {"metal": "brass", "bore": "straight", noun: word.value}
        options = [text for name, value in given.items() for text in (f"--{name}", value)]
        said = run(
            "material",
            "add",
            f"X{number}",
            "--kind",
            "bead",
            "--name",
            "b",
            "--diameter",
            "3 mm",
            *options,
            "--json",
        )
        assert json.loads(said.out)["mass_kg"] > 0, said.err


def test_ladder_orders_bands_and_names_ties(run, catalog: Catalog) -> None:  # type: ignore[no-untyped-def]
    """Bands: ISO 3:1973, R10. 30.0 and 30.6 cm/s differ by less than 2 hypot(0.4, 0.3) cm/s."""
    measured(catalog, "M2", 0.306, 0.003)
    measured(catalog, "M1", 0.300, 0.004)
    measured(catalog, "A1", 0.180, 0.003)
    found = json.loads(run("ladder", "--json").out)
    assert [rung["code"] for rung in found["rungs"]] == ["A1", "M1", "M2"]
    assert [rung["band_cm_s"] for rung in found["rungs"]] == ["16-20", "25-31.5", "25-31.5"]
    assert found["ties"] == [["M1", "M2"]]
    assert found["not_measured"] == 0, "the one without a speed is retired"
    told = run("ladder")
    assert "These cannot be told apart (k = 2): M1 and M2." in told.out
    assert "18.0 ± 0.6" in told.out
    assert run("ladder", "style:hackled or bead:2.4", "--json").code == 0


def test_ladder_reads_a_query_as_lists_do(run, catalog: Catalog) -> None:  # type: ignore[no-untyped-def]
    measured(catalog, "M1", 0.300, 0.004)
    measured(catalog, "A1", 0.180, 0.003)
    run("fly", "change", "A1", "--notes", "one or the other")
    for query in (
        ("notes:one or the other",),
        ("notes:one or the",),
        ('notes:"one or the other" or hook:99',),
    ):
        found = json.loads(run("ladder", *query, "--json").out)
        assert [rung["code"] for rung in found["rungs"]] == ["A1"]
        assert run("fly", "list", *query, "--columns", "code").out == "code\nA1\n"


def test_formulas_leave_harmless_and_come_back(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    run("fly", "add", "F1", "--variant", "MILL-28-14", "--notes", "=cmd|' /C calc'!A0")
    run("fly", "add", "F2", "--variant", "MILL-28-14", "--notes", "'quoted")
    out = run("fly", "list", "notes:any variant:mill-28-14", "--csv", "-").out
    assert "'=cmd|' /C calc'!A0" in out and ",=cmd" not in out
    file = tmp_path / "back.csv"
    file.write_text(out, encoding="utf-8")
    run("fly", "remove", "F1", "--yes")
    run("fly", "remove", "F2", "--yes")
    assert run("fly", "import-csv", str(file)).out == "Added 2 flies.\n"
    assert run("fly", "list", "notes:any variant:mill-28-14", "--csv", "-").out == out


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", ": is empty. Its first line must name the columns."),
        ("code,varient\nZ1,MILL-28-14\n", ', line 1: "varient" is not a column of flies. Did you mean variant?'),
        ("code\nZ1\n", ", line 1: the column variant is missing. Add it, with a value in every line."),
        ("code,code,variant\nA,B,C\n", ", line 1: the column code is there twice. Keep one of them."),
        ("code,variant\nZ1,MILL-28-14\nZ2\n", ", line 3: has 1 cell, but the first line has 2. Correct that line."),
        ("code,variant\nZ1,MILL-28-14\nz1,MILL-28-14\n", ", line 3, code: z1 is in line 2 too. Keep one of the two lines."),
        ("code,variant\nZ1,MILL-28-14\nM1,MILL-28-14\n", ", line 3, code: there is a fly M1 already. Take this line out, or give another code."),
        ("code,variant\nZ1,NONE\n", ", line 2, variant: there is no variant NONE. Add it first with: flybench variant add NONE"),
        ("code,variant,mass_mg\nZ1,MILL-28-14,nan\n", ', line 2, mass_mg: "nan" is not a number. Write it in mg, such as 2.8.'),
        ("code,variant,mass_mg\nZ1,MILL-28-14,-5\n", ", line 2, mass_mg: -5 mg is outside 1 to 20000 mg. Check the number and its unit."),
        ("code,variant,mass_mg,mass_in_water_mg\nZ1,MILL-28-14,200,200\n", ", line 2, mass-in-water: is not less than the dry mass. Check both values."),
        ("code,variant,tied,retired\nZ1,MILL-28-14,2026-02-02,2026-02-01\n", ", line 2, tied: is after the day it was retired. Check both values."),
        ("code,variant,notes\nZ1,MILL-28-14," + "x" * 30_000 + "\n", ", line 2, notes: is 30000 letters long. Use at most 20000 letters."),
        ("code,variant\nZ\x00,MILL-28-14\n", ", line 2, code: has the control character '\\x00' in it. Take it out."),
    ],
)  # fmt: skip
def test_bad_csv_changes_nothing(run, tmp_path: Path, text: str, message: str) -> None:  # type: ignore[no-untyped-def]
    file = tmp_path / "bad.csv"
    file.write_text(text, encoding="utf-8")
    before = run("fly", "list", "--csv", "-").out
    said = run("fly", "import-csv", str(file))
    assert (said.code, said.out) == (1, "")
    assert said.err == f"Error: {file}{message}\n"
    assert run("fly", "list", "--csv", "-").out == before


def test_labels_of_what_was_and_was_not_measured(run, catalog: Catalog, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    import pypdfium2

    measured(catalog, "M1", 0.300, 0.004)
    file = tmp_path / "labels.pdf"
    said = run("print", "labels", "--output", str(file), "--currency", "EUR")
    assert said.code == 0, said.err
    text = "".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(file))
    assert (
        "about 30 cm/s" in text
        and "29.2 to 30.8 cm/s" in text
        and "not measured" in text
        and "EUR 2.40" in text
    )
    said = run("print", "labels", "nothing-like-it")
    assert said.err == (
        'Searched for the word "nothing-like-it". A field is named before a colon, as in\nbead:2.8.\n'
        "Error: There are no labels to print: the query finds nothing, or nothing in stock. Widen the query, or leave --stock out.\n"
    )


def test_a_ladder_whose_only_measured_fly_is_retired_says_so(run, catalog: Catalog) -> None:  # type: ignore[no-untyped-def]
    measured(catalog, "M1", 0.300, 0.004)
    run("fly", "retire", "M1", "--on", "2026-05-01")
    told = run("ladder")
    assert (told.code, told.out) == (0, "")
    assert flat(told.err) == (
        "The one that was measured is retired, so it is left out. Bring one back with: flybench fly retire CODE --back, or "
        "flybench variant retire CODE --back 2 more were found but are not measured yet, so not shown."
    )
    assert "No measured fly was found." in flat(run("ladder", "code:M2").err)
