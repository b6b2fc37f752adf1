"""CSV out and in again, for any text and number that a fly may have."""

from __future__ import annotations

import csv
import io
import unicodedata
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shop import shop

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import Row
from flybench.catalog.store.open import Catalog, open_catalog
from flybench.jobs.shelf.rows import add_row, change_row, list_rows, remove_row, show_row
from flybench.jobs.shelf.spreadsheet import as_csv, import_csv, neutral

FLY = NOUNS["fly"]
TEXT = st.text(
    st.characters(exclude_categories=["Cs", "Cc"]) | st.sampled_from("\n\t=+-@',\""), max_size=30
).filter(lambda text: text == text.strip())


@pytest.fixture(scope="module")
def catalog(tmp_path_factory: pytest.TempPathFactory) -> Catalog:
    return shop(Path(tmp_path_factory.mktemp("csv")) / "shop.sqlite")


def _row(catalog: Catalog) -> Row:
    return next(row for row in list_rows(catalog, FLY, ["code:X1"]).rows if row["code"] == "X1")


@pytest.mark.slow
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    notes=TEXT, mass=st.floats(1.0, 20000.0), spread=st.floats(0.001, 100.0), tied=st.dates(date(1900, 1, 1))
)
def test_what_goes_out_comes_back(
    catalog: Catalog, tmp_path: Path, notes: str, mass: float, spread: float, tied: date
) -> None:
    given = {"code": "X1", "variant": "MILL-28-14", "notes": notes, "tied": tied.isoformat()}
    add_row(catalog, FLY, given | {"mass": f"{mass:.9f} mg +- {spread:.9f} mg"})
    before = _row(catalog)
    text = as_csv(FLY, [before])
    assert as_csv(FLY, [before]) == text
    remove_row(catalog, FLY, "X1")
    file = tmp_path / "back.csv"
    file.write_text(text, encoding="utf-8", newline="")
    assert import_csv(catalog, FLY, file) == 1
    after = _row(catalog)
    remove_row(catalog, FLY, "X1")
    for name, value in before.items():
        assert after[name] == (pytest.approx(value, rel=1e-9) if isinstance(value, float) else value), name


@given(st.text(max_size=20))
def test_no_cell_begins_a_formula(text: str) -> None:
    """The letters that begin a formula: OWASP, "CSV Injection", read as = + - @ tab and carriage return."""
    out = io.StringIO(newline="")
    csv.writer(out).writerow(["", neutral(text)])
    (_, cell) = next(csv.reader(io.StringIO(out.getvalue(), newline="")))
    assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))


NAME = st.text(
    st.characters(categories=["L", "N"]) | st.sampled_from(" =+-'@\"&"), min_size=1, max_size=12
).filter(lambda text: text == text.strip() and unicodedata.normalize("NFC", text) == text)
MM = st.floats(0.5, 5.0).map(lambda value: f"{value!r} mm")
AMOUNT = st.floats(1e-3, 1e6).map(repr)
PRICE = st.integers(0, 10**6).map(lambda cents: f"{cents / 100:.2f}")
MASS = st.floats(1.0, 900.0).map(lambda value: f"{value!r} mg")
BEAD_MASS = MASS | MASS.map(lambda text: f"{text} +- 1.7 mg")


def _drawn(draw: st.DrawFn, **fields: st.SearchStrategy[str]) -> dict[str, str]:
    """Return some of the fields."""
    return {name.replace("_", "-"): draw(one) for name, one in fields.items() if draw(st.booleans())}


@st.composite
def shops(draw: st.DrawFn) -> list[tuple[str, dict[str, str]]]:
    """Return things to add, of every kind that a user adds, each with any of its fields."""
    trade = {"colour": NAME, "size": NAME, "notes": TEXT}
    size = draw(st.sampled_from(["2.8 mm", "0.11 in", "3.175 mm"]))
    bead = {"kind": "bead", "diameter": size, "metal": "brass", "bore": "countersunk"}
    bead |= _drawn(draw, mass=BEAD_MASS, density=st.just("8500 kg/m3"), **trade)
    hook = {"kind": "hook", "hook": str(draw(st.integers(1, 32)))}
    hook |= _drawn(draw, mass=MASS, gape=MM, shank=MM, **trade)
    thread = {"kind": "thread", "unit": "mm", "pack": draw(AMOUNT), "price": draw(PRICE)}
    thread |= _drawn(draw, thickness=MM, **trade)
    materials = [{"code": f"m{n}", "name": draw(NAME), **one} for n, one in enumerate((bead, hook, thread))]
    pattern = {"code": "p", "name": draw(NAME), "style": "slick", **_drawn(draw, notes=TEXT)}
    variants = [_variant(draw, code, base) for code, base in (("z", ""), ("b", "z"), ("a", "b"))]
    days = {"tied": st.dates(date(1900, 1, 1), date(2020, 1, 1)).map(str), "retired": st.just("2021-02-03")}
    length = st.floats(5.0, 50.0).map(lambda value: f"{value!r} mm")
    fly = {"code": "f", "variant": "a", **_drawn(draw, mass=BEAD_MASS, length=length, notes=TEXT, **days)}
    named = {"material": materials, "pattern": [pattern], "variant": variants, "fly": [fly]}
    return [(name, one) for name, things in named.items() for one in things]


def _variant(draw: st.DrawFn, code: str, base: str) -> dict[str, str]:
    """Return a variant, which may be based on one whose code comes later."""
    given_ = {"code": code, "pattern": "p", "hook-code": "m1"}
    given_ |= _drawn(draw, price=PRICE, notes=TEXT, bead_code=st.just("m0"))
    return given_ | ({"based-on": base} if base and draw(st.booleans()) else {})


@pytest.mark.slow
@settings(max_examples=5, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(things=shops())
def test_all_nouns_out_and_in_make_the_same_catalog(
    things: list[tuple[str, dict[str, str]]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Of every noun all rows and all their values, worked-out ones among them, and the same text once more."""
    folder = tmp_path_factory.mktemp("whole")
    first, second = open_catalog(str(folder / "first.db")), open_catalog(str(folder / "second.db"))
    for name, given_ in things:
        add_row(first, NOUNS[name], given_)
    for name in ("material", "pattern", "variant", "fly"):
        noun, file = NOUNS[name], folder / f"{name}.csv"
        rows = list_rows(first, noun, []).rows
        file.write_text(as_csv(noun, rows), encoding="utf-8", newline="")
        import_csv(second, noun, file)
    for name in ("material", "pattern", "variant", "fly"):
        before, after = (list_rows(one, NOUNS[name], []).rows for one in (first, second))
        assert as_csv(NOUNS[name], after) == as_csv(NOUNS[name], before)
        assert after == [
            {
                key: pytest.approx(value, rel=1e-15) if isinstance(value, float) else value
                for key, value in row.items()
            }
            for row in before
        ]


def test_a_worked_out_mass_stays_worked_out(tmp_path: Path) -> None:
    """A change of the bead's diameter after a way out and in still changes its mass, a weighed one stays."""
    before, material = shop(tmp_path / "shop.sqlite"), NOUNS["material"]
    file = tmp_path / "materials.csv"
    file.write_text(as_csv(material, list_rows(before, material, []).rows), encoding="utf-8", newline="")
    after = open_catalog(str(tmp_path / "again.db"))
    import_csv(after, material, file)
    for code, same in (("B24", False), ("B28", True)):
        old = show_row(after, material, code)["mass"]
        new = change_row(after, material, code, {"diameter": "3 mm"})["mass"]
        assert (new == old) is same


def test_a_weighed_mass_without_a_doubt_has_none_of_the_worked_out_one(tmp_path: Path) -> None:
    catalog = shop(tmp_path / "shop.sqlite")
    row = change_row(catalog, NOUNS["material"], "B28", {"mass": "151 mg"})
    assert (row["mass"], row["mass-u"], row["weighed"]) == (
        pytest.approx(151e-6),
        None,
        pytest.approx(151e-6),
    )
    assert row["mass-by-size-u"] > 0
