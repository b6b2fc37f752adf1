"""How flies enter, as it is typed: a word or an angle."""

from __future__ import annotations

import math
from typing import Any

import pytest

from flybench.errors import BadValueError
from flybench.shop.river.rig_texts import RigTexts
from flybench.shop.river.tackle_texts import tackle_from


def texts(**given: Any) -> RigTexts:
    return RigTexts(depth="1.2 m", surface_speed="0.6 m/s", **given)


@pytest.mark.parametrize("typed", ["60 deg", " 60deg", "60 degrees", "60°", "60.0 degree"])
def test_angle_is_typed_in_degrees(typed: str) -> None:
    tackle = tackle_from(texts(entry_angle=typed), 0)
    assert tackle.angle == pytest.approx(math.radians(60))
    assert tackle.usual_slack == pytest.approx(0.5)


def test_a_change_of_word_drops_the_angle_and_the_other_way_round() -> None:
    assert texts(entry_angle="30 deg").changed({"entry": "flat"}).entry_angle is None
    changed = texts(entry="flat").changed({"entry-angle": "30 deg"})
    assert tackle_from(changed, 0).angle == pytest.approx(math.radians(30))


@pytest.mark.parametrize(
    ("given", "message"),
    [
        (
            {"entry_angle": "60"},
            '--entry-angle: "60" is not an angle. Write it in degrees, for example "60 deg".',
        ),
        (
            {"entry_angle": "100 deg"},
            "--entry-angle: 100 deg is outside 0 to 90 deg. Give 0 deg for flat, 90 deg for straight down.",
        ),
        (
            {"entry_angle": "-5 deg"},
            '--entry-angle: "-5 deg" is not an angle. Write it in degrees, for example "60 deg".',
        ),
        (
            {"entry_angle": "30 deg", "entry": "steep"},
            '--entry-angle: "30 deg" is given beside --entry steep, which is an angle of its own. Give the one or the other.',
        ),
        (
            {"entry_angle": "30 deg", "entry": "flat"},
            '--entry-angle: "30 deg" is given beside --entry flat, which is an angle of its own. Give the one or the other.',
        ),
    ],
)
def test_angle_that_cannot_be_is_refused(given: dict[str, str], message: str) -> None:
    with pytest.raises(BadValueError) as caught:
        tackle_from(texts(**given), 0)
    assert str(caught.value) == message


def test_dropper_hangs_on_a_tag_of_10_cm_unless_another_is_typed() -> None:
    assert tackle_from(texts(), 1).tag == 0.1
    assert tackle_from(texts(dropper_tag="3 in"), 1).tag == pytest.approx(0.0762)
    with pytest.raises(BadValueError) as caught:
        tackle_from(texts(dropper_tag="50 cm"), 1)
    assert str(caught.value) == (
        "--dropper-tag: 50 cm is outside 0 to 30 cm. Give the way from the knot to the dropper; 0 cm for a fly on the leader "
        "itself."
    )


def test_leader_sinks_unless_it_is_said_to_float() -> None:
    assert not tackle_from(texts(), 0).floats
    assert tackle_from(texts(leader="floats"), 0).floats
    for given, message in (
        ({"leader": "swims"}, '--leader: "swims" is not known. Use one of sinks, floats.'),
        (
            {"leader": "floats", "hold": "tight"},
            "--leader: floats is given, but the line is held tight, so none of it lies on the water. Leave it out, or choose "
            "another --hold.",
        ),
    ):
        with pytest.raises(BadValueError) as caught:
            tackle_from(texts(**given), 0)
        assert str(caught.value) == message
