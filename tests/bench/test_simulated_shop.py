"""The invented shop of the demo: its tracks are what its equations of motion say, and their fit gives the truth again.

Truth: the equations of motion in ``bench_videos``, solved apart from flybench; nothing here was filmed.
"""

from __future__ import annotations

import json
import math
import tomllib
from concurrent.futures import BrokenExecutor, Future
from pathlib import Path

import pytest
from flyshop.drag import Stream, drag
from flyshop.evenings import EVENINGS, scene, tank_speed
from flyshop.fall import TrueFly, fall
from flyshop.flies import FLIES, look
from flyshop.recipes import tying
from flyshop.spots import saved_run
from flyshop.truth import truths
from flyshop.weight import G, mass, solids, weight_in_water

from flybench.bench.saved.refitting import refit
from flybench.bench.verdict.result import BenchResult
from flybench.jobs.demo import shipped_recipes, shipped_shop
from flybench.jobs.demo_shop import Fits
from flybench.jobs.photos.clean_picture import clean_picture

SHOP = tomllib.loads((shipped_shop() / "shop.toml").read_text(encoding="utf-8"))
WATER = Stream(998.6, 1.054e-6)


@pytest.mark.slow
def test_truth_of_the_shop_is_that_of_its_equations() -> None:
    assert json.loads((shipped_shop() / "truth.json").read_text(encoding="utf-8")) == truths(
        shipped_recipes()
    )


@pytest.mark.parametrize(
    "code", ["cinder-ladder-14", "dunnage-grub-12", "slow-curtain-14t", "small-errand-18n"]
)
def test_weight_and_drag_are_in_balance_at_the_true_speed(code: str) -> None:
    made = tying(code)
    true = fall(TrueFly(made), WATER)
    assert drag(made, true.speed, WATER) == pytest.approx(weight_in_water(solids(made), WATER.density))
    assert 1.5 < true.exponent <= 2.0
    assert drag(made, 1.1 * true.speed, WATER) > true.weight


def test_a_bead_weighs_what_its_ball_less_its_bore_weighs() -> None:
    """pi / 6 (3 mm)^3 = 14.137 mm3; less the slotted bore's 0.31 of it, times 17.7 mg/mm3: 172.7 mg, of which water
    takes 9.741."""
    made = tying("cinder-ladder-14")
    bead = solids(made)[1]
    assert bead.mass == pytest.approx(math.pi / 6 * 0.003**3 * 0.69 * 17_700)
    assert bead.mass == pytest.approx(172.66e-6, rel=1e-4)
    lifted = mass(solids(made)) - weight_in_water(solids(made), 998.6) / G
    assert lifted == pytest.approx(998.6 * sum(part.volume for part in solids(made)))


@pytest.mark.slow
def test_the_fit_of_a_simulated_run_gives_its_true_speed() -> None:
    """A run with a seed of its own, not one that is shipped."""
    fly, evening = FLIES["F05"], EVENINGS["kitchen"]
    data, _ = saved_run(scene(fly.true(), evening, 77, look(tying(fly.variant))), "simulated, not filmed")
    found = refit(data, SHOP["evening"]["kitchen"]["sheet"])
    assert found.verdict == "good"
    assert found.sink_speed is not None
    assert found.standard_uncertainty is not None
    assert abs(found.sink_speed - tank_speed(fly.true(), evening)) < 2 * found.standard_uncertainty


def test_every_run_of_the_shop_says_that_it_is_simulated() -> None:
    from flybench.bench.saved.run_bytes import unpacked

    for run in SHOP["run"]:
        assert unpacked((shipped_shop() / run["file"]).read_bytes()).observed.name.endswith(
            "(simulated, not filmed)"
        )
    assert "Invented" in SHOP["about"]
    assert "simulated" in SHOP["about"]
    assert {path.name for path in Path(shipped_shop()).glob("*.run")} == {run["file"] for run in SHOP["run"]}


def test_drawings_are_one_of_each_variant_in_stock_and_small() -> None:
    files = {path.stem: path for path in (shipped_shop() / "pictures").glob("*.jpg")}
    assert set(files) == set(SHOP["stock"])
    for path in files.values():
        kept = clean_picture(path)
        assert (kept.width, kept.height) == (640, 360)
        assert path.stat().st_size < 25_000


def test_fits_are_made_here_where_the_other_process_ended_early() -> None:
    run = SHOP["run"][0]
    track = (shipped_shop() / run["file"]).read_bytes()
    broken: Future[BenchResult] = Future()
    broken.set_exception(BrokenExecutor("it was killed"))
    found = Fits([(track, SHOP["evening"][run["evening"]]["sheet"])], [broken]).results()
    assert [one.verdict for one in found] == ["good"]
