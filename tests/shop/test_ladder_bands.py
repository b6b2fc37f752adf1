"""The ladder's bands and ties.

Bands are the R10 series of preferred numbers, ISO 3:1973, in cm/s; ties follow from the uncertainty of a difference
(JCGM 100:2008, 5.1.2), worked out by hand. Flies are invented.
"""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from flybench.shop.speeds.ladder import LadderRung, band_of, ties_of
from flybench.statistics.comparing import DoubtPart, Repeat, Side, differ

R10 = ["10", "12.5", "16", "20", "25", "31.5", "40", "50", "63", "80"]
"""The series from ten to eighty as ISO 3 rounds it."""
BANDS = ["under 10", *(f"{low}-{high}" for low, high in pairwise(R10)), "80 up"]


@pytest.mark.parametrize("place", range(len(R10)))
def test_an_edge_belongs_to_the_band_above_it(place: int) -> None:
    edge = float(R10[place]) / 100
    assert band_of(edge) == BANDS[place + 1]
    assert band_of(edge - 1e-6) == BANDS[place]
    assert band_of(edge + 1e-6) == BANDS[place + 1]


def test_rounding_of_floats_moves_no_edge() -> None:
    """0.3150 m/s and the next floats below it are 31.5 cm/s to any measurement."""
    speed = 0.315
    for _ in range(3):
        speed = math.nextafter(speed, 0)
        assert band_of(speed) == "31.5-40"


def rung(code: str, speed: float, uncertainty: float) -> LadderRung:
    whole = DoubtPart("clip", Repeat.NOTHING, uncertainty)
    return LadderRung(code, code, Side(code, speed, (whole,), {}, {}))


def told_apart(one: LadderRung, other: LadderRung) -> bool:
    return differ(one.side, other.side)


def test_between_bands_is_where_the_interval_reaches_over_an_edge() -> None:
    assert rung("a", 0.26, 0.005).between_bands is False  # 25.0 to 27.0: 25 belongs to the band
    assert rung("b", 0.26, 0.006).between_bands is True
    assert rung("c", 0.31, 0.002).between_bands is False
    assert rung("d", 0.31, 0.0025).between_bands is True
    assert rung("e", 0.26, 0.005).band == "25-31.5"


def test_two_are_told_apart_beyond_twice_the_doubt_of_their_difference() -> None:
    """3, 4, 5: u of the difference is 0.0625, so 0.125 apart is not yet enough (powers of two, exact in floats)."""
    assert not told_apart(rung("a", 0.5, 0.0375), rung("b", 0.625, 0.05))
    assert told_apart(rung("a", 0.5, 0.0375), rung("b", 0.6251, 0.05))
    assert told_apart(rung("b", 0.6251, 0.05), rung("a", 0.5, 0.0375))
    assert not told_apart(rung("a", 0.5, 0.0), rung("b", 0.5, 0.0))


def test_ties_are_the_largest_groups_of_which_no_two_can_be_told_apart() -> None:
    """Each 0.01 wide: neighbours 0.02 apart tie (2 sqrt 2 x 0.01 = 0.028), those 0.04 apart do not."""
    chain = [rung(code, speed, 0.01) for code, speed in zip("abcd", (0.30, 0.32, 0.34, 0.50), strict=True)]
    assert ties_of(chain) == [["a", "b"], ["b", "c"]]
    close = [rung(code, speed, 0.01) for code, speed in zip("abcd", (0.30, 0.31, 0.32, 0.34), strict=True)]
    assert ties_of(close) == [["a", "b", "c"], ["c", "d"]]
    assert ties_of(chain[2:]) == []
    assert ties_of(chain[:1]) == []
    assert ties_of([]) == []


def test_a_group_is_of_all_its_pairs_not_of_neighbours_alone() -> None:
    """b is so vague that it ties with both, while a and c are sharp and far apart."""
    rungs = [rung("a", 0.30, 0.001), rung("b", 0.33, 0.05), rung("c", 0.36, 0.001)]
    assert ties_of(rungs) == [["a", "b"], ["b", "c"]]
    vague = [rung("a", 0.30, 0.05), rung("b", 0.33, 0.001), rung("c", 0.36, 0.001)]
    assert ties_of(vague) == [["a", "b"]]
    assert ties_of([rung("a", 0.30, 0.05), rung("b", 0.33, 0.05), rung("c", 0.36, 0.05)]) == [["a", "b", "c"]]


def test_what_two_rungs_share_is_no_doubt_of_which_is_faster() -> None:
    """By hand: 1 % of one card on both, 0.001 m/s of each: apart beyond 2 sqrt(2) x 0.001, not beyond 2 sqrt(2) x 0.0032."""

    def shared(code: str, speed: float, card: str) -> LadderRung:
        parts = (DoubtPart("drops", Repeat.DROPS, 0.001),)
        return LadderRung(code, code, Side(code, speed, parts, {}, {("card", card): 0.01 * speed}))

    assert told_apart(shared("a", 0.300, "mine"), shared("b", 0.304, "mine"))
    assert not told_apart(shared("a", 0.300, "mine"), shared("b", 0.304, "another"))
