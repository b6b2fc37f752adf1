"""Beads that are heavier than listed: predictions learn it from weighed flies, say so, and own up to their errors.

Truth: shops of ``fly_worlds``, whose drag follows other laws than the model's.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from fly_worlds import ROOM, BendingShop, Case

from flybench.shop.speeds.learning import Learned, learned_from
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.forecast import Forecast, forecast
from flybench.sinking.model.leave_one_out import leave_one_out
from flybench.sinking.model.shop_fit import fit_shop
from flybench.sinking.weight.submerged import SubmergedWeight
from flybench.telling.sink import learning

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "benchmarks"))
from truth_weights import foretold

HEAVIER, FLIES, ASKED = 0.3, 24, 30


@cache
def tied() -> tuple[list[Case], list[Case]]:
    shop = BendingShop(3, HEAVIER, weighed=1.0)
    return [shop.tie() for _ in range(FLIES)], [shop.tie() for _ in range(ASKED)]


@cache
def learned() -> Learned:
    known, asked = tied()
    return learned_from([one.measured for one in known], [one.measured.build for one in asked])


def found(learned: Learned, weights: list[SubmergedWeight]) -> list[Forecast]:
    return forecast(learned.shop, [one.measured.build for one in tied()[1]], weights, ROOM)


def bias(forecasts: list[Forecast]) -> float:
    return float(
        np.mean([np.log(one.speed / each.speed) for one, each in zip(forecasts, tied()[1], strict=True)])
    )


def unlinked(weight: SubmergedWeight) -> SubmergedWeight:
    """Return a weight of which it is not known what it stands on."""
    return replace(weight, by_parts=None)


@pytest.mark.slow
def test_predictions_learn_what_beads_weigh() -> None:
    known, asked = tied()
    apart = [replace(one.measured, weight=unlinked(one.measured.weight or one.parts)) for one in known]
    plain = learned_from(apart, [one.measured.build for one in asked])
    before = bias(found(plain, [unlinked(one.parts) for one in asked]))
    after = bias(found(learned(), [one.parts for one in asked]))
    assert before < -0.04
    assert abs(after) < 0.025


@pytest.mark.slow
def test_which_beads_are_heavier_is_told() -> None:
    told = " ".join(learning.lines(learned()))
    assert (
        "Weighed flies show that these beads weigh in water otherwise than their size and metal say" in told
    )
    clear = [one for one in learned().packets if one.clear]
    assert clear
    assert all(one.heavier > 0 for one in clear)
    assert all(f"{one.code} by " in told for one in clear)
    assert [one["code"] for one in learning.record(learned())["beads"]] == [
        one.code for one in learned().packets
    ]


@pytest.mark.slow
def test_predictions_beat_a_line_a_neighbour_and_a_plain_process() -> None:
    """Two shops of ten flies, as in benchmarks/truth_weights.py."""
    found = foretold("heavier beads", 10, 2)
    scores = {name: np.mean(each) for name, each in found.scores.items()}
    assert scores.pop("model") > max(scores.values()) + 0.2
    assert found.held(0.95) > 0.85


@pytest.mark.slow
def test_the_printed_error_is_that_of_a_fly_of_which_only_parts_are_known() -> None:
    """One variant's parts are wrong by a half, its weighing is right: the error grows by that, as an untied fly's would."""
    flies = [one.measured for one in tied()[0] if one.measured.weight is not one.parts]
    first = {one.build.code: one for one in flies}
    chosen = list(first.values())[:6]
    wrong = [_half_as_heavy(chosen[0]), *chosen[1:]]
    right_found, wrong_found = (leave_one_out(fit_shop(each)) for each in (chosen, wrong))
    assert right_found is not None and wrong_found is not None
    # ln 2 of weight is ln 2 / 2 of speed in one of six: at the least 0.2 more than the others, in squares.
    grown = wrong_found.rms**2 - right_found.rms**2
    assert grown > 0.5 * (np.log(2) / 2) ** 2 / 6


def _half_as_heavy(one: MeasuredFly) -> MeasuredFly:
    assert one.weight is not None and one.weight.by_parts is not None
    parts = replace(one.weight.by_parts, weight=one.weight.by_parts.weight / 2, lot="another", metal="lead")
    return replace(one, weight=replace(one.weight, by_parts=parts))
