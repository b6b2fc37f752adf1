"""Water, tackle and goal as the angler types them; the water turned into what the rig's model takes in SI."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from flybench.errors import BadValueError
from flybench.hydraulics.water import FREEZING, HOTTEST
from flybench.quantity import (
    Measured,
    in_unit_of,
    inside,
    parse,
    parse_inside,
    parse_inside_with_uncertainty,
)
from flybench.rig.tackle import leader
from flybench.rig.tackle.leader import Hold
from flybench.rig.water import bed as beds
from flybench.rig.water import current as waters
from flybench.rig.water.bed import UNKNOWN, Bed, bed_named, bed_of_roughness, bed_of_stones
from flybench.rig.water.current import Current, float_speed
from flybench.rig.water.level import FishLevel, around, middle, near_bottom

RIVER_TEMPERATURE = "10 degC"
"""Temperature of a river of which nothing is said (judgement: a trout stream in spring or autumn)."""
GUESSED = 0.10
"""Relative standard uncertainty of a depth or surface speed that comes without its ± (judgement)."""
GUESSED_STONES, GUESSED_ROUGHNESS = 0.3, 0.5
"""The same of D84 and of z0 [-] (judgement)."""
PACED = 0.02
"""The same of a distance for a float [-] (judgement: paced or taped)."""
WATER = ("depth", "surface_speed", "float_distance", "float_times", "temperature", "bed", "d84", "z0")
"""What is typed of the water itself, which stays while tackle is changed."""
NEAR = "near-bottom"
"""What is typed for fish that lie near the bottom, where they are looked for unless something else is said."""
AFTER_A_UNIT = re.compile(r"(?<=[A-Za-z])\s*,\s*")
"""A comma between quantities, not one within a number."""


@dataclass(frozen=True)
class RigTexts:
    """Water, tackle and what is wanted, as typed, each named as its option; None where nothing was typed."""

    depth: str = ""
    surface_speed: str | None = None
    float_distance: str | None = None
    float_times: tuple[str, ...] = ()
    temperature: str = RIVER_TEMPERATURE
    bed: str | None = None
    d84: str | None = None
    z0: str | None = None
    leader_diameter: str = "0.15 mm"
    leader_length: str | None = None
    dropper_gap: str | None = None
    dropper_tag: str | None = None
    leader_material: str = "nylon"
    leader: str = "sinks"
    hold: str = "floating"
    lead_speed: str | None = None
    tip_height: str | None = None
    entry: str | None = None
    entry_angle: str | None = None
    slack: str | None = None
    entry_speed: str | None = None
    level: str = NEAR
    dropper_level: str | None = None
    touches: str | None = None
    in_time: str = "0.8"
    stretch: str = "2 m"
    farthest: str = "5 m"
    bed_cost: str = "1"
    point_worth: str = "1"
    dropper_worth: str = "0.5"

    def changed(self, changes: Mapping[str, str]) -> RigTexts:
        """Return the same with other texts, named as the options; raises BadValueError for an unknown name."""
        known = {one.name.replace("_", "-"): one.name for one in fields(self) if one.name != "float_times"}
        made: dict[str, Any] = {}
        for name, text in changes.items():
            if name not in known:
                problem = f'there is no option "{name}" that can be changed'
                raise BadValueError("--with", problem, f"Name point, dropper, or one of {', '.join(known)}.")
            made[known[name]] = text
        if "hold" in changes and changes["hold"] not in [hold.value for hold in leader.BY_HAND]:
            made.setdefault("lead_speed", None)
        if "hold" in changes and changes["hold"] != Hold.TIGHT.value:
            made.setdefault("tip_height", None)
        if "entry" in changes:
            made.setdefault("entry_angle", None)
        if "entry-angle" in changes:
            made.setdefault("entry", None)
        return replace(self, **made)


def current_from(texts: RigTexts) -> Current:
    """Return the water in front of the angler; raises BadValueError naming the option that is missing or cannot be."""
    if not texts.depth:
        raise BadValueError("--depth", "is missing", 'Give the depth of the water, such as --depth "1.2 m".')
    cure = "Measure the depth with the wading staff."
    depth = measured_from(
        texts.depth, "m", "--depth", (waters.SHALLOWEST, waters.DEEPEST), GUESSED, cure, "1.2 m"
    )
    _refuse_vague(texts.depth, "--depth", depth)
    bed = _bed(texts)
    if (bed.stone or 0.0) >= depth.value:
        size = in_unit_of(bed.stone or 0.0, texts.depth, "m")
        key = "--bed" if texts.d84 is None else "--d84"
        problem = f"stones of {size} stand out of water that is {texts.depth.strip()} deep"
        raise BadValueError(key, problem, "Choose deeper water or smaller stones: no law covers this.")
    return Current(depth, _surface(texts), temperature_from(texts), bed)


def temperature_from(texts: RigTexts) -> float:
    """Return the temperature of the water [K]; raises BadValueError outside what the water tables cover."""
    cure = "Give the temperature of the river."
    return parse_inside(texts.temperature, "K", "--temperature", FREEZING, HOTTEST, cure, example="10 degC")


def _surface(texts: RigTexts) -> Measured:
    """Return the surface speed, as typed or from a float [m/s]."""
    if texts.surface_speed is not None:
        if texts.float_distance is not None or texts.float_times:
            cure = "Give either --surface-speed, or --float-distance with --float-time."
            raise BadValueError("--surface-speed", "is given beside the times of a float", cure)
        cure = "Time a float over a known distance; the surface of water that is fished runs 0.1 to 1.5 m/s."
        limits = (waters.SLOWEST, waters.FASTEST)
        speed = measured_from(
            texts.surface_speed, "m/s", "--surface-speed", limits, GUESSED, cure, example="0.6 m/s"
        )
        _refuse_vague(texts.surface_speed, "--surface-speed", speed)
        return speed
    if texts.float_distance is None:
        cure = 'Give --surface-speed "0.6 m/s", or time a float: --float-distance "5 m" --float-time "8.2 s".'
        raise BadValueError("--surface-speed", "is missing", cure)
    return _float_speed(texts.float_distance, texts.float_times)


def _float_speed(distance: str, times: tuple[str, ...]) -> Measured:
    """Return the surface speed from the times of a float [m/s]."""
    if not times:
        cure = (
            'Time a float over the distance, better three times: --float-time "8.2 s" --float-time "8.6 s".'
        )
        raise BadValueError("--float-time", "is missing", cure)
    way = measured_from(
        distance,
        "m",
        "--float-distance",
        (waters.SHORTEST_WAY, waters.LONGEST_WAY),
        PACED,
        "Pace off 3 to 10 m of even water.",
        "5 m",
    )
    cure = "Choose a distance that takes the float 5 to 60 s."
    limits = (waters.SHORTEST_TIME, waters.LONGEST_TIME)
    taken = [parse_inside(text, "s", "--float-time", *limits, cure, example="8.2 s") for text in times]
    speed = float_speed(way, taken)
    inside("--float-time", speed.value, waters.SLOWEST, waters.FASTEST, "m/s", "Check distance and times.")
    return speed


def _bed(texts: RigTexts) -> Bed:
    given = [name for name in ("bed", "d84", "z0") if getattr(texts, name) is not None]
    if len(given) > 1:
        raise BadValueError(
            f"--{given[1]}", f"is given beside --{given[0]}", "Give only one of --bed, --d84 and --z0."
        )
    if texts.bed is not None:
        return bed_named(texts.bed)
    if texts.d84 is not None:
        limits, cure = (
            (beds.FINEST_STONE, beds.COARSEST_STONE),
            "Give the size that 84 of 100 stones are smaller than.",
        )
        return bed_of_stones(measured_from(texts.d84, "m", "--d84", limits, GUESSED_STONES, cure, "5 cm"))
    if texts.z0 is not None:
        limits, cure = (beds.SMOOTHEST, beds.ROUGHEST), "Give about a tenth of the size of the larger stones."
        return bed_of_roughness(measured_from(texts.z0, "m", "--z0", limits, GUESSED_ROUGHNESS, cure, "5 mm"))
    return UNKNOWN


def level_from(text: str, current: Current, key: str = "--level") -> FishLevel:
    """Return the fish's level: near-bottom (0.2 m above the stones), mid, or a depth "0.6 m" (0.1 m about it).

    Raises BadValueError that names ``key`` for another word, and for a depth that is not in this water.
    """
    if text == NEAR:
        return near_bottom(current)
    if text == "mid":
        return middle(current)
    if not re.search(r"[0-9]", text):
        raise BadValueError(
            key, f'"{text}" is not known', 'Give near-bottom, mid, or a depth such as "0.6 m".'
        )
    depth = parse(text, "m", key, example="0.6 m")
    if not 0 < depth < current.floor:
        floor = in_unit_of(current.floor, text, "m")
        problem = f'"{text}" is not between the surface and the tops of the stones, which lie {floor} deep'
        raise BadValueError(key, problem, "Give near-bottom, mid, or a depth in this water.")
    return around(depth, current)


def measured_from(
    text: str, unit: str, key: str, limits: tuple[float, float], usual: float, cure: str, example: str
) -> Measured:
    """Return what was typed with its standard uncertainty, the ``usual`` share of it where none is typed."""
    value, doubt = parse_inside_with_uncertainty(text, unit, key, *limits, cure, example=example)
    return Measured(value, usual * abs(value) if doubt is None else doubt)


def _refuse_vague(text: str, key: str, part: Measured) -> None:
    """Refuse a ± that is larger than the value."""
    if part.standard_uncertainty > waters.VAGUEST * part.value:
        raise BadValueError(
            key,
            f'"{text}" says next to nothing',
            "Measure it again: its ± may be no larger than the value itself.",
        )
