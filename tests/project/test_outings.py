"""The twelve outings of docs/rig.md: what they advise keeps to common practice, and is still what the program advises."""

from __future__ import annotations

import importlib.util
import math
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from flybench.quantity import parse
from flybench.rig.advice.choosing import Candidate, candidates
from flybench.rig.advice.outcomes import outcomes
from flybench.rig.chain.simulate import steps
from flybench.rig.odds.draws import drawn

DOCS = Path(__file__).resolve().parents[2] / "docs"
DRAWS = 40
"""Draws of each outing: a share is then good to about 0.07 (k = 1)."""


def _outings() -> Any:
    spec = importlib.util.spec_from_file_location("docs_outings", DOCS / "outings.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


OUTINGS = _outings()
_, TABLE, _ = (
    (DOCS / "rig.md").read_text(encoding="utf-8").replace("<!-- end of", "<!--").split("<!-- outings")
)
PRINTED = {
    cells[0]: dict(zip(OUTINGS.HEAD, cells, strict=True))
    for line in TABLE.splitlines()
    if line.startswith("| ")
    for cells in [[cell.strip() for cell in line.strip().strip("|").split("|")]]
    if cells[0] not in (OUTINGS.HEAD[0], "---")
}


def speeds(name: str) -> list[float]:
    """Return the sink speeds of what is tied on at an outing, the point first [m/s]."""
    return [parse(OUTINGS.BOX[fly][0], "m/s", fly) for fly in PRINTED[name]["tie on"].split(" under ")]


def landing(name: str) -> float:
    """Return how far upstream it is landed [m], infinite where it comes down too seldom from anywhere."""
    text = PRINTED[name]["land it upstream"]
    return float(text.removesuffix(" m")) if text.endswith(" m") else math.inf


def touches(name: str) -> int:
    """Return in how many of ten drifts a fly touches."""
    words = {"hardly any": 0, "hardly any drift": 0, "nearly every": 10, "nearly every drift": 10}
    text = PRINTED[name]["touches in"]
    return words[text] if text in words else int(text.removesuffix(" of 10"))


def test_all_twelve_are_printed_with_their_waters() -> None:
    assert len(OUTINGS.OUTINGS) == 12
    assert list(PRINTED) == [one.name for one in OUTINGS.OUTINGS]
    for one in OUTINGS.OUTINGS:
        assert PRINTED[one.name]["water"] == f"{one.texts.depth} at {one.texts.surface_speed}"
        assert PRINTED[one.name]["fished with"].startswith(one.texts.leader_length)
    assert OUTINGS.box_line() in (DOCS / "rig.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("shallow", "deep"), [("Shallow margin", "Glide"), ("Run", "Deep run"), ("Glide", "Deep pool")]
)
def test_deeper_water_takes_a_faster_point(shallow: str, deep: str) -> None:
    """Common practice, no source."""
    assert speeds(shallow)[0] < speeds(deep)[0]


@pytest.mark.parametrize(("slow", "fast"), [("Glide", "Run"), ("Run", "Fast run")])
def test_faster_water_takes_a_faster_point(slow: str, fast: str) -> None:
    """Common practice, no source."""
    assert speeds(slow)[0] < speeds(fast)[0]


def test_the_slowest_point_is_for_the_shallow_margin() -> None:
    """Common practice, no source."""
    assert speeds("Shallow margin")[0] == min(speeds(name)[0] for name in PRINTED)


@pytest.mark.parametrize(
    ("near", "far"),
    [
        ("Run", "Fast run"),
        ("Run", "Deep run"),
        ("Shallow margin", "Glide"),
        ("Glide", "Shy fish in the glide"),
        ("Deep run, thin leader", "Deep run"),
    ],
)
def test_flies_are_landed_farther_up_for_fast_and_deep_water_a_flat_cast_and_a_thick_leader(
    near: str, far: str
) -> None:
    """Common practice, no source."""
    assert landing(near) < landing(far)


@pytest.mark.parametrize("name", list(PRINTED))
def test_the_bottom_is_touched_now_and_then(name: str) -> None:
    """Common practice, no source: neither never nor in every drift; in water known to a fifth, up to five of ten."""
    assert 1 <= touches(name) <= 5


def test_a_dropper_sinks_no_faster_than_the_point() -> None:
    """Common practice, no source."""
    point, dropper = speeds("Run, two flies")
    assert dropper <= point


def test_a_thinner_leader_takes_no_faster_point_and_a_tight_line_that_the_current_lifts_no_slower_one() -> (
    None
):
    """Common practice, no source."""
    assert speeds("Deep run, thin leader")[0] <= speeds("Deep run")[0] <= speeds("Deep run, tight line")[0]


def rigs_now(outing: Any) -> tuple[Candidate, ...]:
    """Return what the printed rig does now, and those whose point, or one of whose flies, is a step or two from it: with two
    flies those whose dropper is no faster."""
    box, (current, tackle, goal) = OUTINGS.box(), OUTINGS.asked(outing)
    names = [fly.name for fly in box]
    point, *droppers = (names.index(name) for name in PRINTED[outing.name]["tie on"].split(" under "))
    near = [place for place in range(len(box)) if abs(place - point) <= 2]
    sets: list[tuple[int, ...]] = [(place,) for place in near]
    if droppers:
        changed = {(place, point) for place in near} | {(droppers[0], place) for place in near}
        sets = sorted(one for one in changed if one[0] <= one[1])
    draws = drawn(DRAWS, len(box), len(steps(goal.longest(current, tackle))), 7)
    came = outcomes(current, tackle, box, sets, draws, goal)
    return candidates(box, sets, came, goal, [tackle] * len(sets))


@pytest.mark.slow
@pytest.mark.parametrize("outing", OUTINGS.OUTINGS, ids=lambda one: one.name)
def test_what_is_printed_is_still_advised(outing: Any) -> None:
    """Over other draws than those of the page: as good as the best, landed and touching as printed, within the draws."""
    ranked = rigs_now(outing)
    tied_on = tuple(reversed(PRINTED[outing.name]["tie on"].split(" under ")))
    printed = next(one for one in ranked if one.names == tied_on)
    assert printed.behind <= max(4 * printed.behind_doubt, 0.15)
    assert printed.touched == pytest.approx(touches(outing.name) / 10, abs=0.05 + 3 * 0.07)
    far = landing(outing.name)
    if np.isfinite(far) and np.isfinite(printed.landing):
        assert printed.landing == pytest.approx(far, abs=0.2, rel=0.25)
    else:
        assert printed.in_time == pytest.approx(0.8, abs=0.2)
