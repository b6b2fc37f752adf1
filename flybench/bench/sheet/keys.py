"""The keys of the bench sheet: units, limits, examples and meanings."""

from __future__ import annotations

from dataclasses import dataclass

from flybench.hydraulics.water import FREEZING, HOTTEST


@dataclass(frozen=True)
class Key:
    """A key that holds a quantity: its SI unit, the least and the most it may be in that unit, an example, its meaning."""

    unit: str
    low: float
    high: float
    example: str
    meaning: str


QUANTITIES: dict[str, Key] = {
    "water.temperature": Key("K", FREEZING, HOTTEST, "18 degC", "temperature of the water in the tank"),
    "water.salinity": Key("kg/kg", 0.0, 0.042, "0 g/kg", "salt in the water, by mass; tap water has none"),
    "tank.width": Key("m", 0.02, 5.0, "200 mm", "inner width of the tank, across the view"),
    "tank.depth": Key("m", 0.02, 5.0, "140 mm", "inner depth of the tank, from front to back"),
    "tank.diameter": Key("m", 0.02, 5.0, "190 mm", "inner diameter of a round column"),
    "tank.wall": Key("m", 0.0, 0.05, "4 mm", "thickness of the front wall"),
    "tank.fall_plane": Key(
        "m", 0.0, 5.0, "70 mm", "distance from the inside of the front wall to where the fly falls"
    ),
    "camera.distance": Key(
        "m", 0.05, 10.0, "620 mm", "distance from the lens to the outside of the tank's front wall"
    ),
    "camera.capture_rate": Key(
        "Hz", 1.0, 10_000.0, "240 Hz", "frames a second at which the camera took the pictures"
    ),
    "camera.readout": Key(
        "s", 0.0, 0.1, "8 ms", "time that the sensor takes to read a picture, first row to last"
    ),
    "scale.bar": Key("m", 0.05, 0.15, "99.6 mm", "length of the card's 100 mm bar, measured with a ruler"),
    "scale.length": Key("m", 0.001, 5.0, "250 mm", "true distance between the two points"),
    "scale.gap": Key(
        "m",
        -0.5,
        0.5,
        "12 mm",
        "distance from the card (or the points) to where the fly falls, positive when the fly is nearer the camera",
    ),
    "fly.mass": Key("kg", 1e-7, 0.05, "0.21 g", "what the scale shows for the fly in air"),
    "fly.mass_in_water": Key("kg", 1e-7, 0.05, "0.188 g", "what the scale shows with the fly under water"),
    "fly.volume": Key("m**3", 1e-11, 1e-5, "22 mm**3", "volume of the soaked fly"),
    "fly.bead": Key("m", 0.0005, 0.02, "2.8 mm", "diameter of the bead"),
}
"""Every key with a unit. The limits are those of the formulas (water: liquid, at most as salt as the saltiest sea that
``hydraulics.water`` knows) or take in any tank, phone and fly and refuse only slips of the unit (judgement)."""
OTHERS = (
    "tank.wall_material",
    "tank.wall_index",
    "scale.card",
    "scale.points",
    "scale.picture",
    "fly.code",
    "fly.name",
    "drops.without",
)
"""Keys without a unit."""

_SHORT_NAMES_TAKEN = ("tank.width", "tank.depth", "tank.diameter")
"""Keys whose last word alone would not say what it is the width or depth of."""


def argument_name(key: str) -> str:
    """Return a key as the options and the library call it, with underscores: "tank_width", "gap"."""
    return (key if key in _SHORT_NAMES_TAKEN else key.split(".", 1)[1]).replace(".", "_")


ARGUMENTS = {argument_name(key): key for key in QUANTITIES} | {
    "wall_material": "tank.wall_material",
    "wall_index": "tank.wall_index",
    "card": "scale.card",
    "points": "scale.points",
    "picture": "scale.picture",
    "fly": "fly.code",
    "name": "fly.name",
    "without": "drops.without",
}
"""Every key of the sheet by its name as an option (with hyphens there) and as an argument of the library."""
