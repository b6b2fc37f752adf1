"""Beliefs about depth and speed by hand: intervals on a few points, counts at their ends, grids of what is known."""

from __future__ import annotations

from dataclasses import astuple

import numpy as np
import pytest

from flybench.errors import BadValueError
from flybench.quantity import Floats
from flybench.rig.advice.touches import Belief, HowOften, Interval, Touches, updated_belief

EVEN = np.exp(np.arange(4.0))
"""Four points, each e times the one before: their logarithms are 0, 1, 2, 3."""


def logs(found: Interval) -> Floats:
    return np.log(astuple(found))


def test_four_even_points_have_their_interval_in_closed_form() -> None:
    """Each point stands for half a step to either side: -0.5 to 3.5, of which tenths are 0.4 wide."""
    one = np.ones(1)
    share = np.full(4, 0.25)
    assert logs(Belief(EVEN, one, share[:, None]).depth_interval) == pytest.approx([-0.1, 1.5, 3.1])
    assert logs(Belief(one, EVEN, share[None, :]).speed_interval) == pytest.approx([-0.1, 1.5, 3.1])


def test_uneven_shares_count_as_they_are_whatever_they_add_up_to() -> None:
    """By hand, shares 1, 4, 4, 1: a tenth ends with the first point, half with the second, nine tenths with the third."""
    share = np.array([1.0, 4.0, 4.0, 1.0])
    assert logs(Belief(EVEN, np.ones(1), share[:, None]).depth_interval) == pytest.approx([0.5, 1.5, 2.5])


def test_a_product_is_sorted_into_forty_one_bins() -> None:
    """By hand, bins of w = 3/41: 0, 1, 2, 3 lie in the bins 0, 13, 27 and 40, within which shares are even."""
    share, w = np.array([[0.2, 0.45, 0.2, 0.15]]), 3 / 41
    expected = [0.5 * w, (13 + 0.3 / 0.45) * w, (40 + 0.05 / 0.15) * w]
    assert logs(Belief(np.ones(1), EVEN, share).product_interval) == pytest.approx(expected)
    assert logs(Belief(EVEN, np.ones(1), share.T).product_interval) == pytest.approx(expected)


def test_a_product_of_two_points_or_of_one() -> None:
    """By hand, shares 0.6 and 0.4 in the first and the last of 41 bins; a single point is known exactly."""
    found = Belief(np.ones(1), EVEN[:2], np.array([[0.6, 0.4]])).product_interval
    assert logs(found) == pytest.approx([0.1 / 0.6 / 41, 0.5 / 0.6 / 41, (40 + 0.3 / 0.4) / 41])
    alone = Belief(np.array([2.0]), np.array([0.5]), np.ones((1, 1))).product_interval
    assert astuple(alone) == pytest.approx((1.0, 1.0, 1.0))


def test_a_single_drift_that_touched_always_or_never_is_a_count() -> None:
    chance = np.array([0.2, 0.7])
    assert Touches(1, 1).log_likelihood(chance) == pytest.approx(np.log(chance))
    assert Touches(1, 0).log_likelihood(chance) == pytest.approx(np.log(1 - chance))
    assert Touches(1, HowOften.ALWAYS).log_likelihood(chance) == pytest.approx(np.log(chance))
    assert Touches(1, HowOften.NEVER).log_likelihood(chance) == pytest.approx(np.log(1 - chance))
    assert Touches(2, HowOften.SOMETIMES).log_likelihood(chance) == pytest.approx(
        np.log(2 * chance * (1 - chance))
    )
    for touched in (0, 3):
        assert Touches(3, touched).touched == touched


@pytest.mark.parametrize(
    ("drifts", "said", "message"),
    [
        (
            3,
            -1,
            "touched: -1 of 3 drifts cannot have touched. Count each drift once, however often it touched.",
        ),
        (-1, 0, "drifts: -1 drifts say nothing. Give 1 or more."),
        (0, HowOften.NEVER, "drifts: 0 drifts say nothing. Give 1 or more."),
    ],
)
def test_counts_below_nothing_are_refused(drifts: int, said: int | HowOften, message: str) -> None:
    with pytest.raises(BadValueError) as refused:
        Touches(drifts, said)
    assert str(refused.value) == message


def test_ten_thousand_drifts_weigh_by_their_differences() -> None:
    """By hand: two points as likely before; 5000 of 10 000 are e^d times as likely at 0.5 as at 0.49, whatever the size."""
    belief = Belief(np.array([1.0, 2.0]), np.ones(1), np.array([[0.5], [0.5]]))
    later = updated_belief(belief, np.array([[0.5], [0.49]]), Touches(10_000, 5000)).share[:, 0]
    assert later.sum() == pytest.approx(1.0)
    assert np.log(later[0] / later[1]) == pytest.approx(5000 * np.log(0.25 / (0.49 * 0.51)))
    sure = updated_belief(belief, np.array([[0.5], [0.01]]), Touches(10_000, 5000)).share[:, 0]
    assert sure.tolist() == [1.0, 0.0]
