"""A tight line as it is typed: tip, lead and length, and what is usual where nothing is typed."""

from __future__ import annotations

from typing import Any

import pytest

from flybench.errors import BadValueError
from flybench.shop.river.rig_texts import RigTexts
from flybench.shop.river.tackle_texts import hold_words, length_words, tackle_from


def texts(**given: Any) -> RigTexts:
    return RigTexts(**{"depth": "1.2 m", "surface_speed": "0.6 m/s", "hold": "tight"} | given)


def test_tight_line_takes_its_usual_tip_lead_and_length_from_the_water() -> None:
    tackle = tackle_from(texts(), 1)
    # 1.15 times the 1.5 m above the water and the 1.2 m in it, to the next 0.1 m; 0.8 of 0.6 m/s.
    assert (tackle.tip_height, tackle.length, tackle.lead_speed) == (1.5, 3.2, pytest.approx(0.48))
    assert tackle.reach == pytest.approx(1.7)
    assert tackle_from(texts(tip_height="5 ft"), 0).length == pytest.approx(3.2)
    assert tackle_from(texts(depth="4 m", tip_height="3 m"), 0).length == 6.0
    typed = tackle_from(texts(tip_height="80 cm", leader_length="2 m", lead_speed="1 ft/s"), 0)
    assert (typed.tip_height, typed.length, typed.lead_speed) == (0.8, 2.0, pytest.approx(0.3048))


def test_other_holds_have_no_tip() -> None:
    tackle = tackle_from(texts(hold="floating"), 0)
    assert (tackle.tip_height, tackle.tip, tackle.reach) == (None, 0.0, tackle.length)
    changed = texts(tip_height="2 m", lead_speed="0.4 m/s").changed({"hold": "led"})
    assert (changed.tip_height, changed.lead_speed) == (None, "0.4 m/s")
    assert texts(tip_height="2 m", lead_speed="0.4 m/s").changed({"hold": "floating"}).lead_speed is None


def test_length_and_hold_are_told_for_several_waters() -> None:
    assert length_words(texts()) == "1.15 times the tip's height above the bed"
    assert (
        hold_words(texts())
        == "tight from the rod's tip, 1.5 m above the water, led at 0.8 of the surface speed"
    )
    given = texts(tip_height="5 ft", lead_speed="1 ft/s", leader_length=" 9 ft ")
    assert length_words(given) == "9 ft from the rod's tip to the point"
    assert hold_words(given) == "tight from the rod's tip, 5 ft above the water, led at 1 ft/s"
    led = RigTexts(hold="led", lead_speed="0.5 m/s", leader_length="2 m")
    assert (length_words(led), hold_words(led)) == ("2 m in the water", "at the surface: led at 0.5 m/s")
    assert length_words(RigTexts()) == "2 times the depth in the water, at least 1.5 m"


@pytest.mark.parametrize(("depth", "length"), [("0.4 m", 1.5), ("2.5 ft", 1.6), ("1.2 m", 2.4), ("4 m", 6.0)])
def test_leader_is_as_long_as_the_depth_wants_it(depth: str, length: float) -> None:
    # Twice the depth, to the next 0.1 m, 1.5 m at least and 6 m at the most.
    assert tackle_from(texts(depth=depth, hold="floating"), 0).length == pytest.approx(length)


@pytest.mark.parametrize(
    ("given", "message"),
    [
        (
            {"hold": "led", "lead_speed": "0.4 m/s", "tip_height": "1 m"},
            '--tip-height: "1 m" is given, but the line is led, not held tight. Leave it out, or add --hold tight.',
        ),
        (
            {"tip_height": "20 ft"},
            "--tip-height: 20 ft is outside 0.6562 to 13.12 ft. Give the height of the rod's tip above the water.",
        ),
        (
            {"leader_length": "160 cm"},
            "--leader-length: 160 cm from the rod's tip to the point does not reach 20 cm under water from a tip 150 cm "
            "above it. Let out more line, or hold the tip lower (--tip-height).",
        ),
        (
            {"leader_length": "9 m"},
            "--leader-length: 9 m is outside 0.3 to 6 m. Count from the rod's tip to the point.",
        ),
        (
            {"dropper_gap": "4 m"},
            "--dropper-gap: 4 m is outside 0.05 to 3.15 m. The leader is 3.2 m long from the rod's tip: tie the dropper "
            "within it.",
        ),
    ],
)
def test_tight_line_that_cannot_be_is_refused(given: dict[str, str], message: str) -> None:
    with pytest.raises(BadValueError) as caught:
        tackle_from(texts(**given), 1)
    assert str(caught.value) == message


def test_no_more_of_a_tight_line_lies_loose_than_the_tip_leaves() -> None:
    # Of 3.2 m, 1.5 m reach straight down from the tip: 1.7 m, 53 %, can lie loose.
    assert tackle_from(texts(slack="0.53"), 0).slack == 0.53
    with pytest.raises(BadValueError) as caught:
        tackle_from(texts(slack="0.6"), 0)
    assert str(caught.value) == (
        "--slack: 0.6 of the line cannot lie loose, for 1.50 m of its 3.20 m reach straight down to the water. Give 0.53 at "
        "the most, or let out more line."
    )
    assert tackle_from(texts(slack="0.9", hold="floating"), 0).slack == 0.9
