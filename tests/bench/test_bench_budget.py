"""Every doubt that all drops share counts once, by the amount that its law says."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from flybench.bench.clip.clock import Clock
from flybench.bench.clip.container import DecodingTally
from flybench.bench.clip.orientation import Orientation
from flybench.bench.evaluate import evaluate
from flybench.bench.fit.fall import FallFit
from flybench.bench.sheet.settings import CameraSettings, Length, ScaleSettings, Settings, TankSettings
from flybench.bench.track.drop import Drop
from flybench.bench.track.observations import Observations
from flybench.bench.track.spotting import Spot
from flybench.bench.verdict.budget import FallInPixels, scale_uncertainty, shared_doubts
from flybench.bench.view.geometry import Geometry, ScalePoints, look
from flybench.bench.view.typed_points import typed_points

Floats = NDArray[np.float64]
PX = 0.25 / 1000
"""Metres a pixel: two points 1000 px and 250 mm apart."""
DOWN = np.array([0.0, 1.0])
EXACTLY = Length(0.5, 0.0)


@cache
def geometry(gap: float = 0.0, distance: Length | None = EXACTLY, readout: float | None = None) -> Geometry:
    """Return a view by two points of the fall plane, or ``gap`` [m] behind it, the camera 0.5 m away."""
    settings = Settings(
        291.15,
        tank=TankSettings(width=0.2, depth=0.14, wall=0.004, fall_plane=Length(0.07, 0.0)),
        camera=CameraSettings(distance, None, readout),
        scale=ScaleSettings(
            points=((539.5, 460.0), (539.5, 1460.0)), length=Length(0.25, 0.0005), gap=Length(gap, 0.0015)
        ),
    )
    return look(settings, typed_points(settings, (1080, 1920)))


CLOCK = Clock(1.0, 120.0, 0.0, 0, 2e-4)


def fall(view: Geometry, speed: float = 0.3, slant: float = 0.0) -> FallInPixels:
    """Return a fall from rest down the middle of the picture, as ideal pixels, fitted without any error."""
    t = np.arange(100) / 120.0
    tau = 0.2 * speed
    depth = speed * tau * np.log(np.cosh(t / tau))
    pixels = np.column_stack([539.5 + slant * depth / PX, 460.0 + depth / PX])
    places = view.places(pixels)
    drop = Drop(np.arange(100), t, places, -90.0, 300.0, 0.01, 0.006, np.zeros(100), False)
    seen = float(np.ptp(places[:, 1]) / np.ptp(depth)) * speed
    values = np.array([seen, math.log(tau), 0.0, places[0, 1]])
    used = np.ones(100, dtype=bool)
    fit = FallFit(t, places[:, 1], used, values, np.eye(4), 1e-5, 0.0, 0.0, 0.0, 0.0)
    return FallInPixels(drop, pixels, fit, DOWN)


def doubts(
    view: Geometry, falls: list[FallInPixels], clock: Clock = CLOCK, along: bool = False
) -> dict[str, Floats]:
    return shared_doubts(falls, view, clock, Orientation(1080, 1920, 0 if along else 1))


def test_a_longer_scale_makes_every_speed_faster_by_as_much() -> None:
    """All depths grow with it: u(length) / length, whatever the speed; +-1 mm (k = 2) on 250 mm."""
    view = geometry()
    found = doubts(view, [fall(view), fall(view, 0.2)])
    assert found["length between the points"] == pytest.approx([0.002, 0.002], rel=5e-3)


def test_the_clocks_doubt_is_that_of_every_speed() -> None:
    view = geometry()
    assert doubts(view, [fall(view), fall(view, 0.2)])["time base"].tolist() == [2e-4, 2e-4]


def test_gap_counts_over_the_apparent_distance() -> None:
    """The scale of the points is carried by A / (A + g / n); near-normal apparent depth, A = 0.5 + 0.004/1.49 + 0.07/n."""
    view = geometry()
    n = view.fall.index[-1]
    apparent = 0.5 + 0.004 / 1.49 + 0.07 / n
    found = doubts(view, [fall(view)])["gap between scale and fall"]
    assert abs(found[0]) == pytest.approx(0.0015 / n / apparent, rel=0.03)


@pytest.mark.parametrize("gap", [0.0, 0.03])
def test_camera_distance_counts_as_far_as_there_is_a_gap(gap: float) -> None:
    """u A' / (A (A + g / n)) with A' = g / n, near-normal; nought without a gap."""
    view = geometry(gap, Length(0.5, 0.0015))
    behind = gap / view.fall.index[-1]
    apparent = 0.5 + 0.004 / 1.49 + 0.07 / view.fall.index[-1]
    expected = 0.0015 * behind / (apparent * (apparent + behind))
    found = doubts(view, [fall(view)])["camera distance"][0]
    assert abs(found) == pytest.approx(expected, rel=0.1, abs=3e-5)


def test_a_guessed_distance_is_much_more_doubtful_than_a_typed_one() -> None:
    typed, guessed = geometry(0.03, Length(0.5, 0.0015)), geometry(0.03, None)
    small, large = (abs(doubts(view, [fall(view)])["camera distance"][0]) for view in (typed, guessed))
    assert large > 20 * small


def test_every_source_is_there_once() -> None:
    view = geometry()
    found = doubts(view, [fall(view)], along=True)
    assert set(found) == {
        "camera distance",
        "fall plane",
        "gap between scale and fall",
        "length between the points",
        "scale points",
        "card or camera not square to the fall",
        "time base",
        "rolling shutter",
        "vertical",
    }
    assert all(np.isfinite(doubt).all() and doubt.shape == (1,) for doubt in found.values())


@pytest.mark.parametrize(("rate", "longest"), [(120.0, 1 / 120), (30.0, 0.030), (24.0, 0.030)])
def test_unknown_readout_is_uniform_up_to_the_longest(rate: float, longest: float) -> None:
    """A readout evenly likely from -longest to longest has longest / sqrt(3) (JCGM 100:2008, 4.3.7)."""
    view = geometry()
    clock = replace(CLOCK, capture_rate=rate)
    found = doubts(view, [fall(view), fall(view, 0.2)], clock, along=True)["rolling shutter"]
    height = 1920 * PX
    speeds = np.array([0.3, 0.2])
    assert found == pytest.approx(speeds * longest / height / math.sqrt(3), rel=0.02)


@pytest.mark.parametrize(("along", "readout"), [(False, None), (True, 0.01), (False, 0.01)])
def test_known_or_harmless_readout_is_no_doubt(along: bool, readout: float | None) -> None:
    view = geometry(readout=readout)
    assert "rolling shutter" not in doubts(view, [fall(view)], along=along)


@pytest.mark.parametrize("slant", [0.0, 0.1, 0.3])
def test_a_slanting_path_is_doubted_by_what_the_slant_may_hide(slant: float) -> None:
    """Evenly likely between reading along the vertical and along the path: half a width over sqrt(3)."""
    view = geometry()
    found = doubts(view, [fall(view, slant=slant)])["vertical"]
    assert found[0] == pytest.approx((math.hypot(1.0, slant) - 1.0) / math.sqrt(3), abs=2e-5)


def test_the_slant_counts_no_more_than_at_sixty_degrees() -> None:
    view = geometry()
    steep = fall(view)
    places = np.column_stack([3.0 * steep.drop.places[:, 1], steep.drop.places[:, 1]])
    tilted = replace(steep, drop=replace(steep.drop, places=places))
    assert doubts(view, [tilted])["vertical"][0] == pytest.approx(1 / math.sqrt(3))


def joined_parts(parts: list[Floats], monkeypatch: pytest.MonkeyPatch) -> Floats:
    """Return what the budget makes of parts of one doubt, each the change of a fall on the left and of one on the right."""
    view = geometry()
    left = fall(view)
    right = replace(left, pixels=left.pixels + np.array([100.0, 0.0]))

    def stretched(part: Floats) -> Callable[[Floats], Floats]:
        return lambda pixels: view.places(pixels) * (1 + part[int(pixels[0, 0] > 600)])

    def changes(_: Geometry) -> Iterator[tuple[str, Callable[[Floats], Floats]]]:
        yield from (("made up", stretched(part)) for part in parts)

    monkeypatch.setattr("flybench.bench.verdict.budget.changes", changes)
    return doubts(view, [left, right])["made up"]


@pytest.mark.parametrize("way", [1, -1])
def test_parts_add_as_squares_under_the_sign_of_the_largest(
    way: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By hand: 0.3 % and 0.4 % make 0.5 %; the larger part makes one fall faster and the other slower."""
    parts = [np.array([0.003, 0.003]), np.array([0.004, -0.004])][::way]
    assert joined_parts(parts, monkeypatch) == pytest.approx([0.005, -0.005], rel=5e-3)


def by_card(bar: Length | None) -> Geometry:
    view = geometry()
    return replace(view, settings=replace(view.settings, scale=ScaleSettings(card=True, bar=bar)))


@pytest.mark.parametrize(
    ("bar", "expected"),
    [
        (None, 0.005),
        (Length(0.1, 0.0002), 0.002),
        (Length(0.094, 0.000094), math.hypot(0.06 / math.sqrt(3), 0.001)),
        (Length(0.090, 0.00018), math.hypot(0.1, 0.002)),
        (Length(0.111, 0.000111), math.hypot(0.11, 0.001)),
    ],
    ids=["not measured", "measured", "on letter paper", "read short", "read long"],
)
def test_the_print_of_a_card_is_as_doubtful_as_its_bar(bar: Length | None, expected: float) -> None:
    """By hand: +-1 % where nobody measured; else the ruler's, and all of what the bar is off by where no printer does that.

    A card for A4 fitted to letter paper is 6 % smaller (ISO 216, ANSI/ASME Y14.1); a bar so far off may as well have been
    misread, by anything up to that (JCGM 100:2008, 4.3.7).
    """
    view = by_card(bar)
    found = doubts(view, [fall(view), fall(view, 0.2)])["print size of the card"]
    assert found == pytest.approx([expected, expected], rel=5e-3)


def test_a_scale_by_points_has_no_print() -> None:
    assert "print size of the card" not in doubts(geometry(), [fall(geometry())])


@pytest.mark.parametrize(("lean", "off"), [(0.0, 0.0), (0.2, 0.0), (0.1, 0.1), (-0.1, 0.1), (0.25, 0.05)])
def test_falls_that_lean_alike_are_doubted_by_the_nearer_of_card_and_phone(lean: float, off: float) -> None:
    """A phone rolled by 0.2 rad against the card: by hand, 1 - cos of the angle to the nearer one, over root three."""
    settings, points = geometry().settings, geometry().scale_points
    turned = np.array([[0.0, 0.0], 0.25 * np.array([math.sin(0.2), math.cos(0.2)])])
    view = look(settings, ScalePoints(points.pixels, turned, points.size))
    straight = fall(geometry())
    down = np.array([math.sin(lean), math.cos(lean)])
    places = straight.drop.places[:, 1:] * down
    leaning = replace(straight, drop=replace(straight.drop, places=places), down=down)
    expected = (1 - math.cos(off)) / math.sqrt(3)
    assert doubts(view, [leaning])["vertical"] == pytest.approx([expected], rel=1e-3, abs=1e-9)


def test_a_slant_beside_the_others_and_one_with_them_add_as_squares() -> None:
    """By hand: all lean by 0.3 rad, and this one by 0.2 rad more, from its first place to its last, wherever that is."""
    view = geometry()
    straight, down = fall(view), np.array([math.sin(0.3), math.cos(0.3)])
    places = np.array([0.05, 0.02]) + straight.drop.places[:, 1:] * np.array([math.sin(0.5), math.cos(0.5)])
    places[[1, -2]] += 0.02
    leaning = replace(straight, drop=replace(straight.drop, places=places), down=down)
    expected = math.hypot(1 / math.cos(0.2) - 1, 1 - math.cos(0.3)) / math.sqrt(3)
    assert doubts(view, [leaning])["vertical"] == pytest.approx([expected], rel=1e-3)


def test_scale_has_the_doubts_of_the_scale_alone() -> None:
    """Root of the sum of squares of what the scale rests on; the clock or a slant is no part of it."""
    parts = {
        "length between the points": np.array([0.003, -0.003]),
        "scale points": np.array([0.004, 0.004]),
        "time base": np.array([0.5, 0.5]),
    }
    assert scale_uncertainty(parts) == pytest.approx(0.005)
    card = {"card corners": np.array([0.003]), "print size of the card": np.array([0.004])}
    assert scale_uncertainty(card) == pytest.approx(0.005)


def observed() -> Observations:
    """Return what an ideal clip of two falls would have shown."""
    view, spots = geometry(), []
    for number, start in enumerate((0.0, 2.0)):
        one = fall(view, 0.30 + 0.002 * number)
        for row, (x, y) in enumerate(one.pixels):
            time = start + row / 120.0
            spots.append(
                Spot(round(time * 120), time, x, y, 300.0, -90.0, 40.0, 24.0, 0.0, False, 200.0, 0.001, 0.5)
            )
    times = np.arange(360) / 120.0
    points = view.scale_points
    orientation = Orientation(1920, 1080)
    return Observations("ideal.mp4", "", orientation, None, times, 360, DecodingTally(360), points, [], spots)


@pytest.mark.slow
def test_doubts_shared_by_all_drops_do_not_average_out() -> None:
    """The budget's line of the scale is the same for two drops as for one, and in each drop's own uncertainty too."""
    seen = observed()
    both = evaluate(seen, geometry(), CLOCK).result
    one = evaluate(replace(seen, spots=seen.spots[:100]), geometry(), CLOCK).result
    lines = [{line.source: line.standard_uncertainty for line in result.budget} for result in (one, both)]
    for source in ("length between the points", "time base"):
        assert lines[0][source] == pytest.approx(lines[1][source], rel=0.02)
    assert lines[1]["length between the points"] == pytest.approx(0.002 * 0.301, rel=0.02)
    assert Counter(line.source for line in both.budget).most_common(1)[0][1] == 1
    scale = math.hypot(lines[1]["length between the points"], lines[1]["scale points"])
    assert both.scale_relative_uncertainty == pytest.approx(scale / 0.301, rel=0.02)
    for drop in both.used_drops:
        assert drop.fit is not None
        own = math.hypot(drop.fit.fit_uncertainty, drop.fit.history_uncertainty)
        shared = [value for name, value in lines[1].items() if name not in OWN]
        assert drop.uncertainty == pytest.approx(math.hypot(own, *shared), rel=0.02)


OWN = ("reading the track", "drop-to-drop spread", "history force")


@pytest.mark.slow
def test_budget_is_sorted_and_makes_the_stated_uncertainty() -> None:
    result = evaluate(observed(), geometry(), CLOCK).result
    sizes = [line.standard_uncertainty for line in result.budget]
    assert sizes == sorted(sizes, reverse=True)
    assert result.standard_uncertainty == pytest.approx(math.sqrt(sum(size**2 for size in sizes)))
    assert result.sink_speed == pytest.approx(0.301, rel=3e-3)


@pytest.mark.slow
@pytest.mark.parametrize("readout", [None, 0.008])
def test_a_part_cut_out_of_a_clip_may_have_been_read_along_the_fall(readout: float | None) -> None:
    """v T / (H sqrt(3)), T the longest readout or the typed one: nobody knows how the phone lay."""
    view = geometry(readout=readout)
    cut = replace(observed(), orientation=Orientation(1920, 1000))
    for seen, doubted in ((cut, True), (observed(), False)):
        lines = {line.source: line.standard_uncertainty for line in evaluate(seen, view, CLOCK).result.budget}
        assert ("rolling shutter" in lines) == doubted
        if doubted:
            expected = 0.301**2 * (readout or 1 / 120) / (1920 * PX) / math.sqrt(3)
            assert lines["rolling shutter"] == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize(
    ("bar", "doubt"), [(0.1, 0.0), (0.097, 0.0), (0.104, 0.04 / 3**0.5), (0.094, 0.06 / 3**0.5), (0.11, 0.1)]
)
def test_an_unusual_bar_may_have_been_misread(bar: float, doubt: float) -> None:
    """Evenly likely from minus to plus what it is off 100 mm by; beyond 7 % that much."""
    view = geometry()
    scale = ScaleSettings(card=True, bar=Length(bar, 0.0), gap=Length(0.0, 0.0))
    places = np.array([[x, y] for x in (0.0, 0.1) for y in np.linspace(0.0, 0.2, 5)])
    points = ScalePoints(places / PX + 100.0, places, (1080, 1920))
    card = look(replace(view.settings, scale=scale), points)
    assert doubts(card, [fall(view)])["print size of the card"][0] == pytest.approx(doubt, abs=1e-6)


def test_a_view_that_moved_the_card_gives_no_speed() -> None:
    result = evaluate(replace(observed(), flags=["card-in-two-places"]), geometry(), CLOCK).result
    assert result.sink_speed is None
    assert all(drop.flags[-1] == "card-in-two-places" for drop in result.drops)
