"""CSV out and in again, for any text and number that a fly may have."""

from __future__ import annotations

import csv
import io
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shop import shop

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import Row
from flybench.catalog.store.open import Catalog
from flybench.jobs.shelf.rows import add_row, list_rows, remove_row
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
