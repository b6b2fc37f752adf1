"""What a coarse scale leaves open is told: what a finer one, or more flies at once, would gain."""

from __future__ import annotations

import json
import math

import pytest
from weighed_flies import GRAM, MILLIGRAM, ROOM, Run, held

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.store.open import Catalog
from flybench.jobs.shelf.rows import add_row
from flybench.jobs.shelf.weigh import Scale, weigh_fly


def test_a_hundredth_of_a_gram_is_too_coarse_for_a_light_fly(run: Run) -> None:
    said = run("fly", "weigh", "M3", "--dry", "0.15 g", "--resolution", "10 mg")
    assert said.code == 0
    line = " ".join(said.out.split("too coarse")[1].split())
    # 10 mg / sqrt(12) is 2.89 mg: 1.9 % of 0.15 g in air, more of its weight in water.
    share = float(line.split("alone makes ")[1].split("%")[0])
    assert 1.9 < share < 2.9
    # Speed goes with the root of the weight (Newton's drag), so its doubt is half.
    assert float(line.split("weight and drag, ")[1].split("%")[0]) == pytest.approx(share / 2, abs=0.0501)
    assert "Use one that counts in steps of 5 mg, or weigh 10 like flies together (--count 10)." in line


def test_a_predicted_speed_is_half_as_uncertain_as_the_weight(run: Run) -> None:
    """Newton's drag: speed goes with the root of the weight. 20 mg / sqrt(12) are 5.774 mg, 4.8 % of 0.12 g."""
    readings = "--dry", "0.15 g", "--in-water", "0.12 g", "--resolution", "20 mg", "--repeatability", "0 mg"
    said = run("fly", "weigh", "M3", *readings)
    assert said.code == 0
    words = " ".join(said.out.split())
    assert (
        "The standard uncertainty of that weight is 4.8%: the same share of a drag area worked out from it, 2.4% of a "
        "predicted sink speed."
    ) in words
    assert "its last digit alone makes 4.8% of weight and drag, 2.4% of a predicted speed." in words


def test_ten_together_are_enough_on_that_scale(run: Run) -> None:
    said = run("fly", "weigh", "M3", "--dry", "1.5 g", "--resolution", "10 mg", "--count", "10")
    assert said.code == 0
    assert "too coarse" not in said.out


def test_both_readings_on_a_coarse_scale_are_told_so_too(run: Run) -> None:
    said = run(
        "fly", "weigh", "M3", "--dry", "0.15 g", "--in-water", "0.12 g", "--resolution", "10 mg", "--json"
    )
    scale = json.loads(said.out)["scale"]
    assert scale["too_coarse"]
    assert scale["last_digit"] == pytest.approx(10 / math.sqrt(12) / 120, rel=1e-3)
    assert scale["needed_resolution_kg"] == pytest.approx(5 * MILLIGRAM)


def test_a_fine_scale_is_not_called_coarse(run: Run) -> None:
    assert "too coarse" not in run("fly", "weigh", "M3", "--dry", "0.15 g", "--resolution", "1 mg").out


def test_without_readings_it_tells_the_gain_and_writes_nothing(run: Run, catalog: Catalog) -> None:
    before = held(catalog, "M3")
    said = run("fly", "weigh", "M3")
    assert said.code == 0
    assert "from its parts alone" in said.out
    assert "On a scale that counts in steps of 1 mg it would be" in " ".join(said.out.split())
    assert "Recorded." not in said.out
    assert "a usual hook of size 16 was taken." in " ".join(said.err.split())
    found = json.loads(run("fly", "weigh", "M3", "--json").out)
    assert found["recorded"] is False
    assert found["way"] == "from-parts"
    assert found["gain"]["weighed_twice"] < found["gain"]["weighed_dry"] < found["gain"]["now"]
    assert held(catalog, "M3") == before


def test_a_mean_of_several_is_told_to_be_one(catalog: Catalog) -> None:
    mean = "M2: this is the mean of 10 flies; its ± is that of the scale, not of how the flies differ."
    ten = weigh_fly(catalog, "M2", 2.2 * GRAM, None, Scale(10 * MILLIGRAM, count=10), ROOM)
    assert mean in ten.weighed.remarks
    assert not any(
        "mean" in line for line in weigh_fly(catalog, "M2", None, None, Scale(), ROOM).weighed.remarks
    )


@pytest.mark.parametrize("step", [5, 10, 20, 50, 100])
def test_as_many_together_as_it_advises_are_enough(catalog: Catalog, step: int) -> None:
    scale = Scale(step * MILLIGRAM)
    alone = weigh_fly(catalog, "M3", None, None, scale, ROOM)
    assert alone.enough_together is not None
    together = weigh_fly(
        catalog, "M3", None, None, Scale(scale.resolution, count=alone.enough_together), ROOM
    )
    assert not together.too_coarse
    finer = weigh_fly(catalog, "M3", None, None, Scale(alone.fine_enough), ROOM)
    assert not finer.too_coarse


@pytest.mark.slow
def test_no_number_is_advised_that_a_weighing_may_not_hold(catalog: Catalog) -> None:
    add_row(catalog, NOUNS["fly"], {"code": "A2", "variant": "A-0-16"})
    found = weigh_fly(catalog, "A2", None, None, Scale(100 * MILLIGRAM), ROOM)
    assert found.enough_together is None or found.enough_together <= 1000
