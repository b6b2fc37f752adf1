"""The scale in a sheet: two points and the length between them, or the card, and never both."""

from __future__ import annotations

from typing import Any

import pytest
from sheets import refusal_of, sheet_of

from flybench.bench.sheet.settings import (
    Length,
)


def test_points() -> None:
    sheet = sheet_of(scale__card=None, scale__points=[[120, 80], [120, 900.5]], scale__length="250 mm")
    assert sheet.scale.points == ((120.0, 80.0), (120.0, 900.5))
    assert sheet.scale.length == Length(pytest.approx(0.25), 0.0005)
    assert sheet.scale.source == "points"


@pytest.mark.parametrize(
    ("points", "problem"),
    [
        ([[1, 2]], "[[1, 2]] is not two points"),
        ([[1, 2], [3, 400], [5, 6]], "[[1, 2], [3, 400], [5, 6]] is not two points"),
        ([[1, 2, 3], [4, 5, 6]], "[[1, 2, 3], [4, 5, 6]] is not two points"),
        ("12", "'12' is not two points"),
        (5, "5 is not two points"),
        ([], "[] is not two points"),
        ([{"x": 1, "y": 2}, {"x": 3, "y": 4}], "[{'x': 1, 'y': 2}, {'x': 3, 'y': 4}] is not two points"),
        ([[1, 2], [3, 10**400]], f"[[1, 2], [3, {10**400}]] is not two points"),
    ],
)
def test_what_is_not_two_points(points: Any, problem: str) -> None:
    said = refusal_of(scale__card=None, scale__points=points, scale__length="250 mm")
    cure = "Write for example points = [[120, 80], [120, 900]], in pixels of the upright first frame."
    assert said == f"scale.points: {problem}. {cure}"


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_points_that_are_not_finite(value: float) -> None:
    said = refusal_of(scale__card=None, scale__points=[[0, 0], [0, value]], scale__length="250 mm")
    assert said == (
        f"scale.points: [[0, 0], [0, {value}]] holds a number that is not finite. Give pixels of the upright "
        "first frame."
    )


def test_points_need_their_length() -> None:
    assert refusal_of(scale__card=None, scale__points=[[0, 0], [0, 500]]) == (
        'scale.length: is missing; the true distance between the points is needed. Write for example length = "250 mm" '
        "under [scale] in the sheet, or give it as an option."
    )


def test_no_scale_at_all() -> None:
    assert refusal_of(scale__card=None) == (
        "scale: is missing, so that nobody knows how large a pixel is. Print the card (flybench bench card), stand it in "
        'the tank and write card = "in water" under [scale]; or give points and length.'
    )


def test_scale_given_twice() -> None:
    both = {"scale__points": [[0, 0], [0, 500]], "scale__length": "250 mm"}
    assert refusal_of(**both) == (
        "scale: is given both as a card and as points. Keep one of them: a clip has one scale."
    )
    assert refusal_of(scale__length="250 mm") == (
        "scale.length: is given together with a card. It is the distance between two points; what a ruler says of "
        "the card's bar is scale.bar."
    )


def test_points_too_near_each_other() -> None:
    assert refusal_of(scale__card=None, scale__points=[[0, 0], [3, 4]], scale__length="250 mm") == (
        "scale.points: lie 5 px apart. Give two different points at least 20 px apart, better a whole picture's height."
    )
