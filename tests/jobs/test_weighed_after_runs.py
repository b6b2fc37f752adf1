"""Speeds kept in the catalog follow the weight of a fly: weighed, changed, or tied on other parts after its runs.

The check value is the ladder, which is worked out anew from the runs each time it is asked for.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from console import Said, flybench
from invented_runs import add_run
from shop import shop

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog
from flybench.jobs.shelf.rows import list_rows
from flybench.jobs.sink.ladder import ladder

Run = Callable[..., Said]
CHANGES = (
    ("fly", "weigh", "A1", "--dry", "30 mg", "--in-water", "6 mg", "--in-water", "6 mg"),
    ("fly", "change", "A1", "--mass-in-water", "6 mg +- 1 mg"),
    ("material", "change", "H14", "--mass", "80 mg"),
    ("variant", "change", "A-0-16", "--bead-code", "B24"),
)


@pytest.fixture
def catalog(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Catalog:
    path = tmp_path / "shop.sqlite"
    monkeypatch.setenv("FLYBENCH_CATALOG", str(path))
    return shop(path)


def listed(catalog: Catalog, variants: bool = False) -> dict[str, tuple[float, float]]:
    rows = list_rows(
        catalog, NOUNS["variant" if variants else "fly"], ("sink:any",), fields=("code", "sink", "sink-u")
    )
    return {row["code"]: (row["sink"], row["sink-u"]) for row in rows.rows}


def anew(catalog: Catalog, variants: bool = False) -> dict[str, tuple[float, float]]:
    return {rung.code: (rung.speed, rung.uncertainty) for rung in ladder(catalog, variants=variants).rungs}


@pytest.mark.parametrize("change", CHANGES, ids=[" ".join(one[:2]) for one in CHANGES])
def test_lists_follow_the_weight_of_a_fly_measured_in_other_water(
    catalog: Catalog, capsys: pytest.CaptureFixture[str], change: tuple[str, ...]
) -> None:
    away = "M2" if "H14" in change else "A1"
    for number, code in enumerate(sorted({"M1", "M2", "A1"} - {away}), 1):
        add_run(catalog, code, 0.45, number)
    add_run(catalog, away, 0.24, 3, celsius=12.0, salt=35.0)
    before = listed(catalog)[away]
    said = flybench(capsys, *change)
    assert said.code == 0, said.err
    assert listed(catalog)[away] != before
    for variants in (False, True):
        assert listed(catalog, variants) == {
            code: pytest.approx(pair, rel=1e-9) for code, pair in anew(catalog, variants).items()
        }


def test_a_shop_in_one_water_keeps_its_speeds(catalog: Catalog, capsys: pytest.CaptureFixture[str]) -> None:
    add_run(catalog, "M1", 0.45, 1)
    add_run(catalog, "A1", 0.24, 2)
    before = listed(catalog)
    for change in CHANGES:
        assert flybench(capsys, *change).code == 0
    assert listed(catalog) == before
