"""What weighed flies teach of beads, by hand: Gaussian conditionals worked out apart from the code."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from flybench.quantity import Measured
from flybench.sinking.drag.tied_fly import Build, MeasuredFly
from flybench.sinking.model.discrepancy import likeness
from flybench.sinking.model.known_weights import corrected, known_weights
from flybench.sinking.weight.by_parts import ByParts, by_parts
from flybench.sinking.weight.parts import SolidPart
from flybench.sinking.weight.submerged import SubmergedWeight, Way

AS_STATED = {"packet": 1.0, "rest": 1.0}
"""Doubts as large as stated."""
BUILD = Build("v", "p", "dubbed", 3e-3, 4e-3, 6e-3, 0.0, 5e-6, False)
NOTHING = Measured(0.0, 0.0)


def weight(
    over: float | None = None, packet: str = "B30", metal: str = "", gain: float = 0.0, own: float = 0.01
) -> SubmergedWeight:
    """Return a weight: of parts, all of it bead, or weighed at e^over times as much."""
    parts = ByParts(2e-3, packet, metal, 1.0, 0.04, 0.02)
    way = Way.FROM_PARTS if over is None else Way.WEIGHED_IN_WATER
    value = 2e-3 * math.exp(over or 0.0)
    shown = Measured(value, value * math.hypot(own, gain))
    return SubmergedWeight(way, shown, NOTHING, NOTHING, NOTHING, NOTHING, 998.0, (), gain, parts)


def fly(code: str, known: SubmergedWeight, kelvin: float = 291.15) -> MeasuredFly:
    """Return a fly dropped in one water."""
    return MeasuredFly(code, replace(BUILD, code=f"v{code}"), known, 0.4, 0.004, 0.002, kelvin, 0.0, 1, 5)


OWN = 0.01**2 + 0.02**2 + 0.015**2
"""Variance of what one fly tells of its packet: reading 1 %, rest 2 %, bead from bead 1.5 %."""


def test_a_packet_is_learned_as_a_mean_of_readings_is() -> None:
    """Conjugate normal law (any textbook): prior deviation 4 %, four flies a tenth heavier than their parts."""
    known = known_weights([fly(str(k), weight(0.1)) for k in range(4)], factors=AS_STATED)
    (packet,) = known.packets([fly(str(k), weight(0.1)) for k in range(4)])
    precision = 1 / 0.04**2 + 4 / OWN
    assert packet.code == "B30"
    assert packet.heavier == pytest.approx(0.1 * 4 / OWN / precision)
    assert packet.uncertainty == pytest.approx(precision**-0.5, rel=1e-6)
    assert packet.clear
    mean, variance, _ = known.beside(weight())
    assert mean == pytest.approx(-packet.heavier)  # parts say too little
    assert variance == pytest.approx(1 / precision + 0.02**2 + 0.015**2, rel=1e-6)
    shown = corrected(known, weight()).weight
    assert shown.value == pytest.approx(2e-3 * math.exp(packet.heavier))
    assert shown.standard_uncertainty == pytest.approx(shown.value * math.sqrt(variance))


def test_a_fly_dropped_in_two_waters_was_weighed_once() -> None:
    once, twice = [fly("a", weight(0.1))], [fly("a", weight(0.1)), fly("a", weight(0.1), 278.15)]
    one, both = (known_weights(each, factors=AS_STATED) for each in (once, twice))
    assert both.packets(twice)[0] == one.packets(once)[0]
    assert both.spread == pytest.approx(np.full((2, 2), one.spread[0, 0]))


def test_flies_of_one_packet_err_alike_by_their_parts() -> None:
    known = known_weights([fly("a", weight()), fly("b", weight()), fly("c", weight(packet="B40"))])
    spread = known.spread
    alike = (known.factors["packet"] * 0.04) ** 2
    assert spread[0, 1] == pytest.approx(alike, rel=1e-6)
    assert spread[0, 2] == pytest.approx(0.0, abs=1e-12)
    assert spread[0, 0] == pytest.approx(alike + known.factors["rest"] ** 2 * (0.02**2 + 0.015**2), rel=1e-6)


def test_another_packet_of_a_metal_learns_from_the_metal() -> None:
    """By hand, metal 5 %, packet 4 %: a share 25 / (25 + 16) of what a packet is off by is the metal's."""
    flies = [fly(str(k), weight(0.1, "B30", "brass", own=1e-4)) for k in range(400)]
    known = known_weights(flies, factors=AS_STATED)
    learned = known.packets(flies)[0].heavier
    mean, _, _ = known.beside(weight(packet="B40", metal="brass"))
    assert learned == pytest.approx(0.1, abs=0.001)
    assert -mean == pytest.approx(0.1 * 25 / 41, abs=0.001)
    assert known.beside(weight(packet="T40", metal="tungsten"))[0] == 0.0


def test_the_gain_of_the_scale_is_one_error_for_all() -> None:
    """What a scale shows too much of all flies it has taught of the packet too: both err together, so speeds do not."""
    flies = [fly(str(k), weight(0.0, gain=0.03, own=1e-4)) for k in range(200)]
    known = known_weights(flies, factors=AS_STATED)
    assert known.spread[0, 1] == pytest.approx(known.spread[0, 0], rel=0.01)
    _, variance, rows = known.beside(weight())
    own = 0.02**2 + 0.015**2
    assert variance - own == pytest.approx(rows[0], rel=0.01)
    assert rows[0] > 0.02**2


def test_packets_that_agree_narrow_what_is_not_known_of_others() -> None:
    """Ten packets, all as heavy as listed: the next is in less doubt than its own sizes say; ten off by 8 %, in more."""
    agreeing = [fly(str(k), weight(0.0, f"B{k}", own=0.001)) for k in range(10)]
    differing = [fly(str(k), weight(0.08 * (-1) ** k, f"B{k}", own=0.001)) for k in range(10)]
    less, more = (known_weights(each).factors["packet"] for each in (agreeing, differing))
    assert less < 0.6
    assert more > 1.2


def test_a_variant_left_out_has_its_parts_alone() -> None:
    flies = [fly("a", weight(0.1)), fly("b", weight(0.1))]
    left = known_weights(flies, "va", AS_STATED)
    alone = known_weights([fly("a", weight()), fly("b", weight(0.1))], factors=AS_STATED)
    assert left.shift == pytest.approx(alone.shift)
    assert left.spread == pytest.approx(alone.spread)


def test_bead_and_rest_are_kept_apart() -> None:
    """Archimedes by hand in water of 1000 kg/m3: bead 100 mg - 10 mg, hook 40 mg - 5 mg."""
    bead = SolidPart("bead", Measured(100e-6, 9e-6), Measured(10e-9, 0.0))
    hook = SolidPart("hook", Measured(40e-6, 2.5e-6), Measured(5e-9, 0.0))
    found = by_parts([hook, bead], 1000.0, "B30", "brass")
    assert found is not None
    assert found.weight == pytest.approx(9.80665 * 125e-6)
    assert (found.share, found.bead_doubt, found.rest_doubt) == pytest.approx((0.72, 0.1, 0.02))
    plain = by_parts([hook], 1000.0, "B30", "brass")
    assert plain is not None
    assert (plain.lot, plain.metal, plain.share, plain.rest_doubt) == ("", "", 0.0, pytest.approx(2.5 / 35))
    assert by_parts([SolidPart("foam", Measured(1e-6, 0.0), Measured(9e-9, 0.0))], 1000.0) is None


def test_likeness_falls_with_distance() -> None:
    """exp(-r^2 / 2), Rasmussen & Williams (2006), eq. 4.9: a bead larger by e^0.5 is one unit away."""
    larger = replace(BUILD, bead_diameter=3e-3 * math.exp(0.5))
    one, two = np.array([2e-3]), np.array([2e-3, 2e-3])
    assert likeness([BUILD], one, [BUILD, larger], two)[0] == pytest.approx([1.0, math.exp(-0.5)])
    assert likeness([BUILD], one, [replace(BUILD, hackle_turns=9.0)], one)[0, 0] == 1.0
