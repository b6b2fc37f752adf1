"""What a phone that moved adds to the budget, against the same sums done by hand."""

from __future__ import annotations

import math

import pytest
from test_bench_budget import fall, geometry

from flybench.bench.verdict.sway import BREATHING, NEARER, SWAY, breath_doubts, sway_doubts


def test_a_still_phone_adds_nothing() -> None:
    view = geometry()
    assert sway_doubts(["few-drops"], [fall(view)], view) == {}


def test_sway_that_nobody_could_see_is_two_draws_over_the_length_of_the_fall() -> None:
    """Two independent places of 4 mm differ by root two times 4 mm."""
    view = geometry()
    one = fall(view)
    length = float(one.drop.places[-1, 1] - one.drop.places[0, 1])
    found = sway_doubts(["steadiness-unknown"], [one, one], view)[SWAY]
    assert found == pytest.approx([math.sqrt(2.0) * 0.004 / abs(length)] * 2)


def test_of_sway_that_was_followed_the_parallax_stays() -> None:
    """A thing behind the fall seems to move less by its way behind, shortened by the water, over that from the lens."""
    view = geometry()
    settings, one = view.settings, fall(view)
    plane, n = view.fall.thickness[2], view.fall.index[-1]
    away = max(plane, (settings.tank.depth_along_view or 2 * plane) - plane)
    near = sum(part / index for part, index in zip(view.fall.thickness, view.fall.index, strict=True))
    whole = sway_doubts(["steadiness-unknown"], [one], view)[SWAY]
    assert not settings.scale.card
    assert sway_doubts(["hand-held"], [one], view)[SWAY] == pytest.approx(whole * away / n / near)


def test_a_phone_nearer_or_farther_is_told_as_far_as_it_was_watched() -> None:
    """4 mm over the distance where nobody can tell; where it was followed the parallax of 2 % end to end; pushed, 5 %."""
    view = geometry()
    one = fall(view)
    near = sum(part / index for part, index in zip(view.fall.thickness, view.fall.index, strict=True))
    parallax = (
        sway_doubts(["hand-held"], [one], view)[SWAY] / sway_doubts(["steadiness-unknown"], [one], view)[SWAY]
    )
    wanted = {
        ("hand-held",): float(parallax[0]) * 0.02 / math.sqrt(12.0),
        ("steadiness-unknown",): 0.004 / near,
        ("hand-held", "size-unwatched"): 0.004 / near,
        ("card-moved", "size-unwatched"): 0.05,
    }
    for flags, doubt in wanted.items():
        assert sway_doubts([*flags], [one, one], view)[NEARER] == pytest.approx([doubt] * 2)
    assert NEARER not in sway_doubts(["card-moved"], [one], view)


def test_a_picture_that_breathes_is_a_doubt_of_the_drops_that_fell_meanwhile() -> None:
    """Half the width of an even distribution over the root of three (JCGM 100:2008, 4.3.7)."""
    assert breath_doubts([0.0, 0.012])[BREATHING] == pytest.approx([0.0, 0.012 / math.sqrt(3.0)])
    assert breath_doubts([0.0, 0.0]) == {}
