"""Every quantity of a sheet says when its unit is missing or wrong, and its limits in the unit typed."""

from __future__ import annotations

from typing import Any

import pytest
from sheets import refusal_of, sheet_of

from flybench.bench.sheet.keys import QUANTITIES

ALONG: dict[str, dict[str, Any]] = {
    "scale.length": {"scale__card": None, "scale__points": [[0, 0], [0, 500]]},
    "scale.gap": {"camera__distance": "620 mm", "tank__depth": "140 mm"},
}
"""What a key needs beside it."""


@pytest.mark.parametrize("key", QUANTITIES)
def test_every_quantity_says_when_its_unit_is_missing_or_wrong(key: str) -> None:
    """The example that the message shows is accepted itself."""
    example, name, along = QUANTITIES[key].example, key.replace(".", "__"), ALONG.get(key, {})
    said = refusal_of(**along, **{name: 12})
    assert said == f'{key}: 12 has no unit. Write it with its unit, for example "{example}".'
    assert refusal_of(**along, **{name: "12 A"}).startswith(f'{key}: "12 A" ')
    sheet_of(**along, **{name: example})


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
    assert refusal_of(**ALONG.get(key, {}), **{key.replace(".", "__"): written}) == f"{key}: {said}"


UNUSED = ("water.salinity", "tank.width", "tank.depth", "tank.wall", "tank.diameter", "camera.capture_rate")


@pytest.mark.parametrize("key", [*UNUSED, "camera.readout", "fly.bead"])
def test_an_uncertainty_that_nothing_is_done_with_is_refused(key: str) -> None:
    example = QUANTITIES[key].example
    said = refusal_of(**{key.replace(".", "__"): f"{example} +- 1 {example.split()[1]}"})
    assert said == (
        f'{key}: "{example} +- 1 {example.split()[1]}" has an uncertainty, and none is used here. Write "{example}".'
    )
