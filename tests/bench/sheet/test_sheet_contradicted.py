"""Slips of the sheet that the picture or plain sense contradicts: told, and carried or refused.

Corners are projected by ``tankview.optics``, which shares no code with the measuring side.
"""

from __future__ import annotations

import numpy as np
import pytest
from tankview import optics
from tankview.scene import Camera, Tank

from flybench.bench.sheet.read import read_sheet
from flybench.bench.view import card
from flybench.bench.view.geometry import Geometry, ScalePoints, changes, look
from flybench.bench.view.tank_view import scale_flags
from flybench.errors import BadValueError

TANK, GAP = Tank(), 0.012
SIZE = (540, 960)


def _sheet(distance: str = "480 mm", bar: str = "100 mm", **more: str) -> dict[str, dict[str, str]]:
    return {
        "water": {"temperature": "18 degC"},
        "tank": {"width": "200 mm", "depth": "140 mm", "wall": "4 mm"},
        "camera": {"distance": distance},
        "scale": {"card": "in water", "bar": bar, "gap": "12 mm"} | more,
    }


def _seen(tilt: float = 0.0, bow: float = 0.0, squeezed: float = 1.0) -> ScalePoints:
    """Return the corners that a camera at 480 mm sees, read to 0.03 px, of a card bowed by ``bow`` [m]."""
    places = np.concatenate([card.corners(0), card.corners(1)])
    places = places[places[:, 1] < 0.22]
    across = places[:, 0] - card.width() / 2
    depth = TANK.fall_plane + GAP + bow * (1 - (2 * across / card.width()) ** 2)
    camera = Camera(tilt_deg=tilt, distance=0.48)
    pixels = optics.project(np.column_stack([across, places[:, 1], depth]), camera, TANK)
    pixels = pixels + np.random.default_rng(3).normal(0, 0.03, pixels.shape)
    size = (SIZE[0], round(SIZE[1] * squeezed))
    inside = np.all((pixels > 0) & (pixels < SIZE), axis=1)
    return ScalePoints(pixels[inside] * [1.0, squeezed], places[inside], size)


def _length(geometry: Geometry, tilt: float, squeezed: float = 1.0) -> float:
    """Return how long 100 mm of the fall are read."""
    ends = np.array([[0.0, 0.07, TANK.fall_plane], [0.0, 0.17, TANK.fall_plane]])
    pixels = optics.project(ends, Camera(tilt_deg=tilt, distance=0.48), TANK) * [1.0, squeezed]
    top, bottom = geometry.places(pixels)
    return float(bottom[1] - top[1])


@pytest.mark.parametrize("bow", [0.0, 0.004])
@pytest.mark.parametrize("tilt", [0.0, 2.0, 8.0])
def test_a_good_card_is_not_taken_for_squeezed_nor_for_elsewhere(tilt: float, bow: float) -> None:
    geometry = look(read_sheet(_sheet()), _seen(tilt, bow))
    assert geometry.reason.aspect == 1.0
    assert geometry.reason.distance is None
    assert set(scale_flags(geometry)) <= {"perspective"}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("tilt", "typed"), [(1.0, "4.8 m"), (4.0, "0.96 m"), (4.0, "60 mm"), (8.0, "0.24 m")]
)
def test_a_distance_against_the_cards_perspective_is_told_and_the_seen_one_used(
    tilt: float, typed: str
) -> None:
    geometry = look(read_sheet(_sheet(typed)), _seen(tilt))
    assert geometry.reason.distance == pytest.approx(0.48, rel=0.15)
    assert "distance-doubt" in scale_flags(geometry)
    assert _length(geometry, tilt) == pytest.approx(0.100, rel=0.004)


def test_a_lens_that_no_phone_has_is_told_and_its_interval_holds_the_truth() -> None:
    """The camera looks square on, where the card's perspective shows nothing."""
    geometry = look(read_sheet(_sheet("4.8 m")), _seen())
    assert "distance-doubt" in scale_flags(geometry)
    pixels = optics.project(
        np.array([[0.0, 0.07, TANK.fall_plane], [0.0, 0.17, TANK.fall_plane]]), Camera(distance=0.48), TANK
    )
    spread = [
        float(places(pixels)[1, 1] - places(pixels)[0, 1])
        for name, places in changes(geometry)
        if "distance" in name
    ]
    read = _length(geometry, 0.0)
    assert abs(read - 0.100) > 0.001
    assert abs(read - 0.100) < 2 * abs(spread[0] - read)


@pytest.mark.slow
@pytest.mark.parametrize("squeezed", [0.98, 0.90, 1.10, 0.75])
def test_a_squeezed_picture_is_told_and_undone(squeezed: float) -> None:
    geometry = look(read_sheet(_sheet()), _seen(2.0, squeezed=squeezed))
    assert geometry.reason.aspect == pytest.approx(1 / squeezed, rel=0.002)
    assert "squeezed-picture" in scale_flags(geometry)
    assert "scale-doubt" not in scale_flags(geometry)
    assert _length(geometry, 2.0, squeezed) == pytest.approx(0.100, rel=0.003)


@pytest.mark.parametrize(
    ("bar", "flag"),
    [("100 mm", None), ("97 mm", "card-size"), ("94 mm", "card-size-unusual"), ("90 mm", "card-size-odd")],
)
def test_how_far_a_printer_changes_the_card(bar: str, flag: str | None) -> None:
    """279.4 / 297 mm is 0.94: A4 fitted to letter paper (ISO 216, ANSI/ASME Y14.1)."""
    assert scale_flags(look(read_sheet(_sheet(bar=bar)), _seen())) == ([] if flag is None else [flag])


def test_a_card_without_a_gap_is_told() -> None:
    tables = _sheet()
    del tables["scale"]["gap"]
    assert scale_flags(look(read_sheet(tables), _seen())) == ["gap-unknown"]


@pytest.mark.parametrize(
    ("gap", "flagged"), [("1.2 mm", True), ("0 mm", True), ("3 mm", False), ("12 mm", False)]
)
def test_a_gap_too_small_for_fly_and_hand_is_told_and_may_be_ten_times_as_large(
    gap: str, flagged: bool
) -> None:
    geometry = look(read_sheet(_sheet(gap=gap)), _seen())
    assert scale_flags(geometry) == (["gap-doubt"] if flagged else [])
    ends = np.array([[0.0, 0.07, TANK.fall_plane], [0.0, 0.17, TANK.fall_plane]])
    pixels = optics.project(ends, Camera(distance=0.48), TANK)
    read = _length(geometry, 0.0)
    moved = [
        float(places(pixels)[1, 1] - places(pixels)[0, 1]) - read
        for name, places in changes(geometry)
        if name == "gap between scale and fall"
    ]
    assert not flagged or abs(read - 0.100) > 0.001, "the gap is truly 12 mm"
    assert not flagged or abs(read - 0.100) < 2 * abs(moved[0])


WIDE = "Check the number and the unit after the +-; what stands there is how far off the value may be."
REFUSED = {
    (
        "scale",
        "gap",
        "-12 mm",
    ): "scale.gap: -12 mm puts the fly behind the card, and nobody sees through the card. "
    "Give the distance from the card to the fly without a minus.",
    (
        "scale",
        "gap",
        "12 mm +- 30 mm",
    ): f'scale.gap: "12 mm +- 30 mm" has an uncertainty larger than the value itself. {WIDE}',
    (
        "camera",
        "distance",
        "480 mm +- 5 m",
    ): f'camera.distance: "480 mm +- 5 m" has an uncertainty larger than the value itself. {WIDE}',
    (
        "scale",
        "bar",
        "99.6 mm +- 99.7 mm",
    ): f'scale.bar: "99.6 mm +- 99.7 mm" has an uncertainty larger than the value itself. {WIDE}',
    (
        "water",
        "temperature",
        "18 degC +- 18 degC",
    ): f'water.temperature: "18 degC +- 18 degC" has an uncertainty more than +- 10 K. {WIDE}',
    (
        "fly",
        "mass",
        "0.21 g +- 2 g",
    ): f'fly.mass: "0.21 g +- 2 g" has an uncertainty larger than the value itself. {WIDE}',
}


@pytest.mark.parametrize("typed", REFUSED)
def test_slips_that_need_no_picture(typed: tuple[str, str, str]) -> None:
    tables, (table, key, value) = _sheet(), typed
    tables.setdefault(table, {})[key] = value
    with pytest.raises(BadValueError) as refused:
        read_sheet(tables)
    assert str(refused.value) == REFUSED[typed]


def test_a_bar_has_no_place_beside_two_points() -> None:
    tables: dict[str, dict[str, object]] = {
        "water": {"temperature": "18 degC"},
        "scale": {"points": [[10, 10], [10, 500]], "length": "200 mm", "bar": "99.6 mm"},
    }
    with pytest.raises(BadValueError) as refused:
        read_sheet(tables)
    assert str(refused.value) == (
        "scale.bar: is given together with points. It is the card's bar; the distance between the two points is scale.length."
    )


def test_points_in_the_plane_of_the_fall_may_have_a_gap_of_nothing() -> None:
    sheet = read_sheet(
        {
            "water": {"temperature": "18 degC"},
            "scale": {"points": [[10, 10], [10, 500]], "length": "200 mm", "gap": "0 mm +- 4 mm"},  # type: ignore[dict-item]
        }
    )
    assert sheet.scale.gap.standard_uncertainty == pytest.approx(0.002)
    assert sheet.scale.gap_known
