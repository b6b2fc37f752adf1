"""What the pocket page says of its distances and its marks."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from flybench.paper.pocket_words import ADJUST, CAUTIONS, PocketRow, page_of
from flybench.quantity import Measured
from flybench.rig.advice.choosing import Candidate, Choice
from flybench.rig.odds.draws import best_estimate
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Tackle
from flybench.shop.river import pocket as pocket_tables
from flybench.shop.river.pocket import PocketChoice, PocketTable
from flybench.shop.river.rig_texts import RigTexts

LIGHT = RigFly("L1", Measured(0.05, 0.002), Measured(1e-4, 5e-6))
HEAVY = RigFly("H1", Measured(0.5, 0.02), Measured(7e-3, 1e-4))


def table(goal: Goal, *flags: str) -> PocketTable:
    choice = PocketChoice((("L1", 1.0),), 0, flags)
    return PocketTable(("1 m",), ("0.5 m/s",), (choice,), RigTexts(bed="gravel"), goal, HEAVY, (LIGHT,))


@pytest.mark.parametrize(("down", "words"), [(0.8, "8 of 10 drifts"), (0.6, "6 of 10 drifts")])
def test_distances_hold_for_the_wanted_share_of_drifts(down: float, words: str) -> None:
    told = (
        "Land the fly so far upstream of the fish as stands beside it, rounded up to 0.5 m: within that, it is down with "
        f"them in {words}"
    )
    page = page_of(table(Goal(down=down)))
    assert page.cautions == CAUTIONS
    assert page.reading == [f"{told}.", ADJUST]
    seldom = page_of(table(Goal(down=down), "seldom-down"))
    assert seldom.reading[0] == f"{told}, if no ~ stands there."


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (RigTexts(bed="gravel"), "steep."),
        (RigTexts(bed="gravel", entry="flat"), "flat."),
        (RigTexts(bed="gravel", entry_angle="20 deg"), "at 20 deg above the water."),
        (RigTexts(bed="gravel", slack="0.9", entry_speed="1 m/s"), "steep, slack 0.9, at 1 m/s downwards."),
    ],
)
def test_the_entry_is_told_as_typed(typed: RigTexts, words: str) -> None:
    asked = replace(table(Goal()), texts=typed)
    assert page_of(asked).holds_for[2].endswith(f" Entry: {words}")


def test_a_tag_that_was_typed_is_told() -> None:
    asked = replace(table(Goal()), texts=RigTexts(bed="gravel", dropper_tag=" 20 cm"))
    assert page_of(asked).holds_for[1].endswith("; dropper H1 0.5 m above the point on a tag of 20 cm.")


def test_a_leader_that_floats_and_a_line_that_is_held_back_are_told() -> None:
    asked = replace(table(Goal(), "held-back", "film-drag"), texts=RigTexts(bed="gravel", leader="floats"))
    page = page_of(asked)
    assert page.holds_for[1] == (
        "Leader: nylon, 0.15 mm, 2 times the depth in the water, at least 1.5 m, floating: its drag is known to a factor of "
        "two at best; dropper H1 0.5 m above the point."
    )
    assert page.cells[0].words() == ["L1 1 m <"]
    assert page.notes == [
        "< The line is led at less than 0.7 of the surface speed there, so the current lifts the flies."
    ]


@pytest.mark.parametrize(
    ("weight", "spread", "words"),
    [(2e-3, 1e-5, "0.204"), (6.5e-3, 2e-4, "0.66"), (2.5e-4, 1e-6, "0.025"), (9e-3, 5e-4, "0.92")],
)
def test_weights_are_told_in_grams(weight: float, spread: float, words: str) -> None:
    """By hand: 9.80665 mN hold up one gram (standard gravity, 3rd CGPM 1901)."""
    assert PocketRow("L1", Measured(0.2, 0.01), Measured(weight, spread)).weight_words == words


def test_a_point_under_a_heavier_dropper_is_marked() -> None:
    page = page_of(table(Goal(), "point-slower"))
    assert page.cells[0].words() == ["L1 1 m /"]
    assert page.notes == ["/ The point sinks slower than the dropper, and so trails above it."]


@pytest.mark.parametrize(
    ("flag", "note"),
    [
        ("dropper-in-air", "^ The dropper is tied so far up that it hangs in the air there."),
        ("tag-long", "& The dropper's tag reaches past the point, so the two flies catch in each other."),
    ],
)
def test_a_dropper_that_is_tied_badly_is_marked(flag: str, note: str) -> None:
    page = page_of(table(Goal(), flag))
    assert page.cells[0].words() == [f"L1 1 m {note[0]}"]
    assert page.notes == [note]


def test_a_fly_that_is_seldom_down_is_not_landed_farther_than_was_looked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """By hand: in the 15 s that are waited for flies, a line at 0.2 m/s goes 3 m, less than --farthest."""
    seldom = Candidate(
        (0,),
        ("H1",),
        Tackle(0.15e-3, 4.0),
        math.inf,
        2.0,
        0.3,
        0.01,
        0.6,
        0.02,
        0.3,
        0.5,
        0,
        0,
        0,
        0,
        0,
        False,
    )
    monkeypatch.setattr(pocket_tables, "choose", lambda *_, **__: Choice((seldom,), 1, best_estimate(1), ()))
    texts = RigTexts(bed="gravel", leader_length="4 m")
    found = pocket_tables.pocket_table([HEAVY], texts, ["2.5 m"], ["0.2 m/s"], lambda *_: None)
    assert found.choices == (PocketChoice((("H1", 3.0),), 0, ("seldom-down",), hard=True),)


def test_a_dropper_in_the_air_is_told_where_no_fly_reaches_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """By hand: 2 m from a tip of 1.5 m let the point down by 0.5 m, but no dropper 0.7 m above it on 0.1 m of tag."""
    monkeypatch.setattr(pocket_tables, "_reaching", lambda *_: [])
    texts = RigTexts(bed="gravel", hold="tight", leader_length="2 m", dropper_gap="0.7 m")
    found = pocket_tables.pocket_table([LIGHT], texts, ["1 m"], ["0.4 m/s"], lambda *_: None, dropper=HEAVY)
    assert [one.flags for one in found.choices] == [("leader-short", "dropper-in-air")]
