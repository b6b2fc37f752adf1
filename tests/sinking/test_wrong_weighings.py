"""A weighing that contradicts the parts of its fly teaches next to nothing alone; several that agree teach. By hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from flybench.quantity import Measured
from flybench.sinking.drag.tied_fly import Build, MeasuredFly
from flybench.sinking.model.known_weights import KnownWeights, corrected, known_weights
from flybench.sinking.weight.by_parts import ByParts
from flybench.sinking.weight.submerged import SubmergedWeight, Way

BUILD = Build("v", "p", "dubbed", 3e-3, 4e-3, 6e-3, 0.0, 5e-6, False)
NOTHING = Measured(0.0, 0.0)
PARTS = 2e-3
"""What the parts of every fly here weigh in water [N]."""


def weight(over: float | None = None, packet: str = "B30") -> SubmergedWeight:
    """Return a weight of the parts, or weighed at e^over times as much: flagged beyond 15 %."""
    value = PARTS * math.exp(over or 0.0)
    way = Way.FROM_PARTS if over is None else Way.WEIGHED_IN_WATER
    flags = ("unlike-parts",) if abs(over or 0.0) > 0.15 else ()
    parts = ByParts(PARTS, packet, "brass", 1.0, 0.04, 0.02)
    shown = Measured(value, 0.01 * value)
    return SubmergedWeight(way, shown, NOTHING, NOTHING, NOTHING, NOTHING, 998.0, flags, 0.0, parts)


def shop(*overs: float | None) -> KnownWeights:
    flies = [
        MeasuredFly(str(k), replace(BUILD, code=f"v{k}"), weight(one), 0.4, 0.004, 0.002, 291.15, 0.0, 1, 5)
        for k, one in enumerate(overs)
    ]
    return known_weights(flies)


def heavier(known: KnownWeights, packet: str = "B30") -> float:
    """Return the logarithm of what a fly that was not tied yet weighs over its parts [-]."""
    return math.log(corrected(known, weight(packet=packet)).weight.value / PARTS)


@pytest.mark.parametrize("slip", [-1.3, -0.7, 0.7, 2.3])
def test_a_lone_slip_moves_little_and_widens(slip: float) -> None:
    known = shop(slip)
    assert known.wrong["0"] > 0.9
    assert abs(heavier(known)) < 0.06 * abs(slip)
    assert math.sqrt(known.beside(weight())[1]) > 0.2 * min(abs(slip), 1.3)
    # The fly's own weight is that of its parts, in doubt too, and in the same direction as that of others on its bead.
    assert slip - known.shift[0] == pytest.approx(0.0, abs=0.06 * abs(slip))
    assert known.beside(weight())[2][0] > 0.5 * known.spread[0, 0]


def test_a_slip_among_good_weighings_moves_nothing() -> None:
    with_slip, without = shop(0.05, 0.04, 0.06, -1.3), shop(0.05, 0.04, 0.06)
    assert with_slip.wrong == {"3": pytest.approx(1.0, abs=1e-3)}
    assert heavier(with_slip) == pytest.approx(heavier(without), abs=0.01)
    assert math.sqrt(with_slip.beside(weight())[1]) < 0.06


@pytest.mark.parametrize("off", [-0.5, 0.2, 0.5])
def test_several_that_contradict_their_parts_alike_teach(off: float) -> None:
    """Beads sold under a wrong name: four flies are as far off as each other, a fifth slipped."""
    known = shop(off, off + 0.02, off - 0.02, off, off - 1.5)
    assert all(known.wrong[str(k)] < 0.05 for k in range(4))
    assert known.wrong["4"] > 0.95
    assert heavier(known) == pytest.approx(off, rel=0.15)


def test_another_packet_is_not_in_doubt() -> None:
    slipped, plain = shop(-1.3), shop(None)
    variance, before = (one.beside(weight(packet="B40"))[1] for one in (slipped, plain))
    assert variance == pytest.approx(before, rel=0.3)


def test_many_slips_are_told_from_many_that_agree() -> None:
    known = shop(
        *[0.01 * (k % 3 - 1) for k in range(30)], *[(-1.0) ** k * (0.5 + 0.05 * k) for k in range(20)]
    )
    assert min(known.wrong.values()) > 0.99
    assert abs(heavier(known)) < 0.02
