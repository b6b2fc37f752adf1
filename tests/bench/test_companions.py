"""What falls beside a fly: a true second fly is told, a piece of the same one and the noise of a dim picture are not."""

from __future__ import annotations

import numpy as np
from followed import RATE, Seen, found, spot

from flybench.bench.track.drops import find_drops
from flybench.bench.track.joining import join
from flybench.bench.track.observations import PlacedSpots

FALL = Seen((0.0, 0.9), (0.0, 0.27))


def test_two_flies_side_by_side_are_told() -> None:
    """26 mm apart at one speed, and 12 mm apart where one is 3 % faster than the other."""
    for other in (Seen((0.0, 0.9), (0.0, 0.27), x=0.026), Seen((0.0, 0.9), (0.0, 0.278), x=0.012)):
        drops = found(FALL, other).drops
        assert [drop.together for drop in drops] == [True, True]


def test_two_pieces_of_one_fly_are_one_fly() -> None:
    """Bead and tail of a dim fly, 7 mm apart all the way down."""
    findings = found(FALL, Seen((0.0, 0.9), (0.007, 0.277), area=250.0, contrast=-70.0))
    assert [drop.together for drop in findings.drops] == [False]
    assert findings.drops[0].contrast == -90.0
    assert findings.left_out == {"fell with the fly and as a part of it (more light shows it whole)": 1}


def test_a_pale_fly_that_falls_on_before_a_dark_ground_is_no_second_fly() -> None:
    """Below the card it is the brighter one: another thing to look at, but it begins when and where the fly should be."""
    upper, lower = Seen((0.0, 0.65), (0.0, 0.195)), Seen((0.7, 0.9), (0.21, 0.27), contrast=40.0)
    findings = found(upper, lower)
    assert [float(drop.contrast) for drop in findings.drops] == [-90.0]
    assert findings.left_out == {"was the rest of a fall, before another ground": 1}
    for other in (
        Seen((0.7, 0.9), (0.21, 0.27), x=0.03, contrast=40.0),
        Seen((1.1, 1.3), (0.21, 0.27), contrast=40.0),
    ):
        assert [float(drop.contrast) for drop in found(upper, other).drops] == [-90.0, 40.0]


def by_turns(other: tuple[int, ...]) -> list[bool]:
    """Return whether each drop is told to have had company: in the frames named the other end of the fly was seen."""
    missing = tuple(frame for frame in range(55) if frame not in other)
    first = Seen((0.0, 0.9), (0.0, 0.27), missing=other)
    return [drop.together for drop in found(first, Seen((0.0, 0.9), (0.0035, 0.2735), missing=missing)).drops]


def test_a_fly_seen_now_as_this_and_now_as_that_is_one() -> None:
    assert by_turns(tuple(range(3, 50, 2))) == [False]
    assert by_turns(tuple(range(20, 23))) == [False]


def test_noise_that_leaps_about_beside_the_fly_is_no_second_fly() -> None:
    """Specks of a dim picture, now here and now there within 4 mm, on their way down by chance."""
    rng = np.random.default_rng(3)
    rows = []
    for frame in range(55):
        depth = 0.3 * frame / RATE
        rows.append((spot(frame, FALL), (0.0, depth)))
        rows.append((spot(frame, Seen((0.0,), (0.0,), contrast=-80.0)), (0.03 + rng.normal(0, 0.002), depth)))
    spots = [one for one, _ in rows]
    places = np.array([place for _, place in rows]) + 5e-5 * rng.normal(size=(len(rows), 2))
    sightings = PlacedSpots(spots, np.array([one.clip_time for one in spots]), places)
    findings = find_drops(sightings, join(sightings), 4e-4)
    assert [drop.together for drop in findings.drops if abs(drop.places[0, 0]) < 0.01] == [False]
