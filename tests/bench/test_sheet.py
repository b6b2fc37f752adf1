"""The bench sheet: what is read from it, what is taken where it is silent, and what is refused."""

from __future__ import annotations

from typing import Any

import pytest

from flybench.bench.sheet.keys import OTHERS, QUANTITIES
from flybench.bench.sheet.read import read_sheet
from flybench.bench.sheet.settings import (
    BAR_UNCERTAINTY,
    TEMPERATURE_UNCERTAINTY,
    TYPED_UNCERTAINTY,
    Length,
    Settings,
)
from flybench.errors import BadValueError

LEAST: dict[str, dict[str, Any]] = {"water": {"temperature": "18 degC"}, "scale": {"card": "in water"}}


def _tables(**changes: Any) -> dict[str, dict[str, Any]]:
    """Return the least sheet with ``table__key`` set, or left out where None."""
    tables = {table: dict(keys) for table, keys in LEAST.items()}
    for name, value in changes.items():
        table, key = name.split("__")
        if value is None:
            tables[table].pop(key)
        else:
            tables.setdefault(table, {})[key] = value
    return tables


def _sheet(**changes: Any) -> Settings:
    return read_sheet(_tables(**changes))


def _refusal(**changes: Any) -> str:
    with pytest.raises(BadValueError) as caught:
        _sheet(**changes)
    return str(caught.value)


def test_whole_sheet_in_si_units() -> None:
    """The example of the contract, converted by hand."""
    sheet = _sheet(
        water__salinity="2 g/kg",
        tank__width="200 mm",
        tank__depth="140 mm",
        tank__wall="4 mm",
        tank__wall_material="acrylic",
        tank__fall_plane="70 mm",
        camera__distance="620 mm",
        camera__capture_rate="240 Hz",
        camera__readout="8 ms",
        scale__gap="12 mm",
        scale__bar="99.6 mm",
        fly__code="reed-14",
        fly__mass="0.21 g",
        fly__volume="22 mm**3",
        fly__bead="2.8 mm",
    )
    assert sheet.temperature == pytest.approx(291.15)
    assert sheet.salinity == pytest.approx(0.002)
    assert (sheet.tank.width, sheet.tank.depth, sheet.tank.wall) == pytest.approx((0.2, 0.14, 0.004))
    assert sheet.tank.shortest_side == pytest.approx(0.14)
    assert sheet.tank.fall_plane == Length(pytest.approx(0.07), TYPED_UNCERTAINTY)
    assert sheet.camera.distance == Length(pytest.approx(0.62), TYPED_UNCERTAINTY)
    assert (sheet.camera.capture_rate, sheet.camera.readout) == pytest.approx((240.0, 0.008))
    assert sheet.scale.gap == Length(pytest.approx(0.012), TYPED_UNCERTAINTY)
    assert sheet.scale.bar == Length(pytest.approx(0.0996), BAR_UNCERTAINTY)
    assert sheet.scale.source == "card"
    assert sheet.fly.code == "reed-14"
    assert sheet.fly.mass == pytest.approx((0.00021, 0.0000021))
    assert sheet.fly.volume == pytest.approx((22e-9, 1.1e-9))
    assert sheet.fly.bead == pytest.approx(0.0028)


def test_least_sheet() -> None:
    sheet = _sheet()
    assert sheet.temperature_uncertainty == TEMPERATURE_UNCERTAINTY
    assert sheet.salinity == 0.0
    assert sheet.tank.shortest_side is None
    assert sheet.camera.distance is None
    assert sheet.scale.gap == Length(0.0)
    assert sheet.scale.bar is None
    assert sheet.fly.mass is None


@pytest.mark.parametrize("sign", ["+-", "±", "+/-"])
def test_own_uncertainty_is_expanded(sign: str) -> None:
    """What the user writes is k = 2; a temperature's is a difference."""
    sheet = _sheet(camera__distance=f"620 mm {sign} 5 mm", water__temperature=f"18 degC {sign} 1 degC")
    assert sheet.camera.distance == Length(pytest.approx(0.62), pytest.approx(0.0025))
    assert sheet.temperature_uncertainty == pytest.approx(0.5)


def test_exact_is_kept_exact() -> None:
    assert _sheet(camera__distance="620 mm +- 0 mm").camera.distance == Length(pytest.approx(0.62), 0.0)
    assert _sheet(water__temperature="18 degC +- 0 degC").temperature_uncertainty == 0.0


def test_points() -> None:
    sheet = _sheet(scale__card=None, scale__points=[[120, 80], [120, 900.5]], scale__length="250 mm")
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
    said = _refusal(scale__card=None, scale__points=points, scale__length="250 mm")
    cure = "Write for example points = [[120, 80], [120, 900]], in pixels of the upright first frame."
    assert said == f"scale.points: {problem}. {cure}"


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_points_that_are_not_finite(value: float) -> None:
    said = _refusal(scale__card=None, scale__points=[[0, 0], [0, value]], scale__length="250 mm")
    assert said == (
        f"scale.points: [[0, 0], [0, {value}]] holds a number that is not finite. Give pixels of the upright "
        "first frame."
    )


def test_points_need_their_length() -> None:
    assert _refusal(scale__card=None, scale__points=[[0, 0], [0, 500]]) == (
        'scale.length: is missing; the true distance between the points is needed. Write for example length = "250 mm" '
        "under [scale] in the sheet, or give it as an option."
    )


def test_no_scale_at_all() -> None:
    assert _refusal(scale__card=None) == (
        "scale: is missing, so that nobody knows how large a pixel is. Print the card (flybench bench card), stand it in "
        'the tank and write card = "in water" under [scale]; or give points and length.'
    )


ALONG: dict[str, dict[str, Any]] = {
    "scale.length": {"scale__card": None, "scale__points": [[0, 0], [0, 500]]},
    "scale.gap": {"camera__distance": "620 mm", "tank__depth": "140 mm"},
}
"""What a key needs beside it."""


@pytest.mark.parametrize("key", QUANTITIES)
def test_every_quantity_says_when_its_unit_is_missing_or_wrong(key: str) -> None:
    """The example that the message shows is accepted itself."""
    example, name, along = QUANTITIES[key].example, key.replace(".", "__"), ALONG.get(key, {})
    said = _refusal(**along, **{name: 12})
    assert said == f'{key}: 12 has no unit. Write it with its unit, for example "{example}".'
    assert _refusal(**along, **{name: "12 A"}).startswith(f'{key}: "12 A" ')
    _sheet(**along, **{name: example})


GAP = "distance from the card (or the points) to where the fly falls, positive when the fly is nearer the camera"
BEYOND = {
    "water.temperature": (
        "60 degC",
        '60 degC is outside 0 to 40 degC. Give the temperature of the water in the tank, for example "18 degC".',
    ),
    "water.salinity": (
        "50 g/kg",
        '50 g/kg is outside 0 to 42 g/kg. Give the salt in the water, by mass; tap water has none, for example "0 g/kg".',
    ),
    "tank.width": (
        "6 m",
        '6 m is outside 0.02 to 5 m. Give the inner width of the tank, across the view, for example "200 mm".',
    ),
    "tank.depth": (
        "1 cm",
        '1 cm is outside 2 to 500 cm. Give the inner depth of the tank, from front to back, for example "140 mm".',
    ),
    "tank.diameter": (
        "19 mm",
        '19 mm is outside 20 to 5000 mm. Give the inner diameter of a round column, for example "190 mm".',
    ),
    "tank.wall": (
        "60 mm",
        '60 mm is outside 0 to 50 mm. Give the thickness of the front wall, for example "4 mm".',
    ),
    "tank.fall_plane": (
        "-1 mm",
        "-1 mm is outside 0 to 5000 mm. Give the distance from the inside of the front wall to where the fly falls, "
        'for example "70 mm".',
    ),
    "camera.distance": (
        "62 m",
        "62 m is outside 0.05 to 10 m. Give the distance from the lens to the outside of the tank's front wall, "
        'for example "620 mm".',
    ),
    "camera.capture_rate": (
        "0.5 Hz",
        "0.5 Hz is outside 1 to 10000 Hz. Give the frames a second at which the camera took the pictures, "
        'for example "240 Hz".',
    ),
    "camera.readout": (
        "8 s",
        "8 s is outside 0 to 0.1 s. Give the time that the sensor takes to read a picture, first row to last, "
        'for example "8 ms".',
    ),
    "scale.bar": (
        "99.6 cm",
        "99.6 cm is outside 5 to 15 cm. Give the length of the card's 100 mm bar, measured with a ruler, "
        'for example "99.6 mm".',
    ),
    "scale.length": (
        "6 m",
        '6 m is outside 0.001 to 5 m. Give the true distance between the two points, for example "250 mm".',
    ),
    "scale.gap": ("-2 ft", f'-2 ft is outside -1.64 to 1.64 ft. Give the {GAP}, for example "12 mm".'),
    "fly.mass": (
        "210 g",
        '210 g is outside 0.0001 to 50 g. Give what the scale shows for the fly in air, for example "0.21 g".',
    ),
    "fly.mass_in_water": (
        "0 mg",
        "0 mg is outside 0.1 to 50000 mg. Give what the scale shows with the fly under water, "
        'for example "0.188 g".',
    ),
    "fly.volume": (
        "22 ml",
        '22 ml is outside 0.00001 to 10 ml. Give the volume of the soaked fly, for example "22 mm**3".',
    ),
    "fly.bead": (
        "28 mm",
        '28 mm is outside 0.5 to 20 mm. Give the diameter of the bead, for example "2.8 mm".',
    ),
}
"""What is typed beyond a key's limits, and what is said: in the unit typed, converted by hand (1 ft is 0.3048 m)."""


@pytest.mark.parametrize("key", QUANTITIES)
def test_every_quantity_says_its_limits_in_the_unit_typed(key: str) -> None:
    written, said = BEYOND[key]
    assert _refusal(**ALONG.get(key, {}), **{key.replace(".", "__"): written}) == f"{key}: {said}"


UNUSED = ("water.salinity", "tank.width", "tank.depth", "tank.wall", "tank.diameter", "camera.capture_rate")


@pytest.mark.parametrize("key", [*UNUSED, "camera.readout", "fly.bead"])
def test_an_uncertainty_that_nothing_is_done_with_is_refused(key: str) -> None:
    example = QUANTITIES[key].example
    said = _refusal(**{key.replace(".", "__"): f"{example} +- 1 {example.split()[1]}"})
    assert said == (
        f'{key}: "{example} +- 1 {example.split()[1]}" has an uncertainty, and none is used here. Write "{example}".'
    )


@pytest.mark.parametrize("key", [*QUANTITIES, *OTHERS])
def test_a_slip_of_the_pen_is_recognised(key: str) -> None:
    table, name = key.split(".")
    slip = f"{table}.{name}s" if f"{table}.{name}s" not in OTHERS else f"{table}.{name}x"
    said = _refusal(**{slip.replace(".", "__"): "1 m"})
    assert said == f"{slip}: is not a key of the bench sheet. Did you mean {key}?"


def test_key_like_no_other() -> None:
    said = _refusal(fly__zzzzzzzzz="1")
    known = "fly.mass, fly.mass_in_water, fly.volume, fly.bead, fly.code"
    assert said == f"fly.zzzzzzzzz: is not a key of the bench sheet. Known keys: {known}."


def test_value_outside_any_table() -> None:
    with pytest.raises(BadValueError) as caught:
        read_sheet({**LEAST, "distance": "620 mm"})  # type: ignore[dict-item]
    assert str(caught.value) == (
        "distance: stands outside any table. Write it under [water], [tank], [camera], [scale] or [fly]."
    )


def test_round_column() -> None:
    tank = _sheet(tank__diameter="190 mm").tank
    assert tank.depth_along_view == tank.shortest_side == pytest.approx(0.19)
    assert _refusal(tank__diameter="190 mm", tank__depth="140 mm") == (
        "tank.diameter: is given together with tank.width or tank.depth. Give the diameter of a round column, or "
        "width and depth of a square tank."
    )
    assert _refusal(tank__diameter="190 mm", tank__fall_plane="191 mm") == (
        "tank.fall_plane: 191 mm lies outside the tank, which is 190 mm deep. Measure from the inside of the front "
        "wall to where the fly falls."
    )


def test_gap_needs_distance_and_depth() -> None:
    why = "without it, the gap between scale and fly cannot be corrected for"
    how = "in the sheet, or give it as an option"
    assert _refusal(scale__gap="12 mm", tank__depth="140 mm") == (
        f'camera.distance: is missing; {why}. Write for example distance = "620 mm" under [camera] {how}.'
    )
    assert _refusal(scale__gap="12 mm", camera__distance="500 mm") == (
        f'tank.depth: is missing; {why}. Write for example depth = "140 mm" under [tank] {how}.'
    )
    assert _sheet(scale__gap="12 mm", camera__distance="500 mm", tank__fall_plane="70 mm").scale.gap.value > 0
    assert _sheet(scale__gap="0 mm").scale.gap.value == 0.0


@pytest.mark.parametrize("gap", ["71 mm", "-71 mm", "7.1 cm"])
def test_gap_that_leaves_the_tank(gap: str) -> None:
    said = _refusal(scale__gap=gap, camera__distance="500 mm", tank__depth="140 mm")
    assert said == (
        f"scale.gap: {gap} puts the scale outside the tank. The gap is positive when the fly falls nearer to the "
        "camera than the scale stands."
    )


@pytest.mark.parametrize("index", [True, "1.5", 1.2, 2.0, float("nan"), None])
def test_wall_index(index: Any) -> None:
    if index is None:
        assert _sheet(tank__wall_index=1.5).tank.wall_index == 1.5
        return
    said = _refusal(tank__wall_index=index)
    cure = "Give a number from 1.3 to 1.9, without quotes."
    assert said == f"tank.wall_index: {index!r} is not a refractive index that a wall can have. {cure}"


def test_mass_in_water_must_be_less() -> None:
    for in_water in ("0.21 g", "0.3 g"):
        assert _refusal(fly__mass="0.21 g", fly__mass_in_water=in_water) == (
            f"fly.mass_in_water: {in_water} is not less than fly.mass, 0.21 g. A fly weighs less under water than in "
            "air; were the two swapped?"
        )


def test_scale_given_twice() -> None:
    both = {"scale__points": [[0, 0], [0, 500]], "scale__length": "250 mm"}
    assert _refusal(**both) == (
        "scale: is given both as a card and as points. Keep one of them: a clip has one scale."
    )
    assert _refusal(scale__length="250 mm") == (
        "scale.length: is given together with a card. It is the distance between two points; what a ruler says of "
        "the card's bar is scale.bar."
    )


def test_points_too_near_each_other() -> None:
    assert _refusal(scale__card=None, scale__points=[[0, 0], [3, 4]], scale__length="250 mm") == (
        "scale.points: lie 5 px apart. Give two different points at least 20 px apart, better a whole picture's height."
    )


def test_card_that_is_not_in_the_water() -> None:
    assert _refusal(scale__card="yes") == (
        "scale.card: 'yes' is not known. Stand the card in the tank and write card = \"in water\"."
    )


def test_wall_of_two_kinds() -> None:
    assert _refusal(tank__wall_material="glass", tank__wall_index=1.5) == (
        "tank.wall_material: is given together with tank.wall_index. Keep one of them: a wall has one refractive index."
    )
    assert _refusal(tank__wall_material="wood") == (
        "tank.wall_material: 'wood' is not known. Use one of acrylic, borosilicate, glass, polycarbonate, "
        "polystyrene, or give the wall's refractive index as tank.wall_index."
    )


def test_code_that_is_a_number() -> None:
    assert (
        _refusal(fly__code=14)
        == 'fly.code: 14 is not text. Write it in quotes, for example code = "reed-14".'
    )


def test_temperature_is_always_needed() -> None:
    assert _refusal(water__temperature=None) == (
        "water.temperature: is missing; the temperature of the water is always needed. Write for example "
        'temperature = "18 degC" under [water] in the sheet, or give it as an option.'
    )
