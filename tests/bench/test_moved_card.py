"""A card that is nearer or farther in a part of a clip, from the motions that its corners were followed by."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from flybench.bench.view.backdrop import as_bright_as
from flybench.bench.view.steadiness import MotionTracker, Steadiness, card_steadiness, step_of

Floats = NDArray[np.float64]
MIDDLE = np.array([270.0, 480.0])


@dataclass(frozen=True)
class Told(MotionTracker):
    """A tracker that tells the size it is handed as a picture: the card about the picture's middle."""

    def motion(self, picture: Floats, guess: Floats) -> Floats:
        size = float(picture)
        return np.column_stack([np.eye(2) * size, MIDDLE * (1.0 - size)])


def followed(*sizes: float) -> Steadiness:
    """Return what is made of a card of these sizes in the samples, the first being the reference."""
    anchors = np.array([[x, y] for x in (120.0, 420.0) for y in np.linspace(100.0, 860.0, 12)])
    return card_steadiness(Told(np.zeros((2, 2)), anchors), [np.array(size) for size in sizes])


@pytest.mark.parametrize("size", [0.964, 1.113, 0.993])
def test_a_card_moved_nearer_or_farther_is_told(size: float) -> None:
    """12 mm pushed back to 40 mm, seen from half a metre: 3.6 % smaller; and back again when two clips were joined."""
    found = followed(1.0, 1.0, 1.0, 1.0, 1.0, size, size, size, size, size)
    assert found.regrown
    assert found.jumped
    assert not found.still


def test_a_little_move_is_told_but_no_reason_to_refuse() -> None:
    found = followed(*[1.0] * 5, *[0.997] * 5)
    assert (found.regrown, found.jumped) == (False, True)


@pytest.mark.parametrize(
    "sizes",
    [
        [1.0] * 10,
        [1.0001, 0.9999, 1.0, 1.0001, 1.0, 0.9999, 1.0, 1.0, 1.0001, 1.0],
        list(1.0 + 0.02 * np.sin(np.arange(10))),
        list(1.0 + 0.002 * np.arange(10)),
    ],
    ids=["still", "noise", "a hand that sways", "a hand that sinks"],
)
def test_a_hand_or_a_still_phone_is_no_card_in_two_places(sizes: list[float]) -> None:
    found = followed(*sizes)
    assert not found.regrown
    assert not found.jumped


@pytest.mark.parametrize("light", [0.4, 1.3])
def test_a_lamp_switched_on_is_no_reason_to_doubt_a_still_card(light: float) -> None:
    """Squares of 110 and 35 grey levels on a mottled ground, seen darker or brighter in half of the samples."""
    rng = np.random.default_rng(3)
    squares = np.kron(rng.integers(0, 2, (24, 14)), np.ones((40, 40))) * 75.0 + 35.0
    reference = np.rint(squares + rng.normal(0, 2, squares.shape)).astype(np.uint8)
    anchors = np.array([[x, y] for x in range(80, 520, 40) for y in range(80, 900, 40)]) - 0.5
    lit = np.rint(np.clip(squares * light + rng.normal(0, 2, squares.shape), 0, 255)).astype(np.uint8)
    samples = [reference] * 5 + [lit] * 5
    found = card_steadiness(MotionTracker(reference, anchors), as_bright_as(reference, samples))
    assert (found.told, found.still, found.jumped) == (True, True, False)
    assert as_bright_as(reference, samples)[0] is reference


def test_a_step_is_one_of_places_as_of_numbers() -> None:
    """3 px across and 4 down are a step of 5; one that is no larger than four times what it rests by is none."""
    ahead = np.array([[0.0, 0.0], [0.1, 0.0], [0.0, 0.1], [3.0, 4.0], [3.1, 4.0], [3.0, 4.1]])
    assert step_of(ahead, 2) == pytest.approx(5.0, abs=0.05)
    assert step_of(ahead[:, 1], 2) == pytest.approx(4.0, abs=0.05)
    assert step_of(ahead, 2, most_rest=0.04) == 0.0
    assert step_of(ahead[:3], 2) == 0.0
    hand = np.column_stack([np.arange(6.0), np.zeros(6)])
    assert step_of(hand, 2) == 0.0
