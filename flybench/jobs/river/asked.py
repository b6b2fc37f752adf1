"""What the angler says of water and tackle, as typed texts, turned into what the rig's model takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

from flybench.errors import BadValueError
from flybench.quantity import Measured, parse, parse_with_uncertainty
from flybench.rig.chain.record import Band
from flybench.rig.tackle.diameter import parse_diameter
from flybench.rig.tackle.leader import Entry, Hold, Material, Tackle
from flybench.rig.water.bed import UNKNOWN, Bed, bed_named, bed_of_roughness, bed_of_stones
from flybench.rig.water.current import Current, float_speed

GUESSED = 0.10
"""Relative standard uncertainty of a depth or surface speed that comes without its ± (judgement)."""
_Word = TypeVar("_Word", Material, Hold, Entry)
_STONES, _ROUGHNESS = 0.3, 0.5
_PACED = 0.02
_NEAR_BOTTOM, _MID, _AROUND = 0.2, (0.4, 0.6), 0.1


@dataclass(frozen=True)
class Asked:
    """Water and tackle as typed; None where not said. Names are those of the options."""

    depth: str = ""
    surface_speed: str | None = None
    float_distance: str | None = None
    float_times: tuple[str, ...] = ()
    temperature: str = "10 degC"
    bed: str | None = None
    d84: str | None = None
    z0: str | None = None
    leader_diameter: str = "0.15 mm"
    leader_length: str = "2.5 m"
    dropper_gap: str | None = None
    material: str = "nylon"
    hold: str = "floating"
    lead_speed: str | None = None
    entry: str = "steep"
    slack: str | None = None
    entry_speed: str | None = None
    band: str = "near-bottom"

    def changed(self, changes: Mapping[str, str]) -> Asked:
        """Return the same with other texts, named as the options; raises BadValueError for an unknown name."""
        known = {one.name.replace("_", "-"): one.name for one in fields(self)}
        made: dict[str, Any] = {}
        for name, text in changes.items():
            if name not in known or name == "float-times":
                raise BadValueError(
                    "with", f'there is no "{name}" to change', f"Name one of {', '.join(known)}."
                )
            made[known[name]] = text
        if "hold" in changes and changes["hold"] != "led":
            made.setdefault("lead_speed", None)
        return replace(self, **made)


def current_of(asked: Asked) -> Current:
    """Return the water in front of the angler; raises BadValueError naming what is missing or cannot be."""
    if not asked.depth:
        raise BadValueError("depth", "is missing", 'Give it, such as "1.2 m".')
    depth = _guessed(asked.depth, "m", "depth")
    return Current(depth, _surface(asked), parse(asked.temperature, "K", "temperature"), _bed(asked))


def _surface(asked: Asked) -> Measured:
    if asked.surface_speed is not None:
        if asked.float_distance is not None or asked.float_times:
            raise BadValueError("surface-speed", "is given beside a float", "Give the one or the other.")
        return _guessed(asked.surface_speed, "m/s", "surface-speed")
    if asked.float_distance is None:
        cure = 'Give --surface-speed "0.6 m/s", or time a float: --float-distance "5 m" --float-time "8.2 s"'
        raise BadValueError("surface-speed", "is missing", cure)
    value, doubt = parse_with_uncertainty(asked.float_distance, "m", "float-distance")
    distance = Measured(value, _PACED * abs(value) if doubt is None else doubt)
    return float_speed(distance, [parse(text, "s", "float-time") for text in asked.float_times])


def _bed(asked: Asked) -> Bed:
    given = [name for name in ("bed", "d84", "z0") if getattr(asked, name) is not None]
    if len(given) > 1:
        raise BadValueError(given[1], f"is given beside {given[0]}", "Give one of bed, d84 and z0.")
    if asked.bed is not None:
        return bed_named(asked.bed)
    if asked.d84 is not None:
        return bed_of_stones(_measured(asked.d84, "m", "d84", _STONES))
    if asked.z0 is not None:
        return bed_of_roughness(_measured(asked.z0, "m", "z0", _ROUGHNESS))
    return UNKNOWN


def tackle_of(asked: Asked, droppers: int) -> Tackle:
    """Return the tackle for a number of droppers; raises BadValueError naming what cannot be."""
    return Tackle(
        diameter=parse_diameter(asked.leader_diameter, "leader-diameter"),
        length=parse(asked.leader_length, "m", "leader-length"),
        gaps=_gaps(asked, droppers),
        material=_word(Material, asked.material, "material"),
        hold=_word(Hold, asked.hold, "hold"),
        lead_speed=_maybe(asked.lead_speed, "m/s", "lead-speed"),
        entry=_word(Entry, asked.entry, "entry"),
        slack=_maybe(asked.slack, "1", "slack"),
        entry_speed=_maybe(asked.entry_speed, "m/s", "entry-speed"),
    )


def band_of_text(text: str, current: Current) -> Band:
    """Return the band of the fish: near-bottom (0.2 m above the stones), mid, or a depth "0.6 m" (± 0.1 m)."""
    if text == "near-bottom":
        return Band(0.0, min(_NEAR_BOTTOM, current.floor))
    if text == "mid":
        return Band(_MID[0] * current.floor, _MID[1] * current.floor)
    depth = parse(text, "m", "band")
    if not 0 < depth < current.floor:
        problem = f"{depth:g} m is not between the surface and the stones' tops at {current.floor:.3g} m"
        raise BadValueError("band", problem, "Give near-bottom, mid, or a depth in this water.")
    height = current.floor - depth
    return Band(max(height - _AROUND, 0.0), min(height + _AROUND, current.floor))


def _gaps(asked: Asked, droppers: int) -> tuple[float, ...]:
    if droppers == 0:
        return ()
    texts = (asked.dropper_gap or ",".join(["1.0 m", "0.5 m"][2 - droppers :])).split(",")
    if len(texts) != droppers:
        problem = f"{len(texts)} gaps for {droppers} dropper{'s' * (droppers > 1)}"
        raise BadValueError("dropper-gap", problem, 'Give one for each, the upper first: "1.0 m, 0.5 m".')
    return tuple(parse(text, "m", "dropper-gap") for text in texts)


def _word(kind: type[_Word], text: str, key: str) -> _Word:
    for one in kind:
        if one.value == text:
            return one
    raise BadValueError(key, f'"{text}" is not known', f"Use one of {', '.join(one.value for one in kind)}.")


def _maybe(text: str | None, unit: str, key: str) -> float | None:
    return None if text is None else parse(text, unit, key)


def _guessed(text: str, unit: str, key: str) -> Measured:
    return _measured(text, unit, key, GUESSED)


def _measured(text: str, unit: str, key: str, usual: float) -> Measured:
    value, doubt = parse_with_uncertainty(text, unit, key)
    return Measured(value, usual * abs(value) if doubt is None else doubt)
