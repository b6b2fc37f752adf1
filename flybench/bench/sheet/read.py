"""The bench sheet: the TOML tables beside a clip, checked key by key and turned into settings.

Every key is also an option of the command; options are merged into the tables before they are read,
so a sheet and a command line meet the same checks and the same messages.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from flybench.bench.sheet.keys import OTHERS, QUANTITIES, Key
from flybench.bench.sheet.settings import (
    BAR_UNCERTAINTY,
    TEMPERATURE_UNCERTAINTY,
    TYPED_UNCERTAINTY,
    CameraSettings,
    FlySettings,
    Length,
    ScaleSettings,
    Settings,
    TankSettings,
)
from flybench.errors import BadValueError
from flybench.hydraulics.refractive_index import WALL_INDEX
from flybench.quantity import parse_with_uncertainty

Tables = Mapping[str, Mapping[str, Any]]


def read_sheet(tables: Tables) -> Settings:
    """Check every key and return the settings.

    Raises BadValueError naming the key for an unknown key, a wrong unit, an impossible value, a missing
    temperature, or keys that contradict each other.
    """
    flat = _flat(tables)
    if "water.temperature" not in flat:
        raise _missing("water.temperature", "the water's temperature is always needed")
    temperature, spread = _quantity(flat, "water.temperature") or (math.nan, None)
    settings = Settings(
        temperature=temperature,
        temperature_uncertainty=TEMPERATURE_UNCERTAINTY if spread is None else spread,
        salinity=_value(flat, "water.salinity") or 0.0,
        tank=_tank(flat),
        camera=CameraSettings(
            _length(flat, "camera.distance"),
            _value(flat, "camera.capture_rate"),
            _value(flat, "camera.readout"),
        ),
        scale=_scale(flat),
        fly=_fly(flat),
    )
    _check_geometry(settings)
    return settings


def _flat(tables: Tables) -> dict[str, Any]:
    """Return "table.key" -> value, refusing what no sheet has."""
    known = [*QUANTITIES, *OTHERS]
    flat: dict[str, Any] = {}
    for table, keys in tables.items():
        if not isinstance(keys, Mapping):
            raise BadValueError(
                table,
                "stands outside any table",
                "Write it under [water], [tank], [camera], [scale] or [fly]",
            )
        for key, value in keys.items():
            name = f"{table}.{key}"
            if name not in known:
                raise BadValueError(name, "is not a key of the bench sheet", _nearest(name, known))
            flat[name] = value
    return flat


def _nearest(name: str, known: list[str]) -> str:
    from difflib import get_close_matches

    close = get_close_matches(name, known, n=1)
    table = name.split(".", 1)[0]
    inside = [key for key in known if key.startswith(table + ".")]
    return f"Did you mean {close[0]}?" if close else f"Known keys: {', '.join(inside or known)}"


def _missing(key: str, why: str) -> BadValueError:
    return BadValueError(
        key, f"is missing; {why}", f'Write for example {key.split(".")[1]} = "{QUANTITIES[key].example}"'
    )


def _quantity(flat: Mapping[str, Any], name: str) -> tuple[float, float | None] | None:
    """Return the key's SI value and standard uncertainty, or None where it is absent."""
    if name not in flat:
        return None
    key = QUANTITIES[name]
    if not isinstance(flat[name], str):
        raise BadValueError(
            name, f"{flat[name]!r} has no unit", f'Write it with its unit, for example "{key.example}"'
        )
    value, spread = parse_with_uncertainty(flat[name], key.unit, name)
    if not key.low <= value <= key.high:
        raise BadValueError(name, f"{flat[name]} is not possible ({key.meaning})", _limits(key))
    return value, spread


def _limits(key: Key) -> str:
    if key.unit == "K":
        return f"Give {key.low - 273.15:g} to {key.high - 273.15:g} degC"
    scale, unit = {
        "m": (1e3, "mm"),
        "kg": (1e3, "g"),
        "m**3": (1e9, "mm**3"),
        "s": (1e3, "ms"),
        "kg/kg": (1e3, "g/kg"),
    }.get(key.unit, (1.0, key.unit))
    return f"Give {key.low * scale:g} to {key.high * scale:g} {unit}"


def _value(flat: Mapping[str, Any], name: str) -> float | None:
    found = _quantity(flat, name)
    return None if found is None else found[0]


def _length(flat: Mapping[str, Any], name: str, default: float = TYPED_UNCERTAINTY) -> Length | None:
    found = _quantity(flat, name)
    return None if found is None else Length(found[0], default if found[1] is None else found[1])


def _weighed(flat: Mapping[str, Any], name: str, relative: float) -> tuple[float, float] | None:
    found = _quantity(flat, name)
    return None if found is None else (found[0], relative * found[0] if found[1] is None else found[1])


def _tank(flat: Mapping[str, Any]) -> TankSettings:
    if "tank.diameter" in flat and ("tank.width" in flat or "tank.depth" in flat):
        raise BadValueError(
            "tank.diameter",
            "stands beside tank.width or tank.depth",
            "Give a diameter for a round column, width and depth for a square one",
        )
    return TankSettings(
        width=_value(flat, "tank.width"),
        depth=_value(flat, "tank.depth"),
        diameter=_value(flat, "tank.diameter"),
        wall=_value(flat, "tank.wall") or 0.0,
        wall_index=_wall_index(flat),
        fall_plane=_length(flat, "tank.fall_plane"),
    )


def _wall_index(flat: Mapping[str, Any]) -> float:
    if "tank.wall_index" in flat and "tank.wall_material" in flat:
        raise BadValueError(
            "tank.wall_material",
            "stands beside tank.wall_index",
            "Keep one of them: a wall has one refractive index",
        )
    if "tank.wall_index" in flat:
        index = flat["tank.wall_index"]
        if isinstance(index, bool) or not isinstance(index, (int, float)) or not 1.3 <= index <= 1.9:
            raise BadValueError(
                "tank.wall_index",
                f"{index!r} is no refractive index of a wall",
                "Give a number from 1.3 to 1.9, without quotes",
            )
        return float(index)
    material = flat.get("tank.wall_material", "acrylic")
    if not isinstance(material, str) or material not in WALL_INDEX:
        raise BadValueError(
            "tank.wall_material",
            f"{material!r} is not known",
            f"Use one of {', '.join(WALL_INDEX)}, or give wall_index",
        )
    return WALL_INDEX[material]


def _scale(flat: Mapping[str, Any]) -> ScaleSettings:
    card, points = "scale.card" in flat, "scale.points" in flat
    if card and points:
        raise BadValueError("scale", "has both a card and points", "Keep one of them: a clip has one scale")
    if card and flat["scale.card"] != "in water":
        raise BadValueError(
            "scale.card",
            f"{flat['scale.card']!r} is not known",
            'Stand the card in the tank and write card = "in water"',
        )
    if not card and not points:
        raise BadValueError(
            "scale",
            "is missing: nothing tells how large a pixel is",
            'Print the card (flybench bench card) and write card = "in water" under [scale], or give points and length',
        )
    if points and "scale.length" not in flat:
        raise _missing("scale.length", "points need their true distance")
    if card and "scale.length" in flat:
        raise BadValueError(
            "scale.length",
            "stands beside a card",
            "It belongs to points; the card's own bar goes into scale.bar",
        )
    return ScaleSettings(
        card=card,
        bar=_length(flat, "scale.bar", BAR_UNCERTAINTY),
        points=_points(flat["scale.points"]) if points else None,
        length=_length(flat, "scale.length", 0.0005),
        gap=_length(flat, "scale.gap") or Length(0.0),
    )


def _points(given: Any) -> tuple[tuple[float, float], tuple[float, float]]:
    """Check the two points; whether they lie in the picture is seen when the clip is open."""
    try:
        (x0, y0), (x1, y1) = ((float(x), float(y)) for x, y in given)
    except (TypeError, ValueError, OverflowError) as error:
        raise BadValueError(
            "scale.points",
            f"{given!r} is not two points",
            "Write points = [[x, y], [x, y]] in pixels of the upright first frame",
        ) from error
    if not all(map(math.isfinite, (x0, y0, x1, y1))):
        raise BadValueError(
            "scale.points", f"{given!r} is not finite", "Give pixels of the upright first frame"
        )
    if math.hypot(x1 - x0, y1 - y0) < 20.0:
        raise BadValueError(
            "scale.points",
            f"lie {math.hypot(x1 - x0, y1 - y0):.3g} px apart",
            "Give two different points at least 20 px apart, better a whole picture's height",
        )
    return (x0, y0), (x1, y1)


def _fly(flat: Mapping[str, Any]) -> FlySettings:
    code = flat.get("fly.code")
    if code is not None and not isinstance(code, str):
        raise BadValueError("fly.code", f"{code!r} is not text", 'Write code = "…" in quotes')
    fly = FlySettings(
        code=code,
        mass=_weighed(flat, "fly.mass", 0.01),
        mass_in_water=_weighed(flat, "fly.mass_in_water", 0.01),
        volume=_weighed(flat, "fly.volume", 0.05),
        bead=_value(flat, "fly.bead"),
    )
    if fly.mass and fly.mass_in_water and fly.mass_in_water[0] >= fly.mass[0]:
        raise BadValueError(
            "fly.mass_in_water",
            "is not below fly.mass",
            "A fly weighs less under water; were the two swapped?",
        )
    return fly


def _check_geometry(settings: Settings) -> None:
    """Refuse distances that contradict each other, and a gap that cannot be corrected."""
    tank, scale = settings.tank, settings.scale
    depth = tank.depth_along_view
    if tank.fall_plane and depth and tank.fall_plane.value > depth:
        raise BadValueError(
            "tank.fall_plane",
            f"{tank.fall_plane.value * 1e3:g} mm lies outside the tank ({depth * 1e3:g} mm deep)",
            "Measure from the inner front face to where the fly falls",
        )
    if scale.gap.value == 0.0:
        return
    if settings.camera.distance is None:
        raise _missing("camera.distance", "a gap between scale and fall plane cannot be corrected without it")
    if tank.fall_plane is None and depth is None:
        raise _missing("tank.depth", "a gap between scale and fall plane cannot be corrected without it")
    plane = tank.fall_plane.value if tank.fall_plane else (depth or 0.0) / 2
    if not 0.0 <= plane + scale.gap.value <= (depth or math.inf):
        raise BadValueError(
            "scale.gap",
            f"{scale.gap.value * 1e3:g} mm puts the scale outside the tank",
            "It is positive when the fly falls nearer to the camera than the scale",
        )
