"""The bench sheet: what is read from it, and what of it cannot be together."""

from __future__ import annotations

from typing import Any

import pytest
from sheets import LEAST, refusal_of, sheet_of

from flybench.bench.sheet.keys import OTHERS, QUANTITIES
from flybench.bench.sheet.read import read_sheet
from flybench.bench.sheet.settings import (
    BAR_UNCERTAINTY,
    GAP_UNCERTAINTY,
    TEMPERATURE_UNCERTAINTY,
    TYPED_UNCERTAINTY,
    UNKNOWN_GAP,
    Length,
)
from flybench.errors import BadValueError


def test_whole_sheet_in_si_units() -> None:
    """The example of the contract, converted by hand."""
    sheet = sheet_of(
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
    assert sheet.scale.gap == Length(pytest.approx(0.012), GAP_UNCERTAINTY)
    assert sheet.scale.bar == Length(pytest.approx(0.0996), BAR_UNCERTAINTY)
    assert sheet.scale.source == "card"
    assert sheet.fly.code == "reed-14"
    assert sheet.fly.mass == pytest.approx((0.00021, 0.0000021))
    assert sheet.fly.volume == pytest.approx((22e-9, 1.1e-9))
    assert sheet.fly.bead == pytest.approx(0.0028)


def test_least_sheet() -> None:
    sheet = sheet_of()
    assert sheet.temperature_uncertainty == TEMPERATURE_UNCERTAINTY
    assert sheet.salinity == 0.0
    assert sheet.tank.shortest_side is None
    assert sheet.camera.distance is None
    assert sheet.scale.gap == Length(0.0, UNKNOWN_GAP)
    assert not sheet.scale.gap_known
    assert sheet.scale.bar is None
    assert sheet.fly.mass is None


@pytest.mark.parametrize("sign", ["+-", "±", "+/-"])
def test_own_uncertainty_is_expanded(sign: str) -> None:
    """What the user writes is k = 2; a temperature's is a difference."""
    sheet = sheet_of(camera__distance=f"620 mm {sign} 5 mm", water__temperature=f"18 degC {sign} 1 degC")
    assert sheet.camera.distance == Length(pytest.approx(0.62), pytest.approx(0.0025))
    assert sheet.temperature_uncertainty == pytest.approx(0.5)


def test_exact_is_kept_exact() -> None:
    assert sheet_of(camera__distance="620 mm +- 0 mm").camera.distance == Length(pytest.approx(0.62), 0.0)
    assert sheet_of(water__temperature="18 degC +- 0 degC").temperature_uncertainty == 0.0


@pytest.mark.parametrize("key", [*QUANTITIES, *OTHERS])
def test_a_slip_of_the_pen_is_recognised(key: str) -> None:
    table, name = key.split(".")
    slip = f"{table}.{name}s" if f"{table}.{name}s" not in OTHERS else f"{table}.{name}x"
    said = refusal_of(**{slip.replace(".", "__"): "1 m"})
    assert said == f"{slip}: is not a key of the bench sheet. Did you mean {key}?"


def test_key_like_no_other() -> None:
    said = refusal_of(fly__zzzzzzzzz="1")
    known = "fly.mass, fly.mass_in_water, fly.volume, fly.bead, fly.code, fly.name"
    assert said == f"fly.zzzzzzzzz: is not a key of the bench sheet. Known keys: {known}."


def test_value_outside_any_table() -> None:
    with pytest.raises(BadValueError) as caught:
        read_sheet({**LEAST, "distance": "620 mm"})  # type: ignore[dict-item]
    assert str(caught.value) == (
        "distance: stands outside any table. Write it under [water], [tank], [camera], [scale] or [fly]."
    )


def test_round_column() -> None:
    tank = sheet_of(tank__diameter="190 mm").tank
    assert tank.depth_along_view == tank.shortest_side == pytest.approx(0.19)
    assert refusal_of(tank__diameter="190 mm", tank__depth="140 mm") == (
        "tank.diameter: is given together with tank.width or tank.depth. Give the diameter of a round column, or "
        "width and depth of a square tank."
    )
    assert refusal_of(tank__diameter="190 mm", tank__fall_plane="191 mm") == (
        "tank.fall_plane: 191 mm lies outside the tank, which is 190 mm deep. Measure from the inside of the front "
        "wall to where the fly falls."
    )


def test_gap_needs_distance_and_depth() -> None:
    why = "without it, the gap between scale and fly cannot be corrected for"
    how = "in the sheet, or give it as an option"
    assert refusal_of(scale__gap="12 mm", tank__depth="140 mm") == (
        f'camera.distance: is missing; {why}. Write for example distance = "620 mm" under [camera] {how}.'
    )
    assert refusal_of(scale__gap="12 mm", camera__distance="500 mm") == (
        f'tank.depth: is missing; {why}. Write for example depth = "140 mm" under [tank] {how}.'
    )
    assert (
        sheet_of(scale__gap="12 mm", camera__distance="500 mm", tank__fall_plane="70 mm").scale.gap.value > 0
    )
    assert sheet_of(scale__gap="0 mm").scale.gap.value == 0.0


@pytest.mark.parametrize("gap", ["71 mm", "-71 mm", "7.1 cm"])
def test_gap_that_leaves_the_tank(gap: str) -> None:
    said = refusal_of(scale__gap=gap, camera__distance="500 mm", tank__depth="140 mm")
    assert said == (
        f"scale.gap: {gap} puts the scale outside the tank. The gap is positive when the fly falls nearer to the "
        "camera than the scale stands."
    )


@pytest.mark.parametrize(
    ("index", "named", "cure"),
    [
        (True, "True", ""),
        ("1.5", "'1.5'", ", without quotes"),
        (1.2, "1.2", ""),
        (2.0, "2", ""),
        (float("nan"), "nan", ""),
    ],
)
def test_wall_index_that_cannot_be(index: Any, named: str, cure: str) -> None:
    assert refusal_of(tank__wall_index=index) == (
        f"tank.wall_index: {named} is not a refractive index that a wall can have. Give a number from 1.3 to 1.9{cure}."
    )


def test_wall_index() -> None:
    assert sheet_of(tank__wall_index=1.5).tank.wall_index == 1.5


def test_mass_in_water_must_be_less() -> None:
    for in_water in ("0.21 g", "0.3 g"):
        assert refusal_of(fly__mass="0.21 g", fly__mass_in_water=in_water) == (
            f"fly.mass_in_water: {in_water} is not less than fly.mass, 0.21 g. A fly weighs less under water than in "
            "air; were the two swapped?"
        )


def test_card_that_is_not_in_the_water() -> None:
    assert refusal_of(scale__card="yes") == (
        "scale.card: 'yes' is not known. Stand the card in the tank and write card = \"in water\"."
    )


def test_wall_of_two_kinds() -> None:
    assert refusal_of(tank__wall_material="glass", tank__wall_index=1.5) == (
        "tank.wall_material: is given together with tank.wall_index. Keep one of them: a wall has one refractive index."
    )
    assert refusal_of(tank__wall_material="wood") == (
        "tank.wall_material: 'wood' is not known. Use one of acrylic, borosilicate, glass, polycarbonate, "
        "polystyrene, or give the wall's refractive index as tank.wall_index."
    )


def test_code_or_name_that_is_a_number() -> None:
    assert (
        refusal_of(fly__code=14)
        == 'fly.code: 14 is not text. Write it in quotes, for example code = "reed-14".'
    )
    assert (
        refusal_of(fly__name=14)
        == 'fly.name: 14 is not text. Write it in quotes, for example name = "Reed slip, size 14".'
    )


def test_temperature_is_always_needed() -> None:
    assert refusal_of(water__temperature=None) == (
        "water.temperature: is missing; the temperature of the water is always needed. Write for example "
        'temperature = "18 degC" under [water] in the sheet, or give it as an option.'
    )
