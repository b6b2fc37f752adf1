"""What a report page says of how a run was made: whole texts, for every way of filling a sheet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from types import SimpleNamespace
from typing import Any

import pytest

from flybench.bench.sheet.read import read_sheet
from flybench.charts.lettering import drawable, faces_for
from flybench.paper.report.facts import facts, fly_name

TODAY = date(2026, 3, 1)
CARD = {"water": {"temperature": "18 degC"}, "scale": {"card": "in water"}}
FULL = {
    "water": {"temperature": "6.5 degC +- 0.2 degC", "salinity": "35 g/kg"},
    "tank": {"width": "200 mm", "depth": "140 mm"},
    "camera": {"distance": "620 mm"},
    "scale": {"card": "in water", "bar": "99.6 mm", "gap": "12 mm"},
    "fly": {"mass": "0.26 g", "mass_in_water": "0.226 g"},
}


@dataclass(frozen=True)
class Run:
    """As much of a measured run as its facts need."""

    tables: dict[str, dict[str, Any]]
    filmed: date | None = None
    clip: str = "drop.mp4"

    @property
    def view(self) -> Any:
        return SimpleNamespace(geometry=SimpleNamespace(settings=read_sheet(self.tables)))

    @property
    def result(self) -> Any:
        return SimpleNamespace(clip=SimpleNamespace(name=self.clip))


def test_a_full_sheet() -> None:
    run: Any = Run(FULL, date(2025, 4, 9))
    assert facts(run, TODAY) == [
        ("filmed on", "9 April 2025"),
        ("water", "6.5 °C, 35 g/kg salt"),
        ("tank, inside", "200 x 140 mm"),
        ("card's bar", "99.6 mm"),
        ("gap to the fly", "12 mm"),
        ("weight of the fly", "0.26 g in air\n0.226 g in water"),
    ]


def test_a_bare_sheet_says_what_was_not_stated() -> None:
    run: Any = Run(CARD)
    assert facts(run, TODAY) == [
        ("measured on", "1 March 2026"),
        ("water", "18 °C"),
        ("tank, inside", "not stated"),
        ("card's bar", "not measured"),
        ("gap to the fly", "not stated"),
        ("weight of the fly", "not stated"),
    ]


@pytest.mark.parametrize(
    ("table", "keys", "place", "told"),
    [
        ("tank", {"diameter": "190 mm"}, 2, ("tank, inside", "round, 190 mm")),
        ("tank", {"width": "200 mm"}, 2, ("tank, inside", "200 mm wide")),
        ("tank", {"depth": "14 cm"}, 2, ("tank, inside", "140 mm deep")),
        (
            "scale",
            {"points": [[9, 9], [9, 900]], "length": "250 mm"},
            3,
            ("two points", "250 mm apart"),
        ),
        ("scale", {"points": [[9, 9], [9, 900]], "length": "250 mm"}, 4, ("gap to the fly", "0 mm")),
        ("fly", {"mass": "0.21 g", "volume": "22 mm**3"}, 5, ("weight of the fly", "0.21 g in air\n22 mm³")),
    ],
)
def test_other_sheets(table: str, keys: dict[str, Any], place: int, told: tuple[str, str]) -> None:
    run: Any = Run({**CARD, table: keys})
    assert facts(run, TODAY)[place] == told


@pytest.mark.parametrize(
    ("fly", "clip", "name"),
    [
        ({"name": "Reed slip,\n size 14", "code": "RS-14"}, "drop.mp4", "Reed slip, size 14"),
        ({"code": "RS-14"}, "drop.mp4", "RS-14"),
        ({"name": "  "}, "tank.2.MOV", "tank.2"),
        ({}, "noending", "noending"),
    ],
)
def test_what_the_fly_is_called(fly: dict[str, str], clip: str, name: str) -> None:
    run: Any = replace(Run({**CARD, "fly": fly}), clip=clip)
    assert fly_name(run) == name


def test_a_sign_that_no_font_has_is_a_box() -> None:
    """U+10FFFF stands for no sign at all (The Unicode Standard, 23.7)."""
    assert drawable("Ærø Муха זבוב \U0010ffff!") == "Ærø Муха זבוב □!"
    assert faces_for("Ærø Муха זבוב □!") == ("DejaVu Sans",)
