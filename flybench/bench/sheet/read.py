"""The bench sheet: the TOML tables beside a clip, checked key by key and turned into settings.

Every key is also an option of the command; options are merged into the tables before they are read,
so a sheet and a command line meet the same checks and the same messages.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

from flybench.bench.sheet.left_out import left_out
from flybench.bench.sheet.settings import (
    BAR_UNCERTAINTY,
    GAP_UNCERTAINTY,
    LENGTH_UNCERTAINTY,
    MASS_UNCERTAINTY,
    TEMPERATURE_UNCERTAINTY,
    UNKNOWN_GAP,
    VOLUME_UNCERTAINTY,
    CameraSettings,
    FlySettings,
    Length,
    ScaleSettings,
    Settings,
    TankSettings,
)
from flybench.bench.sheet.values import (
    Tables,
    as_typed,
    flattened,
    length_of,
    missing,
    quantity_of,
    refuse_wide,
    value_of,
    weighed,
)
from flybench.errors import BadValueError
from flybench.hydraulics.refractive_index import WALL_INDEX
from flybench.quantity import in_unit_of

LEAST_INDEX, MOST_INDEX = 1.3, 1.9
"""Refractive indices taken for a wall [-]: from that of ice and the lightest plastics to that of dense flint glass."""
NEAREST_POINTS = 20.0
"""Least distance between two typed points [px]: each is good to half a pixel, so that nearer ones give a scale no better than
to 4 % (judgement)."""

_PICTURE = re.compile(r"\s*(\d{1,5})\s*[xX×*]\s*(\d{1,5})\s*(?:px)?\s*")


def read_sheet(tables: Tables) -> Settings:
    """Check every key and return the settings.

    Raises BadValueError naming the key for an unknown key, a wrong unit, an impossible value, a missing
    temperature, or keys that contradict each other.
    """
    flat = flattened(tables)
    if "water.temperature" not in flat:
        raise missing("water.temperature", "the temperature of the water is always needed")
    temperature, spread = quantity_of(flat, "water.temperature") or (math.nan, None)
    settings = Settings(
        temperature=temperature,
        temperature_uncertainty=TEMPERATURE_UNCERTAINTY if spread is None else spread,
        salinity=value_of(flat, "water.salinity") or 0.0,
        tank=_tank(flat),
        camera=CameraSettings(
            length_of(flat, "camera.distance"),
            value_of(flat, "camera.capture_rate"),
            value_of(flat, "camera.readout"),
        ),
        scale=_scale(flat),
        fly=_fly(flat),
        without=left_out(flat),
    )
    _check_geometry(settings, flat)
    return settings


def _tank(flat: Mapping[str, Any]) -> TankSettings:
    if "tank.diameter" in flat and ("tank.width" in flat or "tank.depth" in flat):
        raise BadValueError(
            "tank.diameter",
            "is given together with tank.width or tank.depth",
            "Give the diameter of a round column, or width and depth of a square tank",
        )
    return TankSettings(
        width=value_of(flat, "tank.width"),
        depth=value_of(flat, "tank.depth"),
        diameter=value_of(flat, "tank.diameter"),
        wall=value_of(flat, "tank.wall") or 0.0,
        wall_index=_wall_index(flat),
        fall_plane=length_of(flat, "tank.fall_plane"),
    )


def _wall_index(flat: Mapping[str, Any]) -> float:
    if "tank.wall_index" in flat and "tank.wall_material" in flat:
        raise BadValueError(
            "tank.wall_material",
            "is given together with tank.wall_index",
            "Keep one of them: a wall has one refractive index",
        )
    if "tank.wall_index" in flat:
        index = flat["tank.wall_index"]
        if (
            isinstance(index, bool)
            or not isinstance(index, (int, float))
            or not LEAST_INDEX <= index <= MOST_INDEX
        ):
            quotes = ", without quotes" if isinstance(index, str) else ""
            shown = f"{index:g}" if isinstance(index, float) else repr(index)
            raise BadValueError(
                "tank.wall_index",
                f"{shown} is not a refractive index that a wall can have",
                f"Give a number from {LEAST_INDEX:g} to {MOST_INDEX:g}{quotes}",
            )
        return float(index)
    material = flat.get("tank.wall_material", "acrylic")
    if not isinstance(material, str) or material not in WALL_INDEX:
        raise BadValueError(
            "tank.wall_material",
            f"{material!r} is not known",
            f"Use one of {', '.join(WALL_INDEX)}, or give the wall's refractive index as tank.wall_index",
        )
    return WALL_INDEX[material]


def _scale(flat: Mapping[str, Any]) -> ScaleSettings:
    card, points = "scale.card" in flat, "scale.points" in flat
    if card and points:
        raise BadValueError(
            "scale", "is given both as a card and as points", "Keep one of them: a clip has one scale"
        )
    if card and flat["scale.card"] != "in water":
        raise BadValueError(
            "scale.card",
            f"{flat['scale.card']!r} is not known",
            'Stand the card in the tank and write card = "in water"',
        )
    if not card and not points:
        raise BadValueError(
            "scale",
            "is missing, so that nobody knows how large a pixel is",
            'Print the card (flybench bench card), stand it in the tank and write card = "in water" under [scale]; or '
            "give points and length",
        )
    if points and "scale.length" not in flat:
        raise missing("scale.length", "the true distance between the points is needed")
    if card and "scale.length" in flat:
        raise BadValueError(
            "scale.length",
            "is given together with a card",
            "It is the distance between two points; what a ruler says of the card's bar is scale.bar",
        )
    if points and "scale.bar" in flat:
        raise BadValueError(
            "scale.bar",
            "is given together with points",
            "It is the card's bar; the distance between the two points is scale.length",
        )
    return ScaleSettings(
        card=card,
        bar=length_of(flat, "scale.bar", BAR_UNCERTAINTY),
        points=_points(flat["scale.points"]) if points else None,
        picture=_picture(flat),
        length=length_of(flat, "scale.length", LENGTH_UNCERTAINTY),
        gap=length_of(flat, "scale.gap", GAP_UNCERTAINTY)
        or Length(0.0, UNKNOWN_GAP if card else GAP_UNCERTAINTY),
        gap_known=points or "scale.gap" in flat,
    )


def _picture(flat: Mapping[str, Any]) -> tuple[int, int] | None:
    """Return the size of the picture that the points were read off [px], None where it is not told."""
    if "scale.picture" not in flat:
        return None
    if "scale.points" not in flat:
        raise BadValueError(
            "scale.picture",
            "is given without points",
            "It is the size of the picture that the two points were read off; leave it out with the card",
        )
    found = _PICTURE.fullmatch(str(flat["scale.picture"]))
    if found is None or min(int(found[1]), int(found[2])) < NEAREST_POINTS:
        raise BadValueError(
            "scale.picture",
            f"{flat['scale.picture']!r} is not the size of a picture",
            'Write its width and height in pixels, for example picture = "540 x 960"',
        )
    return int(found[1]), int(found[2])


def _points(given: Any) -> tuple[tuple[float, float], tuple[float, float]]:
    """Check the two points; whether they lie in the picture is seen when the clip is open."""
    try:
        (x0, y0), (x1, y1) = ((float(x), float(y)) for x, y in given)
    except (TypeError, ValueError, OverflowError) as error:
        raise BadValueError(
            "scale.points",
            f"{given!r} is not two points",
            "Write for example points = [[120, 80], [120, 900]], in pixels of the upright first frame",
        ) from error
    if not all(map(math.isfinite, (x0, y0, x1, y1))):
        raise BadValueError(
            "scale.points",
            f"{given!r} holds a number that is not finite",
            "Give pixels of the upright first frame",
        )
    if math.hypot(x1 - x0, y1 - y0) < NEAREST_POINTS:
        raise BadValueError(
            "scale.points",
            f"lie {math.hypot(x1 - x0, y1 - y0):.3g} px apart",
            f"Give two different points at least {NEAREST_POINTS:g} px apart, better a whole picture's height",
        )
    return (x0, y0), (x1, y1)


def _fly(flat: Mapping[str, Any]) -> FlySettings:
    fly = FlySettings(
        code=_text(flat, "fly.code", "reed-14"),
        name=_text(flat, "fly.name", "Reed slip, size 14"),
        mass=weighed(flat, "fly.mass", MASS_UNCERTAINTY),
        mass_in_water=weighed(flat, "fly.mass_in_water", MASS_UNCERTAINTY),
        volume=weighed(flat, "fly.volume", VOLUME_UNCERTAINTY),
        bead=value_of(flat, "fly.bead"),
    )
    if fly.mass and fly.mass_in_water and fly.mass_in_water[0] >= fly.mass[0]:
        raise BadValueError(
            "fly.mass_in_water",
            f"{flat['fly.mass_in_water']} is not less than fly.mass, {flat['fly.mass']}",
            "A fly weighs less under water than in air; were the two swapped?",
        )
    return fly


def _text(flat: Mapping[str, Any], key: str, example: str) -> str | None:
    """Return a key that is plain text; None where it is absent. Raises BadValueError for anything else."""
    given, name = flat.get(key), key.split(".")[1]
    if given is None:
        return None
    if not isinstance(given, str):
        raise BadValueError(
            key, f"{given!r} is not text", f'Write it in quotes, for example {name} = "{example}"'
        )
    return given


def _check_geometry(settings: Settings, flat: Mapping[str, Any]) -> None:
    """Refuse distances that contradict each other, and a gap that cannot be corrected.

    ``flat`` holds them as typed, in whose units errors speak.
    """
    tank, scale = settings.tank, settings.scale
    depth = tank.depth_along_view
    if tank.fall_plane and depth and tank.fall_plane.value > depth:
        raise BadValueError(
            "tank.fall_plane",
            f"{as_typed(flat, 'tank.fall_plane')} lies outside the tank, which is "
            f"{in_unit_of(depth, flat['tank.fall_plane'], 'm')} deep",
            "Measure from the inside of the front wall to where the fly falls",
        )
    if scale.gap.value == 0.0:
        return
    why = "without it, the gap between scale and fly cannot be corrected for"
    if settings.camera.distance is None:
        raise missing("camera.distance", why)
    if tank.fall_plane is None and depth is None:
        raise missing("tank.depth", why)
    plane = tank.fall_plane.value if tank.fall_plane else (depth or 0.0) / 2
    if not 0.0 <= plane + scale.gap.value <= (depth or math.inf):
        raise BadValueError(
            "scale.gap",
            f"{as_typed(flat, 'scale.gap')} puts the scale outside the tank",
            "The gap is positive when the fly falls nearer to the camera than the scale stands",
        )
    if scale.card:
        _check_card_gap(flat, scale.gap.value)


def _check_card_gap(flat: Mapping[str, Any], gap: float) -> None:
    """Refuse a gap that puts the fly behind the card, or that may well do so."""
    if gap < 0.0:
        raise BadValueError(
            "scale.gap",
            f"{as_typed(flat, 'scale.gap')} puts the fly behind the card, and nobody sees through the card",
            "Give the distance from the card to the fly without a minus",
        )
    found = quantity_of(flat, "scale.gap")
    if found is not None:
        refuse_wide("scale.gap", flat["scale.gap"], found)
