"""A weighing that contradicts the parts of its fly: predictions stay where a like fly was measured, and it is said."""

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
from flybench.jobs.shelf.rows import add_row

Run = Callable[..., Said]
pytestmark = pytest.mark.slow
SLIPS = (
    ("fly", "weigh", "M1", "--dry", "210 mg", "--in-water", "51 mg", "--in-water", "50 mg"),
    ("fly", "change", "M1", "--mass-in-water", "50 mg +- 1 mg"),
)


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Return the program in a shop of M1, which weighs 176 mg in water by its parts and sinks at 45 cm/s, and a variant
    NEW that is tied on the same bead and hook."""
    path = tmp_path / "shop.sqlite"
    monkeypatch.setenv("FLYBENCH_CATALOG", str(path))
    monkeypatch.chdir(tmp_path)
    catalog = shop(path)
    fields = {"code": "NEW", "pattern": "MILL", "hook-code": "H14", "bead-code": "B28"}
    add_row(catalog, NOUNS["variant"], fields)
    for number in (1, 2):
        add_run(catalog, "M1", 0.45, number)
    catalog.engine.dispose()
    return lambda *arguments: flybench(capsys, *arguments)


@pytest.mark.parametrize("slip", SLIPS, ids=("weighed", "typed"))
def test_a_slip_at_the_scale_does_not_carry_predictions_away(run: Run, slip: tuple[str, ...]) -> None:
    assert run(*slip).code == 0
    found = json.loads(run("sink", "predict", "NEW", "--temperature", "18 degC", "--json").out)
    (fly,) = found["flies"]
    assert fly["sink_speed_m_s"] == pytest.approx(0.45, rel=0.06)
    (told,) = found["learned_from"]["weighings_that_contradict_parts"]
    assert (told["fly"], told["weighed_n"]) == ("M1", pytest.approx(50e-6 * 9.81, rel=0.02))
    assert told["chance_that_it_is_wrong"] > 0.9


def test_the_slip_is_told_where_speeds_are_predicted(run: Run) -> None:
    run(*SLIPS[0])
    said = run("sink", "predict", "NEW", "--temperature", "18 degC")
    assert (
        "A scale and the parts of a fly contradict each other, so next to nothing was learned from that weighing, and flies "
        "on the same bead are in more doubt: M1, 0.495 mN in water by the scale, 1.73 mN by its parts. Weigh such a fly "
        "again, wetted through and without a bubble. If it stays so, weigh ten such beads together and give the material "
        "that weight."
    ) in flat(said.out)
    assert "MILL-28-14: a density of 1314 kg/m³ is far below that of its parts" in flat(said.out)
    printed = run("print", "labels", "code:NEW", "--predict", "--output", "labels.pdf")
    assert flat(printed.err) == (
        "Predicted speeds on these labels rest on flies of which a scale and the parts contradict each other: M1. Weigh them "
        "again before you print; flybench sink predict says more."
    )


def test_nothing_is_said_of_a_weighing_that_goes_with_the_parts(run: Run) -> None:
    run("fly", "weigh", "M1", "--in-water", "176 mg", "--in-water", "177 mg")
    assert "contradict" not in run("sink", "predict", "NEW", "--temperature", "18 degC").out
    assert run("print", "labels", "code:NEW", "--predict", "--output", "labels.pdf").err == ""
