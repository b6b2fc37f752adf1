"""Leaders, flies and how they are written; what cannot be is refused in words."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from flybench.errors import BadValueError
from flybench.hydraulics.water import Water
from flybench.quantity import Measured
from flybench.rig.tackle.diameter import parse_diameter
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Entry, Hold, LeaderMaterial, Rig, Tackle

FLY = RigFly("fly", Measured(0.3, 0.01), Measured(2e-3, 1e-4))


@pytest.mark.parametrize(
    ("text", "thou"),
    # The rule of eleven: X number and thousandths of an inch make 11; common practice, no source.
    [
        ("0X", 11),
        ("3x", 8),
        ("5X", 6),
        ("6X", 5),
        ("8 X", 3),
        ("5 thou", 5),
        ("0.005 in", 5),
        ("0.127 mm", 5),
    ],
)
def test_diameters_are_read_as_people_write_them(text: str, thou: int) -> None:
    assert parse_diameter(text) == pytest.approx(thou * 25.4e-6, rel=1e-12)


RANGE = "outside 0.05 to 0.6 mm."


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "1.2",
            'diameter: "1.2" has no unit: it may be millimetres or inches. Write it with its unit, for example "0.15 mm", '
            '"0.006 in", "6 thou" or "5X".',
        ),
        ("0.13 in", f'diameter: "0.13 in" is 3.302 mm, {RANGE} Did you mean mm instead of in?'),
        ("0.006 mm", f'diameter: "0.006 mm" is 0.006 mm, {RANGE} Did you mean in instead of mm?'),
        ("5 in", f'diameter: "5 in" is 127 mm, {RANGE} Did you mean thou instead of in?'),
        ("0.15 cm", f'diameter: "0.15 cm" is 1.5 mm, {RANGE} Did you mean mm instead of cm?'),
        ("0.005 thou", f'diameter: "0.005 thou" is 0.000127 mm, {RANGE} Did you mean in instead of thou?'),
        ("1.2 mm", f'diameter: "1.2 mm" is 1.2 mm, {RANGE} Give the diameter of the leader or tippet.'),
        (
            "12X",
            'diameter: "12X" would be -1 thousandths of an inch; X numbers go from 0X to 8X. Give the diameter '
            'itself, for example "0.08 mm".',
        ),
        ("thin", 'diameter: "thin" is not a length. Write it with its unit, for example "0.15 mm".'),
    ],
)
def test_a_mixed_up_unit_is_told(text: str, message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        parse_diameter(text)
    assert str(refused.value) == message


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (
            lambda: Tackle(0.15e-3, 1.0, (1.2,)),
            "dropper gap: 1.2 m above the point is farther up than the leader of 1 m reaches. Tie the dropper nearer to "
            "the point, or let more leader into the water.",
        ),
        (
            lambda: Tackle(0.15e-3, 2.0, (0.4, 0.8)),
            "droppers: 0.4 m and 0.8 m above the point do not stand one above the other. Give the upper dropper first, at "
            "least 0.05 m higher.",
        ),
        (lambda: Tackle(0.15e-3, 2.0, (1.2, 0.8, 0.4)), "droppers: 3 are given. Use none, one or two."),
        (
            lambda: Tackle(0.15, 2.0),
            f"leader diameter: 0.15 m is 150 mm, {RANGE} Give the diameter of the leader or tippet.",
        ),
        (
            lambda: Tackle(0.15e-3, 2.0, hold=Hold.LED),
            'lead speed: is missing for a line that is led. Give it, for example "0.5 m/s".',
        ),
        (
            lambda: Tackle(0.15e-3, 2.0, lead_speed=0.4),
            "lead speed: 0.4 m/s is given, but the line is floating. Leave it out, or say that the line is led (hold).",
        ),
        (
            lambda: Tackle(0.15e-3, 2.0, hold=Hold.TIGHT, tip_height=1.5),
            'lead speed: is missing for a line that is held tight. Give it, for example "0.5 m/s".',
        ),
        (
            lambda: Tackle(0.15e-3, 2.0, hold=Hold.TIGHT, lead_speed=0.4),
            "tip height: is missing for a line that is held tight. Give it, for example 1.5 m.",
        ),
        (
            lambda: Tackle(0.15e-3, 2.0, tip_height=1.5),
            "tip height: 1.5 m is given, but the line is floating. Leave it out, or say that the line is held tight (hold).",
        ),
        (
            lambda: Tackle(0.15e-3, 2.0, hold=Hold.TIGHT, lead_speed=0.4, tip_height=5.0),
            "tip height: 5 is outside 0.2 to 4 m. Give the height of the rod's tip above the water.",
        ),
        (
            lambda: Tackle(0.15e-3, 1.5, hold=Hold.TIGHT, lead_speed=0.4, tip_height=1.4),
            "leader length: 1.5 m from the rod's tip to the point does not reach 0.2 m under water from a tip 1.4 m above "
            "it. Let out more line, or hold the tip lower.",
        ),
        (
            lambda: Tackle(0.15e-3, 2.0, slack=1.5),
            "slack: 1.5 is outside 0 to 0.97. Give the share of the leader that is loose, 0 to 0.97.",
        ),
        (
            lambda: RigFly("cork", Measured(-0.1, 0.0), Measured(1e-3, 0.0)),
            "fly cork: has a sink speed of -0.1 m/s, so it floats. A rig needs flies that sink. Measure how fast it sinks "
            "and weigh it in water.",
        ),
        (
            lambda: RigFly("air", Measured(0.2, 0.0), Measured(0.0, 0.0)),
            "fly air: has a weight of 0 N in water, so it floats. A rig needs flies that sink. Measure how fast it sinks and "
            "weigh it in water.",
        ),
        (
            lambda: RigFly("mix", Measured(0.2, 0.0), Measured(2.0, 0.0)),
            "fly mix: weight in water 2 is outside 2e-05 to 0.1 N. Check the number and its unit.",
        ),
        (
            lambda: RigFly("swap", Measured(0.2, 0.0), Measured(2e-3, 0.0), 1e-4),
            "fly swap: weighs no more in air (0.000981 N) than in water (0.002 N). Check both weights.",
        ),
        (
            lambda: Rig(Tackle(0.15e-3, 2.0, (0.5,)), (FLY,)),
            "flies: 1 given for 2 places on the leader. Give one fly for each dropper, and the point last.",
        ),
    ],
)
def test_what_cannot_be_is_refused(make: Callable[[], object], message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        make()
    assert str(refused.value) == message


@pytest.mark.parametrize("gaps", [(), (0.5,), (1.1, 0.3), (0.06,), (1.94, 0.05)])
def test_every_fly_has_a_node_where_it_hangs(gaps: tuple[float, ...]) -> None:
    layout = Tackle(0.15e-3, 2.0, gaps).layout()
    assert len(layout.lengths) == 12
    assert layout.total == pytest.approx(2.0)
    places = np.concatenate([[0.0], np.cumsum(layout.lengths)])[list(layout.nodes)]
    np.testing.assert_allclose(2.0 - places, [*gaps, 0.0], atol=1e-12)


def test_line_weighs_what_its_material_does() -> None:
    water = Water(293.15)
    nylon, fluorocarbon = (
        Tackle(0.2e-3, 2.0, material=material).line(water)
        for material in (LeaderMaterial.NYLON, LeaderMaterial.FLUOROCARBON)
    )
    area = np.pi * 0.2e-3**2 / 4
    assert nylon.weight == pytest.approx((1140 - water.density) * 9.80665 * area)
    assert fluorocarbon.weight > 5 * nylon.weight


def test_the_usual_entries() -> None:
    assert Tackle(0.15e-3, 2.0, entry=Entry.FLAT).usual_slack == 0
    assert Tackle(0.15e-3, 2.0, entry=Entry.STEEP).usual_slack == 0.6
    assert Tackle(0.15e-3, 2.0, slack=0.3).usual_slack == 0.3


def test_mass_of_a_fly_that_was_weighed_dry() -> None:
    fly = RigFly("fly", Measured(0.3, 0.0), Measured(2e-3, 0.0), 0.3e-3)
    volume = (0.3e-3 - 2e-3 / 9.80665) / 1000.0
    assert fly.moving_mass(1000.0) == pytest.approx(0.3e-3 + 0.5 * 1000.0 * volume)
