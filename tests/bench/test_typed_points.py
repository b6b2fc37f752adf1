"""Two typed points: brought to the clip's own picture, and what they cannot tell flagged and carried."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq
from sheets import refusal_of

from flybench.bench.clip.orientation import Orientation
from flybench.bench.fit.fall import fit_fall
from flybench.bench.sheet.settings import CameraSettings, Length, Point, ScaleSettings, Settings, TankSettings
from flybench.bench.track.drop import Drop
from flybench.bench.verdict.budget import FallInPixels
from flybench.bench.verdict.points_doubt import points_doubts
from flybench.bench.view.geometry import look
from flybench.bench.view.tank_view import scale_flags
from flybench.bench.view.typed_points import typed_points
from flybench.errors import BadValueError
from flybench.hydraulics.round_column import widening

Floats = NDArray[np.float64]
SIZE = (540, 960)
FROM_THE_PHONE, PHONE_SIZED, CUT = Orientation(540, 960, 3), Orientation(960, 540), Orientation(960, 404)
DOWN, ACROSS = ((270.0, 150.0), (270.0, 850.0)), ((90.0, 480.0), (450.0, 480.0))
ABOVE = ((135.0, 75.0), (135.0, 425.0))
"""The points of DOWN in a picture of half the size."""


def settings(
    points: tuple[Point, Point], picture: tuple[int, int] | None = None, round_by: float | None = None
) -> Settings:
    tank = TankSettings(None if round_by else 0.2, None if round_by else 0.14, round_by)
    scale = ScaleSettings(points=points, length=Length(0.12, 0.0005), picture=picture)
    return Settings(291.15, tank=tank, camera=CameraSettings(Length(0.5)), scale=scale)


def told(given: Settings, orientation: Orientation = FROM_THE_PHONE) -> tuple[dict[str, float], list[str]]:
    """Return what two points leave open of a fall down the middle of the clip's picture."""
    view = look(given, typed_points(given, (orientation.width, orientation.height)))
    t = np.arange(60) / 60.0
    pixels = np.column_stack([np.full(60, orientation.width / 2), 90.0 + 800.0 * t])
    places = view.places(pixels)
    fit = fit_fall(t, places[:, 1], 1e-5)
    drop = Drop(np.arange(60), t, places, -90.0, 300.0, 0.01, 0.006, np.zeros(60), False)
    return points_doubts(view, [FallInPixels(drop, pixels, fit, np.array([0.0, 1.0]))], orientation)


def test_points_of_a_smaller_picture_are_brought_to_the_clips_size() -> None:
    """The middle of pixel 0 of a picture of half the size lies at 0.5 of the whole one: 2 (x + 1/2) - 1/2."""
    given = settings(ABOVE, (270, 480))
    seen = typed_points(given, SIZE)
    assert seen.pixels == pytest.approx(np.array([[270.5, 150.5], [270.5, 850.5]]))
    assert scale_flags(look(given, seen)) == ["points-rescaled"]
    same = settings(DOWN, SIZE)
    assert scale_flags(look(same, typed_points(same, SIZE))) == []


def test_points_of_a_picture_of_another_shape_are_refused() -> None:
    with pytest.raises(BadValueError) as turned:
        typed_points(settings(((100.0, 20.0), (100.0, 500.0)), (960, 540)), SIZE)
    assert str(turned.value) == (
        "scale.picture: 960 x 540 is of another shape than the clip's picture, which is 540 x 960 px upright. Read the "
        "points off a picture of the whole clip: flybench bench still writes one."
    )
    with pytest.raises(BadValueError) as outside:
        typed_points(settings(DOWN, (270, 480)), SIZE)
    assert str(outside.value) == (
        "scale.points: [270, 150] lies outside the picture, which is 270 x 480 px upright. Read the pixels off the "
        "upright first frame; x runs right and y down from the top left corner."
    )


def test_what_is_no_size_of_a_picture_is_refused() -> None:
    two = {"scale__card": None, "scale__points": [[10, 10], [10, 300]], "scale__length": "120 mm"}
    for wrong in ("540", "540 x", "0 x 0", 540):
        assert refusal_of(**two, scale__picture=wrong) == (
            f"scale.picture: {wrong!r} is not the size of a picture. Write its width and height in pixels, for example "
            'picture = "540 x 960".'
        )
    assert refusal_of(scale__picture="540 x 960") == (
        "scale.picture: is given without points. It is the size of the picture that the two points were read off; leave "
        "it out with the card."
    )


def test_points_that_may_be_of_a_smaller_picture_are_doubted_by_as_much() -> None:
    """Read off half the size, the speed comes out twice as high: half of it is too much, and k = 2 covers that."""
    doubts, flags = told(settings(ABOVE))
    assert flags == ["points-of-another-picture"]
    assert 2 * doubts["picture that the points are of"] > 0.5
    for clean in (settings(DOWN), settings(ABOVE, SIZE)):
        assert told(clean) == ({}, [])


def test_points_across_are_doubted_only_where_a_program_may_have_squeezed_the_picture() -> None:
    """540 squeezed to 404: a scale across is then 1.34 times too large, and 2 u covers a quarter of that."""
    across = settings(((60.0, 480.0), (340.0, 480.0)))
    doubts, flags = told(across, CUT)
    assert flags == ["points-across"]
    assert 1 - 404 / 540 < 2 * doubts["shape of the picture"] < 0.4
    assert told(settings(ACROSS), FROM_THE_PHONE) == ({}, [])
    assert told(settings(((200.0, 100.0), (200.0, 900.0))), CUT) == ({}, [])


def test_a_phones_size_is_no_proof_where_the_turn_is_gone() -> None:
    """Three to four squeezed to nine to sixteen: a scale across makes speeds a third too high, a quarter of what is read."""
    doubts, flags = told(settings(ACROSS), PHONE_SIZED)
    assert flags == ["points-across"]
    assert 1 - (9 / 16) / (3 / 4) < 2 * doubts["shape of the picture"] < 0.3
    assert told(settings(DOWN), PHONE_SIZED) == ({}, [])
    assert told(settings(ACROSS), Orientation(SIZE[0], SIZE[1])) == ({}, [])


def test_points_across_a_round_column_are_doubted_by_what_its_lens_may_do() -> None:
    doubts, flags = told(settings(ACROSS, round_by=0.19))
    assert flags == ["round-column"]
    assert 2 * doubts["lens of the round column"] > 0.13
    assert told(settings(DOWN, round_by=0.19)) == ({}, [])


@pytest.mark.parametrize(("radius", "distance"), [(0.075, 0.5), (0.05, 0.3)])
def test_near_the_axis_a_round_column_magnifies_as_the_paraxial_formula_has_it(
    radius: float, distance: float
) -> None:
    """Refraction at one sphere, object in its centre's plane: (n D + R) / (D + R) times as wide as in a flat tank."""
    found = widening(radius, distance, 1.333, 1e-5)
    assert found == pytest.approx((1.333 * distance + radius) / (distance + radius), rel=1e-4)


@pytest.mark.parametrize("aside", [0.02, 0.045, 0.06])
def test_the_lens_of_a_round_column_by_vectors(aside: float) -> None:
    """The same ray, its bend by Snell's law in vector form (Glassner 1989), solved for by scipy."""
    radius, distance, n = 0.075, 0.5, 1.333

    def crossed(slope: float) -> float:
        ray = np.array([slope, 1.0]) / math.hypot(slope, 1.0)
        from_axis = np.array([0.0, -(distance + radius)])
        along = -from_axis @ ray - math.sqrt((from_axis @ ray) ** 2 - from_axis @ from_axis + radius**2)
        met = from_axis + along * ray
        normal = met / radius
        cosine = -normal @ ray
        bent = ray / n + (cosine / n - math.sqrt(1.0 - (1.0 - cosine**2) / n**2)) * normal
        return float(met[0] - met[1] / bent[1] * bent[0])

    slope = brentq(lambda one: crossed(one) - aside, 1e-6, 0.13, xtol=1e-14)
    sine = slope / math.hypot(slope, 1.0) / n
    flat = distance * slope + radius * sine / math.sqrt(1.0 - sine**2)
    assert widening(radius, distance, n, aside) == pytest.approx(flat / aside, rel=1e-8)


def test_a_picture_cut_or_squeezed_is_told_by_its_size() -> None:
    whole = [
        Orientation(960, 540),
        Orientation(1920, 1080),
        Orientation(1080, 1920, 3),
        Orientation(848, 478),
    ]
    assert all(one.is_whole for one in whole)
    cut = [Orientation(540, 300), Orientation(1080, 608), Orientation(960, 404), Orientation(1280, 1080)]
    assert not any(one.is_whole for one in cut)
    assert replace(cut[0], quarter_turns=1).is_whole is False
