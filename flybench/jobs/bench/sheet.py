"""Start a bench sheet beside a clip."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from flybench.bench.clip.clock import Source, clock_of
from flybench.bench.clip.footage import check_there, open_clip
from flybench.bench.sheet.keys import QUANTITIES
from flybench.bench.sheet.read import read_sheet
from flybench.errors import FlybenchError
from flybench.files import check_new, sheet_beside, whole_file

_HEAD = """\
# Bench sheet. Take the # off the lines that apply and put in what you measured.
# A distance may carry its own uncertainty (k = 2), such as distance = "620 mm +- 5 mm". Without one, this is assumed:
# +- 3 mm for the fall plane and the camera, +- 6 mm for the gap (tweezers let go by eye),
# +- 1 mm for the length between two points, +- 0.3 mm for the bar.
"""
_OTHERS = {
    "tank.wall_material": ('"acrylic"', "or glass and others; or in its place wall_index = 1.49"),
    "scale.card": ('"in water"', "the printed card stands in the tank; or in its place points and length"),
    "scale.points": ("[[120, 80], [120, 900]]", "two pixels of the upright first frame; needs length"),
    "scale.picture": ('"540 x 960"', "size of the picture that the points were read off"),
    "fly.code": ('"…"', "the code of your fly"),
    "fly.name": ('"…"', "what the fly is called on its page"),
    "drops.without": (
        '[[1, "hit the wall"]]',
        "drops that do not count, and why; numbers as bench measure lists them",
    ),
}
_ORDER = ("water", "tank", "camera", "scale", "fly", "drops")


def start_sheet(
    clip: Path,
    tables: Mapping[str, Mapping[str, Any]],
    output: Path | None = None,
    overwrite: bool = False,
) -> Path:
    """Write the sheet of a clip, with the given values filled in and the rest commented out; return where.

    Without ``output`` it goes beside the clip. Raises FlybenchError where a file is there already and may not be
    replaced, or where a value given is impossible.
    """
    if clip.exists():
        check_there(clip)
    path = output or sheet_beside(clip)
    check_new(path, overwrite)
    checked_as_far_as_given(tables)
    with whole_file(path) as part:
        part.write_text(sheet_text(tables, _picture_size(clip)), encoding="utf-8")
    return path


def _picture_size(clip: Path) -> str | None:
    """Return the size of a clip's upright picture as a sheet has it; None for a clip that is not there or cannot be read."""
    if not clip.exists():
        return None
    try:
        turned = open_clip(clip).orientation
    except FlybenchError:
        return None
    return f"{turned.width} x {turned.height}"


def untold_rate(clip: Path, tables: Mapping[str, Mapping[str, Any]]) -> float | None:
    """Return the frames a second [Hz] of a clip that does not say how fast it was filmed; None where the rate is known.

    A raw stream has no rate at all: 0. A clip that is not there yet or cannot be read is not asked about.
    """
    if "capture_rate" in tables.get("camera", {}) or not clip.exists():
        return None
    try:
        opened = open_clip(clip)
    except FlybenchError:
        return None
    if opened.survey.doubt.made_up:
        return 0.0
    clock = clock_of(
        opened.survey.times, opened.capture_rate_tag, None
    )  # bench measure says where the header contradicts it
    return clock.capture_rate if clock.source is Source.UNTOLD and clock.capture_rate else None


def checked_as_far_as_given(tables: Mapping[str, Mapping[str, Any]]) -> None:
    """Raise BadValueError for a value that cannot be, whatever else is still missing."""
    read_sheet(_completed(tables))


def written(tables: Mapping[str, Mapping[str, Any]]) -> str:
    """Return tables as TOML: what was given, and nothing else."""
    blocks = []
    for table, keys in tables.items():
        lines = [f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in keys.items()]
        blocks.append("\n".join([f"[{table}]", *lines, ""]))
    return "\n".join(blocks)


def _completed(tables: Mapping[str, Mapping[str, Any]]) -> dict[str, dict[str, Any]]:
    """Return the tables with an example for all that may still be missing, so that the rest can be checked."""
    whole = {table: dict(tables.get(table, {})) for table in _ORDER}
    missing = ["water.temperature", "camera.distance"]
    missing += [] if "diameter" in whole["tank"] else ["tank.depth"]
    missing += ["scale.length"] if {"points", "picture"} & set(whole["scale"]) else []
    for key in missing:
        table, name = key.split(".")
        whole[table].setdefault(name, QUANTITIES[key].example)
    if not {"points", "length", "picture"} & set(whole["scale"]):
        whole["scale"].setdefault("card", "in water")
    elif "card" not in whole["scale"]:
        whole["scale"].setdefault("points", [[120, 80], [120, 900]])
    return whole


def sheet_text(tables: Mapping[str, Mapping[str, Any]], picture: str | None = None) -> str:
    """Return the sheet as TOML, every key on a line with what it means; ``picture`` is the size of the clip's own [px]."""
    lines = [_HEAD]
    for table in _ORDER:
        lines.append(f"[{table}]")
        keys = [key for key in (*_OTHERS, *QUANTITIES) if key.startswith(table + ".")]
        lines += [_line(key, tables.get(table, {}).get(key.split(".")[1]), picture) for key in keys]
        lines.append("")
    return "\n".join(lines)


def _line(key: str, value: Any, picture: str | None) -> str:
    name = key.split(".")[1]
    if key in _OTHERS:
        example, meaning = _OTHERS[key]
    else:
        example, meaning = f'"{QUANTITIES[key].example}"', QUANTITIES[key].meaning
    if key == "scale.picture" and picture is not None:
        example = f'"{picture}"'
    if value is None:
        return f"# {name} = {example}".ljust(42) + f"# {meaning}"
    written = json.dumps(value, ensure_ascii=False)
    return f"{name} = {written}".ljust(42) + f"# {meaning}"
