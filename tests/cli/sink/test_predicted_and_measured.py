"""A prediction for a variant that was measured says so, with the number that the ladder has for the same water."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from console import Said, flybench
from invented_runs import add_run
from shop import shop
from sinking_shop import flat

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import open_catalog
from flybench.jobs.shelf.rows import add_row
from flybench.jobs.sink.ladder import ladder
from flybench.telling.numbers import plus_minus

Run = Callable[..., Said]
COLD = ("--temperature", "8 degC")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Return the program in a shop where two flies of MILL-28-14 were measured and none of NEW, on the same bead and hook."""
    monkeypatch.setenv("FLYBENCH_CATALOG", str(tmp_path / "shop.sqlite"))
    catalog = shop(tmp_path / "shop.sqlite")
    add_row(
        catalog, NOUNS["variant"], {"code": "NEW", "pattern": "MILL", "hook-code": "H16", "bead-code": "B28"}
    )
    for number, (code, speed) in enumerate((("M1", 0.400), ("M2", 0.410), ("M2", 0.404)), 1):
        add_run(catalog, code, speed, number)
    catalog.engine.dispose()
    return lambda *arguments: flybench(capsys, *arguments)


def _rung(path: Path, celsius: float | None = None) -> tuple[float, float]:
    kelvin = None if celsius is None else celsius + 273.15
    (rung,) = ladder(open_catalog(str(path)), ["code:MILL-28-14"], variants=True, temperature=kelvin).rungs
    return rung.speed, rung.uncertainty


@pytest.mark.parametrize("water", [(), COLD], ids=("here", "cold"))
def test_a_measured_variant_is_named_with_the_number_of_the_ladder(
    run: Run, tmp_path: Path, water: tuple[str, ...]
) -> None:
    speed, doubt = _rung(tmp_path / "shop.sqlite", 8.0 if water else None)
    said = flat(run("sink", "predict", "MILL-28-14", *water).out)
    shown = plus_minus(speed, doubt, 100)
    assert (
        f"MILL-28-14 was measured: {shown} cm/s in this water, the mean of 2 flies of it. What is predicted is one more fly "
        "tied so. Speeds are predicted, for one fly tied so;" in said
    )
    (fly,) = json.loads(run("sink", "predict", "MILL-28-14", *water, "--json").out)["flies"]
    assert fly["measured"] == {
        "variant": "MILL-28-14",
        "sink_speed_m_s": pytest.approx(speed, rel=1e-9),
        "standard_uncertainty_m_s": pytest.approx(doubt, rel=1e-9),
        "flies": 2,
    }
    low, high = fly["interval_m_s"]
    assert low < speed < high


def test_a_recipe_that_is_that_of_a_measured_variant_is_told_to_be(run: Run) -> None:
    made_up = ("--pattern", "MILL", "--hook", "H14", "--bead", "B28")
    assert "MILL-28-14 was measured: " in flat(run("sink", "predict", *made_up).out)
    wanted = flat(run("sink", "predict", *made_up, "--for-speed", "40 cm/s").out)
    assert "MILL-28-14 was measured: " in wanted


def test_what_was_not_measured_is_not_said_to_be(run: Run) -> None:
    for asked in (("NEW",), ("--pattern", "MILL", "--hook", "H16", "--bead", "B28")):
        said = run("sink", "predict", *asked)
        assert said.code == 0, said.err
        assert "was measured" not in said.out
    (fly,) = json.loads(run("sink", "predict", "NEW", "--json").out)["flies"]
    assert "measured" not in fly
