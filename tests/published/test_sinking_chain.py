"""Measured settling speeds through the whole chain: parts, weight in water, drag area, terminal speed.

Goral, Guler, Larsen, Carstensen, Christensen, Kerpen, Schlurmann & Fuhrman (2023), Environmental Research 228,
115783, doi:10.1016/j.envres.2023.115783: goral.csv, all 66 rows, as in an MIT-licensed copy of the paper's data.
Mordant & Pinton (2000), Eur. Phys. J. B 18, 343-352: rows of sphere.csv.
"""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from rows import Row, rows
from scipy.optimize import brentq

from flybench.hydraulics.sphere import drag_coefficient
from flybench.hydraulics.water import Water
from flybench.quantity import Floats, Measured
from flybench.sinking.drag.steady_fall import drag_area_of, terminal_speed_of
from flybench.sinking.weight.parts import sized_part
from flybench.sinking.weight.submerged import SubmergedWeight
from flybench.sinking.weight.ways import weight_from_parts

with (Path(__file__).parent / "goral.csv").open(newline="", encoding="utf-8") as lines:
    GORAL = list(csv.DictReader(lines))
NU = 9.842e-7
WATER = Water(brentq(lambda kelvin: Water(kelvin).kinematic_viscosity - NU, 285.0, 300.0))
MISSED = {
    "20": (21.2, "a disk of 5 x 2 mm that falls flat shows more of itself than one sphericity tells"),
    "28": (-16.6, "a cube of 2 mm falls on its edge or its face; one sphericity knows no way of falling"),
    "35": (
        -15.5,
        "a cube hardly heavier than water: 0.2 % in density is 1.4 % in speed, beside the way it falls",
    ),
    "48": (15.8, "a slab of 5 x 2 x 1 mm that falls flat"),
    "59": (-18.1, "irregular, and hardly heavier than water: 0.2 % in density is 3.5 % in speed"),
    "61": (-17.7, "irregular; measured with a standard deviation of 16 %"),
    "62": (-18.5, "irregular; its sphericity is of a measured surface, rough parts included"),
}
"""Compact rows that Haider & Levenspiel (1989) miss by more than 15 %: by how much [%], and why (judgement)."""
FIBRES = {"55": 24.6, "56": 27.2, "57": -40.9, "58": -36.1}
"""How far that law misses fibres [%]: all but the first lie below its least sphericity, 0.5."""


def _weight(diameter: float, density: float) -> SubmergedWeight:
    """Return the weight in water of a body by its equal-volume diameter [m] and density [kg/m3]."""
    volume = Measured(math.pi / 6 * diameter**3, 0.0)
    return weight_from_parts([sized_part("body", volume, Measured(density, 0.0))], WATER)


def _speed(diameter: float, density: float, coefficient) -> float:  # type: ignore[no-untyped-def]
    weight = _weight(diameter, density)
    frontal = math.pi / 4 * diameter**2
    return float(
        terminal_speed_of(weight.weight.value, lambda re: frontal * coefficient(re), diameter, WATER)
    )


def _haider_levenspiel(sphericity: float):  # type: ignore[no-untyped-def]
    """Return the law of Haider & Levenspiel (1989), Powder Technol. 58, 63-70, for a sphericity (from memory)."""
    p = sphericity
    a = math.exp(2.3288 - 6.4581 * p + 2.4486 * p**2)
    b = 0.0964 + 0.5565 * p
    c = math.exp(4.905 - 13.8944 * p + 18.4222 * p**2 - 10.2599 * p**3)
    d = math.exp(1.4681 + 12.2584 * p - 20.7322 * p**2 + 15.8855 * p**3)

    def law(re: Floats) -> Floats:
        return 24 / re * (1 + a * re**b) + c / (1 + d / re)

    return law


def test_all_rows_are_there() -> None:
    assert len(GORAL) == 66


@pytest.mark.parametrize("row", [row for row in GORAL if row["shape"] == "sphere"], ids=lambda row: row["no"])
def test_bare_spheres_sink_as_measured(row: dict[str, str]) -> None:
    """Within 6 %: the scatter of the measured spheres about every published law."""
    found = _speed(float(row["dv_mm"]) / 1e3, float(row["rho_p"]), drag_coefficient)
    assert found * 1e3 == pytest.approx(float(row["ws_mm_s"]), rel=0.06)


@pytest.mark.parametrize("row", [row for row in GORAL if row["shape"] == "sphere"], ids=lambda row: row["no"])
def test_a_measured_sphere_drags_like_one_bare_bead(row: dict[str, str]) -> None:
    """The way back: drag area from the measured speed over that of the sphere, 1 within twice the 6 % of speed."""
    diameter, speed = float(row["dv_mm"]) / 1e3, float(row["ws_mm_s"]) / 1e3
    area = float(drag_area_of(_weight(diameter, float(row["rho_p"])).weight.value, speed, WATER))
    bare = math.pi / 4 * diameter**2 * float(drag_coefficient(speed * diameter / NU))
    assert area / bare == pytest.approx(1.0, abs=0.12)


COMPACT = [row for row in GORAL if row["shape"] not in ("sphere", "fiber")]


@pytest.mark.parametrize("row", COMPACT, ids=lambda row: row["no"])
def test_other_shapes_sink_as_measured(row: dict[str, str]) -> None:
    """Compact shapes within 15 % of the law for their sphericity; the rows it misses miss it as stated."""
    law = _haider_levenspiel(float(row["sphericity"]))
    miss = _speed(float(row["dv_mm"]) / 1e3, float(row["rho_p"]), law) * 1e3 / float(row["ws_mm_s"]) - 1
    if row["no"] in MISSED:
        deviation, reason = MISSED[row["no"]]
        assert miss * 100 == pytest.approx(deviation, abs=0.1), reason
    else:
        assert abs(miss) < 0.15


@pytest.mark.parametrize("row", [row for row in GORAL if row["shape"] == "fiber"], ids=lambda row: row["no"])
def test_fibres_are_no_bodies_of_a_sphericity(row: dict[str, str]) -> None:
    """Off by 25 to 41 % either way; asserted, so that nobody relies on it."""
    law = _haider_levenspiel(float(row["sphericity"]))
    found = _speed(float(row["dv_mm"]) / 1e3, float(row["rho_p"]), law) * 1e3
    assert (found / float(row["ws_mm_s"]) - 1) * 100 == pytest.approx(FIBRES[row["no"]], abs=0.1)


MORDANT = [row for row in rows("sphere.csv", "measured terminal speed") if "Mordant" in row.source]


@pytest.mark.parametrize("row", MORDANT, ids=str)
def test_mordant_and_pinton(row: Row) -> None:
    """Three balls of glass and steel: the chain gives what the law of spheres alone gives."""
    water = Water(brentq(lambda kelvin: Water(kelvin).kinematic_viscosity - row["nu"], 285.0, 305.0))
    diameter = row["mm"] / 1e3
    part = sized_part(
        "ball", Measured(math.pi / 6 * diameter**3, 0.0), Measured(row["ratio"] * water.density, 0.0)
    )
    weight = weight_from_parts([part], water).weight.value
    frontal = math.pi / 4 * diameter**2
    row.check(float(terminal_speed_of(weight, lambda re: frontal * drag_coefficient(re), diameter, water)))


def test_mordant_and_pinton_are_all_there() -> None:
    assert len(MORDANT) == 3


@pytest.mark.parametrize("millimetres", [0.5, 1.0, 2.0, 5.0])
def test_ferguson_and_church_as_a_rough_bound(millimetres: float) -> None:
    """Ferguson & Church (2004), J. Sediment. Res. 74, 933-937: spheres (C2 0.4) from above, grains (C2 1.0) from below.

    Their curve for spheres lies up to 26 % below the standard drag at Re 100, so up to 15 % above in speed.
    """
    diameter, excess = millimetres / 1e3, 1.65

    def church(c2: float) -> float:
        push = excess * 9.80665 * diameter**2
        return push / (18 * NU + math.sqrt(0.75 * c2 * excess * 9.80665 * diameter**3))

    found = _speed(diameter, WATER.density * (1 + excess), drag_coefficient)
    assert church(1.0) < found < church(0.4) * 1.05
    assert np.isfinite(found)
