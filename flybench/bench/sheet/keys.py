"""The keys of the bench sheet: units, limits, examples and meanings."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Key:
    """A key that holds a quantity: its SI unit, the values it may take, and what it means."""

    unit: str
    low: float
    high: float
    example: str
    meaning: str


QUANTITIES: dict[str, Key] = {
    "water.temperature": Key("K", 273.15, 313.15, "18 degC", "temperature of the water in the tank"),
    "water.salinity": Key("kg/kg", 0.0, 0.042, "0 g/kg", "salt in the water"),
    "tank.width": Key("m", 0.02, 5.0, "200 mm", "inner size across the view"),
    "tank.depth": Key("m", 0.02, 5.0, "140 mm", "inner size along the view"),
    "tank.diameter": Key("m", 0.02, 5.0, "190 mm", "inner diameter of a round column"),
    "tank.wall": Key("m", 0.0, 0.05, "4 mm", "thickness of the front wall"),
    "tank.fall_plane": Key("m", 0.0, 5.0, "70 mm", "inner front face to where the fly falls"),
    "camera.distance": Key("m", 0.05, 10.0, "620 mm", "lens to the outer front face of the tank"),
    "camera.capture_rate": Key("Hz", 1.0, 10_000.0, "240 Hz", "rate at which the pictures were taken"),
    "camera.readout": Key("s", 0.0, 0.1, "8 ms", "sensor readout, first to last row"),
    "scale.bar": Key("m", 0.05, 0.15, "99.6 mm", "what a ruler says of the card's 100 mm bar"),
    "scale.length": Key("m", 0.001, 5.0, "250 mm", "true distance between the two points"),
    "scale.gap": Key("m", -0.5, 0.5, "12 mm", "scale plane to fall plane, positive when the fly is nearer"),
    "fly.mass": Key("kg", 1e-7, 0.05, "0.21 g", "weight of the fly in air"),
    "fly.mass_in_water": Key("kg", 1e-7, 0.05, "0.188 g", "what the scale shows with the fly under water"),
    "fly.volume": Key("m**3", 1e-11, 1e-5, "22 mm**3", "volume of the soaked fly"),
    "fly.bead": Key("m", 0.0005, 0.02, "2.8 mm", "diameter of the bead"),
}
OTHERS = ("tank.wall_material", "tank.wall_index", "scale.card", "scale.points", "fly.code")
